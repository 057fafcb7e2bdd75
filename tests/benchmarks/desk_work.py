"""What an owner waits for at a desk: catching up, and a bill."""

from collections.abc import Iterator
from datetime import date, timedelta
from functools import partial
from itertools import islice
from pathlib import Path

from quotebook import desk as desks
from quotebook.billing.billing import bill
from quotebook.bookings.archive import open_ledger
from quotebook.bookings.decisions import agree, issue_and_record
from quotebook.desk import Desk
from quotebook.desk_books.catching_up import catch_up

from .made import asked
from .measuring import Row, cost, seconds

MOST_A_QUOTE, MOST_A_BILL = 0.5, 0.5
"""Seconds that a new request may take in catching up, and a bill."""


def rows(folder: Path, count: int) -> Iterator[Row]:
    """Once each: what was taken in or billed is not taken in or billed again."""
    today = date.today()
    desk = desks.init(folder / "desk")
    day = today + timedelta(30)
    text = "\n".join(["client,event_date,surface,floor", *(f"Client {n},{day},grass,OAK-44:8x8" for n in range(count))])
    (desk.folder / "requests.csv").write_text(text, "utf-8")
    counted = (
        "in: the ledger, pricing, proving and keeping each quote, the list told, the desk book; out: Python's start"
    )
    new = cost(partial(catch_up, desk, today))
    yield seconds(f"catch-up with {count} new requests", MOST_A_QUOTE * count, new, counted)
    counted = "in: the ledger, how everything stands; out: Python's start"
    yield seconds("catch-up with nothing new", 2, cost(partial(catch_up, desk, today)), counted)
    number = _agreed(desk, today)
    ledger, card = open_ledger(desk), desk.card()
    counted = "in: the ledger, what was agreed, the bill's workbook, its record; out: Python's start"
    yield seconds("bill of one quote", MOST_A_BILL, cost(partial(bill, desk, ledger, card, number, today)), counted)


def _agreed(desk: Desk, today: date) -> str:
    """The number of a quote that is agreed."""
    ledger, card = open_ledger(desk), desk.card()
    [number] = islice(desk.numbers(), 1)
    path, _ = issue_and_record(desk, ledger, card, asked(card, 1)[0], number, today)
    agree(desk, ledger, card, path, said_yes="by telephone", sure=True)
    return number
