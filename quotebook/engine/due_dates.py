"""When the deposit and the balance of a quote are due, as days that a client can put into a calendar.

The days are the owner's: how many after the issue for the deposit, how many before the event for the balance.
"""

from datetime import date, timedelta
from decimal import Decimal


def deposit_due(issued_on: date, deposit_days: Decimal, event_date: date | None) -> date | None:
    """The last day for the deposit, never after the event; None for 0 days, which stand for no day at all."""
    if not deposit_days:
        return None
    due = issued_on + timedelta(days=int(deposit_days))
    return due if event_date is None else min(due, event_date)


def balance_due(
    issued_on: date, balance_days: Decimal, event_date: date | None, deposit_due: date | None
) -> date | None:
    """The last day for the balance: not before the deposit's or the issue, not after the event; None without one."""
    if event_date is None:
        return None
    due = max(event_date - timedelta(days=int(balance_days)), deposit_due or issued_on, issued_on)
    return min(due, event_date)
