"""Reads the ledger's rows as values, and writes values as rows, inside a transaction."""

import json
from collections import defaultdict
from dataclasses import fields
from datetime import date

from sqlalchemy import ColumnElement, Connection, func, insert, select

from quotebook.engine.stock import Hold, Item
from quotebook.ledger.bills import Bill, bill_number
from quotebook.ledger.events import Details
from quotebook.ledger.payments import Payment
from quotebook.ledger.records import LineRecord, QuoteRecord
from quotebook.ledger.slips import Place, digest_of_line
from quotebook.ledger.stock_changes import Rename, missing_holds
from quotebook.ledger.tables import IN_ORDER, bills, history, holds, lines, losses, payments, quotes

_LINE = [field.name for field in fields(LineRecord)]
_QUOTE = [field.name for field in fields(QuoteRecord) if field.name != "lines"]


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
    return read_quotes(connection, quotes.c.quote_id == quote_id)[quote_id]


def read_quotes(connection: Connection, *which: ColumnElement[bool]) -> dict[int, QuoteRecord]:
    """The figures and the lines of the rows of `quotes` that fulfil these conditions, by their ids."""
    of_lines = select(lines).join(quotes, quotes.c.quote_id == lines.c.quote_id).where(*which)
    found: dict[int, list[LineRecord]] = defaultdict(list)
    for row in connection.execute(of_lines.order_by(lines.c.quote_id, lines.c.line)):
        found[row.quote_id].append(LineRecord(**{name: row._mapping[name] for name in _LINE}))
    rows = connection.execute(select(quotes).where(*which)).mappings()
    return {
        row["quote_id"]: QuoteRecord(**{name: row[name] for name in _QUOTE}, lines=tuple(found[row["quote_id"]]))
        for row in rows
    }


def read_events(connection: Connection, quote_number: str) -> list[Details]:
    """The details of every event of one quote, in order; of the stock's own events for an empty number."""
    query = select(history.c.line).where(history.c.quote_number == quote_number).order_by(*IN_ORDER)
    return [json.loads(line) for line in connection.scalars(query)]


def read_line(connection: Connection, desk: str, sequence: int) -> str | None:
    """The line of the event of a desk with that number; None if there is none."""
    return connection.scalar(select(history.c.line).where(history.c.desk == desk, history.c.sequence == sequence))


def read_renames(connection: Connection) -> list[Rename]:
    """The details of every rename, in order."""
    return [event for event in read_events(connection, "") if event["event"] == "renamed"]


def read_bills(connection: Connection, *which: ColumnElement[bool]) -> list[Bill]:
    """The bills and credit notes that fulfil these conditions, by number."""
    columns = [bills.c[name] for name in Bill._fields]
    rows = connection.execute(select(*columns).where(*which).order_by(bills.c.count)).mappings()
    return [Bill(**{**row, "taxes": tuple(map(tuple, json.loads(row["taxes"])))}) for row in rows]


def read_payments(connection: Connection, *which: ColumnElement[bool]) -> list[Payment]:
    """The payments that fulfil these conditions, by day; those of a day by quote and in the order of recording."""
    columns = [payments.c[name] for name in Payment._fields]
    query = select(*columns).where(*which).order_by(payments.c.paid_on, payments.c.quote_number, payments.c.place)
    return [Payment(*row) for row in connection.execute(query)]


def next_bill_number(connection: Connection) -> str:
    """The number that the next bill or credit note has."""
    return bill_number((connection.scalar(select(func.max(bills.c.count))) or 0) + 1)


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
