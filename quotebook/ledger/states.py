"""The state of a revision in a word, as it follows from what happened to it."""

BOOKED = ("agreed", "delivered", "counted back")
"""States in which a quote is agreed and not cancelled."""

OPEN = ("issued", "returned")
"""States in which the client, or the owner, has still to decide."""

STATES = (*OPEN, *BOOKED, "cancelled", "declined")


def next_state(state: str, event: str) -> str:
    """The state of a revision after one more event of it, by the event's word in the history.

    Payments and bills change no state. A file that comes back changes only that of a revision that was not answered:
    what is agreed, cancelled or declined stays so.
    """
    if event in BOOKED or event == "cancelled":
        return event
    if event in ("issued", "declined"):
        return state if state in BOOKED else event
    if event == "returned" and state == "issued":
        return event
    return state
