"""What the owner's own workbooks have in common: options, page, headings. In English, never sent to a client."""

from typing import BinaryIO

from quotebook.contract.stamp import Content
from quotebook.drawing.sheet_writer import Pen
from quotebook.drawing.styles import Look, new_workbook, set_page
from quotebook.engine.model import Firm


class OwnersBook:
    """One workbook under way; `places` has sheet, row and column (from 1) of every name in it."""

    def __init__(self, file: BinaryIO, firm: Firm, minor_units: int, title: str):
        self.firm, self.minor_units, self.title = firm, minor_units, title
        self.book = new_workbook(file)
        self.book.set_properties({"title": title, "author": firm.firm})
        self.look = Look(self.book, firm.accent_colour, minor_units)
        self.look.number_formats |= {"month": "mmm yyyy", "one_place": "#,##0.0", "count": "#,##0"}
        self.content = Content()

    @property
    def places(self) -> dict[str, list]:
        return self.content.places

    def sheet(self, name: str, heading: str, hint: str, widths: tuple[float, ...]) -> Pen:
        """A new sheet with its heading in the first row and a hint in the second; column A is a margin."""
        pen = Pen(self.book, self.book.add_worksheet(name), self.look, self.content)
        pen.sheet.set_column(0, 0, 1.5)
        for column, width in enumerate(widths, 1):
            pen.sheet.set_column(column, column, width)
        pen.text(0, 1, heading, "page_title")
        pen.text(1, 1, hint, "quiet")
        pen.sheet.hide_gridlines(2)
        return pen

    def page(self, pen: Pen, pages_tall: int = 1, repeat_row: int | None = None, landscape: bool = True) -> None:
        """One printed page wide, in the firm's paper size; `pages_tall` 0 for as many as it takes."""
        set_page(pen.sheet, self.firm.paper, self.title, landscape, pages_tall)
        if repeat_row is not None:
            pen.sheet.repeat_rows(repeat_row)

    def close(self) -> None:
        self.book.close()
