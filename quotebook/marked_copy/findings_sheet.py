"""The first sheet of a marked copy: the verdict, the totals, and each finding with a link to its cell."""

from dataclasses import dataclass
from decimal import Decimal

from lxml import etree

from quotebook.marked_copy.cell_formats import CellFormats
from quotebook.marked_copy.rows_sheet import RowsSheet, shortened

WIDTHS = (5, 22, 32, 52, 28, 28, 13)
"""Widths in characters of the columns: number, where, kind, in words, as issued, now, worth."""


@dataclass(frozen=True)
class FindingRow:
    """One finding on the sheet."""

    sheet: str
    cell: str
    """The finding's cell on that sheet; "" where it has none."""
    texts: tuple[str, ...]
    """Kind, sentence, as issued, now."""
    effect: Decimal | None
    """What it adds to the total, in the currency of the quote."""
    colour: str
    """The fill of its number, `FFRRGGBB`."""


@dataclass(frozen=True)
class FindingsPage:
    """The contents of the sheet, from top to bottom."""

    title: str
    sentences: tuple[str, ...]
    totals: tuple[tuple[str, Decimal | None], ...]
    headings: tuple[str, ...]
    findings: tuple[FindingRow, ...]
    closing: tuple[str, ...]


class FindingsSheet(RowsSheet):
    """The sheet of findings."""

    def __init__(self, main: str, formats: CellFormats, minor_units: int) -> None:
        super().__init__(main, formats, WIDTHS, minor_units)

    def findings(self, page: FindingsPage) -> etree._Element:
        """The root element of the worksheet."""
        self.across(page.title, "title")
        for sentence in page.sentences:
            self.across(sentence)
        self.row()
        for label, total in page.totals:
            self.row((2, label, "bold"), (3, "none" if total is None else total, "money"))
        self.row()
        *headings, worth = page.headings
        self.row(
            *((column, heading, "heading") for column, heading in enumerate(headings, 1)), (7, worth, "heading_right")
        )
        for number, finding in enumerate(page.findings, 1):
            self._finding(number, finding)
        self.row()
        for sentence in page.closing:
            self.across(sentence)
        return self.worksheet()

    def _finding(self, number: int, finding: FindingRow) -> None:
        """Adds the row of a finding, with a link to its cell."""
        where = f"{finding.sheet}!{finding.cell}" if finding.cell else finding.sheet
        texts = {column: shortened(text) for column, text in enumerate(finding.texts, 3)}
        row = self.row(
            (1, f"{number}", "text"),
            (2, where, "link" if finding.cell else "text"),
            *((column, text, "text") for column, text in texts.items()),
            (7, finding.effect, "signed"),
        )
        self.fill(row[0], finding.colour)
        self.fit(row, texts)
        if finding.cell:
            self.link(2, finding.sheet, finding.cell, where)
