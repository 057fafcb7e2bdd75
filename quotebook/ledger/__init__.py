"""The ledger: what was issued, returned, agreed, delivered, counted back and cancelled.

An index over the desk's workbooks and slips. Each event is recorded in one transaction; recording
one that is recorded already changes nothing.
"""

import json
import os
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from sqlalchemy import Connection, Row, func, select

from quotebook.engine.stock import Hold, Item
from quotebook.errors import Misuse
from quotebook.ledger.database import PATIENCE, Database
from quotebook.ledger.events import Agreed, Event
from quotebook.ledger.recording import must_be_free, record
from quotebook.ledger.records import QuoteRecord
from quotebook.ledger.rows import agreement, holds, quote_at, quote_id
from quotebook.ledger.tables import agreements, history, quotes


@dataclass(frozen=True)
class Standing:
    """How a quote that was ever agreed stands: its figures as agreed, and moments (UTC) or None."""

    quote: QuoteRecord
    agreed_at: str
    delivered_at: str | None
    counted_back_at: str | None
    cancelled_at: str | None


class Listed(NamedTuple):
    """A quote in a list: the row of its figures, as agreed or else of its last revision, and its state in a word."""

    quote: Row
    state: str


class Ledger:
    """The ledger at an address, made where there is none. Raises what `Database` raises."""

    def __init__(self, url: str, patience: float = PATIENCE):
        self.database = Database(url, patience)

    def record(self, event: Event) -> bool:
        """Record an event; False where it was recorded already. Raises Misuse for what cannot have followed."""
        with self.database.writing() as connection:
            return record(connection, event)

    def agree(self, event: Agreed, owned: Mapping[Item, int]) -> bool:
        """`record`, if all that the quote takes is free out of `owned` on all its days. Raises NotEnough."""
        with self.database.writing() as connection:
            new = record(connection, event)
            if new:
                must_be_free(connection, event.quote, owned)
            return new

    def has_entries(self) -> bool:
        """Whether anything was ever recorded in it."""
        with self.database.reading() as connection:
            return connection.scalar(select(history.c.entry_id).limit(1)) is not None

    def rebuild(self, events: Iterable[Event]) -> None:
        """Record events, in the order given, in a ledger that has none: all of them or, in any error, none."""
        with self.database.writing() as connection:
            if connection.scalar(select(func.count()).select_from(history)):
                raise Misuse(f"{self.database.name}: has entries, and was left as it is. Move it away to rebuild it.")
            for event in events:
                record(connection, event)

    def holds(self, first: date, last: date, excluding: str = "") -> list[Hold]:
        """What is away on any day from `first` to `last`, agreed or lost; without what quote `excluding` holds."""
        with self.database.reading() as connection:
            return holds(connection, first, last, excluding)

    def issued(self, quote_number: str, revision: int) -> QuoteRecord | None:
        """A quote as issued, or None where it was not."""
        with self.database.reading() as connection:
            there = quote_id(connection, quote_number, revision, sha256="")
            return None if there is None else quote_at(connection, there)

    def standing(self, quote_number: str) -> Standing | None:
        """How a quote stands, or None where it was never agreed."""
        with self.database.reading() as connection:
            row = agreement(connection, quote_number)
            return row and _standing(connection, row)

    def agreed(self, first: date, last: date) -> list[Standing]:
        """Quotes agreed and not cancelled whose event starts from `first` to `last`, by date and number."""
        query = (
            select(agreements)
            .join(quotes, agreements.c.quote_id == quotes.c.quote_id)
            .where(agreements.c.cancelled_at.is_(None), quotes.c.event_date.between(first, last))
            .order_by(quotes.c.event_date, agreements.c.quote_number)
        )
        with self.database.reading() as connection:
            return [_standing(connection, row) for row in connection.execute(query).all()]

    def listed(self) -> list[Listed]:
        """Every quote that was issued, by number."""
        with self.database.reading() as connection:
            rows = connection.execute(select(quotes).order_by(quotes.c.quote_number, quotes.c.revision)).all()
            agreed = connection.execute(select(agreements).where(agreements.c.cancelled_at.is_(None)))
            stands = {row.quote_number: row for row in agreed}
            happened = select(history.c.quote_number, history.c.event).order_by(history.c.entry_id)
            last = dict(map(tuple, connection.execute(happened)))
        figures = {row.quote_number: row for row in rows if not row.sha256}
        as_agreed = {row.quote_id for row in stands.values()}
        figures |= {row.quote_number: row for row in rows if row.quote_id in as_agreed}
        return [Listed(row, _state(stands.get(number), last[number])) for number, row in figures.items()]

    def history(self, quote_number: str | None = None) -> list[dict]:
        """The details of every event, or of one quote's, in the order of recording."""
        query = select(history.c.details).order_by(history.c.entry_id)
        if quote_number is not None:
            query = query.where(history.c.quote_number == quote_number)
        with self.database.reading() as connection:
            return [json.loads(text) for text in connection.scalars(query)]

    def backup(self, path: str | os.PathLike) -> None:
        """A copy of an SQLite ledger as it is now, in a new file, while others go on writing."""
        self.database.backup(path)


def _state(stands: Row | None, last: str) -> str:
    """How far what is agreed has come, whatever comes back meanwhile; else the last thing that happened."""
    if not stands:
        return last
    moments = {"counted back": stands.counted_back_at, "delivered": stands.delivered_at}
    return next((state for state, moment in moments.items() if moment), "agreed")


def _standing(connection: Connection, row: Row) -> Standing:
    moments = {name: value for name, value in row._mapping.items() if name.endswith("_at")}
    return Standing(quote_at(connection, row.quote_id), **moments)
