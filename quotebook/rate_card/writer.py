"""Writes the rate card workbook: for an owner to fill in, with figures in it to start from.

Run as a program (`python -m quotebook.rate_card.writer`) it makes the shipped cards, `templates/rate_card*.xlsx`, from
the figures in the `.toml` files beside them. The bytes are the same on every run.
"""

import os
import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from importlib.resources import as_file, files
from typing import Any

from xlsxwriter import Workbook
from xlsxwriter.format import Format
from xlsxwriter.utility import xl_rowcol_to_cell
from xlsxwriter.worksheet import Worksheet

from quotebook.drawing.styles import TYPE, new_workbook
from quotebook.rate_card.form import REQUIRED, Field, Form, Table
from quotebook.rate_card.layout import MONEY, SHEETS, UNITS
from quotebook.rate_card.rules import Day, Number, Share, Text
from quotebook.rate_card.start_sheet import write_start
from quotebook.rate_card.styles import Formats, make_formats, set_card_page, text_height, write_title
from quotebook.rate_card.validation import validation

SHIPPED = ("rate_card", "rate_card_metric")

LABEL, VALUE, UNIT, MEANING = range(1, 5)
"""The columns of a form, from 0 like all rows and columns here; the first column is a margin."""

FORM_WIDTHS = {LABEL: 24, VALUE: 34, UNIT: 16, MEANING: 60}
FORM_HEADINGS = {LABEL: "Figure", VALUE: "Your entry", UNIT: "Unit", MEANING: "What it means"}

BAND, HEAD, UNITS_ROW, MEANING_ROW = range(3, 7)
"""The rows of a table's heading."""
FIRST_ENTRY = MEANING_ROW + 1

CellBlock = tuple[int, int, int, int]
"""The first row and column, and the last row and column, of a rectangle of cells."""


@dataclass(frozen=True)
class CardSheet:
    """One sheet of the card while it is being written."""

    book: Workbook
    sheet: Worksheet
    formats: Formats
    units: Mapping[str, str]
    """The words for the braces in a field's unit."""


def write_rate_card(path: str | os.PathLike[str], card_values: Mapping[str, Any]) -> None:
    """Writes a rate card.

    `card_values` maps the name of each form to its figures by name, and the name of each table to its rows, dicts by
    column: see `templates/rate_card.toml`. Cells without a value are left empty.
    """
    with new_workbook(os.fspath(path), TYPE) as book:
        book.set_properties({"title": "Rate card", "created": datetime(2026, 1, 1)})
        formats = make_formats(book, card_values["firm"]["accent_colour"])
        units = _units(card_values["firm"])
        start = book.add_worksheet("Start here")
        for layout in SHEETS:
            card = CardSheet(book, book.add_worksheet(layout.title), formats, units)
            if isinstance(layout, Table):
                _write_table(card, layout, card_values.get(layout.name, ()))
            else:
                _write_form(card, layout, card_values.get(layout.name, {}))
        write_start(start, formats)
        for sheet in book.worksheets():
            set_card_page(sheet, card_values["firm"]["paper"])


def _entry_style(field: Field) -> str:
    """The name of the format for an entry, by the rule that it is read under."""
    match field.rule:
        case Share():
            return "share"
        case Number():
            return "money" if field.rule is MONEY else "number"
        case Day():
            return "date"
    return "text"


# Forms


def _write_form(card: CardSheet, form: Form, values: Mapping[str, object]) -> None:
    """Writes a sheet of single figures, one below another in sections."""
    sheet, formats = card.sheet, card.formats
    write_title(sheet, formats, form.title, form.purpose)
    for column, heading in FORM_HEADINGS.items():
        sheet.set_column(column, column, FORM_WIDTHS[column])
        sheet.write(BAND, column, heading, formats["band"])
    sheet.freeze_panes(BAND + 1, 0)
    sheet.repeat_rows(BAND)
    row = BAND + 1
    for section in form.sections:
        sheet.set_row(row, 27)
        for column in FORM_WIDTHS:
            sheet.write(row, column, section.heading if column == LABEL else None, formats["section"])
        for below, field in enumerate(section.fields, 1):
            _write_figure(card, row + below, field, values.get(field.name))
        row += 1 + len(section.fields)


def _write_figure(card: CardSheet, row: int, field: Field, value: object) -> None:
    """Writes one figure of a form: its label, its value, its unit and its meaning."""
    sheet, formats = card.sheet, card.formats
    heights = text_height(field.meaning, FORM_WIDTHS[MEANING], 9), text_height(str(value), FORM_WIDTHS[VALUE] - 2)
    sheet.set_row(row, max(heights))
    sheet.write(row, LABEL, field.label, formats["wrapped"])
    sheet.write(row, VALUE, value, formats[_entry_style(field)])
    _write_unit(card, row, UNIT, field.unit, formats["quiet"])
    sheet.write(row, MEANING, field.meaning, formats["quiet"])
    sheet.data_validation(row, VALUE, row, VALUE, validation(field, FIRST_ENTRY))
    if field.blank is REQUIRED:
        _mark_missing(card, (row, VALUE, row, VALUE), f'{xl_rowcol_to_cell(row, VALUE)}=""')
    _name(card, field.name, row, VALUE)


# Tables


def _write_table(card: CardSheet, table: Table, rows: Sequence[Mapping[str, object]]) -> None:
    """Writes a sheet of rows under headings, its sections side by side."""
    sheet = card.sheet
    write_title(sheet, card.formats, table.title, table.purpose)
    sheet.set_landscape()
    sheet.freeze_panes(FIRST_ENTRY, 2 if len(list(table.fields)) > 4 else 0)
    sheet.repeat_rows(BAND, MEANING_ROW)
    column = 1
    for section in table.sections:
        for beside, field in enumerate(section.fields):
            sheet.write(BAND, column + beside, None if beside else section.heading, card.formats["band"])
            _write_column(card, table, column + beside, field, [row.get(field.name) for row in rows])
        column += len(section.fields)
    for row, text, size in ((HEAD, "label", 9), (UNITS_ROW, "unit", 9), (MEANING_ROW, "meaning", 8)):
        sheet.set_row(row, max(text_height(getattr(field, text), _width(table, field), size) for field in table.fields))
    for row, values in enumerate(rows, FIRST_ENTRY):
        texts = ((str(values.get(field.name, "")), _width(table, field) - 2) for field in table.fields)
        sheet.set_row(row, max(text_height(text, width) for text, width in texts))


def _write_column(card: CardSheet, table: Table, column: int, field: Field, values: list[object]) -> None:
    """Writes one column of a table: its heading, its unit, its meaning and its values, with room for more rows."""
    sheet, formats = card.sheet, card.formats
    sheet.set_column(column, column, _width(table, field))
    sheet.write(HEAD, column, field.label, formats["head"])
    _write_unit(card, UNITS_ROW, column, field.unit, formats["unit"])
    sheet.write(MEANING_ROW, column, field.meaning, formats["small"])
    _name(card, table.column_name(field), MEANING_ROW, column)
    count = max(table.rows, len(values))
    for row, value in enumerate(values + [None] * (count - len(values)), FIRST_ENTRY):
        sheet.write(row, column, value, formats[_entry_style(field)])
    cells = (FIRST_ENTRY, column, FIRST_ENTRY + count - 1, column)
    sheet.data_validation(*cells, validation(field, FIRST_ENTRY, table))
    if field.blank is REQUIRED:
        key, cell = xl_rowcol_to_cell(FIRST_ENTRY, 1, col_abs=True), xl_rowcol_to_cell(FIRST_ENTRY, column)
        _mark_missing(card, cells, f'AND({key}<>"",{cell}="")')


def _width(table: Table, field: Field) -> float:
    """The width of a column in characters: by its entries, and wide where the table has room."""
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


# Cells


def _mark_missing(card: CardSheet, cells: CellBlock, condition: str) -> None:
    """Colours the cells in which an entry is still needed."""
    rule = {"type": "formula", "criteria": f"={condition}", "format": card.formats["missing"]}
    card.sheet.conditional_format(*cells, rule)


def _units(firm: Mapping[str, str]) -> dict[str, str]:
    """The words for the braces in a unit, by the firm's currency and unit of length."""
    metric = firm["length_unit"] == "m"
    return {name: words[metric] for name, words in UNITS.items()} | {"money": firm["currency"]}


def _write_unit(card: CardSheet, row: int, column: int, unit: str, cell_format: Format) -> None:
    """Writes a unit. One that depends on the card's currency or unit of length is a formula and follows them."""
    if "{" in unit:
        parts = (_unit_part(part) for part in re.split(r"({\w+})", unit) if part)
        card.sheet.write_formula(row, column, "=" + "&".join(parts), cell_format, unit.format(**card.units))
    else:
        card.sheet.write(row, column, unit, cell_format)


def _unit_part(part: str) -> str:
    """Formula text for a part of a unit: a text, or a name in braces."""
    name = part.strip("{}")
    if name == part:
        return f'"{part}"'
    return "currency" if name == "money" else 'IF(length_unit="m","{1}","{0}")'.format(*UNITS[name])


def _name(card: CardSheet, name: str, row: int, column: int) -> None:
    """Defines a name for a cell."""
    card.book.define_name(name, f"='{card.sheet.name}'!{xl_rowcol_to_cell(row, column, row_abs=True, col_abs=True)}")


def main() -> None:
    """Makes the shipped cards."""
    with as_file(files("quotebook.templates")) as templates:
        for name in SHIPPED:
            values = tomllib.loads((templates / f"{name}.toml").read_text("utf-8"), parse_float=Decimal)
            write_rate_card(templates / f"{name}.xlsx", values)


if __name__ == "__main__":
    main()
