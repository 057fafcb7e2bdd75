"""The command that checks what comes back."""

import gc
from contextlib import closing
from pathlib import Path

import click

from quotebook.cli.options import DISPUTED, complain, desk_option, json_option, progress, say, say_json
from quotebook.errors import QuotebookError

VERDICT_COLOURS = {"agrees": "green", "changed": "yellow", "disputed": "red", "unreadable": "red"}


@click.command(epilog="Example: quotebook check returned/*.xlsx")
@desk_option
@json_option
@click.option("--brief", is_flag=True, help="Only the table: a line for each file.")
@click.option("--marked", is_flag=True, help="Also write NAME.checked.xlsx beside each file.")
@click.option("--overwrite", is_flag=True, help="Replace marked copies that are there.")
@click.option("--jobs", type=click.IntRange(1), metavar="N", help="Processes at once, if not one a core.")
@click.argument("names", nargs=-1, required=True, metavar="FILE...")
def check(desk, as_json, brief, marked, overwrite, jobs, names):
    """Say what came back changed, and whether it still adds up.

    FILE is a workbook, a mail message (.eml) with workbooks attached, a
    pattern, or a folder of them.
    """
    from tempfile import TemporaryDirectory

    desk.key()
    with TemporaryDirectory(prefix="quotebook-") as scratch:
        files, reports = _reports(desk, names, Path(scratch), jobs)
        _record(desk, files, reports)
        copies, refusals = _marked(files, reports, overwrite) if marked else ([None] * len(files), [])
    if as_json:
        _say_as_json(reports, copies, marked)
    else:
        _say_in_words(reports, copies, brief)
    for refusal in refusals:
        complain(f"quotebook: {refusal}")
    verdicts = {report.verdict for report in reports}
    raise SystemExit(3 if "unreadable" in verdicts else 2 if refusals else DISPUTED if "disputed" in verdicts else 0)


def _reports(desk, names, scratch, jobs):
    from quotebook.checking.batch import check_all
    from quotebook.checking.incoming import incoming

    gc.freeze()  # what is loaded by now stays: a tenth of a long check went into looking whether it does
    files, reports = incoming(names, scratch), []
    with closing(check_all(files, desk, jobs=jobs)) as coming, progress(files, "Checking") as bar:
        for _, report in zip(bar, coming):
            reports.append(report)
    return files, reports


def _record(desk, files, reports):
    """What cannot be recorded, in a folder that is read-only for example, is checked all the same."""
    from quotebook.bookings.receiving import record_checked

    try:
        record_checked(desk, zip((file.path for file in files), reports))
    except QuotebookError as error:
        complain(f"quotebook: what came back was checked, but is not in the ledger: {error}")


def _marked(files, reports, overwrite):
    """The marked copy of each file that can be marked, and why the others could not."""
    from quotebook.marked_copy.marking import marked_path, write_marked_copy

    copies, refusals = [], []
    for file, report in zip(files, reports):
        copies.append(None)
        if report.verdict != "unreadable":
            try:
                copies[-1] = write_marked_copy(file.path, report, marked_path(file.beside), overwrite)
            except QuotebookError as refusal:
                refusals.append(refusal)
    return copies, refusals


def _say_as_json(reports, copies, marked):
    from quotebook.checking.report import as_json

    value = as_json(reports)
    for entry, copy in zip(value["files"], copies):
        if marked:
            entry["marked"] = str(copy) if copy else None
    say_json(value)


def _say_in_words(reports, copies, brief):
    from quotebook.checking.summary import summary

    for report, copy in zip(reports, copies):
        if not brief or len(reports) == 1:
            say_report(report)
        if copy:
            say(f"  marked copy: {copy}")
    if len(reports) > 1:
        headings, *rows, count = summary(reports)
        say(headings if brief else f"\n{headings}")
        for row, report in zip(rows, reports):
            say(row, VERDICT_COLOURS[report.verdict])
        say(count)


def say_report(report):
    from quotebook.checking.report import in_words

    first, *lines = in_words(report)
    say(first, VERDICT_COLOURS[report.verdict])
    say("\n".join(lines))
