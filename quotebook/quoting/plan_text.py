"""Draws a floor of several panels in characters, seen from above with the near end at the bottom."""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from math import ceil, gcd, lcm

from quotebook.engine.mix import Placement

WIDTH = 80
LEAST_COLUMNS, LEAST_ROWS = 4, 2
"""Characters across and lines down that the smallest panel takes, with its near and its left edge."""


def draw_plan(placements: Sequence[Placement]) -> list[str] | None:
    """The plan, with each panel's number in the order given; None if it is wider than 80 columns."""
    unit = _common_length(placements)
    rows = ceil(LEAST_ROWS * unit / min(panel.length for panel in placements))
    columns = ceil(LEAST_COLUMNS * unit / min(panel.width for panel in placements))
    across = round(max(panel.x + panel.width for panel in placements) / unit)
    columns = max(columns, min(2 * rows, (WIDTH - 1) // across))  # a character is about twice as high as it is wide
    if across * columns + 1 > WIDTH:
        return None
    along = round(max(panel.y + panel.length for panel in placements) / unit)
    canvas = [[" "] * (across * columns + 1) for _ in range(along * rows + 1)]
    for number, panel in enumerate(placements, 1):
        left, right = (round(x / unit) * columns for x in (panel.x, panel.x + panel.width))
        top, bottom = ((along - round(y / unit)) * rows for y in (panel.y + panel.length, panel.y))
        _outline(canvas, left, right, top, bottom)
        text = str(number).center(right - left - 1)
        canvas[(top + bottom) // 2][left + 1 : right] = text
    return ["".join(row) for row in canvas]


def _common_length(placements: Sequence[Placement]) -> Decimal:
    """The greatest length that divides every side into whole parts."""
    sides = [Fraction(side) for panel in placements for side in (panel.width, panel.length)]
    scale = lcm(*(side.denominator for side in sides))
    return Decimal(gcd(*(int(side * scale) for side in sides))) / scale


def _outline(canvas: list[list[str]], left: int, right: int, top: int, bottom: int) -> None:
    for row in (top, bottom):
        for column in range(left, right):
            canvas[row][column] = "-" if canvas[row][column] == " " else canvas[row][column]
    for column in (left, right):
        for row in range(top, bottom):
            canvas[row][column] = "|" if canvas[row][column] == " " else canvas[row][column]
    for row in (top, bottom):
        canvas[row][left] = canvas[row][right] = "+"
