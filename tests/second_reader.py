"""openpyxl as the second reader: the same cells, read by a program that shares no code with ours."""

from datetime import date, datetime, time, timedelta

import openpyxl
from openpyxl.utils.datetime import to_excel
from openpyxl.worksheet.formula import ArrayFormula

from quotebook.engine.money import number
from quotebook.spreadsheets.cells import Fault


def cells_of(path) -> dict[str, dict[tuple[int, int], tuple]]:
    """Value and formula of every cell that has either, by sheet, row and column."""
    formulas, values = openpyxl.load_workbook(path), openpyxl.load_workbook(path, data_only=True)
    return {sheet.title: dict(_cells(sheet, values[sheet.title])) for sheet in formulas.worksheets}


def _cells(sheet, cached):
    for (row, column), cell in sheet._cells.items():  # those that are there: iter_rows would walk the grid
        if cell.value is None:
            continue
        value = cached._cells[row, column]
        if cell.data_type == "f":
            text = cell.value.text if isinstance(cell.value, ArrayFormula) else cell.value
            yield (row, column), (_value(value), text.removeprefix("="))
        else:
            yield (row, column), (_value(value), None)


def _value(cell):
    value = cell.value
    if cell.data_type == "e":
        return Fault(value)
    if isinstance(value, (date, datetime, time, timedelta)):
        value = to_excel(value)
    return value if value is None or isinstance(value, (str, bool)) else number(value)
