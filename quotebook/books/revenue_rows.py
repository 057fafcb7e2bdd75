"""What the revenue workbook is made of, and the two sheets that everything else in it is counted from."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from xlsxwriter.utility import xl_range_abs

from quotebook.contract.values import serial_of_day
from quotebook.drawing.owner_workbook import OwnerWorkbook
from quotebook.engine.model import Firm
from quotebook.errors import Misuse
from quotebook.ledger.records import in_major_units

MOST_ROWS = 1_000_000
"""Of the 1,048,576 that a sheet has (Microsoft, "Excel specifications and limits")."""


class Line(NamedTuple):
    """A row of `Lines`: a floor line of an agreed quote, with its share of what the quote charges.

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
    """A row of `Quotes`: an agreed quote and its total."""

    event_date: date
    quote_number: str
    revision: int
    client: str
    event: str
    total: int


@dataclass(frozen=True)
class Books:
    """All that the workbook is made of."""

    firm: Firm
    currency: str
    minor_units: int
    first: date
    last: date
    """First day of the first month shown, last day of the last one."""
    owned: Mapping[str, int]
    """Panels owned of each kind."""
    lines: Sequence[Line]
    """Of the months shown, of the last one's year up to it, and of the same months a year before."""
    quotes: Sequence[Quote]


LEFT = {"event_date", "quote_number", "revision", "client", "event", "panel"}
MONEY = {"hire", "edging", "subfloor", "delivery", "labour", "waiver", "tax", "total"}
WIDTHS = {"client": 26, "event": 26, "quote_number": 10, "panel": 9, "revision": 8, "panels": 8, "days": 6}
HINTS = {
    "lines": "A row for every floor line of an agreed quote, net of discount, with its share of the quote's charges.",
    "quotes": "A row for every agreed quote, with its total as agreed.",
}


def write_rows(book: OwnerWorkbook, name: str, record: type, rows: Sequence[NamedTuple]) -> None:
    """Writes a sheet of rows and names each column: `lines_hire`. Raises Misuse for more rows than a sheet holds."""
    if len(rows) > MOST_ROWS:
        raise Misuse(f"{len(rows):,} {name} are more than a sheet holds: ask for fewer months.")
    columns = record._fields
    title, widths = name.capitalize(), tuple(WIDTHS.get(column, 11) for column in columns)
    pen = book.sheet(title, title, HINTS[name], widths)
    for column, heading in enumerate(columns, 1):
        pen.text(3, column, heading.replace("_", " "), "column" if heading in LEFT else "column_right")
        place = xl_range_abs(4, column, 4 + max(0, len(rows) - 1), column)
        book.book.define_name(f"{name}_{heading}", f"={pen.sheet.name}!{place}")
    styles = [book.styles.format("fact" if column in LEFT else "figure", _kind(column)) for column in columns]
    for row, values in enumerate(rows, 4):
        for column, (heading, value, style) in enumerate(zip(columns, values, styles, strict=True), 1):
            shown = in_major_units(value, book.minor_units) if heading in MONEY else value
            _write(pen.sheet, row, column, shown, style)
    pen.sheet.freeze_panes(4, 0)
    pen.sheet.autofilter(3, 1, 3 + len(rows), len(columns))
    book.page(pen, pages_tall=0, repeat_row=3)


def _kind(column: str) -> str:
    return "money" if column in MONEY else "date" if column == "event_date" else ""


def _write(sheet, row: int, column: int, value: object, style) -> None:
    """Text as text, whatever it starts with."""
    if isinstance(value, str):
        sheet.write_string(row, column, value, style)
    else:
        sheet.write_number(row, column, serial_of_day(value) if isinstance(value, date) else float(value), style)
