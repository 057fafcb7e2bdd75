"""Reads the sheets of an .ods: cells with their values and formulas (OpenDocument 1.3 part 3, 9.1 and 19.385)."""

import re
from collections.abc import Iterator
from decimal import Decimal
from typing import TYPE_CHECKING

from quotebook.engine.money import number
from quotebook.spreadsheets.cells import (
    Cell,
    CellAddress,
    Fault,
    StoredValue,
    existing_position,
    number_or_fault,
    parse_count,
    serial_of_iso_date,
)
from quotebook.spreadsheets.formula_text import is_oddly_spelled
from quotebook.spreadsheets.grammar import Unknowns
from quotebook.spreadsheets.openformula import has_excel_prefix, xlsx_formula
from quotebook.spreadsheets.package import Package

if TYPE_CHECKING:
    from lxml.etree import _Element

OFFICE, TABLE, TEXT = (f"{{urn:oasis:names:tc:opendocument:xmlns:{name}:1.0}}" for name in ("office", "table", "text"))
CONTENT_PART = "content.xml"
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
PARAGRAPH = f"{TEXT}p"
CHARACTERS = {f"{TEXT}tab": "\t", f"{TEXT}line-break": "\n"}
"""Elements that stand for one character."""
WHITE_SPACE = re.compile(r"[ \t\r\n]+")
NUMBER_SHOWN = re.compile(r"[0-9](?:[.,'\u2019\s]?[0-9])*")
"""Digits, with any country's separators between them."""
HALF = Decimal("0.500001")
"""Of the last decimal that is shown, which may be rounded either way; the rest is the noise of binary numbers."""
NOISE = Decimal("1E-14")
"""Of a number that is shown with more digits than spreadsheets keep."""
MOST_SPACES = 40_000
"""More than a text may hold. Without it, one repeat count could ask for any number of spaces."""
PREFIX = re.compile(r"(?:(?:of|oooc|msoxl):)?=")
"""How a formula begins, exactly: LibreOffice knows it by nothing else."""
ERROR = re.compile(r"#[A-Z0-9/]+[!?]?|Err:\d+")
DURATION = re.compile(r"(-?)PT(\d{1,9})H(\d{1,2})M(\d{1,2}(?:\.\d{1,9})?)S")


class SheetReader:
    """Reads the sheets of one workbook, and counts cells over all of them."""

    def __init__(self, package: Package, unknowns: Unknowns, date_1904: bool):
        self.package, self.unknowns, self.date_1904, self.count = package, unknowns, date_1904, 0
        self.sheet, self.row = "", 1

    def cells(self, sheet: str, table: "_Element") -> dict[tuple[int, int], Cell]:
        """The cells of a table that hold a value or a formula, by (row, column)."""
        cells: dict[tuple[int, int], Cell] = {}
        self.sheet, self.row = sheet, 1
        try:
            for element in lines(table, "row"):
                times, found = repetitions(element, "rows"), list(self._row(element))
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
            times, cell = repetitions(element, "columns"), self._cell(element)
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
            text = xlsx_formula(formula)
            if not PREFIX.match(formula) or (has_excel_prefix(formula) and is_oddly_spelled(text)):
                self.unknowns.note("a formula in a spelling that programs read differently", CONTENT_PART, self.sheet)
            return Cell(self._result(element, value), text)
        return None if value is None else Cell(value, None)

    def _value(self, element: "_Element") -> StoredValue:
        """The value of a cell, by the type that the cell gives. Raises ValueError and LookupError for a damaged one."""
        match element.get(f"{OFFICE}value-type"):
            case "float" | "percentage" | "currency":
                value = number_or_fault(element.get(f"{OFFICE}value", ""))
                if isinstance(value, Decimal) and _is_shown_otherwise(value, self._displayed_text(element)):
                    self.unknowns.note("a number that is shown as another", CONTENT_PART, self.sheet)
                return value
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


def _is_shown_otherwise(number: Decimal, displayed: str) -> bool:
    """Whether the number in a cell's text is not the cell's own, rounded to some decimals.

    A text without a number, with an exponent, or with several, such as a day, is not looked at.
    """
    numbers = NUMBER_SHOWN.findall(displayed)
    if len(numbers) != 1 or "E" in displayed.upper():
        return False
    digits = re.sub(r"[^0-9]", "", numbers[0])
    shown, exact = int(digits), abs(number) * (100 if "%" in displayed else 1)
    noise = max(HALF, shown * NOISE)
    return not any(abs(exact.scaleb(places) - shown) <= noise for places in range(len(digits)))


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
    if {element.get(f"{TABLE}number-matrix-{what}-spanned") for what in ("columns", "rows")} not in ({None}, {"1"}):
        return "a formula that fills other cells"
    return ""


def lines(table: "_Element", line: str) -> "Iterator[_Element]":
    """The rows or the columns of a table (`line` is "row" or "column"), those in groups too, however deep they are."""
    one, *groups = (f"{TABLE}table-{what}" for what in (line, f"{line}-group", f"header-{line}s", f"{line}s"))
    waiting = [table.iterchildren(one, *groups)]
    while waiting:
        for element in waiting[-1]:
            if element.tag == one:
                yield element
            else:
                waiting.append(element.iterchildren(one, *groups))
                break
        else:
            waiting.pop()


def repetitions(element: "_Element", what: str) -> int:
    """How often a row, a column or a cell is repeated; `what` is "rows" or "columns". Raises ValueError."""
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
