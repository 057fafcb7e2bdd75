"""Two floors held against each other: by hand, beside numpy-financial, and year by year."""

from dataclasses import replace
from decimal import Decimal as D

import numpy_financial
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ledger_fixtures import CARD

from quotebook.buying.break_even import Terms, crossing, floor_costs, level_cost, years_of_costs
from quotebook.buying.break_even_report import compare_on, say_break_even, to_json
from quotebook.errors import Misuse

TERMS = Terms(crew_cost=D(30), trip_cost=D(60), discount_rate=D("0.08"))
SIDES = D(16), D(20)
PRICED = replace(
    CARD, holdings={
        code: replace(holding, piece_price=D(20), corner_price=D(15)) for code, holding in CARD.holdings.items()
    },
)  # fmt: skip


def costs(code, surface="grass", terms=TERMS, card=CARD, sides=SIDES):
    return floor_costs(card, code, surface, sides, terms)


def test_the_large_panel_by_hand():
    """20 panels at 190; 20 minutes and 2 carts of 6 to set up, 0.7 as long to strike: 54.4 minutes at 30 an hour."""
    large = costs("4x4")
    assert (large.cost, large.person_minutes, large.crew_a_hire) == (D("3800.00"), D("54.4"), D("27.20"))
    assert (large.trips_a_hire, large.spent_a_hire) == (60, D("87.20"))
    assert large.cost_a_year(D(10)) == large.owning_a_year + 872
    assert large.hours_a_year(D(30)) == D("27.2")


def test_the_small_one_needs_sheets_and_time_for_them():
    """56 sections at 42 and 12 sheets at 28; 28 + 48 minutes and 3 carts of 6, 1.7 times: 159.8 minutes."""
    small = costs("2x3")
    assert (small.line.panels, small.line.sheets, small.cost) == (56, 12, D("2688.00"))
    assert small.person_minutes == D("159.8")


def test_edging_is_bought_where_it_is_fitted():
    """Round 16 x 20 ft: 2 x (4 + 5) pieces at 20, 4 corners at 15."""
    assert costs("4x4", "hard indoors", card=PRICED).cost == 3800 + 18 * 20 + 4 * 15
    assert costs("4x4", "grass", card=PRICED).cost == 3800


def test_spread_over_the_life_as_an_annuity():
    """Beside numpy-financial's PMT, with a tenth of the price back at the end."""
    large = costs("4x4", terms=replace(TERMS, resale_share=D("0.1")))
    assert float(large.owning_a_year) == pytest.approx(numpy_financial.pmt(0.08, 10, -3800, 380), abs=0.005)


def test_where_they_cost_the_same():
    """The difference of a year's ownership over the difference of a hire's work; one hire more, and it has turned."""
    large, small = costs("4x4"), costs("2x3")
    meeting = crossing(large, small)
    assert meeting == crossing(small, large)
    expected = (large.owning_a_year - small.owning_a_year) / (small.spent_a_hire - large.spent_a_hire)
    assert float(meeting.hires) == pytest.approx(float(expected), abs=1e-6)
    assert (meeting.cheaper_below.kind.panel, meeting.cheaper_above.kind.panel) == ("2x3", "4x4")
    hires = D(meeting.hires_from)
    assert large.cost_a_year(hires) <= small.cost_a_year(hires)
    assert large.cost_a_year(hires - 1) > small.cost_a_year(hires - 1)


def test_one_that_is_dearer_in_both_ways_never_pays():
    dear = replace(CARD, holdings=CARD.holdings | {"2x3": replace(CARD.holdings["2x3"], purchase_price=D(99))})
    meeting = crossing(costs("4x4", card=dear), costs("2x3", card=dear))
    assert (meeting.hires, meeting.hires_from, meeting.cheaper_above.kind.panel) == (None, None, "4x4")
    same = costs("4x4")
    assert crossing(same, same).hires is None


lives = st.integers(1, 20).map(D)


@settings(max_examples=60)
@given(
    lives=st.tuples(lives, lives), prices=st.tuples(st.integers(1, 400).map(D), st.integers(1, 400).map(D)),
    rate=st.decimals(0, "0.3", places=3), resale=st.decimals(0, 1, places=2), hires=st.integers(0, 200).map(D),
    sides=st.tuples(st.integers(3, 60).map(D), st.integers(3, 60).map(D)),
)  # fmt: skip
def test_the_closed_form_and_the_years_come_to_the_same(lives, prices, rate, resale, hires, sides):
    """Of floors nobody chose; each is the cheaper on the side of the crossing that it is said to be."""
    holdings = {
        code: replace(CARD.holdings[code], life_years=life, purchase_price=price)
        for code, life, price in zip(("4x4", "2x3"), lives, prices, strict=True)
    }
    card, terms = (
        replace(CARD, holdings=CARD.holdings | holdings),
        replace(TERMS, discount_rate=rate, resale_share=resale),
    )
    both = [costs(code, "grass", terms, card, sides) for code in ("4x4", "2x3")]
    for each in both:
        years = years_of_costs(each, hires, terms, 2)
        assert level_cost(each, years, terms, 2) == each.cost_a_year(hires)
        worth = numpy_financial.npv(float(rate), [float(year.spent) for year in years])
        assert float(sum(year.worth for year in years)) == pytest.approx(worth)
    meeting = crossing(*both)
    cheaper = meeting.cheaper_above if meeting.hires is None or hires > meeting.hires else meeting.cheaper_below
    assert cheaper.cost_a_year(hires) == pytest.approx(min(each.cost_a_year(hires) for each in both), abs=D("0.01"))


def test_in_words_and_as_json():
    comparison = compare_on(CARD, ("4x4", "2x3"), "grass", SIDES, TERMS)
    words = "\n".join(say_break_even(comparison))
    hires = crossing(*comparison.grounds[0].costs).hires_from
    assert f"From {hires} such hires a year on 4x4 is the cheaper to own; below that 2x3." in words
    assert "On carpet indoors there is nothing to compare: 4x4 cannot go there." in words
    assert max(map(len, words.splitlines())) <= 80
    [ground] = to_json(comparison)["grounds"]
    assert (ground["hires_from"], ground["cheaper_above"], ground["kinds"][1]["sheets"]) == (hires, "4x4", 12)


def test_carpet_too_where_both_may_go_there():
    comparison = compare_on(CARD, ("3x4", "2x3"), "grass", SIDES, TERMS)
    assert [ground.surface for ground in comparison.grounds] == ["grass", "carpet indoors"]
    assert comparison.grounds[1].costs[1].line.sheets == 0


@pytest.mark.parametrize(
    ("codes", "surface", "sentence"),
    [
        (("9x9", "4x4"), "grass", "9x9: is not on the rate card, which has 4x4, 2x3, 3x4"),
        (("4x4", "2x3"), "carpet indoors", "4x4: cannot go on carpet indoors"),
        (("4x4", "4X4"), "grass", "4X4|4x4: is named twice"),
        (("3x4", "2x3"), "grass", "3x4: has no price on the rate card"),
    ],
)
def test_what_cannot_be_compared_gets_a_sentence(codes, surface, sentence):
    free = replace(CARD, holdings=CARD.holdings | {"3x4": replace(CARD.holdings["3x4"], purchase_price=D(0))})
    with pytest.raises(Misuse, match=sentence):
        compare_on(free, codes, surface, SIDES, TERMS)
