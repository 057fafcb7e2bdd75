"""Counts what was billed, or what was paid, month by month: the other two ways to look at a season's money.

A bill counts in the month of its date and a payment in that of its day; a credit note and money that went back count
less than 0. Money is in whole minor units until `rows_with_total`.
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from quotebook.books.revenue import months_between
from quotebook.engine.dues import PURPOSES
from quotebook.engine.money import in_major_units, plain
from quotebook.errors import Misuse
from quotebook.ledger import Ledger

GIVEN_BACK = "given back"


@dataclass(frozen=True)
class Takings:
    """What was billed or paid in some months, in one currency."""

    what: str
    """`bills` or `payments`."""
    months: tuple[str, ...]
    columns: tuple[str, ...]
    by_month: dict[str, Counter[str]]
    """For each month the amount in each column."""
    currency: str
    minor_units: int
    count: int
    by_quote: int
    """The sum of the same, counted quote by quote."""

    @property
    def total(self) -> int:
        """The sum of every month and column."""
        return sum(sum(amounts.values()) for amounts in self.by_month.values())

    @property
    def reconciled(self) -> bool:
        """Whether the months sum to the quotes."""
        return self.total == self.by_quote


def billed(ledger: Ledger, first: date, last: date, currency: str | None = None) -> Takings:
    """What was billed from `first` to `last`, less what credit notes took back, by rate of tax.

    Raises Misuse for bills in several currencies of which none is chosen.
    """
    bills = ledger.bills(first, last)
    code = _one_currency((bill.currency for bill in bills), currency)
    bills = [bill for bill in bills if bill.currency == code]
    by_month: dict[str, Counter[str]] = defaultdict(Counter)
    by_quote: Counter[str] = Counter()
    rates = sorted({Decimal(rate) for bill in bills for rate, _, _ in bill.taxes}, reverse=True)
    for bill in bills:
        by_quote[bill.quote_number] += bill.total
        for rate, amount, tax in bill.taxes:
            column = column_of(Decimal(rate))
            by_month[_month(bill.billed_on)][column] += amount - tax if bill.prices_with_tax else amount
            by_month[_month(bill.billed_on)]["tax"] += tax
    columns = (*map(column_of, rates), "tax")
    return _takings("bills", ledger, first, last, columns, by_month, code, len(bills), by_quote)


def paid(ledger: Ledger, first: date, last: date, currency: str | None = None) -> Takings:
    """What was paid from `first` to `last`, less what went back, by what it was for.

    Raises Misuse for payments in several currencies of which none is chosen.
    """
    payments = ledger.payments(first, last)
    code = _one_currency((payment.currency for payment in payments), currency)
    payments = [payment for payment in payments if payment.currency == code]
    by_month: dict[str, Counter[str]] = defaultdict(Counter)
    by_quote: Counter[str] = Counter()
    for payment in payments:
        by_quote[payment.quote_number] += payment.amount
        by_month[_month(payment.paid_on)][payment.towards if payment.amount > 0 else GIVEN_BACK] += payment.amount
    return _takings("payments", ledger, first, last, (*PURPOSES, GIVEN_BACK), by_month, code, len(payments), by_quote)


def column_of(tax_rate: Decimal) -> str:
    """The heading of what bears a rate of tax, without the tax."""
    return f"at {plain(tax_rate * 100)} %" if tax_rate else "not taxed"


def rows_with_total(takings: Takings) -> list[list[str | Decimal]]:
    """The table: its headings, a row for each month, and a row of totals."""

    def row(name: str, amounts: Counter[str]) -> list[str | Decimal]:
        each = [amounts[column] for column in takings.columns]
        return [name, *(in_major_units(amount, takings.minor_units) for amount in (*each, sum(each)))]

    total = Counter({name: sum(month[name] for month in takings.by_month.values()) for name in takings.columns})
    months = [row(month, takings.by_month.get(month, Counter())) for month in takings.months]
    return [["month", *takings.columns, "total"], *months, row("total", total)]


def statement(takings: Takings, say: Callable[[Decimal], str]) -> str:
    """A sentence that says whether the months sum to the quotes, with amounts as `say` writes them."""
    total, by_quote = (say(in_major_units(each, takings.minor_units)) for each in (takings.total, takings.by_quote))
    if takings.reconciled:
        return (
            f"Reconciled: the months and the quotes, by their {takings.what} ({takings.count}), both sum to "
            f"{takings.currency} {total}."
        )
    return f"NOT reconciled: the months sum to {takings.currency} {total}, the quotes to {by_quote}."


def _takings(
    what: str,
    ledger: Ledger,
    first: date,
    last: date,
    columns: tuple[str, ...],
    by_month: dict[str, Counter[str]],
    currency: str,
    count: int,
    by_quote: Counter[str],
) -> Takings:
    months, places = months_between(first, last), ledger.minor_units_of(currency)
    return Takings(what, months, columns, by_month, currency, places, count, sum(by_quote.values()))


def _one_currency(found: Iterable[str], chosen: str | None) -> str:
    currencies = sorted({*found})
    if chosen:
        return chosen
    if len(currencies) > 1:
        raise Misuse(f"{' and '.join(currencies)} are never added up: choose one (--currency {currencies[0]}).")
    return currencies[0] if currencies else ""


def _month(day: date) -> str:
    return f"{day:%Y-%m}"
