"""The owner's cells of a returned workbook beside what they were issued with: single ones, lists, rows of tables."""

from collections.abc import Callable, Container, Iterator, Mapping
from functools import cached_property
from itertools import zip_longest
from typing import NamedTuple, TypeVar

from quotebook.checking.edits import CellEdit, Edit, NameEdit, RowEdit, TableRow
from quotebook.checking.returned import Returned, ReturnedCell, ReturnedValue, flat, same_key, same_said, same_value
from quotebook.contract.stamped import table_columns
from quotebook.contract.values import CellValue, ColumnValue, one_cell
from quotebook.spreadsheets.cells import Cell, CellAddress

Issued = TypeVar("Issued")
Found = TypeVar("Found")


class Change(NamedTuple):
    """An entry or a rate that is not as issued."""

    edit: Edit
    name: str
    found: ReturnedCell
    issued: CellValue
    lost: tuple[str, int, int] | None = None
    """Where it stood when it was issued, of a table's row or a list's cell that is gone."""


class ReturnedRates:
    """What the owner set, as it came back.

    `computed` are the names that formulas compute with, `displaced` those that lead elsewhere than they should.
    """

    def __init__(self, returned: Returned, computed: Container[str], displaced: Container[str]):
        self._returned, self._content = returned, returned.content
        self._computed, self._displaced = computed, displaced
        self.table_columns = table_columns(returned.content)

    @cached_property
    def rows(self) -> dict[str, list[TableRow]]:
        """The rows of each table in the order of the issue, those that were added behind them."""
        return {table: self._rows(columns) for table, columns in self.table_columns.items()}

    def changes(self) -> list[Change]:
        """The owner's cells that are not as issued: single ones, headings, and those of tables."""
        changed = [*self._changed_cells(), *self._changed_lists()]
        for table in self.table_columns:
            changed += self._changed_rows(table)
        return changed

    def _changed_cells(self) -> Iterator[Change]:
        for name, issued in self._content.owner.items():
            found = self._returned.cells.get(name)
            if found and name not in self._displaced and not self._same_rate(name, issued, found):
                yield changed_cell(name, found, issued)

    def _changed_lists(self) -> Iterator[Change]:
        """The words over the columns of surfaces, and what else is in a range of its own."""
        columns = {name for names in self.table_columns.values() for name in names}
        for name in sorted(self._content.tables.keys() - columns):
            area = self._returned.areas[name]
            if area is None:
                continue
            issued: list[CellValue] = list(flat(self._content.tables[name]))
            found = [*flat(self._returned.column(name))]
            if len(found) > len(issued):
                found = [cell for cell in found if cell.value is not None]
            if len(found) == len(issued):
                pairs = _paired(issued, found, _by_turn)
            else:
                pairs = _paired(issued, found, same_value, _by_turn)
            sheet, row, column = self._content.places[name]
            for down, (was, cell) in enumerate(pairs):
                if cell is None:
                    lost = (sheet, row + down, column)
                    yield Change(NameEdit(name), name, self._returned.at(*area[:3]), was, lost)
                elif not same_value(was, cell):
                    yield changed_cell(name, cell, was)

    def _changed_rows(self, table: str) -> Iterator[Change]:
        key = self.table_columns[table][0]
        for index, (issued, found) in enumerate((row.issued, row.found) for row in self.rows[table]):
            if issued is not None and found is not None:
                yield from self._changed_in_row(issued, found)
            elif found is not None:
                yield Change(RowEdit(table, index), key, next(flat((found[key], *found.values()))), None)
            elif issued is not None:
                sheet, row, column = self._content.places[key]
                gone = CellAddress(self._returned.sheet_now(sheet) or sheet, row + index, column)
                lost = (sheet, row + index, column)
                yield Change(RowEdit(table, index), key, ReturnedCell(gone, None, None), one_cell(issued[key]), lost)

    def _changed_in_row(
        self, issued: Mapping[str, ColumnValue], found: Mapping[str, ReturnedValue | None]
    ) -> Iterator[Change]:
        for name, was in issued.items():
            cells: Iterator[CellValue] = flat([was])
            for each, cell in zip_longest(cells, flat([found.get(name)])):
                if cell and name not in self._displaced and not self._same_rate(name, each, cell):
                    yield changed_cell(name, cell, each)

    def _same_rate(self, name: str, issued: CellValue, found: ReturnedCell) -> bool:
        """Whether an owner's cell is as issued, or at least says the same where nothing computes with it."""
        return same_value(issued, found) or (name not in self._computed and same_said(issued, found))

    def _rows(self, names: tuple[str, ...]) -> list[TableRow]:
        """The rows of a table in the order of the issue, each where it stands now.

        A row is known by all that is in it, else by its key (what is in its first column), else by its turn.
        """
        key, tables = names[0], self._content.tables
        issued = [dict(zip(names, row, strict=True)) for row in zip(*(tables[name] for name in names), strict=True)]
        if key in self._returned.missing:
            return [TableRow(was, {}) for was in issued]

        def same_code(was: Mapping[str, ColumnValue], now: Mapping[str, ReturnedValue | None]) -> bool:
            code = now[key]
            return isinstance(code, ReturnedCell) and same_key(was[key], code.value)

        return [
            TableRow(*pair) for pair in _paired(issued, self._returned.table(names), _same_row, same_code, _by_turn)
        ]


def changed_cell(name: str, found: ReturnedCell, issued: CellValue) -> Change:
    return Change(CellEdit(found.place, Cell(issued, None)), name, found, issued)


def _paired(
    issued: list[Issued], found: list[Found], *known: Callable[[Issued, Found], bool]
) -> list[tuple[Issued | None, Found | None]]:
    """What was issued, each with what it is now; at the end what was added. None where there is no other side.

    `known` are the ways to know one by the other, the surest first.
    """
    left = list(found)
    pairs: dict[int, Found] = {}
    for knows in known:
        for index, was in enumerate(issued):
            at = None if index in pairs else next((at for at, now in enumerate(left) if knows(was, now)), None)
            if at is not None:
                pairs[index] = left.pop(at)
    return [*((was, pairs.get(index)) for index, was in enumerate(issued)), *((None, now) for now in left)]


def _by_turn(issued: object, found: object) -> bool:
    return True


def _same_row(issued: Mapping[str, ColumnValue], found: Mapping[str, ReturnedValue | None]) -> bool:
    """Whether every single cell of a row that is still there is as issued; cells of blocks are not looked at."""
    cells = ((was, found[name]) for name, was in issued.items())
    return all(same_value(was, cell) for was, cell in cells if isinstance(cell, ReturnedCell))
