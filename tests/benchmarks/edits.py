"""What an edit adds to the check of a file, beside the check of the same file without it."""

from collections.abc import Iterator
from decimal import Decimal as D
from functools import partial
from pathlib import Path

from quotebook import desk as desks
from quotebook.bookings.archive import open_ledger
from quotebook.bookings.decisions import issue_and_record
from quotebook.checking.check import check_file
from quotebook.checking.issued import issued_quotes
from quotebook.contract.stamp import Content
from quotebook.demonstration.demo import retype

from .made import TODAY, asked
from .measuring import Row, in_turn

AT_MOST = 2.0
"""Milliseconds an edit."""
CHECKS = 20
"""Of one file, one after another; the figures of one are too small to be told from noise."""


def edits_of(content: Content) -> dict[str, dict]:
    """What is typed into a quote with three floors, by what it is."""
    inputs, owner = content.inputs, content.owner
    guests, width = {"guests": inputs["guests"] + 10}, {"width_1": inputs["width_1"] + 2}
    return {
        "a rate": {"hourly_rate": owner["hourly_rate"] - 1},
        "the miles": {"miles": (inputs["miles"] or D(0)) + 5},
        "the days": {"days": inputs["days"] + 1},
        "the guests": guests,
        "a floor's width": width,
        "guests and width": guests | width,
        "a formula typed over": {"delivery": D(0)},
    }


def rows(folder: Path, rounds: int) -> Iterator[Row]:
    desk = desks.init(folder / "desk")
    card, ledger = desk.card(), open_ledger(desk)
    path, content = issue_and_record(desk, ledger, card, asked(card, 3)[2], "Q0001", TODAY)
    edits, known = edits_of(content), issued_quotes(desk)

    def check_often(file: Path) -> None:
        for _ in range(CHECKS):
            check_file(file, desk, TODAY, known)

    files = {what: retype(path, folder / f"{what}.xlsx", content, typed) for what, typed in ({"": {}} | edits).items()}
    cost = in_turn({what: partial(check_often, file) for what, file in files.items()}, rounds)
    for what, typed in edits.items():
        added = 1_000 * (cost[what].cpu - cost[""].cpu) / CHECKS / len(typed)
        counted = "in: the processor's time; the file was worked out since, as by a spreadsheet program"
        costs = {"ours": cost[what], "theirs": cost[""]}
        yield Row(
            f"an edit's check: {what}", "the file without it", added, AT_MOST, unit="ms", costs=costs, counted=counted
        )
