"""Reads the rate card workbook: into a RateCard, or into a list of every mistake in it."""

import os
from collections.abc import Callable, Iterator
from dataclasses import fields
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from quotebook.engine.lifting import Lift
from quotebook.engine.model import (  # fmt: skip
    SURFACES,
    DayFactor,
    Firm,
    Holding,
    PanelKind,
    PaymentTerms,
    RateCard,
    Rates,
    SheetHolding,
    Subfloor,
    TypicalFloor,
)
from quotebook.engine.published import CLEAR_WAY, LEVEL_EDGE
from quotebook.errors import InvalidInput
from quotebook.rate_card.checks import CHECKS, Entries, Entry, Tables, texts
from quotebook.rate_card.form import REQUIRED, Field, Form, Table
from quotebook.rate_card.labels import moved_figures
from quotebook.rate_card.layout import CONTACT_LINES, FORMS, MONTHS, PAY_LINES, SHEETS, TABLES
from quotebook.rate_card.rules import found_in, minor_units
from quotebook.spreadsheets.cells import CellAddress
from quotebook.spreadsheets.filled_in import FilledWorkbook, read_filled_workbook

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

LONGEST_SIDE = Decimal(1_000)
"""The longest side of a floor that quotes price, in units of length."""
LARGEST_ENTRY = Decimal(10_000)
"""The largest number of days, miles, flights or guests that quotes price."""

Values = dict[str, Any]
"""Values by the names of their fields, when all of them can be used; a value has the type that its rule reads."""


def read_rate_card(path: str | os.PathLike[str]) -> RateCard:
    """The rate card in a workbook. It counts every panel that is owned as free.

    Raises InvalidInput with a line for each mistake in it (file, sheet, cell, what was found, what is allowed), and
    Unreadable for a file that is no workbook.
    """
    book = read_filled_workbook(path)
    if moved := list(moved_figures(book)):  # nothing else that is said of these cells would be true
        raise _unusable(path, book, moved)
    complaints = list(_missing_names(book))
    figures: Entries = {}
    for form in FORMS:
        for field in form.fields:
            if address := book.names.get(field.name):
                figures[field.name] = _entry(book, field, address, complaints)
    tables = {table.name: _rows(book, table, complaints) for table in TABLES}
    _add_absent(book, figures, tables)
    for check in CHECKS:
        complaints.extend(check(figures, tables))
    complaints.extend(_logo_missing(figures, Path(path).parent))
    if complaints:
        raise _unusable(path, book, complaints)
    return _card({name: entry.value for name, entry in figures.items()}, _values(tables))


def _unusable(path: str | os.PathLike[str], book: FilledWorkbook, complaints: list[str]) -> InvalidInput:
    heading = f"{path}: the rate card cannot be used until these cells are put right:"
    return InvalidInput(heading, [f"{book.file}, {line}" for line in complaints])


def _names_of(sheet: Form) -> Iterator[tuple[str, Field]]:
    """Each field of a sheet with the defined name of its cell or column."""
    for field in sheet.fields:
        yield (sheet.column_name(field) if isinstance(sheet, Table) else field.name), field


def _missing_names(book: FilledWorkbook) -> Iterator[str]:
    """A complaint for each name that is missing and that every card has had, or for a whole sheet without any."""
    for sheet in SHEETS:
        names = {name: field for name, field in _names_of(sheet) if field.absent is REQUIRED}
        missing = [name for name in names if book.names.get(name) is None]
        if names and len(missing) == len(names):
            yield f"sheet {sheet.title}: found none of its cells; allowed: all of them. {_FRESH_CARD}"
        else:
            for name in missing:
                yield (
                    f"sheet {sheet.title} ({names[name].label}): found no cell named {name}; "
                    f"allowed: a card that has it. {_FRESH_CARD}"
                )


_FRESH_CARD = "Copy your figures into a fresh card."


def _entry(book: FilledWorkbook, field: Field, address: CellAddress, complaints: list[str]) -> Entry:
    """The entry in a cell; where it cannot be used, a complaint is added."""
    found = book.cells.get(address)
    where = f"sheet {address.sheet}, cell {address.cell} ({field.label})"
    if found is None and field.blank is not REQUIRED:
        return Entry(where, None, field.blank)
    try:
        return Entry(where, found, field.rule.read(found))
    except ValueError as error:
        complaints.append(f"{where}: found {found_in(found, field.rule)}; allowed: {error}")
        return Entry(where, found, None)


def _rows(book: FilledWorkbook, table: Table, complaints: list[str]) -> list[Entries]:
    """The rows below a table's headings that have an entry in any of its columns."""
    named = {field: book.names.get(table.column_name(field)) for field in table.fields}
    headings = {field: heading for field, heading in named.items() if heading}
    heading_rows = {(heading.sheet, heading.column): heading.row for heading in headings.values()}
    numbers = {
        cell.row
        for cell in book.cells
        if (cell.sheet, cell.column) in heading_rows and cell.row > heading_rows[cell.sheet, cell.column]
    }
    return [
        {
            field.name: _entry(book, field, CellAddress(heading.sheet, number, heading.column), complaints)
            for field, heading in headings.items()
        }
        for number in sorted(numbers)
    ]


def _add_absent(book: FilledWorkbook, figures: Entries, tables: Tables) -> None:
    """Adds what a card of an earlier version counts as saying where it has no cell or column for a figure."""
    unit = figures["length_unit"].value if "length_unit" in figures else None
    length_unit = unit if isinstance(unit, str) else "ft"
    for sheet in SHEETS:
        rows = tables[sheet.name] if isinstance(sheet, Table) else [figures]
        for name, field in _names_of(sheet):
            if book.names.get(name) is None and field.absent is not REQUIRED:
                entry = Entry(f"sheet {sheet.title} ({field.label})", None, field.value_if_absent(length_unit))
                for row in rows:
                    row[field.name] = entry


def _logo_missing(figures: Entries, folder: Path) -> Iterator[str]:
    """A complaint where the logo is no file in the folder of the card."""
    for entry, logo in texts([figures], "logo"):
        if logo and not (folder / logo).is_file():
            yield entry.complaint(f"the name of a picture that lies in {folder}, or nothing")


# The card, when every entry can be used.


def _values(tables: Tables) -> dict[str, list[Values]]:
    """The values of all tables' rows."""
    return {
        name: [{column: entry.value for column, entry in row.items()} for row in rows] for name, rows in tables.items()
    }


def _card(figures: Values, tables: dict[str, list[Values]]) -> RateCard:
    """The rate card that the values make."""
    kinds, subfloors = tables["kinds"], tables["subfloors"]
    return RateCard(
        firm=_firm(figures, tables["surfaces"]),
        rates=_rates(figures, tables),
        holdings={kind["panel"]: _record(Holding, kind) for kind in kinds},
        sheet_holdings={sheet["subfloor_kind"]: _record(SheetHolding, sheet) for sheet in subfloors},
        carts_owned=figures["carts_owned"],
        gross_weight=figures["gross_weight"],
        trailer_weight=figures["trailer_weight"],
        strap_limit=figures["strap_limit"],
        day_hours=figures["day_hours"],
        lifts=(_lift(figures, figures["lift_start_height"]), _lift(figures, figures["lift_end_height"])),
        tools=tuple(row["tool"] for row in tables["tools"]),
        terms=tuple(row["term"] for row in tables["terms"]),
        finishes={kind["panel"]: kind["finish"] for kind in kinds if kind["finish"]},
        payment_terms=_record(PaymentTerms, figures),
        typical_floors=tuple(_typical_floor(row) for row in tables["typical_floors"]),
    )


Record = TypeVar("Record", bound="DataclassInstance")


def _record(record: type[Record], values: Values, **others: object) -> Record:
    """A dataclass made from the values that have the names of its fields, and from `others`."""
    make: Callable[..., Record] = record
    return make(**{field.name: values[field.name] for field in fields(record) if field.name in values} | others)


def _firm(figures: Values, surfaces: list[Values]) -> Firm:
    contact = (figures[f"contact_line_{line}"] for line in range(1, CONTACT_LINES + 1))
    paying = (figures[f"pay_line_{line}"] for line in range(1, PAY_LINES + 1))
    edging = {row["surface"]: row["edging"] for row in surfaces}
    return _record(
        Firm,
        figures,
        contact_lines=tuple(line for line in contact if line),
        pay_lines=tuple(line for line in paying if line),
        edging_by_default=tuple(edging[surface] for surface in SURFACES),
    )


def _rates(figures: Values, tables: dict[str, list[Values]]) -> Rates:
    unit = figures["length_unit"]
    return _record(
        Rates,
        figures,
        minor_units=Decimal(minor_units(figures["currency"]) or 0),
        step_limit=LEVEL_EDGE.in_units(unit),
        clear_way=CLEAR_WAY.in_units(unit),
        longest_side=LONGEST_SIDE,
        largest_entry=LARGEST_ENTRY,
        kinds=tuple(_kind(row) for row in tables["kinds"]),
        subfloors=tuple(_record(Subfloor, row) for row in tables["subfloors"]),
        day_factors=tuple(_record(DayFactor, row) for row in tables["day_factors"]),
    )


def _kind(row: Values) -> PanelKind:
    layings = tuple(row[f"on_{surface.replace(' ', '_')}"] for surface in SURFACES)
    return _record(PanelKind, {**row, "reduced_tax": Decimal(row["reduced_tax"])}, layings=layings, free=row["owned"])


def _typical_floor(row: Values) -> TypicalFloor:
    floor = {name: row[f"typical_{name}"] for name in ("surface", "width", "length", "days")}
    return TypicalFloor(**floor, requests=tuple(row[month] for month in MONTHS))


def _lift(figures: Values, hand_height: Decimal) -> Lift:
    """The lift of a panel with the hands at one height: where it is taken up, or where it is put down."""
    return Lift(
        reach=figures["lift_reach"],
        hand_height=hand_height,
        travel=abs(figures["lift_start_height"] - figures["lift_end_height"]),
        twist=figures["lift_twist"],
        lifts_a_minute=figures["lifts_a_minute"],
        coupling=figures["lift_coupling"],
    )
