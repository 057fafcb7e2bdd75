"""A returned workbook seen through the names it was issued with."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from functools import cached_property
from itertools import zip_longest
from typing import NamedTuple, TypeVar

from quotebook.checking.moved import Moved, moved
from quotebook.contract.stamp import Content
from quotebook.contract.values import CellValue, side_by_side
from quotebook.contract.vocabulary import DATES, HEADINGS
from quotebook.engine.model import same_text
from quotebook.engine.money import plain
from quotebook.evaluation.agreement import same_lines
from quotebook.evaluation.sameness import same_formula
from quotebook.spreadsheets.cells import Cell, CellAddress, CellRange, Fault, StoredValue, Workbook, target_range

DAYS_TO_1904 = 1462
"""From a workbook's day 0 to that of one that counts from 1904 (ECMA-376 part 1, 18.17.4.1)."""


class ReturnedCell(NamedTuple):
    """What a name or a position holds now."""

    place: CellAddress
    value: StoredValue
    formula: str | None


ReturnedValue = ReturnedCell | list[ReturnedCell]
"""What a row has in a column of a table: a cell, or several side by side in a block."""

OneCell = TypeVar("OneCell")

NOTHING = Cell(None, None)


class Returned:
    """The cells of a returned workbook, by the names that its quote was issued with."""

    def __init__(self, workbook: Workbook, content: Content):
        self.workbook, self.content = workbook, content
        self.sheets = {sheet.name: sheet for sheet in workbook.sheets}
        titles = {sheet.name.lower(): sheet.name for sheet in workbook.sheets}
        self.issued = {name: self._issued_area(name) for name in content.places}
        self.local_areas = self._local_areas(titles)
        self.areas = {
            name: target_range(workbook.names.get(name, ""), titles) or self._alone(name) for name in content.places
        }
        self.missing = tuple(name for name, area in self.areas.items() if area is None)
        self.cells = {
            name: self._named(name, area) for name, area in self.areas.items() if area and name not in content.tables
        }

    def _local_areas(self, titles: dict[str, str]) -> dict[str, list[tuple[str, CellRange | None]]]:
        """For each name that has been defined for single sheets what it stands for there, with the sheet's name."""
        found: dict[str, list[tuple[str, CellRange | None]]] = {}
        for sheet, name, target in self.workbook.local_names:
            if name.lower() in self.content.places:
                found.setdefault(name.lower(), []).append((sheet, target_range(target, titles)))
        return found

    def _alone(self, name: str) -> CellRange | None:
        """What a name stands for that is defined for a single sheet and nowhere else."""
        local = self.local_areas.get(name, ())
        return local[0][1] if len(local) == 1 and name not in self.workbook.names else None

    def _named(self, name: str, area: CellRange) -> ReturnedCell:
        """The cell of a name; a date as the serial that it was issued with, whatever day the file counts from."""
        found = self.at(area.sheet, area.top, area.left)
        if self.workbook.date_1904 and name in DATES and isinstance(found.value, Decimal):
            return found._replace(value=found.value + DAYS_TO_1904)
        return found

    def at(self, sheet: str, row: int, column: int) -> ReturnedCell:
        cell = self.sheets[sheet].cells.get((row, column), NOTHING)
        return ReturnedCell(CellAddress(sheet, row, column), cell.value, cell.formula)

    def values(self) -> dict[str, CellValue]:
        """The value of every named cell; other than a number or a text counts as nothing, and so does an empty text."""
        return {
            name: found.value if isinstance(found.value, (Decimal, str)) and found.value != "" else None
            for name, found in self.cells.items()
        }

    def column(self, name: str) -> list[ReturnedValue]:
        """A table's column, top to bottom; of a block each row is a list. Empty where the column's name is lost.

        In a block that has more columns than it was issued with, those that are blank all the way down are left out.
        """
        area = self.areas[name]
        if area is None:
            return []
        sheet, top, left, bottom, right = area
        bottom, right = min(bottom, top + len(self.content.tables[name]) + 1000), min(right, left + 50)
        if not self.is_block(name):
            return [self.at(sheet, row, left) for row in range(top, bottom + 1)]
        rows = [[self.at(sheet, row, column) for column in range(left, right + 1)] for row in range(top, bottom + 1)]
        if right - left >= len(side_by_side(self.content.tables[name][0])):
            columns = zip(*rows, strict=True)
            filled = [column for column in columns if any(found.value is not None for found in column)]
            return [list(row) for row in zip(*filled, strict=True)]
        return [*rows]

    def is_block(self, name: str) -> bool:
        """Whether a table's column is several columns under one name."""
        return isinstance(next(iter(self.content.tables[name]), None), list)

    def table(self, names: Sequence[str]) -> list[dict[str, ReturnedValue | None]]:
        """The rows of a table by the names of its columns, None where a column has ended; blank rows are left out."""
        rows = (dict(zip(names, row, strict=True)) for row in zip_longest(*map(self.column, names)))
        return [row for row in rows if any(found.value is not None for found in flat(row.values()))]

    def sheet_now(self, issued: str) -> str | None:
        """What an issued sheet is called now; None where it is gone."""
        return self.sheets_now.get(issued)

    @cached_property
    def sheets_now(self) -> dict[str, str]:
        """For each issued sheet that is still there, what it is called now.

        Judged by where most of a sheet's names lead; where none is left, by the sheet's own name.
        """
        sheets = {}
        for issued, names in self._names_on.items():
            leading = Counter(area.sheet for name in names if (area := self.areas[name]) is not None)
            if leading:
                sheets[issued] = max(leading, key=leading.__getitem__)
            elif issued in self.sheets:
                sheets[issued] = issued
        return sheets

    @cached_property
    def _names_on(self) -> dict[str, list[str]]:
        """The names that were issued on each sheet."""
        names: dict[str, list[str]] = {sheet: [] for sheet in self.content.fixed}
        for name, (sheet, *_) in self.content.places.items():
            names[sheet].append(name)
        return names

    @cached_property
    def moved(self) -> dict[str, Moved]:
        """For each issued sheet that is still there, how its rows and columns have moved."""
        found = {}
        for sheet, now in self.sheets_now.items():
            areas = ((self.issued[name], self.areas[name]) for name in self._names_on[sheet])
            named = [(issued, area) for issued, area in areas if area and area.sheet == now]
            found[sheet] = moved(named, self.unnamed_cells[sheet] | self._formulas[sheet], self.sheets[now].cells)
        return found

    @cached_property
    def due(self) -> dict[str, CellRange]:
        """Where each name belongs on its issued sheet, by how that has moved; without those whose place is gone."""
        due = {}
        for sheet, way in self.moved.items():
            for name in self._names_on[sheet]:
                if there := way.area(self.issued[name]):
                    due[name] = there
        return due

    def due_now(self, name: str) -> CellRange | None:
        """Where a name belongs, on the sheet as that is called now; None where its place is gone."""
        due = self.due.get(name)
        return due and due._replace(sheet=self.sheets_now[due.sheet])

    def same_formula(self, found: str, issued: str, sheet: str) -> bool:
        """Whether a formula on a sheet means what was issued, with names or with the cells where those belong."""
        return same_formula(found, issued, sheet, lambda name: self.due_now(name) if name in self.areas else None)

    @cached_property
    def unnamed_cells(self) -> dict[str, dict[tuple[int, int], object]]:
        """For each issued sheet what its cells without a name held, by row and column."""
        fixed = self.content.fixed
        return {sheet: {(row, column): said for row, column, said in cells} for sheet, cells in fixed.items()}

    @cached_property
    def _formulas(self) -> dict[str, dict[tuple[int, int], object]]:
        """For each issued sheet the formulas of its named cells, by row and column."""
        formulas: dict[str, dict[tuple[int, int], object]] = {sheet: {} for sheet in self.content.fixed}
        for name, formula in self.content.formulas.items():
            sheet, row, column = self.content.places[name]
            formulas[sheet][row, column] = f"={formula}"
        return formulas

    def _issued_area(self, name: str) -> CellRange:
        """The cell or cells that a name was issued with."""
        (sheet, row, column), values = self.content.places[name], self.content.tables.get(name)
        if values is None:
            return CellRange(sheet, row, column, row, column)
        across = len(side_by_side(values[0])) if self.is_block(name) else 1
        down = 1 if name == HEADINGS else max(self.content.least_rows, len(values))
        return CellRange(sheet, row, column, row + down - 1, column + across - 1)

    def areas_of_names(self, sheet: str) -> list[CellRange]:
        """What belongs to names on an issued sheet, wherever those lead now."""
        names = (name for name in self._names_on[sheet] if name not in self.content.anchors)
        return [self.due[name] for name in names if name in self.due]

    def now(self, sheet: str, row: int, column: int) -> ReturnedCell | None:
        """What is now where an issued cell went; None where its sheet, row or column is gone."""
        title = self.sheet_now(sheet)
        place = None if title is None else self.moved[sheet].place(row, column)
        return None if title is None or place is None else self.at(title, *place)


def flat(cells: Iterable[OneCell | list[OneCell] | None]) -> Iterator[OneCell]:
    """The cells of a column or a row one after another, those of blocks too, without what is not there."""
    for cell in cells:
        if isinstance(cell, list):
            yield from cell
        elif cell is not None:
            yield cell


def same_value(issued: object, found: ReturnedCell) -> bool:
    """Whether an owner's cell is as issued; blank and 0 are the same to every formula."""
    if found.formula is not None or isinstance(found.value, bool):
        return False
    return issued == found.value or (issued in (None, "", 0) and found.value in (None, "", 0))


def same_said(issued: object, found: ReturnedCell) -> bool:
    """Whether a cell that no formula reads says what it did: a number may be a text of its digits, and the reverse."""
    if found.formula is not None or isinstance(found.value, (bool, Fault)):
        return False
    return same_lines(as_text(issued), as_text(found.value))


def as_text(value: object) -> str:
    """The characters of a text or a number; none for a blank."""
    return plain(value) if isinstance(value, Decimal) else str(value or "")


def same_key(issued: object, found: object) -> bool:
    """Whether a code is as issued: the case of its letters says nothing."""
    if isinstance(issued, str) and isinstance(found, str):
        return same_text(issued, found)
    return issued == found
