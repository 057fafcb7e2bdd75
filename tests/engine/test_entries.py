"""What may be entered and what may not, at the edge of each rule."""

from dataclasses import replace
from datetime import date
from decimal import Decimal as D

import pytest
from worked_example import LARGE, OBLONG, RATES

from quotebook.engine.entries import LONGEST_TEXT, problems
from quotebook.engine.model import NOT_HERE

LEAST = {"event_date": date(2027, 6, 12), "days": D(1), "surface": "grass"}
"""The three entries that no request is without."""

EDGES = {
    "client": ([None, "", "a" * LONGEST_TEXT], ["a" * (LONGEST_TEXT + 1), D(7), True]),
    "event": ([None, "a" * LONGEST_TEXT], ["a" * (LONGEST_TEXT + 1)]),
    "venue": ([None, "a" * LONGEST_TEXT], ["a" * (LONGEST_TEXT + 1)]),
    "event_date": ([date(1900, 3, 1), date(2999, 12, 31)], [None, date(1900, 2, 28), date(3000, 1, 1), "2027-06-12"]),
    "days": ([D(1), D(100_000)], [None, D(0), D("1.5"), D(100_001), "1", True]),
    "surface": (["grass", "carpet indoors"], [None, "", "sand", D(1)]),
    "miles": ([None, D(0), D("0.1"), D(100_000)], [D("-0.1"), D("100000.1"), "12"]),
    "flights": ([None, D(0), D(100_000)], [D(-1), D("0.5"), D(100_001), "2"]),
    "guests": ([None, D(0), D(100_000)], [D(-1), D("120.5"), D(100_001)]),
    "room_width": ([None, D(0), D("39.5"), D(100_000)], [D(-1), D("100000.1"), "40"]),
    "room_length": ([None, D("60.25")], [D("-0.1"), True]),
    "after_hours": ([None, True, False], ["yes", D(1), ""]),
    "waiver_taken": ([None, True, False], ["no", D(0)]),
    "edging_wanted_1": ([None, True, False], ["yes", D(1)]),
}
"""By name: what is taken, and what is refused."""


@pytest.mark.parametrize("name", EDGES)
def test_an_entry_is_taken_up_to_its_limits_and_no_further(name):
    taken, refused = EDGES[name]
    assert [problems(RATES, LEAST | {name: entry}) for entry in taken] == [[]] * len(taken)
    for entry in refused:
        (problem,) = problems(RATES, LEAST | {name: entry})
        assert (problem.name, problem.found) == (name, entry)


ALLOWED = {
    "client": f"text of at most {LONGEST_TEXT} characters", "event_date": "a date from 1900-03-01 to 2999-12-31",
    "days": "a whole number from 1 to 100000", "surface": "one of grass, paving, hard indoors, carpet indoors",
    "miles": "a number from 0 to 100000", "guests": "a whole number from 0 to 100000", "after_hours": "yes or no",
    "edging_wanted_1": "yes or no",
}  # fmt: skip


@pytest.mark.parametrize("name", ALLOWED)
def test_what_is_allowed_is_said(name):
    (problem,) = problems(RATES, LEAST | {name: EDGES[name][1][-1]})
    assert problem.allowed == ALLOWED[name]


def line_problems(panel, width, length, rates=RATES, **others):
    entries = LEAST | {"panel_3": panel, "width_3": width, "length_3": length} | others
    return {problem.name: problem.allowed for problem in problems(rates, entries)}


@pytest.mark.parametrize("panel", [None, ""])
def test_a_line_without_anything_is_blank(panel):
    assert line_problems(panel, None, None) == {}


def test_a_line_with_something_needs_a_panel_and_both_sides():
    side = "a number above 0, at most 200"
    assert line_problems("4x4", None, None) == {"width_3": side, "length_3": side}
    assert line_problems("4x4", D(12), None) == {"length_3": side}
    assert line_problems(None, D(12), D(12)) == line_problems("", D(12), D(12)) == {"panel_3": "one of 4x4, 2x3, 3x4"}
    assert line_problems(None, None, D(12)) == {"panel_3": "one of 4x4, 2x3, 3x4", "width_3": side}


@pytest.mark.parametrize(("side", "taken"), [("0.01", True), ("200", True), ("0", False), ("200.01", False)])
def test_a_side_is_above_nought_and_up_to_the_longest(side, taken):
    assert line_problems("4x4", D(side), D(12)).keys() == (set() if taken else {"width_3"})
    assert line_problems("4x4", D(12), D(side)).keys() == (set() if taken else {"length_3"})


def test_a_panel_is_one_of_the_card_that_can_go_on_the_ground():
    assert line_problems("4X4", D(12), D(12)) == {}, "capitals or not"
    assert line_problems("5x5", D(12), D(12)) == {"panel_3": "one of 4x4, 2x3, 3x4"}
    assert line_problems(D(4), D(12), D(12)) == {"panel_3": "one of 4x4, 2x3, 3x4"}
    on_carpet = line_problems("4x4", D(12), D(12), surface="carpet indoors")
    assert on_carpet == {"panel_3": "a panel that can go on carpet indoors: 2x3, 3x4"}
    nowhere = replace(RATES, kinds=tuple(replace(kind, layings=(NOT_HERE,) * 4) for kind in (LARGE, OBLONG)))
    assert line_problems("4x4", D(12), D(12), nowhere) == {"panel_3": "a panel that can go on grass: none"}


def test_problems_come_in_the_order_of_the_sheet():
    found = problems(RATES, {"width_2": D(0), "panel_1": "5x5", "length_1": D(4), "guests": D(-1), "client": D(1)})
    assert [problem.name for problem in found] == [
        "client", "event_date", "days", "surface", "guests", "panel_1", "width_1", "panel_2", "width_2", "length_2",
    ]  # fmt: skip
