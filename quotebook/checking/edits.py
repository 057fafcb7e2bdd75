"""What somebody did to a returned workbook, as values, and how each is put back."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from quotebook.checking.returned import Returned, ReturnedValue, flat
from quotebook.contract.values import ColumnValue
from quotebook.evaluation.evaluation import Changes
from quotebook.spreadsheets.cells import Cell, CellAddress, CellRange


@dataclass(frozen=True)
class CellEdit:
    """A cell that held something else."""

    address: CellAddress
    issued: Cell


@dataclass(frozen=True)
class NameEdit:
    """A name that led elsewhere, or stood for one thing alone."""

    name: str


@dataclass(frozen=True)
class RowEdit:
    """A row that a table has lost, or got, by its number among the table's rows as compared."""

    table: str
    row: int


Edit = CellEdit | NameEdit | RowEdit


@dataclass(frozen=True)
class TableRow:
    """A row of a table by the names of its columns; None where it was added, or is gone.

    A column of several cells, such as `kinds_layings`, is a list; a column that is lost is None.
    """

    issued: Mapping[str, ColumnValue] | None
    found: Mapping[str, ReturnedValue | None] | None


@dataclass(frozen=True)
class Restorer:
    """Puts edits back: says what cells and names must be for the sheet to be as if the edits had not been made."""

    returned: Returned
    rows: Mapping[str, list[TableRow]]
    """Each table's rows."""

    def without(self, edits: Iterable[Edit]) -> Changes:
        """What is otherwise in the workbook without those edits."""
        edits = list(edits)
        changes = Changes({edit.address: edit.issued for edit in edits if isinstance(edit, CellEdit)})
        for edit in edits:
            if isinstance(edit, NameEdit):
                changes |= self._name(edit.name)
        for table in dict.fromkeys(edit.table for edit in edits if isinstance(edit, RowEdit)):
            rows = {edit.row for edit in edits if isinstance(edit, RowEdit) and edit.table == table}
            changes |= self._added_rows(table, rows) | self._lost_rows(table, rows, changes)
        return changes

    def _name(self, name: str) -> Changes:
        """A name back where it belongs; nothing where its place is gone."""
        due = self.returned.due_now(name)
        return Changes(names={name: due} if due else {})

    def _added_rows(self, table: str, rows: set[int]) -> Changes:
        """Rows that were added are blank again."""
        added = (row.found for number, row in enumerate(self.rows[table]) if number in rows and row.issued is None)
        return Changes({cell.place: Cell(None, None) for found in added if found for cell in flat(found.values())})

    def _lost_rows(self, table: str, rows: set[int], changes: Changes) -> Changes:
        """A table with rows that it has lost stands on a sheet of its own, under its heading.

        Nothing else can be moved out of the way: below the table there may be another.
        """
        if not any(row.found is None for number, row in enumerate(self.rows[table]) if number in rows):
            return Changes()
        kept = [row for number, row in enumerate(self.rows[table]) if row.found is not None or number in rows]
        cells: dict[CellAddress, Cell] = {}
        names: dict[str, CellRange] = {}
        sheet, column = f"\0{table}", 1
        for name in self._columns(table):
            filled = [self._column(row, name, changes) for row in kept]
            width = max(map(len, filled), default=1)
            names[name] = CellRange(sheet, 2, column, 1 + len(kept), column + width - 1)
            for line, values in enumerate(filled, 2):
                cells |= {CellAddress(sheet, line, column + place): cell for place, cell in enumerate(values)}
            column += width
        if f"{table}_heading" in self.returned.content.anchors:
            names[f"{table}_heading"] = CellRange(sheet, 1, 1, 1, 1)
        return Changes(cells, names)

    def _columns(self, table: str) -> list[str]:
        return [*next(row.issued for row in self.rows[table] if row.issued is not None)]

    def _column(self, row: TableRow, name: str, changes: Changes) -> list[Cell]:
        """What stands in one row of one column, edits put back where `changes` says so."""
        if row.found is None:
            issued = (row.issued or {}).get(name)
            return [Cell(value, None) for value in (issued if isinstance(issued, list) else [issued])]
        found = flat([row.found.get(name)])
        return [changes.cells.get(cell.place, Cell(cell.value, cell.formula)) for cell in found] or [Cell(None, None)]
