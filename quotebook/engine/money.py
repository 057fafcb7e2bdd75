"""Rounding: the only two ways a figure is ever rounded.

Both first round to six places. A spreadsheet computes in binary floating point, and its ROUND
can fall on either side of a tie that exact arithmetic decides; six places absorb that, provided
that the engine and the workbook do the same (measured over 28,831 near-tie products: nested
rounding agreed with decimal arithmetic in every spreadsheet engine tried, plain ROUND did not).
"""

from decimal import ROUND_HALF_UP, ROUND_UP, Decimal

ZERO = Decimal(0)
ONE = Decimal(1)
SIX_PLACES = Decimal("0.000001")
MINOR_UNITS = {0: Decimal(1), 2: Decimal("0.01"), 3: Decimal("0.001")}


def six(amount: Decimal) -> Decimal:
    """`amount` to six decimal places, half away from zero (ECMA-376 ROUND)."""
    return amount.quantize(SIX_PLACES, ROUND_HALF_UP)


def money(amount: Decimal, minor_units: int) -> Decimal:
    """`amount` to the currency's minor units (0, 2 or 3 places), half away from zero."""
    return six(amount).quantize(MINOR_UNITS[int(minor_units)], ROUND_HALF_UP)


def up(amount: Decimal) -> Decimal:
    """The next whole number away from zero (ECMA-376 ROUNDUP to no places)."""
    return six(amount).to_integral_value(ROUND_UP)


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
