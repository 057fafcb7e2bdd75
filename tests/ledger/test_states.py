"""The state of a quote in a word, after anything that can happen to it."""

import pytest

from quotebook.ledger.states import STATES, Happened, state_after

CASES = {
    "": "",
    "issued 1": "issued",
    "issued 1, returned 1": "returned",
    "issued 1, returned 1, issued 2": "issued",
    "issued 1, issued 2, returned 1": "issued",  # the client answered what no longer stands
    "issued 1, paid 1": "issued",
    "issued 1, declined 1": "declined",
    "issued 1, declined 1, returned 1": "declined",
    "issued 1, declined 1, issued 2": "issued",
    "issued 1, declined 1, agreed 1": "agreed",
    "issued 1, agreed 1, returned 1": "agreed",
    "issued 1, agreed 1, issued 2": "agreed",
    "issued 1, agreed 1, issued 2, returned 2": "agreed",
    "issued 1, agreed 1, issued 2, declined 2": "agreed",
    "issued 1, agreed 1, paid 1, delivered 1": "delivered",
    "issued 1, agreed 1, delivered 1, counted back 1, paid 1": "counted back",
    "issued 1, agreed 1, cancelled 1": "cancelled",
    "issued 1, agreed 1, cancelled 1, returned 1": "cancelled",
    "issued 1, agreed 1, cancelled 1, issued 2": "issued",
    "issued 1, agreed 1, cancelled 1, agreed 1": "agreed",
}


@pytest.mark.parametrize("told", CASES)
def test_the_state_after(told):
    events = [Happened(each[:-2], int(each[-1])) for each in told.split(", ") if each]
    assert state_after(events) == CASES[told]
    assert CASES[told] in ("", *STATES)
