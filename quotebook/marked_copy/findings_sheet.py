"""The first sheet of a marked copy: the verdict, the totals, and each finding with a link to its cell."""

from dataclasses import dataclass
from decimal import Decimal

from lxml import etree

from quotebook.marked_copy.cell_formats import CellFormats
from quotebook.marked_copy.package_copy import text_element
from quotebook.spreadsheets.cells import CellAddress

WIDTHS = (5, 22, 32, 52, 28, 28, 13)
"""Widths in characters of the columns: number, where, kind, in words, as issued, now, worth."""

LONGEST_TEXT = 300
"""Characters of a text from the workbook; the cell itself is only a link away."""


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


class FindingsSheet:
    """Makes the XML of the sheet row by row; every text is stored as text. `main` is the workbook's namespace."""

    def __init__(self, main: str, formats: CellFormats, minor_units: int) -> None:
        money = "#,##0" + ("." + "0" * minor_units if minor_units else "")
        self.main, self.formats = main, formats
        self.rows: list[etree._Element] = []
        self.links: list[etree._Element] = []
        self.merged: list[etree._Element] = []
        self.styles = {
            "title": formats.new(size=16, bold=True),
            "text": formats.new(),
            "bold": formats.new(bold=True),
            "heading": formats.filled(formats.new(bold=True), "FFE4E4E4"),
            "heading_right": formats.filled(formats.new(bold=True, right=True), "FFE4E4E4"),
            "link": formats.new(colour="FF1A4F8B", underline=True),
            "money": formats.new(right=True, number_format=money),
            "signed": formats.new(right=True, number_format=f"+{money};-{money};"),
        }

    def worksheet(self, page: FindingsPage) -> etree._Element:
        """The root element of the worksheet."""
        self._across(page.title, "title")
        for sentence in page.sentences:
            self._across(sentence)
        self._row()
        for label, total in page.totals:
            self._row((2, label, "bold"), (3, "none" if total is None else total, "money"))
        self._row()
        *headings, worth = page.headings
        self._row(
            *((column, heading, "heading") for column, heading in enumerate(headings, 1)), (7, worth, "heading_right")
        )
        for number, finding in enumerate(page.findings, 1):
            self._finding(number, finding)
        self._row()
        for sentence in page.closing:
            self._across(sentence)
        return self._worksheet()

    def _finding(self, number: int, finding: FindingRow) -> None:
        """Adds the row of a finding, with a link to its cell."""
        where = f"{finding.sheet}!{finding.cell}" if finding.cell else finding.sheet
        texts = tuple((column, text, "text") for column, text in enumerate(map(_shortened, finding.texts), 3))
        row = self._row(
            (1, f"{number}", "text"),
            (2, where, "link" if finding.cell else "text"),
            *texts,
            (7, finding.effect, "signed"),
        )
        row[0].set("s", f"{self.formats.filled(self.styles['text'], finding.colour)}")
        self._height(row, max(1 + len(text) // (WIDTHS[column - 1] - 4) for column, text, _ in texts))
        if finding.cell:
            sheet = finding.sheet.replace("'", "''")
            location = f"'{sheet}'!{finding.cell}"
            self.links.append(self._element("hyperlink", ref=f"B{len(self.rows)}", location=location, display=where))

    def _across(self, text: str, style: str = "text") -> None:
        """Adds a sentence over the whole width, in a row tall enough for its lines."""
        row = self._row((1, text, style))
        self._height(row, 2 if style == "title" else 1 + len(text) // sum(WIDTHS))
        self.merged.append(self._element("mergeCell", ref=f"A{len(self.rows)}:G{len(self.rows)}"))

    def _height(self, row: etree._Element, lines: int) -> None:
        """Sets the height of a row with that many lines, because not every program does so by itself."""
        row.set("ht", f"{3 + 13 * lines}")
        row.set("customHeight", "1")

    def _row(self, *cells: tuple[int, str | Decimal | None, str]) -> etree._Element:
        """Adds a row; a cell is its column from 1, its value, and the name of its style."""
        row = self._element("row", r=f"{len(self.rows) + 1}")
        self.rows.append(row)
        for column, value, style in cells:
            if value is not None:
                row.append(self._cell(CellAddress("", len(self.rows), column).cell, value, style))
        return row

    def _cell(self, address: str, value: str | Decimal, style: str) -> etree._Element:
        cell = self._element("c", r=address, s=f"{self.styles[style]}")
        if isinstance(value, Decimal):
            cell.append(self._element("v"))
            cell[0].text = f"{value:f}"
        else:
            cell.set("t", "inlineStr")
            cell.append(self._element("is"))
            cell[0].append(text_element(f"{self.main}t", value))
        return cell

    def _worksheet(self) -> etree._Element:
        """The worksheet with the rows so far, in the order of elements that the format requires (CT_Worksheet)."""
        properties = self._element("sheetPr")
        properties.append(self._element("pageSetUpPr", fitToPage="1"))
        view = self._element("sheetView", showGridLines="0", tabSelected="1", workbookViewId="0")
        columns = [
            self._element("col", min=f"{n}", max=f"{n}", width=f"{w}", customWidth="1") for n, w in enumerate(WIDTHS, 1)
        ]
        parts = {
            "sheetViews": [view],
            "cols": columns,
            "sheetData": self.rows,
            "mergeCells": self.merged,
            "hyperlinks": self.links,
        }
        root = etree.fromstring(f"<worksheet xmlns='{self.main[1:-1]}'/>")
        root.append(properties)
        for name, children in parts.items():
            if children:
                root.append(self._element(name))
                root[-1].extend(children)
        root.append(
            self._element("pageMargins", left="0.5", right="0.5", top="0.5", bottom="0.5", header="0.3", footer="0.3")
        )
        root.append(self._element("pageSetup", orientation="landscape", fitToWidth="1", fitToHeight="0"))
        return root

    def _element(self, tag: str, **attributes: str) -> etree._Element:
        return etree.Element(f"{self.main}{tag}", attributes)


def _shortened(text: str) -> str:
    """A text of at most LONGEST_TEXT characters."""
    return text if len(text) <= LONGEST_TEXT else f"{text[: LONGEST_TEXT - 1]}…"
