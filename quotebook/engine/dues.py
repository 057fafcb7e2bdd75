"""What a client owes for an agreed quote, and by which day: the deposit, and the balance."""

from datetime import date
from decimal import Decimal
from typing import NamedTuple

from quotebook.engine.due_dates import balance_due, deposit_due
from quotebook.engine.model import PaymentTerms
from quotebook.engine.money import ZERO

DEPOSIT, BALANCE = PURPOSES = ("deposit", "balance")
"""What a payment is for."""

BILL = "bill"
"""What is due once a bill was written: all of it that is not paid."""


class Due(NamedTuple):
    """An amount that is still to come in."""

    towards: str
    """One of PURPOSES, or BILL."""
    amount: Decimal
    """Above 0, in the quote's currency."""
    due_on: date


def dues(
    total: Decimal,
    deposit: Decimal,
    paid: Decimal,
    issued_on: date,
    event_date: date,
    deposit_days: Decimal,
    balance_days: Decimal,
) -> list[Due]:
    """What has still to come in for an agreed quote; none of it where all is paid.

    Whatever was paid counts for the deposit first. The days are those that the client's quote says (`due_dates`);
    a deposit for which it says none is due with the balance.
    """
    deposit_due_on = deposit_due(issued_on, deposit_days, event_date)
    balance_due_on = balance_due(issued_on, balance_days, event_date, deposit_due_on) or event_date
    open_deposit = max(ZERO, deposit - paid)
    open_balance = max(ZERO, total - max(paid, deposit))
    each = Due(DEPOSIT, open_deposit, deposit_due_on or balance_due_on), Due(BALANCE, open_balance, balance_due_on)
    return [due for due in each if due.amount]


def deposit_kept(deposit: Decimal, paid: Decimal, cancelled_on: date, event_date: date, terms: PaymentTerms) -> Decimal:
    """How much of what was paid the firm keeps of the deposit when an agreed quote is cancelled; not yet rounded.

    Nothing if it is cancelled `free_cancellation_days` before the event or earlier. Of a deposit that was never
    paid nothing is claimed.
    """
    days_before = (event_date - cancelled_on).days
    if terms.free_cancellation_days and days_before >= terms.free_cancellation_days:
        return ZERO
    return min(deposit, max(ZERO, paid)) * terms.deposit_kept_share
