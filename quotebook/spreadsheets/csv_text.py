"""Text for CSV cells, written so that no spreadsheet program runs it as a formula.

A program that opens a CSV file decides by the first character whether a cell is a formula (OWASP, "CSV
Injection"): `=`, `+`, `-`, `@`, a tab, a carriage return or a line feed, and the full-width forms of the four
signs, which some programs fold into plain ones. An apostrophe in front keeps the cell a text. Our own .xlsx
workbooks need none of this, because they store text as text whatever it starts with.
"""

import csv
import io
from collections.abc import Iterable, Sequence
from datetime import date
from decimal import Decimal

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")
"""The last four are the full-width `=`, `+`, `-` and `@`."""


def safe_text(text: str) -> str:
    """`text` as a CSV cell that no spreadsheet program runs.

    Leading whitespace is ignored in that decision, because some programs strip it.
    """
    return f"'{text}" if text.startswith(FORMULA_STARTS) or text.lstrip().startswith(FORMULA_STARTS) else text


def csv_of(rows: Iterable[Sequence[str | Decimal | date]]) -> str:
    """Rows as the text of a CSV file; texts as `safe_text` makes them, numbers and days as they are."""
    written = io.StringIO(newline="")
    writer = csv.writer(written)
    writer.writerows([safe_text(cell) if isinstance(cell, str) else cell for cell in row] for row in rows)
    return written.getvalue()
