"""Commands that keep the ledger safe: copy it, and re-create it."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from quotebook.cli.options import FILE, complain, desk_option, say, spare_what_is_loaded

if TYPE_CHECKING:
    from quotebook.desk import Desk


@click.command(epilog="Example: quotebook rebuild --to again.sqlite")
@desk_option
@click.option("--to", "target", type=FILE, metavar="FILE", help="Write a new file, and leave the ledger as it is.")
@click.option("--anew", is_flag=True, help="Set the ledger's file aside, and make a new one.")
def rebuild(desk: "Desk", target: Path | None, anew: bool) -> None:
    """Re-create the ledger from the desk's workbooks and slips.

    A ledger that is only older than the slips is brought up to date. Several
    desks that share a ledger each put theirs back, in any order.
    """
    from quotebook.bookings import rebuilding
    from quotebook.bookings.archive import desk_name
    from quotebook.ledger import Ledger
    from quotebook.ledger.database import file_url, ledger_url

    if target and anew:
        raise click.UsageError("--to leaves the ledger as it is, --anew sets it aside: choose one")
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
    for stray in rebuilt.strays:
        complain(f"quotebook: {stray} is none of this desk's slips, and was left where it is.")


@click.command(epilog="Example: quotebook backup ledger-copy.sqlite")
@desk_option
@click.argument("file", type=FILE)
def backup(desk: "Desk", file: Path) -> None:
    """Copy the ledger as it is now, while other programs go on writing to it."""
    from quotebook.bookings.archive import open_ledger

    open_ledger(desk).backup(file)
    say(f"{file} is a copy of the ledger. Keep a copy of the desk's whole folder too.")
