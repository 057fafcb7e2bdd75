"""The state of a revision in a word, after anything that can happen to it."""

import pytest

from quotebook.ledger.states import STATES, next_state

CASES = {
    "": "",
    "issued": "issued",
    "issued, returned": "returned",
    "issued, paid": "issued",
    "issued, returned, paid": "returned",
    "issued, declined": "declined",
    "issued, declined, returned": "declined",
    "issued, declined, agreed": "agreed",
    "issued, agreed, returned": "agreed",
    "issued, agreed, declined": "agreed",
    "issued, agreed, paid, delivered, billed": "delivered",
    "issued, agreed, delivered, counted back, paid": "counted back",
    "issued, agreed, cancelled, returned, billed": "cancelled",
    "issued, agreed, cancelled, agreed": "agreed",
}


@pytest.mark.parametrize("told", CASES)
def test_the_state_after(told):
    state = ""
    for event in filter(None, told.split(", ")):
        state = next_state(state, event)
    assert state == CASES[told]
    assert state in ("", *STATES)
