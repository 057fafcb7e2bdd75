"""What the revenue workbook shows, by the names of its cells: the values that its formulas must come to."""

from collections import Counter
from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from typing import NamedTuple

from quotebook.books.revenue_rows import Books, Line
from quotebook.engine.money import ZERO, money
from quotebook.ledger.records import CHARGES, in_major_units


class Row(NamedTuple):
    """A row of the tables: it counts events from `start` on and before `before`."""

    name: str
    start: date
    before: date


def next_month(day: date) -> date:
    """The first day of the month after."""
    return date(day.year + day.month // 12, day.month % 12 + 1, 1)


def months(first: date, last: date) -> list[Row]:
    """A row for each month from one day to another."""
    rows = [Row("month_1", first.replace(day=1), next_month(first))]
    while rows[-1].before <= last:
        rows.append(Row(f"month_{len(rows) + 1}", rows[-1].before, next_month(rows[-1].before)))
    return rows


def spans(months: list[Row]) -> list[Row]:
    """The whole of the months; the last one's year up to it; and the same months a year before."""
    last = months[-1]
    return [
        Row("period", months[0].start, last.before),
        Row("this_year", date(last.start.year, 1, 1), last.before),
        Row("last_year", date(last.start.year - 1, 1, 1), last.before.replace(year=last.before.year - 1)),
    ]


def figures(books: Books, kinds: list[str], rows: list[Row]) -> dict[str, Decimal]:
    """Every figure of every row by its name: money in major units, shares as fractions of one."""
    sums, minor_units = _by_month(books.lines), books.minor_units
    found = {}
    for row in rows:
        counted = Counter()
        for (month, what), amount in sums.items():
            if row.start <= month < row.before:
                counted[what] += amount
        for number, kind in enumerate(kinds, 1):
            found |= _of_kind(f"{number}_{row.name}", counted, kind, books, row)
        found |= {f"{name}_{row.name}": in_major_units(counted[name], minor_units) for name in CHARGES}
        found[f"total_{row.name}"] = in_major_units(counted["total"], minor_units)
    return found


def _by_month(lines: Sequence[Line]) -> Counter:
    """Sums by the first day of the month, and charge or pair of a word and a kind."""
    sums = Counter()
    for line in lines:
        month = line.event_date.replace(day=1)
        goods = line.hire + line.edging + line.subfloor
        sums[month, ("goods", line.panel)] += goods
        sums[month, ("panel_days", line.panel)] += line.panels * line.days
        for name in CHARGES:
            sums[month, name] += getattr(line, name)
        sums[month, "total"] += goods + sum(getattr(line, name) for name in CHARGES)
    return sums


def _of_kind(cell: str, counted: Counter, kind: str, books: Books, row: Row) -> dict[str, Decimal]:
    owned = books.owned.get(kind, 0)
    goods = in_major_units(counted["goods", kind], books.minor_units)
    panel_days = Decimal(counted["panel_days", kind])
    return {
        f"goods_{cell}": goods,
        f"panel_days_{cell}": panel_days,
        f"busy_{cell}": panel_days / (owned * (row.before - row.start).days) if owned else ZERO,
        f"goods_a_panel_{cell}": money(goods / owned, books.minor_units) if owned else ZERO,
    }
