"""The sheet Today of the desk book: a row for each thing that waits, the most urgent first."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from quotebook.contract.local import local_for
from quotebook.contract.values import CellValue, serial_of_day
from quotebook.desk_books.today import Task
from quotebook.drawing.owner_workbook import OwnerWorkbook
from quotebook.drawing.styles import WARNING

SHEET = "Today"
HEAD = 3
COLUMNS = {
    "What waits": 16, "By": 11, "Quote": 9, "Client": 24, "Event": 24, "Date": 11, "More": 60, "Amount": 12,
}  # fmt: skip
NOTHING = "Nothing waits today."


def write_today(book: OwnerWorkbook, tasks: Sequence[Task], today: date, rows_of: dict[str, int]) -> None:
    """Write the sheet; `rows_of` has the row of each quote on the sheet Quotes, from 1, to which its number leads."""
    day = local_for(book.firm).day(today)
    pen = book.sheet(SHEET, f"What waits on {day}", "Decide on the sheet Quotes, save, close, and catch up.",
                     tuple(COLUMNS.values()))  # fmt: skip
    for column, heading in enumerate(COLUMNS, 1):
        pen.text(HEAD, column, heading, "column_right" if heading == "Amount" else "column")
    for at, task in enumerate(tasks, HEAD + 1):
        cells: tuple[tuple[CellValue, str, str], ...] = (
            (task.what, "row", ""),
            (Decimal(serial_of_day(task.by)), "row_left", "date"),
            (task.quote_number, "row", ""),
            (task.client, "row", ""),
            (task.event, "row", ""),
            (Decimal(serial_of_day(task.event_date)) if task.event_date else None, "row_left", "date"),
            (task.detail, "row", ""),
            (task.amount, "row_figure", "money"),
        )
        for column, (value, style, kind) in enumerate(cells, 1):
            if column == 3 and task.quote_number in rows_of:
                pen.link(at, column, f"internal:Quotes!B{rows_of[task.quote_number]}", value)
            else:
                pen.text(at, column, value, style, kind=kind)
            if isinstance(value, str) and not pen.fits(column, value, style):
                pen.fit(at, column, value, style)
    if not tasks:
        pen.text(HEAD + 1, 1, NOTHING, "row")
    last = HEAD + max(1, len(tasks))
    late = book.book.add_format({"font_color": WARNING, "bold": True})
    pen.sheet.conditional_format(
        HEAD + 1, 2, last, 2, {"type": "cell", "criteria": "<", "value": serial_of_day(today), "format": late}
    )
    pen.sheet.autofilter(HEAD, 1, last, len(COLUMNS))
    pen.sheet.freeze_panes(HEAD + 1, 0)
    book.page(pen, pages_tall=0, repeat_row=HEAD)
