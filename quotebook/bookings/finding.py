"""Finds the workbook that an owner means by a file's name or by a quote's number."""

from pathlib import Path

from quotebook.bookings.archive import find_returned
from quotebook.desk import Desk
from quotebook.errors import Misuse
from quotebook.ledger import Ledger


def issued_file(desk: Desk, named: str) -> Path:
    """The file of that name, or the desk's copy of the last revision of the quote of that number.

    A file that exists comes before a number. Raises Misuse for what is neither; a name with a folder or an ending is
    left to those who read the file.
    """
    if Path(named).exists() or Path(named).name != named or Path(named).suffix:
        return Path(named)
    revision = desk.latest_revision(named)
    if not revision:
        raise Misuse(f"{named}: is neither a file nor the number of a quote that was issued here.")
    return desk.issued_path(named, revision)


def answered_file(desk: Desk, ledger: Ledger, named: str) -> Path:
    """The file of that name, or what the client sent back last of the last revision of the quote of that number.

    Where nothing came back of it that the desk has kept, the quote as it was issued. Raises Misuse.
    """
    issued = issued_file(desk, named)
    if issued == Path(named):
        return issued
    revision = desk.latest_revision(named)
    answers = [
        details["sha256"]
        for details in ledger.history(named)
        if details["event"] == "returned" and details["revision"] == revision
    ]
    kept = (find_returned(desk, digest) for digest in reversed(answers))
    return next((path for path in kept if path), issued)
