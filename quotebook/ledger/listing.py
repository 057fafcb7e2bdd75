"""Quotes in a list: of each its figures, its state and what was paid for it, and what quotes are asked for by."""

import json
from collections import Counter
from collections.abc import Collection, Mapping
from datetime import date
from functools import lru_cache
from typing import NamedTuple

from sqlalchemy import ColumnElement, Connection, select

from quotebook.ledger.bills import Bill, bill_of
from quotebook.ledger.rows import spelling
from quotebook.ledger.tables import listed
from quotebook.ledger.through_sqlalchemy import SqlalchemyTransaction


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
    """The quotes that were issued and fulfil the conditions, by number.

    A revision that was issued after the one that is agreed, and is still open, follows it.
    """
    query = select(*(listed.c[name] for name in ListedQuote._fields)).where(*which)
    rows = connection.execute(query).all()  # in order below: for an order the database would leave the index
    spelled = spelling(SqlalchemyTransaction(connection)) if rows else {}
    found = []
    for row in rows:
        values = list(row)
        values[_PANELS], values[_BILL] = _panels(row.panels, spelled), _bill(row.bill)
        found.append(ListedQuote._make(values))
    return sorted(found, key=lambda quote: (quote.quote_number, quote.revision))


_PANELS, _BILL = (ListedQuote._fields.index(name) for name in ("panels", "bill"))


def _panels(text: str, spelled: Mapping[str, str]) -> dict[str, int]:
    panels: Counter[str] = Counter()
    for code, count in _counted(text):
        panels[spelled[code.casefold()]] += count
    return dict(panels)


@lru_cache(maxsize=4_096)
def _counted(text: str) -> tuple[tuple[str, int], ...]:
    """The panels of each code in a row of the list; kept, since many quotes are for the same."""
    return tuple(json.loads(text).items())


def _bill(text: str) -> Bill | None:
    return bill_of(json.loads(text)) if text else None
