"""Functions of money over time: NPV, IRR, PMT and SLN."""

import math
from collections.abc import Sequence

from quotebook.evaluation.arguments import numbers_in
from quotebook.evaluation.values import DIVIDED_BY_ZERO, NOT_A_NUMBER, Array, Scalar, finite, number_of
from quotebook.spreadsheets.cells import Fault

MOST_ROUNDS = 100
"""Of the search for an internal rate of return."""


def npv(rate: Scalar, *flows: Scalar | Array) -> Scalar:
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


def irr(flows: Array | Scalar, guess: Scalar = 0.1) -> Scalar:
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


def pmt(rate: float, periods: float, present: float, future: float = 0.0, at_start: float = 0.0) -> float | Fault:
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


def sln(cost: float, salvage: float, life: float) -> float | Fault:
    """SLN: depreciation by even parts."""
    return finite((cost - salvage) / life) if life else DIVIDED_BY_ZERO
