"""Rounding: the only two ways a figure is ever rounded, and the one way an amount is shared out.

Both roundings first go to six places. A spreadsheet computes in binary floating point, and its ROUND
can fall on either side of a tie that exact arithmetic decides; six places absorb that, provided
that the engine and the workbook do the same (measured over 28,831 near-tie products: nested
rounding agreed with decimal arithmetic in every spreadsheet engine tried, plain ROUND did not).
"""

from collections.abc import Sequence
from decimal import ROUND_HALF_UP, ROUND_UP, Decimal
from fractions import Fraction

ZERO = Decimal(0)
ONE = Decimal(1)
SIX_PLACES = Decimal("0.000001")
MINOR_UNITS = {0: Decimal(1), 2: Decimal("0.01"), 3: Decimal("0.001")}


def round6(amount: Decimal) -> Decimal:
    """`amount` to six decimal places, half away from zero (ECMA-376 ROUND)."""
    return amount.quantize(SIX_PLACES, ROUND_HALF_UP)


def money(amount: Decimal, minor_units: int | Decimal) -> Decimal:
    """`amount` to the currency's minor units (0, 2 or 3 places), half away from zero."""
    return round6(amount).quantize(MINOR_UNITS[int(minor_units)], ROUND_HALF_UP)


def round_up(amount: Decimal) -> Decimal:
    """The next whole number away from zero (ECMA-376 ROUNDUP to no places)."""
    return round6(amount).to_integral_value(ROUND_UP)


def in_minor_units(amount: Decimal, minor_units: int | Decimal) -> int:
    """An amount of money that is already rounded, as a whole number of minor units."""
    return int(amount.scaleb(int(minor_units)))


def in_major_units(amount: int, minor_units: int | Decimal) -> Decimal:
    """An amount of minor units as money in the currency's own unit, with all its decimal places."""
    return Decimal(amount).scaleb(-int(minor_units))


def split(amount: Decimal, weights: Sequence[Decimal], minor_units: int | Decimal) -> list[Decimal]:
    """`amount` shared out in proportion to `weights`, in whole minor units that sum to it exactly.

    By largest remainder (Hamilton's method): everyone gets the whole units of the exact share, and
    the units left over go to the largest fractions, of equal ones to the earlier. A negative amount
    is split as the positive one. Weights that are all 0 count as equal. Raises ValueError for an
    amount finer than the minor unit, for a negative weight and for no weights.
    """
    if money(amount, minor_units) != amount or not weights or min(weights) < 0:
        raise ValueError(f"cannot split {amount} by {list(weights)}")
    shares = [Fraction(weight) for weight in weights] if any(weights) else [Fraction(1)] * len(weights)
    units = in_minor_units(abs(amount), minor_units)
    due = [units * share / sum(shares) for share in shares]
    given = [int(exactly) for exactly in due]
    by_remainder = sorted(range(len(due)), key=lambda i: given[i] - due[i])
    for i in by_remainder[: units - sum(given)]:
        given[i] += 1
    sign = -1 if amount < 0 else 1
    return [sign * each * MINOR_UNITS[int(minor_units)] for each in given]


def number(text: str | float) -> Decimal:
    """A spreadsheet's number as a Decimal: the one place where a float becomes exact.

    Spreadsheet programs keep 15 significant digits ("Excel specifications and limits") and write
    the rest as noise (`0.070000000000000007`, `10.0100000000000000002`), so 15 are kept.
    Raises ValueError for text that is no number, and for infinities and NaN.
    """
    value = float(text)
    if value - value != 0:
        raise ValueError(f"not a finite number: {text!r}")
    return Decimal(f"{value:.15g}")


def plain(number: Decimal) -> str:
    """A number as people write it, without an exponent unless it is out of all proportion."""
    return f"{number.normalize():f}" if abs(number) < 10**15 else f"{number:.3E}"
