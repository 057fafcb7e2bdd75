"""The break-even workbook: recalculated in two spreadsheet engines, it comes to what the engine says."""

from dataclasses import replace
from decimal import Decimal as D

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from live_books import must_be_recalculated_by_libreoffice, must_come_to, printed, results, type_over, written
from loaded_example import CARD as LOADED
from test_break_even import PRICED, SIDES, TERMS

from quotebook.buying.break_even_report import compare_on
from quotebook.buying.break_even_workbook import write_break_even

REDUCED = tuple(replace(kind, reduced_tax=D(kind.panel == "2x3")) for kind in PRICED.rates.kinds)
TAXED = replace(
    PRICED, rates=replace(
        PRICED.rates, kinds=REDUCED, prices_with_tax=True, tax_rate=D("0.21"), reduced_tax_rate=D("0.1"),
        tax_on_goods=True, tax_on_labour=True, tax_on_delivery=True, reduced_on_delivery=True,
    ),
)  # fmt: skip
"""Prices have 21 % in them; small panels and delivery 10 %."""

COMPARISONS = {
    "crossing": compare_on(PRICED, ("4x4", "2x3"), "grass", SIDES, TERMS),
    "two grounds": compare_on(PRICED, ("3x4", "2x3"), "paving", (D("15.5"), D(23)), TERMS),
    "no rate": compare_on(PRICED, ("4x4", "3x4"), "hard indoors", SIDES, replace(TERMS, discount_rate=D(0))),
    "all that is loaded is weighed": compare_on(LOADED, ("OAK-44", "WHITE-23"), "grass", (D(40), D(48)), TERMS),
    "tax in the prices": compare_on(TAXED, ("4x4", "2x3"), "grass", SIDES, TERMS),
}


@pytest.mark.parametrize("case", COMPARISONS)
def test_recalculated_by_ironcalc(case, tmp_path):
    content = written(write_break_even, tmp_path / "break-even.xlsx", COMPARISONS[case])
    must_come_to(tmp_path / "break-even.xlsx", content, content.results)


def test_recalculated_by_libreoffice(soffice, tmp_path):
    must_be_recalculated_by_libreoffice(soffice, tmp_path, write_break_even, COMPARISONS)


@settings(max_examples=15)
@given(
    sides=st.tuples(st.decimals(3, 60, places=2), st.decimals(3, 60, places=2)),
    surface=st.sampled_from(("grass", "paving", "hard indoors")), price=st.decimals(1, 400, places=2),
    rate=st.decimals(0, "0.3", places=3), life=st.integers(1, 20).map(D), resale=st.decimals(0, 1, places=2),
)  # fmt: skip
def test_any_floors_recalculated(tmp_path_factory, sides, surface, price, rate, life, resale):
    holdings = PRICED.holdings | {"4x4": replace(PRICED.holdings["4x4"], purchase_price=price, life_years=life)}
    terms = replace(TERMS, discount_rate=rate, resale_share=resale)
    path = tmp_path_factory.mktemp("break-even") / "break-even.xlsx"
    content = written(
        write_break_even, path, compare_on(replace(PRICED, holdings=holdings), ("4x4", "2x3"), surface, sides, terms)
    )
    must_come_to(path, content, content.results)


def test_assumptions_are_live(tmp_path):
    """A dearer crew, a cheaper section and a larger floor, entered by hand, come to what the engine makes of them."""
    content = written(write_break_even, tmp_path / "break-even.xlsx", COMPARISONS["crossing"])
    entries = {"crew_cost": 45, "purchase_price_2": 30, "width": 20, "length": 24}
    type_over(tmp_path / "break-even.xlsx", content, entries)
    holdings = PRICED.holdings | {"2x3": replace(PRICED.holdings["2x3"], purchase_price=D(30))}
    changed = compare_on(
        replace(PRICED, holdings=holdings), ("4x4", "2x3"), "grass", (D(20), D(24)), replace(TERMS, crew_cost=D(45))
    )
    changed = changed._replace(hires_a_year=COMPARISONS["crossing"].hires_a_year)
    expected = results(write_break_even, changed)
    assert expected["verdict_on_1"] != content.results["verdict_on_1"]
    must_come_to(tmp_path / "break-even.xlsx", content, expected)


def test_what_is_charged_is_without_the_tax_that_is_in_it():
    """20 panels at 36.50 with 21 % in them, 730.00 / 1.21; delivery has 10 % in it, labour 21 %."""
    gross, net = (results(write_break_even, COMPARISONS[case]) for case in ("crossing", "tax in the prices"))
    assert net["charged_for_goods_1_on_1"] == D("603.31")
    assert net["charged_for_delivery_1_on_1"] == round(gross["charged_for_delivery_1_on_1"] / D("1.1"), 2)
    assert net["charged_for_labour_2_on_1"] == round(gross["charged_for_labour_2_on_1"] / D("1.21"), 2)


def test_it_prints(soffice, tmp_path):
    assert printed(soffice, tmp_path, write_break_even, COMPARISONS["two grounds"]) == [
        "On paving: which floor costs less to own?", "On carpet indoors: which floor costs less to own?",
        "Year by year", "Year by year", "Assumptions",
    ]  # fmt: skip
