"""Floors of several panel sizes: against integer programs over every place that a panel can lie in."""

from dataclasses import replace
from decimal import Decimal as D
from itertools import pairwise

import numpy
import pytest
from extent import some
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp
from worked_example import LARGE

from quotebook.engine.mix import Placement, blocks, mix


def _kind(width, length):
    return replace(LARGE, panel=f"{width}x{length}", panel_width=D(width), panel_length=D(length))


def _mix(sizes, width, length):
    return mix([_kind(*size) for size in sizes], D(width), D(length))


SQUARE_AND_HALF, SQUARE_AND_OBLONG = ((4, 4), (4, 2)), ((3, 3), (3, 4))


@pytest.mark.parametrize(
    ("sizes", "width", "length", "counts"),
    [
        (SQUARE_AND_HALF, 16, 16, {"4x4": 16}),
        (SQUARE_AND_HALF, 12, 14, {"4x4": 9, "4x2": 3}),
        (SQUARE_AND_HALF, 14, 12, {"4x4": 9, "4x2": 3}),
        (SQUARE_AND_OBLONG, 13, 12, {"3x4": 13}),
        (SQUARE_AND_OBLONG, 13, 15, {"3x4": 14, "3x3": 3}),
        ((("1.22", "1.22"), ("1.22", "0.61")), "6.10", "6.71", {"1.22x1.22": 25, "1.22x0.61": 5}),
    ],
)
def test_by_hand(sizes, width, length, counts):
    """13 by 15 is 195 sq ft in nines and twelves: the fewest that add up to it are 3 and 14."""
    assert _mix(sizes, width, length).counts == counts


@pytest.mark.parametrize(
    ("sizes", "width", "length", "nearest"),
    [
        (SQUARE_AND_HALF, 10, 14, {(12, 14), (10, 16), (10, 12), (8, 14)}),
        (SQUARE_AND_HALF, "15.5", 16, {(16, 16), (14, 16), (16, 18), (18, 16)}),
        (SQUARE_AND_OBLONG, 1, 1, {(3, 3), (3, 4), (4, 3)}),
    ],
)
def test_what_cannot_be_made_and_what_is_nearest(sizes, width, length, nearest):
    """10 by 14 is 140 sq ft, no sum of sixteens and eights."""
    found = _mix(sizes, width, length)
    assert (found.placements, found.counts) == ((), {})
    assert set(found.nearest) == nearest
    changes = [abs(a - D(width)) + abs(b - D(length)) for a, b in found.nearest]
    assert changes == sorted(changes)
    assert all(_mix(sizes, *size).placements for size in found.nearest)


SYSTEMS = (SQUARE_AND_HALF, SQUARE_AND_OBLONG, ((2, 3), (3, 3)))


@pytest.mark.parametrize("sizes", SYSTEMS)
@pytest.mark.parametrize("width", some(range(1, 15), (1, 2, 3, 5, 8, 13)))
def test_fewest_of_all_layouts(sizes, width):
    """scipy's HiGHS over every placement on the unit grid, turned or not, whether or not they would lock."""
    for length in range(width, 15):
        assert len(_mix(sizes, width, length).placements) == _program(sizes, width, length, locking=False)


@pytest.mark.parametrize("sizes", [((2, 3), (2, 2)), ((2, 5), (1, 1)), ((3, 4), (3, 1)), ((1, 3), (1, 2))])
@pytest.mark.parametrize("width", range(4, 12, 3))
def test_fewest_of_all_layouts_that_lock(sizes, width):
    """The same, where panels that touch along the width (or, in a second program, the length) are turned alike."""
    for length in range(width, 12):
        assert len(_mix(sizes, width, length).placements) == _program(sizes, width, length, locking=True)


def test_where_locking_costs_a_panel():
    """The one difference that the module's text names."""
    sizes = ((2, 3), (2, 2))
    assert len(_mix(sizes, 10, 10).placements) == 18
    assert _program(sizes, 10, 10, locking=True) == 18
    assert _program(sizes, 10, 10, locking=False) == 17


def _program(sizes, width, length, locking):
    """Fewest panels; 0 where nothing covers the floor exactly."""
    placed = [
        (turned, [x * length + y for x in range(left, left + a) for y in range(near, near + b)])
        for size in sizes
        for turned, (a, b) in enumerate((size, size[::-1]))
        for left in range(width - a + 1)
        for near in range(length - b + 1)
    ]
    covers, turned = numpy.zeros((width * length, len(placed))), numpy.zeros((width * length, len(placed)))
    for column, (way, cells) in enumerate(placed):
        covers[cells, column] = 1
        turned[cells, column] = way
    rows = numpy.arange(width * length).reshape(width, length)
    touching = (rows, rows.T) if locking else (rows[:0],)
    found = []
    for lines in touching:
        alike = [turned[one] - turned[other] for line in lines for one, other in pairwise(line)]
        found.append(_solve(covers, alike))
    return min((panels for panels in found if panels), default=0)


def _solve(covers, alike):
    if not covers.shape[1]:
        return 0
    constraints = [LinearConstraint(covers, 1, 1)] + ([LinearConstraint(numpy.array(alike), 0, 0)] if alike else [])
    ones = numpy.ones(covers.shape[1])
    answer = milp(ones, constraints=constraints, integrality=ones, bounds=Bounds(0, 1))
    assert answer.status in (0, 2), "solved, or proved impossible"
    return round(answer.fun) if answer.success else 0


sides = st.integers(1, 5)


@given(st.lists(st.tuples(sides, sides), min_size=1, max_size=3, unique=True), st.integers(1, 24), st.integers(1, 24))
def test_a_mix_covers_the_floor_once(sizes, width, length):
    found = _mix(sizes, width, length)
    cells = [
        (x, y)
        for panel in found.placements
        for x in range(int(panel.x), int(panel.x + panel.width))
        for y in range(int(panel.y), int(panel.y + panel.length))
    ]
    if found.placements:
        assert sorted(cells) == [(x, y) for x in range(width) for y in range(length)]
        assert sum(found.counts.values()) == len(found.placements)
    for panel in found.placements:
        size = panel.length, panel.width
        assert panel.panel == "{}x{}".format(*(size if panel.turned else size[::-1]))


def test_a_large_floor_at_once():
    """40 by 40 ft, in feet: no more than the floor's area over the larger panel's."""
    assert _mix(SQUARE_AND_OBLONG, 39, 40).counts == {"3x4": 130}


@given(st.sampled_from(SYSTEMS), st.integers(1, 24), st.integers(1, 24))
def test_blocks_are_the_floor_again(sizes, width, length):
    """Rectangles of one kind each: whole panels of it, that cover what the panels cover, none twice."""
    found = _mix(sizes, width, length)
    areas = {kind.panel: kind.panel_width * kind.panel_length for kind in (_kind(*size) for size in sizes)}
    covered = dict.fromkeys(areas, D(0))
    for block in blocks(found.placements):
        inside = [panel for panel in found.placements if _within(panel, block)]
        assert {(panel.panel, panel.turned) for panel in inside} == {(block.panel, block.turned)}
        assert sum(areas[panel.panel] for panel in inside) == block.width * block.length
        covered[block.panel] += block.width * block.length
    assert sum(covered.values()) == (width * length if found.placements else 0)
    assert {kind: area / areas[kind] for kind, area in covered.items() if area} == found.counts


def test_blocks_are_joined_the_way_that_leaves_fewer():
    """Five in a row, one beyond each end and one before the middle: four rectangles by rows, five by columns."""
    cells = [(0, 1), (1, 1), (2, 1), (3, 1), (4, 1), (0, 2), (4, 2), (2, 0)]
    rows = [Placement("1x1", D(x), D(y), D(1), D(1), False) for x, y in cells]
    columns = [Placement("1x1", D(y), D(x), D(1), D(1), False) for x, y in cells]
    assert len(blocks(rows)) == len(blocks(columns)) == 4
    assert (blocks(rows)[0].width, blocks(columns)[0].length) == (5, 5)


def _within(panel, block):
    return block.x <= panel.x < block.x + block.width and block.y <= panel.y < block.y + block.length


def test_a_floor_that_would_take_long_to_search_is_refused():
    with pytest.raises(ValueError, match="too much to search"):
        _mix((("1.22", "1.22"), ("0.91", "0.61")), 60, 60)
