"""The functions that our formulas may use, with the meanings that OpenFormula (OpenDocument 1.3 part 4) gives them.

`FUNCTIONS` is the table of contents: how each argument is read, and the function over what was read. Arguments are
read as
- `one`: one value; over arrays the function is worked out for each cell,
- `many`: any number of values, where cells and arrays count by their numbers alone (OpenFormula, NumberSequence),
- `grid`: a rectangle of values, each in its place; sums of ranges in it are worked out cell by cell,
- `cells`: the same of cells as they stand; a sum of ranges there is one value unless all is worked out cell by cell,
- `place`: where cells are, whatever is in them.
"""

from collections.abc import Callable, Sequence
from typing import NamedTuple

from quotebook.evaluation.arguments import of_numbers, of_one, of_truths, sum_of
from quotebook.evaluation.criteria import countifs, sumifs
from quotebook.evaluation.dates import date_of, part_of_day
from quotebook.evaluation.finance import MOST_ROUNDS, irr, npv, pmt, sln
from quotebook.evaluation.lookups import column, extreme, index, match, row
from quotebook.evaluation.rounding import fixed, int_, mod, round_, round_up
from quotebook.evaluation.values import NOT_A_VALUE, Array, Scalar, finite, truth_of
from quotebook.spreadsheets.cells import Fault

ONE, MANY, GRID, CELLS, PLACE = "one", "many", "grid", "cells", "place"


class Function(NamedTuple):
    work_out: Callable[..., Scalar | Array]
    reads: tuple[str, ...]
    """How each argument is read; the last one's way holds for all further ones where `most` allows them."""
    least: int
    most: int
    rounds: int = 1
    """How often it goes over what it is given."""
    of_days: bool = False
    """Whether it is told, as `day_zero_later`, by how many days the workbook counts from a later day zero."""
    of_numbers: Callable[[Sequence[float]], Scalar] | None = None
    """What it is of arguments that are all numbers, sooner; None where that is no matter of its own."""


def _not(value: Scalar) -> Scalar:
    """NOT."""
    truth = truth_of(value)
    return truth if isinstance(truth, Fault) else not truth


def _sumproduct(*arrays: Array) -> Scalar:
    """SUMPRODUCT: of arrays of one shape, where what is no number counts as 0; of single cells, no text may be one."""
    first = arrays[0]
    if any((array.height, array.width) != (first.height, first.width) for array in arrays):
        return NOT_A_VALUE
    if len(arrays) == 1:
        return of_numbers(sum_of)(first)
    if len(first.cells) == 1 and any(isinstance(array.cells[0], str) for array in arrays):
        return NOT_A_VALUE
    total = 0.0
    for cells in zip(*(array.cells for array in arrays), strict=True):
        product = 1.0
        for cell in cells:
            if isinstance(cell, Fault):
                return cell
            product *= cell if type(cell) is float else 0.0
        total += product
    return finite(total)


def _of_many(work_out: Callable[[Sequence[float]], Scalar]) -> Function:
    """A function of any number of numbers, in cells or by themselves."""
    return Function(of_numbers(work_out), (MANY,), 1, 255, of_numbers=work_out)


def _of_single(work_out: Callable[..., Scalar], least: int, most: int) -> Function:
    """A function of single numbers."""
    return Function(of_one(work_out), (ONE,), least, most, of_numbers=lambda numbers: work_out(*numbers))


FUNCTIONS = {
    "SUM": _of_many(sum_of),
    "ROUND": _of_single(round_, 1, 2),
    "ROUNDUP": _of_single(round_up, 1, 2),
    "FIXED": _of_single(fixed, 1, 3),
    "AND": Function(of_truths(all), (MANY,), 1, 255),
    "OR": Function(of_truths(any), (MANY,), 1, 255),
    "NOT": Function(_not, (ONE,), 1, 1),
    "MIN": _of_many(lambda numbers: min(numbers, default=0.0)),
    "MAX": _of_many(lambda numbers: max(numbers, default=0.0)),
    "INDEX": Function(index, (GRID, ONE, ONE), 1, 3),
    "MATCH": Function(match, (ONE, CELLS, ONE), 2, 3),
    "SUMPRODUCT": Function(_sumproduct, (GRID,), 1, 255),
    "LARGE": Function(extreme(True), (MANY, ONE), 2, 2),
    "SMALL": Function(extreme(False), (MANY, ONE), 2, 2),
    "ABS": _of_single(abs, 1, 1),
    "INT": _of_single(int_, 1, 1),
    "MOD": _of_single(mod, 2, 2),
    "DATE": Function(of_one(date_of), (ONE,), 3, 3, of_days=True),
    "YEAR": Function(part_of_day(lambda day: day.year), (ONE,), 1, 1, of_days=True),
    "MONTH": Function(part_of_day(lambda day: day.month), (ONE,), 1, 1, of_days=True),
    "ROW": Function(row, (PLACE,), 0, 1),
    "COLUMN": Function(column, (PLACE,), 0, 1),
    "SUMIFS": Function(sumifs, (CELLS, *(CELLS, ONE) * 127), 3, 255),
    "COUNTIFS": Function(countifs, (CELLS, ONE) * 127, 2, 254),
    "NPV": Function(npv, (ONE, MANY), 2, 255),
    "IRR": Function(irr, (MANY, ONE), 1, 2, rounds=3 * MOST_ROUNDS),
    "PMT": _of_single(pmt, 3, 5),
    "SLN": _of_single(sln, 3, 3),
    "-": _of_single(lambda number: -number, 1, 1),
}
"""IF and IFERROR, which do not always work out all of their arguments, stand in `applying`."""
