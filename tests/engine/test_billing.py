"""A bill worked out by hand, and what must hold of every bill."""

from decimal import Decimal as D

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quotebook.engine.billing import Item, RateOfTax, bill_figures, item_amount
from quotebook.engine.charges import tax_in

ITEMS = (
    Item("Hire", D(1), D("696.00"), D("0.0725")),
    Item("Discount", D(1), D("-34.80"), D("0.0725")),
    Item("Delivery", D(1), D("107.93"), D("0.0725")),
    Item("Labour", D(1), D("117.60"), D(0)),
    Item("Lost", D(3), D("288.00"), D(0)),
    Item("Damaged", D(2), D("24.45"), D(0), D("0.75")),
)
"""What the worked bill charges: 769.13 bears 7.25 %, and 993.82 bears none."""


def test_a_bill_by_hand():
    """48.90 of damage, of which 36.675, so 36.68, is covered: 12.22. 696 - 34.80 + 107.93 = 769.13, of which 7.25 % is
    55.761925. 117.60 + 864 + 12.22 = 993.82. All of it 1,762.95, with tax 1,818.71."""
    figures = bill_figures(ITEMS, (D("400.00"), D("-20.00")), False, D(2))
    assert figures.amounts == tuple(map(D, ("696.00", "-34.80", "107.93", "117.60", "864.00", "12.22")))
    assert figures.rates == (RateOfTax(D("0.0725"), D("769.13"), D("55.76")), RateOfTax(D(0), D("993.82"), D(0)))
    assert (figures.subtotal, figures.tax, figures.total) == (D("1762.95"), D("55.76"), D("1818.71"))
    assert (figures.paid, figures.due) == (D("380.00"), D("1438.71"))


def test_a_bill_whose_prices_have_their_tax_in_them():
    """120.00 at 20 % has 20.00 of tax in it, 50.00 at 5.5 % has 2.61 (50 x 5.5 / 105.5 = 2.6066)."""
    items = (Item("Hire", D(1), D("120.00"), D("0.2")), Item("Delivery", D(1), D("50.00"), D("0.055")))
    figures = bill_figures(items, (), True, D(2))
    assert [rate.tax for rate in figures.rates] == [D("20.00"), D("2.61")]
    assert (figures.tax, figures.total, figures.due) == (D("22.61"), D("170.00"), D("170.00"))


@pytest.mark.parametrize(("amount", "rate", "with_tax", "tax"), [
    ("100.00", "0.2", False, "20.00"), ("120.00", "0.2", True, "20.00"), ("0.03", "0.2", True, "0.01"),
    ("100.00", "0", True, "0"), ("-120.00", "0.2", True, "-20.00"),
    ("0.10", "0.25", False, "0.03"),  # 0.025: half away from zero
])  # fmt: skip
def test_the_tax_on_an_amount_or_in_it(amount, rate, with_tax, tax):
    assert tax_in(D(amount), D(rate), with_tax, D(2)) == D(tax)


cents = st.integers(-500_000, 500_000).map(lambda each: D(each) / 100)
items = st.builds(
    Item, text=st.just("x"), count=st.integers(1, 40).map(D), price=cents,
    tax_rate=st.sampled_from((D(0), D("0.055"), D("0.2"))), covered_share=st.sampled_from((D(0), D("0.5"))),
)  # fmt: skip


@given(st.lists(items, max_size=12), st.lists(cents, max_size=4), st.booleans())
def test_a_bill_sums_to_its_parts(listed, payments, with_tax):
    figures = bill_figures(listed, payments, with_tax, D(2))
    assert figures.subtotal == sum(item_amount(item, D(2)) for item in listed)
    assert figures.subtotal == sum(rate.amount for rate in figures.rates)
    assert figures.total - figures.subtotal == (0 if with_tax else figures.tax)
    assert figures.due + sum(payments) == figures.total


@given(st.lists(items, max_size=12), st.booleans())
def test_a_credit_note_on_each_rate_takes_a_bill_back_to_the_cent(listed, with_tax):
    figures = bill_figures(listed, (), with_tax, D(2))
    back = [Item("back", D(1), -rate.amount, rate.tax_rate) for rate in figures.rates]
    taken_back = bill_figures(back, (), with_tax, D(2))
    assert (taken_back.total, taken_back.tax) == (-figures.total, -figures.tax)
