"""Reads an .ods as cells and names (OpenDocument 1.3, parts 3 and 4), in the types and the spelling of .xlsx.

Repeated cells and rows are counted before they are copied. Dates become the serial numbers that an .xlsx would hold.
What the tables in `ods_tables` do not have is noted, since other programs may read it.
"""

import re
from collections.abc import Iterator, Sequence
from decimal import Decimal
from functools import cache
from typing import TYPE_CHECKING

from quotebook.engine.money import number
from quotebook.spreadsheets.cells import (
    Cell,
    CellAddress,
    Fault,
    LocalName,
    Sheet,
    StoredValue,
    Workbook,
    day_zero,
    existing_position,
    look_of,
    number_or_fault,
    parse_count,
    serial_of_iso_date,
)
from quotebook.spreadsheets.grammar import Grammar, Unknowns
from quotebook.spreadsheets.ods_tables import CONTENT, MANIFEST, PREFIXES, SETTINGS, STYLES
from quotebook.spreadsheets.openformula import xlsx_address, xlsx_formula
from quotebook.spreadsheets.package import ROUNDING, SAVE, Package

if TYPE_CHECKING:
    from lxml.etree import _Element

OFFICE, TABLE, TEXT, STYLE = (
    f"{{urn:oasis:names:tc:opendocument:xmlns:{name}:1.0}}" for name in ("office", "table", "text", "style")
)
NAME = f"{TABLE}name"
CONTENT_PART = "content.xml"
OTHER_PARTS = {"META-INF/manifest.xml": MANIFEST, "settings.xml": SETTINGS, "styles.xml": STYLES}
SPREADSHEET = "application/vnd.oasis.opendocument.spreadsheet"
TOLD = {
    f"{OFFICE}event-listeners": "macro",
    f"{OFFICE}script": "macro",
    f"{TABLE}error-macro": "macro",
    f"{TABLE}data-pilot-table": "pivot table",
}
"""Elements that are told wherever they stand, each with what it is."""
CALCEXT_TYPE = "{urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0}value-type"
VALUES = {
    "float": ("value",),
    "percentage": ("value",),
    "currency": ("value", "currency"),
    "date": ("date-value",),
    "time": ("time-value",),
    "boolean": ("boolean-value",),
    "string": ("string-value",),
}
"""The attributes that may give the value of a cell, by the type that it gives (part 3, 19.385)."""
CELLS = (f"{TABLE}table-cell", f"{TABLE}covered-table-cell")
ROW = f"{TABLE}table-row"
ROW_GROUPS = (f"{TABLE}table-row-group", f"{TABLE}table-header-rows", f"{TABLE}table-rows")
PARAGRAPH = f"{TEXT}p"
CHARACTERS = {f"{TEXT}tab": "\t", f"{TEXT}line-break": "\n"}
"""Elements that stand for one character."""
WHITE_SPACE = re.compile(r"[ \t\r\n]+")
MOST_SPACES = 40_000
"""More than a text may hold. Without it, one repeat count could ask for any number of spaces."""
ERROR = re.compile(r"#[A-Z0-9/]+[!?]?|Err:\d+")
DURATION = re.compile(r"(-?)PT(\d{1,9})H(\d{1,2})M(\d{1,2}(?:\.\d{1,9})?)S")


def read(package: Package) -> Workbook:
    """The workbook in a package. Raises Unreadable where it is damaged or beyond the limits."""
    unknowns = Unknowns()
    root = _held(package, CONTENT_PART, CONTENT, unknowns)
    for part, table in OTHER_PARTS.items():
        if package.has(part):
            _held(package, part, table, unknowns)
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
    reader, hidden = _SheetReader(package, unknowns, date_1904), _hidden_styles(root)
    sheets = tuple(_sheet(reader, table, hidden) for table in own)
    if len({look_of(sheet.name) for sheet in sheets}) < len(sheets):
        raise package.unreadable(f"has two sheets of one name; {SAVE}")
    names, local_names = _names(package, book, own)
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


def _hidden_styles(root: "_Element") -> set[str | None]:
    """The names of the table styles that hide a sheet."""
    return {
        style.get(f"{STYLE}name")
        for style in root.iterfind(f"{OFFICE}automatic-styles/{STYLE}style")
        for properties in style.iterfind(f"{STYLE}table-properties")
        if properties.get(f"{TABLE}display") == "false"
    }


def _sheet(reader: "_SheetReader", table: "_Element", hidden: set[str | None]) -> Sheet:
    """The sheet in a table; `hidden` has the names of the styles that hide one."""
    name = table.get(NAME, "")
    visibility = "hidden" if table.get(f"{TABLE}style-name") in hidden else "visible"
    return Sheet(name, visibility, reader.cells(name, table))


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


class _SheetReader:
    """Reads the sheets of one workbook, and counts cells over all of them."""

    def __init__(self, package: Package, unknowns: Unknowns, date_1904: bool):
        self.package, self.unknowns, self.date_1904, self.count = package, unknowns, date_1904, 0
        self.sheet, self.row = "", 1

    def cells(self, sheet: str, table: "_Element") -> dict[tuple[int, int], Cell]:
        """The cells of a table that hold a value or a formula, by (row, column)."""
        cells: dict[tuple[int, int], Cell] = {}
        self.sheet, self.row = sheet, 1
        try:
            for element in _rows(table):
                times, found = _repetitions(element, "rows"), list(self._row(element))
                self.count += len(found) * times
                self.package.bound("cells", self.count)
                for below in range(times if found else 0):
                    cells |= {existing_position(self.row + below, column): cell for column, cell in found}
                self.row += times
        except (ValueError, LookupError) as error:
            raise self.package.damaged(f"sheet {sheet[:60]!r} at or after row {self.row}", error) from None
        return cells

    def _row(self, row: "_Element") -> Iterator[tuple[int, Cell]]:
        """The cells of a row that hold a value or a formula, each with its column."""
        column = 1
        for element in row.iterchildren(*CELLS):
            times, cell = _repetitions(element, "columns"), self._cell(element)
            if cell:
                if what := _twofold(element):
                    place = CellAddress(self.sheet, self.row, column).cell
                    self.unknowns.note(what, CONTENT_PART, self.sheet, place)
                existing_position(1, column + times - 1)  # before the cell is copied, perhaps without end
                yield from ((column + beside, cell) for beside in range(times))
            column += times

    def _cell(self, element: "_Element") -> Cell | None:
        """The cell in an element; None where it holds nothing."""
        formula, value = element.get(f"{TABLE}formula"), self._value(element)
        if formula is not None:
            return Cell(self._result(element, value), xlsx_formula(formula))
        return None if value is None else Cell(value, None)

    def _value(self, element: "_Element") -> StoredValue:
        """The value of a cell, by the type that the cell gives. Raises ValueError and LookupError for a damaged one."""
        match element.get(f"{OFFICE}value-type"):
            case "float" | "percentage" | "currency":
                return number_or_fault(element.get(f"{OFFICE}value", ""))
            case "date":
                return serial_of_iso_date(element.get(f"{OFFICE}date-value", ""), self.date_1904)
            case "time":
                return _days(element.get(f"{OFFICE}time-value", ""))
            case "boolean":
                return {"true": True, "false": False}[element.get(f"{OFFICE}boolean-value", "")]
            case "string":
                text = element.get(f"{OFFICE}string-value")
                displayed = self._displayed_text(element)
                if text is not None and self._differs(element, text, displayed):
                    self.unknowns.note("a text that is shown as another", CONTENT_PART, self.sheet)
                return displayed if text is None else self._bounded(text)
            case None:  # programs take such a cell for a text
                return self._displayed_text(element) or None
        return None

    def _differs(self, element: "_Element", text: str, displayed: str) -> bool:
        """Whether a cell shows another text than its own. An error is shown, and has no text of its own."""
        if element.find(PARAGRAPH) is None or text.split() == displayed.split():
            return False
        return bool(text) or element.get(f"{TABLE}formula") is None or not ERROR.fullmatch(displayed)

    def _result(self, element: "_Element", value: StoredValue) -> StoredValue:
        """The cached value of a formula. Errors, and some empty texts, are only in the displayed text."""
        if value is not None and not isinstance(value, str):
            return value
        displayed = self._displayed_text(element)
        if ERROR.fullmatch(displayed):
            return Fault(displayed)
        return displayed if value is None and element.find(PARAGRAPH) is not None else value

    def _displayed_text(self, element: "_Element") -> str:
        """The paragraphs of a cell, a line each. Raises Unreadable as soon as they are longer than a cell may hold."""
        text = ""
        for index, paragraph in enumerate(element.iterchildren(PARAGRAPH)):
            text += "\n" if index else ""
            for piece in _paragraph_text(paragraph):
                text = self._bounded(text + piece)
        return text

    def _bounded(self, text: str) -> str:
        """`text` unchanged. Raises Unreadable where it is longer than a cell may hold."""
        self.package.bound("characters in one text", len(text))
        return text


def _twofold(element: "_Element") -> str:
    """What makes programs differ over the value of a cell: a second value, type or place; "" where nothing does."""
    kind = element.get(f"{OFFICE}value-type")
    values = {name[len(OFFICE) :] for name in map(str, element.keys()) if name.startswith(OFFICE)} - {"value-type"}
    if kind is None:
        return "a value without a type" if values else ""
    if not values.issubset(VALUES.get(kind, ())):
        return f"a value of another type than {kind[:20]}"
    if element.get(CALCEXT_TYPE, kind) not in (kind, "error"):
        return "two types of one value"
    if {element.get(f"{TABLE}number-matrix-{what}-spanned", "1") for what in ("columns", "rows")} != {"1"}:
        return "a formula that fills other cells"
    return ""


def _rows(table: "_Element") -> "Iterator[_Element]":
    """The rows of a table, including those in groups, however deep the groups are."""
    waiting = [table.iterchildren(ROW, *ROW_GROUPS)]
    while waiting:
        for element in waiting[-1]:
            if element.tag == ROW:
                yield element
            else:
                waiting.append(element.iterchildren(ROW, *ROW_GROUPS))
                break
        else:
            waiting.pop()


def _repetitions(element: "_Element", what: str) -> int:
    """How often a row or cell is repeated; `what` is "rows" or "columns". Raises ValueError."""
    times = parse_count(element.get(f"{TABLE}number-{what}-repeated", "1"))
    if not times:
        raise ValueError("repeated 0 times")
    return times


def _paragraph_text(paragraph: "_Element") -> Iterator[str]:
    """The text of a paragraph in pieces; a run of white space counts as one space (part 3, 6.1.2)."""
    from lxml import etree

    for event, node in etree.iterwalk(paragraph, events=("start", "end")):
        if event == "end":
            yield "" if node is paragraph else WHITE_SPACE.sub(" ", node.tail or "")
        elif node.tag == f"{TEXT}s":
            yield " " * min(parse_count(node.get(f"{TEXT}c", "1")), MOST_SPACES)
        else:
            yield CHARACTERS.get(node.tag) or WHITE_SPACE.sub(" ", node.text or "")


def _days(duration: str) -> Decimal:
    """A duration of hours, minutes and seconds (ISO 8601) in days. Raises ValueError for any other text."""
    match = DURATION.fullmatch(duration)
    if not match:
        raise ValueError(f"not a time: {duration[:40]!r}")
    sign, hours, minutes, seconds = match.groups()
    days = (int(hours) * 3600 + int(minutes) * 60 + float(seconds)) / 86400
    return number(-days if sign else days)
