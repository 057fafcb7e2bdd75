"""The ledger: what was issued, returned, agreed, delivered, counted back, cancelled, declined, paid and billed.

It is an index over the desks' workbooks and slips. Each event is recorded in one transaction, and
recording an event a second time changes nothing. Nothing that was recorded is ever erased: what is
taken back is taken back by another event.
"""

import json
import os
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields
from datetime import date
from typing import TYPE_CHECKING

from quotebook.engine.stock import Hold, Item
from quotebook.ledger.bills import Bill
from quotebook.ledger.database import PATIENCE, Database
from quotebook.ledger.deriving import AT_ONCE
from quotebook.ledger.events import Agreed, Details, Event
from quotebook.ledger.layout import IN_ORDER
from quotebook.ledger.life import Life, life_of
from quotebook.ledger.payments import Payment
from quotebook.ledger.recording import KeptEvent, items_now, put_back, record
from quotebook.ledger.records import QuoteRecord
from quotebook.ledger.rows import (
    distinct,
    find_quote_id,
    held_items,
    next_bill_number,
    read_bills,
    read_events,
    read_holds,
    read_last_line,
    read_missing,
    read_payments,
    read_quotes,
    read_renames,
    read_still_held,
)
from quotebook.ledger.stock_changes import Rename, repairs
from quotebook.ledger.transactions import Transaction, in_list

if TYPE_CHECKING:
    from sqlalchemy import ColumnElement

    from quotebook.ledger.listing import ListedQuote


@dataclass(frozen=True)
class Standing:
    """The state of a quote that was ever agreed: its figures as agreed, and moments in UTC or None."""

    quote: QuoteRecord
    agreed_at: str
    delivered_at: str | None
    counted_back_at: str | None
    cancelled_at: str | None


class Ledger:
    """The ledger at an address, created if there is none. Its methods raise what `Database` raises.

    `desk` is the name under which events are recorded: that of the desk whose slips they are on.
    """

    def __init__(self, url: str, desk: str = "", patience: float = PATIENCE):
        self.database = Database(url, patience)
        self.url, self.desk = url, desk

    def record(self, event: Event, owned: Mapping[Item, int] | None = None) -> bool:
        """Record an event; False if it was recorded already.

        Raises Misuse if it cannot follow those before it, and NotEnough if what the quote then holds anew
        is not free, out of `owned`, on all its days.
        """
        with self.database.writing() as transaction:
            return record(transaction, event, self.desk, owned)

    def record_all(self, events: Sequence[Event]) -> None:
        """Record several events, as `record` does: all of them or, after any error, none."""
        with self.database.writing() as transaction:
            for event in events:
                record(transaction, event, self.desk)

    def agree(self, event: Agreed, owned: Mapping[Item, int]) -> bool:
        """Record that a quote was agreed, as `record` does."""
        return self.record(event, owned)

    def has_entries(self) -> bool:
        """Whether any event was ever recorded."""
        with self.database.reading() as transaction:
            return transaction.value("SELECT clock FROM history LIMIT 1") is not None

    def put_back(self, kept: Iterable[KeptEvent]) -> int:
        """Enter events that the ledger lacks: all of them or, after any error, none; returns how many it lacked.

        Raises Misuse if the ledger has another event at the place of one of them.
        """
        with self.database.writing() as transaction:
            return put_back(transaction, kept)

    def count(self) -> int:
        """How many events were recorded."""
        with self.database.reading() as transaction:
            return transaction.value("SELECT count(*) FROM history") or 0

    def desks(self) -> set[str]:
        """The names of all desks that recorded an event."""
        with self.database.reading() as transaction:
            return {*distinct(transaction, "history", "desk")} - {""}

    def last_line(self) -> tuple[int, str]:
        """The number and the line of the last event that this desk recorded; 0 and nothing if there is none."""
        with self.database.reading() as transaction:
            return read_last_line(transaction, self.desk)

    def lines(self, first: int = 1) -> list[tuple[int, str]]:
        """The number and the line of every event that this desk recorded from number `first` on, in order."""
        query = "SELECT sequence, line FROM history WHERE desk = :desk AND sequence >= :first ORDER BY sequence"
        with self.database.reading() as transaction:
            return [(sequence, line) for sequence, line in transaction.rows(query, desk=self.desk, first=first)]

    def life(self, quote_number: str) -> Life:
        """What is known of a quote by its events."""
        with self.database.reading() as transaction:
            return life_of(read_events(transaction, quote_number))

    def held_items(self, since: date) -> list[Item]:
        """Every item of which agreed quotes hold something on the day `since` or later, by the codes of now."""
        with self.database.reading() as transaction:
            return held_items(transaction, since)

    def items_now(self, quote: QuoteRecord) -> Mapping[Item, int]:
        """What a quote that was issued takes out of stock, by the codes of now."""
        with self.database.reading() as transaction:
            return items_now(transaction, quote)

    def codes(self) -> set[str]:
        """Every code under which a kind of panel or a subfloor was ever recorded, by quotes or of the stock itself."""
        with self.database.reading() as transaction:
            codes = {code for kind in ("panel", "subfloor_kind") for code in distinct(transaction, "lines", kind)}
            stock = read_events(transaction, "")
        return codes | {event["new"] if event["event"] == "renamed" else event["item"][1] for event in stock}

    def missing(self) -> list[Hold]:
        """What is missing from the stock: lost, damaged, or not there when it was counted."""
        with self.database.reading() as transaction:
            return read_missing(transaction)

    def still_held(self, item: Item, day: date, counted_before: str) -> int:
        """How many pieces were counted back as lost or damaged before a moment (UTC), but are held on a day.

        What was repaired meanwhile is not among them.
        """
        with self.database.reading() as transaction:
            return read_still_held(transaction, item, day, counted_before)

    def repaired(self) -> list[tuple[Item, int, date]]:
        """Every repair by the codes of now: the item, how many pieces came back, and from which day on."""
        with self.database.reading() as transaction:
            return repairs(read_events(transaction, ""))

    def renames(self) -> list[Rename]:
        """The details of every rename of a code, in order."""
        with self.database.reading() as transaction:
            return read_renames(transaction)

    def holds(self, first: date, last: date, excluding: str = "") -> list[Hold]:
        """What is away on any day from `first` to `last`, agreed or lost, except what quote `excluding` holds."""
        with self.database.reading() as transaction:
            return read_holds(transaction, first, last, excluding)

    def issued(self, quote_number: str, revision: int) -> QuoteRecord | None:
        """The figures of a quote as issued; None if this revision was not issued."""
        with self.database.reading() as transaction:
            quote_id = find_quote_id(transaction, quote_number, revision, sha256="")
            return None if quote_id is None else read_quotes(transaction, [quote_id])[quote_id]

    def issued_among(self, revisions: Iterable[tuple[str, int]]) -> set[tuple[str, int]]:
        """Those of revisions of quotes, by number and revision, that were issued."""
        with self.database.reading() as transaction:
            return {
                (number, revision)
                for number, revision in revisions
                if find_quote_id(transaction, number, revision, sha256="") is not None
            }

    def days_held(self, numbers: Collection[str]) -> dict[tuple[str, int], tuple[date, date]]:
        """The first and the last day on which each revision of these quotes, as issued, has its panels away."""
        found: dict[tuple[str, int], tuple[date, date]] = {}
        with self.database.reading() as transaction:
            for some in _some(numbers):
                among, values = in_list(some)
                query = f"""
                    SELECT quote_number, revision, held_from, held_to FROM quotes
                    WHERE quote_number IN {among} AND sha256 = ''
                """
                for number, revision, held_from, held_to in transaction.rows(query, **values):
                    found[number, revision] = held_from, held_to
        return found

    def standing(self, quote_number: str) -> Standing | None:
        """The state of a quote; None if it was never agreed."""
        with self.database.reading() as transaction:
            found = _standings(transaction, "quote_number = :number", number=quote_number)
        return found[0] if found else None

    def agreed(self, first: date, last: date) -> list[Standing]:
        """Quotes that are agreed and not cancelled, of events that start from `first` to `last`, by date and number."""
        condition = "cancelled_at IS NULL AND first_day BETWEEN :first AND :last"
        with self.database.reading() as transaction:
            return _standings(transaction, condition, first=first, last=last)

    def set_up_or_struck(self, day: date) -> list[str]:
        """The numbers of agreed quotes whose event starts or ends on a day, by the day it starts and by number."""
        query = """
            SELECT quote_number FROM agreements WHERE cancelled_at IS NULL AND (first_day = :day OR last_day = :day)
            ORDER BY first_day, quote_number
        """
        with self.database.reading() as transaction:
            return transaction.column(query, day=day)

    def listed(self, *which: "ColumnElement[bool]") -> list["ListedQuote"]:
        """The quotes that were issued and fulfil the conditions, which are those in `listing`, by number.

        A revision that was issued after the one that is agreed, and is still open, follows it.
        """
        from quotebook.ledger.listing import list_quotes

        with self.database.querying() as connection:
            return list_quotes(connection, *which)

    def listed_of(self, numbers: Collection[str]) -> list["ListedQuote"]:
        """The quotes of these numbers, as `listed` has them."""
        from quotebook.ledger.listing import list_quotes, of_numbers

        with self.database.querying() as connection:
            return [quote for some in _some(numbers) for quote in list_quotes(connection, of_numbers(some))]

    def payments(self, first: date = date.min, last: date = date.max) -> list[Payment]:
        """Every payment from `first` to `last` that stands, by day; those of a day by quote, as they were recorded."""
        with self.database.reading() as transaction:
            return read_payments(transaction, "paid_on BETWEEN :first AND :last", first=first, last=last)

    def payments_of(self, quote_number: str) -> list[Payment]:
        """Every payment for a quote that stands, by day and in the order of recording."""
        with self.database.reading() as transaction:
            return read_payments(transaction, "quote_number = :number", number=quote_number)

    def bills(self, first: date = date.min, last: date = date.max) -> list[Bill]:
        """Every bill and credit note dated from `first` to `last`, by number."""
        with self.database.reading() as transaction:
            return read_bills(transaction, "billed_on BETWEEN :first AND :last", first=first, last=last)

    def next_bill_number(self) -> str:
        """The number that the next bill or credit note has."""
        with self.database.reading() as transaction:
            return next_bill_number(transaction)

    def minor_units_of(self, currency: str) -> int:
        """The decimal places of a currency, by a quote in it; 0 where there is none."""
        query = "SELECT minor_units FROM quotes WHERE currency = :currency LIMIT 1"
        with self.database.reading() as transaction:
            return transaction.value(query, currency=currency) or 0

    def latest_clients(self, count: int) -> list[str]:
        """The clients of the last so many revisions that were recorded as issued, each once, the latest first."""
        query = """
            SELECT client FROM quotes WHERE sha256 = '' AND client <> '' ORDER BY quote_id DESC LIMIT :count
        """
        with self.database.reading() as transaction:
            return list(dict.fromkeys(transaction.column(query, count=count)))

    def latest_revision(self, quote_number: str) -> int:
        """The last revision of a quote that was issued; 0 if the quote was never issued."""
        return max(self.life(quote_number).issued, default=0)

    def history(self, quote_number: str | None = None) -> list[Details]:
        """The details of every event, or of every event of one quote, in the order of recording."""
        with self.database.reading() as transaction:
            if quote_number is not None:
                return read_events(transaction, quote_number)
            return [json.loads(line) for line in transaction.column(f"SELECT line FROM history ORDER BY {IN_ORDER}")]

    def histories(self, numbers: Collection[str], event: str | None = None) -> dict[str, list[Details]]:
        """The details of every event of each of these quotes, or of those of one kind, in the order of recording."""
        found: dict[str, list[Details]] = {number: [] for number in numbers}
        one_kind, kind = ("AND event = :event", {"event": event}) if event else ("", {})
        with self.database.reading() as transaction:
            for some in _some(numbers):
                among, values = in_list(some)
                of_these = f"SELECT quote_number, line FROM history WHERE quote_number IN {among} {one_kind}"
                for number, line in transaction.rows(f"{of_these} ORDER BY {IN_ORDER}", **values, **kind):
                    found[number].append(json.loads(line))
        return found

    def backup(self, path: str | os.PathLike[str]) -> None:
        """Copy an SQLite ledger as it is now to a new file, while other processes go on writing."""
        self.database.backup(path)


def _some(numbers: Collection[str]) -> Iterator[list[str]]:
    """Numbers of quotes, each once, in such portions as one query takes."""
    each = list(dict.fromkeys(numbers))
    return (each[start : start + AT_ONCE] for start in range(0, len(each), AT_ONCE))


def _standings(transaction: Transaction, condition: str, /, **values: object) -> list[Standing]:
    """The state of each quote whose row in `agreements` fulfils a condition, by the date of its event and number."""
    moments = [field.name for field in fields(Standing) if field.name != "quote"]
    query = f"SELECT quote_id, {', '.join(moments)} FROM agreements WHERE {condition} ORDER BY first_day, quote_number"
    rows = transaction.rows(query, **values)
    figures: dict[int, QuoteRecord] = {}
    for start in range(0, len(rows), AT_ONCE):
        figures |= read_quotes(transaction, [row[0] for row in rows[start : start + AT_ONCE]])
    return [Standing(figures[quote_id], *each) for quote_id, *each in rows]
