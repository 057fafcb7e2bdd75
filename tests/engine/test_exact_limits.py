"""What holds at exactly a limit, and what no longer does just beyond it."""

from dataclasses import replace
from datetime import date
from decimal import Decimal as D

import pytest
from worked_example import RATES, REQUEST

from quotebook.engine import charges, entries, floor, suggestion, work
from quotebook.engine.cautions import quote_cautions
from quotebook.engine.entries import FIRST_DAY, LAST_DAY, LONGEST_TEXT, problems
from quotebook.engine.loading import Cart, trips
from quotebook.engine.model import FloorLine, Request
from quotebook.engine.money import money, round6, round_up
from quotebook.engine.price import price

BEYOND = D("0.000001")
"""The least that six places tell from nothing."""

MOST, LONGEST = RATES.largest_entry, RATES.longest_side


# The vehicle


@pytest.mark.parametrize(
    ("weight", "carts", "expected"),
    [
        (RATES.payload, D(1), 1), (RATES.payload + BEYOND * RATES.payload, D(1), 2), (2 * RATES.payload, D(1), 2),
        (D(1), RATES.cart_places, 1), (D(1), RATES.cart_places + 1, 2), (D(1), 2 * RATES.cart_places, 2),
        (D(0), D(0), 0),
    ],
)  # fmt: skip
def test_trips_as_charged(weight, carts, expected):
    """3,200 lb of payload and 8 places for carts."""
    assert work.trips(weight, D(0), RATES.payload, carts, RATES.cart_places) == expected


def cart(weight):
    return Cart("panels", "4x4", 1, 12, D(weight))


@pytest.mark.parametrize(
    ("weights", "loads"),
    [
        ([1600, 1600], [2]),  # exactly the payload
        ([1600, "1600.01"], [1, 1]),
        ([100] * 8, [8]),  # exactly the places
        ([100] * 9, [8, 1]),
        ([3200], [1]),
    ],
)
def test_trips_as_loaded(weights, loads):
    loaded = [cart(weight) for weight in weights]
    assert [len(load.carts) for load in trips(loaded, (), D(0), RATES.payload, RATES.cart_places)] == loads


@pytest.mark.parametrize(("panels", "expected"), [(D(12), 1), (D(13), 2), (D(24), 2), (D(0), 0)])
def test_a_cart_takes_exactly_its_panels(panels, expected):
    assert work.carts(panels, D(12), D(0), D(0)) == expected


# Entries


ASKED = {
    "client": "A. Client", "event_date": date(2027, 6, 12), "days": D(1), "surface": "grass", "edging_wanted_1": True,
    "panel_1": "4x4", "width_1": D(16), "length_1": D(16),
} | {f"edging_wanted_{line}": False for line in range(2, 7)}  # fmt: skip

ALLOWED = [
    ("client", "x" * 200), ("event", "x" * 200), ("venue", "x" * 200),
    ("days", D(1)), ("days", MOST), ("miles", D(0)), ("miles", MOST), ("flights", D(0)), ("flights", MOST),
    ("guests", D(0)), ("guests", MOST), ("event_date", FIRST_DAY), ("event_date", LAST_DAY),
    ("width_1", LONGEST), ("length_1", LONGEST), ("width_1", BEYOND),
]  # fmt: skip

REFUSED = [
    ("client", "x" * 201), ("event", "x" * 201), ("venue", "x" * 201),
    ("days", D(0)), ("days", D("1.5")), ("days", MOST + 1), ("miles", -BEYOND), ("miles", MOST + BEYOND),
    ("flights", D(-1)), ("flights", MOST + 1), ("guests", D(-1)), ("guests", MOST + 1),
    ("event_date", date(1900, 2, 28)), ("event_date", date(3000, 1, 1)),
    ("width_1", LONGEST + BEYOND), ("length_1", LONGEST + BEYOND), ("width_1", D(0)), ("length_1", D(0)),
]  # fmt: skip


@pytest.mark.parametrize(("name", "entry"), ALLOWED)
def test_an_entry_at_its_limit_can_be_used(name, entry):
    assert LONGEST_TEXT == 200
    assert problems(RATES, ASKED | {name: entry}) == []


@pytest.mark.parametrize(("name", "entry"), REFUSED)
def test_an_entry_beyond_its_limit_cannot(name, entry):
    assert [problem.name for problem in problems(RATES, ASKED | {name: entry})] == [name]


@pytest.mark.parametrize(
    "counted", [entries.days_counted, entries.miles_counted, entries.flights_counted, entries.guests_counted]
)
def test_what_counts_of_an_entry(counted):
    """From 1 to the largest entry as entered, else nothing; the rule book agrees, above."""
    assert [counted(entry, MOST) for entry in (D(0), D(1), MOST, MOST + 1)] == [0, 1, MOST, 0]


def test_days_are_whole_and_miles_are_not():
    assert entries.days_counted(D("1.5"), MOST) == entries.days_counted(1 - BEYOND, MOST) == 0
    assert entries.miles_counted(BEYOND, MOST) == BEYOND and entries.miles_counted(MOST + BEYOND, MOST) == 0


@pytest.mark.parametrize(
    ("width", "length", "counted"),
    [
        (LONGEST, LONGEST, 1),
        (LONGEST + BEYOND, D(4), 0),
        (D(4), LONGEST + BEYOND, 0),
        (BEYOND, BEYOND, 1),
        (D(0), D(4), 0),
    ],
)
def test_a_side_at_the_longest_is_priced(width, length, counted):
    assert floor.counted(D(4), width, length, LONGEST) == counted


def test_a_hire_takes_the_factor_of_exactly_its_days():
    """Rows for 1, 2 and 4 days."""
    factors = [charges.days_factor(D(days), RATES.day_factors) for days in (0, 1, 2, 3, 4)]
    assert factors == [0, 1, D("1.5"), D("1.5"), D("2.25")]


# Cautions

BARE = Request(days=D(1), surface="paving", lines=(FloorLine("4x4", D(16), D(16)),))


def given(request, **rates):
    changed = replace(RATES, **rates)
    return quote_cautions(changed, request, price(changed, request))


def test_crowding_at_exactly_the_standing_room():
    """256 sq ft at 5 a person stand 51 (IBC Table 1004.5): 51 dancers are not crowded, 52 are."""
    at_once = {"dancers_share": D(1)}
    assert "crowding" not in given(replace(BARE, guests=D(51)), **at_once)
    assert "crowding" in given(replace(BARE, guests=D(52)), **at_once)


@pytest.mark.parametrize(("area", "people"), [(D(255), 51), (D(255) - BEYOND * 5, 50), (D(259), 51), (D(260), 52)])
def test_standing_room_is_of_whole_people(area, people):
    assert floor.standing_room(area, D(5)) == people


@pytest.mark.parametrize(("edged", "key"), [(False, "step"), (True, "bevel")])
def test_an_edge_of_exactly_the_limit_is_no_step(edged, key):
    """1 1/4 in of panel (the limit is the card's; ADA 2010 Standards 303.2 has 1/4 in)."""
    request = replace(BARE, lines=(replace(BARE.lines[0], edging_wanted=edged),))
    assert key not in given(request, step_limit=D("1.25"))
    assert key in given(request, step_limit=D("1.25") - BEYOND)


ROOMS = [
    (("23", "27"), False), (("23", "26.999999"), True), (("22.999999", "27"), True), (("27", "23"), False),
    (("23", None), False), (("22.999999", None), True), ((None, "23"), False), ((None, "22.999999"), True),
    (("0", "0"), False), (("-1", None), False), ((None, None), False),
]  # fmt: skip


@pytest.mark.parametrize(("sides", "narrow"), ROOMS)
def test_a_room_of_exactly_the_floor_its_edging_and_a_clear_way_all_round(sides, narrow):
    """16 x 20 ft, on each side 6 in of edging and 36 in of way (ADA 2010 Standards 403.5.1): 23 x 27 ft."""
    width, length = (None if side is None else D(side) for side in sides)
    lines = (replace(BARE.lines[0], length=D(20), edging_wanted=True),)
    request = replace(BARE, lines=lines, room_width=width, room_length=length)
    assert ("room" in given(request, clear_way=D(3), edging_breadth=D("0.5"))) is narrow
    bare = replace(request, lines=(replace(lines[0], edging_wanted=False),))
    assert ("room" in given(bare, clear_way=D("3.5"), edging_breadth=D("0.5"))) is narrow


# Ties


@pytest.mark.parametrize(
    ("amount", "minor_units", "expected"),
    [
        ("0.125", 2, "0.13"), ("0.135", 2, "0.14"), ("-0.125", 2, "-0.13"), ("0.5", 0, "1"), ("1.5", 0, "2"),
        ("-0.5", 0, "-1"), ("0.0005", 3, "0.001"), ("0.0015", 3, "0.002"),
        ("0.1249994", 2, "0.12"), ("0.1249995", 2, "0.13"),
    ],
)  # fmt: skip
def test_money_on_a_tie_goes_away_from_zero(amount, minor_units, expected):
    """ECMA-376 ROUND; after rounding to six places, where the last two differ."""
    assert str(money(D(amount), minor_units)) == expected


@pytest.mark.parametrize(
    ("amount", "expected"), [("0.0000005", "0.000001"), ("-0.0000005", "-0.000001"), ("0.0000015", "0.000002")]
)
def test_six_places_on_a_tie(amount, expected):
    assert round6(D(amount)) == D(expected)


@pytest.mark.parametrize(("amount", "expected"), [("4", 4), ("4.0000005", 5), ("4.0000004999", 4), ("-4.0000005", -5)])
def test_rounding_up_begins_at_a_tie_of_the_sixth_place(amount, expected):
    assert round_up(D(amount)) == expected


def test_money_of_a_quote_on_exact_ties():
    """Delivery 85.00 + 8.5 x 3.15 = 111.775 is 111.78; 5 % of 3,080.10 = 154.005 is 154.01."""
    worked = price(RATES, REQUEST)
    assert (worked.delivery, worked.discount) == (D("111.78"), D("154.01"))
    assert charges.hire(D(1), D("0.125"), D(1), D(2)) == D("0.13")


@pytest.mark.parametrize(
    ("across_as_given", "across_turned", "turned"), [(D(5), D(5), 0), (D(5), D(4), 1), (D(4), D(5), 0)]
)
def test_as_many_panels_turned_are_not_turned(across_as_given, across_turned, turned):
    assert floor.turned(across_as_given, D(3), across_turned, D(3)) == turned


@pytest.mark.parametrize(("width", "within"), [(D(18), True), (D(18) + BEYOND, False)])
def test_a_floor_of_exactly_the_longest_ratio_is_suggested(width, within):
    """12 by 18 is 1 to 1.5."""
    assert suggestion.within_ratio(width, D(12)) is within
