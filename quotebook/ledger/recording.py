"""Records events inside the ledger's write transaction, and puts back those that a lost ledger had.

Misuse ends the transaction with nothing changed.
"""

import json
from collections.abc import Iterable, Mapping
from typing import NamedTuple

from quotebook.contract.wording import worldwide
from quotebook.engine.stock import Item, Shortage, free, shortage_periods, shortages
from quotebook.errors import Misuse
from quotebook.ledger.bills import BillNumberTaken
from quotebook.ledger.deriving import derive, derive_all
from quotebook.ledger.events import Billed, CountedBack, Details, Event, details_of, has_figures
from quotebook.ledger.life import Agreement, Life, follow, last_to_undo, life_of, must_be_issued, must_leave_bill
from quotebook.ledger.records import QuoteRecord, taken_by
from quotebook.ledger.rows import (
    find_quote_id,
    insert_line,
    insert_quote,
    next_bill_number,
    next_place,
    read_events,
    read_holds,
    read_line,
    read_quotes,
    read_renames,
)
from quotebook.ledger.slips import Place, line_of, place_of
from quotebook.ledger.stock_changes import renamed
from quotebook.ledger.transactions import Transaction


class NotEnough(Misuse):
    """More would be held than is owned. `shortages` has the items, the days, and how many are short."""

    def __init__(self, quote: QuoteRecord, shortages: list[Shortage]):
        self.quote_number, self.shortages = quote.quote_number, shortages
        short = "; ".join(period.said(worldwide) for period in shortage_periods(shortages))
        super().__init__(f"{quote.quote_number}: not enough is free, and nothing was agreed. Short: {short}.")


class KeptEvent(NamedTuple):
    """An event as a desk kept it: the line of its slip, and the figures of its workbook if it has any."""

    line: str
    quote: QuoteRecord | None = None


def record(transaction: Transaction, event: Event, desk: str, owned: Mapping[Item, int] | None = None) -> bool:
    """Record an event at a desk; False if it was recorded already.

    Raises Misuse if it cannot follow those before it, and NotEnough if it would hold something anew that
    is not free out of `owned`, on any of its days. Without `owned` that is not asked.
    """
    place, before = next_place(transaction, desk), read_events(transaction, event.quote_number)
    details = place._asdict() | details_of(event)
    if event.quote_number:
        life = life_of(before)
        must_be_issued(life, details)
        after = _after(before, life, details)
        if after is life:
            return False
        must_leave_bill(life, after, event.quote_number)
        if isinstance(event, CountedBack):
            _must_have_gone_out(transaction, event, life)
        if isinstance(event, Billed) and event.bill_number != next_bill_number(transaction):
            raise BillNumberTaken(
                f"{event.bill_number} is not the next number of a bill: another was written meanwhile."
            )
    _insert(transaction, place, line_of(place, details_of(event)), getattr(event, "quote", None))
    if not event.quote_number:
        if details["event"] == "renamed":
            derive_all(transaction)
    else:
        derive(transaction, event.quote_number, after)
        if owned is not None and after.holding and _held(after) != _held(life):
            _must_be_free(transaction, event.quote_number, after.holding, owned)
    return True


def put_back(transaction: Transaction, kept: Iterable[KeptEvent]) -> int:
    """Enter events that a ledger lacks, in any order, and derive anew what follows; returns how many it lacked.

    Raises Misuse if the ledger has another event at the place of one of them.
    """
    unplaced = set(transaction.column("SELECT line FROM history WHERE desk = ''"))
    lacked = 0
    for line, quote in kept:
        place = place_of(json.loads(line))
        if place is None:
            if line in unplaced:
                continue
            place = next_place(transaction, "")
        elif (known := read_line(transaction, place.desk, place.sequence)) is not None:
            if known != line:
                raise Misuse(f"slip {place.sequence} is not what the ledger has there.")
            continue
        _insert(transaction, place, line, quote)
        lacked += 1
    derive_all(transaction)
    return lacked


def items_now(transaction: Transaction, quote: QuoteRecord) -> Mapping[Item, int]:
    """What a quote that was issued takes out of stock, by the codes of now."""
    issued = life_of(read_events(transaction, quote.quote_number)).issued
    return renamed(taken_by(quote), read_renames(transaction), issued.get(quote.revision, {}))


def _after(before: list[Details], life: Life, details: Details) -> Life:
    """The life after one more event, which may take back one of those before."""
    if details["event"] != "undone":
        return follow(life, details)
    last = last_to_undo(before)
    if last is None or (last["event"], last["at"]) != (details["undone_event"], details["undone_at"]):
        raise Misuse(f"{details['quote_number']}: something else was recorded meanwhile. Look again before you undo.")
    return life_of([*before, details])


def _insert(transaction: Transaction, place: Place, line: str, quote: QuoteRecord | None) -> None:
    details = json.loads(line)
    insert_line(transaction, place, line)
    if quote and has_figures(details):
        sha256 = details["sha256"] if details["event"] == "agreed" else ""
        if find_quote_id(transaction, quote.quote_number, quote.revision, sha256) is None:
            insert_quote(transaction, quote, sha256)


def _held(life: Life) -> tuple[int, str] | None:
    return (life.holding.revision, life.holding.sha256) if life.holding else None


def _agreed_figures(transaction: Transaction, quote_number: str, agreement: Agreement) -> QuoteRecord:
    quote_id = find_quote_id(transaction, quote_number, agreement.revision, agreement.sha256)
    if quote_id is None:
        raise LookupError(f"{quote_number} was agreed without its figures")
    return read_quotes(transaction, [quote_id])[quote_id]


def _must_be_free(transaction: Transaction, quote_number: str, agreement: Agreement, owned: Mapping[Item, int]) -> None:
    """Raises NotEnough if other quotes hold too much of what this one takes."""
    quote = _agreed_figures(transaction, quote_number, agreement)
    holds = read_holds(transaction, quote.held_from, quote.held_to, excluding=quote.quote_number)
    free_by_day = free(owned, holds, quote.held_from, quote.held_to)
    if short := shortages(items_now(transaction, quote), free_by_day, quote.held_from):
        raise NotEnough(quote, short)


def _must_have_gone_out(transaction: Transaction, event: CountedBack, life: Life) -> None:
    """Raises Misuse if a count has more losses than pieces that went out."""
    if not life.holding:
        return
    quote = _agreed_figures(transaction, event.quote_number, life.holding)
    went_out = {item.key: pieces for item, pieces in items_now(transaction, quote).items()}
    for loss in event.losses:
        most = went_out.get(loss.item.key, 0)
        if min(loss.damaged, loss.lost) < 0 or loss.damaged + loss.lost > most:
            raise Misuse(
                f"{quote.quote_number}: {loss.damaged} damaged and {loss.lost} lost, "
                f"but {most} {loss.item} went out. Count again."
            )
