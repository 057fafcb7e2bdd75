"""The parts that all of the owner's own workbooks share: options, page, headings.

These workbooks are in English and never go to a client.
"""

from decimal import Decimal
from typing import BinaryIO

from quotebook.contract.stamp import Content
from quotebook.contract.values import CellValue
from quotebook.drawing.sheet_writer import SheetWriter
from quotebook.drawing.styles import Styles, new_workbook, set_page
from quotebook.engine.model import Firm
from quotebook.spreadsheets.cells import CellAddress

NUMBER_FORMATS = {
    "month": "[$-409]mmm yyyy", "date": "[$-409]d mmm yyyy", "one_place": "#,##0.0", "count": "#,##0",
    "places": "#,##0.00",
}  # fmt: skip
"""Days and months have the month's name, in English, so that no country misreads them."""
HELPERS_HEAD = 3
"""The first row of the sheet Helpers."""


class OwnerWorkbook:
    """One workbook while it is being written."""

    def __init__(self, file: BinaryIO, firm: Firm, minor_units: int, title: str) -> None:
        self.firm, self.minor_units, self.title = firm, minor_units, title
        self.book = new_workbook(file)
        self.book.set_properties({"title": title, "author": firm.firm})
        self.styles = Styles(self.book, firm.accent_colour, minor_units)
        self.styles.number_formats |= NUMBER_FORMATS
        self.content = Content()
        self._helpers: SheetWriter | None = None
        self._helper_row = HELPERS_HEAD

    def address_of(self, name: str) -> CellAddress:
        """The cell that a name of this workbook was given to."""
        return CellAddress(*self.content.places[name])

    def sheet(self, name: str, heading: str, hint: str, widths: tuple[float, ...]) -> SheetWriter:
        """A new sheet with its heading in the first row and a hint in the second; column A is a margin."""
        writer = SheetWriter(self.book, self.book.add_worksheet(name), self.styles, self.content)
        writer.widths = [1.5, *widths]
        writer.sheet.set_column(0, 0, 1.5)
        for column, width in enumerate(widths, 1):
            writer.sheet.set_column(column, column, width)
        writer.text(0, 1, heading, "page_title")
        writer.text(1, 1, hint, "quiet")
        writer.sheet.hide_gridlines(2)
        return writer

    def helper(self, name: str, words: str, value: CellValue, formula: str = "") -> None:
        """Write a named cell that formulas count with and nobody needs to read, on the hidden sheet Helpers."""
        if self._helpers is None:
            hint = "What the formulas count with beside what is on the other sheets. Nothing here needs a change."
            self._helpers = self.sheet("Helpers", "Helpers", hint, (50, 14))
            self._helpers.sheet.hide()
        row, self._helper_row = self._helper_row, self._helper_row + 1
        self._helpers.text(row, 1, words, "row")
        if formula:
            self._helpers.figure(name, row, 2, formula, value, "row_figure", "count")
        else:
            self._helpers.owner(name, row, 2, value, "row_figure", "count")

    def count_in_minor_units(self) -> None:
        """Write `minor_units`, to which every formula of money rounds."""
        self.helper("minor_units", "Decimal places of the currency", Decimal(self.minor_units))

    def plain_sheet(self, name: str) -> SheetWriter:
        """A new sheet without anything on it."""
        return SheetWriter(self.book, self.book.add_worksheet(name), self.styles, self.content)

    def page(
        self,
        writer: SheetWriter,
        pages_tall: int = 1,
        repeat_row: int | None = None,
        landscape: bool = True,
        footer: str = "",
    ) -> None:
        """Sets a sheet up for printing, one page wide on the firm's paper.

        `pages_tall` is the number of pages from top to bottom, 0 for as many as it needs; `repeat_row` is printed at
        the top of each, and `footer` at the bottom, or the workbook's title.
        """
        set_page(writer.sheet, self.firm.paper, footer or self.title, landscape, pages_tall)
        if repeat_row is not None:
            writer.sheet.repeat_rows(repeat_row)

    def close(self) -> None:
        """Writes the file."""
        self.book.close()
