"""Many reports as one table, a line each."""

import os
from collections import Counter
from collections.abc import Iterator, Sequence
from decimal import Decimal
from os.path import commonprefix

from quotebook.checking.check import Report
from quotebook.checking.findings import VERDICTS
from quotebook.text_table import WIDTH, table

HEADINGS = ("File", "Quote", "Verdict", "Answer", "As issued", "In file", "Should be", "Found")
LEFT_ALIGNED = 4
SHORTEST_FILE, LONGEST_AMOUNT = 8, 12


def summary(reports: Sequence[Report]) -> Iterator[str]:
    """The table, a line at a time, within 80 columns, and under it how many of each verdict there are."""
    folder = _common_folder([report.file for report in reports])
    rest = [_row(report) for report in reports]
    beside = sum(2 + max(map(len, column)) for column in zip(HEADINGS[1:], *rest, strict=True))
    files = (_ending(report.file[len(folder) :], max(SHORTEST_FILE, WIDTH - beside)) for report in reports)
    yield from table(HEADINGS, ((file, *row) for file, row in zip(files, rest, strict=True)), LEFT_ALIGNED)
    count = Counter(report.verdict for report in reports)
    yield f"{len(reports)} files: " + ", ".join(f"{count[verdict]} {verdict}" for verdict in VERDICTS if count[verdict])


def _common_folder(paths: Sequence[str]) -> str:
    """The folders that all paths begin with, up to and with the last separator."""
    shared = commonprefix(paths)  # noqa: RUF071  (what follows the last separator is cut off below)
    return shared[: max(shared.rfind("/"), shared.rfind(os.sep)) + 1]


def _row(report: Report) -> tuple[str, ...]:
    """The cells of a report's line after the file's name."""
    quote = f"{report.quote}-r{report.revision}" if report.revision else report.quote or "-"
    totals = (report.issued, report.sheet, report.engine)
    return _ending(quote, 12), report.verdict, report.answer or "-", *map(_amount, totals), str(len(report.findings))


def _amount(amount: Decimal | None) -> str:
    text = "-" if amount is None else str(amount)
    return text if len(text) <= LONGEST_AMOUNT else f"{amount:.4E}"


def _ending(text: str, width: int) -> str:
    """The end of a text that is too long: files of one folder differ in how they end."""
    return text if len(text) <= width else f"…{text[1 - width :]}"
