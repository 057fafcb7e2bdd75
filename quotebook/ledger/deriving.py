"""Writes the tables in DERIVED: what follows from the events of each quote, in rows that can be asked for.

It is written anew with each event of a quote, from the quote's whole life, and for all quotes at once
where codes were renamed or events put back.
"""

import json
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta
from itertools import groupby
from typing import Any

from quotebook.engine.stock import Item
from quotebook.ledger.bills import Bill, standing_bill
from quotebook.ledger.events import Details
from quotebook.ledger.layout import DERIVED, IN_ORDER
from quotebook.ledger.life import Agreement, Life, life_of
from quotebook.ledger.records import QuoteRecord, taken_by
from quotebook.ledger.rows import read_quotes, read_renames
from quotebook.ledger.states import BOOKED, OPEN
from quotebook.ledger.stock_changes import Rename, renamed
from quotebook.ledger.transactions import Transaction, in_list

AT_ONCE = 500
"""So many quotes are read and written together."""

Key = tuple[str, int, str]
"""What the figures of a quote are found by: number, revision, and the digest of the file that was agreed, if it was."""
_AS_RECORDED = (
    "revision", "issued_on", "client", "event", "event_date", "total", "deposit", "minor_units", "currency",
)  # fmt: skip
"""The columns of the list that are those of `quotes`."""
_MOMENTS = ("agreed_at", "delivered_at", "counted_back_at", "cancelled_at")
Rows = Iterator[tuple[str, dict[str, Any]]]
"""The table of each row, and the row."""


def derive_all(transaction: Transaction) -> None:
    """Make the tables in DERIVED anew from the history."""
    for table in DERIVED:
        transaction.run(f"DELETE FROM {table}")
    renames, after = read_renames(transaction), ""
    numbers = """
        SELECT DISTINCT quote_number FROM history WHERE quote_number > :after ORDER BY quote_number LIMIT :count
    """
    events = f"""
        SELECT quote_number, line FROM history WHERE quote_number BETWEEN :first AND :last
        ORDER BY quote_number, {IN_ORDER}
    """
    while found := transaction.column(numbers, after=after, count=AT_ONCE):
        by_number = groupby(transaction.rows(events, first=found[0], last=found[-1]), lambda row: row[0])
        lives = {number: life_of(json.loads(line) for _, line in rows) for number, rows in by_number}
        _insert(transaction, lives, renames)
        after = found[-1]


def derive(transaction: Transaction, quote_number: str, life: Life) -> None:
    """Write what follows from one quote's life in place of what followed from it before."""
    for table in DERIVED:
        transaction.run(f"DELETE FROM {table} WHERE quote_number = :number", number=quote_number)
    _insert(transaction, {quote_number: life}, read_renames(transaction))


def open_until(state: str, issued_on: date, event_date: date, total: int, paid: int, bill: Bill | None) -> date | None:
    """The last day on which something may have to be done about a row of the list; None where all is done.

    It is the day of the event while the client may still decide, and `date.max` where a further event has to end it:
    a floor that is to go out or come back, money that is due or may have to go back, and a quote that was issued
    when its event was past, which says that there is something to decide all the same.
    """
    owed = bill.total if bill else total if state in BOOKED else 0
    if paid != owed or state in ("agreed", "delivered") or (state in OPEN and issued_on > event_date):
        return date.max
    return event_date if state in OPEN else None


def _insert(transaction: Transaction, lives: Mapping[str, Life], renames: Sequence[Rename]) -> None:
    among, values = in_list(lives)
    query = f"SELECT quote_number, revision, sha256, quote_id FROM quotes WHERE quote_number IN {among}"
    ids = {(number, revision, sha256): row for number, revision, sha256, row in transaction.rows(query, **values)}
    wanted = {ids[key] for number, life in lives.items() for key in _figures_of(number, life)}
    figures = read_quotes(transaction, wanted)
    rows: dict[str, list[dict[str, Any]]] = {table: [] for table in DERIVED}
    for number, life in lives.items():
        of_quote = {key: (ids[key], figures[ids[key]]) for key in _figures_of(number, life)}
        for table, row in _rows(life, of_quote, renames):
            rows[table].append({"quote_number": number} | row)
    for table, of_table in rows.items():
        if of_table:
            transaction.insert(table, of_table)


def _figures_of(number: str, life: Life) -> Iterator[Key]:
    """The figures that the rows of a quote rest on: those that were agreed, and those that wait for an answer."""
    if life.agreement:
        yield number, life.agreement.revision, life.agreement.sha256
    if revision := _revision_to_answer(life):
        yield number, revision, ""


def _rows(life: Life, figures: Mapping[Key, tuple[int, QuoteRecord]], renames: Sequence[Rename]) -> Rows:
    """Every row that follows from a quote's life, with its table, and without the quote's number."""
    for (_, revision, sha256), (quote_id, quote) in figures.items():
        issued = life.issued.get(revision, {})
        if sha256 and life.agreement:
            yield "agreements", _agreement(life.agreement, quote) | {"quote_id": quote_id}
        if sha256 and life.holding:
            yield from _stock(quote, life.holding, issued, renames)
        if not sha256 or life.holding:
            yield "listed", _listed(quote, life, issued, renames) | {"quote_id": quote_id}
    for place, payment in enumerate(life.payments):
        yield "payments", {"place": place} | payment._asdict()
    for bill in life.bills:
        yield "bills", bill._asdict() | {"count": int(bill.bill_number[1:]), "taxes": json.dumps(bill.taxes)}


def _agreement(agreement: Agreement, quote: QuoteRecord) -> dict[str, Any]:
    last_day = quote.event_date + timedelta(quote.days - 1)
    return {"first_day": quote.event_date, "last_day": last_day} | {name: getattr(agreement, name) for name in _MOMENTS}


def _stock(quote: QuoteRecord, agreement: Agreement, issued: Details, renames: Sequence[Rename]) -> Rows:
    """What an agreed quote holds, and what did not come back of it, by the codes of now."""
    for item, pieces in renamed(taken_by(quote), renames, issued).items():
        days = {"held_from": quote.held_from, "held_to": quote.held_to}
        yield "holds", item._asdict() | days | {"pieces": pieces}
    for loss in agreement.losses:
        [item] = renamed({loss.item: 1}, renames, issued)
        counts = {"damaged": loss.damaged, "lost": loss.lost, "gone_from": quote.held_to + timedelta(1)}
        yield "losses", item._asdict() | counts


def _revision_to_answer(life: Life) -> int:
    """The revision that stands for a quote beside what is agreed, or for want of it; 0 if there is none."""
    last = max(life.issued, default=0)
    if life.holding:
        return last if last > life.holding.revision and life.states[last] in OPEN else 0
    if life.agreement and life.agreement.revision in life.issued and life.states.get(last) in BOOKED:
        return life.agreement.revision  # to which the agreement of the last gave way, and which was cancelled
    return last


def _listed(quote: QuoteRecord, life: Life, issued: Details, renames: Sequence[Rename]) -> dict[str, Any]:
    """A row of the list; what was paid and billed counts for the agreement where there is one."""
    state, agreement = life.states[quote.revision], life.agreement
    mine = agreement if agreement and agreement.revision == quote.revision else None
    has_money = mine is not None or not life.holding
    paid = sum(payment.amount for payment in life.payments) if has_money else 0
    bill = standing_bill(life.bills) if has_money else None
    panels = Counter[Item]()
    for line in quote.lines:
        panels[Item("panels", line.panel)] += line.panels
    now = renamed(panels, renames, issued)
    return {name: getattr(quote, name) for name in _AS_RECORDED} | {
        "state": state,
        "valid_until": _day(issued.get("valid_until")),
        "deposit_days": issued.get("deposit_days"),
        "balance_days": issued.get("balance_days"),
        "panels": json.dumps({item.code: pieces for item, pieces in now.items()}),
        "paid": paid,
        "cancelled_on": _day(mine.cancelled_at if mine and state == "cancelled" else None),
        "because": life.reasons.get(quote.revision, "") if state == "declined" else "",
        "bill": json.dumps(bill._asdict(), default=str) if bill else "",
        "options": issued.get("options", ""),
        "picked": mine.picked if mine else issued.get("picked", ""),
        "client_folded": quote.client.casefold(),
        "open_until": open_until(state, quote.issued_on, quote.event_date, quote.total, paid, bill),
    }


def _day(moment: str | None) -> date | None:
    """The day of a moment in UTC, or of a day, as texts; None for none."""
    return date.fromisoformat(moment[:10]) if moment else None
