"""Reads an .ods as cells and names (OpenDocument 1.3, parts 3 and 4), in the types and the spelling of .xlsx.

Repeated cells and rows are counted before they are copied. Dates become the serial numbers that an .xlsx would hold.
What the tables in `ods_tables` do not have is noted, since other programs may read it.
"""

import re
from functools import cache
from typing import TYPE_CHECKING

from quotebook.spreadsheets.cells import LocalName, Sheet, Workbook, day_zero, look_of
from quotebook.spreadsheets.grammar import Grammar, Spelling, Unknowns
from quotebook.spreadsheets.ods_appearance import SheetLooks
from quotebook.spreadsheets.ods_sheet import CONTENT_PART, OFFICE, TABLE, SheetReader
from quotebook.spreadsheets.ods_styles import Styles
from quotebook.spreadsheets.ods_tables import CONTENT, MANIFEST, PREFIXES, SETTINGS, STYLES
from quotebook.spreadsheets.openformula import xlsx_address, xlsx_formula
from quotebook.spreadsheets.package import ROUNDING, SAVE, Package

if TYPE_CHECKING:
    from collections.abc import Sequence

    from lxml.etree import _Element

NAME = f"{TABLE}name"
NAMED = (f"{TABLE}named-range", f"{TABLE}named-expression")
OTHER_PARTS = {"META-INF/manifest.xml": MANIFEST, "settings.xml": SETTINGS, "styles.xml": STYLES}
FORMULA_PREFIXES = {
    b"of": {b"urn:oasis:names:tc:opendocument:xmlns:of:1.2"},
    b"oooc": {b"http://openoffice.org/2004/calc"},
    b"msoxl": {b"http://schemas.microsoft.com/office/excel/formula"},
}
"""What the prefix of a formula must stand for (part 3, 19.642), in the older and Excel's spelling too."""
BINDING = re.compile(rb"""xmlns:(of|oooc|msoxl)\s*=\s*["']([^"']*)""")
SPREADSHEET = "application/vnd.oasis.opendocument.spreadsheet"
TOLD = {
    f"{OFFICE}event-listeners": "macro",
    f"{OFFICE}script": "macro",
    f"{TABLE}error-macro": "macro",
    f"{TABLE}data-pilot-table": "pivot table",
}
"""Elements that are told wherever they stand, each with what it is."""


def read(package: Package) -> Workbook:
    """The workbook in a package. Raises Unreadable where it is damaged or beyond the limits."""
    unknowns = Unknowns()
    root = _held(package, CONTENT_PART, CONTENT, unknowns)
    _hold_prefixes(package, unknowns)
    held = {part: _held(package, part, table, unknowns) for part, table in OTHER_PARTS.items() if package.has(part)}
    _hold_type(package, unknowns)
    book = root.find(f"{OFFICE}body/{OFFICE}spreadsheet")
    if book is None:
        raise package.unreadable("is an OpenDocument file, but not a spreadsheet; ask for the workbook")
    settings = book.find(f"{TABLE}calculation-settings")
    date_1904 = _counts_from_1904(package, settings)
    tables = book.findall(f"{TABLE}table")
    package.bound("sheets", len(tables))
    linked = [table for table in tables if table.find(f"{TABLE}table-source") is not None]
    own = [table for table in tables if table not in linked]
    observations = package.observations + tuple(("external link", table.get(NAME, "")) for table in linked)
    observations += tuple((what, CONTENT_PART) for tag, what in TOLD.items() if next(root.iter(tag), None) is not None)
    if settings is not None and settings.get(f"{TABLE}precision-as-shown") == "true":
        observations += ((ROUNDING, "precision-as-shown"),)
    styles = Styles(root, held.get("styles.xml"))
    reader, looks = SheetReader(package, unknowns, date_1904), SheetLooks(styles)
    sheets = tuple(_sheet(reader, table, looks) for table in own)
    if len({look_of(sheet.name) for sheet in sheets}) < len(sheets):
        raise package.unreadable(f"has two sheets of one name; {SAVE}")
    names, local_names = _names(package, book, own)
    unknowns.hold_spelling(Spelling(element.get(NAME, "") for element in book.iter(*NAMED)), sheets, CONTENT_PART)
    unknowns.hold_looks((*names, *(name.lower() for _, name, _ in local_names)), CONTENT_PART)
    return Workbook(package.path, sheets, names, local_names, observations, date_1904, tuple(unknowns))


def _held(package: Package, part: str, table: str, unknowns: Unknowns) -> "_Element":
    """The root of a part, held against its table."""
    root = package.xml(part)
    if part not in package.exact_names:
        unknowns.note(f"the part name {part!r} in other letters", part)
    for element, what in _grammar(table).unknown_in(root):
        sheet = next((each.get(NAME, "") for each in element.iterancestors(f"{TABLE}table")), "")
        unknowns.note(what, part, sheet)
    return root


def _hold_prefixes(package: Package, unknowns: Unknowns) -> None:
    """Notes a prefix of formulas that stands for nothing, or for something else: LibreOffice works none of them out."""
    data = package.utf8(CONTENT_PART)
    bound = {*BINDING.findall(data)}
    for prefix, meanings in FORMULA_PREFIXES.items():
        spaces = {space for name, space in bound if name == prefix}
        if spaces - meanings or (not spaces and b'="' + prefix + b":=" in data):
            unknowns.note(f"the prefix {prefix.decode()!r} of formulas, which stands for something else", CONTENT_PART)


@cache
def _grammar(table: str) -> Grammar:
    return Grammar(table, PREFIXES)


def _hold_type(package: Package, unknowns: Unknowns) -> None:
    """Notes a package that does not say that it is a spreadsheet. Raises Unreadable for a template."""
    kind = package.read("mimetype").decode("ascii", "replace") if package.has("mimetype") else ""
    if kind == f"{SPREADSHEET}-template":
        raise package.unreadable(f"is a template for spreadsheets (.ots); {SAVE}")
    if kind != SPREADSHEET:
        unknowns.note(f"the type {kind[:60]!r}", "mimetype")


def _counts_from_1904(package: Package, settings: "_Element | None") -> bool:
    """Whether serial numbers count from 1904. Raises Unreadable where they count from any third day."""
    usual, of_1904 = (str(day_zero(date_1904)) for date_1904 in (False, True))
    null_date = None if settings is None else settings.find(f"{TABLE}null-date")
    first_day = usual if null_date is None else null_date.get(f"{TABLE}date-value", usual)
    if first_day not in (usual, of_1904):
        raise package.unreadable(f"counts its days from {first_day[:10]}; set that back to {usual} and save it again")
    return first_day == of_1904


def _sheet(reader: SheetReader, table: "_Element", looks: SheetLooks) -> Sheet:
    """The sheet in a table. Raises Unreadable where it is damaged or beyond the limits."""
    name = table.get(NAME, "")
    said = looks.styles.said("table", table.get(f"{TABLE}style-name"))
    visibility = "hidden" if said.get(f"{TABLE}display") == "false" else "visible"
    cells = reader.cells(name, table)
    try:
        return Sheet(name, visibility, cells, looks.of(table))
    except ValueError as error:
        raise reader.package.damaged(f"the columns of sheet {name[:60]!r}", error) from None


def _names(
    package: Package, book: "_Element", tables: "Sequence[_Element]"
) -> tuple[dict[str, str], tuple[LocalName, ...]]:
    """The workbook-level names with their targets, and all other names."""
    names: dict[str, str] = {}
    others: list[LocalName] = []
    for element in book.iterfind(f"{TABLE}named-expressions/*"):
        name, target = element.get(NAME, ""), _target(element)
        if name.lower() in names:
            others.append(LocalName("", name, target))
        else:
            names[name.lower()] = target
    for table in tables:
        others += [
            LocalName(table.get(NAME, ""), element.get(NAME, ""), _target(element))
            for element in table.iterfind(f"{TABLE}named-expressions/*")
        ]
    package.bound("defined names", len(names) + len(others))
    return names, tuple(others)


def _target(element: "_Element") -> str:
    """The cells or the expression that a name stands for, in the spelling of .xlsx."""
    address = element.get(f"{TABLE}cell-range-address")
    return xlsx_address(address) if address else xlsx_formula(element.get(f"{TABLE}expression", ""))
