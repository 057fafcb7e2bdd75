"""The plan in characters: by hand, and read back from what was drawn."""

from dataclasses import replace
from decimal import Decimal as D

import pytest
from worked_example import LARGE

from quotebook.engine.laying import order
from quotebook.engine.mix import mix
from quotebook.quoting.plan_text import draw_plan


def _floor(sizes, width, length):
    kinds = [replace(LARGE, panel=f"{a}x{b}", panel_width=D(a), panel_length=D(b)) for a, b in sizes]
    return order(mix(kinds, D(width), D(length)).placements)


def test_by_hand():
    """6 by 4 ft: a 4x4, and a 4x2 turned at its right."""
    assert draw_plan(_floor([(4, 4), (4, 2)], 6, 4)) == [
        "+-------+---+",
        "|   1   | 2 |",
        "+-------+---+",
    ]


@pytest.mark.parametrize(
    "floor",
    [
        ([(4, 4), (4, 2)], 14, 20), ([(3, 3), (3, 4)], 13, 15), ([("1.2", "1.2"), ("0.9", "1.2")], "4.5", "4.8"),
        ([(2, 3), (3, 3)], 9, 8),
    ],
)  # fmt: skip
def test_each_panel_is_a_box_with_its_number_in_it(floor):
    """Rows and columns of the drawing are in proportion to feet, so every corner can be told from the plan."""
    placements = _floor(*floor)
    plan = draw_plan(placements)
    columns = (len(plan[0]) - 1) / float(floor[1])
    rows = (len(plan) - 1) / float(floor[2])
    for number, panel in enumerate(placements, 1):
        left, right = (round(float(x) * columns) for x in (panel.x, panel.x + panel.width))
        top, bottom = (len(plan) - 1 - round(float(y) * rows) for y in (panel.y + panel.length, panel.y))
        assert {plan[row][column] for row in (top, bottom) for column in (left, right)} == {"+"}
        inside = "".join(plan[row][left + 1 : right] for row in range(top + 1, bottom))
        assert inside.split() == [str(number)]


def test_a_floor_too_wide_for_80_columns_is_not_drawn():
    assert draw_plan(_floor([(4, 4), (4, 2)], 42, 8)) is None
    assert draw_plan(_floor([(4, 4), (4, 2)], 8, 42))
