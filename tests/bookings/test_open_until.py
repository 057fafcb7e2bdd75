"""What a list of open quotes leaves out is done: rows are asked for by a day, and their money is worked out after."""

from datetime import date, timedelta
from decimal import Decimal as D

import worked_example
from hypothesis import given
from hypothesis import strategies as st

from quotebook.bookings.payments import account_of
from quotebook.ledger.bills import Bill
from quotebook.ledger.deriving import open_until
from quotebook.ledger.listing import ListedQuote
from quotebook.ledger.states import OPEN, STATES

DAY = date(2026, 6, 20)
amounts = st.sampled_from((0, 1, 350, 999, 1000, 1001))


@given(
    st.sampled_from(STATES),
    amounts,
    st.none() | amounts,
    st.integers(-400, 400),
    st.integers(-90, 90),
    st.integers(-9, 9),
)
def test_what_money_or_a_decision_waits_for_is_open(state, paid, billed, away, cancelled, after):
    """Whatever was paid and billed of 1,000: what is due, to be given back, or to be decided is in the list."""
    of_bill = {"prices_with_tax": False, "corrects": "", "because": "", "sha256": ""}
    bill = Bill("B0001", "Q0001", DAY, DAY, "USD", billed, (), **of_bill) if billed else None
    today = DAY + timedelta(away)
    quote = ListedQuote(
        "Q0001", 1, state, DAY + timedelta(after), DAY, 7, 7, "", "", DAY, {}, 1000, 350, paid, 2, "USD",
        DAY + timedelta(cancelled) if state == "cancelled" else None, "", bill, "", "",
    )  # fmt: skip
    until = open_until(state, quote.issued_on, DAY, quote.total, paid, bill)
    account = account_of(quote, worked_example.PAYMENT_TERMS)
    if account.dues or account.to_give_back:
        assert until == date.max
    if state in OPEN and today <= DAY:
        assert until is not None and until >= today
    if state in OPEN and after > 0:
        assert until == date.max
    if state in ("agreed", "delivered"):
        assert until == date.max
    if paid == 0 and bill is None and state in ("declined", "cancelled"):
        assert until is None
    assert account.total == D(bill.total if bill else 1000) / 100
