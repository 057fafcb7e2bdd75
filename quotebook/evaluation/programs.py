"""A formula's tree as a program: closures that work it out over the cells of a book, parsed once for each text.

A program is called with the book that it reads and the address of its own cell. In most places a formula
means one value, and a range there is the cell of it in the formula's own row or column (OpenFormula 3.3,
implicit intersection); what SUMPRODUCT multiplies is worked out for every cell of its ranges.
"""

from collections.abc import Callable
from enum import Enum
from functools import lru_cache
from typing import Final, NamedTuple, Protocol, TypeVar

from quotebook.evaluation.functions import CELLS, FUNCTIONS, GRID, MANY, ONE, PLACE, Function
from quotebook.evaluation.lookups import Line
from quotebook.evaluation.trees import REMEMBERED, Call, Cells, Constant, Name, NotAFormula, Operation, Tree, tree_of
from quotebook.evaluation.values import (
    LARGEST_ARRAY,
    NO_REFERENCE,
    NOT_A_VALUE,
    OPERATORS,
    TOO_MUCH,
    Array,
    NotWorkedOut,
    Scalar,
    over_arrays,
    truth_of,
)
from quotebook.spreadsheets.cells import CellAddress, CellRange, Fault


class LookUp(Enum):
    """In place of a value: what a name means has to be looked up for the sheet on which it stands."""

    LOOK_UP = "look up"


LOOK_UP: Final = LookUp.LOOK_UP


class Book(Protocol):
    """What a program reads."""

    day_zero_later: int
    """By how many days its serial numbers count from a later day zero than that of 1900."""

    def spend(self, steps: int) -> bool:
        """Counts steps of work; whether there are any left."""

    def value(self, address: CellAddress) -> Scalar:
        """What a cell comes to."""

    def grid(self, cells: CellRange) -> Array | Fault:
        """Every cell of a range in its place."""

    def filled(self, cells: CellRange) -> Array | Fault:
        """The cells of a range that are not blank, one after another."""

    def named(self, name: str, sheet: str) -> CellRange | Scalar:
        """What a name stands for in the formulas of a sheet: its cells, or one value."""

    def value_named(self, name: str) -> Scalar | LookUp:
        """What the one cell comes to that a name stands for on every sheet; LOOK_UP where it is no such name."""

    def sheet_called(self, name: str) -> str | None:
        """A sheet by its name, whatever its case."""


A_WHOLE_LINE = NotWorkedOut("a whole row or column where one value goes")

Value = Scalar | Array
Found = TypeVar("Found", bound=Value)
Meaning = CellRange | Scalar
Run = Callable[[Book, CellAddress], Scalar]
Reader = Callable[[Book, CellAddress], Value]
Way = Callable[[Tree, bool], Reader]
"""How an argument is read; told whether everything is worked out cell by cell."""


class Program(NamedTuple):
    run: Run
    depth: int
    """Expressions within each other."""
    size: int
    """Expressions in all: the steps that it takes, without those over arrays and texts."""


def program_of(formula: str) -> Program:
    """The program of a formula's text; of a text that is no formula, one that says what it is."""
    return (_remembered if len(formula) <= REMEMBERED else _compiled)(formula)


def _compiled(formula: str) -> Program:
    try:
        tree = tree_of(formula)
    except NotAFormula as error:
        reason = error.reason
        return Program(lambda book, here: reason, 1, 1)
    return Program(_single(tree), _depth(tree), _size(tree))


_remembered = lru_cache(maxsize=1_024)(_compiled)


def value_of_part(tree: Tree) -> Run:
    """A part of a formula, worked out to one value."""
    return _single(tree)


def value_of_name(tree: Tree) -> Reader:
    """A name's own formula, which is worked out cell by cell wherever the name stands."""
    return _every(tree)


def _depth(tree: Tree) -> int:
    if isinstance(tree, Operation):
        return 1 + max(_depth(tree.left), _depth(tree.right))
    return 1 + max(map(_depth, tree.arguments), default=0) if isinstance(tree, Call) else 1


def _size(tree: Tree) -> int:
    if isinstance(tree, Operation):
        return 1 + _size(tree.left) + _size(tree.right)
    return 1 + sum(map(_size, tree.arguments)) if isinstance(tree, Call) else 1


def _single(tree: Tree) -> Run:
    """Works a tree out to one value."""
    if isinstance(tree, Constant):
        value = tree.value.cells[0] if isinstance(tree.value, Array) else tree.value
        return lambda book, here: value
    if isinstance(tree, Operation):
        operate, left, right = OPERATORS[tree.sign], _single(tree.left), _single(tree.right)
        return lambda book, here: operate(left(book, here), right(book, here))
    if isinstance(tree, Call):
        work_out = _call(tree, over_cells=False)
        return lambda book, here: found if type(found := work_out(book, here)) is float else _first(found)
    return _one_cell(tree)


def _one_cell(tree: Cells | Name) -> Run:
    """The one value that an address or a name means."""
    where = _where(tree)
    return _by_name(tree, lambda book, here: _one_of(where(book, here), book, here))


def _by_name(
    tree: Cells | Name, otherwise: Callable[[Book, CellAddress], Found]
) -> Callable[[Book, CellAddress], Found | Scalar]:
    """The value of the one cell that a name means on every sheet, as most do; else what `otherwise` reads."""
    name = _name_alone(tree)
    if name is None:
        return otherwise

    return lambda book, here: otherwise(book, here) if (value := book.value_named(name)) is LOOK_UP else value


def _name_alone(tree: Tree) -> str | None:
    """A name that is written without a sheet."""
    return tree.name if isinstance(tree, Name) and tree.sheet is None else None


def _first(found: Value) -> Scalar:
    """One value of what a function gives: of an array the first, of several cells none that is known here."""
    if not isinstance(found, Array):
        return found
    return A_WHOLE_LINE if isinstance(found, Line) else found.cells[0]


def _one_of(cells: Meaning, book: Book, here: CellAddress) -> Scalar:
    """The value of one cell; of a range that in the formula's own row or column."""
    if not isinstance(cells, CellRange):
        return cells
    sheet, top, left, bottom, right = cells
    if top == bottom and left == right:
        return book.value(CellAddress(sheet, top, left))
    if left == right and top <= here.row <= bottom:
        return book.value(CellAddress(sheet, here.row, left))
    if top == bottom and left <= here.column <= right:
        return book.value(CellAddress(sheet, top, here.column))
    return NOT_A_VALUE


def _where(tree: Cells | Name) -> Callable[[Book, CellAddress], Meaning]:
    """Where a name or an address leads."""
    if isinstance(tree, Name):
        name, scope = tree.name, tree.sheet

        def named(book: Book, here: CellAddress) -> Meaning:
            sheet = here.sheet if scope is None else book.sheet_called(scope)
            return NO_REFERENCE if sheet is None else book.named(name, sheet)

        return named
    sheet, top, left, bottom, right = tree.sheet, tree.top, tree.left, tree.bottom, tree.right

    def addressed(book: Book, here: CellAddress) -> Meaning:
        title = here.sheet if sheet is None else book.sheet_called(sheet)
        return NO_REFERENCE if title is None else CellRange(title, top, left, bottom, right)

    return addressed


def _every(tree: Tree) -> Reader:
    """Works a tree out for every cell of the ranges in it."""
    if isinstance(tree, Constant):
        constant = tree.value
        return lambda book, here: constant
    if isinstance(tree, Operation):
        return _operation(tree.sign, _every(tree.left), _every(tree.right))
    if isinstance(tree, Call):
        return _call(tree, over_cells=True)
    where = _where(tree)

    def grid(book: Book, here: CellAddress) -> Value:
        cells = where(book, here)
        if not isinstance(cells, CellRange):
            return cells
        found = book.grid(cells)
        return found.cells[0] if isinstance(found, Array) and len(found.cells) == 1 else found

    return _by_name(tree, grid)


def _operation(sign: str, left: Reader, right: Reader) -> Reader:
    def worked_out(book: Book, here: CellAddress) -> Value:
        one, other = left(book, here), right(book, here)
        height, width = _extent([one, other])
        if height and not book.spend(height * width):
            return TOO_MUCH
        found = over_arrays(sign, one, other)
        return TOO_MUCH if isinstance(found, Array) and sign == "&" and not book.spend(found.weight()) else found

    return worked_out


def _call(tree: Call, over_cells: bool, answers: Way | None = None) -> Reader:
    """Works a function out. `over_cells` says whether its single arguments may be arrays, `answers` how what it only
    hands on is read."""
    if tree.function in _CONDITIONAL:
        return _CONDITIONAL[tree.function](tree.arguments, over_cells, answers or _read_one)
    function = FUNCTIONS.get(tree.function)
    if function is None:
        return _always(NotWorkedOut(f"the function {tree.function[:40]}"))
    if not function.least <= len(tree.arguments) <= function.most:
        return _always(_miscounted(tree.function, tree.arguments))
    if PLACE in function.reads:
        return _of_place(function, tree.arguments)
    ways = [*function.reads, *[function.reads[-1]] * len(tree.arguments)][: len(tree.arguments)]
    arguments = [_READ[way](argument, over_cells) for way, argument in zip(ways, tree.arguments, strict=True)]
    return _of_arguments(function, arguments, [over_cells and way == ONE for way in ways])


def _always(value: Scalar) -> Reader:
    return lambda book, here: value


def _miscounted(function: str, arguments: tuple[Tree, ...]) -> NotWorkedOut:
    return NotWorkedOut(f"{len(arguments)} arguments of {function}")


def _of_arguments(function: Function, arguments: list[Reader], singly: list[bool]) -> Reader:
    """A function of what its arguments come to; for each cell of the arrays among those that are taken `singly`."""
    return _of_each_cell(function, arguments, singly) if any(singly) else _of_all(function, arguments)


def _of_all(function: Function, arguments: list[Reader]) -> Reader:
    of_days, of_numbers = function.of_days, function.of_numbers

    def worked_out(book: Book, here: CellAddress) -> Value:
        read: list[Value] = []
        cells, all_numbers = 0, True
        for argument in arguments:
            value = argument(book, here)
            if type(value) is not float:
                all_numbers = False
                if isinstance(value, NotWorkedOut):
                    return value
                if isinstance(value, Array):
                    cells += len(value.cells)
            read.append(value)
        if all_numbers and of_numbers is not None:
            return of_numbers(read)  # type: ignore[arg-type]  # nothing but numbers
        if cells and not book.spend(function.rounds * cells):
            return TOO_MUCH
        return function.work_out(*read, day_zero_later=book.day_zero_later) if of_days else function.work_out(*read)

    return worked_out


def _of_each_cell(function: Function, arguments: list[Reader], singly: list[bool]) -> Reader:
    def worked_out(book: Book, here: CellAddress) -> Value:
        read = [argument(book, here) for argument in arguments]
        for value in read:
            if isinstance(value, NotWorkedOut):
                return value
        arrays = [value for value in read if isinstance(value, Array)]
        if arrays and not book.spend(function.rounds * sum(len(array.cells) for array in arrays)):
            return TOO_MUCH
        told = {"day_zero_later": book.day_zero_later} if function.of_days else {}
        height, width = _extent([value for value, each in zip(read, singly, strict=True) if each])
        if not height:
            return function.work_out(*read, **told)
        if height * width > LARGEST_ARRAY:
            return TOO_MUCH
        if not book.spend(height * width * (1 + sum(len(array.cells) for array in arrays) * (not all(singly)))):
            return TOO_MUCH
        spread = [
            value.spread(height, width) if each and isinstance(value, Array) else [value] * (height * width)
            for value, each in zip(read, singly, strict=True)
        ]
        return Array(height, width, [_first(function.work_out(*one, **told)) for one in zip(*spread, strict=True)])

    return worked_out


def _extent(values: list[Value]) -> tuple[int, int]:
    """Height and width over all arrays among some values; of none, nothing."""
    arrays = [value for value in values if isinstance(value, Array)]
    return max((array.height for array in arrays), default=0), max((array.width for array in arrays), default=0)


def _of_place(function: Function, arguments: tuple[Tree, ...]) -> Reader:
    """ROW and COLUMN: of cells, or of the formula's own cell."""
    if not arguments:
        return lambda book, here: function.work_out(CellRange(here.sheet, here.row, here.column, here.row, here.column))
    if not isinstance(arguments[0], (Cells, Name)):
        return _always(NotWorkedOut("the place of what is no address"))
    where = _where(arguments[0])

    def worked_out(book: Book, here: CellAddress) -> Value:
        cells = where(book, here)
        if isinstance(cells, CellRange):
            return function.work_out(cells)
        return cells if isinstance(cells, Fault) else NOT_A_VALUE

    return worked_out


def _read_one(tree: Tree, over_cells: bool) -> Reader:
    return _every(tree) if over_cells else _single(tree)


def _read_many(tree: Tree, over_cells: bool) -> Reader:
    """Cells by what is in them, anything else by its value."""
    if isinstance(tree, (Cells, Name)):
        where, name = _where(tree), _name_alone(tree)

        def filled(book: Book, here: CellAddress) -> Value:
            value = book.value_named(name) if name else LOOK_UP
            if type(value) is float:  # which counts the same in a cell and by itself
                return value
            cells = where(book, here)
            return book.filled(cells) if isinstance(cells, CellRange) else cells

        return filled
    return _read_cells(tree, over_cells)


def _read_cells(tree: Tree, over_cells: bool) -> Reader:
    """Cells and arrays as they stand; between operators, one value unless all is worked out cell by cell."""
    if isinstance(tree, Call):
        return _call(tree, over_cells, _read_cells)
    return _single(tree) if isinstance(tree, Operation) and not over_cells else _every(tree)


def _read_grid(tree: Tree, over_cells: bool) -> Reader:
    return _every(tree)


def _as_grid(read: Way) -> Way:
    def reading(tree: Tree, over_cells: bool) -> Reader:
        reader = read(tree, over_cells)

        def grid(book: Book, here: CellAddress) -> Value:
            found = reader(book, here)
            return found if isinstance(found, (Array, NotWorkedOut)) else Array(1, 1, [found])

        return grid

    return reading


_READ: dict[str, Way] = {
    ONE: _read_one,
    MANY: _read_many,
    GRID: _as_grid(_read_grid),
    CELLS: _as_grid(_read_cells),
}


def _if(arguments: tuple[Tree, ...], over_cells: bool, answer: Way) -> Reader:
    """IF: of its two answers only the one that is asked for is worked out."""
    if not 2 <= len(arguments) <= 3:
        return _always(_miscounted("IF", arguments))
    condition = _read_one(arguments[0], over_cells)
    where_true, where_false = (
        _every(argument) if over_cells else answer(argument, over_cells)
        for argument in (*arguments[1:], Constant(False))[:2]
    )

    def chosen(book: Book, here: CellAddress) -> Value:
        found = condition(book, here)
        if type(found) is bool:
            return where_true(book, here) if found else where_false(book, here)
        if isinstance(found, Array):
            return _if_each(book, found, where_true(book, here), where_false(book, here))
        truth = truth_of(found)
        if isinstance(truth, Fault):
            return truth
        return where_true(book, here) if truth else where_false(book, here)

    return chosen


def _if_each(book: Book, conditions: Array, where_true: Value, where_false: Value) -> Value:
    arrays = [array if isinstance(array, Array) else Array(1, 1, [array]) for array in (where_true, where_false)]
    height, width = _extent([conditions, *arrays])
    if height * width > LARGEST_ARRAY or not book.spend(height * width):
        return TOO_MUCH
    cells = zip(*(array.spread(height, width) for array in (conditions, *arrays)), strict=True)
    truths = ((truth_of(condition), yes, no) for condition, yes, no in cells)
    return Array(
        height, width, [truth if isinstance(truth, Fault) else yes if truth else no for truth, yes, no in truths]
    )


def _iferror(arguments: tuple[Tree, ...], over_cells: bool, answer: Way) -> Reader:
    """IFERROR: the second value where the first is an error; what is not worked out here is not known to be one."""
    if len(arguments) != 2:
        return _always(_miscounted("IFERROR", arguments))
    first, second = (_read_one(argument, over_cells) for argument in arguments)

    def caught(book: Book, here: CellAddress) -> Value:
        found = first(book, here)
        if _is_error(found):
            return second(book, here)
        if not isinstance(found, Array) or not any(map(_is_error, found.cells)):
            return found
        instead = second(book, here)
        height, width = _extent([found, instead])
        if height * width > LARGEST_ARRAY or not book.spend(height * width):
            return TOO_MUCH
        others = (instead if isinstance(instead, Array) else Array(1, 1, [instead])).spread(height, width)
        cells = zip(found.spread(height, width), others, strict=True)
        return Array(height, width, [no if _is_error(yes) else yes for yes, no in cells])

    return caught


def _is_error(value: Value) -> bool:
    return isinstance(value, Fault) and not isinstance(value, NotWorkedOut)


_CONDITIONAL = {"IF": _if, "IFERROR": _iferror}
