"""Quotes in a list: of each its figures, its state and what was paid for it, and what quotes are asked for by."""

from collections import Counter, defaultdict
from collections.abc import Collection
from datetime import date
from typing import Any, NamedTuple

from sqlalchemy import ColumnElement, Connection, select

from quotebook.ledger.bills import Bill
from quotebook.ledger.codes import kind_now
from quotebook.ledger.rows import read_bills
from quotebook.ledger.tables import bills, lines, listed, quotes


class ListedQuote(NamedTuple):
    """A quote in a list: figures as agreed, or of its last revision if it is not agreed, and its state in a word."""

    quote_number: str
    revision: int
    state: str
    """One of `states.STATES`."""
    issued_on: date
    valid_until: date | None
    """The last day on which it stands, as its workbook says; None where that was not kept, as are the next two."""
    deposit_days: int | None
    balance_days: int | None
    client: str
    event: str
    event_date: date
    panels: dict[str, int]
    """How many panels of each kind, by its code now."""
    total: int
    """In minor units of `currency`, of which `minor_units` is the number of decimal places; so are all amounts."""
    deposit: int
    paid: int
    """What came in less what went back."""
    minor_units: int
    currency: str
    cancelled_on: date | None
    """The day (UTC) of the cancellation, if the state is `cancelled`."""
    because: str
    """Why it was declined, in the owner's words; empty in any other state."""
    bill: Bill | None
    """The bill that stands."""
    options: str
    """The letters of the options that the quote offers; empty for most quotes."""
    picked: str
    """The letter of the option that the figures count: the one that was agreed, or the one picked at issue."""


def of_numbers(numbers: Collection[str]) -> ColumnElement[bool]:
    """That a quote has one of these numbers; so many as one query takes (`AT_ONCE`)."""
    return listed.c.quote_number.in_(numbers)


def of_days(first: date, last: date) -> ColumnElement[bool]:
    """That a quote's event starts from `first` to `last`."""
    return listed.c.event_date.between(first, last)


def in_states(states: Collection[str]) -> ColumnElement[bool]:
    """That a quote is in one of these states."""
    return listed.c.state.in_(states)


def open_on(day: date) -> ColumnElement[bool]:
    """That something may have to be done about a quote on that day or later, as `deriving.open_until` has it."""
    return listed.c.open_until >= day


def of_client(text: str) -> ColumnElement[bool]:
    """That a client has this in the name, in capitals or not."""
    return listed.c.client_folded.contains(text.casefold(), autoescape=True)


def list_quotes(connection: Connection, *which: ColumnElement[bool]) -> list[ListedQuote]:
    """The quotes that were issued and fulfil these conditions, by number.

    A revision that was issued after the one that is agreed, and is still open, follows it.
    """
    columns = [*(_COLUMNS[name].label(name) for name in _COLUMNS), listed.c.quote_id, listed.c.bill_number]
    query = select(*columns).join(quotes, quotes.c.quote_id == listed.c.quote_id).where(*which)
    rows = connection.execute(query.order_by(quotes.c.quote_number, quotes.c.revision)).mappings().all()
    panels = _panels(connection, *which) if rows else {}
    same = (bills.c[name] == listed.c[name] for name in ("quote_number", "bill_number"))
    standing = {bill.quote_number: bill for bill in read_bills(connection, *same, *which)} if rows else {}
    return [
        ListedQuote(
            **{name: row[name] for name in _COLUMNS},
            panels=dict(panels[row["quote_id"]]),
            bill=standing[row["quote_number"]] if row["bill_number"] else None,
        )
        for row in rows
    ]


_COLUMNS: dict[str, ColumnElement[Any]] = {
    name: listed.c[name] if name in listed.c else quotes.c[name]
    for name in ListedQuote._fields
    if name not in ("panels", "bill")
}
"""Where each field of a ListedQuote stands, but for those that are read for themselves."""


def _panels(connection: Connection, *which: ColumnElement[bool]) -> dict[int, Counter[str]]:
    """The panels of each kind in the listed quotes that fulfil these conditions, by the ids of their figures."""
    panels: dict[int, Counter[str]] = defaultdict(Counter)
    query = select(lines.c.quote_id, kind_now(connection), lines.c.panels).order_by(lines.c.quote_id, lines.c.line)
    query = query.join(listed, listed.c.quote_id == lines.c.quote_id)
    query = query.join(quotes, quotes.c.quote_id == lines.c.quote_id).where(*which)
    for quote_id, panel, count in connection.execute(query):
        panels[quote_id][panel] += count
    return panels
