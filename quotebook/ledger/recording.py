"""How each event is recorded, and what may follow what.

Every function works inside the ledger's write transaction and returns whether anything was new.
Misuse ends that transaction with nothing changed.
"""

import json
from collections.abc import Iterable, Mapping

from sqlalchemy import Connection, Row, insert, select, update

from quotebook.engine.stock import Item, Shortage, free, shortage_periods, shortages
from quotebook.errors import Misuse
from quotebook.ledger.events import Agreed, Cancelled, CountedBack, Delivered, Event, Issued, Loss, Returned, details
from quotebook.ledger.records import QuoteRecord, taken_by
from quotebook.ledger.rows import agreement, holds, insert_quote, losses_of, quote_at, quote_id
from quotebook.ledger.tables import agreements, history, losses, returned


class NotEnough(Misuse):
    """More would be held than there is: `shortages` says of what, on which days, by how many."""

    def __init__(self, quote: QuoteRecord, shortages: list[Shortage]):
        self.quote_number, self.shortages = quote.quote_number, shortages
        short = "; ".join(map(str, shortage_periods(shortages)))
        super().__init__(f"{quote.quote_number}: not enough is free, and nothing was agreed. Short: {short}.")


class NumberTaken(Misuse):
    """A quote of that number and revision has been issued with other figures."""


def record(connection: Connection, event: Event) -> bool:
    """Record an event, and in the history that it was."""
    new = _RECORDING[type(event)](connection, event)
    if new:
        entry = details(event)
        kept = {name: entry[name] for name in ("at", "event", "quote_number", "revision")}
        connection.execute(insert(history).values(**kept, details=json.dumps(entry)))
    return new


def must_be_free(connection: Connection, quote: QuoteRecord, owned: Mapping[Item, int]) -> None:
    """Raises NotEnough where other quotes hold what this one takes."""
    held = holds(connection, quote.held_from, quote.held_to, excluding=quote.quote_number)
    free_by_day = free(owned, held, quote.held_from, quote.held_to)
    if short := shortages(taken_by(quote), free_by_day, quote.held_from):
        raise NotEnough(quote, short)


def _issued(connection: Connection, event: Issued) -> bool:
    there = quote_id(connection, event.quote_number, event.revision, sha256="")
    if there is None:
        insert_quote(connection, event.quote, sha256="")
    elif quote_at(connection, there) != event.quote:
        raise NumberTaken(
            f"{_spell(event)} is in the ledger with other figures, and a number is used once: issue it anew."
        )
    return there is None


def _returned(connection: Connection, event: Returned) -> bool:
    _must_be_issued(connection, event)
    if connection.scalar(select(returned.c.at).where(returned.c.sha256 == event.sha256)):
        return False
    connection.execute(insert(returned).values(vars(event)))
    return True


def _agreed(connection: Connection, event: Agreed) -> bool:
    _must_be_issued(connection, event)
    stands = agreement(connection, event.quote_number)
    figures = quote_id(connection, event.quote_number, event.revision, event.sha256)
    if stands and stands.quote_id == figures and not stands.cancelled_at:
        return False
    if stands and stands.delivered_at:
        raise Misuse(f"{event.quote_number} {_delivered_on(stands)}: another hire needs a new quote.")
    figures = figures or insert_quote(connection, event.quote, event.sha256)
    now = {"quote_id": figures, "agreed_at": event.at, "cancelled_at": None}
    if stands:
        _change(connection, event, **now)
    else:
        connection.execute(insert(agreements).values(quote_number=event.quote_number, **now))
    return True


def _delivered(connection: Connection, event: Delivered) -> bool:
    if _must_stand(connection, event).delivered_at:
        return False
    _change(connection, event, delivered_at=event.at)
    return True


def _counted_back(connection: Connection, event: CountedBack) -> bool:
    stands = _must_stand(connection, event)
    if not stands.delivered_at:
        raise Misuse(f"{event.quote_number} is not recorded as delivered: do that first (quotebook deliver).")
    if stands.counted_back_at:
        if losses_of(connection, stands.quote_id) != set(event.losses):
            raise Misuse(f"{event.quote_number} was counted back on {stands.counted_back_at[:10]}: that stands.")
        return False
    _must_have_gone_out(quote_at(connection, stands.quote_id), event.losses)
    for loss in event.losses:
        counts = {"damaged": loss.damaged, "lost": loss.lost}
        connection.execute(insert(losses).values(quote_id=stands.quote_id, **loss.item._asdict(), **counts))
    _change(connection, event, counted_back_at=event.at)
    return True


def _cancelled(connection: Connection, event: Cancelled) -> bool:
    stands = agreement(connection, event.quote_number)
    if stands and stands.cancelled_at:
        return False
    if _must_stand(connection, event).delivered_at:
        raise Misuse(f"{event.quote_number} {_delivered_on(stands)}: count it back instead of cancelling it.")
    _change(connection, event, cancelled_at=event.at)
    return True


_RECORDING = {
    Issued: _issued, Returned: _returned, Agreed: _agreed,
    Delivered: _delivered, CountedBack: _counted_back, Cancelled: _cancelled,
}  # fmt: skip


def _change(connection: Connection, event: Event, **values) -> None:
    connection.execute(update(agreements).where(agreements.c.quote_number == event.quote_number).values(**values))


def _spell(event: Event) -> str:
    return f"{event.quote_number} revision {event.revision}"


def _delivered_on(stands: Row) -> str:
    return f"was delivered on {stands.delivered_at[:10]}"


def _must_be_issued(connection: Connection, event: Event) -> None:
    if quote_id(connection, event.quote_number, event.revision, sha256="") is None:
        raise Misuse(f"{_spell(event)} is not in the ledger as issued. If this desk issued it, run quotebook rebuild.")


def _must_stand(connection: Connection, event: Event) -> Row:
    """The quote's agreement, where it is agreed in this revision and not cancelled."""
    stands = agreement(connection, event.quote_number)
    if not stands or stands.cancelled_at:
        state = f"was cancelled on {stands.cancelled_at[:10]}" if stands else "is not agreed"
        raise Misuse(f"{event.quote_number} {state}: agree its file first (quotebook agree FILE).")
    agreed = quote_at(connection, stands.quote_id).revision
    if agreed != event.revision:
        raise Misuse(f"{event.quote_number} is agreed as revision {agreed}, not {event.revision}.")
    return stands


def _must_have_gone_out(quote: QuoteRecord, losses: Iterable[Loss]) -> None:
    out = taken_by(quote)
    for loss in losses:
        if min(loss.damaged, loss.lost) < 0 or loss.damaged + loss.lost > out[loss.item]:
            raise Misuse(
                f"{quote.quote_number}: {loss.damaged} damaged and {loss.lost} lost, "
                f"but {out[loss.item]} {loss.item} went out. Count again."
            )
