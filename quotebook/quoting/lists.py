"""Reads a list from a CSV file or a workbook, as rows of cells that each know their place in the file."""

import csv
import os
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from quotebook.errors import Unreadable

MOST_BYTES = 20_000_000
DELIMITERS = ",;"


@dataclass(frozen=True)
class Cell:
    where: str
    """The file's name, and the row or the sheet and cell."""
    value: object
    """None if blank; text without surrounding spaces; from a workbook also Decimal, date, bool or Unusable."""
    row: int
    column: int
    """Where it stands in the file or sheet; rows and columns count from 1."""
    sheet: str = ""
    """The title of its sheet; empty in a CSV file."""


def read_list(path: str | os.PathLike[str]) -> list[list[Cell]]:
    """The rows and columns that are not blank, each row with the same columns.

    CSV is UTF-8 with commas or semicolons between columns. In a workbook, the first sheet that is
    not blank is read. Raises Unreadable for any other file.
    """
    path = Path(path)
    found = _csv_rows(path) if path.suffix.lower() == ".csv" else _workbook_rows(path)
    rows = [row for row in found if any(cell.value is not None for cell in row)]
    width = max(map(len, rows), default=0)
    rows = [
        row + [replace(row[-1], value=None, column=column + 1) for column in range(len(row), width)] for row in rows
    ]
    used = [column for column in range(width) if any(row[column].value is not None for row in rows)]
    return [[row[column] for column in used] for row in rows]


def _csv_rows(path: Path) -> Iterator[list[Cell]]:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise Unreadable(f"{path}: is larger than {MOST_BYTES:,} bytes. Split it.")
        with path.open(encoding="utf-8-sig", newline="") as file:
            delimiter = delimiter_of(file.readline())
            file.seek(0)
            for number, row in enumerate(csv.reader(file, delimiter=delimiter, strict=True), 1):
                where = f"{path.name}, row {number}"
                yield [Cell(where, text.strip() or None, number, column) for column, text in enumerate(row, 1)]
    except OSError as error:
        raise Unreadable(f"{path}: cannot be opened: {error.strerror}.") from error
    except UnicodeDecodeError as error:
        raise Unreadable(f"{path}: is not a CSV file in UTF-8 ({error}). Save it again as CSV UTF-8.") from error
    except csv.Error as error:
        raise Unreadable(f"{path}: cannot be read as CSV: {error}. Correct that, or save it again as CSV.") from error


def delimiter_of(headings: str) -> str:
    """What stands between the columns of a CSV file, by its first line."""
    try:
        return csv.Sniffer().sniff(headings, DELIMITERS).delimiter
    except csv.Error:  # a single heading
        return DELIMITERS[0]


def _workbook_rows(path: Path) -> Iterator[list[Cell]]:
    from quotebook.spreadsheets.cells import CellAddress
    from quotebook.spreadsheets.filled_in import read_filled_workbook

    book = read_filled_workbook(path)
    for sheet in book.sheets:
        cells = {(place.row, place.column): value for place, value in book.cells.items() if place.sheet == sheet}
        width = max((column for _, column in cells), default=0)
        for row in sorted({row for row, _ in cells}):
            places = (CellAddress(sheet, row, column) for column in range(1, width + 1))
            yield [
                Cell(f"{book.file}, sheet {sheet}, cell {place.cell}", book.cells.get(place), row, place.column, sheet)
                for place in places
            ]
        if cells:
            return
