"""When each caution is given, with its source, and what it says."""

import inspect
import tomllib
from dataclasses import replace
from decimal import Decimal as D
from pathlib import Path

import pytest
from worked_example import RATES, REQUEST

import quotebook
from quotebook.engine import advice, cautions, crew, lifting
from quotebook.engine.cautions import line_notes, quote_cautions
from quotebook.engine.crew import CREW_CAUTIONS, bare_edge, carts, commercial_vehicle, stairs, tiedowns
from quotebook.engine.loading import Cart, EdgingPack, Load
from quotebook.engine.model import FloorLine, Request
from quotebook.engine.price import price

WORDS = tomllib.loads((Path(quotebook.__file__).parents[1] / "templates" / "words.en.toml").read_text("utf-8"))


def _cautions(request):
    rates = replace(RATES, clear_way=D(3))
    return set(quote_cautions(rates, request, price(rates, request)))


BARE = Request(days=D(1), surface="paving", lines=(FloorLine("4x4", D(16), D(16)),))
JOINED = replace(
    BARE, lines=(FloorLine("4x4", D(12), D(16), True, D(4)), FloorLine("4x4", D(4), D(16), False, D(-4), D(-16)))
)
"""One floor of two blocks, its edging on the first line."""
SNAP = replace(BARE, lines=(FloorLine("2x3", D(10), D(10), True),))
"""A kind without edging."""
EDGED = replace(BARE, lines=(replace(BARE.lines[0], edging_wanted=True),))


@pytest.mark.parametrize(
    ("request_", "key", "given"),
    [
        (Request(), "days_needed", True), (REQUEST, "days_needed", False),
        (Request(), "surface_needed", True), (REQUEST, "surface_needed", False),
        (replace(BARE, guests=D(128)), "crowding", True), (replace(BARE, guests=D(127)), "crowding", False),
        (Request(guests=D(128)), "crowding", False),
        (BARE, "step", True), (EDGED, "step", False), (BARE, "bevel", False), (EDGED, "bevel", True),
        (BARE, "step_no_edging", False), (SNAP, "step_no_edging", True), (SNAP, "step", False),
        (JOINED, "step", False), (replace(JOINED, lines=(BARE.lines[0], *JOINED.lines[1:])), "step", True),
        (replace(BARE, raised=True), "raised", True), (replace(BARE, flights=D(2)), "raised", False),
        (replace(BARE, room_width=D(21)), "room", True), (replace(BARE, room_length=D(22)), "room", False),
        (BARE, "room", False), (Request(room_width=D(1)), "room", False),
        (replace(JOINED, room_width=D(21)), "room", True),
        *((BARE, key, True) for key in ("ground", "weather", "sun", "exits", "cables", "cleaning")),
        *((replace(BARE, surface="hard indoors"), key, False) for key in ("ground", "weather", "sun")),
        *((Request(), key, False) for key in ("ground", "exits", "cables", "cleaning", "raised")),
        (BARE, "slippery", True), (Request(), "slippery", False),
        (BARE, "tax", True), (replace(BARE, days=None), "tax", True), (Request(), "tax", False),
    ],
)  # fmt: skip
def test_quote_cautions(request_, key, given):
    """Crowding: 256 sq ft is standing space for 51 (5 sq ft each, IBC Table 1004.5); of 128 guests at 40 % 52 dance.

    Room: 16 ft with 36 in on both sides (ADA 2010 Standards 403.5.1) are 22.
    Step and bevel: an edge of 1 1/4 in against 1/4 in (ADA 2010 Standards 303); a block in a floor has none of its own.
    Delivery is taxed without days too.
    """
    assert (key in _cautions(request_)) is given


def test_notes_of_the_worked_example():
    figures = price(RATES, REQUEST)
    assert [line_notes(REQUEST, figures, line) for line in range(1, 5)] == [
        ("rounded_up",), ("subfloor_added", "rounded_up"), ("rounded_up",), (),
    ]  # fmt: skip


def test_each_block_of_one_floor_says_that_it_is_part_of_it():
    figures = price(RATES, JOINED)
    assert [line_notes(JOINED, figures, line) for line in (1, 2, 3)] == [("part_of_floor",)] * 2 + [()]


def test_a_thin_panel_on_a_thick_sheet_is_a_step():
    """A quarter of an inch is no step (ADA 2010 Standards 303.2); on three quarters of plywood it is one inch high."""
    thin = replace(RATES, kinds=tuple(replace(kind, thickness=D("0.25")) for kind in RATES.kinds))
    for surface, given in (("grass", True), ("paving", False)):
        request = replace(SNAP, surface=surface)
        assert ("step_no_edging" in quote_cautions(thin, request, price(thin, request))) is given


LOADS = (
    Load((Cart("panels", "4x4", 1, 12, D(700)), Cart("panels", "4x4", 1, 12, D(700))), (), D(100)),
    Load((Cart("panels", "4x4", 1, 6, D(390)),), (EdgingPack("slot_pieces", "4x4", 1, 11, D(33)),), D(0)),
)


@pytest.mark.parametrize(
    ("caution", "numbers"),
    [
        # 1,500 lb on the heaviest trip: half is 750, one strap of 1,000 lb over it or two that count 500 each.
        (
            tiedowns(LOADS, D(1000)),
            {"weight": D(1500), "least": D(750), "strap_limit": D(1000), "over": D(1), "direct": D(2)},
        ),
        (
            tiedowns(LOADS, D(375)),
            {"weight": D(1500), "least": D(750), "strap_limit": D(375), "over": D(2), "direct": D(4)},
        ),
        (tiedowns((), D(1000)), None),
        (commercial_vehicle(D(10001), "USA", "ft"), {"gross_weight": D(10001), "limit": D(10001)}),
        (commercial_vehicle(D(10000), "USA", "ft"), None),
        (commercial_vehicle(D(4536), "USA", "m"), {"gross_weight": D(4536), "limit": D(4536)}),
        (commercial_vehicle(D(4535), "USA", "m"), None),
        (commercial_vehicle(D(3501), "EU", "m"), {"gross_weight": D(3501), "limit": D(3500)}),
        (commercial_vehicle(D(3500), "EU", "m"), None),
        (commercial_vehicle(D(3501), "UK", "m"), {"gross_weight": D(3501), "limit": D(3500)}),
        (commercial_vehicle(D(40000), "other", "m"), None),
        # 700 lb: 2 % is 14 lb on a hard floor, 10 % is 70 on grass, and a slope of 1:12 adds 58.3; 33 lb for one.
        (carts(LOADS, "hard indoors", "ft"), {"weight": D(700), "people": D(1), "on_slope": D(3)}),
        (carts(LOADS, "grass", "ft"), {"weight": D(700), "people": D(3), "on_slope": D(4)}),
        (carts((), "grass", "ft"), None),
        (bare_edge(D("1.25"), D("0.25")), {"height": D("1.25")}),
        (bare_edge(D("0.25"), D("0.25")), None),
        (stairs(D(2)), {"flights": D(2)}),
        (stairs(D(0)), None),
    ],
)
def test_crew_cautions(caution, numbers):
    """49 CFR 393.106(d); 49 CFR 390.5; 2006/126/EC article 4; HSE L23; ADA 2010 Standards 303.2."""
    assert (caution and caution.numbers) == numbers


def test_every_crew_caution_has_a_sentence():
    assert {*CREW_CAUTIONS, "defer"} == set(WORDS["crew_cautions"])


def test_cautions_defer_and_never_promise():
    sentences = [*WORDS["cautions"].values(), *WORDS["crew_cautions"].values(), *WORDS["notes"].values()]
    sources = [inspect.getsource(module) for module in (cautions, crew, lifting, advice)]
    assert not any("safe" in text.lower() for text in sentences + sources)
    assert all("not professional advice" in WORDS[section]["defer"] for section in ("cautions", "crew_cautions"))


def test_every_client_caution_and_note_has_a_sentence():
    assert set(cautions.CAUTIONS) | {"defer"} == set(WORDS["cautions"])
    figures = price(RATES, Request())
    assert line_notes(Request(), figures, 1) == ()
