"""Brings an owner's rate card up to date: into a fresh card goes every entry, converted if the unit of length changes.

What is written is what was found, also where it cannot be used, so that nothing has to be typed again; where the card
has no cell yet for a figure, what it counts as saying is written. Lengths, weights and distances convert by the exact
definitions (1 in = 25.4 mm, 1 lb = 0.45359237 kg, 1 mile = 1.609344 km: NIST Handbook 44, appendix C).
"""

import re
from collections.abc import Iterator, Mapping
from decimal import Decimal
from pathlib import Path

from quotebook.engine.money import round6
from quotebook.errors import Misuse
from quotebook.files import atomically
from quotebook.rate_card.form import REQUIRED, Field, Table
from quotebook.rate_card.labels import moved_figures
from quotebook.rate_card.layout import FORMS, SHEETS, TABLES
from quotebook.rate_card.writer import write_rate_card
from quotebook.spreadsheets.cells import CellAddress
from quotebook.spreadsheets.filled_in import FilledWorkbook, Unusable, describe, read_filled_workbook

METRIC = {
    "length": Decimal("0.3048"), "area": Decimal("0.09290304"), "thickness": Decimal("25.4"),
    "weight": Decimal("0.45359237"), "distance": Decimal("1.609344"), "one_distance": 1 / Decimal("1.609344"),
    "reach": Decimal("2.54"),
}  # fmt: skip
"""What one foot, square foot, inch, pound, mile is in metric units; of a price per mile, what it is per km."""

UNIT_NAME = "length_unit"

DRAWN_WITHOUT: dict[str, dict[str, object]] = {
    "firm": {"accent_colour": "#1F5C4D", "paper": "A4", "currency": "", UNIT_NAME: "ft"}, "delivery": {},
}  # fmt: skip
"""What the fresh card is drawn with where the card has no entry."""

CardValues = dict[str, object]


def renew(path: Path, keep: Path, unit_of_entries: str, length_unit: str) -> list[str]:
    """Write the card at `path` anew, in the layout of today and in a unit of length, and keep it as it was at `keep`.

    `unit_of_entries` is the unit, ft or m, that its entries are in. Returns the labels of the figures that the card had
    no cell for. Raises Misuse where an entry cannot be copied or `keep` exists, and Unreadable.
    """
    values, added = entries_of(read_filled_workbook(path))
    if unit_of_entries != length_unit:
        values = converted(values, length_unit)
    with atomically(keep) as copy:
        copy.write_bytes(path.read_bytes())
    with atomically(path, overwrite=True) as temporary:
        write_rate_card(temporary, values)
    return added


def unit_of_card(path: Path) -> str:
    """The unit of length that a card says. Raises Misuse for another word, and Unreadable."""
    book = read_filled_workbook(path)
    found = book.cells.get(book.names.get(UNIT_NAME) or CellAddress("", 0, 0))
    if found not in ("ft", "m"):
        raise Misuse(f"{path}: its unit of length is {describe(found)}; allowed: ft or m")
    return str(found)


def entries_of(book: FilledWorkbook) -> tuple[dict[str, CardValues | list[CardValues]], list[str]]:
    """Every entry of a card as `write_rate_card` takes them, and the labels of what it had no cell for.

    Raises Misuse for a cell whose contents cannot be copied, for a card that lacks a cell that every card has had, and
    for one whose figures have changed places.
    """
    for moved in moved_figures(book):
        raise Misuse(f"{book.file}, {moved}")
    unit = book.cells.get(book.names.get(UNIT_NAME) or CellAddress("", 0, 0))
    length_unit = unit if unit in ("ft", "m") else "ft"
    added: list[str] = []
    values: dict[str, CardValues | list[CardValues]] = {}
    for sheet in FORMS:
        values[sheet.name] = DRAWN_WITHOUT[sheet.name] | {
            field.name: value
            for field in sheet.fields
            if (value := _figure(book, field, book.names.get(field.name), str(length_unit), added)) is not None
        }
    for table in TABLES:
        values[table.name] = list(_rows(book, table, str(length_unit), added))
    return values, added


def _figure(book: FilledWorkbook, field: Field, address: CellAddress | None, unit: str, added: list[str]) -> object:
    """The entry in the cell of a figure; what the card counts as saying where it has none."""
    if address is None:
        if field.absent is REQUIRED:
            raise Misuse(f"{book.file}: found no cell named {field.name} ({field.label}), which every card has.")
        if field.label not in added:
            added.append(field.label)
        value = field.value_if_absent(unit)
        return ("yes" if value else "no") if isinstance(value, bool) else value
    found = book.cells.get(address)
    if isinstance(found, Unusable):
        raise Misuse(f"{book.file}, sheet {address.sheet}, cell {address.cell} ({field.label}): found {found}.")
    return found


def _rows(book: FilledWorkbook, table: Table, unit: str, added: list[str]) -> Iterator[CardValues]:
    """The rows of a table that have an entry in any of its columns."""
    headings = {field: book.names.get(table.column_name(field)) for field in table.fields}
    columns = {(each.sheet, each.column): each.row for each in headings.values() if each}
    numbers = {
        cell.row for cell in book.cells if cell.row > columns.get((cell.sheet, cell.column), cell.row)
    }  # fmt: skip
    for number in sorted(numbers):
        cells = ((field, at and CellAddress(at.sheet, number, at.column)) for field, at in headings.items())
        found = ((field.name, _figure(book, field, address, unit, added)) for field, address in cells)
        yield {name: value for name, value in found if value is not None}


def converted(
    values: Mapping[str, CardValues | list[CardValues]], length_unit: str
) -> dict[str, CardValues | list[CardValues]]:
    """The entries of a card in the other unit of length, `ft` or `m`, each rounded to six places."""
    into: dict[str, CardValues | list[CardValues]] = {}
    for sheet in SHEETS:
        factors = {field.name: _factor(field, length_unit) for field in sheet.fields}
        found = values[sheet.name]
        into[sheet.name] = (
            _in_unit(found, factors) if isinstance(found, dict) else [_in_unit(row, factors) for row in found]
        )
    firm = into["firm"]
    assert isinstance(firm, dict)
    firm[UNIT_NAME] = length_unit
    return into


def _in_unit(entries: CardValues, factors: Mapping[str, Decimal]) -> CardValues:
    return {
        name: round6(value * factors[name]) if isinstance(value, Decimal) and factors[name] != 1 else value
        for name, value in entries.items()
    }


def _factor(field: Field, length_unit: str) -> Decimal:
    """What a figure is multiplied by when the card goes over to a unit of length."""
    factor = Decimal(1)
    for name in re.findall(r"{(\w+)}", field.unit):
        factor *= METRIC.get(name, Decimal(1))
    return factor if length_unit == "m" else 1 / factor
