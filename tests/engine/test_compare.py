"""Choosing between kinds: one floor laid in each."""

from dataclasses import replace
from decimal import Decimal as D
from itertools import combinations_with_replacement
from pathlib import Path

import pytest
import random_quotes as any_
from hypothesis import given
from worked_example import LARGE, RATES, REQUEST

from quotebook.engine.compare import choices
from quotebook.engine.model import FloorLine, Request
from quotebook.engine.price import price
from quotebook.rate_card.reader import read_rate_card

TEMPLATES = Path(__file__).parents[2] / "templates"
ON_GRASS = Request(days=D(1), surface="grass", lines=(FloorLine("", D(16), D(20)),))
QUICK = replace(RATES, unload_minutes=D(0))
"""Panels only: nothing counted for unloading."""


def test_two_people_lay_20_panels_in_about_ten_minutes():
    """16 x 20 ft of 4x4 at one minute a panel (common practice, no source)."""
    large = choices(QUICK, ON_GRASS)[0]
    assert (large.panels, large.minutes, large.elapsed_minutes) == (20, 20, 10)


@pytest.mark.parametrize(("card", "sides"), [("rate_card", range(12, 41, 4)), ("rate_card_metric", range(4, 13))])
def test_a_subfloor_takes_several_times_the_floor(card, sides):
    """Common practice, no source: about four times; by the minutes of the shipped cards, at every usual size."""
    rates = read_rate_card(TEMPLATES / f"{card}.xlsx").rates
    for width, length in combinations_with_replacement(map(D, sides), 2):
        floor = replace(ON_GRASS, lines=(FloorLine("", width, length),))
        over_sheets = [choice for choice in choices(rates, floor) if choice.sheets]
        assert over_sheets
        for choice in over_sheets:
            assert 3 < choice.subfloor_minutes / (choice.minutes - choice.subfloor_minutes) <= 6, (width, length)


def test_small_sections_over_a_subfloor_take_about_four_times_as_long_as_large_panels():
    """Common practice, no source: 28 minutes of sections on 48 of sheets, against 20 of panels."""
    large, small, _ = choices(QUICK, ON_GRASS)
    assert (small.minutes, large.minutes) == (76, 20)
    assert 3 < small.elapsed_minutes / large.elapsed_minutes < 5


def test_side_by_side_by_hand():
    """16 x 20 ft for a day on grass: 20 panels at 36.50; 56 sections at 13.25 over 12 sheets at 19.00; 28 at 27.75."""
    large, small, oblong = choices(RATES, ON_GRASS)
    assert [(choice.hire, choice.subfloor, choice.goods) for choice in (large, small, oblong)] == [
        (730, 0, 730), (742, 228, 970), (777, 0, 777),
    ]  # fmt: skip
    assert [(choice.carts, choice.trips, choice.weight) for choice in (large, small, oblong)] == [
        (2, 1, 1040), (3, 1, D("1298.4")), (2, 1, 1148),
    ]  # fmt: skip
    assert small.notes == ("subfloor_added", "rounded_up") and large.notes == ()


def test_a_kind_that_cannot_go_there_is_listed_and_says_so():
    large, *others = choices(RATES, replace(ON_GRASS, surface="carpet indoors"))
    assert (large.kind, large.laying, "not_on_surface" in large.notes) == (LARGE, "no", True)
    assert not any("not_on_surface" in other.notes for other in others)


@pytest.mark.parametrize("line", REQUEST.lines)
def test_a_choice_costs_what_its_quote_does(line):
    alone = replace(REQUEST, lines=(line,))
    (choice,) = [choice for choice in choices(RATES, alone) if choice.kind.panel == line.panel]
    figures = price(RATES, alone)
    for name in ("goods", "labour", "delivery", "total", "setup_minutes", "weight", "carts", "trips"):
        assert getattr(choice, name) == getattr(figures, name)


@given(any_.rates, any_.requests.filter(lambda request: request.lines))
def test_every_request_with_a_floor_has_its_choices(rates, request):
    found = choices(rates, request)
    assert [choice.kind for choice in found] == list(rates.kinds)
    assert all(0 <= choice.subfloor_minutes <= choice.minutes <= choice.setup_minutes for choice in found)
