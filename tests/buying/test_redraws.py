"""The season drawn again: repeatable, as many requests on average, whole weeks apart, and bands that are in order."""

import random
from collections import Counter
from dataclasses import replace
from datetime import date
from decimal import Decimal as D

import naive
import numpy
import pytest
from ledger_fixtures import CARD, floor
from worked_example import REQUEST

from quotebook.buying.demand import LISTED, Asked, bookings, grown, typical_season, usual_panels
from quotebook.buying.purchases import Assumed, kinds_to_buy, steps_of_kinds
from quotebook.buying.redraws import DREADED, MOST_WEEKS, draw, redrawn
from quotebook.engine.model import TypicalFloor

ASSUMED = Assumed(D("31.40"), D("0.08"), D(0), 3)


def season(count=40, seed=2):
    """Requests for 20 x 20 ft in the summer of 2026, on grass."""
    chance = random.Random(seed)
    days = sorted(chance.randrange(90) for _ in range(count))
    return [
        Asked(
            str(number),
            replace(REQUEST, event_date=date.fromordinal(date(2026, 6, 1).toordinal() + day), lines=floor()),
            LISTED,
        )
        for number, day in enumerate(days)
    ]


def test_a_redrawn_season_has_whole_requests_moved_by_weeks():
    booked = naive.season(random.Random(1), 300)
    known = {booking.name: (place, booking) for place, booking in enumerate(booked)}
    drawn = draw(booked, numpy.random.default_rng(5))
    places = [known[booking.name][0] for booking in drawn]
    assert places == sorted(places)
    for booking in drawn:
        original = known[booking.name][1]
        moved = booking.first - original.first
        assert moved % 7 == 0 and abs(moved) <= 7 * MOST_WEEKS
        assert booking.last - original.last == moved and booking.services is original.services


def test_as_many_requests_on_average_and_as_scattered_as_poisson_s_law_has_it():
    """Of 300 requests, over 400 redrawn seasons: mean and variance 300, each within four of its standard errors."""
    booked, chance = naive.season(random.Random(1), 300), numpy.random.default_rng(7)
    sizes = [len(draw(booked, chance)) for _ in range(400)]
    assert abs(numpy.mean(sizes) - 300) < 4 * (300 / 400) ** 0.5
    assert abs(numpy.var(sizes) - 300) < 4 * 300 * (2 / 399) ** 0.5


def test_equal_seeds_give_equal_bands_and_each_is_in_order():
    booked = bookings(CARD, season(), ["4x4"], D("31.40"), False)
    kinds = kinds_to_buy(CARD, booked, ["4x4"])
    one, again, other = (redrawn(CARD, booked, kinds, ASSUMED, 30, seed) for seed in (1, 1, 2))
    assert one == again and one != other
    for bands in one[0].steps:
        for name, band in bands.items():
            known = [value for value in band if value is not None]
            assert known == sorted(known, reverse=name in DREADED), name
    [played] = steps_of_kinds(CARD, booked, kinds, ASSUMED)
    assert one[0].steps[1]["served"].worst_tenth <= played.steps[1].served <= one[0].steps[1]["served"].best_tenth


@pytest.mark.parametrize(
    ("growth", "count"), [("0", 40), ("0.25", 50), ("1", 80), ("2.5", 140), ("-0.25", 30), ("0.01", 41)]
)
def test_growth_repeats_requests_evenly(growth, count):
    asked = season()
    more = grown(asked, D(growth))
    assert len(more) == count
    places = [asked.index(each) for each in more]
    assert places == sorted(places)
    assert max(Counter(places).values()) - min(Counter(places).values()) <= 1 or D(growth) < 0


def test_the_usual_floor_is_the_one_asked_for_most():
    booked = bookings(
        CARD,
        [*season(3), replace(season(1)[0], request=replace(REQUEST, lines=floor(width=12)))],
        ["4x4"],
        D(30),
        False,
    )
    assert usual_panels(booked, "4x4") == 25
    assert usual_panels([], "4x4") == 1


def test_a_typical_year_is_played_on_saturdays():
    floors = (TypicalFloor("grass", D(16), D(20), D(1), (D(0),) * 5 + (D(6),) + (D(0),) * 5 + (D(1),)),)
    asked = [*typical_season(replace(CARD, typical_floors=floors), 2027)]
    assert [str(each.day) for each in asked] == [
        "2027-06-05", "2027-06-05", "2027-06-12", "2027-06-12", "2027-06-19", "2027-06-26", "2027-12-04",
    ]  # fmt: skip
    assert all(each.day.isoweekday() == 6 for each in asked)
