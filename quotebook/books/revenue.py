"""Counts what each kind of panel earned, month by month, in the quotes that are agreed and not cancelled.

A quote counts in the month in which its event starts. Hire, edging and subfloor are net of discount
and count for the panel of their line. Delivery, labour (with its surcharge after hours), waiver and
tax are charged for the whole quote: they have columns of their own, or are spread over the lines by
their goods. Each line's share was fixed to the cent when the quote was recorded, so every table sums
to the agreed quotes exactly. All but the tax is without tax, even where prices have theirs in them.
Money is in whole minor units until `shown` makes it text.
"""

import calendar
import csv
import io
from collections.abc import Callable, Collection, Hashable, Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, NamedTuple

from pandas import DataFrame, read_sql
from sqlalchemy import ColumnElement, Connection, func, literal, select

from quotebook.engine.entries import FIRST_DAY, LAST_DAY
from quotebook.engine.money import in_major_units
from quotebook.errors import Misuse
from quotebook.ledger import Ledger
from quotebook.ledger.codes import kind_now
from quotebook.ledger.records import CHARGES, GOODS
from quotebook.ledger.tables import agreements, lines, quotes
from quotebook.spreadsheets.csv_text import safe_text

COUNTS = ("hires", "panels", "panel_days", "crew_minutes")
"""The figures that are not money: floor lines, their panels, panels times days of the event, paid person-minutes."""


@dataclass(frozen=True)
class Revenue:
    """The revenue of some months in one currency."""

    months: tuple[str, ...]
    """Every month, such as `2027-01`, even one without a quote."""
    currency: str
    """Empty if there are no quotes and no currency was asked for."""
    minor_units: int
    by_kind: DataFrame
    """For each month and kind: COUNTS, GOODS, and CHARGES if those are spread."""
    by_month: DataFrame
    """CHARGES for each month; empty if those are spread."""
    quotes: int
    agreed: int
    """The sum of the totals of the quotes themselves."""

    @property
    def total(self) -> int:
        """The sum of everything in the tables."""
        money = [name for name in (*GOODS, *CHARGES) if name in self.by_kind]
        return int(self.by_kind[money].to_numpy().sum()) + int(self.by_month.to_numpy().sum())

    @property
    def reconciled(self) -> bool:
        """Whether the tables sum to the quotes."""
        return self.total == self.agreed


def month_days(first: str, last: str) -> tuple[date, date]:
    """The first and the last day of the months from `first` to `last`, each written like `2027-01`. Raises Misuse."""
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
    """The months from one day's to another's, written like `2027-01`."""
    numbers = range(first.year * 12 + first.month - 1, last.year * 12 + last.month)
    return tuple(f"{number // 12:04}-{number % 12 + 1:02}" for number in numbers)


def revenue(
    ledger: Ledger,
    first: date,
    last: date,
    spread: bool = False,
    currency: str | None = None,
    on_card: Collection[str] = (),
) -> Revenue:
    """The revenue of events that start from `first` to `last`, by the codes of now, as `kind_now` has them.

    Raises Misuse if those quotes are in several currencies and none is chosen: currencies are never
    added up.
    """
    with ledger.database.querying() as connection:
        totals = agreed_totals(connection, first, last, currency)
        by_kind = _sum_by_month(connection, totals.conditions, kind_now(connection, on_card))
    by_month = DataFrame()
    if not spread:
        by_kind, by_month = by_kind[[*LINE_AMOUNTS]], by_kind[[*SPREAD_CHARGES]].groupby("month").sum()
    months = months_between(first, last)
    return Revenue(months, totals.currency, totals.minor_units, by_kind, by_month, totals.quotes, totals.total)


AGREED = agreements.join(quotes, agreements.c.quote_id == quotes.c.quote_id)
AGREED_LINES = AGREED.join(lines, lines.c.quote_id == quotes.c.quote_id)

LINE_AMOUNTS: dict[str, ColumnElement[Any]] = {
    "hires": literal(1), "panels": lines.c.panels, "panel_days": lines.c.panels * quotes.c.days,
    "crew_minutes": lines.c.crew_minutes, **{name: lines.c[f"net_{name}"] for name in GOODS},
}  # fmt: skip
"""What is summed over lines, by the name of its column in the tables."""
SPREAD_CHARGES: dict[str, ColumnElement[Any]] = {name: lines.c[f"spread_{name}"] for name in CHARGES}
"""Each line's share of the charges for its quote, by the name of its column."""
Conditions = tuple[ColumnElement[bool], ...]


MOST = 4
"""Where more than one in so many of all quotes is asked for, they are not looked up one by one, by their days."""


def agreed_from(connection: Connection, first: date, last: date, currency: str | None = None) -> Conditions:
    """The conditions for quotes that count: agreed, not cancelled, of these days and this currency.

    Of few among many each is found by the index of days. Of most, the database goes through the tables from end to
    end, in the order in which they are stored: a third of the time. No index serves a day that a function gives.
    """
    day: ColumnElement[date] = agreements.c.first_day
    if _are_most(connection, first, last):
        day = func.coalesce(day, None)
    conditions = agreements.c.cancelled_at.is_(None), day.between(first, last)
    return (*conditions, quotes.c.currency == currency) if currency else conditions


def _are_most(connection: Connection, first: date, last: date) -> bool:
    """Whether the agreed quotes of some days are more than one in MOST of all that the ledger has, by their ids."""
    count = select(func.count()).select_from(agreements).where(agreements.c.first_day.between(first, last))
    return MOST * (connection.scalar(count) or 0) > (connection.scalar(select(func.max(lines.c.quote_id))) or 0)


class AgreedTotals(NamedTuple):
    """The agreed quotes of some days: how many, and the sum of their own totals in minor units."""

    currency: str
    minor_units: int
    quotes: int
    total: int
    conditions: Conditions
    """What those quotes fulfil, and no others."""


def agreed_totals(connection: Connection, first: date, last: date, currency: str | None = None) -> AgreedTotals:
    """How many quotes count, and the sum of their totals. Raises Misuse if they are in several currencies."""
    each = quotes.c.currency, quotes.c.minor_units
    conditions = agreed_from(connection, first, last, currency)
    query = select(*each, func.count(), func.sum(quotes.c.total)).select_from(AGREED)
    found = connection.execute(query.where(*conditions).group_by(*each)).all()
    if len(found) > 1:
        currencies = " and ".join(sorted(row.currency for row in found))
        raise Misuse(
            f"quotes from {first} to {last} are in {currencies}, which are never added up: "
            f"choose one (--currency {found[0].currency})."
        )
    if not found:
        return AgreedTotals(currency or "", 0, 0, 0, conditions)
    code, minor_units, count, total = found[0]
    return AgreedTotals(code, minor_units, count, int(total), conditions)


def currencies(ledger: Ledger, first: date, last: date) -> list[str]:
    """The currencies of the agreed quotes of some days."""
    query = select(quotes.c.currency).distinct().select_from(AGREED)
    with ledger.database.querying() as connection:
        return sorted(connection.scalars(query.where(*agreed_from(connection, first, last))))


def _sum_by_month(connection: Connection, where: Conditions, kind: ColumnElement[str]) -> DataFrame:
    """The sums of all amounts of lines and of their shares of charges by month and `kind`, in whole numbers.

    The database sums by day, which every database can do in the same words; pandas sums days to months.
    """
    amounts = LINE_AMOUNTS | SPREAD_CHARGES
    sums = (func.sum(amount).label(name) for name, amount in amounts.items())
    query = select(quotes.c.event_date, kind, *sums).select_from(AGREED_LINES).where(*where)
    frame = read_sql(query.group_by("event_date", "kind"), connection).astype(dict.fromkeys(amounts, "int64"))
    frame.insert(0, "month", frame.pop("event_date").astype(str).str[:7])
    return frame.groupby(["month", "kind"]).sum()


def table(revenue: Revenue) -> DataFrame:
    """A row for each month, in minor units: a column for each kind's goods, one for each charge, and the total.

    If charges are spread, a kind's column has its share of them too.
    """
    of_kind = revenue.by_kind[[name for name in (*GOODS, *CHARGES) if name in revenue.by_kind]].sum(axis=1)
    kinds = of_kind.unstack("kind") if len(of_kind) else DataFrame()
    columns = kinds.join(revenue.by_month, how="outer").reindex(revenue.months).fillna(0).astype("int64")
    return columns.assign(total=columns.sum(axis=1))


def rows_with_total(revenue: Revenue) -> list[list[str]]:
    """The table as texts: its headings, a row for each month, and a row of totals."""
    frame = table(revenue)
    frame.loc["total"] = frame.sum()
    rows = ([str(month), *(shown(revenue, amount) for amount in amounts)] for month, *amounts in frame.itertuples())
    return [["month", *map(str, frame.columns)], *rows]


def shown(revenue: Revenue, amount: int) -> str:
    """An amount of minor units as text with all its places, such as `1560.37`."""
    return str(in_major_units(int(amount), revenue.minor_units))


def statement(revenue: Revenue, say: Callable[[Decimal], str]) -> str:
    """A sentence that says whether the table sums to the agreed quotes, with amounts as `say` writes them."""
    total, agreed = (say(in_major_units(int(each), revenue.minor_units)) for each in (revenue.total, revenue.agreed))
    if revenue.reconciled:
        return f"Reconciled: the table and the agreed quotes ({revenue.quotes}) both sum to {revenue.currency} {total}."
    return f"NOT reconciled: the table sums to {revenue.currency} {total}, the agreed quotes to {agreed}."


def to_json(revenue: Revenue) -> dict[str, object]:
    """The revenue as JSON: a row for each month and kind, one for each month's charges, money as text.

    `hire` is for the panels alone; `edging` and `subfloor` have keys of their own.
    """
    return {
        "currency": revenue.currency,
        "rows": _rows(revenue, revenue.by_kind),
        "charges": _rows(revenue, revenue.by_month),
        "total": shown(revenue, revenue.total),
        "agreed": shown(revenue, revenue.agreed),
        "quotes": revenue.quotes,
        "reconciled": revenue.reconciled,
    }


def _rows(revenue: Revenue, frame: DataFrame) -> list[dict[Hashable, object]]:
    """A table's rows as JSON objects: months and kinds as text, counts as numbers, money as text."""

    def written(name: Hashable, value: Any) -> object:
        if name in frame.index.names:
            return str(value)
        return int(value) if name in COUNTS else shown(revenue, value)

    rows: Iterable[dict[Hashable, Any]] = frame.reset_index().to_dict("records")
    return [{name: written(name, value) for name, value in row.items()} for row in rows]


def to_csv(revenue: Revenue) -> str:
    """The table as CSV, with a row of totals, and no text that a spreadsheet would run."""
    headings, *rows = rows_with_total(revenue)
    written = io.StringIO(newline="")
    writer = csv.writer(written)
    writer.writerow(map(safe_text, headings))
    writer.writerows(rows)
    return written.getvalue()
