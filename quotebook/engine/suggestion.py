"""The size of floor to suggest for the guests: figures that a workbook can work out live.

Each function is a figure, as in `floor`: of the quote, or of one floor line and its kind of panel.
The suggestion is the first of `advice.sizes` where space is no limit: of the floors that the dancers
fit on, with sides in a ratio of at most LONGEST_RATIO and at most MOST_A_SIDE panels along each, the
one of fewest panels, and of those the one nearest to square.

A spreadsheet has the numbers 1 to MOST_A_SIDE twice, down a column and along a row (`counts_across`,
`counts_along`), and scores all grids at once with operators alone, which every program spreads over
rows and columns as it does not with functions like ROUND. A grid's score is 10,000 for each panel
plus both sides (of floors of one area the squarest has the least sum of sides), and 1,000,000,000
for each limit that it breaks. `suggested_score_#` is the least score, and `suggested_across_#` the
largest count across with that score, or 0 where it is not below 1,000,000,000.
"""

from decimal import Decimal
from functools import lru_cache

from quotebook.engine.money import ZERO, round6, round_up

LONGEST_RATIO = Decimal("1.5")
"""Longer side over shorter side, at most, unless somebody asks for a longer floor."""

MOST_A_SIDE = 32


def area_needed(dancers: Decimal, area_per_dancer: Decimal, crowding_area: Decimal) -> Decimal:
    """Area for the guests who dance at once: never less than standing space for them, of which a crowd is warned."""
    return dancers * max(area_per_dancer, crowding_area)


@lru_cache(maxsize=256)
def suggested_across(
    panel_width: Decimal, panel_length: Decimal, area_needed: Decimal, longest_side: Decimal
) -> Decimal:
    """Panels across the suggested floor; 0 where none can be: no panel, no dancers, or a floor too long.

    Remembered, since a check prices the same floors again with each of their changes put back.
    """
    if not (panel_width and area_needed > 0):
        return ZERO
    scores = []
    for across in map(Decimal, range(1, MOST_A_SIDE + 1)):
        along = fewest_along(across, panel_width, panel_length, area_needed)
        width, length = across * panel_width, along * panel_length
        fits = along <= MOST_A_SIDE and round6(max(width, length) - longest_side) <= 0
        if fits and within_ratio(width, length):
            scores.append((across * along, width + length, -across))
    return -min(scores)[-1] if scores else ZERO


def suggested_along(
    suggested_across: Decimal, panel_width: Decimal, panel_length: Decimal, area_needed: Decimal
) -> Decimal:
    """Panels along the suggested floor; 0 where none is suggested."""
    return fewest_along(suggested_across, panel_width, panel_length, area_needed) if suggested_across else ZERO


def suggested_width(
    suggested_across: Decimal, panel_width: Decimal, suggested_along: Decimal, panel_length: Decimal
) -> Decimal:
    """The shorter side of the suggested floor."""
    return min(suggested_across * panel_width, suggested_along * panel_length)


def suggested_length(
    suggested_across: Decimal, panel_width: Decimal, suggested_along: Decimal, panel_length: Decimal
) -> Decimal:
    """The longer side of the suggested floor."""
    return max(suggested_across * panel_width, suggested_along * panel_length)


LINE_FIGURES = (suggested_across, suggested_along, suggested_width, suggested_length)


def fewest_along(
    across: Decimal,
    panel_width: Decimal,
    panel_length: Decimal,
    area_needed: Decimal,
    longest_ratio: Decimal = LONGEST_RATIO,
) -> Decimal:
    """The least panels along that give the area, and a width of at most `longest_ratio` times the length."""
    for_area = area_needed / (across * panel_width * panel_length)
    for_ratio = across * panel_width / (longest_ratio * panel_length)
    return round_up(max(for_area, for_ratio))


def within_ratio(width: Decimal, length: Decimal, longest_ratio: Decimal = LONGEST_RATIO) -> bool:
    """Whether the longer side is at most `longest_ratio` times the shorter."""
    return round6(max(width, length) - longest_ratio * min(width, length)) <= 0
