"""Revenue and stock over far more quotes than a firm has."""

from collections.abc import Iterator
from datetime import date
from functools import partial
from pathlib import Path

import ledger_bulk
from ledger_fixtures import CARD
from pandas import DataFrame, read_sql
from sqlalchemy import select

from quotebook.bookings.availability import free_by_day
from quotebook.books.revenue import LINE_AMOUNTS, SPREAD_CHARGES, revenue
from quotebook.ledger import Ledger
from quotebook.ledger.database import file_url
from quotebook.ledger.tables import agreements, lines, quotes

from .measuring import Row, at_most, in_turn
from .memory import peak

FIRST, LAST = date(2026, 1, 1), date(2026, 12, 31)
LINES_A_QUOTE = 2
REVENUE = """
from datetime import date
from quotebook.books.revenue import revenue
from quotebook.ledger import Ledger
address, first, last = sys.argv[1:]
revenue(Ledger(address), date.fromisoformat(first), date.fromisoformat(last), spread=True)
"""
IN_PANDAS = "pandas read_sql and groupby of the same columns"


def filled(path: Path, count: int) -> str:
    """The address of a new ledger with so many agreed quotes in one year."""
    url = file_url(path)
    ledger_bulk.fill(Ledger(url), count, LINES_A_QUOTE, FIRST)
    return url


def ours(url: str) -> DataFrame:
    return revenue(Ledger(url), FIRST, LAST, spread=True).by_kind


def by_pandas(url: str) -> DataFrame:
    """What each kind earned in each month, added up by pandas from the rows themselves."""
    amounts = (column.label(name) for name, column in (LINE_AMOUNTS | SPREAD_CHARGES).items())
    source = lines.join(quotes, lines.c.quote_id == quotes.c.quote_id)
    source = source.join(agreements, agreements.c.quote_id == quotes.c.quote_id)
    query = select(quotes.c.event_date, lines.c.panel, *amounts).select_from(source)
    query = query.where(quotes.c.event_date.between(FIRST, LAST), agreements.c.cancelled_at.is_(None))
    with Ledger(url).database.querying() as connection:
        frame = read_sql(query, connection, parse_dates=["event_date"])
    return frame.groupby([frame.pop("event_date").dt.strftime("%Y-%m").rename("month"), "panel"]).sum()


def of_revenue(folder: Path, count: int, rounds: int) -> Iterator[Row]:
    url = filled(folder / "revenue.sqlite", count)
    work = f"revenue over {count * LINES_A_QUOTE:,} ledger lines"
    found = in_turn({"ours": partial(ours, url), "pandas": partial(by_pandas, url)}, rounds)
    counted = "in: opening the ledger, the queries, the table; out: filling the ledger, the start of Python"
    yield at_most(work, IN_PANDAS, 0.5, found["ours"], found["pandas"], counted)
    if Path("/proc/self/status").exists():
        most = peak(REVENUE, url, FIRST.isoformat(), LAST.isoformat())
        yield Row("the same, memory at its most", "-", most, 100, unit="MB", counted="in: the whole process")


def of_stock(folder: Path, count: int, rounds: int) -> Iterator[Row]:
    """A year's stock in seconds, and what four times the quotes and four times the days make of it."""
    many, few = (Ledger(filled(folder / f"stock-{size}.sqlite", size)) for size in (count, count // 4))
    quarter = date(2026, 4, 1)
    found = in_turn({
        "year": partial(free_by_day, many, CARD, FIRST, LAST),
        "a quarter of the quotes": partial(free_by_day, few, CARD, FIRST, LAST),
        "a quarter of the days": partial(free_by_day, many, CARD, FIRST, quarter),
    }, rounds)  # fmt: skip
    work = f"stock for a year over {count:,} agreed quotes"
    counted = "in: the query, what is free of each item on each day; out: filling the ledger"
    yield Row(work, "-", found["year"].wall, 2, unit="s", costs=found, counted=counted)
    for less in ("a quarter of the quotes", "a quarter of the days"):
        yield Row(work, f"{less} (4 x is linear)", found["year"].wall / found[less].wall, 4.5)
