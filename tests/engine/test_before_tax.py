"""Prices without the tax in them, by hand on the worked example, and beside the engine's own tax."""

from dataclasses import replace
from decimal import Decimal as D

import pytest
import random_quotes as any_
import worked_example
from hypothesis import given, settings

from quotebook.engine.before_tax import (
    base_charge_before_tax,
    delivery_before_tax,
    goods_before_tax,
    hourly_rate_before_tax,
    labour_before_tax,
    tax_in_waiver,
)
from quotebook.engine.price import price

ALL_TAXED = replace(
    worked_example.RATES, tax_rate=D("0.2"), tax_on_goods=True, tax_on_delivery=True, tax_on_labour=True,
    tax_on_waiver=True, prices_with_tax=True,
)  # fmt: skip


def parts(rates):
    figures = price(rates, worked_example.REQUEST)
    return goods_before_tax(rates, figures), labour_before_tax(rates, figures), delivery_before_tax(rates, figures)


def test_a_sixth_of_a_price_with_20_percent_in_it_is_tax():
    """2,926.09 / 1.2 = 2,438.41 (2,438.408...); 188.40 / 1.2 = 157.00; 111.78 / 1.2 = 93.15; 31.40 / 1.2 = 26.17."""
    assert parts(ALL_TAXED) == (D("2438.41"), D("157.00"), D("93.15"))
    assert hourly_rate_before_tax(ALL_TAXED) == D("26.17")
    assert base_charge_before_tax(ALL_TAXED) == round(ALL_TAXED.base_charge / D("1.2"), 2)
    assert tax_in_waiver(ALL_TAXED) == D("0.2")


def test_a_kind_and_a_service_at_the_reduced_rate():
    """540.07 of the goods at 5 %, 514.35 (514.3523...); the rest, 2,386.02 / 1.2 = 1,988.35. Labour / 1.05 = 179.43."""
    kinds = tuple(replace(kind, reduced_tax=D(kind.panel == "2x3")) for kind in ALL_TAXED.kinds)
    rates = replace(ALL_TAXED, kinds=kinds, reduced_tax_rate=D("0.05"), reduced_on_labour=True)
    assert parts(rates) == (D("514.35") + D("1988.35"), D("179.43"), D("93.15"))


@pytest.mark.parametrize(
    "rates", [replace(ALL_TAXED, prices_with_tax=False), replace(ALL_TAXED, tax_on_goods=False, tax_on_labour=False,
                                                                tax_on_delivery=False), ALL_TAXED.without_tax()],
    ids=["tax comes on top", "not taxed", "exempt"],
)  # fmt: skip
def test_nothing_is_taken_out_where_nothing_is_in(rates):
    assert parts(rates) == (D("2926.09"), D("188.40"), D("111.78"))


@settings(max_examples=60)
@given(any_.rates, any_.requests)
def test_price_and_tax_are_the_whole(rates, request):
    """What is taken out of everything is the engine's own tax, but for a unit of rounding for each part."""
    rates = replace(rates, prices_with_tax=True, minimum_order=D(0), tax_on_waiver=False)
    figures = price(rates, request)
    whole = figures.total - figures.waiver
    without = goods_before_tax(rates, figures) + labour_before_tax(rates, figures) + delivery_before_tax(rates, figures)
    assert abs(whole - without - figures.tax) <= 5 * D(1).scaleb(-int(rates.minor_units))
