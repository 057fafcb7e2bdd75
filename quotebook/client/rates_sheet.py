"""The sheet of rates: everything that the price depends on, and nothing else of the owner's."""

from collections.abc import Mapping
from dataclasses import fields
from decimal import Decimal

from quotebook.client.draft import QuoteDraft
from quotebook.client.page import set_up_page
from quotebook.contract.values import CellValue, ColumnValue, one_cell, side_by_side, table_cells, to_cell
from quotebook.contract.vocabulary import LEAST_ROWS, SCALAR_RATES, TABLES, WORDS
from quotebook.drawing import text_size
from quotebook.drawing.sheet_writer import SheetWriter
from quotebook.drawing.styles import INDENT, share_kind
from quotebook.engine.model import SURFACES

ON_QUOTE_SHEET = ("waiver_share", "tax_rate", "deposit_share")
"""Rates whose named cell is on the first sheet."""
AMOUNTS = (
    "hourly_rate", "base_charge", "rate_per_mile", "kinds_rate", "kinds_piece_rate", "kinds_corner_rate",
    "subfloors_sheet_rate",
)  # fmt: skip
"""Rates and columns that are amounts of money."""
TEXTS = ("kinds_panel_name", "subfloors_subfloor_name")
"""Columns whose texts may be long."""
LABEL, VALUE = 1, 3
SECOND_LABEL, SECOND_VALUE = 6, 12
"""The columns of the right half of the single figures."""
LAST = LABEL + len(fields(TABLES["kinds"])) + len(SURFACES) - 2
"""The last column of the widest table, which is that of the panels."""
LEAST, CODE, NAME = 8, 14, 28
"""Widths in digits: the least of any column, that of the codes, and that of the names beside them."""

TableCells = Mapping[str, list[ColumnValue]]
"""The columns of all tables by name (`contract.values.table_cells`); a block of several columns is a list of rows."""


def write_rates(writer: SheetWriter, draft: QuoteDraft) -> None:
    """Writes the whole sheet from top to bottom; each part returns the row after its last one."""
    cells = table_cells(draft.issue.rates, draft.dictionary)
    writer.columns((1.5, *_widths(draft, cells), 1.5))
    writer.sheet.set_row(0, 24)
    writer.text(0, LABEL, draft.text("rates_title"), "page_title")
    row = _single_rates(writer, draft, 2)
    for table in TABLES:
        row = _table(writer, draft, row + 1, table, cells)
    row = _words(writer, draft, row + 1)
    set_up_page(writer, draft, row, LAST + 1, landscape=True)


def _widths(draft: QuoteDraft, cells: TableCells) -> list[float]:
    """The widths of the tables' columns in digits: codes, numbers and single words fit; names and headings wrap."""
    rooms = [text_size.pixels_across([LEAST])] * LAST
    rooms[:2] = text_size.pixels_across([CODE]), text_size.pixels_across([NAME])
    gap = 2 * INDENT
    for table in TABLES:
        for at, (name, heading) in enumerate(_headings(draft, table)):
            words = [text_size.text_width(word, 9, bold=True) for word in heading.split()]
            values = [] if name in TEXTS else [text_size.text_width(text) for text in _unbroken(cells, name)]
            rooms[at] = max(rooms[at], *(gap + width for width in (*words, *values)))
    return [text_size.column_width(room) for room in rooms]


def _headings(draft: QuoteDraft, table: str) -> list[tuple[str, str]]:
    """The columns of a table from left to right: the name and the heading of each."""
    columns: list[tuple[str, str]] = []
    for field in fields(TABLES[table]):
        surfaces = field.name == "layings"
        headings = [*map(str, draft.dictionary.surfaces.values())] if surfaces else [draft.label(field.name)]
        columns += [(f"{table}_{field.name}", heading) for heading in headings]
    return columns


def _unbroken(cells: TableCells, name: str) -> list[str]:
    """The texts that must stay on one line in a column: numbers, codes and layings."""
    values = [value for row in cells[name] for value in (row if isinstance(row, list) else [row])]
    return [str(value) for value in values if value is not None]


def _single_rates(writer: SheetWriter, draft: QuoteDraft, row: int) -> int:
    """Writes the rates that are single figures, in two columns side by side."""
    writer.text(row, LABEL, draft.text("charges"), "heading", to=LAST)
    names = [name for name in SCALAR_RATES if name not in ON_QUOTE_SHEET]
    half = (len(names) + 1) // 2
    for number, name in enumerate(names):
        at = row + 1 + number % half
        label, column = (LABEL, VALUE) if number < half else (SECOND_LABEL, SECOND_VALUE)
        value = getattr(draft.issue.rates, name)
        kind = share_kind(value) if name.endswith("_share") else _money_kind(draft, name, [value])
        writer.text(at, label, draft.label(name), "field", to=column - 1)
        writer.fit(at, column, "", "fact")
        writer.owner(name, at, column, to_cell(value, draft.dictionary), "fact_right", kind)
    return row + 1 + half


def _money_kind(draft: QuoteDraft, name: str, values: list[CellValue]) -> str:
    """The kind of a rate: money if it is an amount and no value has more decimal places than the currency, else any."""
    minor_units = int(draft.issue.rates.minor_units)
    numbers = [value for value in values if isinstance(value, Decimal)]
    as_money = name in AMOUNTS and all(number == round(number, minor_units) for number in numbers)
    return "money" if as_money else ""


def _table(writer: SheetWriter, draft: QuoteDraft, row: int, table: str, cells: TableCells) -> int:
    """Writes the heading of a table, its column headings and its columns."""
    writer.text(row, LABEL, draft.text(f"{table}_table"), "heading", to=LAST)
    for column, (_, heading) in enumerate(_headings(draft, table), LABEL):
        writer.fit(row + 1, column, heading, "column_number")
    column = LABEL
    for field in fields(TABLES[table]):
        name = f"{table}_{field.name}"
        if field.name == "layings":
            layings = [side_by_side(row) for row in cells[name]]
            column = _layings(writer, row + 1, column, layings, draft)
            continue
        number = column > LABEL + 1 and TABLES[table].__annotations__[field.name] is not str
        writer.text(row + 1, column, draft.label(field.name), "column_number" if number else "column")
        values = [one_cell(row) for row in cells[name]]
        _column(writer, draft, name, row + 2, column, values, "fact_number" if number else "fact_wrapped")
        column += 1
    writer.anchor(f"{table}_heading", row + 1, LABEL)
    if table == "day_factors":
        _last_days(writer, draft, row + 1, column)
    return row + 2 + max(LEAST_ROWS, len(getattr(draft.issue.rates, table)))


def _last_days(writer: SheetWriter, draft: QuoteDraft, row: int, column: int) -> None:
    """Writes the last day that each row of the hire lengths holds for: the day before the next row's first."""
    first_days = [factor.hire_days for factor in draft.issue.rates.day_factors]
    last_days: list[CellValue] = [days - 1 for days in first_days[1:]]
    writer.text(row, column, draft.label("last_day"), "column_number")
    writer.fit(row, column, draft.label("last_day"), "column_number")
    writer.column("day_factors_last_day", row + 1, column, [*last_days, draft.issue.rates.largest_entry], "fact_number")


def _column(
    writer: SheetWriter, draft: QuoteDraft, name: str, row: int, column: int, values: list[CellValue], style: str
) -> None:
    """Writes one column of a table, each row tall enough for its text."""
    writer.column(name, row, column, values, style, _money_kind(draft, name, values))
    for offset, value in enumerate(values):
        writer.fit(row + offset, column, value if isinstance(value, str) else "", style)


def _layings(writer: SheetWriter, row: int, column: int, layings: list[list[CellValue]], draft: QuoteDraft) -> int:
    """Writes a column for each surface, under its word; formulas count these columns from the cell before them."""
    writer.anchor("surfaces_heading", row, column - 1)
    words: list[CellValue] = [draft.dictionary.surfaces[surface] for surface in SURFACES]
    writer.headings("surfaces", row, column, words, "column")
    writer.block("kinds_layings", row + 1, column, layings, len(SURFACES))
    return column + len(SURFACES)


def _words(writer: SheetWriter, draft: QuoteDraft, row: int) -> int:
    """Writes the words that entries and formulas compare with, such as that for yes."""
    writer.text(row, LABEL, draft.text("words_table"), "heading", to=LAST)
    for offset, name in enumerate(WORDS, 1):
        writer.text(row + offset, LABEL, draft.label(name), "field", to=VALUE - 1)
        writer.owner(name, row + offset, VALUE, draft.word_cells[name])
        writer.fit(row + offset, VALUE, "", "fact")
    return row + len(WORDS) + 1
