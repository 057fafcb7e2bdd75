"""Records at a desk what clients pay, and tells what they still owe."""

from datetime import date
from decimal import Decimal
from typing import NamedTuple

from sqlalchemy import ColumnElement

from quotebook.bookings.archive import record_event
from quotebook.desk import Desk
from quotebook.engine.dues import BALANCE, BILL, DEPOSIT, Due, deposit_kept, dues
from quotebook.engine.model import PaymentTerms
from quotebook.engine.money import ZERO, in_major_units, in_minor_units, money
from quotebook.errors import Misuse
from quotebook.ledger import Ledger
from quotebook.ledger.events import Paid, now
from quotebook.ledger.listing import ListedQuote
from quotebook.ledger.states import BOOKED


class Account(NamedTuple):
    """A quote's money, in its currency."""

    quote: ListedQuote
    total: Decimal
    """As billed, or as agreed where no bill stands."""
    deposit: Decimal
    paid: Decimal
    """What came in less what went back."""
    dues: tuple[Due, ...]
    """What has still to come in; none unless the quote is agreed."""
    to_give_back: Decimal
    """Paid beyond the total, or, of a cancelled or declined quote, beyond what is kept of the deposit."""


def account_of(quote: ListedQuote, terms: PaymentTerms) -> Account:
    """The money of a quote: what is paid, what is due and by when, what is to be given back."""
    total, deposit, paid = (
        in_major_units(each, quote.minor_units) for each in (quote.total, quote.deposit, quote.paid)
    )
    owed: list[Due] = []
    if quote.bill:
        total = in_major_units(quote.bill.total, quote.minor_units)
    beyond = paid - total
    if quote.bill:
        owed = [Due(BILL, total - paid, quote.bill.due_on)] if total > paid else []
    elif quote.state in BOOKED:
        owed = dues(total, deposit, paid, quote.issued_on, quote.event_date, *_days(quote, terms))
    elif quote.state == "cancelled" and quote.cancelled_on:
        beyond = paid - deposit_kept(deposit, paid, quote.cancelled_on, quote.event_date, terms)
    elif quote.state == "declined":
        beyond = paid
    return Account(quote, total, deposit, paid, tuple(owed), money(max(ZERO, beyond), quote.minor_units))


def _days(quote: ListedQuote, terms: PaymentTerms) -> tuple[Decimal, Decimal]:
    """The days for deposit and balance that a quote says, or the card's where the ledger did not keep them yet."""
    deposit_days = terms.deposit_days if quote.deposit_days is None else Decimal(quote.deposit_days)
    balance_days = terms.balance_days if quote.balance_days is None else Decimal(quote.balance_days)
    return deposit_days, balance_days


def accounts(ledger: Ledger, terms: PaymentTerms, *which: ColumnElement[bool]) -> list[Account]:
    """The money of the quotes that fulfil the conditions, which are those in `ledger.listing`, by number."""
    return [account_of(quote, terms) for quote in ledger.listed(*which)]


def find_quote(ledger: Ledger, number: str) -> ListedQuote:
    """A quote as the list has it. Raises Misuse if no quote of that number was issued."""
    listed = ledger.listed_of([number])
    if not listed:
        raise Misuse(f"{number}: no quote of that number was issued here.")
    return listed[0]


def pay(
    desk: Desk, ledger: Ledger, number: str, amount: Decimal, paid_on: date, towards: str = "", again: bool = False
) -> bool:
    """Record money that came in for a quote, or went back with an amount less than 0.

    `towards` is one of `engine.dues.PURPOSES`; without it, the deposit until that is paid, then the balance.
    Returns False if a payment of that amount and day (and purpose, if it is given) is recorded already; `again`
    records another one.
    Raises Misuse for a quote that was not issued, an amount of 0 or finer than the currency's smallest unit, and
    for more back than came in.
    """
    found = find_quote(ledger, number)
    if not amount or money(amount, found.minor_units) != amount:
        raise Misuse(
            f"{amount} is no payment in {found.currency}: write an amount above 0 with at most "
            f"{found.minor_units} decimal places."
        )
    in_units = in_minor_units(amount, found.minor_units)
    that_day = [each for each in ledger.payments_of(number) if (each.amount, each.paid_on) == (in_units, paid_on)]
    if not again and any(towards in ("", each.towards) for each in that_day):
        return False
    towards = towards or _purpose(found, in_units)
    alike = [each for each in that_day if each.towards == towards]
    event = Paid(
        at=now(), quote_number=number, revision=found.revision, paid_on=str(paid_on), amount=in_units,
        currency=found.currency, towards=towards, repeat=len(alike),
    )  # fmt: skip
    return record_event(desk, ledger, event)


def _purpose(quote: ListedQuote, amount: int) -> str:
    """What a payment is for if nobody says: money in fills the deposit first, money back empties the balance first."""
    paid_before = quote.paid if amount > 0 else quote.paid + amount
    return DEPOSIT if paid_before < quote.deposit else BALANCE
