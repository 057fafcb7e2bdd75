"""The check's report, in words and as JSON."""

from collections.abc import Iterable, Iterator
from decimal import Decimal
from textwrap import wrap

from quotebook.checking.check import Report
from quotebook.checking.findings import AGREES, CHANGED, DISPUTED, UNREADABLE, Finding
from quotebook.checking.kinds import Kind
from quotebook.engine.money import ZERO
from quotebook.text_table import WIDTH

NEXT = {
    AGREES: "As issued. It can be agreed.",
    CHANGED: "Only what the client may change was changed, and it adds up. It can be reissued or agreed.",
    DISPUTED: "Settle the findings with the client, then reissue, naming those that you accept.",
    UNREADABLE: "Ask the client to send the workbook again.",
}
"""What to do after each verdict."""

OLD_FIGURES = {
    AGREES: "As issued. It can be agreed: the engine's total counts, not the figures in the file.",
    CHANGED: (
        "Only what the client may change was changed. It can be reissued: the engine's total counts, not the file's."
    ),
}
"""What to do after a verdict where nobody has worked out the figures in the file."""

IN_WORDS = {
    "accepted": "Accepted", "accepted_by": "accepted by", "accepted_on": "accepted on", "questions": "Questions",
}  # fmt: skip


def as_json(reports: Iterable[Report]) -> dict[str, list[dict[str, object]]]:
    """Every report as plain values, money as strings."""
    return {"files": [_file_as_json(report) for report in reports]}


def _file_as_json(report: Report) -> dict[str, object]:
    return {
        "file": report.file,
        "quote": report.quote,
        "revision": report.revision,
        "verdict": report.verdict,
        "findings": [{**vars(finding), "effect": _as_text(finding.effect)} for finding in by_effect(report.findings)],
        "totals": {
            "issued": _as_text(report.issued),
            "sheet": _as_text(report.sheet),
            "engine": _as_text(report.engine),
            "worked_out": _as_text(report.worked_out),
        },
        "state": report.state,
        "remainder": _as_text(report.remainder),
        "replies": dict(report.replies),
    }


def by_effect(findings: Iterable[Finding]) -> list[Finding]:
    """The largest effect first; what has no price comes last, in the order in which it was found."""
    return sorted(findings, key=lambda finding: -abs(finding.effect or ZERO))


def in_words(report: Report) -> Iterator[str]:
    """The report for one file, a line at a time, 80 columns wide."""
    quote = f"{report.quote} revision {report.revision}, " if report.quote and report.revision else ""
    yield f"{report.file}: {quote}{report.verdict}"
    if report.verdict != UNREADABLE:
        totals = (report.issued, report.engine, report.worked_out, report.sheet)
        said = "total as issued {}, as it should be {}, as the sheet works it out {}, in the file {}".format(
            *(_as_text(total) or "none" for total in totals)
        )
        yield from wrap(said, WIDTH, initial_indent="  ", subsequent_indent="    ")
    for finding in by_effect(report.findings):
        yield from _finding_in_words(finding)
    if report.remainder and any(finding.effect for finding in report.findings):
        yield f"  - {_signed(report.remainder)} is how these edits affect each other"
    yield from replies_in_words(report.replies)
    yield from wrap(next_step(report), WIDTH, initial_indent="  ", subsequent_indent="  ")


def next_step(report: Report) -> str:
    """What to do now."""
    old = any(finding.kind is Kind.NOT_RECALCULATED for finding in report.findings)
    return OLD_FIGURES.get(report.verdict, NEXT[report.verdict]) if old else NEXT[report.verdict]


def replies_in_words(replies: Iterable[tuple[str, str]]) -> Iterator[str]:
    """What the client wrote in the cells for an answer."""
    for name, text in replies:
        yield from wrap(f"{IN_WORDS[name]}: {text}", WIDTH, initial_indent="  ", subsequent_indent="    ")


def _finding_in_words(finding: Finding) -> Iterator[str]:
    place = f"{finding.sheet}!{finding.cell} " if finding.cell else ""
    worth = f" ({_signed(finding.effect)}, {direction(finding.kind, finding.effect)})" if finding.effect else ""
    text = f"{finding.kind}: {place}{finding.message}{worth}"
    yield from wrap(text, WIDTH, initial_indent="  - ", subsequent_indent="    ")


def direction(kind: Kind, effect: Decimal) -> str:
    """What an effect means: the client's own wish costs more or less, any other kind of finding is wrong by it."""
    if kind.is_free:
        return "more" if effect > 0 else "less"
    return "too much" if effect > 0 else "too little"


def _signed(amount: Decimal) -> str:
    return f"{amount:+,}"


def _as_text(amount: Decimal | None) -> str | None:
    return None if amount is None else str(amount)
