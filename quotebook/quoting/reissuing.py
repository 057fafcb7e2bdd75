"""The next revision of a quote, from the entries that its client sent back."""

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from shlex import quote

from quotebook.checking.check import Report, checked_quote, must_be_readable, no_telling
from quotebook.checking.comparison import Comparison
from quotebook.checking.findings import Finding
from quotebook.client.draft import QuoteDraft
from quotebook.contract.stamp import Content
from quotebook.contract.vocabulary import JOINED, LINE_INPUTS, QUOTE_INPUTS, on_every_line, on_line
from quotebook.desk import Desk
from quotebook.engine.model import LINES, RateCard, Rates, Request
from quotebook.engine.money import plain
from quotebook.errors import InvalidInput, Misuse
from quotebook.quoting.issuing import issue, issue_of
from quotebook.quoting.requests import valid_request

LONGEST_SAID = 40
"""Characters of one entry in a sentence on the quote's face."""


class Disputed(InvalidInput):
    """A file that is disputed and was not accepted as it is."""

    status = 1


@dataclass(frozen=True)
class Reissued:
    """A revision that was written."""

    report: Report
    """On the file that it was made from."""
    path: Path
    content: Content
    before: Decimal
    """The total of the revision before it."""
    changes: tuple[str, ...]
    """What its face says has changed."""
    accepted: tuple[Finding, ...]
    """Disputed findings that were let pass: nothing of them is in the new revision but entries."""
    replies: tuple[tuple[str, str], ...]


def reissue(
    desk: Desk,
    path: Path,
    accept: Collection[str] = (),
    today: date | None = None,
    discount_share: Decimal | None = None,
    rates_now: Callable[[RateCard, Request, str], Rates] = lambda card, request, number: card.rates,
) -> Reissued:
    """Writes the next revision: the entries as returned, the rates of the card as it is now, and clean formulas.

    `accept` names disputed findings by their `reference`. The discount is that of the last revision
    unless another share is given. `rates_now` gives the card's rates with what is free of each kind for
    a request under its quote number. Raises Disputed where an entry cannot be used or a disputed finding
    is not accepted; Misuse where a later revision exists, a name in `accept` fits nothing, or there is
    no telling what was issued; InvalidInput where the card cannot serve the entries; Unreadable.
    """
    today = today or date.today()
    report, comparison = checked_quote(path, desk, today)
    must_be_readable(report)
    if comparison is None:
        raise Misuse(f"{no_telling(path, report.findings)} Issue a new quote.")
    accepted, card = accepted_findings(path, report, accept), desk.card()
    granted = comparison.content.owner["discount_share"] if discount_share is None else discount_share
    entries = _entries(comparison, granted)
    request, number, revision = valid_request(card, entries), report.quote, report.revision + 1
    card = replace(card, rates=rates_now(card, request, number))
    draft = QuoteDraft(issue_of(card, request, number, today, revision))
    changes = (*_changes(comparison, entries, card, draft), _totals(report.issued, draft))
    written, reissued = issue(desk, card, request, number, today, revision, changes)
    return Reissued(report, written, reissued, report.issued, changes, accepted, report.replies)


def accepted_findings(path: Path, report: Report, accept: Collection[str]) -> tuple[Finding, ...]:
    """The disputed findings, all of which must have been accepted.

    Raises Unreadable for a file that is none; Misuse where a later revision exists or a name in
    `accept` fits nothing; Disputed where an entry cannot be used or a finding is not accepted.
    """
    must_be_readable(report)
    later = [finding for finding in report.findings if finding.kind == "older-revision"]
    if later:
        raise Misuse(f"{path}: {later[0].message}")
    invalid = [finding.message for finding in report.findings if finding.kind == "input-invalid"]
    if invalid:
        raise Disputed(
            f"{path}: has entries that cannot be priced. Ask the client for entries that can be used:", invalid
        )
    disputed = tuple(finding for finding in report.findings if finding.disputes)
    unknown = [name for name in accept if name not in {finding.reference for finding in disputed}]
    if unknown:
        raise Misuse(f"--accept {unknown[0]}: no disputed finding of {path} is called so.")
    open_ = {finding.reference: finding.message for finding in disputed if finding.reference not in accept}
    if open_:
        heading = (
            f"{path}: is disputed. Settle it with the client, or accept it by name; your rates and formulas stand:"
        )
        raise Disputed(heading, [f"--accept {quote(name)}  {message}" for name, message in open_.items()])
    return disputed


def _entries(comparison: Comparison, discount_share: Decimal) -> dict[str, object]:
    """The entries as returned; one whose cell is lost stays as issued. Misuse where a floor of several kinds was changed."""
    lost = comparison.returned.missing
    kept = {name: value for name, value in comparison.issued_entries.items() if name in lost}
    joined = {name: comparison.content.owner.get(name) for name in on_every_line(*JOINED)}
    parts = [line for line in range(1, LINES + 1) if any(joined[on_line(name, line)] for name in JOINED)]
    sizes = [on_line(name, line) for line in parts for name in ("panel_#", "width_#", "length_#")]
    if any(not comparison.same_entry(name) for name in sizes if name not in lost):
        raise Misuse(
            f"Floor lines {', '.join(map(str, parts))} are one floor of several kinds of panel, and its size was changed: "
            "issue it anew (quotebook issue --floor CODE+CODE:WIDTHxLENGTH)."
        )
    return comparison.entries | kept | joined | {"discount_share": discount_share}


def _changes(comparison: Comparison, entries: dict, card: RateCard, draft: QuoteDraft) -> Iterator[str]:
    """What the new revision says on its face, in the card's language."""
    content, words = comparison.content, draft.words["changes"]
    issued = comparison.issued_entries | {"discount_share": content.owner["discount_share"]}
    changed = {
        name for name in comparison.entries if name in comparison.returned.cells and not comparison.same_entry(name)
    }
    changed |= {"discount_share"} if issued["discount_share"] != entries["discount_share"] else set()

    def change(name: str, label: str) -> str:
        before, after = (_said(name, values[name], draft) for values in (issued, entries))
        return words["change"].format(label=draft.label(label), before=before, after=after)

    yield words["since"].format(revision=plain(content.owner["revision"]))
    for name in (*QUOTE_INPUTS, "discount_share"):
        if name in changed:
            yield words["entry"].format(change=change(name, name))
    for line in range(1, LINES + 1):
        names = {on_line(name, line): name.removesuffix("_#") for name in LINE_INPUTS}
        if said := [change(name, label) for name, label in names.items() if name in changed]:
            yield words["line"].format(line=line, changes="; ".join(said))
    if _without_stock(comparison.issued_rates) != _without_stock(card.rates):
        yield words["rates"]


def _totals(before: Decimal, draft: QuoteDraft) -> str:
    after, currency = draft.results["total"], draft.issue.firm.currency
    return draft.words["changes"]["total"].format(before=f"{before:f}", after=f"{after:f}", currency=currency)


def _said(name: str, value: object, draft: QuoteDraft) -> str:
    """An entry in the words of the new revision."""
    if name == "surface":
        value = draft.dictionary.surfaces.get(value, value)
    if name == "discount_share":
        return f"{plain(value * 100)} %"
    if isinstance(value, bool):
        return draft.dictionary.yes_no[value]
    text = plain(value) if isinstance(value, Decimal) else " ".join(str(value or "").split())
    return (text if len(text) <= LONGEST_SAID else f"{text[: LONGEST_SAID - 1].rstrip(' ,.')}…") or draft.words[
        "changes"
    ]["blank"]


def _without_stock(rates: Rates) -> Rates:
    """Rates without what is free on a date, which is no rate."""
    return replace(rates, kinds=tuple(replace(kind, free=Decimal(0)) for kind in rates.kinds))
