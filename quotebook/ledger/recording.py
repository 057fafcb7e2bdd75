"""Records each event in a quote's life, and refuses those that cannot follow the ones before.

Every function for one kind of event works inside the ledger's write transaction, and returns False
if the event was recorded already. Misuse ends the transaction with nothing changed.
"""

import json
from collections.abc import Callable, Iterable, Mapping
from typing import Any

from sqlalchemy import Connection, insert, select, update

from quotebook.engine.stock import Item, Shortage, free, shortage_periods, shortages
from quotebook.errors import Misuse
from quotebook.ledger.events import (
    Agreed,
    Cancelled,
    CountedBack,
    Declined,
    Delivered,
    Event,
    Issued,
    Loss,
    Paid,
    Returned,
    details_of,
)
from quotebook.ledger.listing import read_happened, read_reason
from quotebook.ledger.payments import insert_payment
from quotebook.ledger.records import QuoteRecord, taken_by
from quotebook.ledger.rows import (
    AgreementRow,
    find_agreement,
    find_quote_id,
    insert_quote,
    read_holds,
    read_losses,
    read_quote,
)
from quotebook.ledger.states import state_after
from quotebook.ledger.tables import agreements, history, losses, returned


class NotEnough(Misuse):
    """More would be held than is owned. `shortages` has the items, the days, and how many are short."""

    def __init__(self, quote: QuoteRecord, shortages: list[Shortage]):
        self.quote_number, self.shortages = quote.quote_number, shortages
        short = "; ".join(map(str, shortage_periods(shortages)))
        super().__init__(f"{quote.quote_number}: not enough is free, and nothing was agreed. Short: {short}.")


class NumberTaken(Misuse):
    """A quote with this number and revision has been issued with other figures."""


def record(connection: Connection, event: Event) -> bool:
    """Record an event, and enter it in the history; False if it was recorded already. Raises Misuse."""
    new = _RECORDERS[type(event)](connection, event)
    if new:
        details = details_of(event)
        columns = {name: details[name] for name in ("at", "event", "quote_number", "revision")}
        connection.execute(insert(history).values(**columns, details=json.dumps(details)))
    return new


def must_be_free(connection: Connection, quote: QuoteRecord, owned: Mapping[Item, int]) -> None:
    """Raises NotEnough if other quotes hold too much of what this one takes."""
    holds = read_holds(connection, quote.held_from, quote.held_to, excluding=quote.quote_number)
    free_by_day = free(owned, holds, quote.held_from, quote.held_to)
    if short := shortages(taken_by(quote), free_by_day, quote.held_from):
        raise NotEnough(quote, short)


def _issued(connection: Connection, event: Issued) -> bool:
    recorded = find_quote_id(connection, event.quote_number, event.revision, sha256="")
    if recorded is None:
        insert_quote(connection, event.quote, sha256="")
    elif read_quote(connection, recorded) != event.quote:
        raise NumberTaken(
            f"{_revision_named(event)} is in the ledger with other figures, and a number is used once: issue it anew."
        )
    return recorded is None


def _returned(connection: Connection, event: Returned) -> bool:
    _must_be_issued(connection, event)
    if connection.scalar(select(returned.c.at).where(returned.c.sha256 == event.sha256)):
        return False
    connection.execute(insert(returned).values(vars(event)))
    return True


def _agreed(connection: Connection, event: Agreed) -> bool:
    _must_be_issued(connection, event)
    agreement = find_agreement(connection, event.quote_number)
    quote_id = find_quote_id(connection, event.quote_number, event.revision, event.sha256)
    if agreement and agreement.quote_id == quote_id and not agreement.cancelled_at:
        return False
    if agreement and agreement.delivered_at:
        raise Misuse(f"{_delivered_named(agreement)}: another hire needs a new quote.")
    quote_id = quote_id or insert_quote(connection, event.quote, event.sha256)
    columns = {"quote_id": quote_id, "agreed_at": event.at, "cancelled_at": None}
    if agreement:
        _change_agreement(connection, event, **columns)
    else:
        connection.execute(insert(agreements).values(quote_number=event.quote_number, **columns))
    return True


def _delivered(connection: Connection, event: Delivered) -> bool:
    if _must_be_agreed(connection, event).delivered_at:
        return False
    _change_agreement(connection, event, delivered_at=event.at)
    return True


def _counted_back(connection: Connection, event: CountedBack) -> bool:
    agreement = _must_be_agreed(connection, event)
    if not agreement.delivered_at:
        raise Misuse(f"{event.quote_number} is not recorded as delivered: do that first (quotebook deliver).")
    if agreement.counted_back_at:
        if read_losses(connection, agreement.quote_id) != set(event.losses):
            day = agreement.counted_back_at[:10]
            raise Misuse(f"{event.quote_number} was counted back on {day}, with other losses. That count stays.")
        return False
    _must_have_gone_out(read_quote(connection, agreement.quote_id), event.losses)
    for loss in event.losses:
        counts = {"damaged": loss.damaged, "lost": loss.lost}
        connection.execute(insert(losses).values(quote_id=agreement.quote_id, **loss.item._asdict(), **counts))
    _change_agreement(connection, event, counted_back_at=event.at)
    return True


def _cancelled(connection: Connection, event: Cancelled) -> bool:
    agreement = find_agreement(connection, event.quote_number)
    if agreement and agreement.cancelled_at:
        return False
    agreement = _must_be_agreed(connection, event)
    if agreement.delivered_at:
        raise Misuse(f"{_delivered_named(agreement)}: count it back instead of cancelling it.")
    _change_agreement(connection, event, cancelled_at=event.at)
    return True


def _declined(connection: Connection, event: Declined) -> bool:
    _must_be_issued(connection, event)
    agreement = find_agreement(connection, event.quote_number)
    if agreement and not agreement.cancelled_at:
        if read_quote(connection, agreement.quote_id).revision >= event.revision:
            raise Misuse(f"{event.quote_number} is agreed: cancel it instead (quotebook cancel {event.quote_number}).")
        return True
    state = state_after(read_happened(connection, event.quote_number))
    if state == "cancelled":
        raise Misuse(f"{event.quote_number} is cancelled already, and there is nothing to decline.")
    return state != "declined" or read_reason(connection, event.quote_number) != event.because


def _paid(connection: Connection, event: Paid) -> bool:
    _must_be_issued(connection, event)
    return insert_payment(connection, event)


_RECORDERS: Mapping[type[Event], Callable[[Connection, Any], bool]] = {
    Issued: _issued, Returned: _returned, Agreed: _agreed,
    Delivered: _delivered, CountedBack: _counted_back, Cancelled: _cancelled,
    Declined: _declined, Paid: _paid,
}  # fmt: skip
"""The function that records each kind of event, and takes events of that kind alone."""


def _change_agreement(connection: Connection, event: Event, **columns: object) -> None:
    connection.execute(update(agreements).where(agreements.c.quote_number == event.quote_number).values(**columns))


def _revision_named(event: Event) -> str:
    return f"{event.quote_number} revision {event.revision}"


def _delivered_named(agreement: AgreementRow) -> str:
    return f"{agreement.quote_number} was delivered on {(agreement.delivered_at or '')[:10]}"


def _must_be_issued(connection: Connection, event: Event) -> None:
    if find_quote_id(connection, event.quote_number, event.revision, sha256="") is None:
        raise Misuse(
            f"{_revision_named(event)} is not in the ledger as issued. If this desk issued it, run quotebook rebuild."
        )


def _must_be_agreed(connection: Connection, event: Event) -> AgreementRow:
    """The quote's agreement. Raises Misuse if this revision is not agreed, or was cancelled."""
    agreement = find_agreement(connection, event.quote_number)
    if not agreement or agreement.cancelled_at:
        cancelled_at = agreement and agreement.cancelled_at
        state = f"was cancelled on {cancelled_at[:10]}" if cancelled_at else "is not agreed"
        raise Misuse(f"{event.quote_number} {state}: agree its file first (quotebook agree FILE).")
    agreed = read_quote(connection, agreement.quote_id).revision
    if agreed != event.revision:
        raise Misuse(f"{event.quote_number} is agreed as revision {agreed}, not {event.revision}.")
    return agreement


def _must_have_gone_out(quote: QuoteRecord, losses: Iterable[Loss]) -> None:
    went_out = taken_by(quote)
    for loss in losses:
        if min(loss.damaged, loss.lost) < 0 or loss.damaged + loss.lost > went_out[loss.item]:
            raise Misuse(
                f"{quote.quote_number}: {loss.damaged} damaged and {loss.lost} lost, "
                f"but {went_out[loss.item]} {loss.item} went out. Count again."
            )
