"""Writes the stock calendar: how many of each item are free, a row for each day."""

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import BinaryIO

from quotebook.contract.values import serial_of_day
from quotebook.drawing.owner_workbook import OwnerWorkbook
from quotebook.drawing.sheet_writer import SheetWriter
from quotebook.drawing.styles import ENTRY, WARNING
from quotebook.engine.model import Firm
from quotebook.engine.stock import Item

HEAD, DAY, WEEKDAY, FIRST = 3, 1, 2, 3
"""The row of headings, and the columns of the day, the weekday and the first item, counted from 0."""

LITTLE = 4
"""Fewer than one in this many owned counts as little (common practice, no source)."""


def write_stock(
    file: BinaryIO, firm: Firm, owned: Mapping[Item, int], free_by_day: Mapping[Item, Sequence[int]], first: date
) -> None:
    """Write the calendar of the days from `first`: tinted if little is left, red if nothing is, or less than nothing.

    Panels have a sheet of their own, which prints large enough to read. The other sheet leaves out
    items of which the firm owns none.
    """
    book = OwnerWorkbook(file, firm, 0, "Stock")
    panels = {item: by_day for item, by_day in free_by_day.items() if item.what == "panels"}
    rest = {item: by_day for item, by_day in free_by_day.items() if item not in panels and owned[item]}
    write_free(book, "Panels", "Free panels", owned, panels, first)
    write_free(book, "The rest", "Free edging, corners, sheets and carts", owned, rest, first)
    book.close()


def write_free(
    book: OwnerWorkbook,
    name: str,
    heading: str,
    owned: Mapping[Item, int],
    free_by_day: Mapping[Item, Sequence[int]],
    first: date,
) -> None:
    """Write a sheet of a workbook with what is free, a row for each day, coloured where little or nothing is left."""
    book.styles.number_formats["weekday"] = "ddd"
    hint = "Free on each day: owned, less what is agreed, from its eve to the end of turnaround, and what was lost."
    pen = book.sheet(name, heading, hint, (12, 6, *(11,) * len(free_by_day)))
    days = max((len(by_day) for by_day in free_by_day.values()), default=0)
    _write_days(pen, serial_of_day(first), days)
    for column, (item, by_day) in enumerate(free_by_day.items(), FIRST):
        pen.text(HEAD, column, item.code if item.what == "panels" else str(item), "column_right")
        pen.text(HEAD + 1, column, Decimal(owned[item]), "quiet", kind="count")
        for row, left in enumerate(by_day, HEAD + 2):
            pen.text(row, column, Decimal(left), "row_figure", kind="count")
        _mark(pen, book, column, days, owned[item])
    pen.sheet.freeze_panes(HEAD + 2, FIRST)
    book.page(pen, pages_tall=0, repeat_row=HEAD, landscape=len(free_by_day) > 8)


def _write_days(pen: SheetWriter, serial: int, days: int) -> None:
    pen.sheet.set_row(HEAD, 40)
    pen.text(HEAD, DAY, "day", "column")
    pen.text(HEAD, WEEKDAY, "", "column")
    pen.text(HEAD + 1, DAY, "owned", "quiet")
    for day in range(days):
        for column, kind in ((DAY, "date"), (WEEKDAY, "weekday")):
            pen.text(HEAD + 2 + day, column, Decimal(serial + day), "row_left", kind=kind)


def _mark(pen: SheetWriter, book: OwnerWorkbook, column: int, days: int, owned: int) -> None:
    """Red if none is free, or more is promised than owned; a tint if little is free."""
    if not owned or not days:
        return
    none = book.book.add_format({"font_color": "#FFFFFF", "bg_color": WARNING})
    little = book.book.add_format({"bg_color": ENTRY})
    area = HEAD + 2, column, HEAD + 1 + days, column
    pen.sheet.conditional_format(*area, {"type": "cell", "criteria": "<=", "value": 0, "format": none})
    pen.sheet.conditional_format(*area, {"type": "cell", "criteria": "<", "value": owned / LITTLE, "format": little})
