"""The functions that formulas of ours may use, each with the meaning that OpenFormula (OpenDocument 1.3 part 4) gives it.

`FUNCTIONS` is the table of contents: how each argument is read, and the function over what was read. Arguments are
read as
- `one`: one value; over arrays the function is worked out for each cell,
- `many`: any number of values, where cells and arrays count by their numbers alone (OpenFormula 6.3.8, NumberSequence),
- `grid`: a rectangle of values, each in its place,
- `place`: where cells are, whatever is in them.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, ROUND_UP, Decimal
from typing import NamedTuple

from quotebook.evaluation.values import (
    DIVIDED_BY_ZERO,
    NO_REFERENCE,
    NOT_A_NUMBER,
    NOT_A_VALUE,
    NOT_AVAILABLE,
    TOO_MUCH,
    Array,
    Scalar,
    added,
    finite,
    number_in_text,
    number_of,
    order,
    truth_of,
)
from quotebook.spreadsheets.cells import CellRange, Fault, day_zero

ONE, MANY, GRID, PLACE = "one", "many", "grid", "place"

MOST_ROUNDS = 100
"""Of the search for an internal rate of return."""


class Function(NamedTuple):
    work_out: Callable[..., Scalar | Array]
    reads: tuple[str, ...]
    """How each argument is read; the last one's way holds for all further ones where `most` allows them."""
    least: int
    most: int


class Numbers(list[float]):
    """The numbers of any number of arguments."""


def numbers_in(arguments: Sequence[Scalar | Array]) -> Numbers | Fault:
    """What counts as a number: in cells and arrays the numbers, given by themselves also truths and texts of numbers."""
    found = Numbers()
    for argument in arguments:
        if isinstance(argument, Array):
            for cell in argument.cells:
                if isinstance(cell, Fault):
                    return cell
                if type(cell) is float:
                    found.append(cell)
            continue
        value = number_of(argument)
        if isinstance(value, Fault):
            return value
        found.append(value)
    return found


def _of_numbers(work_out: Callable[[Numbers], Scalar]) -> Callable[..., Scalar]:
    def function(*arguments: Scalar | Array) -> Scalar:
        numbers = numbers_in(arguments)
        return numbers if isinstance(numbers, Fault) else work_out(numbers)

    return function


def _sum(numbers: Numbers) -> Scalar:
    """6.16.61 SUM."""
    total = 0.0
    for number in numbers:
        total = added(total, number)
    return finite(total)


def _of_one(work_out: Callable[..., float | Fault]) -> Callable[..., Scalar]:
    """A function of single numbers; the first error among them is the answer."""

    def function(*arguments: Scalar) -> Scalar:
        numbers = [number_of(argument) for argument in arguments]
        for number in numbers:
            if isinstance(number, Fault):
                return number
        return work_out(*numbers)

    return function


def _rounded(number: float, places: float, rounding: str) -> float | Fault:
    """To so many places of the number's first 15 digits, which are what spreadsheets keep."""
    if abs(places) > 400:
        return number if places > 0 else 0.0
    unit = Decimal(1).scaleb(-int(places))
    exact = Decimal(f"{number:.15g}")
    if exact.is_zero() or unit.adjusted() < exact.adjusted() - 20:
        return number
    return finite(float((exact / unit).to_integral_value(rounding) * unit))


def _round(number: float, places: float = 0.0) -> float | Fault:
    """6.17.5 ROUND: a half goes away from zero."""
    return _rounded(number, places, ROUND_HALF_UP)


def _round_up(number: float, places: float = 0.0) -> float | Fault:
    """6.17.7 ROUNDUP: away from zero."""
    return _rounded(number, places, ROUND_UP)


def _int(number: float) -> float:
    """6.17.2 INT: down to a whole number; one that is whole at 15 digits is itself."""
    nearest = float(f"{number:.15g}")
    return float(math.floor(nearest))


def _mod(number: float, divisor: float) -> float | Fault:
    """6.16.39 MOD: with the divisor's sign."""
    return finite(number - divisor * math.floor(number / divisor)) if divisor else DIVIDED_BY_ZERO


def _truths(arguments: Sequence[Scalar | Array]) -> list[bool] | Fault:
    """6.3.13 LogicalSequence: in cells, texts and blanks do not count."""
    found = []
    for argument in arguments:
        for cell in argument.cells if isinstance(argument, Array) else (argument,):
            if isinstance(argument, Array) and (cell is None or isinstance(cell, str)):
                continue
            truth = truth_of(cell)
            if isinstance(truth, Fault):
                return truth
            found.append(truth)
    return found or NOT_A_VALUE


def _and(*arguments: Scalar | Array) -> Scalar:
    """6.15.2 AND."""
    truths = _truths(arguments)
    return truths if isinstance(truths, Fault) else all(truths)


def _or(*arguments: Scalar | Array) -> Scalar:
    """6.15.8 OR."""
    truths = _truths(arguments)
    return truths if isinstance(truths, Fault) else any(truths)


def _not(value: Scalar) -> Scalar:
    """6.15.7 NOT."""
    truth = truth_of(value)
    return truth if isinstance(truth, Fault) else not truth


def _sumproduct(*arrays: Array) -> Scalar:
    """6.16.64 SUMPRODUCT: of arrays of one shape; several must be numbers to count, in a single one as in SUM."""
    first = arrays[0]
    if any((array.height, array.width) != (first.height, first.width) for array in arrays):
        return NOT_A_VALUE
    if len(arrays) == 1:
        return _of_numbers(_sum)(first)
    total = 0.0
    for cells in zip(*(array.cells for array in arrays), strict=True):
        product = 1.0
        for cell in cells:
            if isinstance(cell, Fault):
                return cell
            product *= cell if type(cell) is float else 0.0
        total = added(total, product)
    return finite(total)


def _extreme(largest_first: bool) -> Callable[[Array | Scalar, Scalar], Scalar]:
    """6.18.46 LARGE and 6.18.70 SMALL: the number of that rank."""

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


def _index(grid: Array, row: Scalar = 0.0, column: Scalar = None) -> Scalar | Array:
    """6.14.6 INDEX: 0 for a whole row or column; of a single row or column, the one number is along it."""
    at = [number_of(row), number_of(column)]
    for number in at:
        if isinstance(number, Fault):
            return number
    row, column = (int(number) for number in at)  # type: ignore[arg-type]  # neither is a Fault
    if grid.height == 1 and column == 0 and grid.width > 1:
        row, column = 0 if row == 0 else 1, row
    if not (0 <= row <= grid.height and 0 <= column <= grid.width):
        return NO_REFERENCE
    rows = range(row - 1, row) if row else range(grid.height)
    columns = range(column - 1, column) if column else range(grid.width)
    cells = [grid.cells[line * grid.width + place] for line in rows for place in columns]
    return cells[0] if len(cells) == 1 else Array(len(rows), len(columns), cells)


def _match(wanted: Scalar, grid: Array, way: Scalar = 1.0) -> Scalar:
    """6.14.9 MATCH: by 0 the first that is equal, by 1 the last that is no larger in ascending cells, by -1 the last no smaller."""
    kind = number_of(way)
    if isinstance(kind, Fault):
        return kind
    if isinstance(wanted, Fault):
        return wanted
    if grid.height > 1 and grid.width > 1:
        return NOT_AVAILABLE
    if kind == 0:
        equal = (
            _pattern(wanted)
            if isinstance(wanted, str)
            else lambda cell: type(cell) is type(wanted) and order(cell, wanted) == 0
        )
        return next((float(place) for place, cell in enumerate(grid.cells, 1) if equal(cell)), NOT_AVAILABLE)
    found: Scalar = NOT_AVAILABLE
    for place, cell in enumerate(grid.cells, 1):
        if cell is None or isinstance(cell, Fault) or type(cell) is not type(wanted):
            continue
        if order(cell, wanted) * (1 if kind > 0 else -1) > 0:
            break
        found = float(place)
    return found


def _pattern(wanted: str) -> Callable[[Scalar], bool]:
    """Texts equal without case, where `*` stands for any text, `?` for any character, and `~` makes either itself."""
    import re

    if not set(wanted) & set("*?~"):
        lower = wanted.lower()
        return lambda cell: isinstance(cell, str) and cell.lower() == lower
    pieces = re.findall(r"~[*?~]|\*|\?|[^*?]", wanted)
    written = "".join({"*": "[^\\0]*?", "?": "."}.get(piece, re.escape(piece[-1])) for piece in pieces)
    compiled = re.compile(
        written.replace("[^\\0]*?", ".*", 1) if written.count("[^\\0]*?") == 1 else written, re.I | re.S
    )
    return lambda cell: isinstance(cell, str) and len(cell) <= 1_000 and compiled.fullmatch(cell) is not None


def _date(year: float, month: float, day: float) -> float | Fault:
    """6.10.2 DATE, in a workbook that counts days from 1900: months and days beyond their ends run on."""
    year, months = int(year), int(month) - 1
    if 0 <= year < 1900:
        year += 1900
    year, months = year + months // 12, months % 12
    if not 1900 <= year <= 9999 or abs(day) > 4_000_000:
        return NOT_A_NUMBER
    serial = (date(year, months + 1, 1) - day_zero(False)).days + int(day) - 1
    return float(serial) if 0 <= serial < 2_958_466 else NOT_A_NUMBER


def _part_of_day(part: Callable[[date], int]) -> Callable[..., Scalar]:
    """6.10.13 MONTH, 6.10.23 YEAR: of a serial number."""

    def function(serial: float) -> float | Fault:
        if not 0 <= serial < 2_958_466:
            return NOT_A_NUMBER
        return float(part(day_zero(False) + timedelta(days=max(1, int(serial)))))

    return _of_one(function)


def _row(cells: CellRange) -> Scalar | Array:
    """6.13.29 ROW."""
    if cells.bottom - cells.top >= 100_000:
        return TOO_MUCH
    rows: list[Scalar] = [float(row) for row in range(cells.top, cells.bottom + 1)]
    return rows[0] if len(rows) == 1 else Array(len(rows), 1, rows)


def _column(cells: CellRange) -> Scalar | Array:
    """6.13.4 COLUMN."""
    columns: list[Scalar] = [float(column) for column in range(cells.left, cells.right + 1)]
    return columns[0] if len(columns) == 1 else Array(1, len(columns), columns)


def _criteria(pairs: Sequence[Array]) -> Iterator[bool]:
    """For each cell whether every criterion holds there (6.3.5 Criterion: `">=5"`, or a value that must be equal)."""
    tests = [_criterion(array.cells[0]) for array in pairs[1::2]]
    for cells in zip(*(array.cells for array in pairs[::2]), strict=True):
        yield all(test(cell) for test, cell in zip(tests, cells, strict=True))


def _criterion(wanted: Scalar) -> Callable[[Scalar], bool]:
    sign = ""
    if isinstance(wanted, str):
        sign = next((sign for sign in ("<>", "<=", ">=", "<", ">", "=") if wanted.startswith(sign)), "")
        rest = wanted[len(sign) :]
        number = number_in_text(rest) if rest else None
        wanted = rest if isinstance(number, Fault) or number is None else number
    if sign in ("", "=", "<>"):
        equal = (
            _pattern(wanted)
            if isinstance(wanted, str)
            else lambda cell: type(cell) is type(wanted) and order(cell, wanted) == 0
        )
        return equal if sign != "<>" else lambda cell: not equal(cell)
    holds = {"<": (-1,), "<=": (-1, 0), ">": (1,), ">=": (1, 0)}[sign]
    return lambda cell: type(cell) is type(wanted) and order(cell, wanted) in holds


def _one_shape(arrays: Sequence[Array]) -> bool:
    return len({(array.height, array.width) for array in arrays}) == 1


def _sumifs(added_up: Array, *pairs: Array) -> Scalar:
    """6.16.63 SUMIFS."""
    if len(pairs) % 2 or not _one_shape([added_up, *pairs[::2]]):
        return NOT_A_VALUE
    chosen = [cell for cell, holds in zip(added_up.cells, _criteria(pairs), strict=True) if holds]
    numbers = numbers_in([Array(1, len(chosen), chosen)])
    return numbers if isinstance(numbers, Fault) else _sum(numbers)


def _countifs(*pairs: Array) -> Scalar:
    """6.13.8 COUNTIFS."""
    if len(pairs) % 2 or not _one_shape(pairs[::2]):
        return NOT_A_VALUE
    return float(sum(_criteria(pairs)))


def _npv(rate: Scalar, *flows: Scalar | Array) -> Scalar:
    """6.12.30 NPV: the first flow is one period away."""
    each, numbers = number_of(rate), numbers_in(flows)
    if isinstance(each, Fault):
        return each
    if isinstance(numbers, Fault):
        return numbers
    if each == -1:
        return DIVIDED_BY_ZERO
    return finite(_present_value(each, numbers) / (1 + each))


def _present_value(rate: float, flows: Sequence[float]) -> float:
    """With the first flow now."""
    total = 0.0
    for flow in reversed(flows):
        total = total / (1 + rate) + flow
    return total


def _irr(flows: Array | Scalar, guess: Scalar = 0.1) -> Scalar:
    """6.12.24 IRR: the rate at which the present value is 0, by Newton's method and, where that fails, by halving."""
    numbers = numbers_in([flows])
    if isinstance(numbers, Fault):
        return numbers
    if not numbers or min(numbers) >= 0 or max(numbers) <= 0:
        return NOT_A_NUMBER
    rate = number_of(guess)
    if isinstance(rate, Fault):
        return rate
    for _ in range(MOST_ROUNDS):
        if not -0.999999 < rate < 1e6:
            break
        value = _present_value(rate, numbers)
        slope = (_present_value(rate + 1e-7, numbers) - value) / 1e-7
        if slope == 0:
            break
        step = value / slope
        rate -= step
        if abs(step) < 1e-13 * max(1.0, abs(rate)):
            return finite(rate)
    return _irr_by_halving(numbers)


def _irr_by_halving(flows: Sequence[float]) -> Scalar:
    low, high = -0.9999, 1e4
    if _present_value(low, flows) * _present_value(high, flows) > 0:
        return NOT_A_NUMBER
    for _ in range(200):
        middle = (low + high) / 2
        if _present_value(low, flows) * _present_value(middle, flows) <= 0:
            high = middle
        else:
            low = middle
    return finite((low + high) / 2)


def _pmt(rate: float, periods: float, present: float, future: float = 0.0, at_start: float = 0.0) -> float | Fault:
    """6.12.36 PMT: what is paid each period."""
    if periods == 0:
        return NOT_A_NUMBER
    if rate == 0:
        return finite(-(present + future) / periods)
    try:
        grown = (1 + rate) ** periods
        return finite(-(present * grown + future) * rate / ((grown - 1) * (1 + rate * bool(at_start))))
    except (OverflowError, ZeroDivisionError):
        return NOT_A_NUMBER


def _sln(cost: float, salvage: float, life: float) -> float | Fault:
    """6.12.45 SLN: depreciation by even parts."""
    return finite((cost - salvage) / life) if life else DIVIDED_BY_ZERO


FUNCTIONS = {
    "SUM": Function(_of_numbers(_sum), (MANY,), 1, 255),
    "ROUND": Function(_of_one(_round), (ONE,), 1, 2),
    "ROUNDUP": Function(_of_one(_round_up), (ONE,), 1, 2),
    "AND": Function(_and, (MANY,), 1, 255),
    "OR": Function(_or, (MANY,), 1, 255),
    "NOT": Function(_not, (ONE,), 1, 1),
    "MIN": Function(_of_numbers(lambda numbers: min(numbers, default=0.0)), (MANY,), 1, 255),
    "MAX": Function(_of_numbers(lambda numbers: max(numbers, default=0.0)), (MANY,), 1, 255),
    "INDEX": Function(_index, (GRID, ONE, ONE), 1, 3),
    "MATCH": Function(_match, (ONE, GRID, ONE), 2, 3),
    "SUMPRODUCT": Function(_sumproduct, (GRID,), 1, 255),
    "LARGE": Function(_extreme(True), (MANY, ONE), 2, 2),
    "SMALL": Function(_extreme(False), (MANY, ONE), 2, 2),
    "ABS": Function(_of_one(abs), (ONE,), 1, 1),
    "INT": Function(_of_one(_int), (ONE,), 1, 1),
    "MOD": Function(_of_one(_mod), (ONE,), 2, 2),
    "DATE": Function(_of_one(_date), (ONE,), 3, 3),
    "YEAR": Function(_part_of_day(lambda day: day.year), (ONE,), 1, 1),
    "MONTH": Function(_part_of_day(lambda day: day.month), (ONE,), 1, 1),
    "ROW": Function(_row, (PLACE,), 0, 1),
    "COLUMN": Function(_column, (PLACE,), 0, 1),
    "SUMIFS": Function(_sumifs, (GRID,), 3, 255),
    "COUNTIFS": Function(_countifs, (GRID,), 2, 254),
    "NPV": Function(_npv, (ONE, MANY), 2, 255),
    "IRR": Function(_irr, (MANY, ONE), 1, 2),
    "PMT": Function(_of_one(_pmt), (ONE,), 3, 5),
    "SLN": Function(_of_one(_sln), (ONE,), 3, 3),
    "-": Function(_of_one(lambda number: -number), (ONE,), 1, 1),
}
"""IF and IFERROR, which do not always work out all of their arguments, stand in `programs`."""
