"""An .ods as cells and names (OpenDocument 1.3, parts 3 and 4), in the shapes and the spelling of .xlsx.

Repeated cells and rows are counted before they are written out. Dates become the serial numbers that
an .xlsx would hold.
"""

import re
from decimal import Decimal

from quotebook.engine.money import number
from quotebook.spreadsheets.cells import (
    Cell,
    Fault,
    LocalName,
    Sheet,
    Workbook,
    day_zero,
    number_or_fault,
    serial_of,
    whole,
    within,
)
from quotebook.spreadsheets.openformula import address, excel
from quotebook.spreadsheets.package import ROUNDING, SAVE, Package

OFFICE, TABLE, CONTENT, STYLE = (
    f"{{urn:oasis:names:tc:opendocument:xmlns:{name}:1.0}}" for name in ("office", "table", "text", "style")
)
NAME = f"{TABLE}name"
CELL = (f"{TABLE}table-cell", f"{TABLE}covered-table-cell")
ROW = f"{TABLE}table-row"
ROW_GROUPS = (f"{TABLE}table-row-group", f"{TABLE}table-header-rows", f"{TABLE}table-rows")
PARAGRAPH = f"{CONTENT}p"
SIGNS = {f"{CONTENT}tab": "\t", f"{CONTENT}line-break": "\n"}
BLANKS = re.compile(r"[ \t\r\n]+")
LONGEST_BLANK = 40_000
"""More than a text may have: one number could ask for any amount of spaces."""
ERROR = re.compile(r"#[A-Z0-9/]+[!?]?|Err:\d+")
DURATION = re.compile(r"(-?)PT(\d{1,9})H(\d{1,2})M(\d{1,2}(?:\.\d{1,9})?)S")


def read(package: Package) -> Workbook:
    root = package.xml("content.xml")
    book = root.find(f"{OFFICE}body/{OFFICE}spreadsheet")
    if book is None:
        raise package.unreadable("is an OpenDocument file, but not a spreadsheet; ask for the workbook")
    settings = book.find(f"{TABLE}calculation-settings")
    date_1904 = _counts_from_1904(package, settings)
    tables = book.findall(f"{TABLE}table")
    package.bound("sheets", len(tables))
    copies = [table for table in tables if table.find(f"{TABLE}table-source") is not None]
    tables = [table for table in tables if table not in copies]
    observations = package.observations + tuple(("external link", table.get(NAME, "")) for table in copies)
    if settings is not None and settings.get(f"{TABLE}precision-as-shown") == "true":
        observations += ((ROUNDING, "precision-as-shown"),)
    reader, hidden = _SheetReader(package, date_1904), _hidden_styles(root)
    sheets = tuple(_sheet(reader, table, hidden) for table in tables)
    if len({sheet.name.lower() for sheet in sheets}) < len(sheets):
        raise package.unreadable(f"has two sheets of one name; {SAVE}")
    names, local_names = _names(package, book, tables)
    return Workbook(package.path, sheets, names, local_names, observations, date_1904)


def _counts_from_1904(package: Package, settings) -> bool:
    """Whether serial numbers of dates do. Raises Unreadable where they count from a third day."""
    usual, of_1904 = (str(day_zero(date_1904)) for date_1904 in (False, True))
    first_day = None if settings is None else settings.find(f"{TABLE}null-date")
    first_day = usual if first_day is None else first_day.get(f"{TABLE}date-value", usual)
    if first_day not in (usual, of_1904):
        raise package.unreadable(f"counts its days from {first_day[:10]}; set that back to {usual} and save it again")
    return first_day == of_1904


def _hidden_styles(root) -> set[str | None]:
    return {
        style.get(f"{STYLE}name")
        for style in root.iterfind(f"{OFFICE}automatic-styles/{STYLE}style")
        for properties in style.iterfind(f"{STYLE}table-properties")
        if properties.get(f"{TABLE}display") == "false"
    }


def _sheet(reader: "_SheetReader", table, hidden: set[str | None]) -> Sheet:
    name = table.get(NAME, "")
    visibility = "hidden" if table.get(f"{TABLE}style-name") in hidden else "visible"
    return Sheet(name, visibility, reader.cells(name, table))


def _names(package: Package, book, tables) -> tuple[dict[str, str], tuple[LocalName, ...]]:
    """Workbook-level names with their targets, and the rest."""
    names, others = {}, []
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


def _target(element) -> str:
    place = element.get(f"{TABLE}cell-range-address")
    return address(place) if place else excel(element.get(f"{TABLE}expression", ""))


class _SheetReader:
    """Reads sheets one after another; counts cells over all of them."""

    def __init__(self, package: Package, date_1904: bool):
        self.package, self.date_1904, self.count = package, date_1904, 0

    def cells(self, sheet: str, table) -> dict[tuple[int, int], Cell]:
        """The cells of a table that hold a value or a formula, by (row, column)."""
        cells, row = {}, 1
        try:
            for line in _lines(table):
                times, found = _times(line, "rows"), list(self._line(line))
                self.count += len(found) * times
                self.package.bound("cells", self.count)
                for below in range(times if found else 0):
                    cells |= {within(row + below, column): cell for column, cell in found}
                row += times
        except (ValueError, LookupError) as error:
            raise self.package.damaged(f"sheet {sheet[:60]!r} at or after row {row}", error) from None
        return cells

    def _line(self, line):
        """The cells of a row that hold a value or a formula, each with its column."""
        column = 1
        for element in line.iterchildren(*CELL):
            times, cell = _times(element, "columns"), self._cell(element)
            if cell:
                within(1, column + times - 1)
                yield from ((column + beside, cell) for beside in range(times))
            column += times

    def _cell(self, element) -> Cell | None:
        formula, value = element.get(f"{TABLE}formula"), self._value(element)
        if formula is not None:
            return Cell(self._result(element, value), excel(formula))
        return None if value is None else Cell(value, None)

    def _value(self, element) -> Decimal | str | bool | None:
        match element.get(f"{OFFICE}value-type"):
            case "float" | "percentage" | "currency":
                return number_or_fault(element.get(f"{OFFICE}value", ""))
            case "date":
                return serial_of(element.get(f"{OFFICE}date-value", ""), self.date_1904)
            case "time":
                return _days(element.get(f"{OFFICE}time-value", ""))
            case "boolean":
                return {"true": True, "false": False}[element.get(f"{OFFICE}boolean-value")]
            case "string":
                text = element.get(f"{OFFICE}string-value")
                return self._shown(element) if text is None else self._bounded(text)
            case None:  # programs take it for a text
                return self._shown(element) or None
        return None

    def _result(self, element, value):
        """A formula's cached value; an error, and sometimes an empty text, stand only in what is shown."""
        if value is not None and not isinstance(value, str):
            return value
        shown = self._shown(element)
        if ERROR.fullmatch(shown):
            return Fault(shown)
        return shown if value is None and element.find(PARAGRAPH) is not None else value

    def _shown(self, element) -> str:
        text = ""
        for index, paragraph in enumerate(element.iterchildren(PARAGRAPH)):
            text += "\n" if index else ""
            for piece in _characters(paragraph):
                text = self._bounded(text + piece)
        return text

    def _bounded(self, text: str) -> str:
        self.package.bound("characters in one text", len(text))
        return text


def _lines(table):
    """The rows of a table, those in groups too."""
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


def _times(element, what: str) -> int:
    """How often a row or cell stands there. Raises ValueError."""
    times = whole(element.get(f"{TABLE}number-{what}-repeated", "1"))
    if not times:
        raise ValueError("repeated 0 times")
    return times


def _characters(paragraph):
    """The text of a paragraph in pieces: runs of white space are one space (part 3, 6.1.2)."""
    from lxml import etree

    for event, node in etree.iterwalk(paragraph, events=("start", "end")):
        if event == "end":
            yield "" if node is paragraph else BLANKS.sub(" ", node.tail or "")
        elif node.tag == f"{CONTENT}s":
            yield " " * min(whole(node.get(f"{CONTENT}c", "1")), LONGEST_BLANK)
        else:
            yield SIGNS.get(node.tag) or BLANKS.sub(" ", node.text or "")


def _days(duration: str) -> Decimal:
    """A duration of hours, minutes and seconds in days. Raises ValueError."""
    match = DURATION.fullmatch(duration)
    if not match:
        raise ValueError(f"not a time: {duration[:40]!r}")
    sign, hours, minutes, seconds = match.groups()
    days = (int(hours) * 3600 + int(minutes) * 60 + float(seconds)) / 86400
    return number(-days if sign else days)
