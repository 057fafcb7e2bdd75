"""Reads the revenue workbook's sources: the agreed quotes line by line, and the panels that the card says are owned."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from sqlalchemy import ColumnElement, FromClause, Select, select

from quotebook.books.revenue import (
    AGREED,
    AGREED_LINES,
    LINE_AMOUNTS,
    SPREAD_CHARGES,
    agreed_totals,
)
from quotebook.books.revenue_rows import Books, Line, Quote
from quotebook.engine.model import RateCard
from quotebook.ledger import Ledger
from quotebook.ledger.codes import kind_now
from quotebook.ledger.tables import lines, quotes

_QUOTE_COLUMNS: dict[str, ColumnElement[Any]] = dict(quotes.c.items())
_LINE_COLUMNS = _QUOTE_COLUMNS | dict(lines.c.items()) | LINE_AMOUNTS | SPREAD_CHARGES
"""The source of each column of the workbook's rows, by its name."""


def books(ledger: Ledger, card: RateCard, first: date, last: date, currency: str | None = None) -> Books:
    """The books of some months: `first` is the first day of the first one, `last` the last day of the last one.

    They start a year before the last month's year, for the comparison with it. Raises Misuse if the
    quotes are in several currencies and none is chosen.
    """
    start = min(first, date(last.year - 1, 1, 1))
    with ledger.database.querying() as connection:
        totals = agreed_totals(connection, start, last, currency)
        columns = _LINE_COLUMNS | {"panel": kind_now(connection, card.holdings)}
        line_query = _query(Line._fields, columns, AGREED_LINES).where(*totals.conditions)
        quote_query = _query(Quote._fields, _QUOTE_COLUMNS, AGREED).where(*totals.conditions)
        line_rows = [Line(*row) for row in connection.execute(line_query)]
        quote_rows = [Quote(*row) for row in connection.execute(quote_query)]
    owned = {code: int(holding.owned) for code, holding in card.holdings.items()}
    minor_units = totals.minor_units if quote_rows else int(card.rates.minor_units)
    currency = totals.currency or card.firm.currency
    return Books(card.firm, currency, minor_units, first, last, owned, line_rows, quote_rows)


def _query(names: tuple[str, ...], columns: Mapping[str, ColumnElement[Any]], source: FromClause) -> Select[Any]:
    """The query for rows with these columns, by the date and the id of their quote."""
    labelled = (columns[name].label(name) for name in names)
    return select(*labelled).select_from(source).order_by(quotes.c.event_date, quotes.c.quote_id)
