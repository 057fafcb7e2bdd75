"""Turns the report of a check into a marked copy of the returned file."""

from decimal import Decimal
from pathlib import Path

from quotebook.checking.advice import advice_on
from quotebook.checking.check import Report
from quotebook.checking.findings import UNREADABLE, Finding
from quotebook.checking.kinds import Kind
from quotebook.checking.report import IN_WORDS, about_effects, by_effect, direction
from quotebook.errors import Misuse
from quotebook.files import atomically
from quotebook.marked_copy.findings_sheet import FindingRow, FindingsPage
from quotebook.marked_copy.writer import Mark, write_marks

FREE, DISPUTING = "FFBCDDF2", "FFF6B9A8"
"""The fill of cells that a client may change, and of cells that make a quote disputed."""

HEADINGS = ("No.", "Where", "Finding", "In words", "As issued", "Now", "Worth")
LEFT_OUT = "Macros, links to other files and embedded objects that the file carries are not in this copy."
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
    with atomically(target, overwrite) as temporary, temporary.open("wb") as file:
        write_marks(path, file, marks, _findings_page(report, findings), _minor_units(report))
    return target


def _findings_page(report: Report, findings: list[Finding]) -> FindingsPage:
    """The contents of the findings sheet."""
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
        (*about_effects(report), *(f"{IN_WORDS[name]}: {text}" for name, text in report.replies), *left_out, COPY),
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
