"""The functions that our formulas may use, with the meanings that OpenFormula (OpenDocument 1.3 part 4) gives them.

`FUNCTIONS` is the table of contents: how each argument is read, and the function over what was read. Arguments are
read as
- `one`: one value; over arrays the function is worked out for each cell,
- `many`: any number of values, where cells and arrays count by their numbers alone (OpenFormula, NumberSequence),
- `grid`: a rectangle of values, each in its place; sums of ranges in it are worked out cell by cell,
- `cells`: the same of cells as they stand; a sum of ranges there is one value unless all is worked out cell by cell,
- `place`: where cells are, whatever is in them.
"""

import math
import re
from collections.abc import Callable, Sequence
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, ROUND_UP, Decimal
from typing import NamedTuple

from quotebook.evaluation.values import (
    DIVIDED_BY_ZERO,
    LARGEST_ARRAY,
    NO_REFERENCE,
    NOT_A_NUMBER,
    NOT_A_VALUE,
    NOT_AVAILABLE,
    TOO_MUCH,
    Array,
    NotWorkedOut,
    Scalar,
    added,
    finite,
    number_in_text,
    number_of,
    order,
    truth_of,
)
from quotebook.spreadsheets.cells import CellRange, Fault, day_zero

ONE, MANY, GRID, CELLS, PLACE = "one", "many", "grid", "cells", "place"

LONG = 100_000.0
"""Numbers below this have their first ten decimals among their first 15 digits."""
MOST_ROUNDS = 100
"""Of the search for an internal rate of return."""
MOST_DECIMALS = 127
"""Of a number as text (Excel's help for FIXED)."""
LONGEST_PATTERN = 255
"""Characters of a text that is searched for (ECMA-376 and Excel's own limit of a text in a formula)."""
MOST_TIMES = 2.0**40
"""How often a divisor may go into a number (about where Excel gives #NUM! too); beyond, what is left is noise."""
FROM_1904 = 1_462
"""Days by which the serial numbers of a workbook that counts from 1904 are smaller."""
FALSE_LEAP_DAY = 60
"""The serial number of a 29 February 1900 that never was (ECMA-376 18.17.4.1)."""
AFTER_LAST_DAY = 2_958_466
"""The serial number of 1 January 10000, which no date reaches."""


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


class Numbers(list[float]):
    """The numbers of any number of arguments."""


def numbers_in(arguments: Sequence[Scalar | Array]) -> Numbers | Fault:
    """What counts as a number: in cells and arrays the numbers, by themselves also truths and texts of numbers."""
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
    """SUM: one after another; what is left of figures that cancel is not taken for 0, as it is between `+` and `-`."""
    return finite(sum(numbers, 0.0))


def _of_one(work_out: Callable[..., Scalar]) -> Callable[..., Scalar]:
    """A function of single numbers; the first error among them is the answer."""

    def function(*arguments: Scalar, **told: int) -> Scalar:
        numbers = []
        for argument in arguments:
            number = argument if type(argument) is float else number_of(argument)
            if isinstance(number, Fault):
                return number
            numbers.append(number)
        return work_out(*numbers, **told)

    return function


def _rounded(number: float, places: float, rounding: str) -> float | Fault:
    """To so many places of the number's first 15 digits, which are what spreadsheets keep."""
    if 0 <= places < 10 and -LONG < number < LONG and (number.is_integer() or round(number, int(places)) == number):
        return number  # as most are, having been rounded before
    exact = Decimal(f"{number:.15g}")
    if exact.is_zero() or places > 20 - exact.adjusted():
        return number
    if places < -309:
        return 0.0 if rounding == ROUND_HALF_UP else NOT_A_NUMBER
    unit = Decimal(1).scaleb(-int(places))
    return finite(float((exact / unit).to_integral_value(rounding) * unit))


def _round(number: float, places: float = 0.0) -> float | Fault:
    """ROUND (OpenFormula 6.17.5): a half goes away from zero."""
    return _rounded(number, places, ROUND_HALF_UP)


def _round_up(number: float, places: float = 0.0) -> float | Fault:
    """ROUNDUP: away from zero."""
    return _rounded(number, places, ROUND_UP)


def _fixed(number: float, places: float = 2.0, plain: float = 0.0) -> str | Fault:
    """FIXED (ECMA-376 18.17.7): a number as text of so many decimals, without commas if `plain`."""
    if places > MOST_DECIMALS:
        return NOT_A_VALUE
    rounded = _rounded(number, places, ROUND_HALF_UP)
    if isinstance(rounded, Fault):
        return rounded
    return f"{Decimal(f'{rounded:.15g}'):{'' if plain else ','}.{max(int(places), 0)}f}"


def _int(number: float) -> float:
    """INT: down to a whole number; one that is whole at 15 digits is itself."""
    return float(math.floor(float(f"{number:.15g}")))


def _mod(number: float, divisor: float) -> float | Fault:
    """MOD: what is left of `number - divisor * INT(number / divisor)`, with the divisor's sign."""
    if divisor == 0:
        return DIVIDED_BY_ZERO
    times = number / divisor
    return added(number, -divisor * _int(times)) if abs(times) < MOST_TIMES else NOT_A_NUMBER


def _truths(arguments: Sequence[Scalar | Array]) -> list[bool] | Fault:
    """A LogicalSequence (OpenFormula): in cells, texts and blanks do not count."""
    found = []
    for argument in arguments:
        if type(argument) is bool:
            found.append(argument)
            continue
        for cell in argument.cells if isinstance(argument, Array) else (argument,):
            if isinstance(argument, Array) and (cell is None or isinstance(cell, str)):
                continue
            truth = truth_of(cell)
            if isinstance(truth, Fault):
                return truth
            found.append(truth)
    return found or NOT_A_VALUE


def _and(*arguments: Scalar | Array) -> Scalar:
    """AND; of no truths at all, #VALUE!."""
    truths = _truths(arguments)
    return truths if isinstance(truths, Fault) else all(truths)


def _or(*arguments: Scalar | Array) -> Scalar:
    """OR; of no truths at all, #VALUE!."""
    truths = _truths(arguments)
    return truths if isinstance(truths, Fault) else any(truths)


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
        return _of_numbers(_sum)(first)
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


def _extreme(largest_first: bool) -> Callable[[Array | Scalar, Scalar], Scalar]:
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


class Line(Array):
    """A whole row, a whole column or all of the cells that INDEX was given."""


class Omitted:
    """In place of an argument that is not there at all, which is not one that was left blank."""


OMITTED = Omitted()


def _index(grid: Array, row: Scalar = 0.0, column: Scalar | Omitted = OMITTED) -> Scalar | Array:
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


def _match(wanted: Scalar, grid: Array, way: Scalar = 1.0) -> Scalar:
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
        equal = _equal_to(wanted)
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


def _equal_to(wanted: Scalar) -> Callable[[Scalar], bool]:
    """Whether a value is equal; a text is so without case, and by the wildcards in the wanted one."""
    if isinstance(wanted, str):
        return _pattern(wanted)
    return lambda cell: type(cell) is type(wanted) and order(cell, wanted) == 0


def _pattern(wanted: str) -> Callable[[Scalar], bool]:
    """Texts equal without case, where `*` stands for any text, `?` for any character, and `~` makes either itself.

    A text is read once, whatever the pattern is: the bits of `reached` are the pieces of the pattern that may be
    behind the characters read so far.
    """
    lower = wanted.lower()
    if not set(lower) & set("*?~"):
        return lambda cell: isinstance(cell, str) and cell.lower() == lower
    if len(lower) > LONGEST_PATTERN:
        return lambda cell: False
    goes_on_by: dict[str, int] = {}
    goes_on_by_any = stays = 0
    end = 1
    for piece in re.findall(r"~[*?~]|.", lower, re.DOTALL):
        if piece == "*":
            stays |= end
            continue
        if piece == "?":
            goes_on_by_any |= end
        else:
            goes_on_by[piece[-1]] = goes_on_by.get(piece[-1], 0) | end
        end <<= 1

    def matches(cell: Scalar) -> bool:
        if not isinstance(cell, str):
            return False
        reached = 1
        for character in cell.lower():
            reached = (reached & (goes_on_by.get(character, 0) | goes_on_by_any)) << 1 | reached & stays
            if not reached:
                return False
        return bool(reached & end)

    return matches


def _date(year: float, month: float, day: float, day_zero_later: int = 0) -> float | Fault:
    """DATE: a serial number; months and days beyond their ends run on, and years up to 1899 count from 1900."""
    years, months = int(year), int(month) - 1
    if 0 <= years < 1900:
        years += 1900
    years, months = years + months // 12, months % 12
    if not 1900 <= years <= 9999 or abs(day) > AFTER_LAST_DAY:
        return NOT_A_NUMBER
    first = (date(years, months + 1, 1) - day_zero(False)).days
    serial = first - (first < FALSE_LEAP_DAY) + int(day) - 1 - day_zero_later
    return float(serial) if 0 <= serial < AFTER_LAST_DAY - day_zero_later else NOT_A_NUMBER


def _part_of_day(part: Callable[[date], int]) -> Callable[..., Scalar]:
    """MONTH and YEAR of a serial number; 0 is in January 1900, and 60 the 29 February of that year that never was."""

    def function(serial: float, day_zero_later: int = 0) -> float | Fault:
        day = math.floor(serial) + day_zero_later
        if not 0 <= day < AFTER_LAST_DAY:
            return NOT_A_NUMBER
        return float(part(day_zero(False) + timedelta(days=day if day > FALSE_LEAP_DAY else max(2, min(day + 1, 60)))))

    return _of_one(function)


def _row(cells: CellRange) -> Scalar | Array:
    """ROW."""
    if cells.bottom - cells.top >= LARGEST_ARRAY:
        return TOO_MUCH
    rows: list[Scalar] = [float(row) for row in range(cells.top, cells.bottom + 1)]
    return rows[0] if len(rows) == 1 else Array(len(rows), 1, rows)


def _column(cells: CellRange) -> Scalar | Array:
    """COLUMN."""
    columns: list[Scalar] = [float(column) for column in range(cells.left, cells.right + 1)]
    return columns[0] if len(columns) == 1 else Array(1, len(columns), columns)


def _criteria(pairs: Sequence[Array | Scalar]) -> list[bool] | Fault:
    """For each cell whether every criterion holds there; #VALUE! where ranges and criteria do not pair off."""
    ranges = [cells for cells in pairs[::2] if isinstance(cells, Array)]
    wanted = [criterion for criterion in pairs[1::2] if not isinstance(criterion, Array)]
    if not len(ranges) == len(wanted) == len(pairs) / 2 or not _one_shape(ranges):
        return NOT_A_VALUE
    tests = [_criterion(criterion) for criterion in wanted]
    found = []
    for cells in zip(*(array.cells for array in ranges), strict=True):
        unknown = next((cell for cell in cells if isinstance(cell, NotWorkedOut)), None)
        if unknown:
            return unknown
        found.append(all(test(cell) for test, cell in zip(tests, cells, strict=True)))
    return found


def _criterion(wanted: Scalar) -> Callable[[Scalar], bool]:
    """A criterion (ECMA-376, COUNTIF): `">=5"`, or what a cell must be equal to; a blank one is 0."""
    if not isinstance(wanted, str):
        return _holding("=", 0.0 if wanted is None else wanted)
    sign = next((sign for sign in ("<>", "<=", ">=", "<", ">", "=") if wanted.startswith(sign)), "")
    rest = wanted[len(sign) :]
    if not rest and sign in ("", "=", "<>"):
        blanks = (None, "") if sign == "" else (None,)
        return lambda cell: (cell in blanks) is (sign != "<>")
    number = number_in_text(rest)
    if not isinstance(number, Fault):
        return _holding(sign or "=", number)
    truth = truth_of(rest)
    return _holding(sign or "=", rest if isinstance(truth, Fault) else truth)


def _holding(sign: str, wanted: Scalar) -> Callable[[Scalar], bool]:
    """Cells that stand so to a value of their own kind; a text of a number is equal to the number."""

    def equal(cell: Scalar) -> bool:
        if isinstance(wanted, float) and isinstance(cell, str):
            cell = number_in_text(cell)
        return cell == wanted if isinstance(cell, Fault) else same(cell)

    if sign in ("=", "<>"):
        same = _equal_to(wanted)
        return equal if sign == "=" else lambda cell: not equal(cell)
    holds = {"<": (-1,), "<=": (-1, 0), ">": (1,), ">=": (1, 0)}[sign]
    return lambda cell: type(cell) is type(wanted) and order(cell, wanted) in holds


def _one_shape(arrays: Sequence[Array]) -> bool:
    return len({(array.height, array.width) for array in arrays}) == 1


def _sumifs(added_up: Array, *pairs: Array | Scalar) -> Scalar:
    """SUMIFS."""
    holding = _criteria(pairs)
    if isinstance(holding, Fault):
        return holding
    if not _one_shape([added_up, pairs[0]]):  # type: ignore[list-item]  # _criteria has seen that it is an Array
        return NOT_A_VALUE
    chosen = [cell for cell, holds in zip(added_up.cells, holding, strict=True) if holds]
    numbers = numbers_in([Array(1, len(chosen), chosen)])
    return numbers if isinstance(numbers, Fault) else _sum(numbers)


def _countifs(*pairs: Array | Scalar) -> Scalar:
    """COUNTIFS."""
    holding = _criteria(pairs)
    return holding if isinstance(holding, Fault) else float(sum(holding))


def _npv(rate: Scalar, *flows: Scalar | Array) -> Scalar:
    """NPV: the first flow is one period away."""
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
    """IRR: the rate at which the present value is 0, by Newton's method and, where that fails, by halving."""
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
    """PMT: what is paid each period."""
    if periods == 0:
        return NOT_A_NUMBER
    if rate == 0:
        return finite(-(present + future) / periods)
    try:
        grown = math.pow(1 + rate, periods)
        return finite(-(present * grown + future) * rate / ((grown - 1) * (1 + rate * bool(at_start))))
    except (OverflowError, ValueError, ZeroDivisionError):
        return NOT_A_NUMBER


def _sln(cost: float, salvage: float, life: float) -> float | Fault:
    """SLN: depreciation by even parts."""
    return finite((cost - salvage) / life) if life else DIVIDED_BY_ZERO


FUNCTIONS = {
    "SUM": Function(_of_numbers(_sum), (MANY,), 1, 255),
    "ROUND": Function(_of_one(_round), (ONE,), 1, 2),
    "ROUNDUP": Function(_of_one(_round_up), (ONE,), 1, 2),
    "FIXED": Function(_of_one(_fixed), (ONE,), 1, 3),
    "AND": Function(_and, (MANY,), 1, 255),
    "OR": Function(_or, (MANY,), 1, 255),
    "NOT": Function(_not, (ONE,), 1, 1),
    "MIN": Function(_of_numbers(lambda numbers: min(numbers, default=0.0)), (MANY,), 1, 255),
    "MAX": Function(_of_numbers(lambda numbers: max(numbers, default=0.0)), (MANY,), 1, 255),
    "INDEX": Function(_index, (GRID, ONE, ONE), 1, 3),
    "MATCH": Function(_match, (ONE, CELLS, ONE), 2, 3),
    "SUMPRODUCT": Function(_sumproduct, (GRID,), 1, 255),
    "LARGE": Function(_extreme(True), (MANY, ONE), 2, 2),
    "SMALL": Function(_extreme(False), (MANY, ONE), 2, 2),
    "ABS": Function(_of_one(abs), (ONE,), 1, 1),
    "INT": Function(_of_one(_int), (ONE,), 1, 1),
    "MOD": Function(_of_one(_mod), (ONE,), 2, 2),
    "DATE": Function(_of_one(_date), (ONE,), 3, 3, of_days=True),
    "YEAR": Function(_part_of_day(lambda day: day.year), (ONE,), 1, 1, of_days=True),
    "MONTH": Function(_part_of_day(lambda day: day.month), (ONE,), 1, 1, of_days=True),
    "ROW": Function(_row, (PLACE,), 0, 1),
    "COLUMN": Function(_column, (PLACE,), 0, 1),
    "SUMIFS": Function(_sumifs, (CELLS, *(CELLS, ONE) * 127), 3, 255),
    "COUNTIFS": Function(_countifs, (CELLS, ONE) * 127, 2, 254),
    "NPV": Function(_npv, (ONE, MANY), 2, 255),
    "IRR": Function(_irr, (MANY, ONE), 1, 2, rounds=3 * MOST_ROUNDS),
    "PMT": Function(_of_one(_pmt), (ONE,), 3, 5),
    "SLN": Function(_of_one(_sln), (ONE,), 3, 3),
    "-": Function(_of_one(lambda number: -number), (ONE,), 1, 1),
}
"""IF and IFERROR, which do not always work out all of their arguments, stand in `programs`."""
