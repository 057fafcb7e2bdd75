"""Functions that find a place, or what is in one: INDEX, MATCH, LARGE, SMALL, ROW and COLUMN."""

import math
from collections.abc import Callable

from quotebook.evaluation.arguments import numbers_in
from quotebook.evaluation.criteria import equal_to
from quotebook.evaluation.values import (
    LARGEST_ARRAY,
    NO_REFERENCE,
    NOT_A_NUMBER,
    NOT_A_VALUE,
    NOT_AVAILABLE,
    TOO_MUCH,
    Array,
    NotWorkedOut,
    Scalar,
    number_of,
    order,
)
from quotebook.spreadsheets.cells import CellRange, Fault


class Line(Array):
    """A whole row, a whole column or all of the cells that INDEX was given."""


class Omitted:
    """In place of an argument that is not there at all, which is not one that was left blank."""


OMITTED = Omitted()


def index(grid: Array, row: Scalar = 0.0, column: Scalar | Omitted = OMITTED) -> Scalar | Array:
    """INDEX: 0 for a whole row or column; of a single row, one number alone is along it."""
    if isinstance(column, Omitted):
        row, column = (1.0, row) if grid.height == 1 and grid.width > 1 else (row, 0.0)
    down, across = number_of(row), number_of(column)
    if isinstance(down, Fault):
        return down
    if isinstance(across, Fault):
        return across
    if min(down, across) <= -1:
        return NOT_A_VALUE
    if down >= grid.height + 1 or across >= grid.width + 1:
        return NO_REFERENCE
    rows = range(int(down) - 1, int(down)) if down >= 1 else range(grid.height)
    columns = range(int(across) - 1, int(across)) if across >= 1 else range(grid.width)
    cells = [grid.cells[line * grid.width + place] for line in rows for place in columns]
    return cells[0] if len(cells) == 1 else Line(len(rows), len(columns), cells)


def match(wanted: Scalar, grid: Array, way: Scalar = 1.0) -> Scalar:
    """MATCH, the place of a value in a row or column, among the cells of its kind; a blank is never found.

    By 0 the first that is equal, by 1 the last that is no larger in ascending cells, by -1 the last that is no
    smaller in descending ones.
    """
    kind = number_of(way)
    if isinstance(kind, Fault):
        return kind
    if isinstance(wanted, Fault):
        return wanted
    if wanted is None or (grid.height > 1 and grid.width > 1):
        return NOT_AVAILABLE
    unknown = next((cell for cell in grid.cells if isinstance(cell, NotWorkedOut)), None)
    if unknown:
        return unknown
    of_its_kind = [(float(place), cell) for place, cell in enumerate(grid.cells, 1) if type(cell) is type(wanted)]
    if kind == 0:
        equal = equal_to(wanted)
        return next((place for place, cell in of_its_kind if equal(cell)), NOT_AVAILABLE)
    direction = 1 if kind > 0 else -1
    low, high = 0, len(of_its_kind) - 1
    while low <= high:  # by halving, as programs do: it shows where cells are in no order
        middle = (low + high) // 2
        if order(of_its_kind[middle][1], wanted) * direction <= 0:
            low = middle + 1
        else:
            high = middle - 1
    return of_its_kind[low - 1][0] if low else NOT_AVAILABLE


def extreme(largest_first: bool) -> Callable[[Array | Scalar, Scalar], Scalar]:
    """LARGE and SMALL: the number of that rank, a broken rank rounded up."""

    def function(array: Array | Scalar, rank: Scalar) -> Scalar:
        numbers, at = numbers_in([array]), number_of(rank)
        if isinstance(numbers, Fault):
            return numbers
        if isinstance(at, Fault):
            return at
        at = math.ceil(at)
        if not 1 <= at <= len(numbers):
            return NOT_A_NUMBER
        if at == 1:
            return max(numbers) if largest_first else min(numbers)
        return sorted(numbers, reverse=largest_first)[int(at) - 1]

    return function


def row(cells: CellRange) -> Scalar | Array:
    """ROW."""
    if cells.bottom - cells.top >= LARGEST_ARRAY:
        return TOO_MUCH
    rows: list[Scalar] = [float(row) for row in range(cells.top, cells.bottom + 1)]
    return rows[0] if len(rows) == 1 else Array(len(rows), 1, rows)


def column(cells: CellRange) -> Scalar | Array:
    """COLUMN."""
    columns: list[Scalar] = [float(column) for column in range(cells.left, cells.right + 1)]
    return columns[0] if len(columns) == 1 else Array(1, len(columns), columns)
