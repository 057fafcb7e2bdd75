"""A returned workbook seen through the names it was issued with."""

from collections import Counter
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import zip_longest

from .cells import Area, Cell, Workbook
from .stamp import MARKER, Content
from .values import CellValue
from .vocabulary import DATES

DAYS_TO_1904 = 1462
"""From a workbook's day 0 to that of one that counts from 1904 (ECMA-376 part 1, 18.17.4.1)."""


@dataclass(frozen=True)
class Place:
    """Where a cell is, by sheet, row and column from 1."""

    sheet: str
    row: int
    column: int

    @property
    def cell(self) -> str:
        """Its address: `D9`."""
        letters, column = "", self.column
        while column:
            column, letter = divmod(column - 1, 26)
            letters = chr(65 + letter) + letters
        return f"{letters}{self.row}"


@dataclass(frozen=True)
class Found:
    """What a name or a position holds now."""

    place: Place
    value: object
    """Decimal, text, bool, None for blank, or a `cells.Fault`."""
    formula: str | None


NOTHING = Cell(None, None)


def stamp_texts(workbook: Workbook) -> list[str] | None:
    """The texts below the stamp's marker, on whichever sheet that is; None where there is none."""
    for sheet in workbook.sheets:
        texts = [cell.value for cell in sheet.cells.values() if isinstance(cell.value, str)]
        if MARKER in texts:
            return texts[texts.index(MARKER) + 1 :]
    return None


class Returned:
    """The cells of a returned workbook, by the names that its quote was issued with."""

    def __init__(self, workbook: Workbook, content: Content):
        self.workbook, self.content = workbook, content
        self.sheets = {sheet.name: sheet for sheet in workbook.sheets}
        self.areas = {name: workbook.resolve(name) for name in content.places}
        self.missing = tuple(name for name, area in self.areas.items() if area is None or area.sheet not in self.sheets)
        self.cells = {
            name: self._named(name, area)
            for name, area in self.areas.items()
            if name not in self.missing and name not in content.tables
        }

    def _named(self, name: str, area: Area) -> Found:
        """The cell of a name; a date as the serial that it was issued with, whatever day the file counts from."""
        found = self.at(area.sheet, area.top, area.left)
        if self.workbook.date_1904 and name in DATES and isinstance(found.value, Decimal):
            return replace(found, value=found.value + DAYS_TO_1904)
        return found

    def at(self, sheet: str, row: int, column: int) -> Found:
        cell = self.sheets[sheet].cells.get((row, column), NOTHING)
        return Found(Place(sheet, row, column), cell.value, cell.formula)

    def values(self) -> dict[str, CellValue]:
        """The value of every named cell; other than a number or a text counts as nothing."""
        return {
            name: found.value if type(found.value) is not bool and isinstance(found.value, CellValue) else None
            for name, found in self.cells.items()
        }

    def column(self, name: str) -> list:
        """A table's column, top to bottom, each a Found; of a block each a list of Found. Empty where its name is lost."""
        if name in self.missing:
            return []
        area = self.areas[name]
        length = min(area.bottom - area.top + 1, len(self.content.tables[name]) + 1000)
        rows = [
            [self.at(area.sheet, area.top + down, column) for column in range(area.left, min(area.right, area.left + 50) + 1)]
            for down in range(length)
        ]
        block = bool(self.content.tables[name]) and isinstance(self.content.tables[name][0], list)
        return rows if block else [row[0] for row in rows]

    def table(self, names: list[str]) -> list[dict]:
        """The rows of a table: for each column's name a Found, or a list of them; blank rows left out.

        `names` are its columns, the one that tells the rows apart first.
        """
        columns = [self.column(name) for name in names]
        rows = [dict(zip(names, row)) for row in zip_longest(*columns)]
        return [row for row in rows if row[names[0]] is not None and row[names[0]].value is not None]

    def sheet_now(self, issued: str) -> str | None:
        """What an issued sheet is called now, judged by where its named cells are; None where it is gone."""
        now = Counter(
            self.areas[name].sheet for name, place in self.content.places.items()
            if place[0] == issued and name not in self.missing
        )  # fmt: skip
        return now.most_common(1)[0][0] if now else None
