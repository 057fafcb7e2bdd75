"""Free by the day, and what would do instead. Counts are by hand, or by a second, slower count."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal as D

import pytest
import worked_example
from hypothesis import given
from hypothesis import strategies as st
from ledger_fixtures import FIRM, floor

from quotebook.engine.model import FloorLine, Holding, RateCard, SheetHolding
from quotebook.engine.price import price
from quotebook.engine.stock import (
    Hold,
    Item,
    Shortage,
    alternatives,
    free,
    held_days,
    least_free,
    needs,
    owned,
    shortage_periods,
    shortages,
)

PANELS = Item("panels", "4x4")
JUNE = [date(2026, 6, day) for day in range(1, 31)]


def june(day):
    return JUNE[day - 1]


@pytest.mark.parametrize(
    ("event", "days", "turnaround", "held"),
    [(20, 1, 0, (19, 20)), (20, 1, 1, (19, 21)), (20, 2, 1, (19, 22)), (2, 3, 2, (1, 6))],
)
def test_held_days(event, days, turnaround, held):
    assert held_days(june(event), days, turnaround) == (june(held[0]), june(held[1]))


def test_free_overlaps_by_the_day():
    """30 owned; 20 away from the 3rd to the 5th, 10 from the 5th to the 8th."""
    holds = [Hold(PANELS, 20, june(3), june(5)), Hold(PANELS, 10, june(5), june(8))]
    assert free({PANELS: 30}, holds, june(2), june(9))[PANELS] == [30, 10, 10, 0, 20, 20, 20, 30]


def test_free_counts_what_starts_before_or_ends_after():
    holds = [Hold(PANELS, 5, date(2026, 5, 1), june(2)), Hold(PANELS, 7, june(3), date.max)]
    assert free({PANELS: 30}, holds, june(1), june(4))[PANELS] == [25, 25, 23, 23]


def test_free_below_zero_where_more_is_promised_than_owned():
    assert free({PANELS: 10}, [Hold(PANELS, 12, june(1), june(1))], june(1), june(2))[PANELS] == [-2, 10]


def test_items_that_are_not_owned_are_not_counted():
    assert free({}, [Hold(PANELS, 5, june(1), june(9))], june(1), june(9)) == {}


items = st.sampled_from([PANELS, Item("panels", "2x3"), Item("sheets", "ply")])
holds = st.builds(
    lambda item, count, start, days: Hold(item, count, start, start + timedelta(days)),
    items, st.integers(1, 40), st.dates(date(2026, 5, 1), date(2026, 7, 30)), st.integers(0, 40),
)  # fmt: skip


@given(st.dictionaries(items, st.integers(0, 100)), st.lists(holds, max_size=20))
def test_free_equals_a_count_day_by_day(owned, holds):
    def away(item, day):
        return sum(hold.pieces for hold in holds if hold.item == item and hold.held_from <= day <= hold.held_to)

    counted = {item: [count - away(item, day) for day in JUNE] for item, count in owned.items()}
    assert free(owned, holds, JUNE[0], JUNE[-1]) == counted


def test_shortages_by_day():
    free_by_day = {PANELS: [30, 10, 10, 0]}
    assert shortages({PANELS: 12, Item("corners", "4x4"): 4}, free_by_day, june(2)) == [
        Shortage(PANELS, june(3), 2), Shortage(PANELS, june(4), 2), Shortage(PANELS, june(5), 12),
    ]  # fmt: skip


def test_days_in_a_row_are_one_spell():
    """3 short for two days, then 5; 3 again later; something else on the first of those days."""
    corners = Item("corners", "4x4")
    short = [Shortage(PANELS, june(day), 3) for day in (2, 3, 5)]
    short += [Shortage(corners, june(2), 3), Shortage(PANELS, june(4), 5)]
    assert [each.said(date.isoformat) for each in shortage_periods(short)] == [
        "3 corners of 4x4 on 2026-06-02", "3 panels of 4x4 from 2026-06-02 to 2026-06-03",
        "5 panels of 4x4 on 2026-06-04", "3 panels of 4x4 on 2026-06-05",
    ]  # fmt: skip


def test_needs_of_the_worked_example():
    """30, 20 and 18 panels; 11 pieces each for slot and tongue edges; 4 corners; 6 sheets."""
    request = worked_example.REQUEST
    assert needs(worked_example.RATES, request, price(worked_example.RATES, request)) == {
        PANELS: 30, Item("slot_pieces", "4x4"): 11, Item("tongue_pieces", "4x4"): 11, Item("corners", "4x4"): 4,
        Item("panels", "2x3"): 20, Item("sheets", "ply"): 6, Item("panels", "3x4"): 18,
        Item("carts", ""): 7,
    }  # fmt: skip


def test_needs_by_the_cards_own_code():
    request = replace(worked_example.REQUEST, lines=(FloorLine("3X4", D(3), D(4)),))
    assert needs(worked_example.RATES, request, price(worked_example.RATES, request)) == {
        Item("panels", "3x4"): 1, Item("carts", ""): 1,
    }  # fmt: skip


ON_GRASS = replace(worked_example.REQUEST, lines=floor("4x4", 20, 20))
"""25 panels of 4x4; as 3x4, 7 x 5 = 35; as 2x3 over ply, 70 panels (10 x 7, 20 x 21 ft) and 5 x 3 sheets."""


def test_instead_of_a_floor_too_big():
    least = {PANELS: 18, Item("panels", "3x4"): 35, Item("panels", "2x3"): 69, Item("sheets", "ply"): 15}
    found = alternatives(worked_example.RATES, ON_GRASS, price(worked_example.RATES, ON_GRASS), 1, least)
    assert [other.panel for other in found.other_kinds] == ["3x4"]
    assert (found.smaller.width, found.smaller.length) == (D(16), D(16))


def test_instead_by_what_it_is_laid_over():
    least = {PANELS: 0, Item("panels", "3x4"): 34, Item("panels", "2x3"): 70, Item("sheets", "ply"): 15}
    found = alternatives(worked_example.RATES, ON_GRASS, price(worked_example.RATES, ON_GRASS), 1, least)
    assert [other.panel for other in found.other_kinds] == ["2x3"] and found.smaller is None
    assert (
        alternatives(
            worked_example.RATES,
            ON_GRASS,
            price(worked_example.RATES, ON_GRASS),
            1,
            least | {Item("sheets", "ply"): 14},
        ).other_kinds
        == ()
    )


def test_instead_never_offers_a_kind_that_cannot_go_there():
    request = replace(worked_example.REQUEST, surface="carpet indoors", lines=floor("2x3", 20, 20))
    found = alternatives(
        worked_example.RATES, request, price(worked_example.RATES, request), 1, {Item("panels", "2x3"): 0}
    )
    assert [other.panel for other in found.other_kinds] == ["3x4"]


def test_instead_leaves_what_the_other_lines_need():
    """Two floors of 25 and 40 panels free: the second may have 15, which is 5 x 3 (12 x 20 ft)."""
    request = replace(ON_GRASS, lines=(*ON_GRASS.lines, *floor("4x4", 20, 20)))
    smaller = alternatives(worked_example.RATES, request, price(worked_example.RATES, request), 2, {PANELS: 40}).smaller
    assert {smaller.width, smaller.length} == {D(12), D(20)}


def test_instead_of_a_line_that_has_no_size():
    """Another kind of no size takes nothing, so it is free; there is no smaller size than none."""
    sizeless = replace(ON_GRASS, lines=(replace(ON_GRASS.lines[0], width=D(0)),))
    assert (
        alternatives(worked_example.RATES, sizeless, price(worked_example.RATES, sizeless), 1, {PANELS: 0}).smaller
        is None
    )


def test_least_free():
    assert least_free({PANELS: [30, 10, 20]}) == {PANELS: 10}


def test_owned_is_what_the_card_counts():
    holding = Holding(
        owned=D(60), purchase_price=D(190), bought_on=june(1), life_years=D(10), edging_owned_slot=D(40),
        edging_owned_tongue=D(44), corners_owned=D(16), system="",
        replacement_price=D(200), piece_replacement_price=D(20), corner_replacement_price=D(7),
    )  # fmt: skip
    card = RateCard(
        firm=FIRM, rates=worked_example.RATES, holdings={"4x4": holding},
        sheet_holdings={"ply": SheetHolding(D(30), D(28), D(31))}, carts_owned=D(9),
        gross_weight=D(9000), trailer_weight=D(0), strap_limit=D(1000), day_hours=D(12), lifts=(), tools=(), terms=(),
        payment_terms=worked_example.PAYMENT_TERMS,
    )  # fmt: skip
    assert owned(card) == {
        PANELS: 60, Item("slot_pieces", "4x4"): 40, Item("tongue_pieces", "4x4"): 44, Item("corners", "4x4"): 16,
        Item("sheets", "ply"): 30, Item("carts", ""): 9,
    }  # fmt: skip
