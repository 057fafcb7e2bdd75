"""The command that checks what comes back."""

from collections.abc import Generator, Iterable, Iterator, Sequence
from contextlib import closing, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from quotebook import progress
from quotebook.cli.options import DISPUTED, complain, desk_option, json_option, say, sparing
from quotebook.errors import Misuse, QuotebookError

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

    verdicts: set[str] = set()
    refusals: list[QuotebookError] = []
    desk.key()
    with TemporaryDirectory(prefix="quotebook-") as scratch:
        files = _files(names, Path(scratch))
        with _checked(desk, files, jobs) as checked:
            done = _done(checked, verdicts, refusals, overwrite if marked else None)
            if as_json:
                _say_as_json(done, marked)
            else:
                _say_in_words(done, len(files), brief)
    for refusal in refusals:
        complain(f"quotebook: {refusal}")
    raise SystemExit(3 if "unreadable" in verdicts else 2 if refusals else DISPUTED if "disputed" in verdicts else 0)


def _files(names: Sequence[str], scratch: Path) -> list["Incoming"]:
    """The files to check. Says which marked copies are left out."""
    from quotebook.checking.incoming import incoming, marked_copies

    files = incoming(names, scratch)
    if copies := marked_copies(names):
        others = f" and {len(copies) - 1} more" if len(copies) > 1 else ""
        complain(f"quotebook: left out as marked copies that the check wrote: {copies[0]}{others}")
    return files


@contextmanager
def _checked(
    desk: "Desk", files: Sequence["Incoming"], jobs: int | None
) -> Iterator[Iterator[tuple["Incoming", "Report"]]]:
    """Each file with its report, once its verdict is recorded. No process that checks outlives the context."""
    from quotebook.bookings.receiving import recorded
    from quotebook.checking.batch import check_all
    from quotebook.checking.issued import IssuedQuotes, issued_quotes

    try:
        issued = issued_quotes(desk)
    except QuotebookError as error:
        complain(f"quotebook: checked against the quotes kept here alone, not against the ledger: {error}")
        issued = IssuedQuotes(desk)

    def refused(error: QuotebookError) -> None:
        progress.clear()
        complain(f"quotebook: the files were checked, but the verdicts are not in the ledger: {error}")

    checking = check_all(files, desk, jobs=jobs, issued=issued)
    assert isinstance(checking, Generator)
    with closing(checking) as reports:
        watched = progress.watched(sparing(reports), "Checking", len(files))
        yield recorded(desk, zip(files, watched, strict=True), refused)


def _done(
    checked: Iterable[tuple["Incoming", "Report"]],
    verdicts: set[str],
    refusals: list[QuotebookError],
    overwrite: bool | None,
) -> Iterator[tuple["Report", Path | None]]:
    """Each report with the marked copy of its file, None if it has none: `overwrite` is None where none is wanted.

    Notes the verdicts that there are, and why copies could not be written.
    """
    for file, report in checked:
        verdicts.add(report.verdict)
        copy = None
        if overwrite is not None and report.verdict != "unreadable":
            try:
                copy = _marked_copy(file, report, overwrite)
            except QuotebookError as refusal:
                refusals.append(refusal)
        progress.clear()
        yield report, copy


def _marked_copy(file: "Incoming", report: "Report", overwrite: bool) -> Path:
    """The marked copy of a file, written beside it. Raises Misuse if it cannot be."""
    from quotebook.marked_copy.marking import marked_path, write_marked_copy

    target = marked_path(file.beside)
    if target.exists() and not overwrite:
        raise Misuse(f"{target}: is there already, and was left as it is. --overwrite replaces it.")
    return write_marked_copy(file.path, report, target, overwrite)


def _say_as_json(done: Iterable[tuple["Report", Path | None]], marked: bool) -> None:
    """One value, printed report by report as they come."""
    import json

    from quotebook.checking.report import as_json

    before = '{\n  "files": ['
    for report, copy in done:
        entry = as_json(report) | ({"marked": str(copy) if copy else None} if marked else {})
        text = json.dumps(entry, indent=2, ensure_ascii=False).replace("\n", "\n    ")
        click.echo(f"{before}\n    {text}", nl=False)
        before = ","
    click.echo("\n  ]\n}")


def _say_in_words(done: Iterable[tuple["Report", Path | None]], count: int, brief: bool) -> None:
    from quotebook.checking.summary import line_of, summary, verdict_of

    lines = []
    for report, copy in done:
        if not brief:
            say_report(report)
        if copy:
            say(f"  marked copy: {copy}")
        lines.append(line_of(report))
    if brief or count > 1:
        table = summary(lines)
        say(next(table) if brief else f"\n{next(table)}")
        for line, shown in zip(lines, table, strict=False):  # what is left over counts the verdicts
            say(shown, VERDICT_COLOURS[verdict_of(line)])
        say(next(table))


def say_report(report: "Report") -> None:
    """Print a report, its first line in the colour of the verdict."""
    from quotebook.checking.report import in_words

    first, *lines = in_words(report)
    say(first, VERDICT_COLOURS[report.verdict])
    say("\n".join(lines))
