"""The check's report, in words and as JSON."""

from collections.abc import Iterable, Iterator
from decimal import Decimal
from textwrap import wrap

from quotebook.checking.advice import advice_on
from quotebook.checking.answer import Answer
from quotebook.checking.check import Report
from quotebook.checking.findings import UNREADABLE, Finding
from quotebook.checking.kinds import Kind
from quotebook.engine.money import ZERO
from quotebook.text_table import WIDTH

EFFECTS = (
    "{where}: by how much the sheet's total is higher (+) or lower (-) than it would be with that one thing put "
    "back and everything else left as it is."
)
"""What an effect is, and where it stands."""

ANSWERS = {
    Answer.YES: "the client says yes",
    Answer.NO: "the client says no",
    Answer.NONE: "no answer yet",
    Answer.UNCLEAR: "the answer is neither yes nor no",
}
"""The client's answer in the first line of a report."""

IN_WORDS = {
    "accepted": "Accepted", "accepted_by": "accepted by", "accepted_on": "accepted on", "questions": "Questions",
}  # fmt: skip


def as_json(report: Report) -> dict[str, object]:
    """The report for one file as plain values, money as strings."""
    return {
        "file": report.file,
        "quote": report.quote,
        "revision": report.revision,
        "verdict": report.verdict,
        "answer": report.answer,
        "picked": report.picked,
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
    answer = f"; {ANSWERS[report.answer]}" if report.answer else ""
    answer += f", option {report.picked} is picked" if report.picked else ""
    yield f"{report.file}: {quote}{report.verdict}{answer}"
    if report.verdict != UNREADABLE:
        totals = (report.issued, report.engine, report.worked_out, report.sheet)
        said = "total as issued {}, as it should be {}, as the sheet works it out {}, in the file {}".format(
            *(_as_text(total) or "none" for total in totals)
        )
        yield from wrap(said, WIDTH, initial_indent="  ", subsequent_indent="    ")
    for finding in by_effect(report.findings):
        yield from _finding_in_words(finding)
    for sentence in about_effects(report):
        yield from wrap(sentence, WIDTH, initial_indent="  ", subsequent_indent="    ")
    yield from replies_in_words(report.replies)
    advice = advice_on(report)
    yield from wrap(advice.sentence, WIDTH, initial_indent="  ", subsequent_indent="  ")
    yield from (f"    {command}" for command in advice.commands)


def about_effects(report: Report, where: str = "In brackets") -> Iterator[str]:
    """What the effects of findings mean, and what they leave over, where there are any; `where` is where they stand."""
    if any(finding.effect for finding in report.findings):
        yield EFFECTS.format(where=where)
        if report.remainder:
            yield f"{_signed(report.remainder)} is left over: some of these changes affect what others are worth."


def replies_in_words(replies: Iterable[tuple[str, str]]) -> Iterator[str]:
    """What the client wrote in the cells for an answer."""
    for name, text in replies:
        yield from wrap(f"{IN_WORDS[name]}: {text}", WIDTH, initial_indent="  ", subsequent_indent="    ")


def _finding_in_words(finding: Finding) -> Iterator[str]:
    worth = f" ({_signed(finding.effect)}, {direction(finding.kind, finding.effect)})" if finding.effect else ""
    text = f"{finding.kind}: {finding.message}{worth}"
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
