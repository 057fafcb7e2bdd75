"""Works out the figures of the revenue workbook by the names of their cells: what its formulas must come to."""

from collections import Counter
from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from typing import NamedTuple

from quotebook.books.revenue_rows import Books, Line
from quotebook.engine.money import ZERO, in_major_units, money
from quotebook.ledger.records import CHARGES


class Row(NamedTuple):
    """A row of the tables. It counts events that start on `start` or later, and earlier than `before`."""

    name: str
    start: date
    before: date


def next_month(day: date) -> date:
    """The first day of the month after a day's."""
    return date(day.year + day.month // 12, day.month % 12 + 1, 1)


def months(first: date, last: date) -> list[Row]:
    """A row for each month, from one day's to another's."""
    rows = [Row("month_1", first.replace(day=1), next_month(first))]
    while rows[-1].before <= last:
        rows.append(Row(f"month_{len(rows) + 1}", rows[-1].before, next_month(rows[-1].before)))
    return rows


def spans(months: list[Row]) -> list[Row]:
    """Three rows: all the months, the last month's year until then, and the same part of the year before."""
    last = months[-1]
    return [
        Row("period", months[0].start, last.before),
        Row("this_year", date(last.start.year, 1, 1), last.before),
        Row("last_year", date(last.start.year - 1, 1, 1), last.before.replace(year=last.before.year - 1)),
    ]


class RevenueTables:
    """The books with the rows, columns and figures of their tables, ready to be written sheet by sheet."""

    def __init__(self, books: Books):
        self.books = books
        self.kinds = list(dict.fromkeys([*books.owned, *(line.panel for line in books.lines)]))
        self.months = months(books.first, books.last)
        self.spans = spans(self.months)
        self.figures = figures(books, self.kinds, [*self.months, *self.spans])
        self.agreed = sum(quote.total for quote in books.quotes if books.first <= quote.event_date <= books.last)
        self.columns = [f"goods_{number}" for number, _ in enumerate(self.kinds, 1)] + [*CHARGES, "total"]


Amount = str | tuple[str, str]
"""What is summed: a charge or the total by its name, or a figure of one kind as the figure's name and the kind."""


def figures(books: Books, kinds: list[str], rows: list[Row]) -> dict[str, Decimal]:
    """Every figure of every row by its name: money in major units, shares as fractions of one."""
    sums, minor_units = _sum_by_month(books.lines), books.minor_units
    found: dict[str, Decimal] = {}
    for row in rows:
        counted: Counter[Amount] = Counter()
        for (month, amount), count in sums.items():
            if row.start <= month < row.before:
                counted[amount] += count
        for number, kind in enumerate(kinds, 1):
            found |= _of_kind(f"{number}_{row.name}", counted, kind, books, row)
        found |= {f"{name}_{row.name}": in_major_units(counted[name], minor_units) for name in CHARGES}
        found[f"total_{row.name}"] = in_major_units(counted["total"], minor_units)
    return found


def _sum_by_month(lines: Sequence[Line]) -> Counter[tuple[date, Amount]]:
    """Sums in minor units, or of panel-days, by the first day of the month and what is summed."""
    sums: Counter[tuple[date, Amount]] = Counter()
    for line in lines:
        month = line.event_date.replace(day=1)
        goods = line.hire + line.edging + line.subfloor
        sums[month, ("goods", line.panel)] += goods
        sums[month, ("panel_days", line.panel)] += line.panels * line.days
        for name in CHARGES:
            sums[month, name] += getattr(line, name)
        sums[month, "total"] += goods + sum(getattr(line, name) for name in CHARGES)
    return sums


def _of_kind(cell: str, counted: Counter[Amount], kind: str, books: Books, row: Row) -> dict[str, Decimal]:
    """The figures of one kind in one row; `cell` is the end of their names."""
    owned = books.owned.get(kind, 0)
    goods = in_major_units(counted["goods", kind], books.minor_units)
    panel_days = Decimal(counted["panel_days", kind])
    return {
        f"goods_{cell}": goods,
        f"panel_days_{cell}": panel_days,
        f"busy_{cell}": panel_days / (owned * (row.before - row.start).days) if owned else ZERO,
        f"goods_a_panel_{cell}": money(goods / owned, books.minor_units) if owned else ZERO,
    }
