"""What comes back to a desk: the file kept, and the verdict on it recorded, once."""

from collections.abc import Iterable
from pathlib import Path

from quotebook.bookings.archive import digest_of, has_slips, keep_returned, ledger_of, record_event, record_issued
from quotebook.checking.check import Report
from quotebook.desk import Desk
from quotebook.ledger import Ledger
from quotebook.ledger.database import has_ledger
from quotebook.ledger.events import Returned, now


def record_returned(desk: Desk, ledger: Ledger, path: Path, report: Report) -> str:
    """Keeps a file that came back and records its verdict, once; returns its SHA-256."""
    digest = keep_returned(desk, path)
    _knows(desk, ledger, report)
    record_event(desk, ledger, _returned(report, digest))
    return digest


def record_checked(desk: Desk, checked: Iterable[tuple[Path, Report]]) -> None:
    """Records the verdict on each file, once, where the desk has a ledger and the ledger knows the quote."""
    if not (has_ledger(desk.folder) or has_slips(desk)):
        return
    ledger = ledger_of(desk)
    for path, report in checked:
        if report.revision is not None and _knows(desk, ledger, report):
            record_event(desk, ledger, _returned(report, digest_of(path.read_bytes())))


def _knows(desk: Desk, ledger: Ledger, report: Report) -> bool:
    """Whether a file's quote is in the ledger; it is put there where the desk issued it and a crash left it out."""
    path, there = desk.issued_path(report.quote, report.revision), ledger.issued(report.quote, report.revision)
    if not there and path.exists():
        record_issued(desk, ledger, path, desk.card())
    return bool(there) or path.exists()


def _returned(report: Report, digest: str) -> Returned:
    return Returned(
        at=now(),
        quote_number=report.quote,
        revision=report.revision,
        sha256=digest,
        verdict=report.verdict,
        findings=len(report.findings),
    )
