"""The laying order: what one person needs of it, for every floor of one kind and every mix that can be made."""

from dataclasses import replace
from decimal import Decimal as D

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from worked_example import LARGE, OBLONG

from quotebook.engine.laying import TURNED, grid, number, order
from quotebook.engine.mix import Placement, mix

counts = st.integers(1, 12)


def _kind(width, length):
    return replace(LARGE, panel=f"{width}x{length}", panel_width=D(width), panel_length=D(length))


@pytest.mark.parametrize(
    ("turned", "plan"),
    [(False, [[5, 6, 7, 8], [1, 2, 3, 4]]), (True, [[8, 7, 6, 5], [4, 3, 2, 1]])],
)
def test_numbers_on_the_plan(turned, plan):
    """Four across, two along, the near end below: from the near left corner, of turned panels from the near right."""
    assert [[number(column, row, 4, turned) for column in range(1, 5)] for row in (2, 1)] == plan
    laid = grid(OBLONG, 4, 2, turned)
    assert [(panel.x, panel.y) for panel in laid[:2]] == ([(12, 0), (8, 0)] if turned else [(0, 0), (3, 0)])


def test_a_mix_by_hand():
    """13 by 12 of 3x4: nine not turned, row by row; then the turned strip on the right, from the far end."""
    laid = order(mix([_kind(3, 3), _kind(3, 4)], D(13), D(12)).placements)
    assert [(panel.x, panel.y) for panel in laid] == [
        (0, 0), (3, 0), (6, 0), (0, 4), (3, 4), (6, 4), (0, 8), (3, 8), (6, 8), (9, 9), (9, 6), (9, 3), (9, 0),
    ]  # fmt: skip


def test_panels_that_do_not_lock():
    """A turned panel both beside and beyond one that is not."""
    panels = [
        Placement("3x4", D(0), D(0), D(3), D(4), False),
        Placement("3x4", D(3), D(0), D(4), D(3), True),
        Placement("3x4", D(0), D(4), D(4), D(3), True),
    ]
    with pytest.raises(ValueError, match="do not lock"):
        order(panels)


@given(counts, counts, st.booleans())
def test_a_floor_of_one_kind(across, along, turned):
    laid = grid(OBLONG, across, along, turned)
    _one_person_can_lay(laid)
    assert order(laid) == laid


systems = st.sampled_from([[(4, 4), (4, 2)], [(3, 3), (3, 4)], [(2, 3), (3, 3)], [(2, 3), (2, 2)], [(2, 5), (1, 1)]])


@given(systems, st.integers(2, 24), st.integers(2, 24))
def test_a_mixed_floor(sizes, width, length):
    floor = mix([_kind(*size) for size in sizes], D(width), D(length)).placements
    assume(floor)
    laid = order(floor)
    assert sorted(laid, key=repr) == sorted(floor, key=repr)
    _one_person_can_lay(laid)


def _one_person_can_lay(laid):
    """Worked out from the plan alone, unit length by unit length of every edge."""
    ways = [way for way in TURNED if _tongues_into_slots(laid, way)]
    assert ways, "turned panels all lie the same way round, and every tongue finds a slot"
    edges_laid = set()
    for place, panel in enumerate(laid):
        met = {side for side, edge in _edges(panel).items() if edge & edges_laid}
        assert place == 0 or met, "touches what is laid"
        assert not {"left", "right"} <= met and not {"near", "far"} <= met, "is not pushed in between"
        for edge in _edges(panel).values():
            edges_laid |= edge


def _tongues_into_slots(laid, way):
    kinds = {}
    for panel in laid:
        right, far = (way.right, way.far) if panel.turned else (True, True)
        slot = {"right": right, "left": not right, "far": far, "near": not far}
        for side, edge in _edges(panel).items():
            for step in edge:
                if step in kinds and (slot[side] or not kinds[step]):
                    return False
                kinds[step] = slot[side]
    return True


def _edges(panel):
    """Unit lengths of each side, named by where they lie."""
    x, y, width, length = map(int, (panel.x, panel.y, panel.width, panel.length))
    return {
        "left": {("upright", x, y + step) for step in range(length)},
        "right": {("upright", x + width, y + step) for step in range(length)},
        "near": {("level", x + step, y) for step in range(width)},
        "far": {("level", x + step, y + length) for step in range(width)},
    }
