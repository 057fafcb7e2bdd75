"""Values as formulas meet them, and the operators between them.

A value is a float, a text, a bool, None for a blank cell, or a `Fault` for an error; an `Array` holds
many. The rules are those of OpenFormula (OpenDocument 1.3 part 4, sections 4 to 6) and ECMA-376 part 1,
18.17; where programs differ, tests/evaluation/test_programs_differ.py says how, and which is followed.
"""

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from operator import eq, ge, gt, le, lt, mul, ne

from quotebook.spreadsheets.cells import Fault

Scalar = float | str | bool | None | Fault

NOT_A_VALUE, DIVIDED_BY_ZERO, NO_REFERENCE = Fault("#VALUE!"), Fault("#DIV/0!"), Fault("#REF!")
NO_NAME, NOT_A_NUMBER, NOT_AVAILABLE = Fault("#NAME?"), Fault("#NUM!"), Fault("#N/A")

LONGEST_TEXT = 32_767
"""Characters that a cell may hold ("Excel specifications and limits")."""
LONGEST_PLAIN_NUMBER = 20
"""Characters, without the sign, up to which Excel writes a number into a text without an exponent."""
LARGEST_ARRAY = 100_000
"""Cells of an array that is worked out; no sheet of a quote has more."""
MOST_CHARACTERS = 10_000_000
"""In all the texts of an array."""
NEAR = 1e-14
"""Numbers that differ by a larger part of themselves are not one at 15 digits."""
CANCELLED = 2.0**-48
"""A sum that is smaller than this part of its terms is noise of binary arithmetic, and counts as 0."""


@dataclass(frozen=True, slots=True)
class NotWorkedOut(Fault):
    """Stands for what this evaluator does not work out, and says what it is; no IFERROR catches it."""


TOO_MUCH = NotWorkedOut("more than is worked out here")
IN_A_CIRCLE = NotWorkedOut("a formula that rests on itself")
A_LINK = NotWorkedOut("a link to another file")
MAYBE_A_NUMBER = NotWorkedOut("a text that some programs take for a number")
PLAIN_SIGNS = set("0123456789.+-eE")
LIKE_A_NUMBER = re.compile(
    r"[-+($€£¥ ]*[0-9][0-9 .,:/%$€£¥()+-]*"
    r"(?:[-., ]*(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*[-., 0-9]*)?"
    r"(?:[ap]m?)?",
    re.IGNORECASE | re.ASCII,
)


@dataclass(frozen=True, slots=True)
class Array:
    """Cells of a rectangle, row by row."""

    height: int
    width: int
    cells: list[Scalar]

    def is_of(self, *kinds: type) -> bool:
        """Whether nothing but values of those types is in it."""
        return {*map(type, self.cells)} <= {*kinds}

    def weight(self) -> int:
        """What working with it costs, in steps: one for a cell, more for a long text."""
        return len(self.cells) + sum(len(cell) // 16 for cell in self.cells if isinstance(cell, str))

    def spread(self, height: int, width: int) -> list[Scalar]:
        """Its cells over a larger rectangle: one row for every row, one column for every column; #N/A where it ends."""
        if (self.height, self.width) == (height, width):
            return self.cells
        if self.width == 1:
            rows = [[cell] * width for cell in self.cells]
        elif self.width == width:
            rows = [self.cells[start : start + width] for start in range(0, len(self.cells), width)]
        else:
            padding: list[Scalar] = [NOT_AVAILABLE] * (width - self.width)
            rows = [self.cells[start : start + self.width] + padding for start in range(0, len(self.cells), self.width)]
        if self.height == 1:
            rows = rows * height
        rows += [[NOT_AVAILABLE] * width] * (height - len(rows))
        return [cell for row in rows for cell in row]


def number_of(value: Scalar) -> float | Fault:
    """A value where a number is wanted (OpenFormula 6.3.5): blank is 0, TRUE is 1, a text the number it reads as."""
    if type(value) is float:
        return value
    if value is None:
        return 0.0
    if isinstance(value, Fault):
        return value
    return number_in_text(value) if isinstance(value, str) else float(value)


def number_in_text(text: str) -> float | Fault:
    """A text of a plain number, in ASCII digits, as that number; #VALUE! for any other.

    `5 %`, `1,000` or `3/4` are numbers or dates in some programs and countries: what they come to is not known here.
    """
    text = text.strip(" ")
    if text[-1:].isdigit() or text.endswith("."):
        try:
            number = float(text) if set(text) <= PLAIN_SIGNS else math.inf
        except ValueError:
            number = math.inf
        if math.isfinite(number):
            return number
    return MAYBE_A_NUMBER if len(text) <= 40 and LIKE_A_NUMBER.fullmatch(text) else NOT_A_VALUE


def truth_of(value: Scalar) -> bool | Fault:
    """A value where a condition is wanted (OpenFormula 6.3.12)."""
    if isinstance(value, (bool, Fault)):
        return value
    if isinstance(value, str):
        return {"TRUE": True, "FALSE": False}.get(value.upper(), NOT_A_VALUE)
    return bool(value)


def text_of(value: Scalar) -> str | Fault:
    """A value joined to a text (OpenFormula 6.3.14): at most 15 digits, and no locale's separators."""
    if isinstance(value, (str, Fault)):
        return value
    if value is None:
        return ""
    return ("FALSE", "TRUE")[value] if isinstance(value, bool) else plain_text(value)


def plain_text(number: float) -> str:
    """A number as Excel writes it into a text: in full where that takes few characters, otherwise with an exponent."""
    digits = Decimal(f"{number:.15g}").normalize()
    in_full = f"{digits:f}"
    if not digits or len(in_full.lstrip("-")) <= LONGEST_PLAIN_NUMBER:
        return in_full.removeprefix("-") if not digits else in_full
    significant, _, exponent = f"{number:.14E}".partition("E")
    return f"{significant.rstrip('0').rstrip('.')}E{exponent}"


def finite(number: float) -> float | Fault:
    return number if math.isfinite(number) else NOT_A_NUMBER


def same_number(one: float, other: float) -> bool:
    """Whether two numbers are one at the 15 digits that spreadsheets keep."""
    return one == other or (abs(one - other) < NEAR * abs(one) and f"{one:.15g}" == f"{other:.15g}")


def added(one: float, other: float) -> float:
    """A sum in which what cancels leaves 0."""
    result = one + other
    return 0.0 if abs(result) < CANCELLED * abs(one) else result


def _subtracted(one: float, other: float) -> float:
    return added(one, -other)


def _divided(one: float, other: float) -> float | Fault:
    return one / other if other else DIVIDED_BY_ZERO


def _raised(one: float, other: float) -> float | Fault:
    """To a power: 0 to the 0 is an error, as in Excel (OpenFormula leaves it to the program)."""
    if one == 0 and other <= 0:
        return NOT_A_NUMBER if other == 0 else DIVIDED_BY_ZERO
    try:
        result = one**other
    except OverflowError:
        return NOT_A_NUMBER
    return result if isinstance(result, float) else NOT_A_NUMBER


def _of_numbers(operate: Callable[[float, float], float | Fault]) -> Callable[[Scalar, Scalar], Scalar]:
    """An operator between two values that count as numbers; an error on the left comes before one on the right."""

    def operator(one: Scalar, other: Scalar) -> Scalar:
        if type(one) is not float or type(other) is not float:
            one, other = number_of(one), number_of(other)
            if isinstance(one, Fault):
                return one
            if isinstance(other, Fault):
                return other
        result = operate(one, other)
        return result if type(result) is not float or math.isfinite(result) else NOT_A_NUMBER

    return operator


def joined(one: Scalar, other: Scalar) -> Scalar:
    """Two values as one text."""
    left, right = text_of(one), text_of(other)
    if isinstance(left, Fault):
        return left
    if isinstance(right, Fault):
        return right
    return left + right if len(left) + len(right) <= LONGEST_TEXT else NOT_A_VALUE


def order(one: Scalar, other: Scalar) -> int:
    """-1, 0 or 1 as one value comes before, is, or comes after another (ECMA-376 18.17.2.2): numbers before texts
    before FALSE and TRUE; texts without case; a blank is the nothing of the other's kind."""
    if one is None:
        one = _nothing_like(other)
    if other is None:
        other = _nothing_like(one)
    if isinstance(one, float) and isinstance(other, float):
        return 0 if same_number(one, other) else -1 if one < other else 1
    if isinstance(one, str) and isinstance(other, str):
        left, right = one.lower(), other.lower()
        return (left > right) - (left < right)
    left_kind, right_kind = _kind(one), _kind(other)
    if left_kind != right_kind:
        return -1 if left_kind < right_kind else 1
    return (one > other) - (one < other)  # type: ignore[operator]  # of one kind, and that is bool


def _nothing_like(other: Scalar) -> Scalar:
    return "" if isinstance(other, str) else False if isinstance(other, bool) else 0.0


def _kind(value: Scalar) -> int:
    return 2 if isinstance(value, bool) else 1 if isinstance(value, str) else 0


def _comparison(holds: Callable[[float, float], bool]) -> Callable[[Scalar, Scalar], Scalar]:
    def operator(one: Scalar, other: Scalar) -> Scalar:
        if type(one) is float and type(other) is float and (one == other or abs(one - other) >= NEAR * abs(one)):
            return holds(one, other)  # which is what `order` comes to for them, sooner
        if isinstance(one, Fault):
            return one
        return other if isinstance(other, Fault) else holds(order(one, other), 0)

    return operator


OPERATORS: dict[str, Callable[[Scalar, Scalar], Scalar]] = {
    "+": _of_numbers(added),
    "-": _of_numbers(_subtracted),
    "*": _of_numbers(mul),
    "/": _of_numbers(_divided),
    "^": _of_numbers(_raised),
    "&": joined,
    "=": _comparison(eq),
    "<>": _comparison(ne),
    "<": _comparison(lt),
    "<=": _comparison(le),
    ">": _comparison(gt),
    ">=": _comparison(ge),
}

_Numbers = list[float]
_OVER_NUMBERS: dict[str, Callable[[_Numbers, _Numbers], list[Scalar]]] = {
    "+": lambda ones, others: [
        0.0 if abs(found := 0.0 + one + other) < CANCELLED * abs(one) else found
        for one, other in zip(ones, others, strict=True)
    ],
    "-": lambda ones, others: [
        0.0 if abs(found := 0.0 + one - other) < CANCELLED * abs(one) else found
        for one, other in zip(ones, others, strict=True)
    ],
    "*": lambda ones, others: [float(found) for found in map(mul, ones, others)],
    ">=": lambda ones, others: [
        one >= other or (abs(one - other) < NEAR * abs(one) and same_number(one, other))
        for one, other in zip(ones, others, strict=True)
    ],
    "<": lambda ones, others: [
        one < other and not (abs(one - other) < NEAR * abs(one) and same_number(one, other))
        for one, other in zip(ones, others, strict=True)
    ],
}
"""Operators where nothing but numbers stands on either side: several times as fast over many cells."""
_OF_TRUTHS_TOO = ("+", "-", "*")
"""Those of them that take a truth for 1 or 0."""


def over_arrays(sign: str, one: Scalar | Array, other: Scalar | Array) -> Scalar | Array:
    """An operator between arrays, cell by cell (OpenFormula 3.3): what is one row or column counts for all of them."""
    if not isinstance(one, Array) and not isinstance(other, Array):
        return OPERATORS[sign](one, other)
    left = one if isinstance(one, Array) else Array(1, 1, [one])
    right = other if isinstance(other, Array) else Array(1, 1, [other])
    height, width = max(left.height, right.height), max(left.width, right.width)
    if height * width > LARGEST_ARRAY:
        return TOO_MUCH
    cells, others = left.spread(height, width), right.spread(height, width)
    if sign == "&" and _characters(cells) + _characters(others) > MOST_CHARACTERS:
        return TOO_MUCH
    kinds = (float, bool) if sign in _OF_TRUTHS_TOO else (float,)
    if sign in _OVER_NUMBERS and left.is_of(*kinds) and right.is_of(*kinds):
        found = _OVER_NUMBERS[sign](cells, others)  # type: ignore[arg-type]  # nothing but numbers
        if math.isfinite(sum(found)):  # type: ignore[arg-type]  # numbers and truths
            return Array(height, width, found)
    return Array(height, width, list(map(OPERATORS[sign], cells, others)))


def _characters(cells: list[Scalar]) -> int:
    return sum(len(cell) for cell in cells if isinstance(cell, str))
