"""What the sheets of an .ods show or hide besides the contents of their cells (OpenDocument 1.3 part 3, 9 and 10)."""

from typing import TYPE_CHECKING

from quotebook.spreadsheets.appearance import MOST_HIDDEN, SheetAppearance
from quotebook.spreadsheets.cells import CellAddress

if TYPE_CHECKING:
    from lxml.etree import _Element

TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
OFFICE = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
DRAW = "{urn:oasis:names:tc:opendocument:xmlns:drawing:1.0}"
COVERED = f"{TABLE}covered-table-cell"
HIDDEN = ("collapse", "filter")


def appearance_of(table: "_Element") -> SheetAppearance:
    """What is out of the ordinary on the sheet in a table."""
    look = SheetAppearance(hidden_columns=_hidden(table, "column"))
    look.pictures = [(1, 1) for shapes in table.iter(f"{TABLE}shapes") for _ in shapes]
    look.hidden_rows = _hidden(table, "row")
    row = 1
    for element in table.iter(f"{TABLE}table-row"):
        column = 1
        for cell in element:
            if cell.tag == COVERED and len(cell):
                look.unseen.add((row, column))
            for child in cell:
                if child.tag == f"{OFFICE}annotation":
                    look.comments[CellAddress("", row, column).cell] = "".join(map(str, child.itertext())).strip()
                elif str(child.tag).startswith(DRAW):
                    look.pictures.append((row, column))
            column += _repetitions(cell, "column")
        row += _repetitions(element, "row")
    return look


def _hidden(table: "_Element", line: str) -> set[int]:
    """The rows or the columns that are hidden."""
    hidden: set[int] = set()
    number = 1
    for element in table.iter(f"{TABLE}table-{line}"):
        times = _repetitions(element, line)
        if element.get(f"{TABLE}visibility") in HIDDEN:
            hidden |= {*range(number, number + min(times, MOST_HIDDEN))}
        number += times
    return hidden


def _repetitions(element: "_Element", line: str) -> int:
    """How often a row, a column or a cell is repeated; once where that is said in no known way."""
    text = element.get(f"{TABLE}number-{line}s-repeated", "1")
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 10 else 1
