"""The sheet Kept of the desk book: what the owner wrote over cells of the book or beside them."""

from collections.abc import Sequence
from typing import NamedTuple

from quotebook.desk_books.quotes_sheet import write_owners
from quotebook.drawing.owner_workbook import OwnerWorkbook
from quotebook.spreadsheets.cells import Sheet

SHEET = "Kept"
HEAD = 3
COLUMNS = {"Sheet": 12, "Cell": 8, "What was there": 90}
HINT = "Written over a cell of the book, or where the next edition has no place for it. Delete rows as you like."


class Kept(NamedTuple):
    """Something that the owner wrote, and where."""

    sheet: str
    cell: str
    text: str


def write_kept(book: OwnerWorkbook, kept: Sequence[Kept]) -> None:
    """Write the sheet; without anything to keep there is none."""
    if not kept:
        return
    pen = book.sheet(SHEET, "Kept", HINT, tuple(COLUMNS.values()))
    for column, heading in enumerate(COLUMNS, 1):
        pen.text(HEAD, column, heading, "column")
    for row, each in enumerate(kept, HEAD + 1):
        for column, text in enumerate(each, 1):
            write_owners(pen, row, column, text, "row")
    pen.sheet.freeze_panes(HEAD + 1, 0)
    book.page(pen, pages_tall=0, repeat_row=HEAD)


def read_kept(sheet: Sheet) -> list[Kept]:
    """What the sheet keeps, whatever was done to its rows: every text below the headings."""
    rows: dict[int, dict[int, str]] = {}
    for (row, column), cell in sheet.cells.items():
        rows.setdefault(row, {})[column] = str(cell.value if cell.formula is None else cell.content)
    heads = [row for row, cells in rows.items() if [*cells.values()][: len(COLUMNS)] == [*COLUMNS]]
    first = heads[0] if heads else 0
    found = []
    for row, cells in sorted(rows.items()):
        if row > first:
            texts = [cells.get(column, "") for column in range(2, 5)]
            extra = [text for column, text in sorted(cells.items()) if column not in range(2, 5)]
            found.append(Kept(texts[0], texts[1], " ".join(filter(None, [texts[2], *extra]))))
    return found
