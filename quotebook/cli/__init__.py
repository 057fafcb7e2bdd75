"""The command line: it parses, calls, prints and exits.

Status 0: done, and nothing is disputed. 1: a returned quote is disputed. 2: misuse. 3: a file that
cannot be read or written. 4: a fault of this program. Commands import what they need when they run, so that
help stays quick.
"""

import _thread
import contextlib
import io
import os
import sys
import threading

import click

from quotebook import __version__
from quotebook.cli.accounts import payback, revenue
from quotebook.cli.advice import compare, mix, size
from quotebook.cli.bookings import agree, cancel, count_back, deliver, stock
from quotebook.cli.buying import break_even, buy, charge
from quotebook.cli.card import update_card
from quotebook.cli.catching_up import catch_up
from quotebook.cli.checking import check
from quotebook.cli.corrections import recount, rename, repaired, undo
from quotebook.cli.day import day
from quotebook.cli.demonstration import demo
from quotebook.cli.explaining import explain
from quotebook.cli.ledger import backup, rebuild
from quotebook.cli.money import bill, bills, pay, remind
from quotebook.cli.options import complain
from quotebook.cli.pipeline import decline, list_quotes
from quotebook.cli.quotes import init, issue, reissue, send
from quotebook.errors import QuotebookError

INTERRUPTED, NOBODY_READS = 130, 141
"""Statuses by the signals that stand for them, as shells have it: 128 more than SIGINT, and than SIGPIPE."""


class Commands(click.Group):
    """A group of commands that ends in a sentence and a status if anything goes wrong, never in a traceback."""

    def invoke(self, context: click.Context) -> object:
        for stream in (sys.stdout, sys.stderr):
            if isinstance(stream, io.TextIOWrapper):  # a file's name may have bytes that are no text
                stream.reconfigure(errors="backslashreplace")
        sys.unraisablehook = _interrupt_again
        try:
            result = super().invoke(context)
            if sys.stdout:
                sys.stdout.flush()
        except QuotebookError as error:
            complain(f"quotebook: {error}")
            context.exit(error.status)
        except (KeyboardInterrupt, click.Abort):
            complain("quotebook: stopped. No file is half written, and what was said to be done is done.")
            context.exit(INTERRUPTED)
        except BrokenPipeError:
            _drop_output()
            context.exit(NOBODY_READS)
        except OSError as error:
            _drop_output()
            complain(f"quotebook: {error.filename or 'the output'}: {error.strerror or error}")
            context.exit(3)
        except (click.ClickException, click.exceptions.Exit):
            raise
        except Exception as error:  # noqa: BLE001 (the last resort: a sentence, and a report to send)
            from quotebook.cli.last_resort import say_fault

            complain(say_fault(error, context.invoked_subcommand or ""))
            context.exit(4)
        return result

    def list_commands(self, context: click.Context) -> list[str]:
        """The names of the commands, in the order of an owner's week."""
        return list(self.commands)


def _interrupt_again(lost: "sys.UnraisableHookArgs") -> None:
    """Raise Ctrl-C again that came while something was being disposed of, where Python raises nothing.

    A moment later, since it would be lost again before this function is left. A half-written file that cannot be
    closed any more is no matter: it was given up, and that was said.
    """
    if issubclass(lost.exc_type, KeyboardInterrupt):
        threading.Timer(0.05, _thread.interrupt_main).start()
    elif not issubclass(lost.exc_type, (OSError, ValueError)):
        sys.__unraisablehook__(lost)


def _drop_output() -> None:
    """Let nothing more be written on standard output, which Python would try again at its end."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80})
@click.version_option(__version__, prog_name="quotebook")
def main() -> None:
    """Quote portable dance floors by the panel, and check what comes back."""


OWNERS_WEEK = (
    init, catch_up, size, compare, mix, issue, send, check, explain, reissue, list_quotes, agree, decline, cancel,
    stock, day, deliver, count_back, pay, remind, bill, bills, undo, repaired, recount, rename, revenue, payback,
    break_even, buy, charge, backup, rebuild, update_card, demo,
)  # fmt: skip

for command in OWNERS_WEEK:
    main.add_command(command)
