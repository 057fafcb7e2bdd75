"""What commands share: their common options, the types of option values, and how they print."""

import gc
import os
import re
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, TextIO, TypeVar

import click

from quotebook.errors import QuotebookError

if TYPE_CHECKING:
    from quotebook.desk import Desk

T = TypeVar("T")

OBJECTS_BETWEEN_SEARCHES = 50_000
"""Made and not yet given up, before Python looks for garbage among them: some 5 MB."""

DISPUTED = 1
"""Exit status if a returned quote is disputed."""


def _desk(folder: str) -> "Desk":
    from quotebook.desk import Desk

    return Desk(Path(folder))


def number(text: str) -> Decimal:
    """The number in an option's value, exactly as written, in plain digits. Raises click.BadParameter."""
    from quotebook.engine.money import number as exact_number

    try:
        if text.isascii():
            return exact_number(text)
    except ValueError:
        pass
    raise click.BadParameter(f"{text!r} is not a number")


def words(text: str) -> str:
    """The words in an option's value, with a space for a line break or a tab.

    Raises click.BadParameter for bytes that are no text, and for signs that print nothing.
    """
    text = " ".join(text.split())
    if strange := [sign for sign in text if not sign.isprintable()]:
        raise click.BadParameter(f"found the sign U+{ord(strange[0]):04X}, which is no text")
    return text


def number_between(least: int, most: int) -> Callable[[str], Decimal]:
    """A type of option value: a number from `least` to `most`, both allowed."""

    def number_in_range(text: str) -> Decimal:
        found = number(text)
        if not least <= found <= most:
            raise click.BadParameter(f"{text} is not from {least} to {most}")
        return found

    return number_in_range


def percentage(text: str) -> Decimal:
    """The share of one in an option's value, written 10 or 10%. Raises click.BadParameter."""
    from quotebook.errors import Misuse
    from quotebook.quoting.percentages import share_in_option

    try:
        return share_in_option(text)
    except Misuse as error:
        raise click.BadParameter(str(error)) from None


def share_between_0_and_1(text: str) -> Decimal:
    """The share of one in an option's value, at most 100 %. Raises click.BadParameter."""
    share = percentage(text)
    if not 0 <= share <= 1:
        raise click.BadParameter(f"{text} is not from 0 to 100")
    return share


def day(text: str) -> date:
    """The date in an option's value, written YYYY-MM-DD in plain digits. Raises click.BadParameter."""
    try:
        if _DAY.fullmatch(text):
            return date.fromisoformat(text)
    except ValueError:
        pass
    raise click.BadParameter(f"{text!r} is not a date: write it as YYYY-MM-DD")


_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")

FILE = click.Path(path_type=Path)

desk_option = click.option("--desk", type=_desk, default=".", metavar="DIR", help="Your desk, if not this folder.")
sure_option = click.option("--sure", is_flag=True, help="Do not ask about a date that makes no sense.")
json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON instead of words.")


@contextmanager
def returned_workbook(file: Path) -> Iterator[Path]:
    """The workbook in a file or attached to a message, to be read; what goes wrong is said by the name given."""
    from tempfile import TemporaryDirectory

    from quotebook.checking.incoming import one_workbook

    with TemporaryDirectory(prefix="quotebook-") as scratch:
        one = one_workbook(file, Path(scratch))
        try:
            yield one.path
        except QuotebookError as error:
            error.args = (str(error).replace(str(one.path), one.shown),)
            raise


def asking(do: Callable[[bool], T], sure: bool) -> T:
    """Do something; if it makes no sense unless it is meant so, ask on a terminal, and refuse elsewhere.

    `do` takes whether it is meant so, and raises Doubtful if that has to be asked. Raises Misuse if it is
    not meant so, or nobody can be asked.
    """
    from quotebook.errors import Doubtful, Misuse

    try:
        return do(sure)
    except Doubtful as doubt:
        if not (on_terminal(sys.stdin) and on_terminal(sys.stderr)):
            raise Misuse(f"{doubt} Nothing was recorded. If it is meant so, add --sure.") from None
        if not click.confirm(f"{doubt} Is it meant so?", err=True):
            raise Misuse("nothing was recorded.") from None
        return do(True)


def say(text: str, colour: str | None = None) -> None:
    """Print a line on standard output, in colour only on a terminal and without NO_COLOR (no-color.org)."""
    click.echo(click.style(text, fg=colour) if colour and _in_colour(sys.stdout) else text)


def complain(text: str) -> None:
    """Print a line on standard error, in red only on a terminal and without NO_COLOR; nothing if it is closed."""
    with suppress(OSError):
        click.echo(click.style(text, fg="red") if _in_colour(sys.stderr) else text, err=True)


def on_terminal(stream: TextIO | None) -> bool:
    """Whether somebody reads a stream on a terminal; it is None where it was closed before the program began."""
    return stream is not None and stream.isatty()


def _in_colour(stream: TextIO | None) -> bool:
    return on_terminal(stream) and not os.environ.get("NO_COLOR")


def say_json(value: object) -> None:
    """Print a value as JSON on standard output."""
    import json

    click.echo(json.dumps(value, indent=2, ensure_ascii=False))


def spare_what_is_loaded() -> None:
    """Look for garbage only in what is made from now on, and seldom, where a command works on many files.

    What is loaded stays loaded; looking through it took a seventh of a long list, and half of each proof in it.
    What a quote is made of lives until it is written: looking every 700 objects took another twelfth.
    """
    gc.freeze()
    gc.set_threshold(OBJECTS_BETWEEN_SEARCHES)


def sparing(items: Iterable[T]) -> Iterator[T]:
    """The items of long work, done one after another. Garbage is not looked for in what is loaded before the first,
    nor in what the first leaves behind for all others: the formulas, parsed."""
    spare_what_is_loaded()
    for place, item in enumerate(items):
        yield item
        if place == 0:
            spare_what_is_loaded()
