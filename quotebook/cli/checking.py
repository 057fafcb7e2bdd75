"""The command that checks what comes back."""

from collections.abc import Generator, Sequence
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

import click

from quotebook.cli.options import (
    DISPUTED,
    complain,
    desk_option,
    json_option,
    say,
    say_json,
    sparing,
)
from quotebook.errors import Misuse, QuotebookError
from quotebook.progress import watched

if TYPE_CHECKING:
    from quotebook.checking.check import Report
    from quotebook.checking.incoming import Incoming
    from quotebook.desk import Desk

VERDICT_COLOURS = {"agrees": "green", "changed": "yellow", "disputed": "red", "unreadable": "red"}


@click.command(epilog="Example: quotebook check returned/*.xlsx")
@desk_option
@json_option
@click.option("--brief", is_flag=True, help="Print only the table, with a line for each file.")
@click.option("--marked", is_flag=True, help="Also write NAME.checked.xlsx beside each file.")
@click.option("--overwrite", is_flag=True, help="Replace marked copies that are already there.")
@click.option("--jobs", type=click.IntRange(1), metavar="N", help="Files checked at once.  [default: one per core]")
@click.argument("names", nargs=-1, required=True, metavar="FILE...")
def check(
    desk: "Desk", as_json: bool, brief: bool, marked: bool, overwrite: bool, jobs: int | None, names: tuple[str, ...]
) -> None:
    """Say what the client changed, and whether the quote still adds up.

    FILE is a workbook, a mail message (.eml) with workbooks attached, a
    pattern, or a folder of them.
    """
    from tempfile import TemporaryDirectory

    desk.key()
    with TemporaryDirectory(prefix="quotebook-") as scratch:
        files, reports = _reports(desk, names, Path(scratch), jobs)
        _record(desk, files, reports)
        copies, refusals = _marked_copies(files, reports, overwrite) if marked else ([None] * len(files), [])
    if as_json:
        _say_as_json(reports, copies, marked)
    else:
        _say_in_words(reports, copies, brief)
    for refusal in refusals:
        complain(f"quotebook: {refusal}")
    verdicts = {report.verdict for report in reports}
    raise SystemExit(3 if "unreadable" in verdicts else 2 if refusals else DISPUTED if "disputed" in verdicts else 0)


def _reports(
    desk: "Desk", names: Sequence[str], scratch: Path, jobs: int | None
) -> tuple[list["Incoming"], list["Report"]]:
    from quotebook.checking.batch import check_all
    from quotebook.checking.incoming import incoming, marked_copies
    from quotebook.checking.issued import IssuedQuotes, issued_quotes

    files = incoming(names, scratch)
    if copies := marked_copies(names):
        others = f" and {len(copies) - 1} more" if len(copies) > 1 else ""
        complain(f"quotebook: left out as marked copies that the check wrote: {copies[0]}{others}")
    try:
        issued = issued_quotes(desk)
    except QuotebookError as error:
        complain(f"quotebook: checked against the quotes kept here alone, not against the ledger: {error}")
        issued = IssuedQuotes(desk)
    checking = check_all(files, desk, jobs=jobs, issued=issued)
    assert isinstance(checking, Generator)  # closed below, so that no process outlives an interruption
    with closing(checking) as found:
        reports = list(watched(sparing(found), "Checking", len(files)))
    return files, reports


def _record(desk: "Desk", files: Sequence["Incoming"], reports: Sequence["Report"]) -> None:
    """Record the verdicts. If they cannot be recorded, in a read-only folder for example, the check goes on."""
    from quotebook.bookings.receiving import record_checked

    try:
        checked = zip((file.path for file in files), reports, strict=True)
        record_checked(desk, watched(checked, "Recording", len(files)))
    except QuotebookError as error:
        complain(f"quotebook: the files were checked, but the verdicts are not in the ledger: {error}")


def _marked_copies(
    files: Sequence["Incoming"], reports: Sequence["Report"], overwrite: bool
) -> tuple[list[Path | None], list[QuotebookError]]:
    """The marked copy of each file, None if it has none, and why some could not be written."""
    from quotebook.marked_copy.marking import marked_path, write_marked_copy

    copies: list[Path | None] = []
    refusals: list[QuotebookError] = []
    for file, report in watched(zip(files, reports, strict=True), "Marking", len(files)):
        copies.append(None)
        target = marked_path(file.beside)
        if report.verdict != "unreadable" and target.exists() and not overwrite:
            refusals.append(Misuse(f"{target}: is there already, and was left as it is. --overwrite replaces it."))
        elif report.verdict != "unreadable":
            try:
                copies[-1] = write_marked_copy(file.path, report, target, overwrite)
            except QuotebookError as refusal:
                refusals.append(refusal)
    return copies, refusals


def _say_as_json(reports: Sequence["Report"], copies: Sequence[Path | None], marked: bool) -> None:
    from quotebook.checking.report import as_json

    value = as_json(reports)
    for entry, copy in zip(value["files"], copies, strict=True):
        if marked:
            entry["marked"] = str(copy) if copy else None
    say_json(value)


def _say_in_words(reports: Sequence["Report"], copies: Sequence[Path | None], brief: bool) -> None:
    from quotebook.checking.summary import summary

    for report, copy in zip(reports, copies, strict=True):
        if not brief or len(reports) == 1:
            say_report(report)
        if copy:
            say(f"  marked copy: {copy}")
    if len(reports) > 1:
        headings, *rows, count = summary(reports)
        say(headings if brief else f"\n{headings}")
        for row, report in zip(rows, reports, strict=True):
            say(row, VERDICT_COLOURS[report.verdict])
        say(count)


def say_report(report: "Report") -> None:
    """Print a report, its first line in the colour of the verdict."""
    from quotebook.checking.report import in_words

    first, *lines = in_words(report)
    say(first, VERDICT_COLOURS[report.verdict])
    say("\n".join(lines))
