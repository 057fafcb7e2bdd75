"""What is measured: an invented desk, its quotes, and what clients sent back."""

import os
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from decimal import Decimal as D
from itertools import cycle, islice
from pathlib import Path

from quotebook import desk as desks
from quotebook.bookings.archive import open_ledger
from quotebook.bookings.decisions import issue_and_record
from quotebook.contract.stamp import Content
from quotebook.demonstration.demo import retype
from quotebook.demonstration.season import requests
from quotebook.desk import Desk
from quotebook.engine.model import LINES, RateCard, Request

TODAY = date(2026, 1, 5)


def answers(content: Content) -> Iterator[dict]:
    """What clients do to a quote, turn by turn: accept, ask for more, pay less an hour, strike the delivery out."""
    inputs, owner = content.inputs, content.owner
    return cycle((
        {"accepted": "yes", "accepted_by": "A. Client"},
        {"guests": inputs["guests"] + 10, "width_1": inputs["width_1"] + 2},
        {"hourly_rate": owner["hourly_rate"] - 1},
        {"delivery": D(0)},
    ))  # fmt: skip


def asked(card: RateCard, count: int) -> list[Request]:
    """So many requests, of one to three floors."""
    season = [request for request, _ in requests(card, count, seed=1)]
    return [replace(each, lines=each.lines * (1 + number % 3)) for number, each in enumerate(season)]


def with_floors(request: Request, floors: int) -> Request:
    assert 1 <= floors <= LINES
    return replace(request, lines=(request.lines * LINES)[:floors])


class Returns:
    """A desk with so many quotes issued and recorded, and each of them come back."""

    def __init__(self, folder: Path, count: int):
        self.desk = desks.init(folder / "desk")
        self.card, ledger = self.desk.card(), open_ledger(self.desk)
        self.files: list[Path] = []
        (folder / "returned").mkdir()
        for turn, (request, number) in enumerate(zip(asked(self.card, count), self.desk.numbers(), strict=False)):
            path, content = issue_and_record(self.desk, ledger, self.card, request, number, TODAY)
            typed = next(islice(answers(content), turn % 4, None))
            self.files.append(retype(path, folder / "returned" / f"{number}.xlsx", content, typed))


def many(returns: Returns, folder: Path, count: int) -> tuple[Desk, list[Path]]:
    """A desk that has issued so many quotes, and so many files come back: links to the few that there are."""
    desk = desks.init(folder / "desk")
    desk.key_path.write_bytes(returns.desk.key_path.read_bytes())
    files = []
    for number, path in zip(range(1, count + 1), cycle(returns.files)):
        issued = returns.desk.issued_path(path.stem, 1)
        os.link(issued, desk.issued / (issued.name if number <= len(returns.files) else f"Q{number:05}-r1.xlsx"))
        files.append(folder / f"{number}.xlsx")
        os.link(path, files[-1])
    return desk, files
