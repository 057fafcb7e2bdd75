"""The ledger: what was issued, returned, agreed, delivered, counted back, cancelled, declined, paid and billed.

It is an index over the desks' workbooks and slips. Each event is recorded in one transaction, and
recording an event a second time changes nothing. Nothing that was recorded is ever erased: what is
taken back is taken back by another event.
"""

import json
import os
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import NamedTuple

from sqlalchemy import Connection, func, select

from quotebook.engine.stock import Hold, Item
from quotebook.ledger.bills import Bill
from quotebook.ledger.database import PATIENCE, Database
from quotebook.ledger.events import Agreed, Details, Event
from quotebook.ledger.life import Life, life_of, without_undone
from quotebook.ledger.listing import ListedQuote, list_quotes
from quotebook.ledger.payments import Payment, payments_in
from quotebook.ledger.recording import KeptEvent, items_now, put_back, record
from quotebook.ledger.records import QuoteRecord
from quotebook.ledger.rows import (
    AgreementRow,
    find_quote_id,
    held_items,
    read_agreement,
    read_bills,
    read_events,
    read_holds,
    read_missing,
    read_quote,
)
from quotebook.ledger.stock_changes import repairs
from quotebook.ledger.tables import IN_ORDER, agreements, history, lines, quotes


@dataclass(frozen=True)
class Standing:
    """The state of a quote that was ever agreed: its figures as agreed, and moments in UTC or None."""

    quote: QuoteRecord
    agreed_at: str
    delivered_at: str | None
    counted_back_at: str | None
    cancelled_at: str | None


class IssuedRevision(NamedTuple):
    """What tells one issued revision from another of its number."""

    issued_on: date
    client: str
    event_date: date


class Ledger:
    """The ledger at an address, created if there is none. Its methods raise what `Database` raises.

    `desk` is the name under which events are recorded: that of the desk whose slips they are on.
    """

    def __init__(self, url: str, desk: str = "", patience: float = PATIENCE):
        self.database = Database(url, patience)
        self.desk = desk

    def record(self, event: Event, owned: Mapping[Item, int] | None = None) -> bool:
        """Record an event; False if it was recorded already.

        Raises Misuse if it cannot follow those before it, and NotEnough if what the quote then holds anew
        is not free, out of `owned`, on all its days.
        """
        with self.database.writing() as connection:
            return record(connection, event, self.desk, owned)

    def agree(self, event: Agreed, owned: Mapping[Item, int]) -> bool:
        """Record that a quote was agreed, as `record` does."""
        return self.record(event, owned)

    def has_entries(self) -> bool:
        """Whether any event was ever recorded."""
        with self.database.reading() as connection:
            return connection.scalar(select(history.c.clock).limit(1)) is not None

    def put_back(self, kept: Iterable[KeptEvent]) -> int:
        """Enter events that the ledger lacks: all of them or, after any error, none; returns how many it lacked.

        Raises Misuse if the ledger has another event at the place of one of them.
        """
        with self.database.writing() as connection:
            return put_back(connection, kept)

    def count(self) -> int:
        """How many events were recorded."""
        with self.database.reading() as connection:
            return connection.scalar(select(func.count()).select_from(history)) or 0

    def desks(self) -> set[str]:
        """The names of all desks that recorded an event."""
        with self.database.reading() as connection:
            return set(connection.scalars(select(history.c.desk).where(history.c.desk != "").distinct()))

    def last_line(self) -> tuple[int, str]:
        """The number and the line of the last event that this desk recorded; 0 and nothing if there is none."""
        query = select(history.c.sequence, history.c.line).where(history.c.desk == self.desk)
        with self.database.reading() as connection:
            row = connection.execute(query.order_by(history.c.sequence.desc()).limit(1)).one_or_none()
        return (row.sequence, row.line) if row else (0, "")

    def line(self, sequence: int) -> str | None:
        """The line of the event of this desk with that number; None if there is none."""
        query = select(history.c.line).where(history.c.desk == self.desk, history.c.sequence == sequence)
        with self.database.reading() as connection:
            return connection.scalar(query)

    def lines(self) -> list[tuple[int, str]]:
        """The number and the line of every event that this desk recorded, in order."""
        query = select(history.c.sequence, history.c.line).where(history.c.desk == self.desk)
        with self.database.reading() as connection:
            return [(sequence, line) for sequence, line in connection.execute(query.order_by(history.c.sequence))]

    def life(self, quote_number: str) -> Life:
        """What is known of a quote by its events."""
        with self.database.reading() as connection:
            return life_of(read_events(connection, quote_number))

    def held_items(self, since: date) -> list[Item]:
        """Every item of which agreed quotes hold something on the day `since` or later, by the codes of now."""
        with self.database.reading() as connection:
            return held_items(connection, since)

    def items_now(self, quote: QuoteRecord) -> Mapping[Item, int]:
        """What a quote that was issued takes out of stock, by the codes of now."""
        with self.database.reading() as connection:
            return items_now(connection, quote)

    def codes(self) -> set[str]:
        """Every code under which a kind of panel or a subfloor was ever recorded, by quotes or of the stock itself."""
        with self.database.reading() as connection:
            quoted = (select(column).distinct() for column in (lines.c.panel, lines.c.subfloor_kind))
            codes = {code for query in quoted for code in connection.scalars(query)}
            stock = read_events(connection, "")
        return codes | {event["new"] if event["event"] == "renamed" else event["item"][1] for event in stock}

    def missing(self) -> list[Hold]:
        """What is missing from the stock: lost, damaged, or not there when it was counted."""
        with self.database.reading() as connection:
            return read_missing(connection)

    def repaired(self) -> list[tuple[Item, int, date]]:
        """Every repair by the codes of now: the item, how many pieces came back, and from which day on."""
        with self.database.reading() as connection:
            return repairs(read_events(connection, ""))

    def holds(self, first: date, last: date, excluding: str = "") -> list[Hold]:
        """What is away on any day from `first` to `last`, agreed or lost, except what quote `excluding` holds."""
        with self.database.reading() as connection:
            return read_holds(connection, first, last, excluding)

    def issued(self, quote_number: str, revision: int) -> QuoteRecord | None:
        """The figures of a quote as issued; None if this revision was not issued."""
        with self.database.reading() as connection:
            quote_id = find_quote_id(connection, quote_number, revision, sha256="")
            return None if quote_id is None else read_quote(connection, quote_id)

    def revisions(self) -> dict[tuple[str, int], IssuedRevision]:
        """Every revision that was issued, by number and revision."""
        columns = quotes.c.quote_number, quotes.c.revision, *(quotes.c[name] for name in IssuedRevision._fields)
        with self.database.reading() as connection:
            rows = connection.execute(select(*columns).where(quotes.c.sha256 == "")).all()
        return {(number, revision): IssuedRevision(*values) for number, revision, *values in rows}

    def standing(self, quote_number: str) -> Standing | None:
        """The state of a quote; None if it was never agreed."""
        with self.database.reading() as connection:
            agreement = read_agreement(connection, quote_number)
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

    def set_up_or_struck(self, day: date) -> list[str]:
        """The numbers of agreed quotes whose event starts or ends on a day, by number."""
        query = (
            select(quotes.c.quote_number, quotes.c.event_date, quotes.c.days)
            .join(agreements, agreements.c.quote_id == quotes.c.quote_id)
            .where(agreements.c.cancelled_at.is_(None), quotes.c.held_from <= day, quotes.c.held_to >= day)
            .order_by(quotes.c.event_date, quotes.c.quote_number)
        )
        with self.database.reading() as connection:
            return [
                number
                for number, event_date, days in connection.execute(query)
                if day in (event_date, event_date + timedelta(days - 1))
            ]

    def listed(self, quote_number: str | None = None) -> list[ListedQuote]:
        """Every quote that was issued, or one of them, by number.

        A revision that was issued after the one that is agreed, and is still open, follows it.
        """
        with self.database.reading() as connection:
            return list_quotes(connection, quote_number)

    def payments(self, quote_number: str | None = None) -> list[Payment]:
        """Every payment that stands, or those of one quote, by day and in the order of recording."""
        return payments_in(without_undone(self.history(quote_number)))

    def bills(self) -> list[Bill]:
        """Every bill and credit note, by number."""
        with self.database.reading() as connection:
            return read_bills(connection)

    def latest_revision(self, quote_number: str) -> int:
        """The last revision of a quote that was issued; 0 if the quote was never issued."""
        return max(self.life(quote_number).issued, default=0)

    def history(self, quote_number: str | None = None) -> list[Details]:
        """The details of every event, or of every event of one quote, in the order of recording."""
        query = select(history.c.line).order_by(*IN_ORDER)
        if quote_number is not None:
            query = query.where(history.c.quote_number == quote_number)
        with self.database.reading() as connection:
            return [json.loads(line) for line in connection.scalars(query)]

    def backup(self, path: str | os.PathLike[str]) -> None:
        """Copy an SQLite ledger as it is now to a new file, while other processes go on writing."""
        self.database.backup(path)


def _standing(connection: Connection, agreement: AgreementRow) -> Standing:
    moments = {name: value for name, value in agreement._asdict().items() if name.endswith("_at")}
    return Standing(read_quote(connection, agreement.quote_id), **moments)
