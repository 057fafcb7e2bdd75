"""What a question costs grows with what is asked for: no plan of a database goes through a table from end to end.

The plans are the databases' own words (sqlite.org/eqp.html; PostgreSQL's documentation, "Using EXPLAIN"). How long
each takes with 1,000,000 quotes is measured by `python -m tests.benchmarks.fifty_desks`.
"""

# ruff: noqa: F401, F811 (fixtures are imported by their names)

import json
from datetime import date, timedelta

import pytest
from ledger_fixtures import OWNED, agreed, issue, issue_and_agree, ledger, quote, url
from ledger_plans import asked_by, plans, questions
from sqlalchemy import insert, select, text

from quotebook.ledger import Ledger
from quotebook.ledger.deriving import derive_all
from quotebook.ledger.events import Billed, CountedBack, Delivered, Paid, Returned, now
from quotebook.ledger.tables import history, lines, metadata, quotes
from quotebook.ledger.through_sqlalchemy import SqlalchemyTransaction

TODAY = date(2026, 6, 20)
MAY = {"stock of 30 days": {"losses"}, "quotes --client": {"listed"}, "clients of the latest 1,000": {"quotes"}}
"""What is read as a whole: all that is missing from the stock, which is little, and the names of all clients. The
latest quotes are read backwards, and no more of them than are asked for."""
INDEXES = sorted(index.name for table in metadata.sorted_tables for index in table.indexes)


def whole_life(ledger):
    """A quote that came back, was agreed, delivered, counted back, billed and paid."""
    record = issue_and_agree(ledger, quote())
    sha256, total = agreed(record).sha256, record.total
    of_quote = {"at": now(), "quote_number": record.quote_number, "revision": record.revision}
    ledger.record(Returned(**of_quote, sha256=sha256, verdict="agrees", findings=0))
    ledger.record(Delivered(**of_quote))
    ledger.record(CountedBack(**of_quote, losses=()))
    ledger.record(Billed(
        **of_quote, bill_number="B0001", billed_on="2026-06-22", due_on="2026-07-06", currency="USD", total=total,
        taxes=(("0.0725", total, 0),), prices_with_tax=False, sha256="ab" * 32,
    ))  # fmt: skip
    ledger.record(Paid(
        **of_quote, paid_on="2026-06-22", amount=total, currency="USD", towards="balance", repeat=0,
    ))  # fmt: skip


def fill(ledger, count):
    """So many quotes with a whole life, one each 23 days, what follows from them, and one that is open."""
    whole_life(ledger)
    with ledger.database.altering() as connection:
        events = [json.loads(line) for line in connection.scalars(select(history.c.line).order_by(history.c.clock))]
        copies = {table: [] for table in (quotes, lines, history)}
        for table in (quotes, lines):
            for row in connection.execute(select(table)).mappings():
                copies[table] += [dict(row) | figures_of(row, n) for n in range(1, count + 1)]
        for event in events:
            copies[history] += [event_of(event, n) for n in range(1, count + 1)]
        for table, rows in copies.items():
            connection.execute(insert(table), rows)
        derive_all(SqlalchemyTransaction(connection))
        if ledger.database.dialect == "postgresql":  # which does so by itself later
            for table in metadata.sorted_tables:
                connection.exec_driver_sql(f"ANALYZE {table.name}")
    issue(ledger, quote("Q0002"))


def figures_of(row, n):
    """What the n-th copy of a row of figures, or of a line, has of its own."""
    own = {"quote_id": row["quote_id"] + 10 * n}
    if "event_date" in row:
        day = TODAY - timedelta(23 * n)
        days = {"event_date": day, "held_from": day - timedelta(1), "held_to": day + timedelta(1)}
        own |= {"quote_number": f"Q{n:05}"} | days
    return own


def event_of(event, n):
    """The row of the n-th copy of an event."""
    own = {"quote_number": f"Q{n:05}", "sequence": event["sequence"] + 10 * n, "clock": event["clock"] + 10 * n}
    own |= {name: str(TODAY - timedelta(23 * n - 2)) for name in ("billed_on", "paid_on") if name in event}
    own |= {"bill_number": f"B{n + 1:04}"} if "bill_number" in event else {}
    columns = {column.name: (event | own).get(column.name) for column in history.c}
    return columns | {"line": json.dumps(event | own)}


def gone_through(ledger):
    """The tables that each question goes through from end to end, but for those that it may."""
    found = {}
    for name, ask in questions(ledger, TODAY, "Q00001").items():
        of_question = plans(ledger, asked_by(ledger, ask), indexes=True)
        found[name] = {table for plan in of_question for table in plan.scanned} - MAY.get(name, set())
    return {name: tables for name, tables in found.items() if tables}


def test_no_question_goes_through_a_table(ledger):
    fill(ledger, 400)
    assert gone_through(ledger) == {}


@pytest.fixture(scope="module")
def lacking(tmp_path_factory):
    """A ledger from which a test takes away an index."""
    ledger = Ledger(f"sqlite:///{tmp_path_factory.mktemp('plans') / 'ledger.sqlite'}", "desk")
    issue(ledger, quote("Q00001"))
    return ledger


@pytest.mark.parametrize("index", INDEXES)
def test_each_index_is_what_keeps_a_question_from_it(lacking, index):
    with lacking.database._engine.connect() as connection:
        made = connection.scalar(text("SELECT sql FROM sqlite_master WHERE name = :name"), {"name": index})
        connection.exec_driver_sql(f"DROP INDEX {index}")
        try:
            assert gone_through(lacking)
        finally:
            connection.exec_driver_sql(made)
