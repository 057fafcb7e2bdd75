"""Floors, carts and trips of a job, and what its crew is told."""

from dataclasses import replace
from datetime import date, time, timedelta
from decimal import Decimal as D
from importlib.resources import files

import loaded_example
import pytest
import random_quotes as any_
import worked_example
from extent import extent
from hypothesis import assume, given, settings

from quotebook.engine.crew import crew_cautions, hours_away, long_day, owner_cautions
from quotebook.engine.laid_floors import floors
from quotebook.engine.loading import Cart, EdgingPack, TooHeavy, carts, edging, trips
from quotebook.engine.model import FloorLine
from quotebook.engine.price import price
from quotebook.engine.visits import LATE, SET_UP, STRIKE, Job, visits
from quotebook.quoting.mixing import floor_lines
from quotebook.rate_card.reader import read_rate_card

CARD = read_rate_card(files("quotebook.templates") / "rate_card.xlsx")
JOB = Job("Q0001", 1, worked_example.RATES, worked_example.REQUEST)


def test_floors_of_the_worked_example():
    large, small, oblong = JOB.floors
    assert (large.panels, large.edging_of, large.slot_pieces, large.tongue_pieces, large.corners) == (
        {"4x4": 30},
        "4x4",
        11,
        11,
        4,
    )
    assert (small.sheets_of, small.sheets, small.edging_of, small.slot_pieces) == ("ply", 6, "", 0)
    assert (oblong.width, oblong.length, len(oblong.placements), oblong.placements[0].turned) == (12, 18, 18, True)
    assert [floor.minutes for floor in JOB.floors] == [43, 34, D("16.2")]


def test_carts_of_the_worked_example():
    """12 panels of 52 lb to a cart; sheets before the panels that lie on them."""
    assert carts(JOB.rates, JOB.request, JOB.figures) == (
        Cart("panels", "4x4", 1, 12, D(624)), Cart("panels", "4x4", 1, 12, D(624)), Cart("panels", "4x4", 1, 6, D(312)),
        Cart("sheets", "ply", 2, 6, D(414)), Cart("panels", "2x3", 2, 20, D(168)),
        Cart("panels", "3x4", 3, 16, D(656)), Cart("panels", "3x4", 3, 2, D(82)),
    )  # fmt: skip


def test_one_trip_as_priced():
    """2,880 lb on 7 carts: within 3,200 lb and 8 places."""
    (load,) = JOB.loads
    assert (len(load.carts), load.weight, JOB.figures.trips) == (7, 2880, 1)


def test_loads_by_hand_with_all_weights():
    assert loaded_example.JOB.loads == loaded_example.LOADS
    assert [load.weight for load in loaded_example.JOB.loads] == [D(2935), D("2607.2")]


def test_whole_carts_can_take_a_trip_more_than_weight_alone():
    """Three carts of 600 on a vehicle for 1,000: 1,800 would be two trips, but no two carts go together."""
    load = [Cart("panels", "4x4", 1, 10, D(600))] * 3
    assert [len(trip.carts) for trip in trips(load, (), D(0), D(1000), D(8))] == [1, 1, 1]
    assert [len(trip.carts) for trip in trips(load, (), D(0), D(9000), D(2))] == [2, 1]
    assert trips([], (), D(50), D(500), D(8)) == ()


def test_tools_and_edging_count():
    """Two carts of 500 are 1,000 lb: with 1 lb of tools, or of edging, the second goes on another trip."""
    load = [Cart("panels", "4x4", 1, 10, D(500))] * 2
    pack = EdgingPack("slot_pieces", "4x4", 1, 4, D(1))
    loads = {
        "nothing": trips(load, (), D(0), D(1000), D(8)),
        "tools": trips(load, (), D(1), D(1000), D(8)),
        "edging": trips(load, [pack], D(0), D(1000), D(8)),
    }
    shape = {
        name: [(len(trip.carts), len(trip.edging), trip.tools_weight) for trip in gone] for name, gone in loads.items()
    }
    assert shape == {"nothing": [(2, 0, 0)], "tools": [(1, 0, 1), (1, 0, 0)], "edging": [(2, 0, 0), (0, 1, 0)]}


def test_a_cart_above_the_payload_is_never_a_trip_of_its_own():
    """600 lb of cart and 50 lb of tools: a payload of 650 takes it, one of 649 does not."""
    load = [Cart("panels", "4x4", 1, 10, D(600))]
    assert len(trips(load, (), D(50), D(650), D(8))) == 1
    with pytest.raises(TooHeavy, match=r"10 4x4 on a cart weigh 600, and beside the tools .* carry 599: split them"):
        trips(load, (), D(50), D(649), D(8))


@given(any_.rates, any_.requests)
@settings(max_examples=extent(40, 300))
def test_everything_priced_is_loaded_once(rates, request):
    figures = price(rates, request)
    loaded, packs = carts(rates, request, figures), edging(rates, request, figures)
    assert len(loaded) == figures.carts
    assert sum(pack.weight for pack in (*loaded, *packs)) == figures.weight
    for what in ("panels", "sheets"):
        priced = sum(getattr(line, what) for line in figures.lines)
        assert sum(cart.count for cart in loaded if cart.what == what) == priced
    for what in ("slot_pieces", "tongue_pieces", "corners"):
        assert sum(pack.count for pack in packs if pack.what == what) == sum(
            getattr(each, what) for each in figures.lines
        )
    assume(all(pack.weight <= rates.payload - rates.tools_weight for pack in (*loaded, *packs)))
    gone = trips(loaded, packs, rates.tools_weight, rates.payload, rates.cart_places)
    assert [cart for load in gone for cart in load.carts] == [*loaded]
    assert [pack for load in gone for pack in load.edging] == [*packs]
    assert all(len(load.carts) <= rates.cart_places and load.weight <= rates.payload for load in gone)
    assert len(gone) >= figures.trips


@given(any_.rates, any_.requests)
def test_every_priced_line_is_on_one_floor(rates, request):
    figures = price(rates, request)
    found = floors(rates, request, figures)
    lines = [line for floor in found for line in floor.lines]
    assert lines == [line for line in range(1, len(request.lines) + 1) if figures.line(line).counted]
    assert sum(len(floor.placements) for floor in found) == figures.panels


def _mixed(**changes):
    lines = [*floor_lines("OAK-44+OAK-42:14x20:edging", CARD, "grass"), *floor_lines("OAK-44:8x8", CARD, "grass")]
    lines[0] = replace(lines[0], **changes)
    return Job("Q0001", 1, CARD.rates, replace(worked_example.REQUEST, surface="grass", lines=tuple(lines)))


def test_lines_of_one_floor_are_laid_as_one():
    mixed, plain = _mixed().floors
    assert (mixed.lines, mixed.panels, mixed.width, mixed.length) == ((1, 2), {"OAK-44": 15, "OAK-42": 5}, 14, 20)
    assert (mixed.slot_pieces, mixed.corners, len(mixed.placements)) == (9, 4, 20)
    assert (plain.lines, plain.panels) == ((3,), {"OAK-44": 4})


def test_blocks_that_a_client_changed_are_laid_apart():
    assert [floor.lines for floor in _mixed(length=D(24)).floors] == [(1,), (2,), (3,)]


def test_a_floor_that_is_too_much_to_search_is_laid_line_by_line():
    """Panels of 0.25 and 0.26: their sums are too many for a mix, so none was chosen when it was issued."""
    small, other = (
        replace(CARD.rates.kinds[n], panel_width=side, panel_length=side)
        for n, side in enumerate((D("0.25"), D("0.26")))
    )
    rates = replace(CARD.rates, kinds=(small, other))
    lines = (
        FloorLine(small.panel, D(9), D(9), joined_width=D(9)),
        FloorLine(other.panel, D(9), D(9), joined_width=D(-9)),
    )
    request = replace(worked_example.REQUEST, surface="grass", lines=lines)
    assert [floor.lines for floor in floors(rates, request, price(rates, request))] == [(1,), (2,)]


# The clock


def _job(number, miles, days=1, after_hours=False, width=16):
    """Panels of a minute each for a crew of two, nothing to unload."""
    rates = replace(worked_example.RATES, unload_minutes=D(0))
    request = replace(
        worked_example.REQUEST, surface="paving", miles=D(miles), days=D(days), flights=None, after_hours=after_hours,
        lines=(FloorLine("4x4", D(width), D(20)),),
    )  # fmt: skip
    return Job(number, 1, rates, request)


DAY = worked_example.REQUEST.event_date


def _times(planned):
    return [(v.job.quote_number, v.what, *(f"{m:%H:%M}" for m in (v.leave, v.arrive, v.done, v.back))) for v in planned]


def test_a_day_by_hand():
    """30 miles an hour; 20 panels in 10 minutes; strike is 0.7 of it; the late one waits for its hour."""
    jobs = [_job("Q0001", 15, after_hours=True), _job("Q0002", 30)]
    assert _times(visits(jobs, DAY, D(30))) == [
        ("Q0001", SET_UP, "08:00", "08:30", "08:40", "09:10"),
        ("Q0002", SET_UP, "09:10", "10:10", "10:20", "11:20"),
        ("Q0002", STRIKE, "17:00", "18:00", "18:07", "19:07"),
        ("Q0001", STRIKE, "22:00", "22:30", "22:37", "23:07"),
    ]


def test_nobody_arrives_before_the_site_can_be_entered():
    """Half an hour's drive to the first, an hour's to the second: in at 13:00 and 14:45; the strikes come after."""
    jobs = [_job("Q0001", 15), _job("Q0002", 30), _job("Q0003", 15)]
    planned = visits(jobs, DAY, D(30), access_from={"Q0001": time(13), "Q0002": time(14, 45), "Q0003": time(9)})
    assert _times(planned)[:3] == [
        ("Q0001", SET_UP, "12:30", "13:00", "13:10", "13:40"),
        ("Q0002", SET_UP, "13:45", "14:45", "14:55", "15:55"),
        ("Q0003", SET_UP, "15:55", "16:25", "16:35", "17:05"),
    ]
    assert _times(planned)[3] == ("Q0001", STRIKE, "17:05", "17:35", "17:42", "18:12")


def test_starts_can_be_chosen_and_days_matter():
    job = _job("Q0001", 15, days=3)
    starts = {SET_UP: time(6), STRIKE: time(12), LATE: time(23)}
    assert _times(visits([job], DAY, D(30), starts)) == [("Q0001", SET_UP, "06:00", "06:30", "06:40", "07:10")]
    last = date.fromordinal(DAY.toordinal() + 2)
    assert [visit.what for visit in visits([job], last, D(30), starts)] == [STRIKE]
    assert visits([job], date.fromordinal(DAY.toordinal() + 1), D(30)) == ()


def test_a_job_of_two_trips_takes_the_way_again():
    """100 x 20 ft is 125 panels of 52 lb: 6,500 lb on 11 carts, three trips of 3,200 lb: there and back twice more."""
    (set_up, _) = visits([_job("Q0001", 15, width=100)], DAY, D(30))
    assert len(set_up.job.loads) == 3
    assert set_up.done - set_up.arrive == timedelta(hours=3, minutes=3)  # 62.5 min of work, 2 h of driving


# Cautions


def test_cautions_for_the_crew_by_hand():
    """The second worked example: 217.85 and 141.6 person-minutes for two people are 3.0 hours on one day.

    The card's lift over them: 51 lb x 10/14 x (1 - 0.0075 x 24) x 0.88 (30 in) x 0.75 (one a minute, 2 to 8 hours) x
    0.95 are 18.7 lb (NIOSH 94-110). Two may lift 24.9 lb, three 28.0 (HSE L23): not 38, 49 or 66. Half of 2,935 lb is
    two straps over the load or three to it. A cart of 568 lb takes 57 lb of push on grass, 104 on a slope of 1:12.
    """
    found = {caution.key: caution for caution in crew_cautions(CARD, loaded_example.JOB)}
    assert [*found] == ["tiedowns", "lifting", "carts", "ground", "bare_edge", "way", "wet"]
    assert found["tiedowns"].numbers | {"least": D("1467.5"), "over": 2, "direct": 3} == found["tiedowns"].numbers
    lifting = found["lifting"]
    assert (lifting.numbers["hours"], lifting.numbers["recommended"]) == (D("3.0"), D("18.7"))
    assert [(part.key, part.numbers["what"], part.numbers["weight"]) for part in lifting.parts] == [
        ("lifting_aid", "OAK-44", 49), ("lifting_aid", "OAK-34", 38), ("lifting_aid", "PLY-48", 66),
    ]  # fmt: skip
    assert found["carts"].numbers == {"weight": 568, "people": 2, "on_slope": 4}
    assert found["bare_edge"].numbers == {"height": D("1.453")}


def test_at_most_ten_cautions_stand_on_a_sheet():
    """All at once: a heavy vehicle, on grass, upstairs, over another room, without edging."""
    lines = (FloorLine("OAK-44", D(60), D(60), False), FloorLine("WHITE-23", D(10), D(10)))
    request = replace(worked_example.REQUEST, surface="grass", flights=D(2), raised=True, lines=lines)
    found = crew_cautions(replace(CARD, gross_weight=D(12000)), Job("Q0001", 1, CARD.rates, request))
    assert [caution.key for caution in found] == [
        "tiedowns", "commercial_vehicle", "raised", "lifting", "carts", "stairs", "ground", "bare_edge", "way", "wet",
    ]  # fmt: skip


def test_a_trailer_counts_with_its_vehicle():
    """9,900 lb of vehicle and 101 of trailer are 10,001 lb (49 CFR 390.5)."""
    for trailer, given_ in ((D(100), False), (D(101), True)):
        found = crew_cautions(replace(CARD, trailer_weight=trailer), loaded_example.JOB)
        assert ("commercial_vehicle" in {caution.key for caution in found}) is given_


def test_the_owner_is_told_of_trips_vehicle_and_lifts():
    found = owner_cautions(replace(CARD, gross_weight=D(12000)), loaded_example.JOB)
    assert [caution.key for caution in found] == ["overload", "commercial_vehicle", "lifting"]
    assert found[0].numbers == {"weight": D("5542.2"), "payload": 3450, "trips": 2}


def test_a_day_of_lifting_beyond_the_equation():
    """One person: 217.85 + 141.6 minutes are 6.0 hours; at twice the work 12, of which the equation covers 8."""
    alone = replace(CARD.rates, crew=D(1))
    twice = replace(alone, kinds=tuple(replace(kind, panel_minutes=4 * kind.panel_minutes) for kind in alone.kinds))
    keys = [
        [caution.key for caution in crew_cautions(CARD, replace_rates(rates)) if "lifting" in caution.key]
        for rates in (alone, twice)
    ]
    assert keys == [["lifting"], ["long_lifting"]]


def replace_rates(rates):
    return Job("Q0001", 1, rates, loaded_example.REQUEST)


def test_set_up_and_strike_on_two_days_are_not_one_days_lifting():
    two_days = replace(loaded_example.REQUEST, days=D(2))
    assert Job("Q0001", 1, CARD.rates, two_days).lifting_hours == D("217.85") / 2 / 60
    assert loaded_example.JOB.lifting_hours == (D("217.85") + D("141.6025")) / 2 / 60


def test_a_long_day():
    """From 08:00, set up and struck by 23:07: 15.1 hours."""
    planned = visits([_job("Q0001", 15, after_hours=True)], DAY, D(30))
    assert hours_away(planned) == D("15.1")
    assert long_day(planned, D("15.1")) is None
    assert long_day(planned, D(15)).numbers == {"hours": D("15.1"), "day_hours": 15}
    assert hours_away(()) == 0


def test_nothing_is_said_that_does_not_apply():
    request = replace(
        worked_example.REQUEST, flights=None, lines=(FloorLine("2x3", D(6), D(6), False),), surface="hard indoors"
    )
    thin = tuple(replace(kind, thickness=D("0.25")) for kind in worked_example.RATES.kinds)
    job = Job("Q0001", 1, replace(worked_example.RATES, kinds=thin), request)
    assert [caution.key for caution in crew_cautions(CARD, job)] == ["tiedowns", "carts", "way", "wet"]
    assert crew_cautions(CARD, replace(job, request=replace(request, lines=()))) == []
