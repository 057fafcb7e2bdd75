"""Looks whether all that a lost ledger would be made again of is there, as it was signed.

Opening a ledger reads the last slip only. This reads every slip of the desk, and every workbook that a slip names.
"""

import json
from collections.abc import Iterator
from pathlib import Path

from quotebook.bookings.archive import (
    digest_of,
    is_as_signed,
    read_slip_file,
    returned_path,
    slip_path,
    write_slip_file,
)
from quotebook.desk import Desk
from quotebook.errors import Unreadable
from quotebook.ledger import Ledger
from quotebook.ledger.events import Details, has_figures
from quotebook.ledger.slips import digest_of_line, place_of


def faults(desk: Desk, ledger: Ledger) -> Iterator[str]:
    """A sentence for each slip and workbook of a desk that is missing, edited or exchanged, in the order of events."""
    key, before = desk.key(), ""
    for sequence, line in ledger.lines():
        details = json.loads(line)
        place = place_of(details)
        if place is None or place.previous != (digest_of_line(before) if before else ""):
            yield (
                f"{ledger.database.name}: its event {sequence} does not follow the one before it: it was edited. "
                "Set it aside and make it anew: quotebook rebuild --anew"
            )
        before = line
        try:
            _must_be_slip_of(slip_path(desk, sequence), line, key)
        except Unreadable as error:
            yield f"{error}"
        try:
            must_have_workbook(desk, details)
        except Unreadable as error:
            yield f"{error}"


def write_missing_slips(desk: Desk, ledger: Ledger) -> list[Path]:
    """Write every slip that is missing again from the ledger; returns their paths."""
    missing = [(slip_path(desk, sequence), line) for sequence, line in ledger.lines()]
    missing = [(path, line) for path, line in missing if not path.exists()]
    for path, line in missing:
        write_slip_file(path, line, desk.key())
    return [path for path, _ in missing]


def must_have_workbook(desk: Desk, details: Details) -> Path | None:
    """The workbook that an event's figures are those of; None if it has none.

    Raises Unreadable if it is missing, or is not the one on the slip.
    """
    if not has_figures(details):
        return None
    agreed, digest = details["event"] == "agreed", details.get("sha256", "")
    path = returned_path(desk, digest) if agreed else desk.issued_path(details["quote_number"], details["revision"])
    if not path.exists():
        raise Unreadable(f"{path}: this workbook is missing, and a slip names it. Put back your copy of it.")
    if not (digest_of(path.read_bytes()) == digest if digest else is_as_signed(desk, path)):
        raise Unreadable(f"{path}: is not the workbook that its slip names: it was changed. Put back your copy of it.")
    return path


def _must_be_slip_of(path: Path, line: str, key: bytes) -> None:
    """Raises Unreadable if a slip is missing, was edited, or is that of another event."""
    again = "Or move it away: quotebook rebuild writes it again from the ledger."
    if not path.exists():
        raise Unreadable(f"{path}: this slip is missing. quotebook rebuild writes it again from the ledger.")
    try:
        kept = read_slip_file(path, key)
    except Unreadable as error:
        raise Unreadable(f"{error} {again}") from error
    if kept != line:
        raise Unreadable(f"{path}: is the slip of another event: it is a copy of another, or another desk's. {again}")
