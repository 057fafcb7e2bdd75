"""What a firm with 50 desks waits for: the questions that commands ask of a filled ledger on PostgreSQL.

    python -m tests.benchmarks.fifty_desks ADDRESS [--quotes N]

ADDRESS is that of an empty database, as in QUOTEBOOK_LEDGER; one that was filled before is measured again. Prints for
each question the seconds by the clock and of this process's processor, how many rows came of it, how many blocks of
8 kB the server looked at, and which tables it went through from end to end.
"""

import argparse
import os
import sys
import tempfile
from datetime import date, timedelta
from decimal import Decimal
from itertools import islice
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))  # where the tests' own modules are

from ledger_plans import Question, asked_by, plans, questions
from sqlalchemy import Connection, Integer, String, cast, func, insert, select, true

from quotebook import desk as desks
from quotebook.bookings.archive import open_ledger
from quotebook.bookings.decisions import agree, issue_and_record
from quotebook.bookings.payments import pay
from quotebook.desk import Desk
from quotebook.desk_books.book_data import gather
from quotebook.ledger import Ledger
from quotebook.ledger.deriving import derive_all
from quotebook.ledger.listing import of_days
from quotebook.ledger.tables import history, lines, metadata, quotes
from quotebook.ledger.through_sqlalchemy import SqlalchemyTransaction

from .made import asked
from .measuring import cost

FILLING = Path(__file__).with_suffix(".sql")
MADE = 20_000
"""So many quotes are made one by one; the rest are copies of them."""
FIRST_MADE, STEP = 1_000_000, 10_000_000
"""Below all ids of figures that are made, and above all numbers of quotes."""


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("address")
    parser.add_argument("--quotes", type=int, default=200_000, metavar="N")
    options = parser.parse_args()
    os.environ["QUOTEBOOK_LEDGER"] = options.address
    with tempfile.TemporaryDirectory() as folder:
        desk = desks.init(Path(folder) / "desk")
        ledger = Ledger(options.address, "first")
        if not ledger.has_entries():
            _fill(desk, options.quotes)
        print(f"{'':46}{'clock':>8}{'own':>8}{'rows':>9}{'blocks':>9}  gone through")
        for question, ask in _questions(desk, ledger).items():
            _measure(ledger, question, ask)


def _fill(desk: Desk, count: int) -> None:
    """Record one quote as its desk does, make others after it, derive what follows from them, and copy all that."""
    card = desk.card()
    ledger, [number] = open_ledger(desk), islice(desk.numbers(), 1)
    path, _ = issue_and_record(desk, ledger, card, asked(card, 1)[0], number, date.today())
    agree(desk, ledger, card, path, said_yes="by telephone", sure=True)
    pay(desk, ledger, number, Decimal(100), date.today())
    made = min(count, MADE)
    with ledger.database.altering() as connection:
        script = FILLING.read_text("utf-8").replace(":N", str(made))
        print(f"{made:,} made: {cost(lambda: connection.connection.driver_connection.execute(script))}")
        print(f"derived, as after a rename or a rebuild: {cost(lambda: derive_all(SqlalchemyTransaction(connection)))}")
        print(f"copied: {cost(lambda: copy(connection, number, count // made - 1))}")


def copy(connection: Connection, first: str, copies: int) -> None:
    """Add so many copies of every quote but the first, with numbers, clients and places in the history of their own.

    What was derived from it is copied too: the program would derive the same, and take longer.
    """
    largest = {"quote_id": quotes.c.quote_id, "sequence": history.c.sequence, "clock": history.c.clock}
    steps = {name: connection.scalar(select(func.max(column))) for name, column in largest.items()}
    copied = func.generate_series(1, copies).table_valued("nth", name="nth")
    nth = copied.c.nth
    for table in (table for table in metadata.sorted_tables if table is lines or "quote_number" in table.c):
        own = {column.name: column for column in table.c}
        own |= {name: table.c[name] + step * nth for name, step in steps.items() if name in own}
        own |= {name: table.c[name] + "/" + cast(nth, String) for name in ("client", "client_folded") if name in own}
        made = lines.c.quote_id > FIRST_MADE
        if table is not lines:
            own["quote_number"] = "Q" + cast(cast(func.substr(table.c.quote_number, 2), Integer) + STEP * nth, String)
            made = table.c.quote_number != first
        if table is history:
            own["line"] = func.replace(history.c.line, history.c.quote_number, own["quote_number"])
        rows = select(*own.values()).select_from(table.join(copied, true())).where(made)
        connection.execute(insert(table).from_select([*own], rows))
        connection.exec_driver_sql(f"ANALYZE {table.name}")


def _questions(desk: Desk, ledger: Ledger) -> dict[str, Question]:
    """Every row of the table, each with what asks it and returns what came of it."""
    today, card = date.today(), desk.card()
    number = ledger.listed(of_days(today, today + timedelta(9)))[0].quote_number
    return {
        "open it": lambda: Ledger(ledger.url, "first"),
        **questions(ledger, today, number),
        "all that the desk book shows, with its money": lambda: gather(desk, ledger, card, today).quotes,
    }


def _measure(ledger: Ledger, question: str, ask: Question) -> None:
    found: list[object] = []
    once = cost(lambda: found.append(ask()))
    explained = plans(ledger, asked_by(ledger, ask), analyze=True) if question != "open it" else []
    rows = len(found[0]) if hasattr(found[0], "__len__") else 1
    blocks = sum(plan.blocks for plan in explained)
    through = sorted({table for plan in explained for table in plan.scanned})
    print(f"{question:46}{once.wall:8.2f}{once.cpu:8.2f}{rows:9,}{blocks:9,}  {', '.join(through)}")


if __name__ == "__main__":
    main()
