"""The state of a quote in a word, as it follows from what happened to it.

A quote that is agreed stays so whatever is issued, returned or declined beside it; one that was cancelled or
declined is open again only when a further revision is issued or its file is agreed.
"""

from collections.abc import Iterable

from quotebook.ledger.events import Details

BOOKED = ("agreed", "delivered", "counted back")
"""States in which a quote is agreed and not cancelled."""

OPEN = ("issued", "returned")
"""States in which the client, or the owner, has still to decide."""

STATES = (*OPEN, *BOOKED, "cancelled", "declined")


def state_after(events: Iterable[Details]) -> str:
    """The state of a quote after these events, in the order of recording; one of STATES, empty for no event.

    Payments and bills change no state, and neither does a file of an earlier revision that comes back.
    """
    state, revision = "", 0
    for event in events:
        state = _next(state, event["event"], event["revision"] == revision)
        if event["event"] == "issued":
            revision = max(revision, event["revision"])
    return state


def last_reason(events: Iterable[Details]) -> str:
    """Why a quote was declined last, in the owner's words; empty if nobody said."""
    reasons = [str(event["because"]) for event in events if event["event"] == "declined"]
    return reasons[-1] if reasons else ""


def _next(state: str, event: str, of_last_revision: bool) -> str:
    if event in BOOKED or event == "cancelled":
        return event
    if event in ("issued", "declined"):
        return state if state in BOOKED else event
    if event == "returned" and state == "issued" and of_last_revision:
        return event
    return state
