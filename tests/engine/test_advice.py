"""How big a floor should be: against an integer program, against every grid there is, and by hand."""

from dataclasses import replace
from decimal import Decimal as D
from fractions import Fraction
from importlib.resources import files

import numpy
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp
from worked_example import LARGE, OBLONG, RATES, SNAP

from quotebook.engine.advice import SHAPES, Wish, sizes
from quotebook.engine.cautions import crowding
from quotebook.engine.model import FloorLine, Request
from quotebook.engine.price import price
from quotebook.engine.suggestion import (  # fmt: skip
    MOST_A_SIDE,
    area_needed,
    suggested_across,
    suggested_along,
    suggested_length,
    suggested_width,
)
from quotebook.rate_card.reader import read_rate_card
from quotebook.rate_card.writer import SHIPPED

PARTY = Wish(guests=D(120), surface="paving", dancers_share=D("0.4"), area_per_dancer=D("4.5"), crowding_area=D("4.5"))
"""48 dancers on 216 sq ft."""


def _advice(kind, wish):
    (advice,) = sizes(replace(RATES, kinds=(kind,)), wish)
    return advice


def _floors(advice):
    return [(size.actual_width, size.actual_length, size.panels, size.shape) for size in advice.sizes]


@pytest.mark.parametrize(
    ("kind", "floors"),
    [
        (LARGE, [(16, 16, 16, "square"), (16, 20, 20, "4:5"), (16, 24, 24, "2:3")]),
        (OBLONG, [(12, 18, 18, "2:3"), (15, 16, 20, "square"), (15, 20, 25, "4:5")]),
        (SNAP, [(12, 18, 36, "2:3"), (15, 16, 40, "square"), (14, 18, 42, "4:5")]),
    ],
)
def test_120_guests(kind, floors):
    """By hand. Most floors hired are 16x16, 16x20 or 16x24 ft of 4x4 panels (common practice, no source)."""
    assert _floors(_advice(kind, PARTY)) == floors


def test_a_longer_floor_is_offered_where_it_is_wanted():
    assert _floors(_advice(LARGE, replace(PARTY, longest_ratio=D(2))))[0] == (12, 20, 15, "2:3")


@pytest.mark.parametrize(
    ("within", "floors"),
    [
        ((30, 40), [(16, 16), (16, 20), (16, 24)]),
        ((40, 17), [(16, 16), (20, 16), (24, 16)]),
        ((16, 16), [(16, 16)]),
        ((15, 40), []),
    ],
)
def test_within_a_space(within, floors):
    """The floor may lie either way round in it."""
    advice = _advice(LARGE, replace(PARTY, within=(D(within[0]), D(within[1]))))
    assert [(size.actual_width, size.actual_length) for size in advice.sizes] == floors
    assert advice.why_not == ("" if floors else "no_room")


@pytest.mark.parametrize(
    ("kind", "changes", "why_not"),
    [(LARGE, {"surface": "carpet indoors"}, "not_on_surface"), (LARGE, {"surface": ""}, "not_on_surface"),
     (LARGE, {"guests": D(0)}, "no_dancers"), (LARGE, {"guests": D(100000)}, "no_room")],
)  # fmt: skip
def test_why_a_kind_has_no_size(kind, changes, why_not):
    wish = replace(PARTY, **changes)
    advice = _advice(kind, wish)
    assert (advice.why_not, advice.sizes, advice.laying) == (why_not, (), kind.laying(wish.surface))


def test_every_kind_on_the_card_is_listed():
    assert [(advice.kind, advice.laying) for advice in sizes(RATES, replace(PARTY, surface="grass"))] == [
        (LARGE, "direct"), (SNAP, "over subfloor"), (OBLONG, "direct"),
    ]  # fmt: skip


def test_a_size_costs_what_its_quote_does():
    wish = replace(PARTY, surface="grass", days=D(2), miles=D(30), flights=D(1))
    size = _advice(SNAP, wish).sizes[0]
    floor = FloorLine("2x3", D(12), D(18), edging_wanted=True)
    request = Request(days=D(2), surface="grass", miles=D(30), flights=D(1), guests=D(120), lines=(floor,))
    figures = price(RATES, request).by_name()
    names = ("goods", "total", "setup_minutes", "weight", "carts", "trips", "sheets_1", "hire_1", "edging_1")
    assert [getattr(size, name.removesuffix("_1")) for name in names] == [figures[name] for name in names]
    assert size.sheets == 9 and size.subfloor > 0


def test_a_size_in_people_and_area():
    """16 panels of a minute, 16 edging pieces and 4 corners of half a minute, 2 carts of 6: 38 person-minutes."""
    size = _advice(LARGE, PARTY).sizes[0]
    assert size.elapsed_minutes == (38, 19, D(38) / 3, D("9.5"))
    assert size.area_a_dancer == D(256) / 48
    assert size.enough_free and not _advice(replace(LARGE, free=D(15)), PARTY).sizes[0].enough_free


@pytest.mark.parametrize("name", SHIPPED)
def test_no_size_that_is_listed_is_warned_of_as_crowded(name):
    """For guests up to 300, in every kind of the shipped cards, on paving and indoors."""
    rates = read_rate_card(files("quotebook.templates") / f"{name}.xlsx").rates
    for guests in map(D, range(1, 301, 29)):
        for surface in ("paving", "hard indoors"):
            wish = Wish(guests, surface, rates.dancers_share, rates.area_per_dancer / 2, rates.crowding_area)
            for advice in sizes(rates, wish):
                for size in advice.sizes[:1]:
                    floor = FloorLine(advice.kind.panel, size.actual_width, size.actual_length)
                    request = Request(days=D(1), surface=surface, guests=guests, lines=(floor,))
                    assert not crowding(rates, request, price(rates, request)), (guests, surface, advice.kind.panel)


sides = st.sampled_from(tuple(map(D, ("1", "2", "3", "4", "1.22", "0.91", "2.5", "8"))))
wishes = st.builds(
    Wish, guests=st.integers(1, 400).map(D), surface=st.just("paving"),
    dancers_share=st.sampled_from((D("0.3"), D("0.5"))),
    area_per_dancer=st.sampled_from((D("4.5"), D("0.42"), D("3"))),
    crowding_area=st.sampled_from((D("5"), D("0.46"))),
    longest_ratio=st.sampled_from((D("1.2"), D("1.5"), D("2"), D("3"))),
    within=st.one_of(st.none(), st.tuples(st.integers(8, 60).map(D), st.integers(8, 60).map(D))),
)  # fmt: skip
RANGE = replace(RATES, longest_side=D(60))


def _best(kind, wish):
    (advice,) = sizes(replace(RANGE, kinds=(kind,)), wish)
    return advice.sizes[0].panels if advice.sizes else None


@settings(max_examples=60)
@given(sides, sides, wishes)
def test_the_first_size_has_the_fewest_panels_an_integer_program_finds(panel_width, panel_length, wish):
    kind = replace(LARGE, panel_width=panel_width, panel_length=panel_length)
    assert _best(kind, wish) == _fewest_panels(kind, wish)


def _fewest_panels(kind, wish):
    """By scipy's HiGHS: for each count across whether it is chosen, and how many panels then lie along it.

    The space is tried both ways round; a millionth is left for what floats cannot say.
    """
    spaces = {wish.within, wish.within[::-1]} if wish.within else {(D(60), D(60))}
    found = [_program(kind, wish, *(float(min(side, D(60))) for side in space)) for space in spaces]
    return min((panels for panels in found if panels is not None), default=None)


def _program(kind, wish, space_width, space_length):
    width, length, ratio = float(kind.panel_width), float(kind.panel_length), float(wish.longest_ratio)
    across = numpy.arange(1, int(space_width / width + 1e-9) + 1)
    count, most, slack = len(across), int(space_length / length + 1e-9), 1e-6
    if not count or not most:
        return None
    one = numpy.eye(count)
    rows = [
        LinearConstraint(numpy.r_[numpy.ones(count), numpy.zeros(count)], 1, 1),
        LinearConstraint(numpy.c_[-most * one, one], -numpy.inf, 0),
        LinearConstraint(numpy.c_[-ratio * width * numpy.diag(across), length * one], -numpy.inf, slack),
        LinearConstraint(numpy.c_[width * numpy.diag(across), -ratio * length * one], -numpy.inf, slack),
        LinearConstraint(
            numpy.r_[numpy.zeros(count), across * width * length], float(wish.area_needed) - slack, numpy.inf
        ),
    ]
    answer = milp(
        numpy.r_[numpy.zeros(count), across], constraints=rows, integrality=numpy.ones(2 * count),
        bounds=Bounds(0, numpy.r_[numpy.ones(count), numpy.full(count, most)]),
    )  # fmt: skip
    return round(answer.fun) if answer.success else None


@settings(max_examples=60)
@given(sides, sides, wishes)
def test_the_list_is_what_exhaustive_search_finds(panel_width, panel_length, wish):
    """Every grid, in fractions: those that serve and hold no other that serves, and the best of each shape."""
    kind = replace(LARGE, panel_width=panel_width, panel_length=panel_length)
    (advice,) = sizes(replace(RANGE, kinds=(kind,)), wish)
    listed = [tuple(sorted((Fraction(size.actual_width), Fraction(size.actual_length)))) for size in advice.sizes]
    serving = sorted(_every_floor(kind, wish), key=lambda floor: (floor[0] * floor[1], floor[0] + floor[1]))
    least = {floor for floor in serving if not any(_holds(floor, other) for other in serving if other != floor)}
    assert least <= set(listed)
    assert listed == [floor for floor in serving if floor in listed], "best first"
    offered = {size.shape: size.panels for size in reversed(advice.sizes)}
    for shorter, longer in serving:
        off = {shape: abs(shorter / longer / asked - 1) for shape, asked in SHAPES.items()}
        shape = min(off, key=off.get)
        if off[shape] <= Fraction(1, 10):
            assert offered[shape] * kind.panel_width * kind.panel_length <= shorter * longer


def _every_floor(kind, wish):
    width, length = Fraction(kind.panel_width), Fraction(kind.panel_length)
    space = sorted(map(Fraction, wish.within or (60, 60)))
    space = [min(side, 60) for side in space]
    found = set()
    for across in range(1, int(60 / width) + 1):
        for along in range(1, int(60 / length) + 1):
            floor = shorter, longer = tuple(sorted((across * width, along * length)))
            fits = shorter <= space[0] and longer <= space[1] and longer <= shorter * Fraction(wish.longest_ratio)
            if fits and shorter * longer >= Fraction(wish.area_needed):
                found.add(floor)
    return found


def _holds(floor, other):
    return other[0] <= floor[0] and other[1] <= floor[1]


@given(sides, sides, st.integers(1, 900).map(D), st.sampled_from((D("4.5"), D("0.42"), D(1))))
def test_the_suggestion_is_the_first_size(panel_width, panel_length, dancers, area_per_dancer):
    """As long as no side needs more panels than a suggestion tries."""
    kind = replace(LARGE, panel_width=panel_width, panel_length=panel_length)
    longest_side = MOST_A_SIDE * min(panel_width, panel_length)
    area = area_needed(dancers, area_per_dancer, area_per_dancer)
    across = suggested_across(panel_width, panel_length, area, longest_side)
    grid = across, panel_width, suggested_along(across, panel_width, panel_length, area), panel_length
    suggested = suggested_width(*grid), suggested_length(*grid)
    rates = replace(RATES, kinds=(kind,), longest_side=longest_side)
    (advice,) = sizes(rates, Wish(dancers, "paving", D(1), area_per_dancer, area_per_dancer))
    first = [(size.actual_width, size.actual_length) for size in advice.sizes[:1]]
    assert [suggested] == (first or [(0, 0)])
