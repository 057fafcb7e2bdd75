"""The ledger's money: what came in for each quote, and what went back, inside a transaction."""

from datetime import date
from typing import NamedTuple

from sqlalchemy import Connection, func, insert, select

from quotebook.errors import Misuse
from quotebook.ledger.events import Paid
from quotebook.ledger.tables import payments, quotes


class Payment(NamedTuple):
    """Money that came in for a quote, or, with an amount less than 0, that went back to its client."""

    quote_number: str
    paid_on: date
    amount: int
    """In whole minor units of `currency`."""
    currency: str
    towards: str
    """One of `engine.dues.PURPOSES`."""


def read_payments(connection: Connection, quote_number: str | None = None) -> list[Payment]:
    """Every payment, or those of one quote, by day and in the order of recording."""
    query = select(*(payments.c[name] for name in Payment._fields)).order_by(payments.c.paid_on, payments.c.payment_id)
    if quote_number is not None:
        query = query.where(payments.c.quote_number == quote_number)
    return [Payment(**row._mapping) for row in connection.execute(query)]


def insert_payment(connection: Connection, event: Paid) -> bool:
    """Insert a payment; False if it is there already. Raises Misuse for another currency, or more back than came in."""
    columns = {name: getattr(event, name) for name in ("quote_number", "amount", "towards", "repeat")}
    columns["paid_on"] = date.fromisoformat(event.paid_on)
    if connection.scalar(select(payments.c.payment_id).filter_by(**columns)):
        return False
    currency = connection.scalar(select(quotes.c.currency).where(quotes.c.quote_number == event.quote_number))
    if currency != event.currency:
        raise Misuse(f"{event.quote_number} is in {currency}, and takes no payment in {event.currency}.")
    paid = connection.scalar(
        select(func.coalesce(func.sum(payments.c.amount), 0)).where(payments.c.quote_number == event.quote_number)
    )
    if event.amount < 0 and int(paid or 0) + event.amount < 0:
        raise Misuse(f"{event.quote_number}: more would go back than came in. Nothing was recorded.")
    connection.execute(insert(payments).values(currency=event.currency, **columns))
    return True
