"""Keeps each file that comes back to a desk, and records the verdict on it once."""

from collections.abc import Iterable
from pathlib import Path

from quotebook.bookings.archive import (
    digest_of,
    has_slips,
    keep_returned,
    open_ledger,
    record_event,
    record_issued,
    returned_path,
)
from quotebook.checking.check import Report
from quotebook.desk import Desk
from quotebook.errors import Misuse
from quotebook.ledger import Ledger
from quotebook.ledger.database import has_ledger
from quotebook.ledger.events import Returned, now


def record_returned(desk: Desk, ledger: Ledger, path: Path, report: Report) -> str:
    """Keep a file that came back, and record its verdict once; returns its SHA-256. Raises Misuse.

    The report must name the quote: one on an unreadable file does not.
    """
    digest = keep_file(desk, ledger, path, report)
    assert report.quote is not None and report.revision is not None  # or it would not have been kept
    record_event(desk, ledger, _returned(report, report.quote, report.revision, digest))
    return digest


def keep_file(desk: Desk, ledger: Ledger, path: Path, report: Report) -> str:
    """Keep a file that came back, and record no verdict; returns its SHA-256. Raises what `record_returned` raises."""
    if report.quote is None or report.revision is None:
        raise Misuse(f"{path}: does not say which quote it is, and cannot be recorded.")
    digest = keep_returned(desk, path)
    _knows(desk, ledger, report.quote, report.revision)
    return digest


def record_checked(desk: Desk, checked: Iterable[tuple[Path, Report]]) -> None:
    """Keep each file and record its verdict once, if the desk has a ledger and the ledger knows the quote.

    The desk's own copy of a quote is no answer of the client's, and nothing is recorded of it. A file that lies
    among those that the desk has kept stays as it is named.
    """
    if not (has_ledger(desk.folder) or has_slips(desk)):
        return
    ledger = open_ledger(desk)
    for path, report in checked:
        number, revision = report.quote, report.revision
        if number is None or revision is None or not _knows(desk, ledger, number, revision):
            continue
        content, own = path.read_bytes(), desk.issued_path(number, revision)
        if not own.exists() or content != own.read_bytes():
            if path.parent.resolve() != returned_path(desk, "").parent.resolve():
                keep_returned(desk, path)
            record_event(desk, ledger, _returned(report, number, revision, digest_of(content)))


def _knows(desk: Desk, ledger: Ledger, number: str, revision: int) -> bool:
    """Whether the ledger has a quote. A quote that this desk issued but a crash left unrecorded is recorded first."""
    if ledger.issued(number, revision):
        return True
    path = desk.issued_path(number, revision)
    if not path.exists():
        return False
    record_issued(desk, ledger, path, desk.card())
    return True


def _returned(report: Report, number: str, revision: int, digest: str) -> Returned:
    return Returned(
        at=now(),
        quote_number=number,
        revision=revision,
        sha256=digest,
        verdict=report.verdict,
        findings=len(report.findings),
    )
