"""Lists of bills and of payments, as tables for a bookkeeper."""

from collections.abc import Iterable
from datetime import date
from decimal import Decimal

from quotebook.engine.money import in_major_units
from quotebook.ledger import Ledger
from quotebook.ledger.bills import Bill
from quotebook.ledger.listing import ListedQuote

Row = list[str | Decimal | date]

BILLS = (
    "number", "kind", "takes back", "date", "due", "quote", "client", "event date", "tax rate", "without tax", "tax",
    "with tax", "currency",
)  # fmt: skip
PAYMENTS = ("date", "quote", "client", "event date", "for", "amount", "currency")


def bills_register(ledger: Ledger, first: date, last: date) -> list[Row]:
    """Every bill and credit note dated from `first` to `last`: headings, and a row for each rate of tax on each."""
    bills = ledger.bills(first, last)
    quotes = _by_number(ledger, (bill.quote_number for bill in bills))
    rows = (_bill_rows(bill, quotes[bill.quote_number]) for bill in bills)
    return [[*BILLS], *(row for of_bill in rows for row in of_bill)]


def payments_register(ledger: Ledger, first: date, last: date) -> list[Row]:
    """Every payment from `first` to `last`, less than 0 for what went back, under their headings."""
    payments = ledger.payments(first, last)
    quotes = _by_number(ledger, (payment.quote_number for payment in payments))
    rows: list[Row] = [[*PAYMENTS]]
    for payment in payments:
        quote = quotes[payment.quote_number]
        amount = in_major_units(payment.amount, quote.minor_units)
        facts: Row = [payment.paid_on, payment.quote_number, quote.client, quote.event_date]
        rows.append([*facts, payment.towards, amount, payment.currency])
    return rows


def _bill_rows(bill: Bill, quote: ListedQuote) -> Iterable[Row]:
    kind = "credit note" if bill.corrects else "bill"
    facts: Row = [bill.bill_number, kind, bill.corrects, bill.billed_on, bill.due_on]
    facts += [bill.quote_number, " ".join(quote.client.split()), quote.event_date]
    for rate, amount, tax in bill.taxes:
        without = amount - tax if bill.prices_with_tax else amount
        amounts = (in_major_units(each, quote.minor_units) for each in (without, tax, without + tax))
        yield [*facts, Decimal(rate), *amounts, bill.currency]


def _by_number(ledger: Ledger, numbers: Iterable[str]) -> dict[str, ListedQuote]:
    """The first row of each of these quotes in the list: as agreed, if it is agreed."""
    quotes: dict[str, ListedQuote] = {}
    for quote in ledger.listed_of({*numbers}):
        quotes.setdefault(quote.quote_number, quote)
    return quotes
