"""What cells must be equal to, or fulfil: texts with wildcards, and the criteria of SUMIFS and COUNTIFS."""

import re
from collections.abc import Callable, Sequence

from quotebook.evaluation.arguments import numbers_in, sum_of
from quotebook.evaluation.values import NOT_A_VALUE, Array, NotWorkedOut, Scalar, number_in_text, order, truth_of
from quotebook.spreadsheets.cells import Fault

LONGEST_PATTERN = 255
"""Characters of a text that is searched for (ECMA-376 and Excel's own limit of a text in a formula)."""


def equal_to(wanted: Scalar) -> Callable[[Scalar], bool]:
    """Whether a value is equal; a text is so without case, and by the wildcards in the wanted one."""
    if isinstance(wanted, str):
        return pattern(wanted)
    return lambda cell: type(cell) is type(wanted) and order(cell, wanted) == 0


def pattern(wanted: str) -> Callable[[Scalar], bool]:
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
        same = equal_to(wanted)
        return equal if sign == "=" else lambda cell: not equal(cell)
    holds = {"<": (-1,), "<=": (-1, 0), ">": (1,), ">=": (1, 0)}[sign]
    return lambda cell: type(cell) is type(wanted) and order(cell, wanted) in holds


def _one_shape(arrays: Sequence[Array]) -> bool:
    return len({(array.height, array.width) for array in arrays}) == 1


def sumifs(added_up: Array, *pairs: Array | Scalar) -> Scalar:
    """SUMIFS."""
    holding = _criteria(pairs)
    if isinstance(holding, Fault):
        return holding
    if not _one_shape([added_up, pairs[0]]):  # type: ignore[list-item]  # _criteria has seen that it is an Array
        return NOT_A_VALUE
    chosen = [cell for cell, holds in zip(added_up.cells, holding, strict=True) if holds]
    numbers = numbers_in([Array(1, len(chosen), chosen)])
    return numbers if isinstance(numbers, Fault) else sum_of(numbers)


def countifs(*pairs: Array | Scalar) -> Scalar:
    """COUNTIFS."""
    holding = _criteria(pairs)
    return holding if isinstance(holding, Fault) else float(sum(holding))
