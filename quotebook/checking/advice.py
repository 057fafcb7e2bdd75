"""What to do with a checked file: sentences, and commands that would succeed."""

from shlex import quote
from typing import NamedTuple

from quotebook.checking.answer import Answer
from quotebook.checking.check import Report
from quotebook.checking.findings import CHANGED, DISPUTED, UNREADABLE, Finding
from quotebook.checking.kinds import Kind

SETTLED_BY_NOBODY = {
    Kind.OLDER_REVISION: "This revision can no longer be agreed or reissued.",
    Kind.INPUT_INVALID: "Until the client has corrected what cannot be used, it can be neither agreed nor reissued.",
    Kind.PART_CHANGED: "It can be neither agreed nor reissued part by part.",
}
"""Kinds of finding that no owner can accept, each with what that means."""
NO_FLOOR = (
    "Found no floor that counts in the price; allowed: at least one. Ask the client which floor it is to be: until "
    "then it can be neither agreed nor reissued."
)


class Advice(NamedTuple):
    """A sentence, and the commands that it speaks of."""

    sentence: str
    commands: tuple[str, ...] = ()


def advice_on(report: Report) -> Advice:
    """What to do now. The findings on a file that is no quote of this desk say it themselves."""
    if report.verdict == UNREADABLE or report.answer is None:
        return Advice("")
    found = {finding.kind for finding in report.findings}
    for kind, sentence in SETTLED_BY_NOBODY.items():
        if kind in found:
            return Advice(sentence)
    if not report.has_floor:
        return Advice(NO_FLOOR)
    disputed = [finding for finding in report.findings if finding.disputes]
    if report.verdict == DISPUTED:
        sentence = (
            "Settle this with the client. If you accept it all, your own rates and formulas stay, and you can say:"
        )
        return Advice(sentence, (_command("reissue", report, disputed),))
    return _undisputed(report, found)


def _undisputed(report: Report, found: set[Kind]) -> Advice:
    """What to do where the client did nothing that a client may not do."""
    how = "Only what the client may change was changed, and it adds up. " if report.verdict == CHANGED else ""
    if Kind.NOT_RECALCULATED in found:
        how = "What counts is the total as it should be, not the figures in the file. "
    reissue = _command("reissue", report)
    seen = [finding for finding in report.findings if finding.kind.is_seen]
    how += "Look at what is told of the sheets first. " if seen else ""
    if report.answer == Answer.YES:
        return Advice(f"{how}The client says yes. Agree it:", (_command("agree", report, seen),))
    if report.answer == Answer.NO:
        return Advice(f"{how}The client says no, so it is not agreed. To offer it anew:", (reissue,))
    agree = f'{_command("agree", report, seen)} --said-yes "by telephone"'
    return Advice(
        f"{how}To answer the client with the next revision, or to agree it once the client says yes:", (reissue, agree)
    )


def _command(name: str, report: Report, accept: list[Finding] | None = None) -> str:
    """A command about a file, as it can be pasted into a terminal where the check was made."""
    desk = f" --desk {quote(report.desk)}" if report.desk != "." else ""
    references = dict.fromkeys(finding.reference for finding in accept or ())
    accepted = "".join(f" --accept {quote(reference)}" for reference in references)
    return f"quotebook {name}{desk} {quote(report.file)}{accepted}"
