"""The rate card workbook, read: every mistake in it at once, or a RateCard."""

import os
from collections.abc import Iterator
from dataclasses import dataclass, fields
from decimal import Decimal
from itertools import pairwise
from pathlib import Path

from quotebook.engine.lifting import Lift
from quotebook.engine.model import (  # fmt: skip
    OVER_SUBFLOOR,
    SURFACES,
    DayFactor,
    Firm,
    Holding,
    PanelKind,
    RateCard,
    Rates,
    SheetHolding,
    Subfloor,
    same_text,
)
from quotebook.errors import InvalidInput
from quotebook.rate_card.layout import CONTACT_LINES, EDGING, FORMS, REQUIRED, SHEETS, TABLES, Field, Form, Table
from quotebook.rate_card.rules import minor_units
from quotebook.spreadsheets.cells import CellAddress
from quotebook.spreadsheets.filled_in import FilledWorkbook, describe, read_filled_workbook

CROWDING_AREA = {"ft": Decimal(5), "m": Decimal("0.46")}
"""Net area a person standing (IBC Table 1004.5, standing space)."""

STEP_LIMIT = {"ft": Decimal("0.25"), "m": Decimal("6.4")}
"""Inches or millimetres: the highest edge that is no step (ADA 2010 Standards 303.2)."""

LONGEST_SIDE = Decimal(1_000)
LARGEST_ENTRY = Decimal(10_000)


@dataclass(frozen=True)
class Entry:
    """What stands in one cell of the card."""

    where: str
    found: object
    value: object
    """None where what was found cannot be used."""

    def complaint(self, allowed: str) -> str:
        return f"{self.where}: found {describe(self.found)}; allowed: {allowed}"


Row = dict[str, Entry]


def read_rate_card(path: str | os.PathLike) -> RateCard:
    """The rate card in a workbook.

    Raises InvalidInput with a line for each mistake in it (file, sheet, cell, what was found, what is
    allowed), and Unreadable for what is no workbook. Panels free are those owned.
    """
    book = read_filled_workbook(path)
    complaints = list(_missing_names(book))
    figures = {}
    for form in FORMS:
        for field in form.fields:
            if place := book.names.get(field.name):
                figures[field.name] = _entry(book, field, place, complaints)
    tables = {table.name: _rows(book, table, complaints) for table in TABLES}
    for check in CHECKS:
        complaints.extend(check(figures, tables))
    complaints.extend(_logo_missing(figures, Path(path).parent))
    if complaints:
        heading = f"{path}: the rate card cannot be used until these cells are put right:"
        raise InvalidInput(heading, [f"{book.file}, {line}" for line in complaints])
    return _card({name: entry.value for name, entry in figures.items()}, _values(tables))


def _names_of(sheet: Form) -> Iterator[tuple[str, Field]]:
    for field in sheet.fields:
        yield (sheet.column_name(field) if isinstance(sheet, Table) else field.name), field


def _missing_names(book: FilledWorkbook) -> Iterator[str]:
    for sheet in SHEETS:
        names = dict(_names_of(sheet))
        missing = [name for name in names if book.names.get(name) is None]
        if len(missing) == len(names):
            yield f"sheet {sheet.title}: found none of its cells; allowed: all of them. {_FRESH_CARD}"
        else:
            for name in missing:
                yield (
                    f"sheet {sheet.title} ({names[name].label}): found no cell named {name}; "
                    f"allowed: a card that has it. {_FRESH_CARD}"
                )


_FRESH_CARD = "Copy your figures into a fresh card."


def _entry(book: FilledWorkbook, field: Field, place: CellAddress, complaints: list[str]) -> Entry:
    found = book.cells.get(place)
    where = f"sheet {place.sheet}, cell {place.cell} ({field.label})"
    if found is None and field.blank is not REQUIRED:
        return Entry(where, None, field.blank)
    try:
        return Entry(where, found, field.rule.read(found))
    except ValueError as error:
        entry = Entry(where, found, None)
        complaints.append(entry.complaint(str(error)))
        return entry


def _rows(book: FilledWorkbook, table: Table, complaints: list[str]) -> list[Row]:
    """The rows below a table's headings that have anything in any of its columns."""
    headings = {field: book.names.get(table.column_name(field)) for field in table.fields}
    headings = {field: place for field, place in headings.items() if place}
    columns = {(place.sheet, place.column): place.row for place in headings.values()}
    numbers = {
        place.row
        for place in book.cells
        if (place.sheet, place.column) in columns and place.row > columns[place.sheet, place.column]
    }
    return [
        {
            field.name: _entry(book, field, CellAddress(place.sheet, number, place.column), complaints)
            for field, place in headings.items()
        }
        for number in sorted(numbers)
    ]


# Checks of cells against each other: each yields a complaint for every mistake of its kind.


def _rows_needed(figures, tables: dict[str, list[Row]]) -> Iterator[str]:
    """Nothing can be priced without a panel and the factor of the first day."""
    for table in TABLES:
        if table.name in ("kinds", "day_factors") and not tables[table.name]:
            yield f"sheet {table.title}: found no row; allowed: at least one"


def _codes_once(figures, tables) -> Iterator[str]:
    """Codes are told apart as spreadsheets compare text: without regard to capitals."""
    for name, column in (("kinds", "panel"), ("subfloors", "subfloor_kind"), ("surfaces", "surface")):
        seen = []
        for entry in _column(tables[name], column):
            if any(same_text(entry.value, earlier) for earlier in seen):
                yield entry.complaint("each one once (capitals make no difference)")
            seen.append(entry.value)


def _all_surfaces(figures, tables) -> Iterator[str]:
    listed = {entry.value for entry in _column(tables["surfaces"], "surface")}
    for surface in SURFACES:
        if surface not in listed:
            yield f'sheet Surfaces: found no row for "{surface}"; allowed: one row for each of {", ".join(SURFACES)}'


def _subfloors_known(figures, tables) -> Iterator[str]:
    known = [entry.value for entry in _column(tables["subfloors"], "subfloor_kind")]
    for entry in _column(tables["kinds"], "subfloor_kind"):
        if entry.value and not any(same_text(entry.value, code) for code in known):
            yield entry.complaint("a code of sheet Subfloors: " + (", ".join(known) or "it has none yet"))


def _subfloor_where_needed(figures, tables) -> Iterator[str]:
    for row in tables["kinds"]:
        layings = [row[name].value for name in row if name.startswith("on_")]
        if OVER_SUBFLOOR in layings and "subfloor_kind" in row and row["subfloor_kind"].value == "":
            yield row["subfloor_kind"].complaint(f'a code of sheet Subfloors, since this panel goes "{OVER_SUBFLOOR}"')


def _edging_whole(figures, tables) -> Iterator[str]:
    for row in tables["kinds"]:
        edging = [row[name] for name in EDGING if name in row]
        if any(entry.found is not None for entry in edging):
            for entry in edging:
                if entry.found is None:
                    yield entry.complaint("a figure, since edging is kept for this panel (or all of its edging empty)")


def _factors_ascending(figures, tables) -> Iterator[str]:
    for entry in _column(tables["day_factors"][:1], "hire_days"):
        if entry.value != 1:
            yield entry.complaint("1 in the first row")
    for entry in _column(tables["day_factors"][:1], "hire_factor"):
        if entry.value != 1:
            yield entry.complaint("1 in the first row: the hire of the first day itself")
    for above, entry in pairwise(_column(tables["day_factors"], "hire_days")):
        if entry.value <= above.value:
            yield entry.complaint(f"more days than in the row above ({above.value})")
    for above, entry in pairwise(_column(tables["day_factors"], "hire_factor")):
        if entry.value < above.value:
            yield entry.complaint(f"no less than the factor of a shorter hire ({above.value})")


def _vehicle_heavier_than_load(figures, tables) -> Iterator[str]:
    usable = {name: entry for name, entry in figures.items() if entry.value is not None}
    if {"payload", "gross_weight"} <= usable.keys():
        payload, gross = usable["payload"].value, usable["gross_weight"]
        if gross.value <= payload:
            yield gross.complaint(f"more than the payload ({payload}), since it counts the vehicle too")


CHECKS = (
    _rows_needed, _codes_once, _all_surfaces, _subfloors_known, _subfloor_where_needed, _edging_whole,
    _factors_ascending, _vehicle_heavier_than_load,
)  # fmt: skip


def _column(rows: list[Row], name: str) -> Iterator[Entry]:
    """The usable entries of one column."""
    return (row[name] for row in rows if name in row and row[name].value is not None)


def _logo_missing(figures: Row, folder: Path) -> Iterator[str]:
    logo = figures.get("logo")
    if logo and logo.value and not (folder / logo.value).is_file():
        yield logo.complaint(f"the name of a picture that lies in {folder}, or nothing")


def _values(tables: dict[str, list[Row]]) -> dict[str, list[dict]]:
    return {
        name: [{column: entry.value for column, entry in row.items()} for row in rows] for name, rows in tables.items()
    }


def _card(figures: dict, tables: dict[str, list[dict]]) -> RateCard:
    kinds, subfloors = tables["kinds"], tables["subfloors"]
    return RateCard(
        firm=_firm(figures, tables["surfaces"]),
        rates=_rates(figures, tables),
        holdings={kind["panel"]: _record(Holding, kind) for kind in kinds},
        sheet_holdings={sheet["subfloor_kind"]: _record(SheetHolding, sheet) for sheet in subfloors},
        carts_owned=figures["carts_owned"],
        gross_weight=figures["gross_weight"],
        lifts=(_lift(figures, figures["lift_start_height"]), _lift(figures, figures["lift_end_height"])),
        tools=tuple(row["tool"] for row in tables["tools"]),
        terms=tuple(row["term"] for row in tables["terms"]),
    )


def _record(record: type, values: dict, **others):
    """A dataclass from the values that have its fields' names, and from `others`."""
    return record(**{field.name: values[field.name] for field in fields(record) if field.name in values} | others)


def _firm(figures: dict, surfaces: list[dict]) -> Firm:
    contact = (figures[f"contact_line_{line}"] for line in range(1, CONTACT_LINES + 1))
    edging = {row["surface"]: row["edging"] for row in surfaces}
    return _record(
        Firm,
        figures,
        contact_lines=tuple(line for line in contact if line),
        edging_by_default=tuple(edging[surface] for surface in SURFACES),
    )


def _rates(figures: dict, tables: dict[str, list[dict]]) -> Rates:
    unit = figures["length_unit"]
    return _record(
        Rates,
        figures,
        minor_units=Decimal(minor_units(figures["currency"])),
        crowding_area=CROWDING_AREA[unit],
        step_limit=STEP_LIMIT[unit],
        longest_side=LONGEST_SIDE,
        largest_entry=LARGEST_ENTRY,
        kinds=tuple(_kind(row) for row in tables["kinds"]),
        subfloors=tuple(_record(Subfloor, row) for row in tables["subfloors"]),
        day_factors=tuple(_record(DayFactor, row) for row in tables["day_factors"]),
    )


def _kind(row: dict) -> PanelKind:
    layings = tuple(row[f"on_{surface.replace(' ', '_')}"] for surface in SURFACES)
    return _record(PanelKind, row, layings=layings, free=row["owned"])


def _lift(figures: dict, hand_height: Decimal) -> Lift:
    return Lift(
        reach=figures["lift_reach"],
        hand_height=hand_height,
        travel=abs(figures["lift_start_height"] - figures["lift_end_height"]),
        twist=figures["lift_twist"],
        lifts_a_minute=figures["lifts_a_minute"],
        hours=figures["lifting_hours"],
        coupling=figures["lift_coupling"],
    )
