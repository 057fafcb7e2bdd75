"""A request that offers options: only the lines of the one that is picked count, and those of every option."""

from dataclasses import replace
from decimal import Decimal as D

import pytest
import random_quotes as any_
from hypothesis import given
from worked_example import LINES, RATES, REQUEST

from quotebook.engine.cautions import line_notes
from quotebook.engine.entries import problems
from quotebook.engine.model import FloorLine
from quotebook.engine.price import NO_PANEL, price

OAK, SNAP, WHITE = REQUEST.lines
OFFERED = replace(REQUEST, lines=(replace(OAK, option="A"), replace(SNAP, option="B"), WHITE), picked="A")
"""The floors of the worked example: oak or snap sections, and the white floor whichever is picked."""

BY_HAND = {
    # Goods 1642.50 + 119.85 + 749.25; less 5 %: 125.58. Waiver 2386.02 x 0.08 = 190.8816.
    # Set-up 43.0 + 16.2 + 5 x 10 = 109.2: 3.64 quarters, so 1 h; strike 76.44: 2.548, so the minimum, 1 h.
    # Labour 2 h x 2 x 31.40; taxed 2386.02 + 111.78, tax 171.72375.
    # Total 2386.02 + 190.88 + 111.78 + 125.60 + 31.40 + 171.72; deposit 1206.96.
    "A": {"goods": "2511.60", "waiver": "190.88", "setup_minutes": "109.2", "setup_hours": 1, "labour": "125.60",
          "taxable": "2497.80", "tax": "171.72", "total": "3017.40", "deposit": "1206.96"},
    # Goods 397.50 + 171.00 + 749.25; less 5 %: 65.8875. Waiver 1251.86 x 0.08 = 100.1488.
    # Set-up 34.0 + 16.2 + 4 x 10 = 90.2: 3.007 quarters, so 1 h. Taxed 1251.86 + 111.78, tax 93.75025.
    # Total 1251.86 + 100.15 + 111.78 + 125.60 + 31.40 + 93.75; deposit 685.816.
    "B": {"goods": "1317.75", "waiver": "100.15", "setup_minutes": "90.2", "setup_hours": 1, "labour": "125.60",
          "taxable": "1363.64", "tax": "93.75", "total": "1714.54", "deposit": "685.82"},
}  # fmt: skip


@pytest.mark.parametrize("option", BY_HAND)
def test_an_option_costs_what_it_does_by_hand(option):
    figures = price(RATES, OFFERED.with_pick(option))
    assert {name: getattr(figures, name) for name in BY_HAND[option]} == {
        name: D(value) for name, value in BY_HAND[option].items()
    }
    other = 2 if option == "A" else 1
    assert figures.line(other) == NO_PANEL
    assert [figures.line(line) for line in (3 - other, 3)] == [LINES[2 - other], LINES[2]]


def test_without_a_pick_only_the_floors_of_every_option_count():
    for picked in ("", "C", "Z"):
        request = OFFERED.with_pick(picked)
        assert request.needs_pick
        assert price(RATES, request).goods == D("749.25")  # the white floor
    assert not REQUEST.needs_pick and not OFFERED.needs_pick


def test_a_small_letter_picks_as_a_spreadsheet_compares_it():
    assert price(RATES, OFFERED.with_pick("b")) == price(RATES, OFFERED.with_pick("B"))


@given(any_.rates, any_.requests_with_options)
def test_an_option_is_priced_as_a_request_for_it_alone(rates, request):
    for option in request.options:
        picked = request.with_pick(option)
        alone = tuple(
            replace(line, option="") if line.option in ("", option) else FloorLine() for line in request.lines
        )
        assert price(rates, picked) == price(rates, replace(request, lines=alone, picked=""))


def test_a_line_that_is_left_out_says_only_that():
    figures = price(RATES, OFFERED)
    assert [line_notes(OFFERED, figures, line) for line in (1, 2)] == [("rounded_up",), ("not_picked",)]


ENTRIES = {
    "event_date": REQUEST.event_date, "days": D(1), "surface": "grass", "picked": "A",
    "panel_1": "4x4", "width_1": D(8), "length_1": D(8), "option_1": "A",
    "panel_2": "2x3", "width_2": D(6), "length_2": D(6), "option_2": "B",
}  # fmt: skip


@pytest.mark.parametrize(
    ("entries", "name", "allowed"),
    [
        ({"picked": None}, "picked", "A or B"),
        ({"picked": "C"}, "picked", "A or B"),
        ({"picked": D(1)}, "picked", "A or B"),
        ({"option_2": "D"}, "option_2", "A, B, C, or nothing where the floor belongs to every option"),
        ({"option_2": D(2)}, "option_2", "A, B, C, or nothing where the floor belongs to every option"),
        ({"width_1": D(0)}, "width_1", "a number above 0, at most 200"),
    ],
)
def test_what_may_be_picked(entries, name, allowed):
    (problem,) = problems(RATES, ENTRIES | entries)
    assert (problem.name, problem.allowed) == (name, allowed)


def test_a_floor_of_an_option_that_is_not_picked_is_no_problem():
    assert problems(RATES, ENTRIES) == problems(RATES, ENTRIES | {"width_2": None}) == []
    (problem,) = problems(RATES, ENTRIES | {"width_2": None, "picked": "b"})
    assert problem.name == "width_2"
