"""What the cells of a workbook come to by its own formulas, in any state of the values that the file carries.

Cells are worked out when they are asked for, each once, and what each has read is kept: so a workbook with a
few cells otherwise costs only what rests on those cells. Nothing that stands in a file makes this raise, hang
or grow: what is read and worked out is counted in steps, and formulas that rest on each other in a long line are
worked out from its far end.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from math import isfinite

from quotebook.engine.money import number
from quotebook.evaluation.book import LOOK_UP, LookUp
from quotebook.evaluation.dates import FROM_1904
from quotebook.evaluation.dependents import Dependents, Read
from quotebook.evaluation.names import Names
from quotebook.evaluation.programs import Program, program_of, value_of_name, value_of_part
from quotebook.evaluation.trees import Cells, Name, Tree
from quotebook.evaluation.values import (
    IN_A_CIRCLE,
    LARGEST_ARRAY,
    NO_REFERENCE,
    NOT_A_NUMBER,
    TOO_MUCH,
    Array,
    NotWorkedOut,
    Scalar,
)
from quotebook.spreadsheets.cells import Cell, CellAddress, CellRange, Fault, Sheet, Workbook

MOST_DEEP = 120
"""Expressions within each other in formulas that rest on each other, before those at the far end are worked out
first: Python allows no more than a thousand calls within each other."""
MOST_STEPS = 5_000_000
"""Cells read and expressions worked out in one evaluation; a quote's own formulas take some 150,000."""
SMALL_RANGE = 64
NAME_DEPTH = 10
"""Expressions within each other for which a name's own formula counts."""
SEVERAL_VALUES = NotWorkedOut("a name that stands for several values")

CellValue = Decimal | str | bool | Fault | None


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
    """The cells of one workbook, with `changes`, as its formulas make them.

    `known` are values of cells that need not be worked out. What they rest on is not read: no change may be among that.
    """

    def __init__(
        self, workbook: Workbook, changes: Changes | None = None, known: Mapping[CellAddress, CellValue] | None = None
    ):
        self.workbook, self.changes = workbook, changes or Changes()
        self._sheets: dict[str, Sheet] = {sheet.name: sheet for sheet in workbook.sheets}
        self._defined = Names(workbook, self.changes.names)
        self._values: dict[CellAddress, Scalar] = {address: _taken(value) for address, value in (known or {}).items()}
        self._as_read = self._values
        """What formulas take the cells for that they have read."""
        self._reads: dict[CellAddress, list[Read]] = {}
        self._names: dict[tuple[str, str], tuple[CellRange | Scalar, list[Read]]] = {}
        self._cells_named: dict[str, CellAddress | None] = {}
        self._numbers_named: dict[str, float] = {}
        """What the one cell of a name comes to, where that is known to be a number."""
        self._dependents = Dependents(self._reads, self._cells_named)
        self._grids: dict[CellRange, tuple[Array, int]] = {}
        self._reading: list[Read] = []
        self._awaited: dict[CellAddress, None] = {}
        """Cells that others wait for, each for the next."""
        self._under_way: dict[CellAddress, None] = {}
        """Cells that are being worked out, each inside the one before."""
        self._in_circles: set[CellAddress] = set()
        self._depth = self._steps = 0
        self.day_zero_later = FROM_1904 if workbook.date_1904 else 0

    def cell(self, address: CellAddress) -> CellValue:
        """What a cell comes to, as readers of files give cells: numbers at the 15 digits that spreadsheets keep."""
        try:
            value = self._values.get(address)
            value = self._settled(address) if value is None else value
        except RecursionError:
            return NotWorkedOut("formulas within each other too deep to be worked out here")
        return number(value) if isinstance(value, float) else value

    def _settled(self, address: CellAddress) -> Scalar:
        """What a cell comes to; where formulas rest on each other in a long line, by parts, the farthest first."""
        self._reading, self._awaited = [], {address: None}
        while True:
            last = next(reversed(self._awaited))
            try:
                value = self._come_to(last)
            except _TooDeep as found:
                self._awaited[found.address] = None
                continue
            del self._awaited[last]
            if not self._awaited:
                return value

    def work_out(self, part: Tree, here: CellAddress) -> CellValue:
        """What a part of the formula of a cell comes to there."""
        self.cell(here)  # so that all that the part reads is known by now
        value = value_of_part(part)(self, here)
        return number(value) if isinstance(value, float) else value

    def with_changes(self, changes: Changes) -> "Evaluation":
        """The same workbook with more changes; only what rests on them is worked out again."""
        other = type(self)(self.workbook, self.changes | changes)
        stale = self._dependents.all(changes.cells, changes.names)
        values = {address: value for address, value in self._values.items() if address not in stale}
        other._values.update(values)  # noqa: SLF001  (another evaluation, made here)
        other._reads.update((address, self._reads[address]) for address in values if address in self._reads)  # noqa: SLF001
        cells = ((name, cell) for name, cell in self._cells_named.items() if name not in changes.names)
        other._cells_named.update(cells)  # noqa: SLF001
        return other

    def read_by(self, address: CellAddress) -> list[Read]:
        """What the formula of a cell has read; nothing where it was not worked out."""
        return [*self._dependents.read_by(address)]

    def direct_dependents(self, changes: Changes) -> set[CellAddress]:
        """The formulas worked out so far that read one of the changed cells or names themselves."""
        return self._dependents.direct(changes.cells, changes.names)

    # What programs read

    def spend(self, steps: int) -> bool:
        """Counts steps of work; whether there are any left."""
        self._steps += steps
        if self._steps < MOST_STEPS:
            return True
        self._steps = MOST_STEPS
        return False

    def value(self, address: CellAddress) -> Scalar:
        """What a cell comes to, as formulas take it."""
        self._reading.append(address)
        value = self._as_read.get(address)
        if value is None:  # not read yet, or blank
            value = self._taken_for(address)
        if type(value) is str:
            self._steps += len(value) // 16
        return value

    def _come_to(self, address: CellAddress) -> Scalar:
        """What a cell comes to by its own formula, where it has one."""
        value = self._values.get(address)
        if value is not None:
            return value
        cell = self._cell(address)
        if cell is None:
            return None
        if cell.formula is not None:
            return self._by_formula(address, cell.formula)
        value = self._values[address] = _taken(cell.value)
        return value

    _taken_for = _come_to
    """What formulas take a cell for that none of them has read."""

    def _by_formula(self, address: CellAddress, formula: str) -> Scalar:
        if address in self._under_way or (self._under_way and address in self._awaited):
            waiting = [*dict.fromkeys((*self._awaited, *self._under_way))]
            self._in_circles.update(waiting[waiting.index(address) :])
            return IN_A_CIRCLE
        program = program_of(formula)
        if not self.spend(program.size):
            return TOO_MUCH
        if self._depth and self._depth + program.depth > MOST_DEEP:
            raise _TooDeep(address)
        value = self._worked_out(address, program)
        if address in self._in_circles:
            value = IN_A_CIRCLE
        elif isinstance(value, float):
            value = value + 0.0 if isfinite(value) else NOT_A_NUMBER  # 0 has no sign
        self._values[address] = 0.0 if value is None else value
        return self._values[address]

    def _worked_out(self, address: CellAddress, program: Program) -> Scalar:
        """What a formula comes to; notes what it reads."""
        outer, self._reading = self._reading, []
        self._under_way[address] = None
        self._depth += program.depth
        try:
            value = program.run(self, address)
            self._reads[address] = self._reading
            return value
        finally:
            self._depth -= program.depth
            del self._under_way[address]
            self._reading = outer

    def _cell(self, address: CellAddress) -> Cell | None:
        if address in self.changes.cells:
            return self.changes.cells[address]
        sheet = self._sheets.get(address.sheet)
        return sheet.cells.get(address[1:]) if sheet else None

    def grid(self, cells: CellRange) -> Array | Fault:
        """Every cell of a range in its place."""
        height, width = cells.bottom - cells.top + 1, cells.right - cells.left + 1
        if height == width == 1:
            value = self.value(CellAddress(cells.sheet, cells.top, cells.left))
            return Array(1, 1, [value]) if self.spend(1) else TOO_MUCH
        if height * width > LARGEST_ARRAY:
            return TOO_MUCH
        if cells not in self._grids:
            rows, columns = range(cells.top, cells.bottom + 1), range(cells.left, cells.right + 1)
            places = (CellAddress(cells.sheet, row, column) for row in rows for column in columns)
            array = Array(height, width, self._of(places))
            self._grids[cells] = array, array.weight()
        self._reading.append(cells)
        array, weight = self._grids[cells]
        return array if self.spend(weight) else TOO_MUCH

    def filled(self, cells: CellRange) -> Array | Fault:
        """The cells of a range that are not blank, one after another; a small range with its blanks."""
        sheet = self._sheets.get(cells.sheet)
        on_sheet = sheet.cells if sheet else {}
        size = (cells.bottom - cells.top + 1) * (cells.right - cells.left + 1)
        if size <= max(SMALL_RANGE, min(len(on_sheet), LARGEST_ARRAY)):
            return self.grid(cells)
        if not self.spend(len(on_sheet) + len(self.changes.cells)):
            return TOO_MUCH
        places = {CellAddress(cells.sheet, *place) for place in on_sheet} | self.changes.cells.keys()
        values = self._of(sorted(address for address in places if cells.holds(address)))
        self._reading.append(cells)
        return Array(1, len(values), values)

    def _of(self, addresses: Iterable[CellAddress]) -> list[Scalar]:
        """The values of a range's cells, which are not noted one by one as read."""
        outer, self._reading = self._reading, []
        try:
            return [self.value(address) for address in addresses]
        finally:
            self._reading = outer

    def named(self, name: str, sheet: str) -> CellRange | Scalar:
        """What a name stands for in the formulas of a sheet: its cells, or what its own formula comes to."""
        meaning, reads = self._names.get((name, sheet)) or self._looked_up(name, sheet)
        self._reading.append(name)
        self._reading += reads
        return meaning if self.spend(1 + len(reads)) else TOO_MUCH

    def value_named(self, name: str) -> Scalar | LookUp:
        """What the one cell comes to that a name stands for on every sheet; LOOK_UP where it is no such name."""
        self._reading.append(name)
        value = self._numbers_named.get(name)
        return self._looked_for(name) if value is None else value

    def _looked_for(self, name: str) -> Scalar | LookUp:
        """What `value_named` gives where that is not known to be a number."""
        try:
            cell = self._cells_named[name]
        except KeyError:
            cell = self._cells_named[name] = self._defined.cell(name)
        if cell is None:
            return LOOK_UP
        value = self.value(cell)
        if type(value) is float:
            self._numbers_named[name] = value
        return value

    def _looked_up(self, name: str, sheet: str) -> tuple[CellRange | Scalar, list[Read]]:
        """What a name stands for, and what that rests on; kept, since formulas say the same names again and again."""
        key = name, sheet
        self._names[key] = IN_A_CIRCLE, []
        outer, self._reading = self._reading, []
        try:
            self._names[key] = self._meaning(name, sheet), [*dict.fromkeys(self._reading)]
        except BaseException:  # also where a formula that it rests on has to be worked out first
            del self._names[key]
            raise
        finally:
            self._reading = outer
        return self._names[key]

    def _meaning(self, name: str, sheet: str) -> CellRange | Scalar:
        target = self._defined.target(name, sheet)
        return target if isinstance(target, (CellRange, Fault)) else self._by_tree(target, sheet)

    def _by_tree(self, tree: Tree, sheet: str) -> CellRange | Scalar:
        """What a name's own formula comes to: one more range or name, or one value."""
        if isinstance(tree, Cells):
            title = sheet if tree.sheet is None else self.sheet_called(tree.sheet)
            return NO_REFERENCE if title is None else CellRange(title, tree.top, tree.left, tree.bottom, tree.right)
        if self._depth > 2 * MOST_DEEP or not self.spend(1):
            return TOO_MUCH
        self._depth += NAME_DEPTH
        try:
            if isinstance(tree, Name):
                return self.named(tree.name, sheet)
            value = value_of_name(tree)(self, CellAddress(sheet, 1, 1))
            return SEVERAL_VALUES if isinstance(value, Array) else value
        finally:
            self._depth -= NAME_DEPTH

    def sheet_called(self, name: str) -> str | None:
        """A sheet by its name, whatever its case."""
        return self._defined.sheet_called(name)


class FromCachedValues(Evaluation):
    """Each cell as its own formula makes it of the values that the file carries for the cells that it reads.

    A formula that `changes` puts somewhere is followed too, and so is one without a value.
    """

    def __init__(self, workbook: Workbook, changes: Changes | None = None):
        super().__init__(workbook, changes)
        self._as_read = {}

    def _taken_for(self, address: CellAddress) -> Scalar:
        cell = self._cell(address) if address not in self.changes.cells else None
        if cell is None or cell.formula is None or cell.value is None:
            return self._come_to(address)
        value = self._as_read[address] = _taken(cell.value)
        return value


class _TooDeep(Exception):
    """A cell that has to be worked out before the one that was asked for."""

    def __init__(self, address: CellAddress):
        super().__init__(address)
        self.address = address


def _taken(value: CellValue) -> Scalar:
    return float(value) if isinstance(value, Decimal) else value
