"""Ledgers far larger than a firm's, for measuring: rows put straight into the tables."""

import random
from datetime import date, timedelta

from ledger_fixtures import FIRM, floor, quote
from sqlalchemy import insert

from quotebook.engine.stock import held_days, items_of_line
from quotebook.ledger.records import QUOTE_MONEY
from quotebook.ledger.tables import agreements, holds, lines, quotes

PANELS = ("4x4", "3x4", "2x3")
ROWS = 20_000
"""In one statement."""


def fill(ledger, count, lines_each=2, first=date(2026, 1, 1), days=365):
    """Agree `count` quotes of `lines_each` equal lines, on random days of so many, with nothing checked."""
    chance = random.Random(count)
    one = quote(lines=floor(edging_wanted=True))
    record, line = {name: value for name, value in vars(one).items() if name != "lines"}, vars(one.lines[0])
    record |= {name: record[name] * lines_each for name in QUOTE_MONEY}
    with ledger.database.altering() as connection:
        for start in range(1, count + 1, ROWS):
            numbers = range(start, min(start + ROWS, count + 1))
            rows = [_quote(record, number, first + timedelta(chance.randrange(days))) for number in numbers]
            connection.execute(insert(quotes), rows)
            connection.execute(insert(agreements), [_agreement(row) for row in rows])
            floors = [
                line | {"quote_id": number, "line": place, "panel": chance.choice(PANELS)}
                for number in numbers for place in range(1, lines_each + 1)
            ]  # fmt: skip
            connection.execute(insert(lines), floors)
            connection.execute(insert(holds), [
                {name: rows[floor["quote_id"] - start][name] for name in ("quote_number", "held_from", "held_to")}
                | item._asdict() | {"pieces": pieces}
                for floor in floors
                for item, pieces in items_of_line(floor["panel"], floor["subfloor_kind"], floor).items()
            ])  # fmt: skip


def _quote(record, number, event_date):
    held_from, held_to = held_days(event_date, record["days"], int(FIRM.turnaround_days))
    when = {"event_date": event_date, "held_from": held_from, "held_to": held_to}
    return record | when | {"quote_id": number, "quote_number": f"Q{number:06}", "sha256": f"{number:064}"}


def _agreement(row):
    days = {"first_day": row["event_date"], "last_day": row["event_date"] + timedelta(row["days"] - 1)}
    return {"quote_number": row["quote_number"], "quote_id": row["quote_id"], "agreed_at": "2026-01-01"} | days
