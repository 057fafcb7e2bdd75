"""Writes the cells of a client's workbook, and notes each one in the content that its stamp signs."""

from collections.abc import Iterable

from xlsxwriter.utility import quote_sheetname, xl_rowcol_to_cell

from quotebook.contract.stamp import Content
from quotebook.contract.values import CellValue
from quotebook.drawing import text_size as measure


class Pen:
    """One sheet under the hand. Rows and columns count from 0; `to` is the last column of a merged cell."""

    def __init__(self, book, sheet, look, content: Content):
        self.book, self.sheet, self.look, self.content = book, sheet, look, content
        self.fixed = content.fixed.setdefault(sheet.name, [])
        self.widths, self.heights = [], {}

    def columns(self, widths: Iterable[float]):
        """Sets the columns' widths from the first on, in digits of the default font."""
        self.widths = [*widths]
        for column, width in enumerate(self.widths):
            self.sheet.set_column(column, column, width, self.look("plain"))

    def fit(self, row: int, column: int, text: str | None, style: str, to: int | None = None):
        """Makes the row tall enough for a wrapped text, since no program does so for merged cells."""
        height = measure.height(self.lines(column, text, style, to), self.look.type(style)[0])
        self.heights[row] = max(height, self.heights.get(row, 0))
        self.sheet.set_row(row, self.heights[row])

    def fits(self, column: int, text: str, style: str, to: int | None = None) -> bool:
        """Whether a text takes one line."""
        return self.lines(column, text, style, to) == 1

    def lines(self, column: int, text: str, style: str, to: int | None = None) -> int:
        """Lines that a text takes in a cell of that style."""
        room = measure.pixels(self.widths[column : (to or column) + 1]) - self.look.indent(style)
        return measure.lines(text or "", room, *self.look.type(style))

    def text(self, row: int, column: int, text: CellValue, style: str = "plain", to: int | None = None, down: int = 0):
        """A cell that is the same whatever the client enters."""
        self._write(row, column, text, self.look(style), to, down)
        if text not in (None, ""):
            self.fixed.append([row + 1, column + 1, text])

    def entry(self, name: str, row: int, column: int, value: CellValue, style="entry", kind="", to=None, down=0):
        """A cell that the client may change."""
        self._write(row, column, value, self.look(style, kind), to, down)
        self._name(name, row, column)
        self.content.inputs[name] = value

    def owner(self, name: str, row: int, column: int, value: CellValue, style="fact", kind="", to=None):
        """A cell of the owner's that formulas read."""
        self._write(row, column, value, self.look(style, kind), to)
        self._name(name, row, column)
        self.content.owner[name] = value

    def figure(
        self, name: str, row: int, column: int, formula: str, result: CellValue, style="figure", kind="", to=None
    ):
        """A formula with a name, and the engine's value as its cached result."""
        self._formula(row, column, formula, result, self.look(style, kind), to)
        self._name(name, row, column)
        self.content.formulas[name] = formula
        self.content.results[name] = result

    def mirror(self, row: int, column: int, formula: str, result: CellValue, style="figure", kind="", to=None):
        """A formula without a name: it shows a figure whose home is elsewhere."""
        self._formula(row, column, formula, result, self.look(style, kind), to)
        self.fixed.append([row + 1, column + 1, f"={formula}"])

    def column(self, name: str, row: int, column: int, values: list[CellValue], style="fact", kind=""):
        """A column of a table, all of it under one name."""
        for offset, value in enumerate(values or [None]):
            self._write(row + offset, column, value, self.look(style, kind))
        self._name(name, row, column, row + max(0, len(values) - 1), column)
        self.content.tables[name] = values

    def block(self, name: str, row: int, column: int, rows: list[list[CellValue]], width: int, style="fact"):
        """Several columns of a table under one name."""
        for offset, values in enumerate(rows or [[None] * width]):
            for across, value in enumerate(values):
                self._write(row + offset, column + across, value, self.look(style))
        self._name(name, row, column, row + max(0, len(rows) - 1), column + width - 1)
        self.content.tables[name] = rows

    def anchor(self, name: str, row: int, column: int):
        """A name for a cell that formulas count rows or columns from."""
        self._name(name, row, column)
        self.content.anchors.append(name)

    def _name(self, name: str, row: int, column: int, last_row: int | None = None, last_column: int | None = None):
        area = xl_rowcol_to_cell(row, column, row_abs=True, col_abs=True)
        if last_row is not None and (last_row, last_column) != (row, column):
            area += ":" + xl_rowcol_to_cell(last_row, last_column, row_abs=True, col_abs=True)
        self.book.define_name(name, f"={quote_sheetname(self.sheet.name)}!{area}")
        self.content.places[name] = [self.sheet.name, row + 1, column + 1]

    def _write(self, row, column, value, form, to=None, down=0):
        if to is not None:
            self.sheet.merge_range(row, column, row + down, to, "", form)
        if value in (None, ""):
            self.sheet.write_blank(row, column, None, form)
        elif isinstance(value, str):
            self.sheet.write_string(row, column, value, form)
        else:
            self.sheet.write_number(row, column, _short(value), form)

    def _formula(self, row, column, formula, result, form, to=None):
        if to is not None:
            self.sheet.merge_range(row, column, row, to, "", form)
        cached = result if isinstance(result, str) else _short(result)
        self.sheet.write_formula(row, column, f"={formula}", form, cached)


def _short(number) -> float | int:
    """A number as a cell writes it in fewest characters."""
    return int(number) if number == int(number) else float(number)
