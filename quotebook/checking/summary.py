"""Many reports as one table, a line each."""

import os
from collections import Counter
from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import islice
from os.path import commonprefix

from quotebook.checking.check import Report
from quotebook.checking.findings import VERDICTS
from quotebook.text_table import WIDTH, table

HEADINGS = ("File", "Quote", "Verdict", "Answer", "As issued", "In file", "Should be", "Found")
LEFT_ALIGNED = 4
SHORTEST_FILE, LONGEST_AMOUNT = 8, 12


APART = "\0"
"""Between the cells of a line: a sign that no file's name can have."""


def line_of(report: Report) -> str:
    """What the table keeps of one report, as one text: as eight, ten thousand of them would take four times the memory.

    The quote's number comes last, since nobody knows what is in it.
    """
    quote = f"{report.quote}-r{report.revision}" if report.revision else report.quote or "-"
    totals = map(_amount, (report.issued, report.sheet, report.engine))
    cells = (report.verdict, report.answer or "-", *totals, str(len(report.findings)))
    return APART.join((report.file, *cells, _ending(quote, 12)))


def verdict_of(line: str) -> str:
    """The verdict in a line that `line_of` made."""
    return line.split(APART, 2)[1]


def summary(lines: Sequence[str]) -> Iterator[str]:
    """The table of lines that `line_of` made, within 80 columns, and under it how many of each verdict there are."""
    rows = [_cells(line) for line in lines]
    folder = _common_folder([row[0] for row in rows])
    beside = sum(2 + max(map(len, column)) for column in islice(zip(HEADINGS, *rows, strict=True), 1, None))
    width = max(SHORTEST_FILE, WIDTH - beside)
    yield from table(HEADINGS, ((_ending(file[len(folder) :], width), *rest) for file, *rest in rows), LEFT_ALIGNED)
    count = Counter(map(verdict_of, lines))
    yield f"{len(lines)} {'file' if len(lines) == 1 else 'files'}: " + ", ".join(
        f"{count[verdict]} {verdict}" for verdict in VERDICTS if count[verdict]
    )


def _cells(line: str) -> list[str]:
    """The texts under HEADINGS."""
    file, *cells, quote = line.split(APART, len(HEADINGS) - 1)
    return [file, quote, *cells]


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
