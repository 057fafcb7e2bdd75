"""An .xlsx as cells and names (ECMA-376 parts 1 and 2), in one pass over each part that matters.

Only what the standard promises is relied on: parts are found through relationships, tags by their
namespace (transitional or strict), and positions are counted where cells do not give them.
"""

import posixpath
import re
from functools import lru_cache

from .cells import (
    CELLS, NAMES, SHEETS, TEXT, Cell, Fault, Sheet, Workbook, number_or_fault, place, serial_of, within,
)  # fmt: skip
from .package import AGAIN, SAVE, Package

MAIN = (
    "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}",
    "{http://purl.oclc.org/ooxml/spreadsheetml/main}",
)
LINK = (
    "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id",
    "{http://purl.oclc.org/ooxml/officeDocument/relationships}id",
)
SHARED_TEXT = 1_000_000
"""Characters of formulas that copy a shared one: one of 32,767 shared by every cell would fill any memory."""

ESCAPE = re.compile(r"_x([0-9A-Fa-f]{4})_")


def read(package: Package) -> Workbook:
    part = _target(_relationships(package, ""), "officeDocument", package)
    book = package.xml(part)
    main = _namespace(package, book, "workbook", part)
    links = _relationships(package, part)
    properties = book.find(f"{main}workbookPr")
    date_1904 = properties is not None and properties.get("date1904") in ("1", "true")
    reader = _SheetReader(package, _shared_strings(package, links), date_1904)
    listed = book.findall(f"{main}sheets/{main}sheet")
    _bound(package, len(listed), SHEETS, "sheets")
    sheets = tuple(_sheet(reader, element, links) for element in listed)
    titles = [sheet.name for sheet in sheets]
    if len({title.lower() for title in titles}) < len(titles):
        raise package.unreadable(f"has two sheets of one name; {SAVE}")
    names, local_names = _names(package, book.findall(f"{main}definedNames/{main}definedName"), titles)
    return Workbook(package.path, sheets, names, local_names, package.observations, date_1904)


def _bound(package: Package, count: int, limit: int, what: str) -> None:
    if count > limit:
        raise package.unreadable(f"has more than {limit:,} {what}; {SAVE}, without what was added")


def _namespace(package: Package, root, tag: str, part: str) -> str:
    for main in MAIN:
        if root.tag == main + tag:
            return main
    raise package.unreadable(f"part {part!r} is not a {tag} of spreadsheet cells; {SAVE}")


def _relationships(package: Package, part: str) -> dict[str, tuple[str, str]]:
    """What a part (the package itself: "") points to inside the package: {id: (kind, member)}."""
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


def _target(links: dict[str, tuple[str, str]], wanted: str, package: Package) -> str:
    for kind, member in links.values():
        if kind == wanted:
            return member
    raise package.unreadable(f"does not say where its {wanted} is; {AGAIN}")


def _shared_strings(package: Package, links) -> list[str]:
    for kind, member in links.values():
        if kind == "sharedStrings":
            root = package.xml(member)
            main = _namespace(package, root, "sst", member)
            return [_text(package, item, main) for item in root.iterfind(f"{main}si")]
    return []


def _text(package: Package, item, main: str) -> str:
    """The text of a string item: plain, or its runs one after another; how it is pronounced is left out."""
    plain, run = f"{main}t", f"{main}r"
    pieces = []
    for child in item:
        if child.tag == plain:
            pieces.append(child.text or "")
        elif child.tag == run:
            pieces.extend(text.text or "" for text in child.iterfind(plain))
    return _unescaped(package, "".join(pieces))


def _unescaped(package: Package, text: str) -> str:
    """Text without its `_x000D_` escapes (ECMA-376 part 1, 22.9.2.19, ST_Xstring). Raises Unreadable if too long."""
    _bound(package, len(text), TEXT, "characters in one text")
    if "_x" not in text:
        return text
    text = ESCAPE.sub(lambda match: chr(int(match[1], 16)), text)
    return text.encode("utf-16-le", "surrogatepass").decode("utf-16-le", "replace")


def _sheet(reader: "_SheetReader", element, links) -> Sheet:
    name = _unescaped(reader.package, element.get("name", ""))
    state = element.get("state")
    kind, member = links.get(element.get(LINK[0]) or element.get(LINK[1]), ("", ""))
    if not member:
        raise reader.package.unreadable(f"does not say where sheet {name!r} is; {AGAIN}")
    cells = reader.cells(name, member) if kind == "worksheet" else {}
    return Sheet(name, state if state in ("hidden", "veryHidden") else "visible", cells)


def _names(package: Package, elements, titles: list[str]):
    """Workbook-level names with their targets, and the rest as (sheet, name)."""
    _bound(package, len(elements), NAMES, "defined names")
    names, local_names = {}, []
    for element in elements:
        name, scope = _unescaped(package, element.get("name", "")), element.get("localSheetId")
        key = name.lower()
        if key.startswith("_xlnm."):
            continue
        if scope is not None:
            local_names.append((_title(package, titles, scope), name))
        elif key in names:
            local_names.append(("", name))
        else:
            names[key] = _unescaped(package, element.text or "")
    return names, tuple(local_names)


def _title(package: Package, titles: list[str], scope: str) -> str:
    if scope.isdecimal() and len(scope) < 9 and int(scope) < len(titles):
        return titles[int(scope)]
    raise package.unreadable(f"has a name on sheet number {scope[:20]!r}, which is not there; {AGAIN}")


class _SheetReader:
    """Reads sheets one after another; holds what they share, and counts over all of them."""

    def __init__(self, package: Package, strings: list[str], date_1904: bool):
        self.package = package
        self.count = self.shared_text = 0
        self.value_of = {
            None: number_or_fault,
            "n": number_or_fault,
            "s": lambda text: strings[_whole(text)],
            "str": lambda text: _unescaped(package, text),
            "inlineStr": lambda text: _unescaped(package, text),
            "b": lambda text: bool(_whole({"true": "1", "false": "0"}.get(text, text))),
            "e": Fault,
            "d": lambda text: serial_of(text, date_1904),
        }

    def cells(self, sheet: str, member: str) -> dict[tuple[int, int], Cell]:
        """The cells of a sheet that hold a value or a formula, by (row, column)."""
        root = self.package.xml(member)
        main = _namespace(self.package, root, "worksheet", member)
        cells, masters, at = {}, {}, (0, 0)
        try:
            for at, element in _placed(root, main):
                cell = self._cell(element, main, at, masters)
                if cell != BLANK and cells.setdefault(at, cell) is not cell:
                    raise ValueError("two cells in one place")
        except (ValueError, LookupError) as error:
            where = f"sheet {sheet!r} is damaged at or after row {at[0]}, column {at[1]}"
            raise self.package.unreadable(f"{where} ({str(error)[:100]}); {AGAIN}") from None
        self.count += len(cells)
        _bound(self.package, self.count, CELLS, "cells")
        return cells

    def _cell(self, element, main: str, at: tuple[int, int], masters: dict) -> Cell:
        value = formula = None
        for child in element:
            tag = child.tag
            if tag == main + "v":
                kind, text = element.get("t"), child.text
                if text or kind == "str":
                    value = self.value_of[kind](text or "")
            elif tag == main + "f":
                formula = self._formula(child, at, masters)
            elif tag == main + "is":
                value = _text(self.package, child, main)
        return Cell(value, formula)

    def _formula(self, element, at: tuple[int, int], masters: dict) -> str | None:
        """A formula's text; one that shares another's is written out for its own place."""
        text = _unescaped(self.package, element.text or "").removeprefix("=")
        if element.get("t") != "shared":
            return text or None
        key = element.get("si")
        if text and (element.get("ref") or key not in masters):
            masters[key] = text, at
            return text
        text, (row, column) = masters[key]
        text = _translated(text, at[0] - row, at[1] - column)
        self.shared_text += len(text)
        _bound(self.package, self.shared_text, SHARED_TEXT, "characters of shared formulas")
        return text


BLANK = Cell(None, None)


def _placed(root, main: str):
    """Each cell's place and element. Raises ValueError for a place that no sheet has."""
    row = 0
    for line in root.iterfind(f"{main}sheetData/{main}row"):
        row, column = int(line.get("r") or row + 1), 0
        for element in line.iterchildren(f"{main}c"):
            reference = element.get("r")
            row, column = at = place(reference) if reference else within(row, column + 1)
            yield at, element


def _whole(text: str) -> int:
    if not text.isdecimal():
        raise ValueError(f"not a whole number: {text!r}")
    return int(text)


def _translated(formula: str, rows: int, columns: int) -> str:
    """A formula moved by so many rows and columns. Raises ValueError where it cannot be."""
    from openpyxl.formula.tokenizer import TokenizerError
    from openpyxl.formula.translate import TranslatorError

    try:
        return _translator(formula).translate_formula(row_delta=rows, col_delta=columns).removeprefix("=")
    except (TokenizerError, TranslatorError):
        raise ValueError("a shared formula that cannot be moved") from None


@lru_cache(maxsize=8)
def _translator(formula: str):
    from openpyxl.formula.translate import Translator

    return Translator(f"={formula}", "A1")
