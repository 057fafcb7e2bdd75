"""Checks what lies in the post folder, records it, and moves what is dealt with into the folder `done` there.

A file that cannot be read, or is no quote of this desk, stays where it is and is told. Several answers to one quote
are all kept; the one that its client sent last counts.
"""

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from email.utils import parsedate_to_datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from quotebook.bookings.receiving import record_returned
from quotebook.checking.batch import check_all
from quotebook.checking.check import Report
from quotebook.checking.findings import DISPUTED, UNREADABLE
from quotebook.checking.incoming import MESSAGE, Incoming, incoming
from quotebook.checking.issued import issued_quotes
from quotebook.desk import Desk
from quotebook.desk_books.answers import keep_answer
from quotebook.desk_books.open_books import lock_of
from quotebook.desk_books.outcome import Outcome
from quotebook.desk_books.places import post_folder
from quotebook.errors import QuotebookError, Unreadable
from quotebook.ledger import Ledger
from quotebook.marked_copy.marking import marked_path, write_marked_copy
from quotebook.progress import watched
from quotebook.spreadsheets.package import open_package

DONE = "done"


def take_post(desk: Desk, ledger: Ledger, dry_run: bool = False) -> Iterator[Outcome]:
    """Check every file in the post folder, and record and move those that can be read. Yields an outcome for each."""
    folder = post_folder(desk)
    with TemporaryDirectory(prefix="quotebook-") as scratch:
        files = sorted(folder.iterdir()) if folder.is_dir() else []
        for file in watched(files, "Checking the post"):
            if file.name == DONE or file.name.startswith((".", "~$")):
                continue
            if file.is_dir():
                yield _stays(file, "found a folder; allowed: files. Move its files into the post itself.")
                continue
            if lock := lock_of(file):
                yield Outcome(
                    file.name, f"is open in a program: close it. If none has it open, remove {lock.name}", True
                )
                continue
            yield from _take_file(desk, ledger, file, Path(scratch), dry_run)


def _take_file(desk: Desk, ledger: Ledger, file: Path, scratch: Path, dry_run: bool) -> Iterator[Outcome]:
    """Check one file, or each workbook in one message; it is moved once all of them are recorded."""
    try:
        workbooks = incoming([file], scratch)
    except QuotebookError as error:
        yield _stays(file, str(error))
        return
    reports = list(check_all(workbooks, desk, jobs=1, issued=issued_quotes(desk, ledger)))
    if trouble := _trouble(reports):
        yield _stays(file, trouble)
        return
    if not dry_run:
        for workbook, report in zip(workbooks, reports, strict=True):
            digest = record_returned(desk, ledger, workbook.path, report)
            keep_answer(desk, digest, report, Path(workbook.shown).name, sent_at(file, workbook))
        done = _move(file)
        for workbook, report in zip(workbooks, reports, strict=True):
            _mark(workbook, report, done)
    for report in reports:
        yield Outcome(f"{report.quote}-r{report.revision}", f"{report.verdict}, {file.name}")


def _stays(file: Path, why: str) -> Outcome:
    return Outcome(file.name, "stays in the post: " + why.removeprefix(f"{file}: "), waits=True)


def _trouble(reports: Sequence[Report]) -> str:
    """Why a file cannot be dealt with; empty if it can."""
    for report in reports:
        if report.verdict == UNREADABLE or report.quote is None or report.revision is None:
            return report.findings[0].message
    return ""


def _move(file: Path) -> Path:
    """Move a file into the folder of what is done, under a name that no other file there has; returns its path."""
    folder = file.parent / DONE
    folder.mkdir(exist_ok=True)
    target, number = folder / file.name, 1
    while target.exists():
        number += 1
        target = folder / f"{file.stem}-{number}{file.suffix}"
    return file.rename(target)


def _mark(workbook: Incoming, report: Report, done: Path) -> None:
    """Write a marked copy of a disputed file beside where it was moved, unless it cannot be marked."""
    if report.verdict != DISPUTED:
        return
    source, name = (workbook.path, workbook.beside.name) if workbook.path.exists() else (done, done.name)
    try:
        write_marked_copy(source, report, marked_path(done.with_name(name)), overwrite=True)
    except QuotebookError:
        return  # the report has every finding in words; an .ods has no marked copy


def sent_at(file: Path, workbook: Incoming) -> str:
    """When a client sent a message, or else saved a workbook: as the file says, or the time of the file (ISO, UTC)."""
    moment = _message_date(file) if file.suffix.lower() == MESSAGE else _saved_at(workbook.path)
    moment = moment or datetime.fromtimestamp(file.stat().st_mtime, UTC)
    return moment.astimezone(UTC).isoformat(timespec="microseconds")


def _message_date(file: Path) -> datetime | None:
    from email import message_from_bytes

    try:
        return parsedate_to_datetime(str(message_from_bytes(file.read_bytes())["Date"]))
    except (TypeError, ValueError, IndexError):
        return None


def _saved_at(path: Path) -> datetime | None:
    """The time at which a program last saved an .xlsx, from its core properties (ECMA-376 part 2, 8.3.2)."""
    try:
        properties = open_package(path).xml("docProps/core.xml")
        text = properties.findtext("{http://purl.org/dc/terms/}modified") or ""
        return datetime.fromisoformat(text).astimezone(UTC)
    except (Unreadable, ValueError, OSError):
        return None
