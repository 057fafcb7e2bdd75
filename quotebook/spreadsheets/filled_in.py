"""Reads a workbook that the owner filled in, as values by cell: the rate card, a list of requests.

It is the owner's own file, so formulas are welcome and their last results are used. openpyxl reads it, because
formats matter here: a cell that shows 5 % holds 0.05, and one that shows a day holds a number. The size of the file
is checked before it is parsed, because even one's own file can be damaged.
"""

import os
import re
import warnings
import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, time
from decimal import Decimal
from functools import lru_cache
from io import BytesIO
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, cast

from quotebook.engine.money import number
from quotebook.errors import Unreadable
from quotebook.spreadsheets.cells import CellAddress, position_of

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.cell.read_only import ReadOnlyCell
    from openpyxl.worksheet._read_only import ReadOnlyWorksheet

MOST_BYTES = 20_000_000
MOST_EXPANDED = 100_000_000
MOST_PARTS = 1_000
MOST_CELLS = 200_000


class Percentage(Decimal):
    """A number in a cell that shows it as a percentage: 0.05 where the cell shows 5 %."""


@dataclass(frozen=True)
class Unusable:
    """A cell that is not blank and has no usable value."""

    found: str
    """What the cell holds, in words."""

    def __str__(self) -> str:
        return self.found


Cells = Mapping[CellAddress, object]
Names = Mapping[str, CellAddress | None]


@dataclass(frozen=True)
class FilledWorkbook:
    """The contents of a workbook. Blank cells are left out; a text of spaces counts as blank."""

    file: str
    """The name of the file, without its folder."""
    cells: Cells
    """Text without surrounding spaces, Decimal, date, bool, or Unusable."""
    sheets: tuple[str, ...]
    names: Names
    """The cell that each defined name points to; None where that cell or its sheet was deleted."""


def read_filled_workbook(path: str | os.PathLike[str]) -> FilledWorkbook:
    """The contents of a workbook. Raises Unreadable, in one sentence, for a file that is no .xlsx workbook."""
    path = Path(path)
    _check_size(path)
    try:
        contents = _contents(path.read_bytes())
    except _TooManyCells:
        raise Unreadable(f"{path}: has more than {MOST_CELLS:,} cells, far more than such a workbook needs.") from None
    except Exception as error:  # openpyxl raises whatever it stumbles over in a damaged file
        raise Unreadable(f"{path}: is damaged and cannot be read as a workbook ({error}). {_SAVE_AS}") from error
    return FilledWorkbook(path.name, *contents)


@lru_cache(maxsize=2)
def _contents(data: bytes) -> tuple[Cells, tuple[str, ...], Names]:
    """Cells, sheets and names of a workbook; kept, since a command may read the same card for each thing that it does.

    Raises _TooManyCells, or whatever openpyxl raises.
    """
    import openpyxl

    with warnings.catch_warnings(action="ignore"):
        formulas = openpyxl.load_workbook(BytesIO(data), read_only=True)
        values = openpyxl.load_workbook(BytesIO(data), read_only=True, data_only=True)
        cells = {address: value for address, value in _cells(formulas, values) if value is not None}
        return MappingProxyType(cells), tuple(values.sheetnames), MappingProxyType(dict(_names(values)))


class _TooManyCells(Exception):
    """More cells than any workbook of an owner's needs."""


def describe(found: object) -> str:
    """The contents of a cell as a message shows them."""
    if found is None:
        return "nothing"
    if isinstance(found, bool):
        return str(found).upper()
    return f'"{found}"' if isinstance(found, str) else str(found)


_SAVE_AS = "Open it in a spreadsheet program and save it as .xlsx."


def _check_size(path: Path) -> None:
    """Raises Unreadable for a file that is missing, no zip archive or far too large, before anything is parsed."""
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


def _cells(formulas: "Workbook", values: "Workbook") -> Iterator[tuple[CellAddress, object]]:
    """Each cell with its value, from one workbook read twice: with its formulas and with their results."""
    seen = 0
    for title in (sheet.title for sheet in values.worksheets):
        for entered, result in zip(_cells_present(formulas[title]), _cells_present(values[title]), strict=True):
            seen += 1
            if seen > MOST_CELLS:
                raise _TooManyCells
            yield CellAddress(title, result.row, result.column), _value(entered, result)


def _cells_present(sheet: "ReadOnlyWorksheet") -> "Iterator[ReadOnlyCell]":
    """The cells that are in the file, row by row, however far apart they lie."""
    from openpyxl.cell.read_only import ReadOnlyCell

    sheet.reset_dimensions()
    rows = cast("Iterator[tuple[object, ...]]", sheet.rows)  # the stubs name the cells of an ordinary sheet
    return (cell for row in rows for cell in row if isinstance(cell, ReadOnlyCell))


def _value(entered: "ReadOnlyCell", result: "ReadOnlyCell") -> object:
    """The value of a cell, given the cell with its formula and the cell with its last result."""
    value = result.value
    if entered.data_type == "f" and value is None:
        return Unusable("a formula without a result (open the file in a spreadsheet program and save it)")
    if result.data_type == "e":
        return Unusable(f"the error {value}")
    if isinstance(value, str):
        return value.strip() or None
    if isinstance(value, datetime):
        return value.date() if value.time() == time() else Unusable(f"{value}, a date with a time of day")
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return Percentage(number(value)) if "%" in result.number_format else number(value)
    return value if value is None or isinstance(value, bool) else Unusable(str(value))


def _names(book: "Workbook") -> Iterator[tuple[str, CellAddress | None]]:
    """Each workbook-level defined name with the one cell it points to, or None."""
    for name, defined in book.defined_names.items():
        address = None
        if match := _ONE_CELL.fullmatch(defined.attr_text or ""):
            sheet = match["sheet"] or match["quoted"].replace("''", "'")
            if sheet in book.sheetnames:
                address = CellAddress(sheet, *position_of(match["cell"]))
        yield name, address


_ONE_CELL = re.compile(r"(?:'(?P<quoted>(?:[^']|'')+)'|(?P<sheet>[^'!]+))!(?P<cell>\$?[A-Z]{1,3}\$?[0-9]{1,7})")
