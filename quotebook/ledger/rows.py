"""Reads the ledger's rows as values, and writes values as rows, inside a transaction."""

import json
from collections import defaultdict
from collections.abc import Collection
from dataclasses import fields
from datetime import date

from quotebook.engine.stock import Hold, Item
from quotebook.ledger.bills import Bill, bill_number
from quotebook.ledger.events import Details
from quotebook.ledger.layout import IN_ORDER
from quotebook.ledger.payments import Payment
from quotebook.ledger.records import LineRecord, QuoteRecord
from quotebook.ledger.slips import Place, digest_of_line
from quotebook.ledger.stock_changes import Rename, missing_holds, still_held
from quotebook.ledger.transactions import Transaction, in_list

_LINE = [field.name for field in fields(LineRecord)]
_QUOTE = [field.name for field in fields(QuoteRecord) if field.name != "lines"]


def find_quote_id(transaction: Transaction, quote_number: str, revision: int, sha256: str) -> int | None:
    """The id of the row with a quote's figures; None if there is no such row.

    With an empty `sha256` these are the figures as issued, else those of the returned file of that digest.
    """
    key = {"number": quote_number, "revision": revision, "sha256": sha256}
    found: int | None = transaction.value(
        "SELECT quote_id FROM quotes WHERE quote_number = :number AND revision = :revision AND sha256 = :sha256", **key
    )
    return found


def insert_quote(transaction: Transaction, quote: QuoteRecord, sha256: str) -> int:
    """Insert a quote's figures and its lines; returns the id of the quote's row."""
    values = {name: value for name, value in vars(quote).items() if name != "lines"}
    quote_id: int = (transaction.value("SELECT max(quote_id) FROM quotes") or 0) + 1
    transaction.insert("quotes", [{"quote_id": quote_id, "sha256": sha256} | values])
    if quote.lines:
        transaction.insert("lines", [{"quote_id": quote_id} | vars(line) for line in quote.lines])
    return quote_id


def read_quotes(transaction: Transaction, ids: Collection[int]) -> dict[int, QuoteRecord]:
    """The figures of quotes and their lines, by the ids of the quotes' rows."""
    if not ids:
        return {}
    among, values = in_list(ids)
    of_lines: dict[int, list[LineRecord]] = defaultdict(list)
    query = f"SELECT quote_id, {', '.join(_LINE)} FROM lines WHERE quote_id IN {among} ORDER BY quote_id, line"
    for quote_id, *line in transaction.rows(query, **values):
        of_lines[quote_id].append(LineRecord(*line))
    query = f"SELECT quote_id, {', '.join(_QUOTE)} FROM quotes WHERE quote_id IN {among}"
    return {
        quote_id: QuoteRecord(**dict(zip(_QUOTE, figures, strict=True)), lines=tuple(of_lines[quote_id]))
        for quote_id, *figures in transaction.rows(query, **values)
    }


def read_events(transaction: Transaction, quote_number: str) -> list[Details]:
    """The details of every event of one quote, in order; of the stock's own events for an empty number."""
    query = f"SELECT line FROM history WHERE quote_number = :number ORDER BY {IN_ORDER}"
    return [json.loads(line) for line in transaction.column(query, number=quote_number)]


def read_line(transaction: Transaction, desk: str, sequence: int) -> str | None:
    """The line of the event of a desk with that number; None if there is none."""
    query = "SELECT line FROM history WHERE desk = :desk AND sequence = :sequence"
    line: str | None = transaction.value(query, desk=desk, sequence=sequence)
    return line


def read_last_line(transaction: Transaction, desk: str) -> tuple[int, str]:
    """The number and the line of the last event that a desk recorded; 0 and nothing if there is none."""
    query = "SELECT sequence, line FROM history WHERE desk = :desk ORDER BY sequence DESC LIMIT 1"
    for sequence, line in transaction.rows(query, desk=desk):
        return sequence, line
    return 0, ""


def read_renames(transaction: Transaction) -> list[Rename]:
    """The details of every rename, in order."""
    return [event for event in read_events(transaction, "") if event["event"] == "renamed"]


def read_bills(transaction: Transaction, condition: str, /, **values: object) -> list[Bill]:
    """The bills and credit notes that fulfil a condition, by number."""
    query = f"SELECT {', '.join(Bill._fields)} FROM bills WHERE {condition} ORDER BY count"
    bills = (Bill(*row) for row in transaction.rows(query, **values))
    return [bill._replace(taxes=tuple(map(tuple, json.loads(f"{bill.taxes}")))) for bill in bills]


def read_payments(transaction: Transaction, condition: str, /, **values: object) -> list[Payment]:
    """The payments that fulfil a condition, by day; those of a day by quote and in the order of recording."""
    columns = ", ".join(Payment._fields)
    query = f"SELECT {columns} FROM payments WHERE {condition} ORDER BY paid_on, quote_number, place"
    return [Payment(*row) for row in transaction.rows(query, **values)]


def next_bill_number(transaction: Transaction) -> str:
    """The number that the next bill or credit note has."""
    return bill_number((transaction.value("SELECT max(count) FROM bills") or 0) + 1)


def next_place(transaction: Transaction, desk: str) -> Place:
    """The place of the next event that a desk records."""
    sequence, line = read_last_line(transaction, desk)
    clock = transaction.value("SELECT max(clock) FROM history") or 0
    return Place(desk, sequence + 1, clock + 1, digest_of_line(line) if line else "")


def insert_line(transaction: Transaction, place: Place, line: str) -> None:
    """Enter an event in the history, by its place and its line."""
    details = json.loads(line)
    columns = {name: details[name] for name in ("at", "event", "quote_number", "revision")}
    at_place = {"desk": place.desk, "sequence": place.sequence, "clock": place.clock}
    transaction.insert("history", [at_place | columns | {"line": line}])


def read_holds(transaction: Transaction, first: date, last: date, excluding: str = "") -> list[Hold]:
    """What is away on any day from `first` to `last`, except what quote `excluding` holds.

    Agreed quotes hold what they take; those of one item and period are summed up. What is missing from
    the stock is away as `missing_holds` has it.
    """
    query = """
        SELECT what, code, held_from, held_to, sum(pieces) FROM holds
        WHERE held_to >= :first AND held_from <= :last AND quote_number <> :excluding
        GROUP BY what, code, held_from, held_to
    """
    held = [
        Hold(Item(what, code), int(pieces), held_from, held_to)
        for what, code, held_from, held_to, pieces in transaction.rows(
            query, first=first, last=last, excluding=excluding
        )
    ]
    return [*held, *(hold for hold in read_missing(transaction) if hold.held_from <= last and hold.held_to >= first)]


def read_missing(transaction: Transaction) -> list[Hold]:
    """What is missing from the stock, and from when to when: lost, damaged, or not there when it was counted."""
    query = "SELECT what, code, gone_from, sum(damaged + lost) FROM losses GROUP BY what, code, gone_from"
    gone = [(Item(what, code), day, int(pieces)) for what, code, day, pieces in transaction.rows(query)]
    return missing_holds(gone, read_events(transaction, ""))


def read_still_held(transaction: Transaction, item: Item, day: date, counted_before: str) -> int:
    """How many pieces were counted back as lost or damaged before a moment, but are held with their quote on a day."""
    query = """
        SELECT what, code, gone_from, damaged + lost FROM losses
        JOIN agreements ON agreements.quote_number = losses.quote_number
        WHERE gone_from > :day AND counted_back_at < :before
    """
    found = transaction.rows(query, day=day, before=counted_before)
    losses = [(Item(what, code), gone_from, pieces) for what, code, gone_from, pieces in found]
    return still_held(losses, read_events(transaction, ""), item, day)


def held_items(transaction: Transaction, since: date) -> list[Item]:
    """Every item of which something is held on the day `since` or later."""
    query = "SELECT DISTINCT what, code FROM holds WHERE held_to >= :since ORDER BY code"
    return [Item(what, code) for what, code in transaction.rows(query, since=since)]


def distinct(transaction: Transaction, table: str, column: str) -> list[str]:
    """The values of a column that an index begins with, in its order: each is looked up after the one before.

    Neither database does that for DISTINCT: both would read a column of a million rows for its few values.
    """
    query = f"""
        WITH RECURSIVE found(value) AS (
            SELECT min({column}) FROM {table}
            UNION ALL
            SELECT (SELECT min({column}) FROM {table} WHERE {column} > found.value) FROM found
            WHERE found.value IS NOT NULL
        )
        SELECT value FROM found WHERE value IS NOT NULL
    """
    return transaction.column(query)


def spelling(transaction: Transaction, on_card: Collection[str] = ()) -> dict[str, str]:
    """How each code of a panel is spelled, by the code without a difference of capitals.

    That is as among those `on_card`, or else as by the last rename, or else as in the last quote that was recorded.
    """
    codes = distinct(transaction, "lines", "panel")
    if len({code.casefold() for code in codes}) < len(codes):
        last = "SELECT max(quote_id) FROM lines WHERE panel = :code"
        codes.sort(key=lambda code: transaction.value(last, code=code) or 0)
    renames = (rename["new"] for rename in read_renames(transaction))
    return {code.casefold(): code for code in (*codes, *renames, *on_card)}
