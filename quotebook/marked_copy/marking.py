"""A report as a marked copy of the file that it is about."""

from decimal import Decimal
from pathlib import Path

from quotebook.checking.check import Report
from quotebook.checking.findings import UNREADABLE, Finding
from quotebook.checking.report import IN_WORDS, by_effect, direction, next_step
from quotebook.errors import Misuse
from quotebook.files import atomically
from quotebook.marked_copy.findings_sheet import Front, Line
from quotebook.marked_copy.writer import Mark, write_marked

FREE, DISPUTING = "FFBCDDF2", "FFF6B9A8"
"""Fill of what a client may change, and of what makes a quote disputed."""

HEADINGS = ("No.", "Where", "Finding", "In words", "As issued", "Now", "Worth")
LEFT_OUT = "Macros, links to other files and embedded objects that the file carries are not in this copy."
COPY = "This copy is for reading: the file itself was left as it came."


def marked_path(path: Path) -> Path:
    """Where the marked copy of a returned file goes: `NAME.checked.xlsx` beside it."""
    return path.with_name(f"{path.stem}.checked.xlsx")


def write_marked_copy(path: Path, report: Report, target: Path, overwrite: bool = False) -> Path:
    """Writes the marked copy of the file at `path` to `target`; returns `target`.

    Raises Misuse where the file cannot be marked or the copy cannot be written, and leaves nothing behind.
    """
    if report.verdict == UNREADABLE:
        raise Misuse(f"{report.file}: cannot be read, so there is nothing to mark.")
    findings = by_effect(report.findings)
    marks = [
        Mark(finding.sheet, finding.cell, _note(finding), _colour(finding)) for finding in findings if finding.cell
    ]
    with atomically(target, overwrite) as temporary, open(temporary, "wb") as file:
        write_marked(path, file, marks, _front(report, findings), _minor_units(report))
    return target


def _front(report: Report, findings: list[Finding]) -> Front:
    quote = (
        f"{report.quote} revision {report.revision}" if report.revision else report.quote or "no quote that can be told"
    )
    left_out = (LEFT_OUT,) if any(finding.kind == "foreign-part" for finding in findings) else ()
    return Front(
        f"{quote}: {report.verdict}",
        (f"{Path(report.file).name}. {next_step(report)}",),
        (("Total as issued", report.issued), ("In the file", report.sheet), ("By the engine", report.engine)),
        HEADINGS,
        tuple(_line(finding) for finding in findings),
        (*(f"{IN_WORDS[name]}: {text}" for name, text in report.replies), *left_out, COPY),
    )


def _line(finding: Finding) -> Line:
    texts = (finding.reference, finding.message, finding.expected or "", finding.found or "")
    return Line(finding.sheet, finding.cell, texts, finding.effect, _colour(finding))


def _note(finding: Finding) -> str:
    return f"{finding.message} ({finding.effect:+,}, {direction(finding)})" if finding.effect else finding.message


def _colour(finding: Finding) -> str:
    return DISPUTING if finding.disputes else FREE


def _minor_units(report: Report) -> int:
    totals = (total for total in (report.issued, report.sheet) if isinstance(total, Decimal))
    return max((-total.as_tuple().exponent for total in totals), default=0)
