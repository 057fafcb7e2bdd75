"""XlsxWriter's workbook as all are written here: formulas as they are given, no names among the properties."""

import xlsxwriter
from xlsxwriter.exceptions import FileCreateError
from xlsxwriter.worksheet import Worksheet


class PlainSheet(Worksheet):  # type: ignore[misc]
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
