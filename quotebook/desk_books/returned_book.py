"""Reads the desk book as it came back from the owner: the decisions, and whatever else was written into it."""

import warnings
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path

from quotebook.contract.values import CellValue, day_of, is_day
from quotebook.desk_books import kept_sheet, quotes_sheet
from quotebook.desk_books.edition import SHEET as EDITION
from quotebook.desk_books.edition import Edition, cell_key, placed, read_edition, value_key, written_by_owner
from quotebook.desk_books.kept_sheet import Kept
from quotebook.desk_books.quotes_sheet import OwnersValue
from quotebook.engine.money import plain
from quotebook.errors import Unreadable
from quotebook.spreadsheets.cells import Cell, CellAddress, Fault, Sheet, StoredValue
from quotebook.spreadsheets.reading import read_workbook

SCALE = 12
"""The book of 10,000 quotes needs so many times the limits that a client's workbook is read under."""


@dataclass
class ReturnedBook:
    """What the owner wrote into one edition."""

    edition: Edition
    decisions: dict[str, dict[str, CellValue]] = field(default_factory=dict)
    """What is in the tinted cells, by quote and by the name of the column; blank ones are left out."""
    twice: list[str] = field(default_factory=list)
    """Quotes that have two rows: there is no telling which one counts."""
    own_columns: dict[str, dict[str, OwnersValue]] = field(default_factory=dict)
    """By their heading, and in it by quote."""
    own_sheets: dict[str, Mapping[tuple[int, int], OwnersValue]] = field(default_factory=dict)
    """By their title."""
    kept: list[Kept] = field(default_factory=list)
    """Everything that was written anywhere else, and what was kept of it before."""


def read_desk_book(path: Path, key: bytes) -> ReturnedBook:
    """Read the book. Raises Unreadable for a file that is no desk book of this desk, or whose edition was altered."""
    workbook = read_workbook(path, SCALE)
    edition = read_edition(workbook, key)
    if workbook.date_1904:
        raise Unreadable(f"{path.name}: counts its days from 1904. Set it to count from 1900, and save it again.")
    found = ReturnedBook(edition)
    sheets = {sheet.name: sheet for sheet in workbook.sheets if sheet.name != EDITION and not _is_edition(sheet)}
    titles = _our_sheets(sheets, edition)
    for title, sheet in sheets.items():
        if title == kept_sheet.SHEET:
            found.kept += kept_sheet.read_kept(sheet)
        elif title not in titles.values():
            dates = date_cells(path, title)
            found.own_sheets[title] = {place: _own(cell, place in dates) for place, cell in sheet.cells.items()}
    for ours, title in titles.items():
        if ours == quotes_sheet.SHEET:
            _read_quotes(found, sheets[title], path)
        else:
            _keep(found, ours, dict(written_by_owner(ours, sheets[title].cells, edition)))
    return found


def _is_edition(sheet: Sheet) -> bool:
    return sheet.visibility == "veryHidden" and len({column for _, column in sheet.cells}) == 1


def _our_sheets(sheets: Mapping[str, Sheet], edition: Edition) -> dict[str, str]:
    """The title that each of our sheets has now: its own, or that of a sheet with most of what it showed."""
    titles = {name: name for name in edition.shown if name in sheets}
    for name, shown in edition.shown.items():
        for title, sheet in sheets.items():
            if name not in titles and title not in edition.shown and title != kept_sheet.SHEET:
                here = set(placed({place: cell_key(cell) for place, cell in sheet.cells.items()}).values())
                if 2 * len(here & shown.keys()) > len(shown):
                    titles[name] = title
    return titles


def _read_quotes(found: ReturnedBook, sheet: Sheet, path: Path) -> None:
    """Read the rows of quotes by their headings, in whatever order rows and columns stand."""
    rows: dict[int, dict[int, Cell]] = {}
    for (row, column), cell in sheet.cells.items():
        rows.setdefault(row, {})[column] = cell
    head = next((row for row, cells in rows.items() if _is_head(cells)), None)
    if head is None:
        raise Unreadable(
            "desk_book.xlsx: the headings Quote and Decision are missing on its sheet Quotes. Put them back."
        )
    headings = {column: str(cell.value).strip() for column, cell in rows[head].items() if isinstance(cell.value, str)}
    names = {heading: name for name, heading in quotes_sheet.DECISION_COLUMNS.items()}
    ours = found.edition.shown[quotes_sheet.SHEET]
    decided = {column: names[heading] for column, heading in headings.items() if heading in names}
    own = {column: text for column, text in headings.items() if text not in names and not ours[value_key(text)]}
    number_column = next(column for column, heading in headings.items() if heading == quotes_sheet.NUMBER)
    owners = {(head, column) for column in own}
    dates = date_cells(path, sheet.name) if own else set()
    seen: set[str] = set()
    for row, cells in rows.items():
        number = str(cells[number_column].value) if number_column in cells else ""
        if row <= head or number not in found.edition.bases:
            continue
        entries = {name: _value(cells[column]) for column, name in decided.items() if column in cells}
        if number in seen and entries:
            found.twice.append(number)
        seen.add(number)
        if entries:
            found.decisions[number] = entries
        for column, text in own.items():
            if column in cells:
                value = _own(cells[column], (row, column) in dates)
                found.own_columns.setdefault(text, {})[number] = value
        owners |= {(row, column) for column in (*decided, *own)}
    for text in own.values():
        found.own_columns.setdefault(text, {})
    rest = {place: cell for place, cell in sheet.cells.items() if place not in owners}
    _keep(found, quotes_sheet.SHEET, dict(written_by_owner(quotes_sheet.SHEET, rest, found.edition)))


def _is_head(cells: Mapping[int, Cell]) -> bool:
    texts = {cell.value for cell in cells.values()}
    return quotes_sheet.NUMBER in texts and quotes_sheet.DECISION_COLUMNS["decision"] in texts


def _keep(found: ReturnedBook, sheet: str, cells: Mapping[tuple[int, int], Cell]) -> None:
    """Keep what was written where it has no place in the next edition."""
    for (row, column), cell in cells.items():
        found.kept.append(Kept(sheet, CellAddress(sheet, row, column).cell, _text(cell.content)))


def _value(cell: Cell) -> CellValue:
    """What a cell of the owner's holds, as it is written again: of a formula its last result."""
    value = cell.value
    return _text(value) if isinstance(value, (bool, Fault)) else value


def _own(cell: Cell, shows_date: bool) -> OwnersValue:
    """What a cell of a column or sheet of the owner's own holds."""
    value = _value(cell)
    return day_of(value) if shows_date and isinstance(value, Decimal) and is_day(value) else value


def date_cells(path: Path, sheet: str) -> set[tuple[int, int]]:
    """The cells of a sheet that show a date, by their format; none in a file whose formats cannot be told."""
    import openpyxl

    try:
        with warnings.catch_warnings(action="ignore"):
            book = openpyxl.load_workbook(path, read_only=True)
            found: set[tuple[int, int]] = set()
            for cell in (cell for row in book[sheet].iter_rows() for cell in row):
                if getattr(cell, "is_date", False) and cell.row and cell.column:
                    found.add((cell.row, cell.column))
            book.close()
            return found
    except Exception:  # openpyxl raises whatever it stumbles over, and the value is kept in any case
        return set()


def _text(value: StoredValue) -> str:
    if isinstance(value, Fault):
        return value.text
    if isinstance(value, bool):
        return str(value).upper()
    return value if isinstance(value, str) else "" if value is None else plain(value)
