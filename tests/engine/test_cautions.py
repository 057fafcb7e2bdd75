"""When each caution is given, with its source, and what it says."""

import inspect
import string
import tomllib
from dataclasses import replace
from decimal import Decimal as D
from pathlib import Path

import pytest
from worked_example import RATES, REQUEST

import quotebook
from quotebook.engine import advice, cautions, lifting
from quotebook.engine.cautions import (  # fmt: skip
    CREW_CAUTIONS,
    bare_edge,
    commercial_vehicle,
    line_notes,
    overload,
    quote_cautions,
    stairs,
    tiedowns,
    wet,
)
from quotebook.engine.model import FloorLine, Request
from quotebook.engine.price import price

WORDS = tomllib.loads((Path(quotebook.__file__).parents[1] / "templates" / "words.en.toml").read_text("utf-8"))


def _cautions(request):
    return set(quote_cautions(RATES, request, price(RATES, request)))


BARE = Request(days=D(1), surface="paving", lines=(FloorLine("4x4", D(16), D(16)),))
JOINED = replace(
    BARE, lines=(FloorLine("4x4", D(12), D(16), True, D(4)), FloorLine("4x4", D(4), D(16), False, D(-4), D(-16)))
)
"""One floor of two blocks, its edging on the first line."""
EDGED = replace(BARE, lines=(replace(BARE.lines[0], edging_wanted=True),))


@pytest.mark.parametrize(
    ("request_", "key", "given"),
    [
        (Request(), "days_needed", True), (REQUEST, "days_needed", False),
        (Request(), "surface_needed", True), (REQUEST, "surface_needed", False),
        (replace(BARE, guests=D(128)), "crowding", True), (replace(BARE, guests=D(127)), "crowding", False),
        (Request(guests=D(128)), "crowding", False),
        (BARE, "step", True), (EDGED, "step", False), (BARE, "bevel", False), (EDGED, "bevel", True),
        (JOINED, "step", False), (replace(JOINED, lines=(BARE.lines[0], *JOINED.lines[1:])), "step", True),
        (REQUEST, "upstairs", True), (BARE, "upstairs", False),
        (BARE, "slippery", True), (Request(), "slippery", False),
        (BARE, "tax", True), (replace(BARE, days=None), "tax", True), (Request(), "tax", False),
    ],
)  # fmt: skip
def test_quote_cautions(request_, key, given):
    """Crowding: 256 sq ft is standing space for 51 (5 sq ft each, IBC Table 1004.5); of 128 guests at 40 % 52 dance.

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


@pytest.mark.parametrize(
    ("caution", "numbers"),
    [
        (
            cautions.lifting("Panel 4x4", D(52), D("34.8")),
            {"what": "Panel 4x4", "weight": D(52), "recommended": D("34.8")},
        ),
        (cautions.lifting("Panel 2x3", D("8.4"), D("34.8")), None),
        (cautions.lifting("Sheet", D("34.8"), D("34.8")), None),
        (overload(D(3201), D(3200), D(2)), {"weight": D(3201), "payload": D(3200), "trips": D(2)}),
        (overload(D(3200), D(3200), D(1)), None),
        (commercial_vehicle(D(10001), "ft"), {"gross_weight": D(10001), "limit": D(10001)}),
        (commercial_vehicle(D(10000), "ft"), None),
        (commercial_vehicle(D(4536), "m"), {"gross_weight": D(4536), "limit": D(4536)}),
        (commercial_vehicle(D(4535), "m"), None),
        (tiedowns(D(2880)), {"weight": D(2880), "least": D(1440)}),
        (tiedowns(D(0)), None),
        (bare_edge(D("1.25"), D("0.25"), D(0)), {"thickness": D("1.25"), "limit": D("0.25")}),
        (bare_edge(D("0.25"), D("0.25"), D(0)), None),
        (bare_edge(D("1.25"), D("0.25"), D(1)), None),
        (stairs(D(2)), {"flights": D(2)}),
        (stairs(D(0)), None),
        (wet(D(16)), {}),
        (wet(D(0)), None),
    ],
)
def test_crew_cautions(caution, numbers):
    """10,001 lb (4,536 kg): 49 CFR 390.5. Half the cargo: 49 CFR 393.106(d). Above 1/4 in: ADA 2010 Standards 303.2."""
    assert (caution and caution.numbers) == numbers


ALL_GIVEN = (
    cautions.lifting("Panel", D(2), D(1)), overload(D(2), D(1), D(2)), commercial_vehicle(D(20000), "ft"),
    tiedowns(D(1)), bare_edge(D(1), D(0), D(0)), stairs(D(1)), wet(D(1)),
)  # fmt: skip
UNITS = {"unit", "thickness_unit"}


def test_each_crew_caution_is_named_by_its_key():
    assert [caution.key for caution in ALL_GIVEN] == [function.__name__ for function in CREW_CAUTIONS]


@pytest.mark.parametrize("caution", ALL_GIVEN, ids=lambda caution: caution.key)
def test_each_crew_caution_has_a_sentence_for_its_numbers(caution):
    sentence = WORDS["crew_cautions"][caution.key]
    slots = {name for _, name, _, _ in string.Formatter().parse(sentence) if name}
    assert slots - UNITS <= set(caution.numbers)
    assert sentence.format(**caution.numbers, unit="lb", thickness_unit="in")


def test_cautions_defer_and_never_promise():
    sentences = [*WORDS["cautions"].values(), *WORDS["crew_cautions"].values(), *WORDS["notes"].values()]
    sources = [inspect.getsource(module) for module in (cautions, lifting, advice)]
    assert not any("safe" in text.lower() for text in sentences + sources)
    assert all("not professional advice" in WORDS[section]["defer"] for section in ("cautions", "crew_cautions"))


def test_every_client_caution_and_note_has_a_sentence():
    assert set(cautions.CAUTIONS) | {"defer"} == set(WORDS["cautions"])
    figures = price(RATES, Request())
    assert line_notes(Request(), figures, 1) == ()
