"""Reads the ledger's rows as values, and writes values as rows, inside a transaction."""

import json
from collections.abc import Sequence
from datetime import date, timedelta
from typing import NamedTuple

from sqlalchemy import Connection, delete, func, insert, select

from quotebook.engine.stock import Hold, Item
from quotebook.ledger.bills import Bill, bills_in
from quotebook.ledger.events import Details
from quotebook.ledger.life import Life
from quotebook.ledger.records import LineRecord, QuoteRecord, taken_by
from quotebook.ledger.slips import Place, digest_of_line
from quotebook.ledger.stock_changes import Rename, missing_holds, renamed
from quotebook.ledger.tables import DERIVED, IN_ORDER, agreements, history, holds, lines, losses, quotes


class AgreementRow(NamedTuple):
    """A row of `agreements`: the quote's figures by the id of their row, and moments in UTC or None."""

    quote_number: str
    quote_id: int
    agreed_at: str
    delivered_at: str | None
    counted_back_at: str | None
    cancelled_at: str | None


def find_quote_id(connection: Connection, quote_number: str, revision: int, sha256: str) -> int | None:
    """The id of the row with a quote's figures; None if there is no such row.

    With an empty `sha256` these are the figures as issued, else those of the returned file of that digest.
    """
    key = {"quote_number": quote_number, "revision": revision, "sha256": sha256}
    return connection.scalar(select(quotes.c.quote_id).filter_by(**key))


def insert_quote(connection: Connection, quote: QuoteRecord, sha256: str) -> int:
    """Insert a quote's figures and its lines; returns the id of the quote's row."""
    values = {name: value for name, value in vars(quote).items() if name != "lines"}
    quote_id = (connection.scalar(select(func.max(quotes.c.quote_id))) or 0) + 1
    connection.execute(insert(quotes).values(quote_id=quote_id, sha256=sha256, **values))
    if quote.lines:
        connection.execute(insert(lines), [{"quote_id": quote_id, **vars(line)} for line in quote.lines])
    return quote_id


def read_quote(connection: Connection, quote_id: int) -> QuoteRecord:
    """The figures of a quote and its lines, by the id of the quote's row."""
    values = connection.execute(select(quotes).where(quotes.c.quote_id == quote_id)).one()._asdict()
    del values["quote_id"], values["sha256"]
    columns = [column for column in lines.c if column.name != "quote_id"]
    of_lines = connection.execute(select(*columns).where(lines.c.quote_id == quote_id).order_by(lines.c.line))
    return QuoteRecord(**values, lines=tuple(LineRecord(**row._mapping) for row in of_lines))


def read_agreement(connection: Connection, quote_number: str) -> AgreementRow | None:
    """A quote's row in `agreements`; None if it is not, and never was, agreed."""
    row = connection.execute(select(agreements).where(agreements.c.quote_number == quote_number)).one_or_none()
    return None if row is None else AgreementRow(**row._mapping)


def read_events(connection: Connection, quote_number: str) -> list[Details]:
    """The details of every event of one quote, in order; of the stock's own events for an empty number."""
    query = select(history.c.line).where(history.c.quote_number == quote_number).order_by(*IN_ORDER)
    return [json.loads(line) for line in connection.scalars(query)]


def read_renames(connection: Connection) -> list[Rename]:
    """The details of every rename, in order."""
    return [event for event in read_events(connection, "") if event["event"] == "renamed"]


def read_bills(connection: Connection) -> list[Bill]:
    """Every bill and credit note of every quote, by number."""
    query = select(history.c.line).where(history.c.event == "billed").order_by(*IN_ORDER)
    return bills_in(json.loads(line) for line in connection.scalars(query))


def next_place(connection: Connection, desk: str) -> Place:
    """The place of the next event that a desk records."""
    last = connection.execute(
        select(history.c.sequence, history.c.line)
        .where(history.c.desk == desk)
        .order_by(history.c.sequence.desc())
        .limit(1)
    ).one_or_none()
    clock = connection.scalar(select(func.max(history.c.clock))) or 0
    sequence, previous = (last.sequence, digest_of_line(last.line)) if last else (0, "")
    return Place(desk, sequence + 1, clock + 1, previous)


def insert_line(connection: Connection, place: Place, line: str) -> None:
    """Enter an event in the history, by its place and its line."""
    details = json.loads(line)
    columns = {name: details[name] for name in ("at", "event", "quote_number", "revision")}
    at_place = {"desk": place.desk, "sequence": place.sequence, "clock": place.clock}
    connection.execute(insert(history).values(**at_place, **columns, line=line))


def write_agreement(connection: Connection, quote_number: str, life: Life, renames: Sequence[Rename]) -> None:
    """Write what follows from a quote's life: its agreement, what it holds, and what did not come back."""
    for table in DERIVED:
        connection.execute(delete(table).where(table.c.quote_number == quote_number))
    agreement = life.agreement
    if agreement is None:
        return
    quote_id = find_quote_id(connection, quote_number, agreement.revision, agreement.sha256)
    if quote_id is None:
        raise LookupError(f"{quote_number} was agreed without its figures")
    moments = {name: getattr(agreement, name) for name in AgreementRow._fields if name.endswith("_at")}
    connection.execute(insert(agreements).values(quote_number=quote_number, quote_id=quote_id, **moments))
    if not life.holding:
        return
    quote, issued = read_quote(connection, quote_id), life.issued.get(agreement.revision, {})
    taken = renamed(taken_by(quote), renames, issued)
    days = {"held_from": quote.held_from, "held_to": quote.held_to}
    of_quote = {"quote_number": quote_number, **days}
    if taken:
        connection.execute(insert(holds), [of_quote | item._asdict() | {"pieces": n} for item, n in taken.items()])
    gone_from = quote.held_to + timedelta(1)
    for loss in agreement.losses:
        [item] = renamed({loss.item: 1}, renames, issued)
        counts = {"damaged": loss.damaged, "lost": loss.lost, "gone_from": gone_from}
        connection.execute(insert(losses).values(quote_number=quote_number, **item._asdict(), **counts))


def read_holds(connection: Connection, first: date, last: date, excluding: str = "") -> list[Hold]:
    """What is away on any day from `first` to `last`, except what quote `excluding` holds.

    Agreed quotes hold what they take; those of one item and period are summed up. What is missing from
    the stock is away as `missing_holds` has it.
    """
    each = holds.c.what, holds.c.code, holds.c.held_from, holds.c.held_to
    query = (
        select(*each, func.sum(holds.c.pieces))
        .where(holds.c.held_to >= first, holds.c.held_from <= last, holds.c.quote_number != excluding)
        .group_by(*each)
    )
    held = [
        Hold(Item(what, code), int(pieces), held_from, held_to)
        for what, code, held_from, held_to, pieces in connection.execute(query)
    ]
    return [*held, *(hold for hold in read_missing(connection) if hold.held_from <= last and hold.held_to >= first)]


def read_missing(connection: Connection) -> list[Hold]:
    """What is missing from the stock, and from when to when: lost, damaged, or not there when it was counted."""
    each = losses.c.what, losses.c.code, losses.c.gone_from
    query = select(*each, func.sum(losses.c.damaged + losses.c.lost)).group_by(*each)
    gone = [(Item(what, code), day, int(pieces)) for what, code, day, pieces in connection.execute(query)]
    return missing_holds(gone, read_events(connection, ""))


def held_items(connection: Connection, since: date) -> list[Item]:
    """Every item of which something is held on the day `since` or later."""
    query = select(holds.c.what, holds.c.code).where(holds.c.held_to >= since).distinct().order_by(holds.c.code)
    return [Item(what, code) for what, code in connection.execute(query)]
