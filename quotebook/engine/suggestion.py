"""The size of floor to suggest for the guests: figures that a workbook can work out live.

The suggestion is for the panel of the first line that has one. It is the first of `advice.sizes` where space is
no limit: of the floors that the dancers fit on, with sides in a ratio of at most LONGEST_RATIO and at most
MOST_A_SIDE panels along each, the one of fewest panels, and of those the one nearest to square.

For each number of panels across there is one floor to consider, that with the fewest panels along. Its score is
10,000 for each panel plus both sides, since of floors of one area the squarest has the least sum of sides; a
floor that is out of the question scores NO_FLOOR. The least score is suggested, with more panels across where two
floors share it.
"""

from decimal import Decimal
from functools import lru_cache
from typing import NamedTuple

from quotebook.engine.money import ZERO, round6, round_up

LONGEST_RATIO = Decimal("1.5")
"""Longer side over shorter side, at most, unless somebody asks for a longer floor."""

MOST_A_SIDE = 32

NO_FLOOR = Decimal(10**9)
"""The score of a floor that is out of the question."""


class Candidate(NamedTuple):
    """The floor to consider for one number of panels across."""

    along: Decimal
    """Panels along; 0 without a panel or dancers."""
    score: Decimal


def area_needed(dancers: Decimal, area_per_dancer: Decimal, crowding_area: Decimal) -> Decimal:
    """Area for the guests who dance at once: never less than standing space for them, of which a crowd is warned."""
    return dancers * max(area_per_dancer, crowding_area)


def suggested_panel_width(panel_width_each: tuple[Decimal, ...]) -> Decimal:
    """Width of the panel that the suggestion is for: that of the first line with a panel of the card; else 0."""
    return next((width for width in panel_width_each if width), ZERO)


def suggested_panel_length(panel_width_each: tuple[Decimal, ...], panel_length_each: tuple[Decimal, ...]) -> Decimal:
    """Length of the panel that the suggestion is for."""
    sides = zip(panel_width_each, panel_length_each, strict=True)
    return next((length for width, length in sides if width), ZERO)


@lru_cache(maxsize=256)
def candidates(
    panel_width: Decimal, panel_length: Decimal, area_needed: Decimal, longest_side: Decimal
) -> tuple[Candidate, ...]:
    """The floor to consider for 1, 2, ... MOST_A_SIDE panels across.

    Remembered, since a check prices the same floors again with each of their changes put back.
    """
    if not (panel_width and area_needed > 0):
        return (Candidate(ZERO, NO_FLOOR),) * MOST_A_SIDE
    found = []
    for across in map(Decimal, range(1, MOST_A_SIDE + 1)):
        along = fewest_along(across, panel_width, panel_length, area_needed)
        width, length = across * panel_width, along * panel_length
        fits = along <= MOST_A_SIDE and round6(max(width, length) - longest_side) <= 0
        score = across * along * 10_000 + round6(width + length)
        found.append(Candidate(along, score if fits and within_ratio(width, length) else NO_FLOOR))
    return tuple(found)


def suggested_across(
    suggested_panel_width: Decimal, suggested_panel_length: Decimal, area_needed: Decimal, longest_side: Decimal
) -> Decimal:
    """Panels across the suggested floor; 0 where none can be: no panel, no dancers, or a floor too long."""
    floors = candidates(suggested_panel_width, suggested_panel_length, area_needed, longest_side)
    least, across = min((floor.score, -number) for number, floor in enumerate(floors, 1))
    return ZERO - across if least < NO_FLOOR else ZERO


def suggested_along(
    suggested_across: Decimal, suggested_panel_width: Decimal, suggested_panel_length: Decimal, area_needed: Decimal
) -> Decimal:
    """Panels along the suggested floor; 0 where none is suggested."""
    if not suggested_across:
        return ZERO
    return fewest_along(suggested_across, suggested_panel_width, suggested_panel_length, area_needed)


def suggested_width(
    suggested_across: Decimal,
    suggested_panel_width: Decimal,
    suggested_along: Decimal,
    suggested_panel_length: Decimal,
) -> Decimal:
    """The shorter side of the suggested floor."""
    return min(suggested_across * suggested_panel_width, suggested_along * suggested_panel_length)


def suggested_length(
    suggested_across: Decimal,
    suggested_panel_width: Decimal,
    suggested_along: Decimal,
    suggested_panel_length: Decimal,
) -> Decimal:
    """The longer side of the suggested floor."""
    return max(suggested_across * suggested_panel_width, suggested_along * suggested_panel_length)


FIGURES = (
    suggested_panel_width,
    suggested_panel_length,
    suggested_across,
    suggested_along,
    suggested_width,
    suggested_length,
)


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
