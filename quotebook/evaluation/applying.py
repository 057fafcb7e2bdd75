"""How operators and functions are applied to what their arguments come to, cell by cell where those are arrays.

Each function here takes readers of the arguments and gives the reader of the result. Arrays are met in steps that
the book counts: of more than it has left, the result is TOO_MUCH.
"""

from collections.abc import Sequence

from quotebook.evaluation.book import Book, Reader, Value
from quotebook.evaluation.functions import Function
from quotebook.evaluation.lookups import Line
from quotebook.evaluation.values import LARGEST_ARRAY, TOO_MUCH, Array, NotWorkedOut, Scalar, over_arrays, truth_of
from quotebook.spreadsheets.cells import CellAddress, Fault

A_WHOLE_LINE = NotWorkedOut("a whole row or column where one value goes")


def first_of(found: Value) -> Scalar:
    """One value of what a function gives: of an array the first, of several cells none that is known here."""
    if not isinstance(found, Array):
        return found
    return A_WHOLE_LINE if isinstance(found, Line) else found.cells[0]


def operation(sign: str, left: Reader, right: Reader) -> Reader:
    """An operator between two values, either of which may be an array."""

    def worked_out(book: Book, here: CellAddress) -> Value:
        one, other = left(book, here), right(book, here)
        height, width = _extent([one, other])
        if height and not book.spend(height * width):
            return TOO_MUCH
        found = over_arrays(sign, one, other)
        return TOO_MUCH if isinstance(found, Array) and sign == "&" and not book.spend(found.weight()) else found

    return worked_out


def of_all(function: Function, arguments: Sequence[Reader]) -> Reader:
    """A function of all that its arguments come to, arrays whole; the first that is not worked out is the result."""
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


def of_each_cell(function: Function, arguments: Sequence[Reader], singly: Sequence[bool]) -> Reader:
    """A function for each cell of the arrays among those arguments that are taken `singly`, the others whole."""

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
        return Array(height, width, [first_of(function.work_out(*one, **told)) for one in zip(*spread, strict=True)])

    return worked_out


def chosen(condition: Reader, where_true: Reader, where_false: Reader) -> Reader:
    """IF: of its two answers only the one that is asked for is worked out, unless there are several conditions."""

    def choice(book: Book, here: CellAddress) -> Value:
        found = condition(book, here)
        if type(found) is bool:
            return where_true(book, here) if found else where_false(book, here)
        if isinstance(found, Array):
            return _chosen_each(book, found, where_true(book, here), where_false(book, here))
        truth = truth_of(found)
        if isinstance(truth, Fault):
            return truth
        return where_true(book, here) if truth else where_false(book, here)

    return choice


def _chosen_each(book: Book, conditions: Array, where_true: Value, where_false: Value) -> Value:
    arrays = [_as_array(value) for value in (where_true, where_false)]
    height, width = _extent([conditions, *arrays])
    if height * width > LARGEST_ARRAY or not book.spend(height * width):
        return TOO_MUCH
    cells = zip(*(array.spread(height, width) for array in (conditions, *arrays)), strict=True)
    truths = ((truth_of(condition), yes, no) for condition, yes, no in cells)
    return Array(
        height, width, [truth if isinstance(truth, Fault) else yes if truth else no for truth, yes, no in truths]
    )


def unless_error(first: Reader, second: Reader) -> Reader:
    """IFERROR: the second value where the first is an error; what is not worked out here is not known to be one."""

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
        cells = zip(found.spread(height, width), _as_array(instead).spread(height, width), strict=True)
        return Array(height, width, [no if _is_error(yes) else yes for yes, no in cells])

    return caught


def as_grid(reader: Reader) -> Reader:
    """Values in their places, a single one as an array of one cell; not what is not worked out."""

    def grid(book: Book, here: CellAddress) -> Value:
        found = reader(book, here)
        return found if isinstance(found, NotWorkedOut) else _as_array(found)

    return grid


def _as_array(value: Value) -> Array:
    return value if isinstance(value, Array) else Array(1, 1, [value])


def _extent(values: list[Value]) -> tuple[int, int]:
    """Height and width over all arrays among some values; of none, nothing."""
    arrays = [value for value in values if isinstance(value, Array)]
    return max((array.height for array in arrays), default=0), max((array.width for array in arrays), default=0)


def _is_error(value: Value) -> bool:
    return isinstance(value, Fault) and not isinstance(value, NotWorkedOut)
