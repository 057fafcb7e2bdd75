"""Every quote in a line: its figures, its state, and what was paid for it."""

import json
from collections import Counter, defaultdict
from collections.abc import Iterable
from datetime import date
from typing import Any, NamedTuple

from sqlalchemy import Column, Connection, Row, Table, select

from quotebook.ledger.states import Happened, state_after
from quotebook.ledger.tables import agreements, history, lines, payments, quotes


class ListedQuote(NamedTuple):
    """A quote in a list: figures as agreed, or of its last revision if it is not agreed, and its state in a word."""

    quote_number: str
    revision: int
    state: str
    """One of `states.STATES`."""
    issued_on: date
    client: str
    event: str
    event_date: date
    panels: dict[str, int]
    """How many panels of each kind, by code."""
    total: int
    """In minor units of `currency`, of which `minor_units` is the number of decimal places; so are all amounts."""
    deposit: int
    paid: int
    """What came in less what went back."""
    minor_units: int
    currency: str
    agreed_on: date | None
    """The day (UTC) of the agreement in force, or of the one that was cancelled; None if there was none."""
    cancelled_on: date | None
    """The day (UTC) of the cancellation, if the state is `cancelled`."""
    because: str
    """Why it was declined, in the owner's words; empty in any other state."""


def list_quotes(connection: Connection, quote_number: str | None = None) -> list[ListedQuote]:
    """Every quote that was issued, by number; or one of them, if it was issued."""

    def rows(table: Table, *order: Column[Any]) -> Iterable[Row[Any]]:
        query = select(table).order_by(*order)
        return connection.execute(query if quote_number is None else query.filter_by(quote_number=quote_number))

    agreed = {row.quote_number: row for row in rows(agreements)}
    figures = _figures(rows(quotes, quotes.c.quote_number, quotes.c.revision), agreed.values())
    happened: dict[str, list[Happened]] = defaultdict(list)
    reasons: dict[str, str] = {}
    for row in rows(history, history.c.entry_id):
        happened[row.quote_number].append(Happened(row.event, row.revision))
        if row.event == "declined":
            reasons[row.quote_number] = json.loads(row.details)["because"]
    paid: Counter[str] = Counter()
    for row in rows(payments):
        paid[row.quote_number] += row.amount
    panels = _panels(connection, [row.quote_id for row in figures.values()])
    listed = []
    for number, row in figures.items():
        state, agreement = state_after(happened[number]), agreed.get(number)
        columns = {name: row._mapping[name] for name in ListedQuote._fields if name in row._mapping}
        listed.append(ListedQuote(
            **columns, state=state, panels=dict(panels[row.quote_id]), paid=paid[number],
            agreed_on=_day(agreement and agreement.agreed_at),
            cancelled_on=_day(agreement and agreement.cancelled_at) if state == "cancelled" else None,
            because=reasons.get(number, "") if state == "declined" else "",
        ))  # fmt: skip
    return listed


def _figures(rows: Iterable[Row[Any]], agreed: Iterable[Row[Any]]) -> dict[str, Row[Any]]:
    """The row of `quotes` that counts of each quote, by number: as agreed, else the last revision as issued."""
    in_force = {row.quote_id for row in agreed if row.cancelled_at is None}
    figures: dict[str, Row[Any]] = {}
    for row in rows:
        before = figures.get(row.quote_number)
        if row.quote_id in in_force or (not row.sha256 and not (before and before.quote_id in in_force)):
            figures[row.quote_number] = row
    return figures


def _day(moment: str | None) -> date | None:
    """The day of a moment in UTC."""
    return date.fromisoformat(moment[:10]) if moment else None


def read_happened(connection: Connection, quote_number: str) -> list[Happened]:
    """What happened to one quote, in the order of recording."""
    query = select(history.c.event, history.c.revision).where(history.c.quote_number == quote_number)
    return [Happened(*row) for row in connection.execute(query.order_by(history.c.entry_id))]


def read_reason(connection: Connection, quote_number: str) -> str:
    """Why a quote was declined last, in the owner's words; empty if nobody said."""
    query = select(history.c.details).where(history.c.quote_number == quote_number, history.c.event == "declined")
    last = connection.scalar(query.order_by(history.c.entry_id.desc()).limit(1))
    return str(json.loads(last)["because"]) if last else ""


def _panels(connection: Connection, quote_ids: list[int]) -> dict[int, Counter[str]]:
    """The panels of each kind in some rows of `quotes`, by their ids."""
    panels: dict[int, Counter[str]] = defaultdict(Counter)
    query = select(lines.c.quote_id, lines.c.panel, lines.c.panels).order_by(lines.c.quote_id, lines.c.line)
    if len(quote_ids) == 1:
        query = query.where(lines.c.quote_id == quote_ids[0])
    for quote_id, panel, count in connection.execute(query):
        panels[quote_id][panel] += count
    return panels
