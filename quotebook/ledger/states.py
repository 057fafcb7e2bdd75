"""The state of a quote in a word, as it follows from what happened to it.

A quote that is agreed stays so whatever is issued, returned or declined beside it; one that was cancelled or
declined is open again only when a further revision is issued or its file is agreed.
"""

from collections.abc import Iterable
from typing import NamedTuple

BOOKED = ("agreed", "delivered", "counted back")
"""States in which a quote is agreed and not cancelled."""

OPEN = ("issued", "returned")
"""States in which the client, or the owner, has still to decide."""

STATES = (*OPEN, *BOOKED, "cancelled", "declined")


class Happened(NamedTuple):
    """An event by its word in the history, and the revision that it is about."""

    event: str
    revision: int


def state_after(events: Iterable[Happened]) -> str:
    """The state of a quote after these events, in the order of recording; one of STATES, empty for no event.

    Payments change no state, and neither does a file of an earlier revision that comes back.
    """
    state, revision = "", 0
    for happened in events:
        state = _next(state, happened, revision)
        if happened.event == "issued":
            revision = max(revision, happened.revision)
    return state


def _next(state: str, happened: Happened, revision: int) -> str:
    event = happened.event
    if event in BOOKED or event == "cancelled":
        return event
    if event in ("issued", "declined"):
        return state if state in BOOKED else event
    if event == "returned" and state == "issued" and happened.revision == revision:
        return event
    return state
