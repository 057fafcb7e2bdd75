"""Reads the ledger's rows as values, and writes values as rows, inside a transaction."""

import json
from collections.abc import Iterable
from datetime import date, timedelta
from typing import NamedTuple

from sqlalchemy import Connection, func, insert, select

from quotebook.engine.stock import STOCKED, Hold, Item, items_of_line
from quotebook.ledger.events import Details, Loss
from quotebook.ledger.records import LineRecord, QuoteRecord
from quotebook.ledger.tables import agreements, history, lines, losses, quotes


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
    key = connection.execute(insert(quotes).values(sha256=sha256, **values)).inserted_primary_key
    assert key is not None  # SQLAlchemy has it for every insert of one row
    quote_id: int = key.quote_id
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


def find_agreement(connection: Connection, quote_number: str) -> AgreementRow | None:
    """A quote's row in `agreements`; None if it was never agreed."""
    query = select(agreements).where(agreements.c.quote_number == quote_number)
    row = connection.execute(query).one_or_none()
    return None if row is None else AgreementRow(**row._mapping)


def read_events(connection: Connection, quote_number: str | None = None) -> list[Details]:
    """The details of every event, or of every event of one quote, in the order of recording."""
    query = select(history.c.details).order_by(history.c.entry_id)
    if quote_number is not None:
        query = query.where(history.c.quote_number == quote_number)
    return [json.loads(text) for text in connection.scalars(query)]


def read_losses(connection: Connection, quote_id: int) -> set[Loss]:
    """What did not come back from a hire."""
    rows = connection.execute(select(losses).where(losses.c.quote_id == quote_id))
    return {Loss(Item(row.what, row.code), row.damaged, row.lost) for row in rows}


def read_holds(connection: Connection, first: date, last: date, excluding: str = "") -> list[Hold]:
    """What is away on any day from `first` to `last`, except what quote `excluding` holds.

    Agreed quotes hold what they take; quotes with one panel and period are summed up. What was
    damaged or lost never comes back: it is away from the day after the hold of its own quote.
    """
    return [*_holds_of_quotes(connection, first, last, excluding), *_holds_of_losses(connection, last)]


def _holds_of_quotes(connection: Connection, first: date, last: date, excluding: str) -> Iterable[Hold]:
    each = lines.c.panel, lines.c.subfloor_kind, quotes.c.held_from, quotes.c.held_to
    query = (
        select(*each, *(func.sum(lines.c[what]).label(what) for what in STOCKED))
        .join(quotes, lines.c.quote_id == quotes.c.quote_id)
        .join(agreements, agreements.c.quote_id == quotes.c.quote_id)
        .where(agreements.c.cancelled_at.is_(None), agreements.c.quote_number != excluding)
        .where(quotes.c.held_from <= last, quotes.c.held_to >= first)
        .group_by(*each)
    )
    for row in connection.execute(query):
        for item, count in items_of_line(row.panel, row.subfloor_kind, row._asdict()).items():
            yield Hold(item, count, row.held_from, row.held_to)


def _holds_of_losses(connection: Connection, last: date) -> Iterable[Hold]:
    missing = func.sum(losses.c.damaged + losses.c.lost)
    query = (
        select(losses.c.what, losses.c.code, quotes.c.held_to, missing)
        .join(quotes, losses.c.quote_id == quotes.c.quote_id)
        .where(quotes.c.held_to < last)
        .group_by(losses.c.what, losses.c.code, quotes.c.held_to)
    )
    for what, code, held_to, count in connection.execute(query):
        yield Hold(Item(what, code), int(count), held_to + timedelta(1), date.max)
