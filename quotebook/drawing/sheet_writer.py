"""Writes the cells of a worksheet, and records each of them in the content that a quote's stamp signs."""

import re
from collections.abc import Iterable
from decimal import Decimal

from xlsxwriter import Workbook
from xlsxwriter.format import Format
from xlsxwriter.url import Url
from xlsxwriter.utility import quote_sheetname, xl_rowcol_to_cell
from xlsxwriter.worksheet import Worksheet

from quotebook.contract.stamp import Content
from quotebook.contract.values import CellValue
from quotebook.drawing import text_size
from quotebook.drawing.styles import Styles
from quotebook.spreadsheets.appearance import is_odd

CONTROL = re.compile(r"[\x00-\x08\x0B\x0C\x0E-\x1F]|_(?=x[0-9A-Fa-f]{4}_)")


class SheetWriter:
    """Writes one worksheet. Rows and columns count from 0; `to` is the last column of a merged cell.

    `style` is a name of `styles.STYLE_PROPERTIES`, and `kind` says how a number is displayed (`Styles.format`).
    """

    def __init__(self, book: Workbook, sheet: Worksheet, styles: Styles, content: Content) -> None:
        self.book, self.sheet, self.styles, self.content = book, sheet, styles, content
        self.unnamed_cells = content.fixed.setdefault(sheet.name, [])
        self.widths: list[float] = []
        """Of the columns, in digits of the default font."""
        self.heights: dict[int, float] = {}
        """Of the rows that were fitted to a text, in points."""

    def columns(self, widths: Iterable[float]) -> None:
        """Sets the widths of the columns from the first on, in digits of the default font."""
        self.widths = [*widths]
        for column, width in enumerate(self.widths):
            self.sheet.set_column(column, column, width, self.styles.format("plain"))

    def fit(self, row: int, column: int, text: str | None, style: str, to: int | None = None) -> None:
        """Makes the row tall enough for a wrapped text, because no program does so for merged cells."""
        size, _ = self.styles.type(style)
        height = text_size.row_height(self.line_count(column, text, style, to), size)
        self.heights[row] = max(height, self.heights.get(row, 0))
        self.sheet.set_row(row, self.heights[row])

    def fits(self, column: int, text: str, style: str, to: int | None = None) -> bool:
        """Whether a text needs only one line."""
        return self.line_count(column, text, style, to) == 1

    def line_count(self, column: int, text: str | None, style: str, to: int | None = None) -> int:
        """The number of lines that a text needs in a cell of that style."""
        room = text_size.pixels_across(self.widths[column : (to or column) + 1]) - self.styles.indent(style)
        return text_size.line_count(text or "", room, *self.styles.type(style))

    def text(
        self,
        row: int,
        column: int,
        text: CellValue,
        style: str = "plain",
        to: int | None = None,
        down: int = 0,
        kind: str = "",
    ) -> None:
        """Writes a cell without a name, whose value stays the same whatever the client enters."""
        self._write(row, column, text, self.styles.format(style, kind), to, down)
        if text not in (None, ""):
            self.unnamed_cells.append([row + 1, column + 1, text])

    def link(self, row: int, column: int, target: str, text: CellValue, style: str = "row_left") -> None:
        """Writes a text that leads to a file or a place: a path from this workbook's folder, or `internal:Sheet!A1`."""
        link = Url(target) if target.startswith("internal:") else _FileLink(f"external:{target}")
        link.text = str(text)
        self.sheet.write_url(row, column, link, self.styles.format(style))
        self.unnamed_cells.append([row + 1, column + 1, text])

    def entry(
        self,
        name: str,
        row: int,
        column: int,
        value: CellValue,
        style: str = "entry",
        kind: str = "",
        to: int | None = None,
        down: int = 0,
    ) -> None:
        """Writes a named cell that the client may change; `down` more rows are merged into it."""
        self._write(row, column, value, self.styles.format(style, kind), to, down)
        self._name(name, row, column)
        self.content.inputs[name] = value

    def owner(
        self,
        name: str,
        row: int,
        column: int,
        value: CellValue,
        style: str = "fact",
        kind: str = "",
        to: int | None = None,
    ) -> None:
        """Writes a named cell of the owner's that formulas read."""
        self._write(row, column, value, self.styles.format(style, kind), to)
        self._name(name, row, column)
        self.content.owner[name] = value

    def figure(
        self,
        name: str,
        row: int,
        column: int,
        formula: str,
        result: CellValue,
        style: str = "figure",
        kind: str = "",
        to: int | None = None,
        down: int = 0,
    ) -> None:
        """Writes a named formula with the engine's value as its cached result."""
        self._write_formula(row, column, formula, result, self.styles.format(style, kind), to, down)
        self._name(name, row, column)
        self.content.formulas[name] = formula
        self.content.results[name] = result

    def mirror(
        self,
        row: int,
        column: int,
        formula: str,
        result: CellValue,
        style: str = "figure",
        kind: str = "",
        to: int | None = None,
        down: int = 0,
    ) -> None:
        """Writes a formula without a name, which repeats a figure from another cell."""
        self._write_formula(row, column, formula, result, self.styles.format(style, kind), to, down)
        self.unnamed_cells.append([row + 1, column + 1, f"={formula}"])

    def column(
        self, name: str, row: int, column: int, values: list[CellValue], style: str = "fact", kind: str = ""
    ) -> None:
        """Writes a column of a table, all of it under one name; blank cells make up for rows that it lacks."""
        cells = [*values, *[None] * (self.content.least_rows - len(values))]
        for offset, value in enumerate(cells):
            self._write(row + offset, column, value, self.styles.format(style, kind))
        self._name(name, row, column, last=(row + len(cells) - 1, column))
        self.content.tables[name] = [*values]

    def block(
        self, name: str, row: int, column: int, rows: list[list[CellValue]], width: int, style: str = "fact"
    ) -> None:
        """Writes several columns of a table under one name; blank cells make up for rows that it lacks."""
        blank_row: list[CellValue] = [None] * width
        cells = [*rows, *[blank_row] * (self.content.least_rows - len(rows))]
        for offset, values in enumerate(cells):
            for across, value in enumerate(values):
                self._write(row + offset, column + across, value, self.styles.format(style))
        self._name(name, row, column, last=(row + len(cells) - 1, column + width - 1))
        self.content.tables[name] = [*rows]

    def headings(self, name: str, row: int, column: int, texts: list[CellValue], style: str) -> None:
        """Writes some headings of a table side by side, all of them under one name."""
        for across, text in enumerate(texts):
            self._write(row, column + across, text, self.styles.format(style))
        self._name(name, row, column, last=(row, column + len(texts) - 1))
        self.content.tables[name] = [[*texts]]

    def anchor(self, name: str, row: int, column: int) -> None:
        """Names a cell that formulas count rows or columns from."""
        self._name(name, row, column)
        self.content.anchors.append(name)

    def _name(self, name: str, row: int, column: int, last: tuple[int, int] | None = None) -> None:
        """Defines a name for a cell, or for the range from it to the row and column in `last`."""
        cells = xl_rowcol_to_cell(row, column, row_abs=True, col_abs=True)
        if last is not None and last != (row, column):
            cells += ":" + xl_rowcol_to_cell(*last, row_abs=True, col_abs=True)
        self.book.define_name(name, f"={quote_sheetname(self.sheet.name)}!{cells}")
        self.content.places[name] = [self.sheet.name, row + 1, column + 1]

    def _note_format(self, row: int, column: int, cell_format: Format, to: int | None, down: int) -> None:
        """Signs a number format with words in it, for each cell of those that are merged."""
        if is_odd(code := str(cell_format.num_format)):
            rows, columns = range(row, row + down + 1), range(column, (to or column) + 1)
            places = [[top + 1, left + 1, code] for top in rows for left in columns]
            self.content.formats.setdefault(self.sheet.name, []).extend(places)

    def _write(
        self, row: int, column: int, value: CellValue, cell_format: Format, to: int | None = None, down: int = 0
    ) -> None:
        """Writes a value that is no formula, whatever a text starts with."""
        self._note_format(row, column, cell_format, to, down)
        if to is not None:
            self.sheet.merge_range(row, column, row + down, to, "", cell_format)
        if value is None or value == "":
            self.sheet.write_blank(row, column, None, cell_format)
        elif isinstance(value, str):
            self.sheet.write_string(row, column, value, cell_format)
        else:
            self.sheet.write_number(row, column, _shortest(value), cell_format)

    def _write_formula(
        self,
        row: int,
        column: int,
        formula: str,
        result: CellValue,
        cell_format: Format,
        to: int | None = None,
        down: int = 0,
    ) -> None:
        """Writes a formula, given without its `=`, with a cached result."""
        self._note_format(row, column, cell_format, to, down)
        if to is not None:
            self.sheet.merge_range(row, column, row + down, to, "", cell_format)
        cached = _escaped(result or "") if isinstance(result, str | None) else _shortest(result)
        self.sheet.write_formula(row, column, f"={formula}", cell_format, cached)


class _FileLink(Url):  # type: ignore[misc]  # the library has no types
    """A link to a file that every system follows: XlsxWriter would write its path with backslashes."""

    _relationship_link: str

    def _parse_url(self) -> None:
        super()._parse_url()
        self._relationship_link = self._relationship_link.replace("\\", "/")


def _shortest(number: Decimal) -> float | int:
    """A number as the type that XlsxWriter writes in fewest characters."""
    return int(number) if number == int(number) else float(number)


def _escaped(text: str) -> str:
    """A text with its control characters as the file format writes them, `_x0000_` (ECMA-376 part 1, 22.9.2.19)."""
    return CONTROL.sub(lambda sign: f"_x{ord(sign[0]):04X}_", text)
