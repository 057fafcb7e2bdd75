"""Carries out what an owner decides about a quote, and records it in the ledger.

`archive` says what is written in which order, and why a crash at any moment loses nothing that was said
to be done.
"""

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import NamedTuple

from quotebook.bookings.archive import record_event, record_issued, record_of_comparison
from quotebook.bookings.availability import Fit, fit, must_know_kinds, rates_for
from quotebook.bookings.jobs import job_of_file
from quotebook.bookings.receiving import keep_file, record_returned
from quotebook.checking.advice import NO_FLOOR
from quotebook.checking.answer import Answer
from quotebook.checking.check import checked_quote, no_telling
from quotebook.checking.findings import Finding
from quotebook.checking.issued import issued_quotes
from quotebook.checking.report import ANSWERS
from quotebook.contract.stamp import Content
from quotebook.contract.wording import worldwide
from quotebook.desk import Desk
from quotebook.engine.model import RateCard, Rates, Request
from quotebook.engine.price import price
from quotebook.engine.stock import Item, not_among, owned
from quotebook.errors import Doubtful, InvalidInput, Misuse
from quotebook.files import must_be_writable
from quotebook.ledger import Ledger
from quotebook.ledger.events import Agreed, Cancelled, CountedBack, Declined, Delivered, Loss, now
from quotebook.ledger.life import NumberTaken
from quotebook.ledger.records import QuoteRecord
from quotebook.ledger.refusals import NotRecorded
from quotebook.quoting.issuing import Written, write_and_read
from quotebook.quoting.reissuing import NoFloor, Reissued, accepted_findings, reissue
from quotebook.spreadsheets.cells import Workbook

EARLY = timedelta(days=7)
"""A delivery is recorded at most so long before the event without being asked about (common practice, no source)."""


def issue_and_record(
    desk: Desk, ledger: Ledger, card: RateCard, request: Request, number: str, today: date
) -> tuple[Path, Content]:
    """Issue a quote; returns its path and what its stamp signs. See `write_and_record`."""
    written = write_and_record(desk, ledger, card, request, number, today)
    return written.path, written.content


def write_and_record(desk: Desk, ledger: Ledger, card: RateCard, request: Request, number: str, today: date) -> Written:
    """Issue a quote that shows how many panels are free now, and record it.

    Raises what `write_and_read` and the ledger raise.
    """
    must_know_kinds(ledger, card, today)
    card_now = replace(card, rates=rates_for(ledger, card, request))
    written = write_and_read(desk, card_now, request, number, today)
    _record_written(desk, ledger, written.path, card, written.workbook)
    return written


def _record_written(desk: Desk, ledger: Ledger, path: Path, card: RateCard, workbook: Workbook | None) -> None:
    """Record a workbook that was written just now; it is removed again if the database refuses it.

    So it is never taken for one that a crash left unrecorded. Raises what `record_issued` raises.
    """
    try:
        record_issued(desk, ledger, path, card, workbook)
    except NotRecorded:
        path.unlink()
        raise


class IssuedQuote(NamedTuple):
    """A quote that was issued and recorded."""

    number: str
    path: Path
    content: Content


def issue_next(
    desk: Desk,
    ledger: Ledger,
    card: RateCard,
    request: Request,
    today: date | None = None,
    copy_of: Callable[[Path], Path | None] = lambda path: None,
    reserved: Callable[[str], None] = lambda number: None,
) -> IssuedQuote:
    """Issue a quote under the next number that no desk with the same ledger has used, and record it.

    `reserved` is called with the number before anything is issued under it. `copy_of` gives the path of a copy
    that the caller will write of the workbook at a path, or None: it is looked at before anything is issued.
    Raises what `issue_and_record` raises.
    """
    for number in desk.numbers():
        if ledger.issued(number, 1):
            continue
        if copy := copy_of(desk.issued_path(number, 1)):
            must_be_writable(copy)
        reserved(number)
        try:
            return IssuedQuote(number, *issue_and_record(desk, ledger, card, request, number, today or date.today()))
        except NumberTaken:  # by another desk, between the look and the record
            continue
    raise AssertionError("numbers never end")


def reissue_and_record(
    desk: Desk,
    ledger: Ledger,
    path: Path,
    accept: Collection[str] = (),
    discount_share: Decimal | None = None,
    new_rates: bool = False,
) -> Reissued:
    """Write the next revision from a returned file, at the promised rates while they stand, and record both.

    Raises what `reissue` raises, and Misuse if the card's currency is not the quote's.
    """

    def rates_now(card: RateCard, request: Request, number: str) -> Rates:
        must_know_kinds(ledger, card)
        issued = ledger.issued(number, 1)
        if issued and issued.currency != card.firm.currency:
            raise Misuse(
                f"{number} is in {issued.currency}, the rate card is now in {card.firm.currency}. Issue a new quote."
            )
        return rates_for(ledger, card, request, number)

    issued = issued_quotes(desk, ledger)
    done = reissue(
        desk, path, accept, discount_share=discount_share, rates_now=rates_now, issued=issued, new_rates=new_rates
    )
    record_returned(desk, ledger, path, done.report)
    _record_written(desk, ledger, done.path, desk.card(), done.workbook)
    return done


@dataclass(frozen=True)
class Agreement:
    """A quote that was agreed."""

    quote: QuoteRecord
    accepted: tuple[Finding, ...]
    """Disputed findings that the owner accepted; the price stays that of the returned entries at the issued rates."""
    new: bool
    """False if this file was agreed already."""
    replaced: QuoteRecord | None
    """What was agreed before and is held no more; None if nothing was."""


class NotAccepted(Misuse):
    """The client has not said yes."""

    status = 1


def agree(
    desk: Desk,
    ledger: Ledger,
    card: RateCard,
    path: Path,
    accept: Collection[str] = (),
    said_yes: str = "",
    today: date | None = None,
    sure: bool = False,
) -> Agreement:
    """Agree a returned file, and hold everything that it takes.

    The price has the rates and the currency of the issue; the hold has the card's turnaround now. `said_yes` is
    the owner's word on how the client said yes, where the file does not. Raises NotAccepted where neither does;
    what `reissuing.accepted_findings` raises for a file that is disputed or no quote;
    InvalidInput for one that asks for what cannot be had, even if it was issued so; NoFloor for one without a floor;
    `ledger.recording.NotEnough`, with nothing agreed, if something is not free; Misuse if something
    that it takes, or that is held for others, is no longer on the card; and Doubtful, unless `sure`, for
    an event that is past.
    """
    report, comparison = checked_quote(path, desk, today, issued_quotes(desk, ledger))
    accepted = accepted_findings(path, report, accept, seen=True)
    if comparison is None:
        raise no_telling(path, report.findings)
    if comparison.problems:
        reasons = [f"{problem.name}: {problem.allowed}" for problem in comparison.problems.values()]
        raise InvalidInput(f"{path}: cannot be had as it stands, and nothing was agreed. It would need:", reasons)
    if not comparison.has_floor:
        raise NoFloor(f"{path}: {NO_FLOOR}")
    if report.answer != Answer.YES and not said_yes.strip():
        raise NotAccepted(
            f"{path}: {ANSWERS[report.answer or Answer.NONE]}, so it was not agreed. "
            'If the client said yes otherwise, say how: --said-yes "by telephone, 3 June".'
        )
    quote = record_of_comparison(comparison, card.firm)
    must_not_be_past(quote.event_date, today, sure)
    _must_be_on_card(ledger, card, quote, today)
    standing = ledger.standing(quote.quote_number)
    digest = keep_file(desk, ledger, path, report)
    issued = ledger.issued(quote.quote_number, quote.revision)
    if issued:
        quote = replace(quote, currency=issued.currency)
    names = tuple(finding.reference for finding in accepted)
    event = Agreed(
        at=now(), quote=quote, sha256=digest, accepted=names, said_yes=" ".join(said_yes.split()),
        picked=comparison.picked or "",
    )  # fmt: skip
    new = record_event(desk, ledger, event, owned(card))
    record_returned(desk, ledger, path, report)  # only now: an agreement that is refused changes no state
    replaced = standing.quote if new and standing and not standing.cancelled_at else None
    return Agreement(quote, accepted, new, replaced)


def must_not_be_past(event_date: date | None, today: date | None = None, sure: bool = False) -> None:
    """Raises Doubtful, unless `sure`, for an event that is past."""
    today = today or date.today()
    if event_date and event_date < today and not sure:
        raise Doubtful(f"the event is on {worldwide(event_date)}, which is past (today is {worldwide(today)}).")


def _must_be_on_card(ledger: Ledger, card: RateCard, quote: QuoteRecord, today: date | None) -> None:
    if gone := not_among(ledger.items_now(quote), owned(card)):
        raise Misuse(
            f"{quote.quote_number}: {gone[0]} are no longer on the rate card. Put them back, say which kind they are "
            f"now (quotebook rename {gone[0].code} NEW), or issue the quote anew."
        )
    must_know_kinds(ledger, card, today)


def alternatives_for(desk: Desk, ledger: Ledger, path: Path, number: str) -> Fit:
    """What is short for the entries in a returned file of quote `number`, and the alternatives."""
    card, request = desk.card(), job_of_file(desk, path).request
    return fit(ledger, card, request, price(card.rates, request), number)


@dataclass(frozen=True)
class Recorded:
    """Something that was recorded of an agreed quote."""

    quote: QuoteRecord
    new: bool
    """False if it was recorded already."""


def deliver(desk: Desk, ledger: Ledger, number: str, today: date | None = None, sure: bool = False) -> Recorded:
    """Record that an agreed quote's floors went out.

    Raises Misuse; and Doubtful, unless `sure`, more than EARLY before the event.
    """
    quote, today = _agreed_quote(ledger, number), today or date.today()
    if today < quote.event_date - EARLY and not sure:
        raise Doubtful(
            f"{number} is for {worldwide(quote.event_date)}: today, {worldwide(today)}, is long before that."
        )
    event = Delivered(at=now(), quote_number=number, revision=quote.revision)
    return Recorded(quote, record_event(desk, ledger, event))


def decline(desk: Desk, ledger: Ledger, number: str, because: str = "") -> bool:
    """Close a quote that its client does not want, with the reason if there is one; False if that is recorded already.

    Of an agreed quote only a later revision can be declined, and the agreement stands. Raises Misuse.
    """
    revision = ledger.latest_revision(number)
    if not revision:
        raise Misuse(f"{number}: no quote of that number was issued here.")
    reason = " ".join(because.split()).rstrip(" .")
    return record_event(desk, ledger, Declined(at=now(), quote_number=number, revision=revision, because=reason))


def cancel(desk: Desk, ledger: Ledger, number: str) -> Recorded:
    """Cancel an agreed quote, which frees all that it held. Raises Misuse."""
    quote = _agreed_quote(ledger, number, f"decline it instead (quotebook decline {number})")
    event = Cancelled(at=now(), quote_number=number, revision=quote.revision)
    return Recorded(quote, record_event(desk, ledger, event))


@dataclass(frozen=True)
class Counted(Recorded):
    """What came back was counted."""

    before: frozenset[Loss] | None
    """The losses of an earlier count, of which this one takes the place; None if there was none."""


def count_back(
    desk: Desk, ledger: Ledger, number: str, losses: Iterable[Loss], today: date | None = None, sure: bool = False
) -> Counted:
    """Record that everything came back except the losses; a later count corrects an earlier one.

    Raises Misuse; and Doubtful, unless `sure`, before the event.
    """
    quote, today = _agreed_quote(ledger, number), today or date.today()
    if today < quote.event_date and not sure:
        raise Doubtful(f"{number} is for {worldwide(quote.event_date)}: today, {worldwide(today)}, is before that.")
    agreement = ledger.life(number).holding
    before = agreement.losses if agreement and agreement.counted_back_at else None
    event = CountedBack(at=now(), quote_number=number, revision=quote.revision, losses=tuple(losses))
    return Counted(quote, record_event(desk, ledger, event), before)


def _agreed_quote(
    ledger: Ledger, number: str, instead: str = "agree its file first (quotebook agree FILE)"
) -> QuoteRecord:
    standing = ledger.standing(number)
    if standing is None:
        raise Misuse(f"{number} is not agreed: {instead}.")
    return standing.quote


def losses_of(card: RateCard, damaged: Iterable[tuple[str, int]], lost: Iterable[tuple[str, int]]) -> list[Loss]:
    """Losses from counts of an item's name and how many. Raises Misuse for an item that is not on the card."""
    counts: dict[Item, list[int]] = {}
    for place, counted in enumerate((damaged, lost)):
        for name, count in counted:
            counts.setdefault(item_named(card, name), [0, 0])[place] += count
    return [Loss(item, *both) for item, both in counts.items()]


def item_named(card: RateCard, name: str) -> Item:
    """The item of a name: `OAK-44` is a panel, `PLY-48` a sheet, `corners/OAK-44` another item of a kind."""
    known = {f"{item.what}/{item.code}" if item.code else item.what: item for item in owned(card)}
    short = {item.code: item for item in owned(card) if item.what in ("panels", "sheets")}
    item = {known_as.casefold(): item for known_as, item in (short | known).items()}.get(name.casefold())
    if item is None:
        raise Misuse(f"{name} is not on the rate card; allowed: {', '.join((*short, *known))}.")
    return item
