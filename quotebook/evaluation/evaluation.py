"""What the cells of a workbook come to by its own formulas, in any state of the values that the file carries.

Cells are worked out when they are asked for, each once, and what each has read is kept: so a workbook with a
few cells otherwise costs only what rests on those cells. Nothing that stands in a file makes this raise, hang
or grow: formulas rest on one another at most MOST_DEEP deep, and all that is read stays below MOST_READ cells.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from quotebook.engine.money import number
from quotebook.evaluation.programs import program_of
from quotebook.evaluation.values import (
    IN_A_CIRCLE,
    LARGEST_ARRAY,
    NO_NAME,
    NO_REFERENCE,
    TOO_MUCH,
    Array,
    NotWorkedOut,
    Scalar,
)
from quotebook.spreadsheets.cells import RELATIVE, Cell, CellAddress, CellRange, Fault, Sheet, Workbook, target_range

MOST_DEEP = 40
"""Formulas that rest on each other in one line; a quote's own rest on each other 14 deep."""
MOST_READ = 3_000_000
"""Cells that formulas read in one evaluation, each as often as it is read."""

CellValue = Decimal | str | bool | Fault | None
Read = CellAddress | CellRange | str
"""What a formula reads: a cell, a range, or a name in lower case."""


@dataclass(frozen=True)
class Changes:
    """What is otherwise than in the file."""

    cells: Mapping[CellAddress, Cell] = field(default_factory=dict)
    names: Mapping[str, CellRange] = field(default_factory=dict)
    """Where names lead, in lower case, whatever the file says that they stand for on any sheet."""

    def __or__(self, others: "Changes") -> "Changes":
        return Changes({**self.cells, **others.cells}, {**self.names, **others.names})

    def __bool__(self) -> bool:
        return bool(self.cells or self.names)


class Evaluation:
    """The cells of one workbook, with `changes`, as its formulas make them; `known` are cells that need not be worked out."""

    def __init__(
        self, workbook: Workbook, changes: Changes | None = None, known: Mapping[CellAddress, CellValue] | None = None
    ):
        self.workbook, self.changes = workbook, changes or Changes()
        self._sheets: dict[str, Sheet] = {sheet.name: sheet for sheet in workbook.sheets}
        self._titles = {sheet.name.lower(): sheet.name for sheet in workbook.sheets}
        self._local = {(name.sheet, name.name.lower()): name.target for name in workbook.local_names if name.sheet}
        names = [name.name.lower() for name in workbook.local_names]
        self._alone = {name: target for (_, name), target in self._local.items() if names.count(name) == 1}
        self._values: dict[CellAddress, Scalar] = {address: _taken(value) for address, value in (known or {}).items()}
        self._reads: dict[CellAddress, list[Read]] = {}
        self._names: dict[tuple[str, str], CellRange | Scalar] = {}
        self._grids: dict[CellRange, Array] = {}
        self._reading: list[Read] = []
        self._depth = self._read = 0

    def cell(self, address: CellAddress) -> CellValue:
        """What a cell comes to, as the reader of a file gives cells: numbers at the 15 digits that spreadsheets keep."""
        try:
            value = self.value(address)
        except RecursionError:
            return NotWorkedOut("formulas within each other too deep to be worked out here")
        return number(value) if isinstance(value, float) else value

    def with_changes(self, changes: Changes) -> "Evaluation":
        """The same workbook with more changes; only what rests on them is worked out again."""
        other = Evaluation(self.workbook, self.changes | changes)
        stale = self._resting_on(changes)
        other._values = {address: value for address, value in self._values.items() if address not in stale}
        other._reads = {address: self._reads[address] for address in other._values if address in self._reads}
        return other

    def read_by(self, address: CellAddress) -> list[Read]:
        """What the formula of a cell has read; nothing where it was not worked out."""
        return self._reads.get(address, [])

    def direct_dependents(self, changes: Changes) -> set[CellAddress]:
        """The formulas worked out so far that read one of the changed cells or names themselves."""
        by_cell, by_range = self._readers()
        found = {reader for changed in (*changes.cells, *changes.names) for reader in by_cell.get(changed, ())}
        for cells, readers in by_range:
            if any(_is_in(address, cells) for address in changes.cells):
                found.update(readers)
        return found

    def _resting_on(self, changes: Changes) -> set[CellAddress]:
        """The changed cells, and the formulas that rest on a change, directly or through others."""
        by_cell, by_range = self._readers()
        reached: set[CellAddress] = set(changes.cells)
        new = [*changes.cells, *self.direct_dependents(changes)]
        while new:
            address = new.pop()
            reached.add(address)
            readers = [*by_cell.get(address, ())]
            for cells, others in by_range:
                if _is_in(address, cells):
                    readers += others
            new += [reader for reader in dict.fromkeys(readers) if reader not in reached]
            reached.update(readers)
        return reached

    def _readers(self) -> tuple[Mapping[Read, list[CellAddress]], list[tuple[CellRange, list[CellAddress]]]]:
        """The formulas that read each cell or name, and those that read each range."""
        by_read: dict[Read, list[CellAddress]] = defaultdict(list)
        for reader, reads in self._reads.items():
            for read in reads:
                by_read[read].append(reader)
        return by_read, [(read, readers) for read, readers in by_read.items() if isinstance(read, CellRange)]

    # What programs read

    def value(self, address: CellAddress) -> Scalar:
        """What a cell comes to, as formulas take it."""
        self._reading.append(address)
        if address in self._values:
            return self._values[address]
        cell = self._cell(address)
        if cell is None:
            return None
        if cell.formula is None:
            value = self._values[address] = _taken(cell.value)
            return value
        return self._worked_out(address, cell.formula)

    def _worked_out(self, address: CellAddress, formula: str) -> Scalar:
        if self._depth >= MOST_DEEP or self._read > MOST_READ:
            return TOO_MUCH
        self._values[address] = IN_A_CIRCLE
        outer, self._reading = self._reading, []
        self._depth += 1
        try:
            value = program_of(formula)(self, address)
        finally:
            self._depth -= 1
            self._read += len(self._reading)
            self._reads[address], self._reading = self._reading, outer
        value = 0.0 if value is None else value
        self._values[address] = value
        return value

    def _cell(self, address: CellAddress) -> Cell | None:
        changed = self.changes.cells.get(address)
        if changed is not None:
            return changed
        sheet = self._sheets.get(address.sheet)
        return sheet.cells.get((address.row, address.column)) if sheet else None

    def grid(self, cells: CellRange) -> Array | Fault:
        """Every cell of a range in its place."""
        height, width = cells.bottom - cells.top + 1, cells.right - cells.left + 1
        if height * width > LARGEST_ARRAY or self._read > MOST_READ:
            return TOO_MUCH
        if cells not in self._grids:
            rows, columns = range(cells.top, cells.bottom + 1), range(cells.left, cells.right + 1)
            places = (CellAddress(cells.sheet, row, column) for row in rows for column in columns)
            self._grids[cells] = Array(height, width, self._of(cells, places))
        self._reading.append(cells if height * width > 1 else CellAddress(cells.sheet, cells.top, cells.left))
        return self._grids[cells]

    def filled(self, cells: CellRange) -> Array | Fault:
        """The cells of a range that are not blank, one after another."""
        height, width = cells.bottom - cells.top + 1, cells.right - cells.left + 1
        if self._read > MOST_READ:
            return TOO_MUCH
        if height * width <= 64:
            return self.grid(cells)
        places = {CellAddress(cells.sheet, *place) for place in self._places(cells.sheet)} | self.changes.cells.keys()
        values = self._of(cells, sorted(address for address in places if _is_in(address, cells)))
        self._reading.append(cells)
        return Array(1, len(values), values)

    def _places(self, sheet: str) -> Iterable[tuple[int, int]]:
        found = self._sheets.get(sheet)
        return found.cells if found else ()

    def _of(self, cells: CellRange, addresses: Iterable[CellAddress]) -> list[Scalar]:
        """The values of a range's cells, which are not noted one by one as read."""
        outer, self._reading = self._reading, []
        values = [self.value(address) for address in addresses]
        self._reading = outer
        self._read += len(values)
        return values

    def named(self, name: str, sheet: str) -> CellRange | Scalar:
        """What a name stands for in the formulas of a sheet: its cells, or what its own formula comes to."""
        self._reading.append(name)
        key = name, sheet
        if key not in self._names:
            self._names[key] = self._meaning(name, sheet)
        return self._names[key]

    def _meaning(self, name: str, sheet: str) -> CellRange | Scalar:
        """A sheet's own name comes before the workbook's; a name of one sheet alone is known everywhere, since some
        programs write every name so."""
        if name in self.changes.names:
            return self.changes.names[name]
        target = self._local.get((sheet, name)) or self.workbook.names.get(name) or self._alone.get(name)
        if target is None:
            return NO_NAME
        found = target_range(target, self._titles)
        if found is not None:
            return found
        if "#REF!" in target.upper():
            return NO_REFERENCE
        if RELATIVE.search(target):
            return NotWorkedOut(f"the name {name[:40]}, which is no cell of its own")
        if self._depth >= MOST_DEEP:
            return TOO_MUCH
        self._depth += 1
        try:
            return program_of(target.removeprefix("="))(self, CellAddress(sheet, 1, 1))
        finally:
            self._depth -= 1

    def sheet_called(self, name: str) -> str | None:
        """A sheet by its name, whatever its case."""
        return self._titles.get(name.lower())


class FromCachedValues(Evaluation):
    """Each cell as its own formula makes it of the values that the file carries for the cells that it reads.

    A formula that `changes` puts somewhere is followed too, and so is one without a value.
    """

    def value(self, address: CellAddress) -> Scalar:
        cell = self._cell(address)
        if cell is None:
            return None
        carried = self._depth > 0 and cell.value is not None and address not in self.changes.cells
        if cell.formula is None or carried:
            return _taken(cell.value)
        if self._values.get(address) is IN_A_CIRCLE:
            return IN_A_CIRCLE
        return self._worked_out(address, cell.formula)


def _taken(value: CellValue) -> Scalar:
    return float(value) if isinstance(value, Decimal) else value


def _is_in(address: CellAddress, cells: CellRange) -> bool:
    return (
        address.sheet == cells.sheet
        and cells.top <= address.row <= cells.bottom
        and cells.left <= address.column <= cells.right
    )
