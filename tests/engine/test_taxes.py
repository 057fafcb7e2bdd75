"""Minimum order and taxes on the worked example, each worked out by hand.

Goods 3,080.10, discount 154.01, waiver 234.09, labour 157.00, after hours 31.40, delivery 111.78.
"""

from dataclasses import replace
from decimal import Decimal as D

import pytest
import worked_example

from quotebook.engine.model import Request
from quotebook.engine.price import price

BEFORE_TAX = D("3460.36")
"""3,080.10 - 154.01 + 234.09 + 157.00 + 31.40 + 111.78."""


def figures(reduced=(), **rates):
    kinds = tuple(replace(kind, reduced_tax=D(kind.panel in reduced)) for kind in worked_example.RATES.kinds)
    return price(replace(worked_example.RATES, kinds=kinds, **rates), worked_example.REQUEST)


def test_a_small_order_is_charged_up_to_the_minimum_and_taxed_with_the_goods():
    """3,000 - 2,926.09 = 73.91; on 3,111.78 the tax of 6.875 % is 213.93 (213.9349)."""
    found = figures(minimum_order=D(3000))
    assert (found.minimum_order_charge, found.taxable, found.tax) == (D("73.91"), D("3111.78"), D("213.93"))
    assert found.total == BEFORE_TAX + D("73.91") + D("213.93")
    assert found.waiver == D("234.09")  # on the goods alone


@pytest.mark.parametrize("minimum", ["2926.09", "100"])
def test_an_order_that_is_large_enough_is_charged_as_it_is(minimum):
    assert figures(minimum_order=D(minimum)).minimum_order_charge == 0


def test_no_floor_is_no_order():
    found = price(replace(worked_example.RATES, minimum_order=D(300)), Request(days=D(1)))
    assert (found.minimum_order_charge, found.total) == (0, 0)


def test_kinds_and_services_at_the_reduced_rate():
    """The snap floor: 397.50 + 171.00 = 568.50, less 28.43 (28.425), 540.07. At 3 % with the labour of 188.40:
    728.47, so 21.85 (21.8541). The rest, 2,926.09 - 540.07 + 111.78 = 2,497.80, at 6.875 %: 171.72 (171.72375)."""
    found = figures(reduced=("2x3",), reduced_tax_rate=D("0.03"), tax_on_labour=True, reduced_on_labour=True)
    assert (found.goods_reduced, found.taxable_reduced) == (D("540.07"), D("728.47"))
    assert (found.taxable, found.tax_reduced, found.tax) == (D("2497.80"), D("21.85"), D("193.57"))
    assert found.total == BEFORE_TAX + D("193.57")


def test_prices_that_have_their_tax_in_them():
    """Of 3,037.87 at 6.875 % are 195.42 tax (3,037.87 x 0.06875 / 1.06875 = 195.4186...), and nothing is added."""
    found = figures(prices_with_tax=True)
    assert (found.tax, found.total) == (D("195.42"), BEFORE_TAX)


def test_a_reduced_rate_that_nothing_bears_changes_nothing():
    assert figures(reduced_tax_rate=D("0.05")).total == worked_example.FIGURES.total


def test_what_is_not_taxed_is_not_taxed_at_the_reduced_rate_either():
    found = figures(reduced=("2x3",), reduced_tax_rate=D("0.03"), tax_on_goods=False, reduced_on_delivery=True)
    assert (found.taxable, found.taxable_reduced) == (0, D("111.78"))
