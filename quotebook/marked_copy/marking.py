"""Turns the report of a check into a marked copy of the returned file."""

from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

from quotebook.checking.advice import advice_on
from quotebook.checking.check import Report, returned_quote
from quotebook.checking.explanation import Step, explain, in_one_line, named
from quotebook.checking.findings import UNREADABLE, Finding
from quotebook.checking.kinds import Kind
from quotebook.checking.report import IN_WORDS, about_effects, by_effect, direction
from quotebook.checking.worked_out import WorkedOut
from quotebook.desk import Desk
from quotebook.errors import Misuse
from quotebook.files import atomically
from quotebook.marked_copy.findings_sheet import FindingRow, FindingsPage
from quotebook.marked_copy.steps_sheet import StepRow, StepsPage
from quotebook.marked_copy.writer import Mark, write_marks
from quotebook.spreadsheets.cells import CellAddress

FREE, DISPUTING, DIFFERING = "FFBCDDF2", "FFF6B9A8", "FFFFF2CC"
"""The fill of cells that a client may change, of cells that make a quote disputed, and of figures that differ."""

HEADINGS = ("No.", "Where", "Finding", "In words", "As issued", "Now", "Worth")
LEFT_OUT = "Macros, links to other files and embedded objects that the file carries are not in this copy."
STEPS = "How it came about"
STEP_HEADINGS = ("Where", "What", "In this sheet", "In numbers", "As issued")
ABOUT_STEPS = (
    "The total first, each figure before what it is made of, as the sheet itself works it out. Filled: what is not as "
    "issued, and where that begins."
)
SEE_STEPS = f"The last sheet, {STEPS}, has the steps to the total, with a link to each cell."
COPY = "This copy is for reading: the file itself was left as it came."


def marked_path(path: Path) -> Path:
    """The path of a returned file's marked copy: `NAME.checked.xlsx` beside it."""
    return path.with_name(f"{path.stem}.checked.xlsx")


def write_marked_copy(path: Path, report: Report, target: Path, overwrite: bool = False) -> Path:
    """Writes the marked copy of the file at `path` to `target`, and returns `target`.

    Raises Misuse where the file cannot be marked or the copy cannot be written; then no file is left at `target`.
    """
    if report.verdict == UNREADABLE:
        raise Misuse(f"{report.file}: cannot be read, so there is nothing to mark.")
    findings = by_effect(report.findings)
    marks = [
        Mark(finding.sheet, finding.cell, _note(finding), _colour(finding)) for finding in findings if finding.cell
    ]
    steps = list(_steps(path, report))
    marked = {(mark.sheet, mark.cell) for mark in marks}
    marks += [
        Mark(place.sheet, place.cell, in_one_line(step), DIFFERING)
        for step, place in steps
        if step.differs and (place.sheet, place.cell) not in marked
    ]
    with atomically(target, overwrite) as temporary, temporary.open("wb") as file:
        page = _findings_page(report, findings, bool(steps))
        write_marks(path, file, marks, page, _minor_units(report), _steps_page(steps))
    return target


def _steps(path: Path, report: Report) -> Iterator[tuple[Step, CellAddress]]:
    """The steps to the total and where each stands, if any is not as issued."""
    if report.answer is None:
        return
    sheet = WorkedOut(returned_quote(path, Desk(Path(report.desk))))
    steps, cells = explain(sheet, "total"), sheet.returned.cells
    if any(step.differs for step in steps):
        yield from ((step, cells[step.name].place) for step in steps if step.name in cells)


def _steps_page(steps: list[tuple[Step, CellAddress]]) -> StepsPage:
    rows = [
        StepRow(place.sheet, place.cell, (named(step), step.value, step.in_numbers, step.issued), _step_colour(step))
        for step, place in steps
    ]
    return StepsPage(STEPS, (ABOUT_STEPS,), STEP_HEADINGS, tuple(rows))


def _step_colour(step: Step) -> str:
    if step.parts_here:
        return DISPUTING
    return DIFFERING if step.differs else ""


def _findings_page(report: Report, findings: list[Finding], has_steps: bool) -> FindingsPage:
    """The contents of the findings sheet."""
    see_steps = (SEE_STEPS,) if has_steps else ()
    quote = (
        f"{report.quote} revision {report.revision}" if report.revision else report.quote or "no quote that can be told"
    )
    left_out = (LEFT_OUT,) if any(finding.kind == Kind.FOREIGN_PART for finding in findings) else ()
    return FindingsPage(
        f"{quote}: {report.verdict}",
        (f"{Path(report.file).name}. {advice_on(report).sentence}", *advice_on(report).commands),
        (
            ("Total as issued", report.issued),
            ("In the file", report.sheet),
            ("As it should be", report.engine),
            ("As the sheet works it out", report.worked_out),
        ),
        HEADINGS,
        tuple(_row(finding) for finding in findings),
        (
            *about_effects(report, HEADINGS[-1]),
            *(f"{IN_WORDS[name]}: {text}" for name, text in report.replies),
            *see_steps,
            *left_out,
            COPY,
        ),
    )


def _row(finding: Finding) -> FindingRow:
    texts = (finding.reference, finding.message, finding.expected or "", finding.found or "")
    return FindingRow(finding.sheet, finding.cell, texts, finding.effect, _colour(finding))


def _note(finding: Finding) -> str:
    """The sentence of a finding, with its effect on the total if it has one."""
    if not finding.effect:
        return finding.message
    return f"{finding.message} ({finding.effect:+,}, {direction(finding.kind, finding.effect)})"


def _colour(finding: Finding) -> str:
    return DISPUTING if finding.disputes else FREE


def _minor_units(report: Report) -> int:
    """The decimal places of the quote's currency, as its totals show them."""
    totals = (total for total in (report.issued, report.sheet) if isinstance(total, Decimal))
    return max((-int(total.as_tuple().exponent) for total in totals), default=0)
