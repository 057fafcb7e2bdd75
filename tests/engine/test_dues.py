"""What is still to come in for a quote of 3,669.21, deposit 1,467.68, issued on 10 March for 20 June."""

from dataclasses import replace
from datetime import date
from decimal import Decimal as D

import pytest
import worked_example
from hypothesis import given
from hypothesis import strategies as st

from quotebook.engine.dues import BALANCE, DEPOSIT, Due, deposit_kept, dues

TERMS = worked_example.PAYMENT_TERMS
"""Half of a deposit kept unless cancelled 30 days before."""
TOTAL, DEPOSITED = worked_example.FIGURES.total, worked_example.FIGURES.deposit
EVENT = date(2026, 6, 20)
DEPOSIT_DAY, BALANCE_DAY = date(2026, 3, 17), date(2026, 6, 17)


def due(paid, issued_on=date(2026, 3, 10), deposit_days=7):
    """The deposit in 7 days, the balance 3 days before."""
    return dues(TOTAL, DEPOSITED, D(paid), issued_on, EVENT, D(deposit_days), D(3))


@pytest.mark.parametrize(("paid", "expected"), [
    ("0", [Due(DEPOSIT, D("1467.68"), DEPOSIT_DAY), Due(BALANCE, D("2201.53"), BALANCE_DAY)]),
    ("1000", [Due(DEPOSIT, D("467.68"), DEPOSIT_DAY), Due(BALANCE, D("2201.53"), BALANCE_DAY)]),
    ("1467.68", [Due(BALANCE, D("2201.53"), BALANCE_DAY)]),
    ("2000", [Due(BALANCE, D("1669.21"), BALANCE_DAY)]),
    ("3669.21", []),
    ("4000", []),
])  # fmt: skip
def test_what_is_due_after_so_much_was_paid(paid, expected):
    assert due(paid) == expected


@pytest.mark.parametrize(("issued_on", "deposit_days", "days"), [
    (date(2026, 6, 12), 7, [date(2026, 6, 19), date(2026, 6, 19)]),  # the balance is not due before the deposit
    (date(2026, 6, 15), 7, [EVENT, EVENT]),  # nothing is due after the event
    (date(2026, 3, 10), 0, [BALANCE_DAY, BALANCE_DAY]),  # no day is said for the deposit
])  # fmt: skip
def test_days_of_deposit_and_balance(issued_on, deposit_days, days):
    assert [each.due_on for each in due("0", issued_on, deposit_days)] == days


@given(st.integers(0, 500_000))
def test_paid_and_due_come_to_the_total(cents):
    paid = D(cents) / 100
    assert sum((each.amount for each in due(paid)), min(paid, TOTAL)) == TOTAL


@pytest.mark.parametrize(("cancelled_on", "paid", "kept"), [
    (date(2026, 5, 21), "1467.68", "0"),  # 30 days before: all goes back
    (date(2026, 5, 22), "1467.68", "733.84"),
    (date(2026, 6, 20), "1467.68", "733.84"),
    (date(2026, 6, 20), "3669.21", "733.84"),  # the balance goes back whole
    (date(2026, 6, 20), "500", "250"),
    (date(2026, 6, 20), "0", "0"),
])  # fmt: skip
def test_what_is_kept_of_a_deposit(cancelled_on, paid, kept):
    assert deposit_kept(DEPOSITED, D(paid), cancelled_on, EVENT, TERMS) == D(kept)


def test_without_days_of_grace_a_part_is_always_kept():
    terms = replace(TERMS, free_cancellation_days=D(0))
    assert deposit_kept(D(100), D(100), date(2025, 1, 1), EVENT, terms) == 50
