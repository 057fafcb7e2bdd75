"""A sheet of rows that is added to a copy of a workbook: sentences over its whole width, and cells with links."""

from decimal import Decimal

from lxml import etree

from quotebook.marked_copy.cell_formats import CellFormats
from quotebook.marked_copy.package_copy import text_element
from quotebook.spreadsheets.cells import CellAddress

LONGEST_TEXT = 300
"""Characters of a text from the workbook; the cell itself is only a link away."""


class RowsSheet:
    """Makes the XML of a sheet row by row; every text is stored as text. `main` is the workbook's namespace.

    `widths` are those of the columns, in characters.
    """

    def __init__(self, main: str, formats: CellFormats, widths: tuple[int, ...], minor_units: int = 0) -> None:
        money = "#,##0" + ("." + "0" * minor_units if minor_units else "")
        self.main, self.formats, self.widths = main, formats, widths
        self._last_column = CellAddress("", 1, len(widths)).cell[:-1]
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

    def fill(self, cell: etree._Element, colour: str) -> None:
        """Fills a cell of plain text with a colour, `FFRRGGBB`."""
        cell.set("s", f"{self.formats.filled(self.styles['text'], colour)}")

    def fit(self, row: etree._Element, texts: dict[int, str]) -> None:
        """Makes a row tall enough for the texts in some of its columns, which count from 1."""
        self.height(row, max(1 + len(text) // max(1, self.widths[column - 1] - 4) for column, text in texts.items()))

    def link(self, column: int, sheet: str, cell: str, shown: str) -> None:
        """Makes the cell of a column in the last row a link to a cell of another sheet."""
        quoted = sheet.replace("'", "''")
        place = CellAddress("", len(self.rows), column).cell
        self.links.append(self._element("hyperlink", ref=place, location=f"'{quoted}'!{cell}", display=shown))

    def across(self, text: str, style: str = "text") -> None:
        """Adds a sentence over the whole width, in a row tall enough for its lines."""
        row = self.row((1, text, style))
        self.height(row, 2 if style == "title" else 1 + len(text) // sum(self.widths))
        self.merged.append(self._element("mergeCell", ref=f"A{len(self.rows)}:{self._last_column}{len(self.rows)}"))

    def height(self, row: etree._Element, lines: int) -> None:
        """Sets the height of a row with that many lines, because not every program does so by itself."""
        row.set("ht", f"{3 + 13 * lines}")
        row.set("customHeight", "1")

    def row(self, *cells: tuple[int, str | Decimal | None, str]) -> etree._Element:
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

    def worksheet(self) -> etree._Element:
        """The worksheet with the rows so far, in the order of elements that the format requires (CT_Worksheet)."""
        properties = self._element("sheetPr")
        properties.append(self._element("pageSetUpPr", fitToPage="1"))
        view = self._element("sheetView", showGridLines="0", workbookViewId="0")
        columns = [
            self._element("col", min=f"{n}", max=f"{n}", width=f"{w}", customWidth="1")
            for n, w in enumerate(self.widths, 1)
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


def shortened(text: str) -> str:
    """A text of at most LONGEST_TEXT characters."""
    return text if len(text) <= LONGEST_TEXT else f"{text[: LONGEST_TEXT - 1]}…"
