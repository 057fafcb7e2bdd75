"""Rounding half away from zero, and sharing an amount out exactly."""

from decimal import Decimal as D

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quotebook.engine.money import money, number, plain, round6, round_up, split

amounts = st.decimals(D(-(10**9)), D(10**9), places=8)
cents = st.decimals(D(-(10**7)), D(10**7), places=2)
weights = st.lists(st.decimals(D(0), D(10**6), places=3), min_size=1, max_size=12)


@pytest.mark.parametrize(
    ("amount", "minor_units", "rounded"),
    [("1.005", 2, "1.01"), ("-1.005", 2, "-1.01"), ("2.5", 0, "3"), ("0.0005", 3, "0.001"),
     ("1.0049999996", 2, "1.01"), ("1.0049994", 2, "1.00")],
)  # fmt: skip
def test_money(amount, minor_units, rounded):
    """The last two: what six places take for a tie in binary, and what they do not."""
    assert str(money(D(amount), minor_units)) == rounded


@pytest.mark.parametrize(
    ("amount", "whole"), [("4.0000004", 4), ("4.0000005", 5), ("4.01", 5), ("-4.01", -5), ("0", 0)]
)
def test_up(amount, whole):
    assert round_up(D(amount)) == whole


@pytest.mark.parametrize(
    ("text", "exact"),
    [("10.0100000000000000002", "10.01"), ("0.070000000000000007", "0.07"), ("1e3", "1000"), ("-0.5", "-0.5")],
)
def test_number(text, exact):
    assert number(text) == D(exact)


@pytest.mark.parametrize(
    ("value", "written"),
    [("12.50", "12.5"), ("1E+2", "100"), ("-0.070", "-0.07"), ("0", "0"), ("999999999999999", "999999999999999"),
     ("1E+15", "1.000E+15"), ("-1234567890123456", "-1.235E+15")],
)  # fmt: skip
def test_plain(value, written):
    assert plain(D(value)) == written


@pytest.mark.parametrize("text", ["inf", "-inf", "nan", "", "4x4"])
def test_number_refuses(text):
    with pytest.raises(ValueError):
        number(text)


@given(amounts)
def test_rounding_is_by_at_most_half_a_unit_and_up_by_less_than_one(amount):
    assert abs(money(amount, 2) - amount) <= D("0.0050005")
    assert 0 <= abs(round_up(amount)) - abs(round6(amount)) < 1


@given(cents, weights)
def test_split_sums_to_the_amount_in_whole_cents(amount, weights):
    shares = split(amount, weights, 2)
    assert sum(shares) == amount and all(share == money(share, 2) for share in shares)


@given(cents, weights)
def test_split_keeps_within_a_cent_of_the_exact_share(amount, weights):
    total = sum(weights)
    for share, weight in zip(split(amount, weights, 2), weights, strict=True):
        exact = amount * weight / total if total else amount / len(weights)
        assert abs(share - exact) < D("0.0100001")


@given(cents, weights)
def test_split_of_a_refund_mirrors_the_charge(amount, weights):
    assert split(-amount, weights, 2) == [-share for share in split(amount, weights, 2)]


@pytest.mark.parametrize(
    ("amount", "weights", "shares"),
    [("0.01", [1, 1], ["0.01", "0"]), ("0.02", [1, 1, 1], ["0.01", "0.01", "0"]),
     ("1.00", [0, 0, 0], ["0.34", "0.33", "0.33"]),
     ("5.00", [0, 3], ["0", "5"]), ("0", [1, 2], ["0", "0"])],
)  # fmt: skip
def test_split_by_hand(amount, weights, shares):
    """Ties go to the earlier; weights of nothing count as equal."""
    assert split(D(amount), [D(weight) for weight in weights], 2) == [D(share) for share in shares]


@pytest.mark.parametrize(("amount", "weights"), [("1.005", [1]), ("1", []), ("1", [2, -1])])
def test_split_refuses(amount, weights):
    with pytest.raises(ValueError):
        split(D(amount), [D(weight) for weight in weights], 2)
