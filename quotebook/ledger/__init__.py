"""The ledger: what was issued, returned, agreed, delivered, counted back, cancelled, declined and paid.

It is an index over the desk's workbooks and slips. Each event is recorded in one transaction, and
recording an event a second time changes nothing.
"""

import json
import os
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from sqlalchemy import Connection, func, select

from quotebook.engine.stock import Hold, Item
from quotebook.errors import Misuse
from quotebook.ledger.database import PATIENCE, Database
from quotebook.ledger.events import Agreed, Details, Event
from quotebook.ledger.listing import ListedQuote, list_quotes
from quotebook.ledger.payments import Payment, read_payments
from quotebook.ledger.recording import must_be_free, record
from quotebook.ledger.records import QuoteRecord
from quotebook.ledger.rows import AgreementRow, find_agreement, find_quote_id, read_holds, read_quote
from quotebook.ledger.tables import agreements, history, quotes


@dataclass(frozen=True)
class Standing:
    """The state of a quote that was ever agreed: its figures as agreed, and moments in UTC or None."""

    quote: QuoteRecord
    agreed_at: str
    delivered_at: str | None
    counted_back_at: str | None
    cancelled_at: str | None


class Ledger:
    """The ledger at an address, created if there is none. Its methods raise what `Database` raises."""

    def __init__(self, url: str, patience: float = PATIENCE):
        self.database = Database(url, patience)

    def record(self, event: Event) -> bool:
        """Record an event; False if it was recorded already. Raises Misuse if it cannot follow those before it."""
        with self.database.writing() as connection:
            return record(connection, event)

    def agree(self, event: Agreed, owned: Mapping[Item, int]) -> bool:
        """Record that a quote was agreed; False if it was recorded already.

        Raises Misuse as `record` does, and NotEnough if what the quote takes is not free, out of `owned`,
        on all its days.
        """
        with self.database.writing() as connection:
            new = record(connection, event)
            if new:
                must_be_free(connection, event.quote, owned)
            return new

    def has_entries(self) -> bool:
        """Whether any event was ever recorded."""
        with self.database.reading() as connection:
            return connection.scalar(select(history.c.entry_id).limit(1)) is not None

    def rebuild(self, events: Iterable[Event]) -> None:
        """Record events, in the order given, in an empty ledger: all of them or, after any error, none."""
        with self.database.writing() as connection:
            if connection.scalar(select(func.count()).select_from(history)):
                raise Misuse(
                    f"{self.database.name}: has entries, and was left as it is. Move it away before you rebuild it."
                )
            for event in events:
                record(connection, event)

    def holds(self, first: date, last: date, excluding: str = "") -> list[Hold]:
        """What is away on any day from `first` to `last`, agreed or lost, except what quote `excluding` holds."""
        with self.database.reading() as connection:
            return read_holds(connection, first, last, excluding)

    def issued(self, quote_number: str, revision: int) -> QuoteRecord | None:
        """The figures of a quote as issued; None if this revision was not issued."""
        with self.database.reading() as connection:
            quote_id = find_quote_id(connection, quote_number, revision, sha256="")
            return None if quote_id is None else read_quote(connection, quote_id)

    def latest_revision(self, quote_number: str) -> int:
        """The last revision of a quote that was issued; 0 if the quote was never issued."""
        with self.database.reading() as connection:
            query = select(func.max(quotes.c.revision)).where(quotes.c.quote_number == quote_number)
            return connection.scalar(query) or 0

    def standing(self, quote_number: str) -> Standing | None:
        """The state of a quote; None if it was never agreed."""
        with self.database.reading() as connection:
            agreement = find_agreement(connection, quote_number)
            return None if agreement is None else _standing(connection, agreement)

    def agreed(self, first: date, last: date) -> list[Standing]:
        """Quotes that are agreed and not cancelled, of events that start from `first` to `last`, by date and number."""
        query = (
            select(agreements)
            .join(quotes, agreements.c.quote_id == quotes.c.quote_id)
            .where(agreements.c.cancelled_at.is_(None), quotes.c.event_date.between(first, last))
            .order_by(quotes.c.event_date, agreements.c.quote_number)
        )
        with self.database.reading() as connection:
            rows = connection.execute(query).all()
            return [_standing(connection, AgreementRow(**row._mapping)) for row in rows]

    def listed(self, quote_number: str | None = None) -> list[ListedQuote]:
        """Every quote that was issued, by number; or one of them, if it was issued."""
        with self.database.reading() as connection:
            return list_quotes(connection, quote_number)

    def payments(self, quote_number: str | None = None) -> list[Payment]:
        """Every payment, or those of one quote, by day and in the order of recording."""
        with self.database.reading() as connection:
            return read_payments(connection, quote_number)

    def history(self, quote_number: str | None = None) -> list[Details]:
        """The details of every event, or of every event of one quote, in the order of recording."""
        query = select(history.c.details).order_by(history.c.entry_id)
        if quote_number is not None:
            query = query.where(history.c.quote_number == quote_number)
        with self.database.reading() as connection:
            return [json.loads(text) for text in connection.scalars(query)]

    def backup(self, path: str | os.PathLike[str]) -> None:
        """Copy an SQLite ledger as it is now to a new file, while other processes go on writing."""
        self.database.backup(path)


def _standing(connection: Connection, agreement: AgreementRow) -> Standing:
    moments = {name: value for name, value in agreement._asdict().items() if name.endswith("_at")}
    return Standing(read_quote(connection, agreement.quote_id), **moments)
