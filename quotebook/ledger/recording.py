"""Records events inside the ledger's write transaction, and puts back those that a lost ledger had.

Misuse ends the transaction with nothing changed.
"""

import json
from collections.abc import Iterable, Mapping
from typing import NamedTuple

from sqlalchemy import Connection, select

from quotebook.contract.local import WORLD
from quotebook.engine.stock import Item, Shortage, free, shortage_periods, shortages
from quotebook.errors import Misuse
from quotebook.ledger.bills import BillNumberTaken
from quotebook.ledger.deriving import derive, derive_all
from quotebook.ledger.events import Billed, CountedBack, Details, Event, details_of, has_figures
from quotebook.ledger.life import Agreement, Life, follow, last_to_undo, life_of, must_be_issued
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
    read_quote,
    read_renames,
)
from quotebook.ledger.slips import Place, line_of, place_of
from quotebook.ledger.stock_changes import renamed
from quotebook.ledger.tables import history


class NotEnough(Misuse):
    """More would be held than is owned. `shortages` has the items, the days, and how many are short."""

    def __init__(self, quote: QuoteRecord, shortages: list[Shortage]):
        self.quote_number, self.shortages = quote.quote_number, shortages
        short = "; ".join(period.said(WORLD.day) for period in shortage_periods(shortages))
        super().__init__(f"{quote.quote_number}: not enough is free, and nothing was agreed. Short: {short}.")


class KeptEvent(NamedTuple):
    """An event as a desk kept it: the line of its slip, and the figures of its workbook if it has any."""

    line: str
    quote: QuoteRecord | None = None


def record(connection: Connection, event: Event, desk: str, owned: Mapping[Item, int] | None = None) -> bool:
    """Record an event at a desk; False if it was recorded already.

    Raises Misuse if it cannot follow those before it, and NotEnough if it would hold something anew that
    is not free out of `owned`, on any of its days. Without `owned` that is not asked.
    """
    place, before = next_place(connection, desk), read_events(connection, event.quote_number)
    details = place._asdict() | details_of(event)
    if event.quote_number:
        life = life_of(before)
        must_be_issued(life, details)
        after = _after(before, life, details)
        if after is life:
            return False
        if isinstance(event, CountedBack):
            _must_have_gone_out(connection, event, life)
        if isinstance(event, Billed) and event.bill_number != next_bill_number(connection):
            raise BillNumberTaken(
                f"{event.bill_number} is not the next number of a bill: another was written meanwhile."
            )
    _insert(connection, place, line_of(place, details_of(event)), getattr(event, "quote", None))
    if not event.quote_number:
        if details["event"] == "renamed":
            derive_all(connection)
    else:
        derive(connection, event.quote_number, after)
        if owned is not None and after.holding and _held(after) != _held(life):
            _must_be_free(connection, event.quote_number, after.holding, owned)
    return True


def put_back(connection: Connection, kept: Iterable[KeptEvent]) -> int:
    """Enter events that a ledger lacks, in any order, and derive anew what follows; returns how many it lacked.

    Raises Misuse if the ledger has another event at the place of one of them.
    """
    unplaced = set(connection.scalars(select(history.c.line).where(history.c.desk == "")))
    lacked = 0
    for line, quote in kept:
        place = place_of(json.loads(line))
        if place is None:
            if line in unplaced:
                continue
            place = next_place(connection, "")
        elif (known := read_line(connection, place.desk, place.sequence)) is not None:
            if known != line:
                raise Misuse(f"slip {place.sequence} is not what the ledger has there.")
            continue
        _insert(connection, place, line, quote)
        lacked += 1
    derive_all(connection)
    return lacked


def items_now(connection: Connection, quote: QuoteRecord) -> Mapping[Item, int]:
    """What a quote that was issued takes out of stock, by the codes of now."""
    issued = life_of(read_events(connection, quote.quote_number)).issued
    return renamed(taken_by(quote), read_renames(connection), issued.get(quote.revision, {}))


def _after(before: list[Details], life: Life, details: Details) -> Life:
    """The life after one more event, which may take back one of those before."""
    if details["event"] != "undone":
        return follow(life, details)
    last = last_to_undo(before)
    if last is None or (last["event"], last["at"]) != (details["undone_event"], details["undone_at"]):
        raise Misuse(f"{details['quote_number']}: something else was recorded meanwhile. Look again before you undo.")
    return life_of([*before, details])


def _insert(connection: Connection, place: Place, line: str, quote: QuoteRecord | None) -> None:
    details = json.loads(line)
    insert_line(connection, place, line)
    if quote and has_figures(details):
        sha256 = details["sha256"] if details["event"] == "agreed" else ""
        if find_quote_id(connection, quote.quote_number, quote.revision, sha256) is None:
            insert_quote(connection, quote, sha256)


def _held(life: Life) -> tuple[int, str] | None:
    return (life.holding.revision, life.holding.sha256) if life.holding else None


def _agreed_figures(connection: Connection, quote_number: str, agreement: Agreement) -> QuoteRecord:
    quote_id = find_quote_id(connection, quote_number, agreement.revision, agreement.sha256)
    if quote_id is None:
        raise LookupError(f"{quote_number} was agreed without its figures")
    return read_quote(connection, quote_id)


def _must_be_free(connection: Connection, quote_number: str, agreement: Agreement, owned: Mapping[Item, int]) -> None:
    """Raises NotEnough if other quotes hold too much of what this one takes."""
    quote = _agreed_figures(connection, quote_number, agreement)
    holds = read_holds(connection, quote.held_from, quote.held_to, excluding=quote.quote_number)
    free_by_day = free(owned, holds, quote.held_from, quote.held_to)
    if short := shortages(items_now(connection, quote), free_by_day, quote.held_from):
        raise NotEnough(quote, short)


def _must_have_gone_out(connection: Connection, event: CountedBack, life: Life) -> None:
    """Raises Misuse if a count has more losses than pieces that went out."""
    if not life.holding:
        return
    quote = _agreed_figures(connection, event.quote_number, life.holding)
    went_out = {item.key: pieces for item, pieces in items_now(connection, quote).items()}
    for loss in event.losses:
        most = went_out.get(loss.item.key, 0)
        if min(loss.damaged, loss.lost) < 0 or loss.damaged + loss.lost > most:
            raise Misuse(
                f"{quote.quote_number}: {loss.damaged} damaged and {loss.lost} lost, "
                f"but {most} {loss.item} went out. Count again."
            )
