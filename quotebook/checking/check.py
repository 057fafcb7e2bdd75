"""Checks a returned workbook against the quotes of a desk, and says how it stands."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from itertools import chain
from pathlib import Path

from quotebook.checking.answer import Answer, answer_of, replies
from quotebook.checking.checks import CHECKS
from quotebook.checking.comparison import Comparison
from quotebook.checking.findings import DISPUTED, UNREADABLE, Finding, verdict_of
from quotebook.checking.issued import IssuedQuotes, issued_content, issued_quotes, stated
from quotebook.checking.kinds import Kind
from quotebook.checking.returned import Returned
from quotebook.checking.shown_figures import STALE, ShownFigures
from quotebook.contract.stamp import Content
from quotebook.contract.stamped import minor_units_of, papers_of
from quotebook.contract.wording import worldwide
from quotebook.desk import Desk
from quotebook.engine.model import RULES
from quotebook.engine.money import ZERO, money
from quotebook.errors import Misuse, Unreadable
from quotebook.spreadsheets.cells import Workbook
from quotebook.spreadsheets.reading import read_workbook


@dataclass(frozen=True)
class Report:
    """What the check has to say of one file."""

    file: str
    verdict: str
    findings: tuple[Finding, ...]
    desk: str = "."
    """The folder of the desk that it was checked at."""
    quote: str | None = None
    revision: int | None = None
    issued: Decimal | None = None
    """The total as issued."""
    sheet: Decimal | None = None
    """The total that the file shows."""
    engine: Decimal | None = None
    """The total as it should be: the returned entries at the issued rates."""
    worked_out: Decimal | None = None
    """The total that the sheet's own formulas make of all that is in it."""
    state: str | None = None
    """How the values in the file stand to what its formulas make: one of `shown_figures.STATES`, or None if unknown."""
    answer: Answer | None = None
    """Whether the client accepts the quote; None where there is no telling what was issued."""
    picked: str | None = None
    """The option that the client picked; None for a quote without options, or where none of them is picked."""
    replies: tuple[tuple[str, str], ...] = ()
    """What the client wrote in the cells for an answer, by name."""
    has_floor: bool = True
    """Whether any floor line counts in the price, or was only lost from the file."""

    @property
    def remainder(self) -> Decimal | None:
        """What the effects leave unexplained of the change in the total: the interplay of the edits.

        The total is the one that the file shows; but what its formulas make, where only names were changed since it
        was worked out: then no finding tells what the shown one lacks.
        """
        told = any(finding.kind == Kind.NOT_RECALCULATED for finding in self.findings)
        total = self.worked_out if self.state == STALE and not told else self.sheet
        if self.issued is None or total is None:
            return None
        return total - self.issued - sum((f.effect for f in self.findings if f.effect is not None), ZERO)


def check_file(path: Path, desk: Desk, today: date | None = None, issued: IssuedQuotes | None = None) -> Report:
    """Checks one returned file. Never changes it, and never raises for what is in it."""
    return checked_quote(path, desk, today, issued)[0]


def checked_quote(
    path: Path, desk: Desk, today: date | None = None, issued: IssuedQuotes | None = None
) -> tuple[Report, Comparison | None]:
    """The report on one file, and the file beside its issue; None where there is no telling what was issued.

    `issued` is what the desk knows to have been issued, where that is at hand already.
    """
    issued = issued or issued_quotes(desk)
    try:
        workbook = read_workbook(path)
    except Unreadable as error:
        return Report(str(path), UNREADABLE, (Finding(Kind.UNREADABLE, str(error)),)), None
    content, doubts = issued_content(workbook, desk)
    if content and (doubt := issued.doubt(content)):
        content, doubts = None, (doubt,)
    if content is None:
        return _nothing_to_hold_against(path, workbook, doubts), None
    comparison = Comparison(content, Returned(workbook, content))
    return _report(path, issued, ShownFigures(comparison), doubts, today or date.today()), comparison


def returned_quote(path: Path, desk: Desk, workbook: Workbook | None = None) -> Comparison:
    """A file beside its issue, unchecked; `workbook` is the file where it was read already.

    Raises Unreadable, and Misuse where there is no telling what was issued.
    """
    workbook = workbook or read_workbook(path)
    content, doubts = issued_content(workbook, desk)
    if content is None:
        raise no_telling(path, doubts)
    return Comparison(content, Returned(workbook, content))


def no_telling(path: Path, findings: Sequence[Finding]) -> Misuse:
    """What to raise about a file that there is nothing to hold against; `findings` say why."""
    return Misuse(f"{path}: {findings[0].message}")


def must_be_readable(report: Report) -> None:
    """Raises Unreadable for a report on a file that no quote was found in."""
    if report.verdict == UNREADABLE:
        raise Unreadable(report.findings[0].message)


def _report(
    path: Path, issued_quotes: IssuedQuotes, sheet: ShownFigures, doubts: tuple[Finding, ...], today: date
) -> Report:
    content, comparison = sheet.content, sheet.comparison
    papers = papers_of(content)
    findings = (*doubts, *_by_the_desk(comparison, issued_quotes, today), *_findings(sheet))
    totals = (content.results["total"], comparison.shown_total, comparison.expected.total, sheet.total)
    issued, shown_, expected, worked_out = (_as_money(total, content) for total in totals)
    return Report(
        str(path),
        verdict_of(findings),
        findings,
        str(issued_quotes.desk.folder),
        papers.quote_number,
        int(papers.revision),
        issued,
        shown_,
        expected,
        worked_out,
        sheet.state,
        answer_of(comparison),
        comparison.picked,
        tuple(replies(comparison)),
        comparison.has_floor or comparison.lost_floors,
    )


def _as_money(amount: object, content: Content) -> Decimal | None:
    """To the currency's minor units; None for what is no number, or none that a spreadsheet shows to the cent."""
    if isinstance(amount, Decimal) and abs(amount) < 10**15:
        return money(amount, minor_units_of(content))
    return None


def _findings(sheet: ShownFigures) -> Iterator[Finding]:
    for finding in chain.from_iterable(check(sheet) for check in CHECKS):
        if finding.kind.is_an_edit and finding.effect is None and (why := sheet.why_without_worth()):
            yield replace(finding, message=f"{finding.message} What it is worth cannot be told: {why}.")
        else:
            yield finding


def _nothing_to_hold_against(path: Path, workbook: Workbook, doubts: tuple[Finding, ...]) -> Report:
    if workbook.resolve("total") is None and workbook.resolve("contact_line_1") is not None:
        message = "This is a rate card and not a quote. Its entries are checked whenever a command reads it."
        return Report(str(path), UNREADABLE, (Finding(Kind.NOT_A_QUOTE, f"{path}: {message}"),))
    if workbook.resolve("total") is None and doubts[0].kind == Kind.STAMP_MISSING:
        message = "This workbook is not a quote that was issued here: it has neither the stamp nor the names of one."
        return Report(str(path), UNREADABLE, (Finding(Kind.NOT_A_QUOTE, f"{path}: {message}"),))
    number, total = stated(workbook, "quote_number"), stated(workbook, "total")
    total = total if isinstance(total, Decimal) else None
    return Report(str(path), DISPUTED, doubts, quote=number if isinstance(number, str) else None, sheet=total)


def _by_the_desk(comparison: Comparison, issued: IssuedQuotes, today: date) -> Iterator[Finding]:
    """What depends on the day, and on what else the desk has issued."""
    content, cells = comparison.content, comparison.returned.cells

    def about(kind: Kind, name: str, message: str, expected: object, found: object) -> Finding:
        sheet, cell = (cells[name].place.sheet, cells[name].place.cell) if name in cells else ("", "")
        return Finding(kind, message, name, sheet, cell, str(expected), str(found))

    papers = papers_of(content)
    number, revision = papers.quote_number, int(papers.revision)
    latest = issued.latest_revision(number)
    if latest > revision:
        message = f"Revision {latest} of {number} has been issued since: ask the client to answer that one."
        yield about(Kind.OLDER_REVISION, "revision", message, latest, revision)
    until = papers.valid_until
    if today > until:
        message = f"The quote stood until {worldwide(until)}: reissue it if its prices still hold."
        yield about(Kind.EXPIRED, "valid_until", message, until, today)
    if comparison.is_of_other_rules:
        message = (
            f"Issued under rules {content.rules}, not today's {RULES}: its own signed formulas say what it should come "
            "to."
        )
        yield about(Kind.OTHER_RULES, "", message, content.rules, RULES)
