"""Issuing quotes, beside XlsxWriter writing the same workbooks from a list of calls."""

from collections.abc import Iterator
from functools import partial
from itertools import count
from pathlib import Path
from unittest.mock import patch

from quotebook import desk as desks
from quotebook.desk import Desk
from quotebook.engine.model import RateCard, Request
from quotebook.quoting import issuing
from quotebook.quoting.issuing import Written, issue, write_and_read
from quotebook.quoting.proving import prove

from .made import TODAY, asked
from .measuring import Row, at_most, in_turn
from .replay import record, replay

AT_MOST = 1.3
PROOF = 0.1
DIFFERENT = 20
"""Quotes that differ; they are written over and over."""


def rows(folder: Path, quotes: int, rounds: int) -> Iterator[Row]:
    desk = desks.init(folder / "desk")
    card, turn = desk.card(), count(1)
    different = min(DIFFERENT, quotes)
    requests = (asked(card, different) * -(-quotes // different))[:quotes]
    recorded = [
        record(partial(issue, desk, card, request, next(desk.numbers()), TODAY)) for request in requests[:different]
    ]
    written = [write_and_read(desk, card, request, next(desk.numbers()), TODAY) for request in requests[:different]]
    cost = in_turn({
        "ours": lambda: issue_all(desk, card, requests, next(turn)),
        "unproved": lambda: issue_unproved(desk, card, requests, next(turn)),
        "proof": lambda: prove_all((written * -(-quotes // different))[:quotes]),
        "XlsxWriter": lambda: replay_all(folder, (recorded * -(-quotes // different))[:quotes]),
    }, rounds)  # fmt: skip
    beside, out = "XlsxWriter writing the same cells with nothing computed", "out: the ledger, the start of Python"
    proved = f"in: pricing, the stamp, the file on the disk, reading it back and proving it; {out}"
    yield at_most(f"issue {quotes} quotes", beside, AT_MOST, cost["ours"], cost["XlsxWriter"], proved)
    unproved = f"in: pricing, the stamp, the file on the disk, reading it back; {out}, the proof"
    yield at_most("the same without the proof", beside, AT_MOST, cost["unproved"], cost["XlsxWriter"], unproved)
    alone = (
        "in: working every formula out, holding each figure against the engine's; out: reading back, the first parsing"
    )
    yield at_most("the proof alone", "issuing them", PROOF, cost["proof"], cost["ours"], alone)


def issue_all(desk: Desk, card: RateCard, requests: list[Request], turn: int) -> None:
    for number, request in enumerate(requests):
        issue(desk, card, request, f"Q{turn:02}{number:04}", TODAY)


def issue_unproved(desk: Desk, card: RateCard, requests: list[Request], turn: int) -> None:
    with patch.object(issuing, "prove", lambda *_: None):
        issue_all(desk, card, requests, turn)


def prove_all(written: list[Written]) -> None:
    for each in written:
        prove(each.workbook, each.content, "")


def replay_all(folder: Path, recorded: list[tuple]) -> None:
    for number, (calls, options) in enumerate(recorded):
        with (folder / f"{number}.xlsx").open("wb") as file:
            replay(file, calls, options)
