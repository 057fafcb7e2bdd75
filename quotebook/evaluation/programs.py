"""A formula's tree as a program: closures that work it out over the cells of a book, parsed once for each text.

A program is called with the book that it reads and the address of its own cell. In most places a formula
means one value, and a range there is the cell of it in the formula's own row or column (OpenFormula 3.3,
implicit intersection); what SUMPRODUCT multiplies is worked out for every cell of its ranges.
"""

from collections.abc import Callable
from functools import lru_cache
from typing import Protocol

from quotebook.evaluation.functions import FUNCTIONS, GRID, MANY, ONE, PLACE, Function
from quotebook.evaluation.trees import REMEMBERED, Call, Cells, Constant, Name, NotAFormula, Operation, Tree, tree_of
from quotebook.evaluation.values import (
    NOT_A_VALUE,
    OPERATORS,
    Array,
    NotWorkedOut,
    Scalar,
    over_arrays,
    truth_of,
)
from quotebook.spreadsheets.cells import CellAddress, CellRange, Fault


class Book(Protocol):
    """What a program reads."""

    def value(self, address: CellAddress) -> Scalar:
        """What a cell comes to."""

    def grid(self, cells: CellRange) -> Array | Fault:
        """Every cell of a range in its place."""

    def filled(self, cells: CellRange) -> Array | Fault:
        """The cells of a range that are not blank, one after another."""

    def named(self, name: str, sheet: str) -> CellRange | Scalar:
        """What a name stands for in the formulas of a sheet."""

    def sheet_called(self, name: str) -> str | None:
        """A sheet by its name, whatever its case."""


Program = Callable[[Book, CellAddress], Scalar]
Reader = Callable[[Book, CellAddress], "Scalar | Array | CellRange"]


def program_of(formula: str) -> Program:
    """The program of a formula's text; of a text that is no formula, one that says what it is."""
    return (_remembered if len(formula) <= REMEMBERED else _compiled)(formula)


def _compiled(formula: str) -> Program:
    try:
        return _single(tree_of(formula))
    except NotAFormula as error:
        reason = error.reason
        return lambda book, here: reason


_remembered = lru_cache(maxsize=1_024)(_compiled)


def _single(tree: Tree) -> Program:
    """Works a tree out to one value."""
    if isinstance(tree, Constant):
        value = tree.value.cells[0] if isinstance(tree.value, Array) else tree.value
        return lambda book, here: value
    if isinstance(tree, Operation):
        operate, left, right = OPERATORS[tree.sign], _single(tree.left), _single(tree.right)
        return lambda book, here: operate(left(book, here), right(book, here))
    if isinstance(tree, Call):
        work_out = _call(tree, over_cells=False)
        return lambda book, here: _first(work_out(book, here))
    where = _where(tree)
    return lambda book, here: _one_of(where(book, here), book, here)


def _first(found: Scalar | Array | CellRange) -> Scalar:
    return found.cells[0] if isinstance(found, Array) else found  # type: ignore[return-value]  # a call gives no range


def _one_of(cells: CellRange | Scalar, book: Book, here: CellAddress) -> Scalar:
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


def _where(tree: Cells | Name) -> Callable[[Book, CellAddress], CellRange | Scalar]:
    """Where a name or an address leads."""
    if isinstance(tree, Name):
        name, scope = tree.name, tree.sheet
        return lambda book, here: book.named(name, (book.sheet_called(scope) or "") if scope else here.sheet)
    sheet, top, left, bottom, right = tree.sheet, tree.top, tree.left, tree.bottom, tree.right

    def addressed(book: Book, here: CellAddress) -> CellRange | Scalar:
        title = here.sheet if sheet is None else book.sheet_called(sheet)
        return Fault("#REF!") if title is None else CellRange(title, top, left, bottom, right)

    return addressed


def _every(tree: Tree) -> Reader:
    """Works a tree out for every cell of the ranges in it."""
    if isinstance(tree, Constant):
        constant = tree.value
        return lambda book, here: constant
    if isinstance(tree, Operation):
        sign, left, right = tree.sign, _every(tree.left), _every(tree.right)
        return lambda book, here: over_arrays(sign, left(book, here), right(book, here))  # type: ignore[arg-type]  # _every gives no range
    if isinstance(tree, Call):
        return _call(tree, over_cells=True)
    where = _where(tree)

    def grid(book: Book, here: CellAddress) -> Scalar | Array:
        cells = where(book, here)
        if not isinstance(cells, CellRange):
            return cells
        found = book.grid(cells)
        return found.cells[0] if isinstance(found, Array) and len(found.cells) == 1 else found

    return grid


def _call(tree: Call, over_cells: bool) -> Reader:
    """Works a function out; `over_cells` says whether its single arguments may be arrays."""
    if tree.function in _CONDITIONAL:
        return _CONDITIONAL[tree.function](tree.arguments, over_cells)
    function = FUNCTIONS.get(tree.function)
    if function is None:
        unknown = NotWorkedOut(f"the function {tree.function[:40]}")
        return lambda book, here: unknown
    if not function.least <= len(tree.arguments) <= function.most:
        wrong = NotWorkedOut(f"{len(tree.arguments)} arguments of {tree.function}")
        return lambda book, here: wrong
    ways = [*function.reads, *[function.reads[-1]] * len(tree.arguments)][: len(tree.arguments)]
    if PLACE in ways or not ways:
        return _of_place(function, tree.arguments)
    arguments = [_READ[way](argument, over_cells) for way, argument in zip(ways, tree.arguments, strict=True)]
    if over_cells and ONE in ways:
        return _over_cells(function, ways, arguments)
    return _of_arguments(function, arguments)


def _of_arguments(function: Function, arguments: list[Reader]) -> Reader:
    work_out = function.work_out

    def worked_out(book: Book, here: CellAddress) -> Scalar | Array:
        read = [argument(book, here) for argument in arguments]
        for value in read:
            if isinstance(value, NotWorkedOut):
                return value
        return work_out(*read)

    return worked_out


def _over_cells(function: Function, ways: list[str], arguments: list[Reader]) -> Reader:
    """A function for each cell of the arrays among its single arguments."""

    def worked_out(book: Book, here: CellAddress) -> Scalar | Array:
        read = [argument(book, here) for argument in arguments]
        arrays = [value for value, way in zip(read, ways, strict=True) if way == ONE and isinstance(value, Array)]
        if not arrays:
            return function.work_out(*read)
        height, width = max(array.height for array in arrays), max(array.width for array in arrays)
        spread = [
            value.spread(height, width) if way == ONE and isinstance(value, Array) else [value] * (height * width)
            for value, way in zip(read, ways, strict=True)
        ]
        return Array(height, width, [_first(function.work_out(*each)) for each in zip(*spread, strict=True)])

    return worked_out


def _of_place(function: Function, arguments: tuple[Tree, ...]) -> Reader:
    """ROW and COLUMN: of cells, or of the formula's own cell."""
    if not arguments:
        return lambda book, here: function.work_out(CellRange(here.sheet, here.row, here.column, here.row, here.column))
    if not isinstance(arguments[0], (Cells, Name)):
        return lambda book, here: NOT_A_VALUE
    where = _where(arguments[0])

    def worked_out(book: Book, here: CellAddress) -> Scalar | Array:
        cells = where(book, here)
        return (
            function.work_out(cells)
            if isinstance(cells, CellRange)
            else cells
            if isinstance(cells, Fault)
            else NOT_A_VALUE
        )

    return worked_out


def _read_one(tree: Tree, over_cells: bool) -> Reader:
    return _every(tree) if over_cells else _single(tree)


def _read_many(tree: Tree, over_cells: bool) -> Reader:
    """Cells by what is in them, anything else by its value."""
    if isinstance(tree, (Cells, Name)):
        where = _where(tree)

        def filled(book: Book, here: CellAddress) -> Scalar | Array:
            cells = where(book, here)
            return book.filled(cells) if isinstance(cells, CellRange) else cells

        return filled
    return _every(tree) if over_cells or not isinstance(tree, Operation) else _single(tree)


def _read_grid(tree: Tree, over_cells: bool) -> Reader:
    read = _every(tree)

    def grid(book: Book, here: CellAddress) -> Scalar | Array:
        found = read(book, here)
        if isinstance(found, (Array, NotWorkedOut)):
            return found
        return Array(1, 1, [found])  # type: ignore[list-item]  # _every gives no range

    return grid


_READ = {ONE: _read_one, MANY: _read_many, GRID: _read_grid}


def _if(arguments: tuple[Tree, ...], over_cells: bool) -> Reader:
    """IF (OpenFormula 6.15.4): of its two answers only the one that is asked for is worked out."""
    if not 2 <= len(arguments) <= 3:
        wrong = NotWorkedOut(f"{len(arguments)} arguments of IF")
        return lambda book, here: wrong
    condition, *answers = (_read_one(argument, over_cells) for argument in arguments)
    if len(answers) == 1:
        answers.append(lambda book, here: False)

    def chosen(book: Book, here: CellAddress) -> Scalar | Array:
        found = condition(book, here)
        if isinstance(found, Array):
            return _if_each(found, *(answer(book, here) for answer in answers))  # type: ignore[arg-type]  # no range
        truth = truth_of(found)  # type: ignore[arg-type]  # no range
        if isinstance(truth, Fault):
            return truth
        return answers[0 if truth else 1](book, here)  # type: ignore[return-value]  # no range

    return chosen


def _if_each(conditions: Array, where_true: Scalar | Array, where_false: Scalar | Array) -> Array:
    answers = [answer if isinstance(answer, Array) else Array(1, 1, [answer]) for answer in (where_true, where_false)]
    height = max(array.height for array in (conditions, *answers))
    width = max(array.width for array in (conditions, *answers))
    cells = zip(*(array.spread(height, width) for array in (conditions, *answers)), strict=True)
    truths = ((truth_of(condition), yes, no) for condition, yes, no in cells)
    return Array(
        height, width, [truth if isinstance(truth, Fault) else yes if truth else no for truth, yes, no in truths]
    )


def _iferror(arguments: tuple[Tree, ...], over_cells: bool) -> Reader:
    """IFERROR: the second value where the first is an error; what is not worked out here is not known to be one."""
    if len(arguments) != 2:
        wrong = NotWorkedOut(f"{len(arguments)} arguments of IFERROR")
        return lambda book, here: wrong
    first, second = (_read_one(argument, over_cells) for argument in arguments)

    def caught(book: Book, here: CellAddress) -> Scalar | Array:
        found = first(book, here)
        if isinstance(found, Fault) and not isinstance(found, NotWorkedOut):
            return second(book, here)  # type: ignore[return-value]  # no range
        if isinstance(found, Array) and any(isinstance(cell, Fault) for cell in found.cells):
            instead = second(book, here)
            other = instead if isinstance(instead, Array) else Array(1, 1, [instead])  # type: ignore[list-item]
            cells = zip(found.cells, other.spread(found.height, found.width), strict=False)
            return Array(found.height, found.width, [no if isinstance(yes, Fault) else yes for yes, no in cells])
        return found  # type: ignore[return-value]  # no range

    return caught


_CONDITIONAL = {"IF": _if, "IFERROR": _iferror}
