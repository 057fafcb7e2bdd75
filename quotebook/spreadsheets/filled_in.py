"""A workbook that the owner filled in, as values by cell: the rate card, a list of requests.

It is the owner's own file, so a formula is welcome and its last result counts. openpyxl reads it,
because formats count here: a cell that shows 5 % holds 0.05, and one that shows a day holds a
number. A file is weighed before it is parsed, since even one's own can be damaged.
"""

import os
import re
import warnings
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, time
from decimal import Decimal
from pathlib import Path

from quotebook.engine.money import number
from quotebook.errors import Unreadable
from quotebook.spreadsheets.cells import CellAddress, place

MOST_BYTES = 20_000_000
MOST_EXPANDED = 100_000_000
MOST_PARTS = 1_000
MOST_CELLS = 200_000


class Percentage(Decimal):
    """A number in a cell that shows it as a percentage: 0.05 where the cell shows 5 %."""


@dataclass(frozen=True)
class Unusable:
    """A cell that has something in it and no value to go by."""

    found: str
    """What it has, in words."""

    def __str__(self) -> str:
        return self.found


@dataclass(frozen=True)
class Filled:
    """What stands in a workbook. Blank cells are left out; a text of spaces is blank."""

    file: str
    cells: dict[CellAddress, object]
    """Text without surrounding spaces, Decimal, date, bool, or Unusable."""
    sheets: tuple[str, ...]
    names: dict[str, CellAddress | None]
    """Where each defined name of one cell points; None where that cell or its sheet was deleted."""


def filled(path: str | os.PathLike) -> Filled:
    """Read a workbook. Raises Unreadable, in one sentence, for what is no .xlsx workbook."""
    import openpyxl

    path = Path(path)
    _weigh(path)
    try:
        with warnings.catch_warnings(action="ignore"), path.open("rb") as file:
            formulas = openpyxl.load_workbook(file, read_only=True)
            values = openpyxl.load_workbook(file, read_only=True, data_only=True)
            cells = {place: value for place, value in _cells(formulas, values, path) if value is not None}
            return Filled(path.name, cells, tuple(values.sheetnames), dict(_names(values)))
    except Unreadable:
        raise
    except Exception as error:  # openpyxl raises whatever it stumbles over in a damaged file
        raise Unreadable(f"{path}: is damaged and cannot be read as a workbook ({error}). {_SAVE_AS}") from error


def shown(found: object) -> str:
    """What stands in a cell, as a message says it."""
    if found is None:
        return "nothing"
    if isinstance(found, bool):
        return str(found).upper()
    return f'"{found}"' if isinstance(found, str) else str(found)


_SAVE_AS = "Open it in a spreadsheet program and save it as .xlsx."


def _weigh(path: Path) -> None:
    """Refuse what is missing, no zip archive, or out of all proportion, before anything is parsed."""
    try:
        if path.stat().st_size > MOST_BYTES:
            raise Unreadable(f"{path}: is larger than {MOST_BYTES:,} bytes, far more than such a workbook needs.")
        with zipfile.ZipFile(path) as archive:
            parts = archive.infolist()
    except OSError as error:
        raise Unreadable(f"{path}: cannot be opened: {error.strerror}.") from error
    except (zipfile.BadZipFile, NotImplementedError) as error:
        raise Unreadable(f"{path}: is not an .xlsx workbook, or has a password. {_SAVE_AS}") from error
    if len(parts) > MOST_PARTS or sum(part.file_size for part in parts) > MOST_EXPANDED:
        raise Unreadable(f"{path}: expands to far more than such a workbook needs, and was not read.")


def _cells(formulas, values, path: Path) -> Iterator[tuple[CellAddress, object]]:
    seen = 0
    for title in (sheet.title for sheet in values.worksheets):
        for entered, shown in zip(_present(formulas[title]), _present(values[title]), strict=True):
            seen += 1
            if seen > MOST_CELLS:
                raise Unreadable(f"{path}: has more than {MOST_CELLS:,} cells, far more than such a workbook needs.")
            yield CellAddress(title, shown.row, shown.column), _value(entered, shown)


def _present(sheet) -> Iterator:
    """The cells that are in the file, row by row, however far apart they lie."""
    from openpyxl.cell.read_only import EMPTY_CELL

    sheet.reset_dimensions()
    return (cell for row in sheet.iter_rows() for cell in row if cell is not EMPTY_CELL)


def _value(entered, shown) -> object:
    """What a cell says, given its formula and its last result."""
    value = shown.value
    if entered.data_type == "f" and value is None:
        return Unusable("a formula without a result (open the file in a spreadsheet program and save it)")
    if shown.data_type == "e":
        return Unusable(f"the error {value}")
    if isinstance(value, str):
        return value.strip() or None
    if isinstance(value, datetime):
        return value.date() if value.time() == time() else Unusable(f"{value}, a date with a time of day")
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return Percentage(number(value)) if "%" in shown.number_format else number(value)
    return value if value is None or isinstance(value, bool) else Unusable(str(value))


def _names(book) -> Iterator[tuple[str, CellAddress | None]]:
    for name, defined in book.defined_names.items():
        where = None
        if match := _ONE_CELL.fullmatch(defined.attr_text or ""):
            sheet = match["sheet"] or match["quoted"].replace("''", "'")
            if sheet in book.sheetnames:
                where = CellAddress(sheet, *place(match["cell"]))
        yield name, where


_ONE_CELL = re.compile(r"(?:'(?P<quoted>(?:[^']|'')+)'|(?P<sheet>[^'!]+))!(?P<cell>\$?[A-Z]{1,3}\$?[0-9]{1,7})")
