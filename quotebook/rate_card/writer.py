"""The rate card workbook, written: for an owner to fill in, with figures in it to start from.

Run as a program it makes the shipped cards, `templates/rate_card*.xlsx`, of the figures in the
`.toml` files beside them. The bytes are the same on every run.
"""

import os
import re
import tomllib
from datetime import datetime
from decimal import Decimal
from importlib.resources import files

from xlsxwriter.utility import xl_rowcol_to_cell

from quotebook.drawing.styles import TYPE, new_workbook
from quotebook.rate_card.layout import MONEY, REQUIRED, SHEETS, UNITS, Field, Form, Table
from quotebook.rate_card.rules import Day, Number, Share, Text
from quotebook.rate_card.start_sheet import write_start
from quotebook.rate_card.styles import formats, height, set_card_page, write_title
from quotebook.rate_card.validation import validation

SHIPPED = ("rate_card", "rate_card_metric")

LABEL, VALUE, UNIT, MEANING = range(1, 5)
"""Columns of a form, counted from 0 as rows are here; the first is a margin."""

FORM_WIDTHS = {LABEL: 24, VALUE: 34, UNIT: 16, MEANING: 60}

BAND, HEAD, UNITS_ROW, MEANING_ROW = range(3, 7)
"""Rows of a table's heading."""


def write_rate_card(path: str | os.PathLike, card_values: dict) -> None:
    """Write a rate card.

    `card_values` maps the name of each form to its figures by name, and the name of each table to
    its rows, dicts by column: see `templates/rate_card.toml`. What is missing is left empty.
    """
    with new_workbook(os.fspath(path), TYPE) as book:
        book.set_properties({"title": "Rate card", "created": datetime(2026, 1, 1)})
        look = formats(book, card_values["firm"]["accent_colour"])
        units = _units(card_values["firm"])
        start = book.add_worksheet("Start here")
        for layout in SHEETS:
            sheet = book.add_worksheet(layout.title)
            write = _write_table if isinstance(layout, Table) else _write_form
            write(book, sheet, look, layout, card_values.get(layout.name, {}), units)
        write_start(start, look)
        for sheet in book.worksheets():
            set_card_page(sheet, card_values["firm"]["paper"])


def _entry_style(field: Field) -> str:
    match field.rule:
        case Share():
            return "share"
        case Number():
            return "money" if field.rule is MONEY else "number"
        case Day():
            return "date"
    return "text"


# Forms


def _write_form(book, sheet, look: dict, form: Form, values: dict, units: dict) -> None:
    write_title(sheet, look, form.title, form.purpose)
    for column, heading in zip(FORM_WIDTHS, ("Figure", "Your entry", "Unit", "What it means")):
        sheet.set_column(column, column, FORM_WIDTHS[column])
        sheet.write(BAND, column, heading, look["band"])
    sheet.freeze_panes(BAND + 1, 0)
    sheet.repeat_rows(BAND)
    row = BAND + 1
    for section in form.sections:
        sheet.set_row(row, 27)
        for column in FORM_WIDTHS:
            sheet.write(row, column, section.heading if column == LABEL else None, look["section"])
        for below, field in enumerate(section.fields, 1):
            _write_figure(book, sheet, look, row + below, field, values.get(field.name), units)
        row += 1 + len(section.fields)


def _write_figure(book, sheet, look: dict, row: int, field: Field, value: object, units: dict) -> None:
    sheet.set_row(row, max(height(field.meaning, FORM_WIDTHS[MEANING], 9), height(str(value), FORM_WIDTHS[VALUE] - 2)))
    sheet.write(row, LABEL, field.label, look["wrapped"])
    sheet.write(row, VALUE, value, look[_entry_style(field)])
    _write_unit(sheet, row, UNIT, field.unit, look["quiet"], units)
    sheet.write(row, MEANING, field.meaning, look["quiet"])
    sheet.data_validation(row, VALUE, row, VALUE, validation(field, MEANING_ROW + 1))
    if field.blank is REQUIRED:
        _mark_missing(sheet, look, (row, VALUE, row, VALUE), f'{xl_rowcol_to_cell(row, VALUE)}=""')
    _name(book, sheet, field.name, row, VALUE)


# Tables


def _write_table(book, sheet, look: dict, table: Table, rows: list[dict], units: dict) -> None:
    write_title(sheet, look, table.title, table.purpose)
    sheet.set_landscape()
    sheet.freeze_panes(MEANING_ROW + 1, 2 if len(list(table.fields)) > 4 else 0)
    sheet.repeat_rows(BAND, MEANING_ROW)
    column = 1
    for section in table.sections:
        for beside, field in enumerate(section.fields):
            sheet.write(BAND, column + beside, None if beside else section.heading, look["band"])
            entries = [row.get(field.name) for row in rows]
            _write_column(book, sheet, look, table, column + beside, field, entries, units)
        column += len(section.fields)
    for row, text, size in ((HEAD, "label", 9), (UNITS_ROW, "unit", 9), (MEANING_ROW, "meaning", 8)):
        sheet.set_row(row, max(height(getattr(field, text), _width(table, field), size) for field in table.fields))
    for row, values in enumerate(rows, MEANING_ROW + 1):
        texts = ((str(values.get(field.name, "")), _width(table, field) - 2) for field in table.fields)
        sheet.set_row(row, max(height(text, width) for text, width in texts))


def _write_column(book, sheet, look: dict, table: Table, column: int, field: Field, values: list, units: dict) -> None:
    sheet.set_column(column, column, _width(table, field))
    sheet.write(HEAD, column, field.label, look["head"])
    _write_unit(sheet, UNITS_ROW, column, field.unit, look["unit"], units)
    sheet.write(MEANING_ROW, column, field.meaning, look["small"])
    _name(book, sheet, table.column_name(field), MEANING_ROW, column)
    first, count = MEANING_ROW + 1, max(table.rows, len(values))
    for row, value in enumerate(values + [None] * (count - len(values)), first):
        sheet.write(row, column, value, look[_entry_style(field)])
    cells = (first, column, first + count - 1, column)
    sheet.data_validation(*cells, validation(field, first, table))
    if field.blank is REQUIRED:
        key, cell = xl_rowcol_to_cell(first, 1, col_abs=True), xl_rowcol_to_cell(first, column)
        _mark_missing(sheet, look, cells, f'AND({key}<>"",{cell}="")')


def _width(table: Table, field: Field) -> float:
    """In characters: by what goes in, and wide where a table has room."""
    if table.name in ("tools", "terms"):
        return 120
    if table.name in ("surfaces", "day_factors"):
        return 28
    match field.rule:
        case Text() if field.rule.longest > 20:
            return 26
        case Number():
            return 9
    return 12


def _mark_missing(sheet, look: dict, cells: tuple[int, int, int, int], condition: str) -> None:
    """Show the cells in which an entry is still needed."""
    sheet.conditional_format(*cells, {"type": "formula", "criteria": f"={condition}", "format": look["missing"]})


# Cells


def _units(firm: dict) -> dict[str, str]:
    metric = firm["length_unit"] == "m"
    return {name: words[metric] for name, words in UNITS.items()} | {"money": firm["currency"]}


def _write_unit(sheet, row: int, column: int, unit: str, look, units: dict[str, str]) -> None:
    """A unit; one that rests on the card's currency or unit of length is a formula, and follows them."""
    if "{" in unit:
        parts = (_unit_part(part) for part in re.split(r"({\w+})", unit) if part)
        sheet.write_formula(row, column, "=" + "&".join(parts), look, unit.format(**units))
    else:
        sheet.write(row, column, unit, look)


def _unit_part(part: str) -> str:
    name = part.strip("{}")
    if name == part:
        return f'"{part}"'
    return "currency" if name == "money" else 'IF(length_unit="m","{1}","{0}")'.format(*UNITS[name])


def _name(book, sheet, name: str, row: int, column: int) -> None:
    book.define_name(name, f"='{sheet.name}'!{xl_rowcol_to_cell(row, column, row_abs=True, col_abs=True)}")


def main() -> None:
    templates = files("quotebook.templates")
    for name in SHIPPED:
        with (templates / f"{name}.toml").open("rb") as file:
            write_rate_card(templates / f"{name}.xlsx", tomllib.load(file, parse_float=Decimal))


if __name__ == "__main__":
    main()
