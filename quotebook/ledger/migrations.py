"""Brings an earlier ledger up to the present layout, step by step, inside one write transaction.

Each step makes of one layout the next. It states the layout that it makes in statements of its own,
so that no later change of `tables` changes what it does. It drops those of its tables that only follow from
the history where they change: they are made anew after the last step.
"""

import json
from collections.abc import Callable

from sqlalchemy import Connection, text

from quotebook.ledger.deriving import derive_all
from quotebook.ledger.layout import DERIVED, VERSION
from quotebook.ledger.tables import create_triggers, metadata, version
from quotebook.ledger.through_sqlalchemy import SqlalchemyTransaction


def bring_up_to_date(connection: Connection, found: int) -> None:
    """Bring the ledger from layout `found` to VERSION. Everything that was recorded stays."""
    for layout in range(found, VERSION):
        _STEPS[layout](connection)
    metadata.create_all(connection, tables=[metadata.tables[name] for name in DERIVED], checkfirst=False)
    derive_all(SqlalchemyTransaction(connection))
    connection.execute(version.update().values(version=VERSION))


def _number_events(connection: Connection) -> None:
    """Layout 2 numbers the events of each desk, and keeps the line of each slip.

    What was recorded before belongs to no desk: its slips have no number, and its lines stay as they were.
    """
    rows = connection.execute(text("SELECT entry_id, details FROM history ORDER BY entry_id")).all()
    for table in ("history", "returned", "losses", "agreements"):
        connection.execute(text(f"DROP TABLE {table}"))
    for statement in _HISTORY_2:
        connection.execute(text(statement))
    create_triggers("history", connection)
    for clock, (_, line) in enumerate(rows, 1):
        details = json.loads(line)
        columns = {name: details[name] for name in ("at", "event", "quote_number", "revision")}
        values = {"desk": "", "sequence": clock, "clock": clock, "line": line} | columns
        names = ", ".join(values)
        places = ", ".join(f":{name}" for name in values)
        connection.execute(text(f"INSERT INTO history ({names}) VALUES ({places})"), values)


_HISTORY_2 = (
    """
    CREATE TABLE history (
        desk VARCHAR NOT NULL, sequence INTEGER NOT NULL, clock INTEGER NOT NULL, at VARCHAR NOT NULL,
        event VARCHAR NOT NULL, quote_number VARCHAR NOT NULL, revision INTEGER NOT NULL, line TEXT NOT NULL,
        PRIMARY KEY (desk, sequence)
    )""",
    "CREATE INDEX history_by_quote ON history (quote_number)",
    "CREATE INDEX history_by_clock ON history (clock)",
)


def _derive_lists(connection: Connection) -> None:
    """Layout 3 derives the list of quotes, the payments and the bills, and finds codes by indexes.

    Quotes are found by the date of their event in what is derived.
    """
    for table in ("agreements", "holds", "losses"):
        connection.execute(text(f"DROP TABLE IF EXISTS {table}"))
    connection.execute(text("DROP INDEX quotes_by_date"))
    connection.execute(text("CREATE INDEX lines_by_panel ON lines (panel, quote_id)"))
    connection.execute(text("CREATE INDEX lines_by_subfloor ON lines (subfloor_kind)"))


_STEPS: dict[int, Callable[[Connection], None]] = {1: _number_events, 2: _derive_lists}
"""What makes of each layout the next."""
