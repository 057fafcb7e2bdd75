"""Keeps each file that comes back to a desk, and records the verdict on it once."""

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from itertools import islice
from pathlib import Path

from quotebook.bookings.archive import (
    digest_of,
    has_slips,
    keep_content,
    keep_returned,
    open_ledger,
    record_event,
    record_events,
    record_issued,
    returned_path,
)
from quotebook.checking.check import Report
from quotebook.checking.incoming import Incoming
from quotebook.desk import Desk
from quotebook.errors import Misuse, QuotebookError
from quotebook.ledger import Ledger
from quotebook.ledger.database import has_ledger
from quotebook.ledger.events import Returned, now

AT_ONCE = 16
"""So many verdicts are recorded in one transaction; one alone would take as long as all of them."""


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
    _issued_among(desk, ledger, [(report.quote, report.revision)])
    return digest


def recorded(
    desk: Desk, checked: Iterable[tuple[Incoming, Report]], refused: Callable[[QuotebookError], None]
) -> Iterator[tuple[Incoming, Report]]:
    """Files and the reports on them, one after another, each once the file is kept and its verdict recorded.

    Nothing is recorded at a desk without a ledger. Where the verdicts cannot be recorded, in a read-only folder for
    example, `refused` is told why, and the files go on unrecorded.
    """
    checked = iter(checked)
    ledger: Ledger | None = None
    recording = has_ledger(desk.folder) or has_slips(desk)
    while some := list(islice(checked, AT_ONCE)):
        try:
            if recording:
                ledger = ledger or open_ledger(desk)
                record_checked(desk, ledger, [(file.path, report) for file, report in some])
        except QuotebookError as error:
            refused(error)
            recording = False
        yield from some


def record_checked(desk: Desk, ledger: Ledger, checked: Sequence[tuple[Path, Report]]) -> None:
    """Keep files and record their verdicts at once, each that was not, of quotes that the ledger knows.

    The desk's own copy of a quote is no answer of the client's, and nothing is recorded of it. A file that lies
    among those that the desk has kept stays as it is named.
    """
    of_quotes = [
        (path, report, report.quote, report.revision)
        for path, report in checked
        if report.quote is not None and report.revision is not None
    ]
    known = _issued_among(desk, ledger, {(number, revision) for *_, number, revision in of_quotes})
    returned, events = returned_path(desk, "").parent.resolve(), []
    for path, report, number, revision in of_quotes:
        if (number, revision) in known and not _is_own_copy(desk, number, revision, content := path.read_bytes()):
            digest = digest_of(content) if path.parent.resolve() == returned else keep_content(desk, content)
            events.append(_returned(report, number, revision, digest))
    if events:
        record_events(desk, ledger, events)


def _issued_among(desk: Desk, ledger: Ledger, revisions: Collection[tuple[str, int]]) -> set[tuple[str, int]]:
    """Those that the ledger has. A quote that this desk issued but a crash left unrecorded is recorded first."""
    known = ledger.issued_among(revisions)
    for number, revision in sorted({*revisions} - known):
        path = desk.issued_path(number, revision)
        if path.exists():
            record_issued(desk, ledger, path, desk.card())
            known.add((number, revision))
    return known


def _is_own_copy(desk: Desk, number: str, revision: int, content: bytes) -> bool:
    """Whether a file is, byte for byte, the quote as the desk keeps it."""
    own = desk.issued_path(number, revision)
    return own.exists() and own.stat().st_size == len(content) and own.read_bytes() == content


def _returned(report: Report, number: str, revision: int, digest: str) -> Returned:
    return Returned(
        at=now(),
        quote_number=number,
        revision=revision,
        sha256=digest,
        verdict=report.verdict,
        findings=len(report.findings),
    )
