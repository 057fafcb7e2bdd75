"""A formula's tree as a program: closures that work it out over the cells of a book, made once for each text.

A program is called with the book that it reads and the address of its own cell. In most places a formula means
one value; what SUMPRODUCT multiplies is worked out for every cell of its ranges.
"""

from collections.abc import Callable
from functools import lru_cache
from typing import NamedTuple

from quotebook.evaluation.applying import as_grid, chosen, first_of, of_all, of_each_cell, operation, unless_error
from quotebook.evaluation.book import Book, Reader, Run, Value
from quotebook.evaluation.functions import CELLS, FUNCTIONS, GRID, MANY, ONE, PLACE, Function
from quotebook.evaluation.references import every_cell, filled_cells, meaning_of, one_cell
from quotebook.evaluation.trees import REMEMBERED, Call, Cells, Constant, Name, NotAFormula, Operation, Tree, tree_of
from quotebook.evaluation.values import NOT_A_VALUE, OPERATORS, Array, NotWorkedOut, Scalar
from quotebook.spreadsheets.cells import CellAddress, CellRange, Fault

Way = Callable[[Tree, bool], Reader]
"""How an argument is read; told whether everything is worked out cell by cell."""


class Program(NamedTuple):
    run: Run
    depth: int
    """Expressions within each other."""
    size: int
    """Expressions in all: the steps that it takes, without those over arrays and long texts."""


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
        return lambda book, here: found if type(found := work_out(book, here)) is float else first_of(found)
    return one_cell(tree)


def _every(tree: Tree) -> Reader:
    """Works a tree out for every cell of the ranges in it."""
    if isinstance(tree, Constant):
        constant = tree.value
        return lambda book, here: constant
    if isinstance(tree, Operation):
        return operation(tree.sign, _every(tree.left), _every(tree.right))
    return _call(tree, over_cells=True) if isinstance(tree, Call) else every_cell(tree)


def _call(tree: Call, over_cells: bool, answers: Way | None = None) -> Reader:
    """Works a function out. `over_cells` says whether its single arguments may be arrays, `answers` how what it only
    hands on is read."""
    if tree.function == "IF":
        return _if(tree.arguments, over_cells, answers or _read_one)
    if tree.function == "IFERROR":
        return _iferror(tree.arguments, over_cells)
    function = FUNCTIONS.get(tree.function)
    if function is None:
        return _always(NotWorkedOut(f"the function {tree.function[:40]}"))
    if not function.least <= len(tree.arguments) <= function.most:
        return _always(_miscounted(tree.function, tree.arguments))
    if PLACE in function.reads:
        return _of_place(function, tree.arguments)
    ways = [*function.reads, *[function.reads[-1]] * len(tree.arguments)][: len(tree.arguments)]
    arguments = [_READ[way](argument, over_cells) for way, argument in zip(ways, tree.arguments, strict=True)]
    singly = [over_cells and way == ONE for way in ways]
    return of_each_cell(function, arguments, singly) if any(singly) else of_all(function, arguments)


def _if(arguments: tuple[Tree, ...], over_cells: bool, answer: Way) -> Reader:
    if not 2 <= len(arguments) <= 3:
        return _always(_miscounted("IF", arguments))
    where_true, where_false = (
        _every(argument) if over_cells else answer(argument, over_cells)
        for argument in (*arguments[1:], Constant(False))[:2]
    )
    return chosen(_read_one(arguments[0], over_cells), where_true, where_false)


def _iferror(arguments: tuple[Tree, ...], over_cells: bool) -> Reader:
    if len(arguments) != 2:
        return _always(_miscounted("IFERROR", arguments))
    first, second = (_read_one(argument, over_cells) for argument in arguments)
    return unless_error(first, second)


def _of_place(function: Function, arguments: tuple[Tree, ...]) -> Reader:
    """ROW and COLUMN: of cells, or of the formula's own cell."""
    if not arguments:
        return lambda book, here: function.work_out(CellRange(here.sheet, here.row, here.column, here.row, here.column))
    if not isinstance(arguments[0], (Cells, Name)):
        return _always(NotWorkedOut("the place of what is no address"))
    meaning = meaning_of(arguments[0])

    def worked_out(book: Book, here: CellAddress) -> Value:
        cells = meaning(book, here)
        if isinstance(cells, CellRange):
            return function.work_out(cells)
        return cells if isinstance(cells, Fault) else NOT_A_VALUE

    return worked_out


def _always(value: Scalar) -> Reader:
    return lambda book, here: value


def _miscounted(function: str, arguments: tuple[Tree, ...]) -> NotWorkedOut:
    return NotWorkedOut(f"{len(arguments)} arguments of {function}")


def _read_one(tree: Tree, over_cells: bool) -> Reader:
    return _every(tree) if over_cells else _single(tree)


def _read_many(tree: Tree, over_cells: bool) -> Reader:
    """Cells by what is in them, anything else by its value."""
    return filled_cells(tree) if isinstance(tree, (Cells, Name)) else _read_cells(tree, over_cells)


def _read_cells(tree: Tree, over_cells: bool) -> Reader:
    """Cells and arrays as they stand; between operators, one value unless all is worked out cell by cell."""
    if isinstance(tree, Call):
        return _call(tree, over_cells, _read_cells)
    return _single(tree) if isinstance(tree, Operation) and not over_cells else _every(tree)


_READ: dict[str, Way] = {
    ONE: _read_one,
    MANY: _read_many,
    GRID: lambda tree, over_cells: as_grid(_every(tree)),
    CELLS: lambda tree, over_cells: as_grid(_read_cells(tree, over_cells)),
}
"""How arguments are read (`functions` says what each way means)."""
