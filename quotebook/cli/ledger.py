"""Commands that keep the ledger safe: copy it, and re-create it."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from quotebook.cli.options import FILE, complain, desk_option, say, spare_what_is_loaded

if TYPE_CHECKING:
    from quotebook.desk import Desk
    from quotebook.ledger import Ledger


@click.command(epilog="Example: quotebook rebuild --to again.sqlite")
@desk_option
@click.option("--to", "target", type=FILE, metavar="FILE", help="Write a new file, and leave the ledger as it is.")
@click.option("--anew", is_flag=True, help="Set the ledger's file aside, and make a new one.")
@click.option("--look", is_flag=True, help="Write nothing, and name each slip and workbook that is not as signed.")
def rebuild(desk: "Desk", target: Path | None, anew: bool, look: bool) -> None:
    """Re-create the ledger from the desk's workbooks and slips.

    A ledger that is only older than the slips is brought up to date. Several
    desks that share a ledger each put theirs back, in any order.
    """
    if bool(target) + anew + look > 1:
        raise click.UsageError("--to leaves the ledger as it is, --anew sets it aside, --look reads: choose one")
    if look:
        from quotebook.bookings.archive import open_ledger

        ledger = open_ledger(desk)
        _say_faults(desk, ledger)
        say(f"Every slip and workbook of the ledger's {ledger.last_line()[0]} events is there, as it was signed.")
        return
    _rebuild(desk, target, anew)


def _rebuild(desk: "Desk", target: Path | None, anew: bool) -> None:
    from quotebook.bookings import rebuilding, soundness
    from quotebook.bookings.archive import desk_name
    from quotebook.ledger import Ledger
    from quotebook.ledger.database import file_url, ledger_url

    desk.key()
    if anew:
        say(f"{rebuilding.set_aside(desk)} is the ledger that was there.")
    ledger = Ledger(file_url(target) if target else ledger_url(desk.folder), desk_name(desk))
    spare_what_is_loaded()
    rebuilt = rebuilding.rebuild(desk, ledger)
    say(f"The ledger {ledger.database.name} has {rebuilt.events} events more, and now {rebuilt.total}.")
    if not target:
        recorded, refusals = rebuilding.record_unrecorded(desk, ledger)
        for path in recorded:
            say(f"  {path} was not recorded yet, and is recorded as issued now.")
        for refusal in refusals:
            complain(f"quotebook: {refusal}")
        for path in soundness.write_missing_slips(desk, ledger):
            say(f"  {path} was missing, and was written again.")
    for stray in rebuilt.strays:
        complain(f"quotebook: {stray} is none of this desk's slips, and was left where it is.")
    if not target:
        _say_faults(desk, ledger)


@click.command(epilog="Example: quotebook backup ledger-copy.sqlite")
@desk_option
@click.argument("file", type=FILE)
def backup(desk: "Desk", file: Path) -> None:
    """Copy the ledger as it is now, while other programs go on writing to it.

    Every slip and workbook from which it could be made again is read too, and
    what is missing or edited is named.
    """
    from quotebook.bookings.archive import open_ledger

    ledger = open_ledger(desk)
    ledger.backup(file)
    say(f"{file} is a copy of the ledger. Keep a copy of the desk's whole folder too.")
    _say_faults(desk, ledger)


def _say_faults(desk: "Desk", ledger: "Ledger") -> None:
    """Name each slip and workbook that is not as signed, and end with status 3 if there is any."""
    from quotebook.bookings.soundness import faults

    found = [*faults(desk, ledger)]
    for fault in found:
        complain(f"quotebook: {fault}")
    if found:
        raise click.exceptions.Exit(3)
