"""The sheet in front of a marked copy: how the quote stands, three totals, each finding with a link to its cell."""

from dataclasses import dataclass
from decimal import Decimal

from lxml import etree

from quotebook.marked_copy.cell_formats import CellFormats
from quotebook.marked_copy.package_copy import text_element
from quotebook.spreadsheets.cells import CellAddress

WIDTHS = (5, 22, 32, 52, 28, 28, 13)
"""Number, where, what kind, in words, as issued, now, what it is worth."""

LONGEST_SHOWN = 300


@dataclass(frozen=True)
class Line:
    """One finding: `sheet` and `cell` lead to it, where it has a place in the file."""

    sheet: str
    cell: str
    texts: tuple[str, ...]
    effect: Decimal | None
    colour: str
    """Fill of its cell, `FFRRGGBB`."""


@dataclass(frozen=True)
class Front:
    """What stands on the sheet, from top to bottom."""

    title: str
    sentences: tuple[str, ...]
    totals: tuple[tuple[str, Decimal | None], ...]
    headings: tuple[str, ...]
    lines: tuple[Line, ...]
    closing: tuple[str, ...]


class FindingsSheet:
    """Writes the sheet's XML a row at a time, every text as text."""

    def __init__(self, main: str, formats: CellFormats, minor_units: int):
        money = "#,##0" + ("." + "0" * minor_units if minor_units else "")
        self.main, self.formats, self.rows, self.links, self.merged = main, formats, [], [], []
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

    def root(self, front: Front) -> etree._Element:
        """The worksheet."""
        self._across(front.title, "title")
        for sentence in front.sentences:
            self._across(sentence)
        self._row()
        for label, total in front.totals:
            self._row((2, label, "bold"), (3, "none" if total is None else total, "money"))
        self._row()
        *headings, worth = front.headings
        self._row(
            *((column, heading, "heading") for column, heading in enumerate(headings, 1)), (7, worth, "heading_right")
        )
        for number, line in enumerate(front.lines, 1):
            self._line(number, line)
        self._row()
        for sentence in front.closing:
            self._across(sentence)
        return self._worksheet()

    def _line(self, number: int, line: Line) -> None:
        where = f"{line.sheet}!{line.cell}" if line.cell else line.sheet
        texts = tuple((column, text, "text") for column, text in enumerate(map(_shortened, line.texts), 3))
        row = self._row(
            (1, f"{number}", "text"), (2, where, "link" if line.cell else "text"), *texts, (7, line.effect, "signed")
        )
        row[0].set("s", f"{self.formats.filled(self.styles['text'], line.colour)}")
        self._height(row, max(1 + len(text) // (WIDTHS[column - 1] - 4) for column, text, _ in texts))
        if line.cell:
            sheet = line.sheet.replace("'", "''")
            location = f"'{sheet}'!{line.cell}"
            self.links.append(self._element("hyperlink", ref=f"B{len(self.rows)}", location=location, display=where))

    def _across(self, text: str, style: str = "text") -> None:
        """A sentence over the whole width, on as many lines as it takes."""
        row = self._row((1, text, style))
        self._height(row, 2 if style == "title" else 1 + len(text) // sum(WIDTHS))
        self.merged.append(self._element("mergeCell", ref=f"A{len(self.rows)}:G{len(self.rows)}"))

    def _height(self, row: etree._Element, lines: int) -> None:
        """Room for so many lines of text: not every program finds it by itself."""
        row.set("ht", f"{3 + 13 * lines}")
        row.set("customHeight", "1")

    def _row(self, *cells: tuple[int, str | Decimal | None, str]) -> etree._Element:
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
        root = etree.Element(f"{self.main}worksheet", nsmap={None: self.main[1:-1]})
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
    """A text that still shows whole: the cell itself is a link away."""
    return text if len(text) <= LONGEST_SHOWN else f"{text[: LONGEST_SHOWN - 1]}…"
