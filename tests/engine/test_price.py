"""The price of a quote: one worked out by hand, and what holds for every one."""

from dataclasses import replace
from decimal import Decimal as D

import loaded_example
import pytest
import random_quotes as any_
import worked_example
from hypothesis import assume, given
from hypothesis import strategies as st

from quotebook.engine.figures import LINE_FIGURES, QUOTE_FIGURES
from quotebook.engine.model import LINES, FloorLine, Request, same_text
from quotebook.engine.price import price

MONEY = (
    "labour", "after_hours_charge", "delivery", "goods", "discount", "waiver", "taxable", "tax", "total", "deposit",
    "balance", *(f"{name}_{line}" for name in ("hire", "edging", "subfloor") for line in range(1, LINES + 1)),
)  # fmt: skip


WORKED = price(worked_example.RATES, worked_example.REQUEST)


@pytest.mark.parametrize("name", LINE_FIGURES)
def test_line_figure(name):
    assert [getattr(line, name) for line in WORKED.lines] == [
        getattr(line, name) for line in worked_example.FIGURES.lines
    ]


@pytest.mark.parametrize("name", QUOTE_FIGURES)
def test_quote_figure(name):
    assert getattr(WORKED, name) == getattr(worked_example.FIGURES, name)


def test_every_figure_was_worked_by_hand():
    """54 on a line and 38 of the quote, four of them under one name."""
    assert (len(LINE_FIGURES), len(QUOTE_FIGURES), len({*LINE_FIGURES, *QUOTE_FIGURES})) == (54, 38, 88)
    assert WORKED == worked_example.FIGURES


def test_empty_request_costs_nothing():
    assert set(price(worked_example.RATES, Request()).by_name().values()) <= {D(0), ""}


def test_unusable_entries_count_as_nothing():
    request = replace(worked_example.REQUEST, days=D("1.5"), miles=D(-1), flights=D("0.5"), guests=None)
    figures = price(worked_example.RATES, request)
    assert (figures.days_counted, figures.miles_counted, figures.flights_counted, figures.guests_counted) == (
        0,
        0,
        0,
        0,
    )
    assert figures.goods == 0 and figures.labour > 0


def test_days_take_the_row_not_above_them():
    factors = [
        price(worked_example.RATES, replace(worked_example.REQUEST, days=D(days))).days_factor for days in range(6)
    ]
    assert factors == [0, 1, D("1.5"), D("1.5"), D("2.25"), D("2.25")]


def test_one_floor_laid_of_two_kinds():
    """14 x 20 ft: 15 panels of 4x4 on 12 x 20 and 5 of 4x2 on 2 x 20; edging of 4 ft pieces round 14 x 20, no seam.

    4 + 5 pieces for slots, as many for tongues, four corners; over sheets of 4x8, 2 x 5 of them: turned.
    """
    half = replace(worked_example.LARGE, panel="4x2", panel_length=D(2), rate=D(20))
    soft = tuple(
        replace(kind, layings=("over subfloor",) * 4, subfloor_kind="ply") for kind in (worked_example.LARGE, half)
    )
    rates = replace(worked_example.RATES, kinds=soft)
    lines = (
        FloorLine("4x4", D(12), D(20), True, joined_width=D(2)),
        FloorLine("4x2", D(2), D(20), True, joined_width=D(-2), joined_length=D(-20)),
    )
    figures = price(rates, replace(worked_example.REQUEST, days=D(1), lines=lines))
    whole = price(rates, replace(worked_example.REQUEST, days=D(1), lines=(FloorLine("4x4", D(14), D(20), True),)))
    assert (figures.line(1).panels, figures.line(2).panels, figures.line(2).turned) == (15, 5, 1)
    assert (figures.line(1).floor_width, figures.line(1).floor_length, figures.line(2).floor_width) == (14, 20, 0)
    assert (figures.line(1).slot_pieces, figures.line(1).tongue_pieces, figures.line(1).corners) == (9, 9, 4)
    assert (figures.line(2).edging_pieces, figures.line(2).corners, figures.line(2).edging, figures.line(2).sheets) == (
        0,
        0,
        0,
        0,
    )
    assert figures.line(1).sheets == 10
    assert figures.line(1).hire + figures.line(2).hire == 15 * D("36.50") + 5 * 20
    assert (
        whole.panels == 20 and whole.line(1).edging == figures.line(1).edging
    )  # pieces for 16 ft and for 14 ft are as many


@given(any_.rates, any_.requests)
def test_every_request_has_a_price(rates, request):
    figures = price(rates, request)
    assert figures.total == (
        figures.goods - figures.discount + figures.minimum_order_charge + figures.waiver + figures.delivery
        + figures.labour + figures.after_hours_charge + (0 if rates.prices_with_tax else figures.tax)
    )  # fmt: skip
    assert figures.goods == sum(line.hire + line.edging + line.subfloor for line in figures.lines)
    assert figures.deposit + figures.balance == figures.total


@given(any_.rates, any_.requests)
def test_money_is_in_whole_minor_units(rates, request):
    figures = price(rates, request).by_name()
    finer = [name for name in MONEY if figures[name].scaleb(int(rates.minor_units)) % 1]
    assert not finer


@given(any_.rates, any_.requests)
def test_turning_never_costs_more_panels(rates, request):
    figures = price(rates, request)
    for line in figures.lines:
        as_given = line.across_as_given * line.along_as_given
        assert line.panels < as_given if line.turned else line.panels == as_given


@given(any_.rates, any_.requests)
def test_a_priced_floor_covers_what_was_asked(rates, request):
    figures = price(rates, request)
    for line, asked in enumerate(request.lines, 1):
        if figures.line(line).counted:
            short = max(asked.width - figures.line(line).actual_width, asked.length - figures.line(line).actual_length)
            assert short < D("0.0001"), "only what rounding to six places takes for noise is missing"


@given(any_.rates, any_.requests)
def test_the_total_is_the_sum_of_its_parts(rates, request):
    figures = price(rates, request)
    parts = ["goods", "minimum_order_charge", "waiver", "delivery", "labour", "after_hours_charge"]
    parts += [] if rates.prices_with_tax else ["tax"]
    assert figures.total == sum(getattr(figures, part) for part in parts) - figures.discount


def _one_floor(rates, code, days, width, length):
    return price(rates, Request(days=days, surface="grass", lines=(FloorLine(code, width, length, True),)))


@given(any_.rates, st.sampled_from(any_.CODES), any_.wholes(1, 40), any_.sides, any_.sides, any_.sides)
def test_a_longer_floor_takes_no_fewer_panels(rates, code, days, width, length, more):
    assume(length + more <= rates.longest_side and width <= rates.longest_side)
    shorter, longer = (_one_floor(rates, code, days, width, each) for each in (length, length + more))
    for name in ("panels", "area", "hire"):
        assert getattr(shorter.line(1), name) <= getattr(longer.line(1), name)


@given(any_.rates, any_.sides, any_.wholes(1, 40), any_.sides, any_.sides, any_.sides)
def test_a_longer_floor_of_square_panels_costs_no_less(rates, side, days, width, length, more):
    """Of oblong panels it may: turned for the larger floor, they can take fewer edging pieces than before."""
    assume(length + more <= rates.longest_side and width <= rates.longest_side)
    square = replace(rates, kinds=(replace(rates.kinds[0], panel_width=side, panel_length=side),))
    shorter, longer = (_one_floor(square, "4x4", days, width, each) for each in (length, length + more))
    for name in ("panels", "area", "weight", "carts", "trips", "setup_minutes", "goods", "labour", "delivery", "total"):
        assert getattr(shorter, name) <= getattr(longer, name)


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("OAK-44", "oak-44", True),
        ("sí", "SÍ", True),
        ("hormigón", "HORMIGÓN", True),
        ("si", "sí", False),
        ("K", "\u212a", False),
    ],
)
def test_text_is_the_same_as_to_a_spreadsheet(one, other, same):
    """As LibreOffice and IronCalc answer; a Kelvin sign is no K."""
    assert same_text(one, other) is same_text(other, one) is same


def test_a_second_quote_with_all_weights_by_hand():
    figures = loaded_example.JOB.figures
    for number, by_hand in enumerate(loaded_example.LINES, 1):
        line = figures.line(number)
        assert {name: getattr(line, name) for name in by_hand} == {name: D(value) for name, value in by_hand.items()}
    by_hand = loaded_example.QUOTE
    assert {name: getattr(figures, name) for name in by_hand} == {name: D(value) for name, value in by_hand.items()}
