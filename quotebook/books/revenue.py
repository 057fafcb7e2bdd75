"""What each kind of panel earned, month by month, from the quotes that are agreed and not cancelled.

A month is the one in which the event starts. Hire, edging and subfloor are net of discount and go
with the panel of their line. Delivery, labour (with its surcharge after hours), waiver and tax are
charged for a quote as a whole: columns of their own, or spread over the lines by their goods. The
lines' shares were settled to the cent when the quote was recorded, so every table sums to the
agreed quotes exactly. Money is in whole minor units until `shown` makes it text.
"""

import calendar
import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from pandas import DataFrame, read_sql
from sqlalchemy import Column, Connection, FromClause, func, literal, select

from quotebook.engine.entries import FIRST_DAY, LAST_DAY
from quotebook.errors import Misuse
from quotebook.ledger import Ledger
from quotebook.ledger.records import CHARGES, GOODS, in_major_units
from quotebook.ledger.tables import agreements, lines, quotes
from quotebook.spreadsheets.csv_text import safe_text

COUNTS = ("hires", "panels", "panel_days", "crew_minutes")
"""Beside the money: floor lines, their panels, panels times days of the event, paid person-minutes."""


@dataclass(frozen=True)
class Revenue:
    """The revenue of some months in one currency."""

    months: tuple[str, ...]
    """`2027-01` and so on, also those without a quote."""
    currency: str
    """Empty where there are no quotes and none was asked for."""
    minor_units: int
    by_kind: DataFrame
    """For each month and kind: COUNTS, GOODS, and CHARGES where those are spread."""
    by_month: DataFrame
    """CHARGES for each month where those are not spread, else nothing."""
    quotes: int
    agreed: int
    """The sum of the quotes' own totals."""

    @property
    def total(self) -> int:
        """The sum of everything in the tables."""
        money = [name for name in (*GOODS, *CHARGES) if name in self.by_kind]
        return int(self.by_kind[money].to_numpy().sum()) + int(self.by_month.to_numpy().sum())

    @property
    def reconciled(self) -> bool:
        return self.total == self.agreed


def month_days(first: str, last: str) -> tuple[date, date]:
    """The first and the last day of the months from `first` to `last`, each as `2027-01`. Raises Misuse."""
    try:
        starts = [date.fromisoformat(f"{month}-01") for month in (first, last)]
    except ValueError:
        raise Misuse(f"{first} to {last}: a month is written as its year and number, like 2027-01.") from None
    if not FIRST_DAY <= min(starts) <= max(starts) <= LAST_DAY:
        raise Misuse(f"{first} to {last}: events are from {FIRST_DAY} to {LAST_DAY}.")
    if starts[0] > starts[1]:
        raise Misuse(f"{first} to {last}: the first month comes after the last.")
    return starts[0], starts[1].replace(day=calendar.monthrange(starts[1].year, starts[1].month)[1])


def months_between(first: date, last: date) -> tuple[str, ...]:
    """The months from one day to another, as `2027-01`."""
    numbers = range(first.year * 12 + first.month - 1, last.year * 12 + last.month)
    return tuple(f"{number // 12:04}-{number % 12 + 1:02}" for number in numbers)


def revenue(ledger: Ledger, first: date, last: date, spread: bool = False, currency: str | None = None) -> Revenue:
    """The revenue of events that start from `first` to `last`.

    Raises Misuse where those quotes are in several currencies and none is chosen: currencies are
    never added up.
    """
    with ledger.database.reading() as connection:
        of_all = agreed_in_all(connection, first, last, currency)
        where = agreed_from(first, last, of_all.currency)
        by_kind = _summed(connection, OF_LINES | (SPREAD if spread else {}), AGREED_LINES, where, lines.c.panel)
        by_month = DataFrame() if spread else _summed(connection, OF_QUOTES, AGREED, where)
    months = months_between(first, last)
    return Revenue(months, of_all.currency, of_all.minor_units, by_kind, by_month, of_all.quotes, of_all.total)


AGREED = agreements.join(quotes, agreements.c.quote_id == quotes.c.quote_id)
AGREED_LINES = AGREED.join(lines, lines.c.quote_id == quotes.c.quote_id)

OF_LINES = {
    "hires": literal(1), "panels": lines.c.panels, "panel_days": lines.c.panels * quotes.c.days,
    "crew_minutes": lines.c.crew_minutes, **{name: lines.c[f"net_{name}"] for name in GOODS},
}  # fmt: skip
SPREAD = {name: lines.c[f"spread_{name}"] for name in CHARGES}
OF_QUOTES = {name: quotes.c[name] for name in CHARGES} | {"labour": quotes.c.labour + quotes.c.after_hours_charge}
"""What is summed, by the name of its column in the tables."""


def agreed_from(first: date, last: date, currency: str | None = None) -> tuple:
    """The conditions for quotes that count: agreed, not cancelled, of these days and this currency."""
    conditions = agreements.c.cancelled_at.is_(None), quotes.c.event_date.between(first, last)
    return (*conditions, quotes.c.currency == currency) if currency else conditions


class InAll(NamedTuple):
    """The agreed quotes of some days, counted and summed up by their own totals."""

    currency: str
    minor_units: int
    quotes: int
    total: int


def agreed_in_all(connection: Connection, first: date, last: date, currency: str | None = None) -> InAll:
    """How many quotes count, and the sum of their totals. Raises Misuse for several currencies."""
    each = quotes.c.currency, quotes.c.minor_units
    query = select(*each, func.count(), func.sum(quotes.c.total)).select_from(AGREED)
    found = connection.execute(query.where(*agreed_from(first, last, currency)).group_by(*each)).all()
    if len(found) > 1:
        currencies = " and ".join(sorted(row.currency for row in found))
        raise Misuse(
            f"quotes from {first} to {last} are in {currencies}, which are never added up: choose one (--currency {found[0].currency})."
        )
    return InAll(*found[0][:3], int(found[0][3])) if found else InAll(currency or "", 0, 0, 0)


def currencies(ledger: Ledger, first: date, last: date) -> list[str]:
    """All that the agreed quotes of some days are in."""
    query = select(quotes.c.currency).distinct().select_from(AGREED).where(*agreed_from(first, last))
    with ledger.database.reading() as connection:
        return sorted(connection.scalars(query))


def _summed(connection: Connection, amounts: Mapping, source: FromClause, where: tuple, *by: Column) -> DataFrame:
    """The sums of amounts by month and whatever else, each column in whole numbers.

    The database sums by day, which every one can do in the same words; pandas makes months of days.
    """
    keys = quotes.c.event_date, *by
    sums = (func.sum(amount).label(name) for name, amount in amounts.items())
    query = select(*keys, *sums).select_from(source).where(*where).group_by(*keys)
    frame = read_sql(query, connection).astype(dict.fromkeys(amounts, "int64"))
    frame.insert(0, "month", frame.pop("event_date").astype(str).str[:7])
    return frame.groupby(["month", *(column.name for column in by)]).sum()


def table(revenue: Revenue) -> DataFrame:
    """Months down; across a column for each kind's goods, one for each charge, and the total. Minor units.

    Where charges are spread, a kind's column has its share of them.
    """
    of_kind = revenue.by_kind[[name for name in (*GOODS, *CHARGES) if name in revenue.by_kind]].sum(axis=1)
    kinds = of_kind.unstack("panel") if len(of_kind) else DataFrame()
    columns = kinds.join(revenue.by_month, how="outer").reindex(revenue.months).fillna(0).astype("int64")
    return columns.assign(total=columns.sum(axis=1))


def shown(revenue: Revenue, amount: int) -> str:
    """An amount of minor units as text with all its places: `1560.37`."""
    return str(in_major_units(int(amount), revenue.minor_units))


def statement(revenue: Revenue) -> str:
    """Whether the table sums to the agreed quotes, in a sentence."""
    total, agreed = shown(revenue, revenue.total), shown(revenue, revenue.agreed)
    if revenue.reconciled:
        return f"Reconciled: the table and the agreed quotes ({revenue.quotes}) both sum to {revenue.currency} {total}."
    return f"NOT reconciled: the table sums to {revenue.currency} {total}, the agreed quotes to {agreed}."


def to_json(revenue: Revenue) -> dict:
    """As JSON: a row for each month and kind, one for each month's charges, money as text.

    `hire` is for the panels alone; the edging and subfloor that go with them have keys of their own.
    """
    return {
        "currency": revenue.currency,
        "rows": _rows(revenue, revenue.by_kind.rename_axis(["month", "kind"])),
        "charges": _rows(revenue, revenue.by_month),
        "total": shown(revenue, revenue.total),
        "agreed": shown(revenue, revenue.agreed),
        "quotes": revenue.quotes,
        "reconciled": revenue.reconciled,
    }


def _rows(revenue: Revenue, frame: DataFrame) -> list[dict]:
    """A table's rows as dicts, counts as numbers and money as text."""
    writing = dict.fromkeys(frame.index.names, str) | dict.fromkeys(COUNTS, int)
    return [
        {name: writing[name](value) if name in writing else shown(revenue, value) for name, value in row.items()}
        for row in frame.reset_index().to_dict("records")
    ]


def to_csv(revenue: Revenue) -> str:
    """The table as CSV, with a row of totals, that no spreadsheet runs a cell of."""
    frame = table(revenue)
    frame.loc["total"] = frame.sum()
    written = io.StringIO(newline="")
    writer = csv.writer(written)
    writer.writerow([safe_text(str(name)) for name in ("month", *frame.columns)])
    for month, *amounts in frame.itertuples():
        writer.writerow([month, *(shown(revenue, amount) for amount in amounts)])
    return written.getvalue()
