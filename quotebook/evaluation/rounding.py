"""Functions that round: ROUND, ROUNDUP, INT, MOD and FIXED, all at the 15 digits that spreadsheets keep."""

import math
from decimal import ROUND_HALF_UP, ROUND_UP, Decimal

from quotebook.evaluation.values import DIVIDED_BY_ZERO, NOT_A_NUMBER, NOT_A_VALUE, added, finite
from quotebook.spreadsheets.cells import Fault

LONG = 100_000.0
"""Numbers below this have their first ten decimals among their first 15 digits."""
MOST_DECIMALS = 127
"""Of a number as text (Excel's help for FIXED)."""
MOST_TIMES = 2.0**40
"""How often a divisor may go into a number (about where Excel gives #NUM! too); beyond, what is left is noise."""


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


def round_(number: float, places: float = 0.0) -> float | Fault:
    """ROUND (OpenFormula 6.17.5): a half goes away from zero."""
    return _rounded(number, places, ROUND_HALF_UP)


def round_up(number: float, places: float = 0.0) -> float | Fault:
    """ROUNDUP: away from zero."""
    return _rounded(number, places, ROUND_UP)


def fixed(number: float, places: float = 2.0, plain: float = 0.0) -> str | Fault:
    """FIXED (ECMA-376 18.17.7): a number as text of so many decimals, without commas if `plain`."""
    if places > MOST_DECIMALS:
        return NOT_A_VALUE
    rounded = _rounded(number, places, ROUND_HALF_UP)
    if isinstance(rounded, Fault):
        return rounded
    return f"{Decimal(f'{rounded:.15g}'):{'' if plain else ','}.{max(int(places), 0)}f}"


def int_(number: float) -> float:
    """INT: down to a whole number; one that is whole at 15 digits is itself."""
    return float(math.floor(float(f"{number:.15g}")))


def mod(number: float, divisor: float) -> float | Fault:
    """MOD: what is left of `number - divisor * INT(number / divisor)`, with the divisor's sign."""
    if divisor == 0:
        return DIVIDED_BY_ZERO
    times = number / divisor
    return added(number, -divisor * int_(times)) if abs(times) < MOST_TIMES else NOT_A_NUMBER
