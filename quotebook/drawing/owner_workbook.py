"""The parts that all of the owner's own workbooks share: options, page, headings.

These workbooks are in English and never go to a client.
"""

from typing import BinaryIO

from quotebook.contract.stamp import Content
from quotebook.drawing.sheet_writer import SheetWriter
from quotebook.drawing.styles import Styles, new_workbook, set_page
from quotebook.engine.model import Firm
from quotebook.spreadsheets.cells import CellAddress


class OwnerWorkbook:
    """One workbook while it is being written."""

    def __init__(self, file: BinaryIO, firm: Firm, minor_units: int, title: str) -> None:
        self.firm, self.minor_units, self.title = firm, minor_units, title
        self.book = new_workbook(file)
        self.book.set_properties({"title": title, "author": firm.firm})
        self.styles = Styles(self.book, firm.accent_colour, minor_units)
        self.styles.number_formats |= {"month": "mmm yyyy", "one_place": "#,##0.0", "count": "#,##0"}
        self.content = Content()

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
