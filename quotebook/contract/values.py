"""Between the engine's values and what a cell holds: a number, a text, or nothing.

Dates are serial numbers as in the workbook; yes and no, layings and surfaces are words of the
workbook's own language, which it carries in cells of its own (`word_yes`, `surfaces`).
"""

from collections.abc import Iterable, Mapping
from dataclasses import fields
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from quotebook.contract.vocabulary import (
    INPUTS,
    JOINED,
    JOINED_AT,
    LINE_INPUTS,
    QUOTE_INPUTS,
    SCALAR_RATES,
    TABLES,
    on_line,
)
from quotebook.engine.model import LAYINGS, LINES, OPTIONS, SURFACES, FloorLine, Rates, Request, same_text
from quotebook.engine.money import ZERO, plain, round6
from quotebook.spreadsheets.cells import day_zero

CellValue = Decimal | str | None

ColumnValue = CellValue | list[CellValue]
"""What a row has in a column of a table: a cell, or several side by side in a block."""

Words = Mapping[str, Mapping[str, str]]
"""Sentences by section and key."""

EPOCH = day_zero(date_1904=False)
"""Day 0 of a workbook's serial dates, for days from 1 March 1900 on."""

AFTER_THE_LAST_DAY = 2_958_466
"""The serial number of 1 January 10000."""

LAYING_WORDS = ("word_direct", "word_over_subfloor", "word_not_here")


class Dictionary:
    """The words of one workbook for yes and no, layings and surfaces."""

    def __init__(self, cells: Mapping[str, CellValue], surfaces: Iterable[CellValue]):
        self.yes_no = {True: cells["word_yes"], False: cells["word_no"]}
        self.layings = dict(zip(LAYINGS, (cells[name] for name in LAYING_WORDS), strict=True))
        self.surfaces = dict(zip(SURFACES, surfaces, strict=True))

    def meaning(self, word: CellValue, meanings: Mapping[Any, CellValue]) -> object:
        """What a cell's word means; the word itself where it means nothing here."""
        return next((meaning for meaning, known in meanings.items() if _same(known, word)), word)


def _same(known: CellValue, word: CellValue) -> bool:
    return isinstance(known, str) and isinstance(word, str) and same_text(known, word)


def side_by_side(value: ColumnValue) -> list[CellValue]:
    """The cells that a row has in a block. Raises TypeError where the column is no block."""
    if not isinstance(value, list):
        raise TypeError(f"cells side by side are needed, not {value!r}")
    return value


def one_cell(value: ColumnValue) -> CellValue:
    """The one cell that a row has in a column. Raises TypeError where the column is a block."""
    if isinstance(value, list):
        raise TypeError(f"one cell is needed, not {value!r}")
    return value


def day_of(serial: Decimal) -> date:
    """The day of a serial number, its time of day aside."""
    return EPOCH + timedelta(days=int(serial))


def is_day(serial: Decimal) -> bool:
    """Whether there is a day of that serial number."""
    return 0 < serial < AFTER_THE_LAST_DAY


def serial_of_day(day: date) -> int:
    """The serial number of a day."""
    return (day - EPOCH).days


def to_cell(value: CellValue | bool | date, dictionary: Dictionary) -> CellValue:
    """What a cell holds for one of the engine's values."""
    if isinstance(value, bool):
        return dictionary.yes_no[value]
    if isinstance(value, date):
        return Decimal(serial_of_day(value))
    return value


def joined(number: Decimal) -> str:
    """A number as our formulas join it to text: at most three decimals, none that say nothing."""
    return f"{round6(number).quantize(Decimal('0.001'), ROUND_HALF_UP).normalize():f}"


def request_cells(request: Request, dictionary: Dictionary) -> dict[str, CellValue]:
    """What the input cells hold for a request, by name; blank floor lines included."""
    cells = {name: to_cell(getattr(request, name), dictionary) for name in QUOTE_INPUTS}
    cells["surface"] = dictionary.surfaces.get(request.surface, request.surface)
    for number, line in enumerate(request.every_line, 1):
        blank = line == FloorLine()
        for name in LINE_INPUTS:
            value = None if blank else getattr(line, name.removesuffix("_#"))
            cells[on_line(name, number)] = to_cell(value, dictionary)
    return {name: None if value == "" else value for name, value in cells.items()}


def joined_cells(request: Request) -> dict[str, CellValue]:
    """The owner's cells for floors laid of several kinds, by name; blank where a line is a floor of its own."""
    return {
        on_line(name, number): getattr(line, name.removesuffix("_#")) or None
        for number, line in enumerate(request.every_line, 1)
        for name in (*JOINED, *JOINED_AT)
    }


def entries_of(names: Iterable[str], cells: Mapping[str, CellValue], dictionary: Dictionary) -> dict[str, object]:
    """The cells of some inputs as entries of a request: typed where they can be, else as found."""
    return {name: _entry(INPUTS.get(name, "text"), cells.get(name), dictionary) for name in names}


def _entry(kind: str, value: CellValue, dictionary: Dictionary) -> object:
    if kind == "yes_no":
        return dictionary.meaning(value, dictionary.yes_no)
    if kind == "surface":
        return dictionary.meaning(value, dictionary.surfaces)
    if kind == "date" and isinstance(value, Decimal) and is_day(value):
        return day_of(value)
    return value


def request_of(entries: Mapping[str, object], owner: Mapping[str, object]) -> Request:
    """The request that the entries make, with every entry that cannot be used left out.

    `owner` has what is the owner's of a request: `discount_share`, `joined_width_1` and so on. Missing counts as 0.
    """
    quote = {name: _usable(kind, entries.get(name)) for name, kind in QUOTE_INPUTS.items()}
    lines = tuple(_line_of(entries, owner, number) for number in range(1, LINES + 1))
    return Request(**quote, discount_share=_usable("share", owner.get("discount_share")), lines=lines)


def _line_of(entries: Mapping[str, object], owner: Mapping[str, object], number: int) -> FloorLine:
    line = {name: _usable(kind, entries.get(on_line(name, number))) for name, kind in LINE_INPUTS.items()}
    line |= {name: _usable("share", owner.get(on_line(name, number))) for name in (*JOINED, *JOINED_AT)}
    return FloorLine(**{name.removesuffix("_#"): value for name, value in line.items()})


def _usable(kind: str, entry: object) -> Any:  # a text, an amount, a day, yes or no: whatever the kind of entry is
    """An entry if it is of its kind, else what a request has where it is blank.

    A number for the letter of an option is a letter that no option has, as it is to a formula.
    """
    if kind == "surface" and entry not in SURFACES:
        return ""
    if kind == "option":
        letter = plain(entry) if isinstance(entry, Decimal) else str(entry or "")
        return next((option for option in OPTIONS if same_text(option, letter)), letter)
    python_type, blank = _KINDS[kind]
    return entry if isinstance(entry, python_type) else blank


_KINDS: dict[str, tuple[type, object]] = {
    "text": (str, ""), "surface": (str, ""), "date": (date, None), "yes_no": (bool, False),
    "number": (Decimal, None), "whole": (Decimal, None), "share": (Decimal, ZERO),
}  # fmt: skip
"""For each kind of entry the type of one that can be used, and what stands for a blank one."""


def table_cells(rates: Rates, dictionary: Dictionary) -> dict[str, list[ColumnValue]]:
    """What the columns of the rates' tables hold, top to bottom; `kinds_layings` a list a row."""
    columns: dict[str, list[ColumnValue]] = {}
    for table, record in TABLES.items():
        rows = getattr(rates, table)
        for field in fields(record):
            columns[f"{table}_{field.name}"] = [getattr(row, field.name) or None for row in rows]
            if field.name == "layings":
                columns[f"{table}_layings"] = [[dictionary.layings[word] for word in row.layings] for row in rows]
    return columns


def rates_of(cells: Mapping[str, CellValue], columns: Mapping[str, list[ColumnValue]], dictionary: Dictionary) -> Rates:
    """The rates that the owner's cells say; a cell that holds no number where one belongs counts as 0.

    A quote that another version issued may have other rates: those that it does not have count as 0, or as blank.
    """
    scalars: dict[str, Any] = {}
    for name in SCALAR_RATES:
        value = cells.get(name)
        if Rates.__annotations__[name] is bool:
            scalars[name] = dictionary.meaning(value, dictionary.yes_no) is True
        else:
            scalars[name] = value if isinstance(value, Decimal) else ZERO
    tables: dict[str, Any] = {table: _rows(table, columns, dictionary) for table in TABLES}
    return Rates(**scalars, **tables)


def _rows(table: str, columns: Mapping[str, list[ColumnValue]], dictionary: Dictionary) -> tuple[Any, ...]:
    """The records of one table, without rows that have nothing in their first column."""
    record = TABLES[table]
    names = [field.name for field in fields(record)]
    length = max((len(columns.get(f"{table}_{name}", ())) for name in names), default=0)
    blank: list[ColumnValue] = [None] * length
    rows = zip(*(columns.get(f"{table}_{name}", blank) for name in names), strict=True)
    return tuple(
        record(*(_field(record, name, value, dictionary) for name, value in zip(names, row, strict=True)))
        for row in rows
        if row[0] is not None
    )


def _field(record: type, name: str, value: ColumnValue, dictionary: Dictionary) -> object:
    kind = record.__annotations__[name]
    if name == "layings":
        return tuple(dictionary.meaning(word, dictionary.layings) for word in side_by_side(value))
    if kind is str:
        return value if isinstance(value, str) else ""
    return value if isinstance(value, Decimal) else ZERO
