"""Reads an .xlsx as cells and names (ECMA-376 parts 1 and 2), in one pass over each part that matters.

The reader relies only on what the standard promises: it finds parts through relationships and tags by their
namespace (transitional or strict), and it counts positions where cells do not give them.
"""

import posixpath
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from decimal import Decimal
from functools import lru_cache
from typing import TYPE_CHECKING

from quotebook.spreadsheets.cells import (
    Cell,
    Fault,
    LocalName,
    Sheet,
    StoredValue,
    Workbook,
    existing_position,
    number_or_fault,
    parse_count,
    position_of,
    serial_of_iso_date,
)
from quotebook.spreadsheets.package import AGAIN, ROUNDING, SAVE, Package

if TYPE_CHECKING:
    from lxml.etree import _Element
    from openpyxl.formula.translate import Translator

MAIN = (
    "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}",
    "{http://purl.oclc.org/ooxml/spreadsheetml/main}",
)
"""The namespace of sheets and cells, transitional and strict."""
LINK = (
    "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id",
    "{http://purl.oclc.org/ooxml/officeDocument/relationships}id",
)
"""The attribute by which an element names a relationship, transitional and strict."""
ESCAPE = re.compile(r"_x([0-9A-Fa-f]{4})_")

Relationships = dict[str | None, tuple[str, str]]
"""What a part points to inside the package: {id: (kind, member)}."""


def read(package: Package) -> Workbook:
    """The workbook in a package. Raises Unreadable where it is damaged or beyond the limits."""
    part = _linked(package, _relationships(package, ""), "officeDocument")
    book = package.xml(part)
    main = next((main for main in MAIN if book.tag == f"{main}workbook"), None)
    if main is None:
        raise package.unreadable(f"its main part {part[:60]!r} is not a workbook; ask for the workbook, saved as .xlsx")
    links = _relationships(package, part)
    properties = book.find(f"{main}workbookPr")
    date_1904 = properties is not None and properties.get("date1904") in ("1", "true")
    reader = _SheetReader(package, main, _shared_strings(package, main, links), date_1904)
    listed = book.findall(f"{main}sheets/{main}sheet")
    package.bound("sheets", len(listed))
    sheets = tuple(_sheet(reader, element, links) for element in listed)
    titles = [sheet.name for sheet in sheets]
    if len({title.lower() for title in titles}) < len(titles):
        raise package.unreadable(f"has two sheets of one name; {SAVE}")
    names, local_names = _names(package, book.findall(f"{main}definedNames/{main}definedName"), titles)
    observations, settings = package.observations, book.find(f"{main}calcPr")
    if settings is not None and settings.get("fullPrecision") in ("0", "false"):
        observations += ((ROUNDING, "fullPrecision"),)
    return Workbook(package.path, sheets, names, local_names, observations, date_1904)


def _root(package: Package, member: str, tag: str) -> "_Element":
    """The root of a part that must have this tag. Raises Unreadable."""
    root = package.xml(member)
    if root.tag != tag:
        raise package.unreadable(f"part {member[:60]!r} is not what its links say; {SAVE}")
    return root


def _relationships(package: Package, part: str) -> Relationships:
    """The relationships of a part, or of the package itself (""), that stay inside the package."""
    folder, file = posixpath.split(part)
    member = posixpath.join(folder, "_rels", f"{file}.rels")
    if not package.has(member):
        return {}
    return {
        element.get("Id"): (
            element.get("Type", "").rpartition("/")[2],
            posixpath.normpath(posixpath.join("/", folder, element.get("Target", ""))).lstrip("/"),
        )
        for element in package.xml(member)
        if element.get("TargetMode") != "External"
    }


def _linked(package: Package, links: Relationships, wanted: str) -> str:
    """The first member that a relationship of the wanted kind points to. Raises Unreadable where there is none."""
    for kind, member in links.values():
        if kind == wanted:
            return member
    raise package.unreadable(f"does not say where its {wanted} is; {AGAIN}")


def _shared_strings(package: Package, main: str, links: Relationships) -> dict[str, str]:
    """The texts that cells share, by the number that a cell gives."""
    for kind, member in links.values():
        if kind == "sharedStrings":
            items = enumerate(_root(package, member, f"{main}sst").iterchildren(f"{main}si"))
            return {str(index): _text(package, item, f"{main}t", f"{main}r") for index, item in items}
    return {}


def _text(package: Package, item: "_Element", plain: str, run: str) -> str:
    """The text of a string item: plain, or its runs in order; phonetic hints are left out."""
    text = ""
    for child in item:
        if child.tag == plain:
            text += child.text or ""
        elif child.tag == run:
            text += child.findtext(plain) or ""
    return _unescaped(package, text)


def _unescaped(package: Package, text: str) -> str:
    """`text` with its `_x000D_` escapes replaced (ECMA-376 part 1, 22.9.2.19, ST_Xstring).

    Raises Unreadable for a text longer than a cell may hold.
    """
    package.bound("characters in one text", len(text))
    if "_x" not in text:
        return text
    text = ESCAPE.sub(lambda match: chr(int(match[1], 16)), text)
    return text.encode("utf-16-le", "surrogatepass").decode("utf-16-le", "replace")


def _sheet(reader: "_SheetReader", element: "_Element", links: Relationships) -> Sheet:
    """The sheet that an element of the workbook part lists. A sheet of another kind than cells is empty."""
    name = _unescaped(reader.package, element.get("name", ""))
    state = element.get("state")
    kind, member = links.get(element.get(LINK[0]) or element.get(LINK[1]), ("", ""))
    if not member:
        raise reader.package.unreadable(f"does not say where sheet {name[:60]!r} is; {AGAIN}")
    cells = reader.cells(name, member) if kind == "worksheet" else {}
    return Sheet(name, state if state in ("hidden", "veryHidden") else "visible", cells)


def _names(
    package: Package, elements: "Sequence[_Element]", titles: Iterable[str]
) -> tuple[dict[str, str], tuple[LocalName, ...]]:
    """The workbook-level names with their targets, and all other names."""
    package.bound("defined names", len(elements))
    names: dict[str, str] = {}
    local_names: list[LocalName] = []
    by_number = {str(number): title for number, title in enumerate(titles)}
    for element in elements:
        name, scope = _unescaped(package, element.get("name", "")), element.get("localSheetId")
        key = name.lower()
        if key.startswith("_xlnm."):
            continue
        target = _unescaped(package, element.text or "")
        if scope is not None:
            local_names.append(LocalName(by_number.get(scope, ""), name, target))
        elif key in names:
            local_names.append(LocalName("", name, target))
        else:
            names[key] = target
    return names, tuple(local_names)


class _SheetReader:
    """Reads the sheets of one workbook; holds what they share, and counts cells over all of them."""

    def __init__(self, package: Package, main: str, strings: dict[str, str], date_1904: bool):
        self.package, self.main = package, main
        self.v, self.f, self.inline, self.t, self.r = (main + tag for tag in ("v", "f", "is", "t", "r"))
        self.count = self.shared_text = 0
        self.masters: dict[str | None, tuple[str, tuple[int, int]]] = {}
        """Shared formulas of the sheet being read, by their index: text and position."""
        self.value_of: dict[str | None, Callable[[str], StoredValue]] = {
            None: number_or_fault,
            "n": number_or_fault,
            "s": strings.__getitem__,
            "str": lambda text: _unescaped(package, text),
            "inlineStr": lambda text: _unescaped(package, text),
            "b": {"1": True, "0": False, "true": True, "false": False}.__getitem__,
            "e": lambda text: Fault(_unescaped(package, text)),
            "d": lambda text: _serial(text, date_1904),
        }
        """What turns the text of a cell into its value, by the kind that the cell gives (ST_CellType)."""

    def cells(self, sheet: str, member: str) -> dict[tuple[int, int], Cell]:
        """The cells of a sheet that hold a value or a formula, by (row, column)."""
        root = _root(self.package, member, f"{self.main}worksheet")
        cells: dict[tuple[int, int], Cell] = {}
        at = (0, 0)
        self.masters.clear()
        try:
            for at, element in _positions(root, self.main):
                cell = self._cell(element, at)
                if cell and cells.setdefault(at, cell) is not cell:
                    raise ValueError("two cells in one place")
        except (ValueError, LookupError) as error:
            where = f"sheet {sheet[:60]!r} at or after row {at[0]}, column {at[1]}"
            raise self.package.damaged(where, error) from None
        self.count += len(cells)
        self.package.bound("cells", self.count)
        return cells

    def _cell(self, element: "_Element", at: tuple[int, int]) -> Cell | None:
        """The cell in an element; None where it holds nothing. Raises ValueError and LookupError for a damaged one."""
        value: StoredValue = None
        formula: str | None = None
        for child in element:
            tag = child.tag
            if tag == self.f:
                formula = self._formula(child, at)
            elif value is not None and tag in (self.v, self.inline):
                raise ValueError("a cell with two values")
            elif tag == self.v:
                kind, text = element.get("t"), child.text
                if text or kind == "str":
                    value = self.value_of[kind](text or "")
            elif tag == self.inline:
                value = _text(self.package, child, self.t, self.r)
        return None if value is None and formula is None else Cell(value, formula)

    def _formula(self, element: "_Element", at: tuple[int, int]) -> str | None:
        """The text of a formula; a shared formula is translated to its own cell."""
        text = _unescaped(self.package, element.text or "").removeprefix("=")
        kind = element.get("t")
        if kind == "dataTable":  # the cell's value comes from the table, whatever text stands here
            return f"TABLE({element.get('r1', '')},{element.get('r2', '')})"
        if kind != "shared":
            return text or None
        key = element.get("si")
        if text and (element.get("ref") or key not in self.masters):
            self.masters[key] = text, at
            return text
        text, (row, column) = self.masters[key]
        text = _translated(text, at[0] - row, at[1] - column)
        self.shared_text += len(text)
        self.package.bound("characters of shared formulas", self.shared_text)
        return text


def _positions(root: "_Element", main: str) -> "Iterator[tuple[tuple[int, int], _Element]]":
    """The (row, column) and element of each cell that is not blank. Raises ValueError where no sheet has the cell."""
    row = 0
    for line in root.iterfind(f"{main}sheetData/{main}row"):
        row, column = parse_count(line.get("r") or str(row + 1)), 0
        for element in line.iterchildren(f"{main}c"):
            reference = element.get("r")
            row, column = at = position_of(reference) if reference else existing_position(row, column + 1)
            if len(element):
                yield at, element


def _serial(text: str, date_1904: bool) -> Decimal:
    """The serial number of an ISO date. Those from 1900 count a 29 February 1900 that never was, so the days before
    it are one lower (ECMA-376 part 1, 18.17.4.1)."""
    serial = serial_of_iso_date(text, date_1904)
    return serial if serial >= 61 or date_1904 else serial - 1


def _translated(formula: str, rows: int, columns: int) -> str:
    """A formula moved by so many rows and columns. Raises ValueError where that is not possible."""
    from openpyxl.formula.tokenizer import TokenizerError
    from openpyxl.formula.translate import TranslatorError

    try:
        moved: str = _translator(formula).translate_formula(row_delta=rows, col_delta=columns)
    except (TokenizerError, TranslatorError):
        raise ValueError("a shared formula that cannot be moved") from None
    return moved.removeprefix("=")


@lru_cache(maxsize=8)
def _translator(formula: str) -> "Translator":
    """A translator of one formula, cached because a shared formula is moved to many cells in a row."""
    from openpyxl.formula.translate import Translator

    return Translator(f"={formula}", "A1")
