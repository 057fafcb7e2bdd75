"""The bills and credit notes that a firm has written, as the events of a ledger have them.

They are numbered in one sequence without gaps, and none is ever changed: a credit note takes a bill back.
"""

from collections.abc import Iterable
from datetime import date
from typing import NamedTuple

from quotebook.errors import Misuse
from quotebook.ledger.events import Details


class Bill(NamedTuple):
    """A bill, or a credit note. Amounts are in whole minor units of `currency`."""

    bill_number: str
    quote_number: str
    billed_on: date
    due_on: date
    currency: str
    total: int
    taxes: tuple[tuple[str, int, int], ...]
    """For each rate of tax, as a share: the rate, what the items that bear it come to, and the tax."""
    prices_with_tax: bool
    """Whether what the items come to has their tax in it."""
    corrects: str
    """The number of the bill that a credit note takes back; empty on a bill."""
    because: str
    sha256: str
    """Of its workbook."""


class BillNumberTaken(Misuse):
    """Another bill was written meanwhile, and has the number."""


def bill_number(count: int) -> str:
    """The number of the bill or credit note that is the `count`-th of the firm."""
    return f"B{count:04}"


def standing_bill(bills: Iterable[Bill]) -> Bill | None:
    """The bill that no credit note has taken back, of a quote with these; None if there is none."""
    bills = list(bills)
    taken_back = {bill.corrects for bill in bills}
    return next((bill for bill in bills if not bill.corrects and bill.bill_number not in taken_back), None)


def must_stand(bill: Bill, before: Iterable[Bill]) -> bool:
    """Whether a bill or credit note is not among those before it of its quote.

    Raises Misuse for a second bill where the first one stands, and for a credit note on a bill that does not stand.
    """
    before = list(before)
    if bill in before:
        return False
    standing = standing_bill(before)
    if bill.corrects != (standing.bill_number if standing else ""):
        raise Misuse(
            f"{bill.quote_number} is billed as {standing.bill_number}, which stands."
            if standing
            else f"{bill.corrects} is no bill of {bill.quote_number} that stands."
        )
    return True


def bill_of(details: Details) -> Bill:
    """The bill or credit note that an event says."""
    values = {name: details[name] for name in Bill._fields}
    days = {name: date.fromisoformat(details[name]) for name in ("billed_on", "due_on")}
    taxes = tuple((str(rate), int(amount), int(tax)) for rate, amount, tax in details["taxes"])
    return Bill(**values | days | {"taxes": taxes})
