"""A season played through: against the plainest way to play it, Erlang's formula and the newsvendor's ratio."""

import random
from collections import Counter
from dataclasses import replace
from decimal import Decimal as D
from math import factorial

import naive
import numpy
import pytest
from extent import some
from ledger_fixtures import CARD, WITH_TAX, floor
from scipy.special import stdtrit
from worked_example import REQUEST

from quotebook.buying.demand import LISTED, Asked, Booking, bookings
from quotebook.buying.purchases import Assumed, Kind, kinds_to_buy, paid_to_crew, steps_of_kinds, worth
from quotebook.buying.season import Stocks, play
from quotebook.engine.stock import Item

PANELS = Item("panels", "A")


def stocks(*columns):
    items = tuple(naive.ITEMS)
    return Stocks(items, numpy.array([[column[item] for column in columns] for item in items]))


@pytest.mark.parametrize("seed", range(60))
def test_as_the_plainest_way_plays_it(seed):
    """With every stock at once, and each of them alone: who is served, in which way, and what it comes to."""
    chance = random.Random(seed)
    season = naive.season(chance, chance.randrange(0, 40))
    owned = [{item: chance.randrange(0, 16) for item in naive.ITEMS} for _ in range(7)]
    played = play(season, stocks(*owned))
    for column, each in enumerate(owned):
        choices = naive.play(season, each)
        assert played.choices[:, column].tolist() == choices
        net = played.earned[column] - paid_to_crew(played.crew_hours, D(3), 2)[column]
        assert net == naive.net(season, each, 3)
        assert played.served[column] == sum(choice >= 0 for choice in choices) == len(season) - played.refused[column]


def test_who_asked_first_is_served_though_the_event_is_later():
    first = Booking("asked first", naive.START + 2, naive.START + 4, (naive.service("A", 4, 100),))
    second = Booking("asked second", naive.START, naive.START + 2, (naive.service("A", 4, 900),))
    owned = dict.fromkeys(naive.ITEMS, 4)
    assert play([first, second], stocks(owned)).choices[:, 0].tolist() == [0, -1]
    assert play([second, first], stocks(owned)).choices[:, 0].tolist() == [0, -1]


def test_edging_and_sheets_run_out_too():
    needs = (Item("slot_pieces", "A"), 6)
    season = [Booking("one", naive.START, naive.START, (naive.service("A", 4, 100, 0, needs),)) for _ in range(2)]
    played = play(season, stocks(dict.fromkeys(naive.ITEMS, 100) | {needs[0]: 11}))
    assert (played.served.tolist(), played.short_of_other_than_panels.tolist()) == ([1], [1])


def test_tax_in_the_prices_is_not_earned():
    """Of hire at 25 x 36.50 and of labour four fifths count where 25 % are in them: 730.00 and 0.8 x 31.40 an hour."""
    asked = Asked("one", replace(REQUEST, lines=floor(), days=D(1), discount_share=D(0), after_hours=False), LISTED)
    [service] = bookings(WITH_TAX, [asked], ["4x4"], D(0), preferred=False)[0].services
    assert service.earned == 73000 + round(D(service.crew_hours) / 10**6 * D("31.40") * 100 * 4 / 5)


def test_held_from_the_day_before_to_the_end_of_turnaround():
    """A two-day event of the worked example is away for four days: the day before, both, and one of turnaround."""
    asked = Asked("one", replace(REQUEST, lines=floor(), days=D(2)), LISTED)
    [booking] = bookings(CARD, [asked], ["4x4"], D(20), preferred=False)
    assert booking.last - booking.first + 1 == 4
    assert booking.first == asked.day.toordinal() - 1


def test_a_request_in_every_kind_that_may_go_on_its_ground():
    """20 x 20 ft on grass: the kind that leaves most comes first; the owner's order, if there is one."""
    asked = Asked("one", replace(REQUEST, lines=floor(), discount_share=D(0)), LISTED)
    [by_money] = bookings(CARD, [asked], ["4x4", "2x3", "3x4"], D(20), preferred=False)
    assert [each.leaves for each in by_money.services] == sorted(
        (each.leaves for each in by_money.services), reverse=True
    )
    [by_order] = bookings(CARD, [asked], ["3x4", "4x4"], D(20), preferred=True)
    assert [each.kind for each in by_order.services] == ["3x4", "4x4"]
    [on_carpet] = bookings(
        CARD, [replace(asked, request=replace(asked.request, surface="carpet indoors"))], ["4x4"], D(20), True
    )
    assert on_carpet.services == ()


def erlang_b(lines, erlangs):
    """The share of calls that find all lines busy (A. K. Erlang, 1917)."""
    terms = [erlangs**busy / factorial(busy) for busy in range(lines + 1)]
    return terms[-1] / sum(terms)


@pytest.mark.parametrize(
    ("lines", "erlangs", "lost"), [(10, 4.461, 0.01), (10, 5.084, 0.02), (20, 12.03, 0.01)]
)  # Erlang B tables, as printed in teletraffic handbooks
@pytest.mark.parametrize("time_out", some(["fixed", "exponential"], ["exponential"]))
def test_erlang_s_formula(lines, erlangs, lost, time_out):
    """One panel a request, Poisson requests: the share refused is the table's, within the run's own error.

    A day is a thousandth of the mean time out. The interval is Student's, over 20 batches; one in a thousand runs
    would miss it, and the seed is fixed.
    """
    assert erlang_b(lines, erlangs) == pytest.approx(lost, rel=0.002)
    chance, mean, count, batches = numpy.random.default_rng(lines), 1_000, 20_000, 20
    starts = numpy.cumsum(chance.exponential(mean / erlangs, count)).astype(int) + naive.START
    lengths = (
        numpy.full(count, mean) if time_out == "fixed" else numpy.rint(chance.exponential(mean, count)).astype(int)
    )
    one = (naive.service("A", 1, 1),)
    season = [
        Booking("", start, start + max(1, length) - 1, one)
        for start, length in zip(starts.tolist(), lengths.tolist(), strict=True)
    ]
    played = play(season, Stocks((PANELS,), numpy.array([[lines]])))
    refused = (played.choices[:, 0] < 0).reshape(batches, -1).mean(axis=1)
    error = stdtrit(batches - 1, 0.9995) * refused.std(ddof=1) / batches**0.5
    assert error < 0.8 * lost
    assert abs(refused.mean() - lost) < error


def test_the_newsvendor_s_critical_ratio():
    """A stand buys before it knows the day's demand, at 1 each, and sells at 4: the least number that meets three days
    in four is best (common textbook case, worked here). Demand 10 to 14 on 1, 2, 4, 2 and 1 days of ten: 13 meet nine
    days, 12 meet seven; (4 - 1) / 4 is 0.75, so 13.
    """
    demand, sold_at, cost = Counter({10: 1, 11: 2, 12: 4, 13: 2, 14: 1}), 4, 1
    days = [wanted for wanted, times in demand.items() for _ in range(times)]
    season = [
        Booking("", naive.START + 5 * place, naive.START + 5 * place, (naive.service("A", 1, 100 * sold_at),))
        for place, wanted in enumerate(days)
        for _ in range(wanted)
    ]
    kind = Kind("A", 0, D(cost * len(days)), 1, 1)
    assumed = Assumed(D(0), D(0), D(0), 20)
    played = play(season, Stocks((PANELS,), numpy.arange(21)[numpy.newaxis, :]))
    values = [
        worth(kind, count, D(int(played.earned[count])).scaleb(-2), assumed, 2).net_present_value for count in range(21)
    ]
    assert values.index(max(values)) == 13
    expected = sum(min(13, wanted) for wanted in days) * sold_at - 13 * cost * len(days)
    assert values[13] == expected


def test_steps_by_hand():
    """Three hires of 25 panels of 4x4 on one day: 25 owned serve one, each step of 25 serves one more."""
    requests = [
        Asked(str(n), replace(REQUEST, lines=floor(), days=D(1), discount_share=D(0)), LISTED) for n in range(3)
    ]
    card = replace(CARD, holdings=CARD.holdings | {"4x4": replace(CARD.holdings["4x4"], owned=D(25))})
    booked = bookings(card, requests, ["4x4"], D("31.40"), preferred=False)
    [kind] = kinds_to_buy(card, booked, ["4x4"])
    [found] = steps_of_kinds(card, booked, [kind], Assumed(D("31.40"), D("0.08"), D(0), 3))
    assert (kind.step, [step.owned for step in found.steps]) == (25, [25, 50, 75, 100])
    assert [(step.served, step.refused, step.added) for step in found.steps] == [
        (1, 2, 0),
        (2, 1, 1),
        (3, 0, 1),
        (3, 0, 0),
    ]
    assert found.steps[1].gain == D("943.90")  # 25 at 36.50, and half of 62.80 for the strike after hours
    assert found.best == 2  # 4,750 a step are worth it at 8 % in ten years while a hire a year comes of it
