"""The money that came in for quotes and went back, as the events of a ledger have it."""

from collections.abc import Iterable
from datetime import date
from typing import NamedTuple

from quotebook.errors import Misuse
from quotebook.ledger.events import Details


class Payment(NamedTuple):
    """Money that came in for a quote, or, with an amount less than 0, that went back to its client."""

    quote_number: str
    paid_on: date
    amount: int
    """In whole minor units of `currency`."""
    currency: str
    towards: str
    """One of `engine.dues.PURPOSES`."""
    repeat: int
    """0 for the first payment of that amount, day and purpose, 1 for a second one that is alike, and so on."""


def payment_of(details: Details) -> Payment:
    """The payment that an event says."""
    values = {name: details[name] for name in Payment._fields}
    return Payment(**values | {"paid_on": date.fromisoformat(details["paid_on"])})


def is_new(payment: Payment, before: Iterable[Payment], currency: str) -> bool:
    """Whether a payment for a quote is not among those before; `currency` is the quote's.

    Raises Misuse for a payment in another currency, and for more back than came in.
    """
    before = list(before)
    if payment in before:
        return False
    if payment.currency != currency:
        raise Misuse(f"{payment.quote_number} is in {currency}, and takes no payment in {payment.currency}.")
    if payment.amount < 0 and sum(each.amount for each in before) + payment.amount < 0:
        raise Misuse(f"{payment.quote_number}: more would go back than came in. Nothing was recorded.")
    return True
