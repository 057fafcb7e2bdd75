"""Between the ledger's rows and the values that they stand for, inside a transaction."""

from collections.abc import Iterable
from datetime import date, timedelta

from sqlalchemy import Connection, Row, func, insert, select

from quotebook.engine.stock import STOCKED, Hold, Item, items_of_line
from quotebook.ledger.events import Loss
from quotebook.ledger.records import LineRecord, QuoteRecord
from quotebook.ledger.tables import agreements, lines, losses, quotes


def quote_id(connection: Connection, quote_number: str, revision: int, sha256: str) -> int | None:
    """The row of a quote's figures: as issued where `sha256` is empty, else as the file of that digest makes them."""
    key = {"quote_number": quote_number, "revision": revision, "sha256": sha256}
    return connection.scalar(select(quotes.c.quote_id).filter_by(**key))


def insert_quote(connection: Connection, quote: QuoteRecord, sha256: str) -> int:
    """Put a quote's figures in; the id of their row."""
    values = {name: value for name, value in vars(quote).items() if name != "lines"}
    made = connection.execute(insert(quotes).values(sha256=sha256, **values)).inserted_primary_key.quote_id
    if quote.lines:
        connection.execute(insert(lines), [{"quote_id": made, **vars(line)} for line in quote.lines])
    return made


def quote_at(connection: Connection, quote_id: int) -> QuoteRecord:
    """The figures in one row and its lines."""
    values = connection.execute(select(quotes).where(quotes.c.quote_id == quote_id)).one()._asdict()
    del values["quote_id"], values["sha256"]
    columns = [column for column in lines.c if column.name != "quote_id"]
    of_lines = connection.execute(select(*columns).where(lines.c.quote_id == quote_id).order_by(lines.c.line))
    return QuoteRecord(**values, lines=tuple(LineRecord(**row._mapping) for row in of_lines))


def agreement(connection: Connection, quote_number: str) -> Row | None:
    """How a quote stands, if it was ever agreed."""
    return connection.execute(select(agreements).where(agreements.c.quote_number == quote_number)).one_or_none()


def losses_of(connection: Connection, quote_id: int) -> set[Loss]:
    """What did not come back from a hire."""
    rows = connection.execute(select(losses).where(losses.c.quote_id == quote_id))
    return {Loss(Item(row.what, row.code), row.damaged, row.lost) for row in rows}


def holds(connection: Connection, first: date, last: date, excluding: str = "") -> list[Hold]:
    """What is away on any day from `first` to `last`, but for what quote `excluding` holds.

    Agreed quotes hold what they take, all those of one panel and period summed up. What was damaged
    or lost never comes back: it is away from the day after its own hold.
    """
    return [*_of_agreed(connection, first, last, excluding), *_of_losses(connection, last)]


def _of_agreed(connection: Connection, first: date, last: date, excluding: str) -> Iterable[Hold]:
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
        for item, count in items_of_line(row.panel, row.subfloor_kind, row._mapping).items():
            yield Hold(item, count, row.held_from, row.held_to)


def _of_losses(connection: Connection, last: date) -> Iterable[Hold]:
    gone = func.sum(losses.c.damaged + losses.c.lost)
    query = (
        select(losses.c.what, losses.c.code, quotes.c.held_to, gone)
        .join(quotes, losses.c.quote_id == quotes.c.quote_id)
        .where(quotes.c.held_to < last)
        .group_by(losses.c.what, losses.c.code, quotes.c.held_to)
    )
    for what, code, held_to, count in connection.execute(query):
        yield Hold(Item(what, code), int(count), held_to + timedelta(1), date.max)
