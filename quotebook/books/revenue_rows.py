"""Writes the two sheets of rows that the rest of the revenue workbook is counted from."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from xlsxwriter.utility import xl_range_abs

from quotebook.contract.values import serial_of_day
from quotebook.drawing.owner_workbook import OwnerWorkbook
from quotebook.engine.model import Firm
from quotebook.engine.money import in_major_units
from quotebook.errors import Misuse

MOST_ROWS = 1_000_000
"""A sheet has 1,048,576 rows in all (Microsoft, "Excel specifications and limits")."""


class Line(NamedTuple):
    """A row of the sheet `Lines`: a floor line of an agreed quote, with its share of the quote's charges.

    Money is in minor units, here and in `Quote`.
    """

    event_date: date
    quote_number: str
    revision: int
    client: str
    event: str
    panel: str
    panels: int
    days: int
    hire: int
    edging: int
    subfloor: int
    delivery: int
    labour: int
    waiver: int
    tax: int


class Quote(NamedTuple):
    """A row of the sheet `Quotes`: an agreed quote and its total."""

    event_date: date
    quote_number: str
    revision: int
    client: str
    event: str
    total: int


@dataclass(frozen=True)
class Books:
    """Everything that the revenue workbook is made of."""

    firm: Firm
    currency: str
    minor_units: int
    first: date
    last: date
    """The first day of the first month shown, and the last day of the last one."""
    owned: Mapping[str, int]
    """Panels owned of each kind."""
    lines: Sequence[Line]
    """The lines of the months shown, of the last month's year until then, and of the year before that."""
    quotes: Sequence[Quote]


LEFT = {"event_date", "quote_number", "revision", "client", "event", "panel"}
MONEY = {"hire", "edging", "subfloor", "delivery", "labour", "waiver", "tax", "total"}
WIDTHS = {"client": 26, "event": 26, "quote_number": 10, "panel": 9, "revision": 8, "panels": 8, "days": 6}
HINTS = {
    "lines": "A row for every floor line of an agreed quote, net of discount, with its share of the quote's charges.",
    "quotes": "A row for every agreed quote, with its total as agreed.",
}


def write_rows(book: OwnerWorkbook, name: str, columns: Sequence[str], rows: Sequence[Line] | Sequence[Quote]) -> None:
    """Write a sheet of rows, and name each column, such as `lines_hire`. Raises Misuse if there are too many rows."""
    if len(rows) > MOST_ROWS:
        raise Misuse(f"{len(rows):,} {name} are more than a sheet holds. Ask for fewer months.")
    title, widths = name.capitalize(), tuple(WIDTHS.get(column, 11) for column in columns)
    pen = book.sheet(title, title, HINTS[name], widths)
    for column, heading in enumerate(columns, 1):
        pen.text(3, column, heading.replace("_", " "), "column" if heading in LEFT else "column_right")
        place = xl_range_abs(4, column, 4 + max(0, len(rows) - 1), column)
        book.book.define_name(f"{name}_{heading}", f"={pen.sheet.name}!{place}")
    styles = [book.styles.format("fact" if column in LEFT else "figure", _kind(column)) for column in columns]
    for row, values in enumerate(rows, 4):
        for column, (heading, value, style) in enumerate(zip(columns, values, styles, strict=True), 1):
            if isinstance(value, str):
                pen.sheet.write_string(row, column, value, style)  # as text, whatever it starts with
            elif isinstance(value, date):
                pen.sheet.write_number(row, column, serial_of_day(value), style)
            else:
                number = in_major_units(value, book.minor_units) if heading in MONEY else value
                pen.sheet.write_number(row, column, float(number), style)
    pen.sheet.freeze_panes(4, 0)
    pen.sheet.autofilter(3, 1, 3 + len(rows), len(columns))
    book.page(pen, pages_tall=0, repeat_row=3)


def _kind(column: str) -> str:
    """The kind of number in a column, by which its cells are formatted."""
    return "money" if column in MONEY else "date" if column == "event_date" else ""
