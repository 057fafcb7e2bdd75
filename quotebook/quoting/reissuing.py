"""Writes the next revision of a quote from the entries that its client sent back."""

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from shlex import quote

from quotebook.checking.advice import NO_FLOOR
from quotebook.checking.check import Report, checked_quote, must_be_readable, no_telling
from quotebook.checking.comparison import Comparison
from quotebook.checking.findings import Finding
from quotebook.checking.issued import IssuedQuotes
from quotebook.checking.kinds import Kind
from quotebook.client.draft import QuoteDraft
from quotebook.contract.local import locale_of, say_amount, say_day
from quotebook.contract.stamp import Content
from quotebook.contract.stamped import amount_of, discount_share_of, language_of, papers_of, table_columns
from quotebook.contract.vocabulary import (
    COLUMNS,
    JOINED,
    JOINED_AT,
    LINE_INPUTS,
    QUOTE_INPUTS,
    SCALAR_RATES,
    on_every_line,
    on_line,
)
from quotebook.desk import Desk
from quotebook.engine.model import LINES, RateCard, Rates, Request
from quotebook.engine.money import money, plain
from quotebook.errors import InvalidInput, Misuse
from quotebook.quoting.issuing import issue_of, write_and_read
from quotebook.quoting.promised import promised
from quotebook.quoting.requests import valid_request
from quotebook.spreadsheets.cells import Workbook

LONGEST_SAID = 40
"""Characters of one entry in a sentence on the quote's first sheet."""


class Disputed(InvalidInput):
    """A returned file is disputed, and not every dispute was accepted."""

    status = 1


class NoFloor(Misuse):
    """A returned file has no floor that counts, and is no offer."""

    status = 1


@dataclass(frozen=True)
class Reissued:
    """A revision that was written."""

    report: Report
    """The report on the returned file."""
    path: Path
    content: Content
    workbook: Workbook
    """The revision's file as it was read back."""
    before: Decimal
    """The total of the revision before this one."""
    changes: tuple[str, ...]
    """The sentences on its first sheet about what has changed."""
    accepted: tuple[Finding, ...]
    """Disputed findings that the owner accepted: the new revision has only the client's entries, not these changes."""
    replies: tuple[tuple[str, str], ...]
    """The client's answers, each with the name of its cell."""
    rates_said: str
    """Which rates it has, in a sentence."""


def reissue(
    desk: Desk,
    path: Path,
    accept: Collection[str] = (),
    today: date | None = None,
    discount_share: Decimal | None = None,
    rates_now: Callable[[RateCard, Request, str], Rates] = lambda card, request, number: card.rates,
    issued: IssuedQuotes | None = None,
    new_rates: bool = False,
) -> Reissued:
    """Write the next revision: the returned entries, the rates that were promised, and formulas as issued.

    `accept` names disputed findings by their `reference`. The discount stays that of the last revision
    unless `discount_share` is given. `rates_now` takes the card, a request and its quote number, and
    gives the card's rates with the number of panels free; `new_rates` takes those though others were
    promised. `issued` is what the desk knows to have been issued, where that is at hand. Raises Disputed
    if an entry cannot be used or a disputed finding is not accepted; Misuse if a later revision exists, a
    name in `accept` is no finding's, or nothing says what was issued; InvalidInput if the card cannot serve
    the entries; NoFloor if none of its floors counts; and Unreadable if the file is no quote.
    """
    today = today or date.today()
    report, comparison = checked_quote(path, desk, today, issued)
    must_be_readable(report)
    if comparison is None:
        raise Misuse(f"{no_telling(path, report.findings)} Issue a new quote.")
    accepted, content = accepted_findings(path, report, accept), comparison.content
    if not report.has_floor:
        raise NoFloor(f"{path}: {NO_FLOOR}")
    card = desk.card().in_language(language_of(content))
    papers = papers_of(content)
    number, revision = papers.quote_number, int(papers.revision) + 1
    granted = discount_share_of(content) if discount_share is None else discount_share
    entries = _entries(comparison, granted)
    request = valid_request(card, entries, every_option=False)
    card, rates_said = promised(
        content, comparison.issued_rates, card, rates_now(card, request, number), today, new_rates
    )
    draft = QuoteDraft(issue_of(card, request, number, today, revision))
    before = money(amount_of(content, "total"), int(comparison.issued_rates.minor_units))
    changes = _all_changes(comparison, entries, card, draft, before)
    written = write_and_read(desk, card, request, number, today, revision, changes)
    return Reissued(report, *written, before, changes, accepted, report.replies, rates_said)


def accepted_findings(path: Path, report: Report, accept: Collection[str], seen: bool = False) -> tuple[Finding, ...]:
    """The disputed findings of a report, every one of which `accept` must name.

    With `seen` that goes for what is told of the look of a file too.

    Raises Unreadable if the file is no quote; Misuse if a later revision exists or a name in `accept`
    is no finding's; Disputed if an entry cannot be used or a finding is not accepted.
    """
    must_be_readable(report)
    later = [finding for finding in report.findings if finding.kind == Kind.OLDER_REVISION]
    if later:
        raise Misuse(f"{path}: {later[0].message}")
    invalid = [finding.message for finding in report.findings if finding.kind == Kind.INPUT_INVALID]
    if invalid:
        raise Disputed(f"{path}: has entries that cannot be priced. Ask the client to correct them:", invalid)
    parts = [finding.message for finding in report.findings if finding.kind == Kind.PART_CHANGED]
    if parts:
        raise Disputed(f"{path}: cannot be taken as it is:", parts)
    disputed = tuple(finding for finding in report.findings if finding.disputes or (seen and finding.kind.is_seen))
    unknown = [name for name in accept if name not in {finding.reference for finding in disputed}]
    if unknown:
        raise Misuse(f"--accept {unknown[0]}: {path} has no finding of that name that needs accepting.")
    not_accepted = {finding.reference: finding.message for finding in disputed if finding.reference not in accept}
    if not_accepted:
        heading = f"{path}: needs you to accept what follows, if the client and you agree on it:"
        raise Disputed(heading, [f"--accept {quote(name)}  {message}" for name, message in not_accepted.items()])
    return disputed


def _entries(comparison: Comparison, discount_share: Decimal) -> dict[str, object]:
    """The entries as returned, or as issued if the cell is lost; what joins lines to one floor, as issued.

    A floor of several kinds of panel in an option that is not picked stays as it was offered, whatever was done to a
    part of it.
    """
    lost = {*comparison.returned.missing} | comparison.mixed_sizes_left_out
    kept = {name: value for name, value in comparison.issued_entries.items() if name in lost}
    joined = {name: comparison.content.owner.get(name) for name in on_every_line(*JOINED, *JOINED_AT)}
    return comparison.entries | kept | joined | {"discount_share": discount_share}


def _all_changes(
    comparison: Comparison, entries: dict[str, object], card: RateCard, draft: QuoteDraft, before: Decimal
) -> tuple[str, ...]:
    """What the first sheet says of the revision before this one, a sentence each: what changed, or that nothing did."""
    since, *changed = _changes(comparison, entries, card, draft)
    if draft.results["total"] != before:
        changed.append(_totals(before, draft))
    nothing: str = draft.words["changes"]["nothing"]
    return (since, *changed) if changed else (nothing.format(revision=plain(papers_of(comparison.content).revision)),)


def _changes(comparison: Comparison, entries: dict[str, object], card: RateCard, draft: QuoteDraft) -> Iterator[str]:
    """What the new revision's first sheet says has changed, a sentence each, in the card's language."""
    content = comparison.content
    words: dict[str, str] = draft.words["changes"]
    issued = comparison.issued_entries | {"discount_share": content.owner["discount_share"]}
    changed = {
        name for name in comparison.entries if name in comparison.returned.cells and not comparison.same_entry(name)
    }
    changed |= {"discount_share"} if issued["discount_share"] != entries["discount_share"] else set()

    def change(name: str, label: str) -> str:
        before, after = (_said(name, values[name], draft) for values in (issued, entries))
        return words["change"].format(label=draft.label(label), before=before, after=after)

    yield words["since"].format(revision=plain(papers_of(content).revision))
    for name in (*QUOTE_INPUTS, "discount_share"):
        if name in changed:
            yield words["entry"].format(change=change(name, name))
    for line in range(1, LINES + 1):
        names = {on_line(name, line): name.removesuffix("_#") for name in LINE_INPUTS}
        if said := [change(name, label) for name, label in names.items() if name in changed]:
            yield words["line"].format(line=line, changes="; ".join(said))
    if _rates_of_issue(content, comparison.issued_rates) != _rates_of_issue(content, card.rates):
        yield words["rates"]


def _totals(before: Decimal, draft: QuoteDraft) -> str:
    """The sentence about the total before and after."""
    words: dict[str, str] = draft.words["changes"]
    firm, minor_units, after = draft.issue.firm, draft.issue.rates.minor_units, draft.results["total"]
    locale = locale_of(firm.language, firm.region)

    def said(amount: object) -> str:
        return say_amount(amount, minor_units, locale) if isinstance(amount, Decimal) else ""

    return words["total"].format(before=said(before), after=said(after), currency=firm.currency)


def _said(name: str, value: object, draft: QuoteDraft) -> str:
    """An entry in the words of the new revision, cut to LONGEST_SAID characters."""
    if name == "surface" and isinstance(value, str):
        value = draft.dictionary.surfaces.get(value, value)
    if name == "discount_share" and isinstance(value, Decimal):
        return f"{plain(value * 100)} %"
    if isinstance(value, bool):
        return str(draft.dictionary.yes_no[value])
    if isinstance(value, date):
        return say_day(value, locale_of(draft.issue.firm.language, draft.issue.firm.region))
    text = plain(value) if isinstance(value, Decimal) else " ".join(str(value or "").split())
    if not text:
        return str(draft.words["changes"]["blank"])
    return text if len(text) <= LONGEST_SAID else f"{text[: LONGEST_SAID - 1].rstrip(' ,.')}…"


def _rates_of_issue(content: Content, rates: Rates) -> list[object]:
    """Every rate that the issue had, as `rates` has it now; the number free on a date is none."""
    single = [getattr(rates, name) for name in SCALAR_RATES if name in content.owner]
    columns = [
        [getattr(row, name.removeprefix(f"{table}_")) for row in getattr(rates, table)]
        for table, names in table_columns(content).items()
        for name in names
        if name in COLUMNS and name != "kinds_free"
    ]
    return [*single, *columns]
