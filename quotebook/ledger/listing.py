"""Every quote in a line: its figures, its state, and what was paid for it."""

import json
from collections import Counter, defaultdict
from datetime import date
from itertools import groupby
from typing import NamedTuple

from sqlalchemy import Connection, RowMapping, select

from quotebook.ledger.bills import Bill, standing_bill
from quotebook.ledger.codes import kind_now
from quotebook.ledger.life import Life, life_of
from quotebook.ledger.states import BOOKED, OPEN
from quotebook.ledger.tables import IN_ORDER, agreements, history, lines, quotes


class ListedQuote(NamedTuple):
    """A quote in a list: figures as agreed, or of its last revision if it is not agreed, and its state in a word."""

    quote_number: str
    revision: int
    state: str
    """One of `states.STATES`."""
    issued_on: date
    valid_until: date | None
    """The last day on which it stands, as its workbook says; None where that was not kept, as are the next two."""
    deposit_days: int | None
    balance_days: int | None
    client: str
    event: str
    event_date: date
    panels: dict[str, int]
    """How many panels of each kind, by its code now."""
    total: int
    """In minor units of `currency`, of which `minor_units` is the number of decimal places; so are all amounts."""
    deposit: int
    paid: int
    """What came in less what went back."""
    minor_units: int
    currency: str
    cancelled_on: date | None
    """The day (UTC) of the cancellation, if the state is `cancelled`."""
    because: str
    """Why it was declined, in the owner's words; empty in any other state."""
    bill: Bill | None
    """The bill that stands."""
    options: str
    """The letters of the options that the quote offers; empty for most quotes."""
    picked: str
    """The letter of the option that the figures count: the one that was agreed, or the one picked at issue."""


def list_quotes(connection: Connection, quote_number: str | None = None) -> list[ListedQuote]:
    """Every quote that was issued, or one of them, by number.

    A revision that was issued after the one that is agreed, and is still open, follows it.
    """
    events = select(history.c.quote_number, history.c.line).where(history.c.quote_number != "")
    events = events.order_by(history.c.quote_number, *IN_ORDER)
    figures = select(quotes).where(quotes.c.sha256 == "")
    in_force = select(quotes).join(agreements, agreements.c.quote_id == quotes.c.quote_id)
    in_force = in_force.where(agreements.c.cancelled_at.is_(None))
    if quote_number is not None:
        events = events.where(history.c.quote_number == quote_number)
        figures, in_force = (each.where(quotes.c.quote_number == quote_number) for each in (figures, in_force))
    issued = {(row.quote_number, row.revision): row._mapping for row in connection.execute(figures)}
    agreed = {row.quote_number: row._mapping for row in connection.execute(in_force)}
    panels = _panels(connection, quote_number)
    listed = []
    for number, rows in groupby(connection.execute(events).all(), lambda row: row.quote_number):
        life = life_of(json.loads(row.line) for row in rows)
        if life.holding and number in agreed:
            columns = agreed[number]
            listed.append(_listed(columns, panels[columns["quote_id"]], life, life.holding.revision))
        if revision := _revision_to_answer(life):
            columns = issued[number, revision]
            listed.append(_listed(columns, panels[columns["quote_id"]], life, revision))
    return listed


def _revision_to_answer(life: Life) -> int:
    """The revision that stands for a quote beside what is agreed, or for want of it; 0 if there is none."""
    last = max(life.issued, default=0)
    if life.holding:
        return last if last > life.holding.revision and life.states[last] in OPEN else 0
    if life.agreement and life.agreement.revision in life.issued and life.states.get(last) in BOOKED:
        return life.agreement.revision  # to which the agreement of the last gave way, and which was cancelled
    return last


def _listed(columns: RowMapping, panels: Counter[str], life: Life, revision: int) -> ListedQuote:
    """A row of the list; what was paid and billed counts for the agreement where there is one."""
    state, agreement, issued = life.states[revision], life.agreement, life.issued.get(revision, {})
    mine = agreement if agreement and agreement.revision == revision else None
    has_money = mine is not None or not life.holding
    return ListedQuote(
        **{name: columns[name] for name in ListedQuote._fields if name in columns},
        state=state,
        panels=dict(panels),
        valid_until=_day(issued.get("valid_until")),
        deposit_days=issued.get("deposit_days"),
        balance_days=issued.get("balance_days"),
        paid=sum(payment.amount for payment in life.payments) if has_money else 0,
        cancelled_on=_day(mine.cancelled_at if mine and state == "cancelled" else None),
        because=life.reasons.get(revision, "") if state == "declined" else "",
        bill=standing_bill(life.bills) if has_money else None,
        options=issued.get("options", ""),
        picked=mine.picked if mine else issued.get("picked", ""),
    )


def _day(moment: str | None) -> date | None:
    """The day of a moment in UTC, or of a day, as texts; None for none."""
    return date.fromisoformat(moment[:10]) if moment else None


def _panels(connection: Connection, quote_number: str | None) -> dict[int, Counter[str]]:
    """The panels of each kind in the rows of `quotes`, or in those of one quote, by their ids."""
    panels: dict[int, Counter[str]] = defaultdict(Counter)
    query = select(lines.c.quote_id, kind_now(connection), lines.c.panels).order_by(lines.c.quote_id, lines.c.line)
    query = query.join(quotes, quotes.c.quote_id == lines.c.quote_id)
    if quote_number is not None:
        query = query.where(quotes.c.quote_number == quote_number)
    for quote_id, panel, count in connection.execute(query):
        panels[quote_id][panel] += count
    return panels
