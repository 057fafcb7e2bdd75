"""Many reports as one table, a line each."""

import os
from collections import Counter
from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import islice
from os.path import commonprefix
from typing import NamedTuple

from quotebook.checking.check import Report
from quotebook.checking.findings import VERDICTS
from quotebook.text_table import WIDTH, table

HEADINGS = ("File", "Quote", "Verdict", "Answer", "As issued", "In file", "Should be", "Found")
LEFT_ALIGNED = 4
SHORTEST_FILE, LONGEST_AMOUNT = 8, 12


class Row(NamedTuple):
    """What the table keeps of one report: its texts, before the file's name is cut to what fits."""

    file: str
    quote: str
    verdict: str
    answer: str
    issued: str
    sheet: str
    engine: str
    found: str


def row_of(report: Report) -> Row:
    """The line of one report."""
    quote = f"{report.quote}-r{report.revision}" if report.revision else report.quote or "-"
    return Row(
        file=report.file,
        quote=_ending(quote, 12),
        verdict=report.verdict,
        answer=report.answer or "-",
        issued=_amount(report.issued),
        sheet=_amount(report.sheet),
        engine=_amount(report.engine),
        found=str(len(report.findings)),
    )


def summary(rows: Sequence[Row]) -> Iterator[str]:
    """The table, a line at a time, within 80 columns, and under it how many of each verdict there are."""
    folder = _common_folder([row.file for row in rows])
    beside = sum(2 + max(map(len, column)) for column in islice(zip(HEADINGS, *rows, strict=True), 1, None))
    width = max(SHORTEST_FILE, WIDTH - beside)
    yield from table(HEADINGS, [(_ending(file[len(folder) :], width), *rest) for file, *rest in rows], LEFT_ALIGNED)
    count = Counter(row.verdict for row in rows)
    yield f"{len(rows)} files: " + ", ".join(f"{count[verdict]} {verdict}" for verdict in VERDICTS if count[verdict])


def _common_folder(paths: Sequence[str]) -> str:
    """The folders that all paths begin with, up to and with the last separator."""
    shared = commonprefix(paths)  # noqa: RUF071  (what follows the last separator is cut off below)
    return shared[: max(shared.rfind("/"), shared.rfind(os.sep)) + 1]


def _amount(amount: Decimal | None) -> str:
    text = "-" if amount is None else str(amount)
    return text if len(text) <= LONGEST_AMOUNT else f"{amount:.4E}"


def _ending(text: str, width: int) -> str:
    """The end of a text that is too long: files of one folder differ in how they end."""
    return text if len(text) <= width else f"…{text[1 - width :]}"
