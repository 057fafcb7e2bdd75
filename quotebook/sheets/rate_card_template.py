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
from math import ceil

import xlsxwriter
from xlsxwriter.utility import xl_range_abs, xl_rowcol_to_cell

from .look import ENTRY, INK, QUIET, RULE
from .rate_card_layout import MONEY, PANELS, REQUIRED, SHEETS, SUBFLOORS, UNITS, Field, Form, Table
from .rate_card_rules import Choice, CurrencyCode, Day, Number, Share, Text

SHIPPED = ("rate_card", "rate_card_metric")

TYPE = {"font_name": "Arial", "font_size": 10}

MISSING = "#F3C4BB"
"""Fill of an empty cell that must be filled."""

PAPER_SIZES = {"Letter": 1, "A4": 9}
"""Numbers of ECMA-376 18.3.1.63, `paperSize`."""

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
    options = {
        "in_memory": True, "strings_to_formulas": False, "strings_to_urls": False,
        "default_format_properties": TYPE,  # column widths count in its digits
    }  # fmt: skip
    with xlsxwriter.Workbook(os.fspath(path), options) as book:
        book.set_properties({"title": "Rate card", "created": datetime(2026, 1, 1)})
        look = _look(book, card_values["firm"]["accent_colour"])
        units = _units(card_values["firm"])
        start = book.add_worksheet("Start here")
        for layout in SHEETS:
            sheet = book.add_worksheet(layout.title)
            write = _write_table if isinstance(layout, Table) else _write_form
            write(book, sheet, look, layout, card_values.get(layout.name, {}), units)
        _write_start(start, look)
        for sheet in book.worksheets():
            _page(sheet, card_values["firm"]["paper"])


def _look(book, accent: str) -> dict:
    """The formats of the card by name."""
    plain = TYPE | {"font_color": INK, "valign": "vcenter"}
    wrapped = plain | {"text_wrap": True}
    entry = wrapped | {"bg_color": ENTRY, "border": 1, "border_color": RULE}
    left, right = {"align": "left", "indent": 1}, {"align": "right", "text_wrap": False}
    lined = {"valign": "bottom", "bottom": 1, "bottom_color": accent}
    styles = {
        "plain": plain,
        "wrapped": wrapped,
        "link": plain | {"font_color": accent, "underline": 1},
        "title": plain | {"font_size": 16, "bold": True, "font_color": accent},
        "purpose": plain | {"font_color": QUIET},
        "section": plain | {"bold": True, "font_size": 11, "font_color": accent} | lined,
        "band": plain | {"bold": True, "font_color": "#FFFFFF", "bg_color": accent},
        "head": wrapped | {"bold": True, "font_size": 9, "valign": "bottom"},
        "step": plain | {"bold": True, "align": "center", "font_color": accent},
        "strong": wrapped | {"bold": True},
        "quiet": wrapped | left | {"font_color": QUIET, "font_size": 9},
        "unit": wrapped | {"font_color": QUIET, "font_size": 9, "valign": "top"},
        "small": wrapped | {"font_color": QUIET, "font_size": 8, "valign": "top"},
        "needed": entry | left | {"bg_color": MISSING},
        "missing": {"bg_color": MISSING},
        "text": entry | left,
        "number": entry | right,
        "money": entry | right | {"num_format": "#,##0.00##"},
        "share": entry | right | {"num_format": "0.0##%"},
        "date": entry | right | {"num_format": "yyyy-mm-dd"},
    }
    return {name: book.add_format(style) for name, style in styles.items()}


def _entry_style(field: Field) -> str:
    match field.rule:
        case Share():
            return "share"
        case Number():
            return "money" if field.rule is MONEY else "number"
        case Day():
            return "date"
    return "text"


def _page(sheet, paper: str) -> None:
    """One page wide, on the firm's paper."""
    sheet.hide_gridlines(2)
    sheet.set_column(0, 0, 1)
    sheet.set_paper(PAPER_SIZES[paper])
    sheet.set_margins(left=0.4, right=0.4, top=0.5, bottom=0.6)
    sheet.fit_to_pages(1, 0)
    sheet.set_footer("&L&8Rate card&C&8&A&R&8Page &P of &N")


def _title(sheet, look: dict, title: str, purpose: str) -> None:
    sheet.set_row(0, 24)
    sheet.write(0, 1, title, look["title"])
    sheet.write(1, 1, purpose, look["purpose"])


def _height(text: str, width: float, size: int = 10) -> float:
    """Points that wrapped text of a font size takes in a column of so many characters, with a little air."""
    characters_a_line = width * 12 / size
    return 1.3 * size * max(1, ceil(len(text) / characters_a_line)) + 5


# Forms


def _write_form(book, sheet, look: dict, form: Form, values: dict, units: dict) -> None:
    _title(sheet, look, form.title, form.purpose)
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
    sheet.set_row(
        row, max(_height(field.meaning, FORM_WIDTHS[MEANING], 9), _height(str(value), FORM_WIDTHS[VALUE] - 2))
    )
    sheet.write(row, LABEL, field.label, look["wrapped"])
    sheet.write(row, VALUE, value, look[_entry_style(field)])
    _write_unit(sheet, row, UNIT, field.unit, look["quiet"], units)
    sheet.write(row, MEANING, field.meaning, look["quiet"])
    sheet.data_validation(row, VALUE, row, VALUE, _validation(field, _allowed_list(field)))
    if field.blank is REQUIRED:
        _mark_missing(sheet, look, (row, VALUE, row, VALUE), f'{xl_rowcol_to_cell(row, VALUE)}=""')
    _name(book, sheet, field.name, row, VALUE)


# Tables


def _write_table(book, sheet, look: dict, table: Table, rows: list[dict], units: dict) -> None:
    _title(sheet, look, table.title, table.purpose)
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
        sheet.set_row(row, max(_height(getattr(field, text), _width(table, field), size) for field in table.fields))
    for row, values in enumerate(rows, MEANING_ROW + 1):
        texts = ((str(values.get(field.name, "")), _width(table, field) - 2) for field in table.fields)
        sheet.set_row(row, max(_height(text, width) for text, width in texts))


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
    sheet.data_validation(*cells, _validation(field, _allowed_list(field, table)))
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


def _allowed_list(field: Field, table: Table | None = None) -> list[str] | str | None:
    """What the cell's dropdown offers: words, or the range that holds them."""
    if isinstance(field.rule, Choice):
        return list(field.rule.words)
    if table is PANELS and field.name == "subfloor_kind":
        return f"='{SUBFLOORS.title}'!{xl_range_abs(MEANING_ROW + 1, 1, MEANING_ROW + SUBFLOORS.rows, 1)}"
    return None


def _validation(field: Field, allowed_list) -> dict:
    """The spreadsheet's own check of an entry, and the note it shows when the cell is chosen."""
    notes = {
        "input_title": field.label[:32],
        "input_message": field.meaning[:255],
        "error_title": field.label[:32],
        "error_message": f"Allowed: {field.rule.allowed}."[:255],
    }
    if allowed_list:
        return notes | {"validate": "list", "source": allowed_list}
    return notes | _bounds(field.rule)


def _bounds(rule) -> dict:
    match rule:
        case Number():
            least = rule.least + Decimal("0.000001") if rule.above else rule.least
            kind = "integer" if rule.whole else "decimal"
            return {"validate": kind, "criteria": "between", "minimum": least, "maximum": rule.most}
        case Day():
            return {"validate": "date", "criteria": "between", "minimum": rule.first, "maximum": rule.last}
        case CurrencyCode():
            return {"validate": "length", "criteria": "==", "value": 3}
    return {"validate": "length", "criteria": "between", "minimum": 1, "maximum": rule.longest}


# Start here

START_WIDTHS = (4, 27, 80)

STEPS = (
    ("This is your rate card.",
     "Every price, load and time in your quotes comes from it. Nothing else needs setting up."),
    ("An invented firm fills it.",
     "Go through the sheets in the order below and put your own figures in place of the ones you find."),
    ("Change the tinted cells only.",
     "Choose one, and a note says what it means. The unit stands beside it, or at the head of its column."),
    ("Fill every cell of a row.",
     "Only cells whose note says so may stay empty. Rows left wholly empty do not count."),
    ("Save it, and ask for a quote.",
     "The card is read afresh each time. Where it cannot be used, you are told each such cell, and what is allowed."),
)  # fmt: skip

COLOURS = (
    ("text", "Tinted", "Yours to fill in. All other cells are labels, units and notes."),
    ("needed", "Red", "Still empty, and must be filled."),
)

HINTS = (
    "Rows may be added, sorted and moved, columns moved, sheets renamed. Keep headings, and all of Firm and Delivery.",
    "A formula may stand where a figure goes: its result counts, to six decimals at most, once the file is saved.",
    "Enter percentages as 8% or 0.08, and dates as your spreadsheet program takes them.",
    "Person-minutes are minutes of work for one person: two people do ten person-minutes in five.",
    "Prices paid, what you own and whatever else is marked private never enter a client's quote.",
    "Keep this card in its folder beside the other files there, and keep a copy of the whole folder.",
)


def _write_start(sheet, look: dict) -> None:
    _title(sheet, look, "Start here", "How to make this rate card your own.")
    for column, width in enumerate(START_WIDTHS, 1):
        sheet.set_column(column, column, width)
    for step, (what, more) in enumerate(STEPS, 1):
        _start_line(sheet, look, step + 2, more, step)
        sheet.write(step + 2, 2, what, look["strong"])
    first = _start_section(sheet, look, len(STEPS) + 4, "The sheets")
    for row, layout in enumerate(SHEETS, first):
        _start_line(sheet, look, row, layout.purpose)
        sheet.write_url(row, 2, f"internal:'{layout.title}'!B1", look["link"], layout.title)
    first = _start_section(sheet, look, first + len(SHEETS) + 1, "What the colours say")
    for row, (style, what, more) in enumerate(COLOURS, first):
        _start_line(sheet, look, row, more)
        sheet.write(row, 2, what, look[style])
    first = _start_section(sheet, look, first + len(COLOURS) + 1, "Good to know")
    for row, hint in enumerate(HINTS, first):
        sheet.set_row(row, _height(hint, sum(START_WIDTHS[1:])))
        sheet.merge_range(row, 2, row, 3, hint, look["wrapped"])


def _start_line(sheet, look: dict, row: int, text: str, step: int | None = None) -> None:
    sheet.set_row(row, _height(text, START_WIDTHS[2]) + (5 if step else 0))
    sheet.write(row, 1, step, look["step"])
    sheet.write(row, 3, text, look["wrapped"])


def _start_section(sheet, look: dict, row: int, heading: str) -> int:
    """The row below a heading."""
    sheet.set_row(row, 32)
    for column in (1, 2, 3):
        sheet.write(row, column, heading if column == 1 else None, look["section"])
    return row + 1


def main() -> None:
    templates = files("quotebook.templates")
    for name in SHIPPED:
        with (templates / f"{name}.toml").open("rb") as file:
            write_rate_card(templates / f"{name}.xlsx", tomllib.load(file, parse_float=Decimal))


if __name__ == "__main__":
    main()
