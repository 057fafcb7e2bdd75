"""Commands that keep the ledger safe: copy it, and re-create it."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from quotebook.cli.options import FILE, desk_option, say

if TYPE_CHECKING:
    from quotebook.desk import Desk


@click.command(epilog="Example: quotebook rebuild --to again.sqlite")
@desk_option
@click.option("--to", "target", type=FILE, metavar="FILE", help="Write a new file, and leave the ledger as it is.")
def rebuild(desk: "Desk", target: Path | None) -> None:
    """Re-create the ledger from the desk's workbooks and slips."""
    from quotebook.bookings import archive
    from quotebook.ledger import Ledger
    from quotebook.ledger.database import file_url, ledger_url

    desk.key()
    ledger = Ledger(file_url(target) if target else ledger_url(desk.folder))
    say(f"The ledger {ledger.database.name} has {archive.rebuild(desk, ledger)} events.")


@click.command(epilog="Example: quotebook backup ledger-copy.sqlite")
@desk_option
@click.argument("file", type=FILE)
def backup(desk: "Desk", file: Path) -> None:
    """Copy the ledger as it is now, while other programs go on writing to it."""
    from quotebook.bookings.archive import open_ledger

    open_ledger(desk).backup(file)
    say(f"{file} is a copy of the ledger. Keep a copy of the desk's whole folder too.")
