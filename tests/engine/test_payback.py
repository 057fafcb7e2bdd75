"""Payback against published examples and numpy-financial, and plans worked by hand."""

from dataclasses import replace
from decimal import Decimal as D

import numpy_financial
import pytest
from hypothesis import given
from hypothesis import strategies as st
from payback_examples import PLAN, amounts, earnings, plans, rates

from quotebook.engine.payback import (  # fmt: skip
    FIVE_YEARS,
    LONGEST_LIFE,
    SEVEN_YEARS,
    TAX_TABLES,
    internal_rate_of_return,
    net_present_value,
    payback,
    payment,
    price_ladder,
    years,
    years_to_pay_back,
)

FLOWS = [D(flow) for flow in (10_000, 20_000, 10_000, 10_000, 5_000)]
"""After a cost of 31,000 (Schaum's Outline of Financial Management)."""


def test_net_present_value_of_the_standard():
    """10 % on -10000 3000 4200 6800 is 1188.44, the first a year away (ECMA-376, NPV)."""
    assert round(net_present_value(D("0.1"), [D(-10_000), D(3_000), D(4_200), D(6_800)]), 2) == D("1188.44")


def test_net_present_value_of_the_textbook():
    """At 14 %, 8,428.64 (Schaum's, which prints 8,430; the exact value recomputed)."""
    assert round(net_present_value(D("0.14"), FLOWS) - 31_000, 2) == D("8428.64")


def test_payback_of_the_textbook():
    """2.1 years (Schaum's)."""
    assert years_to_pay_back(D(31_000), FLOWS) == D("2.1")


@pytest.mark.parametrize("earned", [0, 10])
def test_what_cost_nothing_is_paid_back_at_once(earned):
    assert years_to_pay_back(D(0), [D(earned)]) == 0


def test_a_hire_by_hand():
    """20 panels at 36.50 are 730, and 157 for the crew, who cost 5 hours at 22: 777 are left, twice a month."""
    figures = payback(PLAN, 2)
    assert {name: figures[name] for name in ("cost", "earned_a_hire", "crew_a_hire", "net_a_hire")} == {
        "cost": 11_400, "earned_a_hire": 730, "crew_a_hire": 110, "net_a_hire": 777,
    }  # fmt: skip
    assert (figures["net_a_month"], figures["net_a_year"]) == (1_554, 18_648)


@pytest.mark.parametrize(
    ("flows", "percent"),
    [
        ([-70_000, 12_000, 15_000, 18_000, 21_000], "-2.1245"),  # Microsoft's help for IRR, digits recomputed
        ([-70_000, 12_000, 15_000, 18_000, 21_000, 26_000], "8.6631"),  # the same
        ([-31_000, *FLOWS], "26.132"),  # Schaum's, recomputed: what is printed there is an interpolation
    ],
)
def test_internal_rate_of_return(flows, percent):
    found = internal_rate_of_return([D(flow) for flow in flows])
    assert round(found * 100, -D(percent).as_tuple().exponent) == D(percent)


@pytest.mark.parametrize("flows", [[-1000, 0, 0], [-1000], [0, 0], [1000, 1000], [-1000, -5]])
def test_no_rate_where_nothing_is_earned_or_spent(flows):
    assert internal_rate_of_return([D(flow) for flow in flows]) is None


@pytest.mark.parametrize(
    ("cost", "flows", "years"), [(100, [40, 40], None), (0, [5], 0), (100, [100], 1), (100, [], None)]
)
def test_years_to_pay_back(cost, flows, years):
    assert years_to_pay_back(D(cost), [D(flow) for flow in flows]) == years


@given(rates, earnings)
def test_net_present_value_beside_numpy_financial(rate, flows):
    """Which leaves the first flow undiscounted, as spreadsheets do not."""
    theirs = numpy_financial.npv(float(rate), [0.0, *map(float, flows)])
    assert float(net_present_value(rate, flows)) == pytest.approx(theirs)


@given(amounts, earnings)
def test_internal_rate_beside_numpy_financial(cost, flows):
    """Where it has an answer. Ours is checked by what it means as well: nothing left of the flows at that rate."""
    ours, theirs = internal_rate_of_return([-cost, *flows]), numpy_financial.irr([float(-cost), *map(float, flows)])
    if ours is not None:
        assert abs(net_present_value(ours, [-cost, *flows])) < D("0.01") * cost
        assert theirs != theirs or float(ours) == pytest.approx(theirs, rel=1e-8, abs=1e-6)


@given(rates, st.integers(1, LONGEST_LIFE), amounts, amounts)
def test_payment_beside_numpy_financial(rate, periods, cost, resale):
    theirs = -numpy_financial.pmt(float(rate), periods, float(cost), -float(resale))
    assert float(payment(rate, D(periods), cost, resale)) == pytest.approx(theirs, abs=1e-6)


TABLE_A1 = {FIVE_YEARS: "20 32 19.2 11.52 11.52 5.76", SEVEN_YEARS: "14.29 24.49 17.49 12.49 8.93 8.92 8.93 4.46"}


@pytest.mark.parametrize("table", TABLE_A1)
def test_tax_tables(table):
    """IRS Pub. 946, Table A-1: 5-year and 7-year property, half-year convention. Each sums to the whole."""
    assert [share * 100 for share in TAX_TABLES[table]] == [D(percent) for percent in TABLE_A1[table].split()]
    assert sum(TAX_TABLES[table]) == 1


def test_a_plan_by_hand():
    """60 x 190 = 11,400. A hire: 20 x 36.50 + 157 - 5 x 22 = 777; 24 a year leave 18,648.

    Paid back after 12 x 11,400 / 18,648 = 7.335907 months, or 15 hires (14.67).
    """
    figures = payback(PLAN, 2)
    assert (figures["cost"], figures["net_a_hire"], figures["net_a_year"]) == (11_400, 777, 18_648)
    assert (figures["months_to_pay_back"], figures["break_even_hires"]) == (D("7.335907"), 15)


def test_what_a_year_must_bring_by_hand():
    """8 % over ten years on 11,400 of which 1,400 comes back: 11,400 / 6.710081 - 1,400 / 14.486562 = 1,602.29.

    The two factors are those of an annuity and of a sinking fund; 1,602.29 / 777 is 2.06, so 3 hires.
    """
    figures = payback(PLAN, 2)
    assert (figures["needed_a_year"], figures["hires_needed_a_year"]) == (D("1602.29"), 3)


def test_tax_by_hand():
    """At 25 %, straight line: a year's profit is 18,648 - 1,000, so 4,412 of tax; nothing is left at the end to tax."""
    rows = years(replace(PLAN, tax_share=D("0.25")), 2)
    assert [(row.written_off, row.tax, row.flow) for row in rows[:9]] == [(1_000, 4_412, 14_236)] * 9
    assert rows[9].flow == 14_236 + 1_400 and rows[10] == (0, 0, 0, rows[9].balance)


def test_a_table_and_a_resale_by_hand():
    """The 5-year table on 11,400. Sold for 1,400, all of it profit."""
    rows = years(replace(PLAN, tax_share=D("0.25"), depreciation=FIVE_YEARS), 2)
    written_off = ["2280.00", "3648.00", "2188.80", "1313.28", "1313.28", "656.64"]
    assert [str(row.written_off) for row in rows[:6]] == written_off
    assert rows[0].tax == (18_648 - 2_280) / D(4) and rows[9].tax == (18_648 + 1_400) / D(4)


def test_a_table_longer_than_the_life():
    """The 7-year table over three years: what it leaves, 43.73 % of 11,400, is a loss of the third, less 1,400."""
    rows = years(replace(PLAN, tax_share=D("0.25"), depreciation=SEVEN_YEARS, life_years=D(3)), 2)
    left = 11_400 - sum(row.written_off for row in rows)
    assert left == D("4985.22") and rows[3].written_off == 0
    assert rows[2].tax == round((18_648 - D("1993.86") + 1_400 - left) / 4, 2)


def test_a_plan_that_never_pays_back():
    figures = payback(replace(PLAN, rate=D(1), resale=D(0), labour_a_hire=D(0)), 2)
    never = ("months_to_pay_back", "internal_rate_of_return", "break_even_hires", "hires_needed_a_year")
    assert figures["net_a_hire"] == -90 and [figures[name] for name in never] == [None] * 4


def test_price_ladder_by_hand():
    """777 a hire, 24 a year. A tenth up, 850: 24 x 777 / 850 = 21.94, so 2 may be lost. Down, 704: 26.49, so 3 more."""
    rungs = price_ladder(PLAN, 2)
    assert [rung.rate for rung in rungs] == [D("29.20"), D("32.85"), D("36.50"), D("40.15"), D("43.80")]
    assert [rung.net_a_hire for rung in rungs] == [631, 704, 777, 850, 923]
    assert [rung.hires_to_lose for rung in rungs] == [-6, -3, 0, 2, 3]
    assert [rung.net_a_year for rung in rungs] == [24 * rung.net_a_hire for rung in rungs]


@given(plans)
def test_all_of_the_cost_is_written_off_and_taxed_once(plan):
    """Tax over the years is the share of all earned, less the cost, plus the resale, to a cent a year for rounding."""
    rows, figures = years(plan, 2), payback(plan, 2)
    profit = plan.life_years * figures["net_a_year"] + plan.resale - figures["cost"]
    assert abs(sum(row.tax for row in rows) - profit * plan.tax_share) <= D("0.01") * plan.life_years
    assert rows[-1].balance == profit - sum(row.tax for row in rows)


@given(plans)
def test_the_ladder_says_how_many_hires_may_go(plan):
    """With so many fewer it is no worse than the plan, with one fewer still it is."""
    planned = payback(plan, 2)["net_a_hire"] * 12 * plan.hires_a_month
    for rung in price_ladder(plan, 2):
        if rung.hires_to_lose is not None:
            hires = 12 * plan.hires_a_month - rung.hires_to_lose
            slack = rung.net_a_hire * D("0.000001")
            assert rung.net_a_hire * (hires - 1) - slack < planned <= rung.net_a_hire * hires + slack


@given(plans)
def test_when_it_pays_back_the_balance_is_made_good(plan):
    months, rows = payback(plan, 2)["months_to_pay_back"], years(plan, 2)
    if months is None:
        assert all(row.balance < 0 for row in rows)
    else:
        whole = int(months // 12)
        assert rows[min(whole, LONGEST_LIFE - 1)].balance >= 0
        assert all(row.balance < D("0.01") for row in rows[: max(0, whole - 1)])
