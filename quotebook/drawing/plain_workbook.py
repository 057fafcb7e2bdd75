"""XlsxWriter's workbook as all are written here: formulas as they are given, nothing in the file that nobody sees."""

import xlsxwriter
from xlsxwriter.exceptions import FileCreateError
from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

from quotebook.spreadsheets.appearance import is_odd


class SheetOfSeenCells(Worksheet):  # type: ignore[misc]
    """A sheet that leaves out cells that nobody can see."""

    def merge_range(
        self, row: int, column: int, last_row: int, last_column: int, data: str, cell_format: Format
    ) -> None:
        """Merge cells, and leave those out of the file that the first one covers and that draw nothing of their own.

        They would be some 3 kB of a quote.
        """
        super().merge_range(row, column, last_row, last_column, data, cell_format)
        if _draws_around(cell_format):
            return
        for covered in range(row, last_row + 1):
            for across in range(column + (covered == row), last_column + 1):
                self.table[covered].pop(across, None)


def _draws_around(cell_format: Format) -> bool:
    """Whether a cell of this format counts without a value: an edge, a fill, words in a number's format, an entry."""
    edges = cell_format.top, cell_format.bottom, cell_format.left, cell_format.right
    filled = cell_format.pattern or cell_format.bg_color
    return bool(any(edges) or filled or is_odd(str(cell_format.num_format)) or not cell_format.locked)


class PlainSheet(SheetOfSeenCells):
    """A sheet that takes a formula as it is.

    XlsxWriter looks into each for some thirty functions of later spreadsheet programs, which took a quarter of the
    time of writing a quote; none of them may stand in a formula here.
    """

    def _prepare_formula(self, formula: str, expand_future_functions: bool = False) -> str:
        return formula.removeprefix("=")


class PlainWorkbook(xlsxwriter.Workbook):  # type: ignore[misc]
    """A workbook whose properties list no names, and that says as any other file does why it cannot be written."""

    worksheet_class = PlainSheet

    def close(self) -> None:
        """Write the file. Raises OSError if it cannot be written."""
        try:
            super().close()
        except FileCreateError as error:
            raise error.args[0] from None

    def _extract_named_ranges(self, _defined_names: object) -> list[str]:
        """No names in the document's properties, where no program looks them up: some 3 kB of a quote."""
        return []
