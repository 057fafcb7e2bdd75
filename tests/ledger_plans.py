"""How a database carries out what a ledger is asked: the statements, and the plan of each."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from secrets import token_hex
from typing import Any
from unittest.mock import patch

from sqlalchemy import event, or_

from quotebook.books.revenue import revenue
from quotebook.ledger import Ledger
from quotebook.ledger.events import Returned, now
from quotebook.ledger.listing import in_states, of_client, of_days, open_on
from quotebook.ledger.revisions import _read
from quotebook.ledger.states import OPEN
from quotebook.ledger.transactions import FileTransaction

Statement = tuple[str, Any]
"""A statement as the driver gets it, and its values."""


Question = Callable[[], object]


def questions(ledger: Ledger, today: date, number: str) -> dict[str, Question]:
    """What commands ask of a ledger, by a name for it: about `today`, a month and a year, and one quote."""
    month = (today.replace(day=1) - timedelta(200)).replace(day=1)
    last = month + timedelta(29)
    year = date(today.year - 1, 1, 1), date(today.year - 1, 12, 31)
    return {
        "stock of 30 days": lambda: ledger.holds(today, today + timedelta(30)),
        "items held from today on": lambda: ledger.held_items(today),
        "one quote, with its state and money": lambda: ledger.listed_of([number]),
        "the events of one quote": lambda: ledger.histories([number]),
        "how an agreed quote stands": lambda: ledger.standing(number),
        "one revision, for check": lambda: _read(ledger, number),
        "quotes --open": lambda: ledger.listed(in_states(OPEN)),
        "quotes --due": lambda: ledger.listed(open_on(date.max)),
        "quotes --month": lambda: ledger.listed(of_days(month, last)),
        "quotes --client": lambda: ledger.listed(of_client("Client 1234")),
        "quotes in the desk book": lambda: ledger.listed(or_(open_on(today), of_days(today - timedelta(57), today))),
        "revenue of a month": lambda: revenue(ledger, month, last).by_kind,
        "revenue of a year": lambda: revenue(ledger, *year).by_kind,
        "payments of a month": lambda: ledger.payments(month, last),
        "payments of one quote": lambda: ledger.payments_of(number),
        "bills of a month": lambda: ledger.bills(month, last),
        "the next number of a bill": ledger.next_bill_number,
        "set up or struck on a day": lambda: ledger.set_up_or_struck(today),
        "agreed for 31 days": lambda: ledger.agreed(today - timedelta(21), today + timedelta(10)),
        "codes ever used": ledger.codes,
        "desks": ledger.desks,
        "the last line of a desk": ledger.last_line,
        "clients of the latest 1,000": lambda: ledger.latest_clients(1000),
        "an event is recorded": lambda: ledger.record(
            Returned(
                at=now(),
                quote_number=number,
                revision=1,
                sha256=token_hex(32),
                verdict="agrees",
                findings=0,
            )
        ),
    }


@dataclass(frozen=True)
class Plan:
    """How one statement is carried out."""

    statement: str
    scanned: frozenset[str]
    """The tables that it goes through from end to end, or whose index it goes through so."""
    blocks: int = 0
    """Of 8 kB, that PostgreSQL looked at to carry it out."""


def asked_by(ledger: Ledger, ask: Callable[[], object]) -> list[Statement]:
    """The statements but for INSERT that are sent to a ledger's database while something is asked."""
    sent: list[Statement] = []

    def note(connection, cursor, statement, values, context, many):
        if statement.lstrip().startswith(("SELECT", "WITH", "DELETE")):
            sent.append((statement, values))

    def noted(whole):
        def sent_to_a_file(transaction, statement, /, **values):
            note(None, None, statement, values, None, False)
            return whole(transaction, statement, **values)

        return sent_to_a_file

    engine = ledger.database._engine
    event.listen(engine, "before_cursor_execute", note)
    try:
        with (
            patch.object(FileTransaction, "rows", noted(FileTransaction.rows)),
            patch.object(FileTransaction, "run", noted(FileTransaction.run)),
        ):
            ask()
    finally:
        event.remove(engine, "before_cursor_execute", note)
    return [each for each in sent if "pg_catalog" not in each[0] and "sqlite_master" not in each[0]]


def plans(ledger: Ledger, statements: Sequence[Statement], analyze: bool = False, indexes: bool = False) -> list[Plan]:
    """The plan of each statement. PostgreSQL carries it out with `analyze`, and with `indexes` takes any way around
    going through a table, however small that is."""
    with ledger.database.querying() as connection:
        if ledger.database.dialect == "sqlite":
            asked = [
                (text, connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {text}", values)) for text, values in statements
            ]
            return [Plan(text, frozenset(_scanned_by_sqlite(row.detail for row in rows))) for text, rows in asked]
        if indexes:
            connection.exec_driver_sql("SET LOCAL enable_seqscan = off")
        found = []
        for text, values in statements:
            reads = not text.startswith("DELETE")
            options = "ANALYZE, BUFFERS, FORMAT JSON" if analyze and reads else "FORMAT JSON"
            [top] = connection.exec_driver_sql(f"EXPLAIN ({options}) {text}", values).scalar()
            nodes = list(_nodes(top["Plan"]))
            blocks = top["Plan"].get("Shared Hit Blocks", 0) + top["Plan"].get("Shared Read Blocks", 0)
            found.append(Plan(text, frozenset(filter(None, map(_scanned, nodes))), blocks))
        return found


def _nodes(node: dict[str, Any]) -> Iterator[dict[str, Any]]:
    yield node
    for below in node.get("Plans", ()):
        yield from _nodes(below)


def _scanned(node: dict[str, Any]) -> str:
    """The table that a node of PostgreSQL's plan goes through from end to end; empty for none."""
    kind = node["Node Type"]
    if kind == "Seq Scan" or (kind in ("Index Scan", "Index Only Scan") and "Index Cond" not in node):
        return node.get("Relation Name", "")
    return ""


def _scanned_by_sqlite(details) -> Iterator[str]:
    """The tables that SQLite goes through, by the details of its plan (sqlite.org/eqp.html): `SCAN name ...`."""
    for detail in details:
        words = detail.split()
        table = words[1] if words[0] in ("SCAN", "SEARCH") else ""
        goes_through = words[0] == "SCAN" or len(words) == 2 or "AUTOMATIC" in words  # for an index made for it
        if goes_through and table not in ("", "found", "CONSTANT"):
            yield table
