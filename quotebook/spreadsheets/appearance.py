"""What a file shows or hides besides the contents of its cells: nothing is worked out from it, but people see it.

Only what is out of the ordinary is noted. Number formats, colours, headers and rules for formats are read from
.xlsx alone.
"""

import posixpath
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from quotebook.errors import Unreadable
from quotebook.spreadsheets.cells import CellAddress, position_of
from quotebook.spreadsheets.package import Package, open_package

if TYPE_CHECKING:
    from lxml.etree import _Element

Place = tuple[int, int]
"""A row and a column, from 1."""

TRUE = ("1", "true", "on")
WHITE = "FFFFFF"
MOST_HIDDEN = 500
"""Columns beside each other of which it is noted that they are hidden."""
ROW_OF_RANGE = re.compile(r"[0-9]{1,7}")
REFERENCE = re.compile(r'"[^"]*"|(\$?\b[A-Za-z]{1,3})([0-9]{1,7})\b(?!\()')
"""A text in a formula, or a reference whose row moves along."""
ANCHORS = ("oneCellAnchor", "twoCellAnchor", "absoluteAnchor")
TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
OFFICE = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
DRAW = "{urn:oasis:names:tc:opendocument:xmlns:drawing:1.0}"


@dataclass
class SheetAppearance:
    """What is out of the ordinary on one sheet."""

    hidden_rows: set[int] = field(default_factory=set)
    hidden_columns: set[int] = field(default_factory=set)
    comments: dict[str, str] = field(default_factory=dict)
    """By the address of the cell."""
    page_texts: list[str] = field(default_factory=list)
    """Headers and footers, with the codes of the format."""
    print_area: str = ""
    """As a formula; empty where everything is printed."""
    pictures: list[Place] = field(default_factory=list)
    """Where pictures, shapes and charts begin."""
    rules: int = 0
    """Conditional formats; the same for several ranges is one, as where Gnumeric writes it for each range anew."""
    formats: dict[Place, str] = field(default_factory=dict)
    """Number formats with words in them, or that hide a number or show a part of it, by the cells that have them."""
    unseen: set[Place] = field(default_factory=set)
    """Cells whose text has the colour of what is behind it."""


def appearance_of(path: Path) -> dict[str, SheetAppearance]:
    """What is out of the ordinary on each sheet, by its name; nothing for a file whose parts do not fit together."""
    package = open_package(path)
    try:
        return dict(_ods(package) if package.kind == "ods" else _xlsx(package))
    except (Unreadable, ValueError, LookupError):  # the reader of cells has said so, or it is of no weight
        return {}


def _local(element: "_Element") -> str:
    return str(element.tag).rpartition("}")[2]


def _all(root: "_Element", name: str) -> "list[_Element]":
    return list(root.iter(f"{{*}}{name}"))


def _xlsx(package: Package) -> Iterator[tuple[str, SheetAppearance]]:
    [book] = [part for kind, part in _links(package, "").values() if kind == "officeDocument"]
    links, root = _links(package, book), package.xml(book)
    styles = [part for kind, part in links.values() if kind == "styles"]
    odd = _OddStyles(package.xml(styles[0])) if styles else None
    sheets = _all(root, "sheet")
    areas = {
        name.get("localSheetId"): name.text or ""
        for name in _all(root, "definedName")
        if name.get("name", "").lower() == "_xlnm.print_area"
    }
    for number, sheet in enumerate(sheets):
        numbers = [str(value) for name, value in sheet.attrib.items() if str(name).endswith("}id")]
        part = links[numbers[0]][1]
        found = _worksheet(package, part, odd)
        found.print_area = areas.get(str(number), "")
        yield sheet.get("name", ""), found


def _links(package: Package, part: str) -> dict[str, tuple[str, str]]:
    """What a part leads to inside the package: the kind and the member, by id."""
    folder, name = posixpath.split(part)
    member = posixpath.join(folder, "_rels", f"{name}.rels")
    if not package.has(member):
        return {}
    return {
        link.get("Id", ""): (
            link.get("Type", "").rpartition("/")[2],
            posixpath.normpath(posixpath.join("/", folder, link.get("Target", ""))).lstrip("/"),
        )
        for link in package.xml(member)
        if link.get("TargetMode") != "External"
    }


def _worksheet(package: Package, part: str, odd: "_OddStyles | None") -> SheetAppearance:
    found, root = SheetAppearance(), package.xml(part)
    rules: set[tuple[str, ...]] = set()
    for element in root:
        match _local(element):
            case "cols":
                found.hidden_columns = set(_hidden_columns(element))
            case "sheetData":
                _rows(element, found, odd)
            case "conditionalFormatting":
                rules.add(_meaning(element))
            case "headerFooter":
                found.page_texts += [child.text for child in element if child.text]
    found.rules = len(rules)
    for kind, member in _links(package, part).values():
        if kind == "comments":
            comments = _all(package.xml(member), "comment")
            found.comments = {
                note.get("ref", ""): "".join(text.text or "" for text in _all(note, "t")) for note in comments
            }
        elif kind == "drawing":
            found.pictures += [_begins(anchor) for anchor in package.xml(member) if _local(anchor) in ANCHORS]
    return found


def _meaning(conditional: "_Element") -> tuple[str, ...]:
    """What a conditional format says and how it looks, with its rows counted from the first one of its range.

    The order among all formats is a part of it: programs number them through, but for Gnumeric.
    """
    range_top = ROW_OF_RANGE.search(conditional.get("sqref", ""))
    top = int(range_top[0]) if range_top else 0

    def from_the_top(match: re.Match[str]) -> str:
        return f"{match[1]}[{int(match[2]) - top}]" if match[2] else match[0]

    said: list[str] = []
    for element in conditional.iter():
        if element is not conditional:
            said.append(_local(element))
            said += sorted(f"{name!s}={value!s}" for name, value in element.attrib.items())
            said.append(REFERENCE.sub(from_the_top, (element.text or "").strip()))
    return tuple(said)


def _hidden_columns(columns: "_Element") -> Iterator[int]:
    for column in columns:
        if column.get("hidden") in TRUE or _is_nothing(column.get("width")):
            first, last = int(column.get("min", "1")), int(column.get("max", "1"))
            yield from range(first, min(last, first + MOST_HIDDEN) + 1)


def _begins(anchor: "_Element") -> Place:
    """The cell in which an anchor begins; the first one for an anchor without a cell."""
    numbers = {_local(each): int(each.text or 0) for corner in _all(anchor, "from") for each in corner}
    return numbers.get("row", 0) + 1, numbers.get("col", 0) + 1


def _is_nothing(size: str | None) -> bool:
    return size is not None and float(size) == 0


def _rows(data: "_Element", found: SheetAppearance, odd: "_OddStyles | None") -> None:
    for number, row in enumerate(data, 1):
        at = int(row.get("r") or number)
        if row.get("hidden") in TRUE or _is_nothing(row.get("ht")):
            found.hidden_rows.add(at)
        if odd is None or not (odd.formats or odd.unseen):
            continue
        for cell in row:
            style = cell.get("s", "0")
            if len(cell) and (style in odd.formats or style in odd.unseen) and cell.get("r"):
                place = position_of(cell.get("r", ""))
                if style in odd.formats:
                    found.formats[place] = odd.formats[style]
                if style in odd.unseen:
                    found.unseen.add(place)


class _OddStyles:
    """The numbers of the cell formats with words or nothing in them, and of those without contrast."""

    def __init__(self, root: "_Element"):
        codes = {code.get("numFmtId"): code.get("formatCode", "") for code in _all(root, "numFmt")}
        sections = {_local(section): section for section in root}
        fonts = [_colour(font, "color") for font in sections.get("fonts", ())]
        fills = [_colour(fill, "fgColor") for fill in sections.get("fills", ())]
        self.formats: dict[str, str] = {}
        self.unseen: set[str] = set()
        for number, style in enumerate(sections.get("cellXfs", ())):
            code = codes.get(style.get("numFmtId"), "")
            if is_odd(code):
                self.formats[str(number)] = code
            font, fill = _at(fonts, style.get("fontId")), _at(fills, style.get("fillId")) or WHITE
            if font and font == fill:
                self.unseen.add(str(number))


def _at(colours: list[str], number: str | None) -> str:
    return colours[int(number)] if number and int(number) < len(colours) else ""


def _colour(element: "_Element", name: str) -> str:
    """A colour as RRGGBB, white and black by their numbers too; nothing for any other."""
    for colour in _all(element, name):
        if "rgb" in colour.attrib:
            return str(colour.get("rgb"))[-6:].upper()
        if not colour.get("tint"):
            return WHITE if colour.get("theme") == "0" or colour.get("indexed") in ("1", "9") else ""
    return ""


QUOTED = re.compile(r'"([^"]*)"|\\(.)|\[\$([^\]-]*)[^\]]*\]')
"""What a number format shows as it is: a text in quotes, one sign, a currency."""
THOUSANDS_LEFT_OUT = re.compile(r"[0#?],+(?![0#?])")


@lru_cache(maxsize=256)
def is_odd(code: str) -> bool:
    """Whether a number format has words or digits of its own, hides numbers, or shows thousands of them.

    A blank in place of 0 is no such thing: quotes have that themselves.
    """
    said = "".join("".join(part or "" for part in match) for match in QUOTED.findall(code))
    bare = re.sub(r"\[[^\]]*\]", "", QUOTED.sub("", code))
    first, *others = bare.split(";")
    hides = bool(code) and (not first.strip() or (len(others) > 0 and not others[0].strip()))
    return any(sign.isalnum() for sign in said) or hides or bool(THOUSANDS_LEFT_OUT.search(bare))


def _ods(package: Package) -> Iterator[tuple[str, SheetAppearance]]:
    for table in package.xml("content.xml").iter(f"{TABLE}table"):
        found, row = SheetAppearance(), 1
        for element in table.iter(f"{TABLE}table-row"):
            times = min(int(element.get(f"{TABLE}number-rows-repeated", "1")), 1000)
            if element.get(f"{TABLE}visibility") in ("collapse", "filter"):
                found.hidden_rows |= {*range(row, row + times)}
            column = 1
            for cell in element:
                for note in cell.iterchildren(f"{OFFICE}annotation"):
                    found.comments[CellAddress("", row, column).cell] = "".join(map(str, note.itertext())).strip()
                found.pictures += [(row, column) for child in cell if str(child.tag).startswith(DRAW)]
                column += int(cell.get(f"{TABLE}number-columns-repeated", "1"))
            row += int(element.get(f"{TABLE}number-rows-repeated", "1"))
        column = 1
        for element in table.iter(f"{TABLE}table-column"):
            times = int(element.get(f"{TABLE}number-columns-repeated", "1"))
            if element.get(f"{TABLE}visibility") in ("collapse", "filter"):
                found.hidden_columns |= {*range(column, column + min(times, MOST_HIDDEN))}
            column += times
        found.pictures += [(1, 1) for shapes in table.iter(f"{TABLE}shapes") for _ in shapes]
        yield table.get(f"{TABLE}name", ""), found


def cells_of(areas: str) -> Iterator[tuple[int, int, int, int]]:
    """The rectangles that a print area prints: top, left, bottom, right."""
    for first, last in re.findall(r"\$?([A-Z]{1,3}\$?[0-9]+)(?::\$?([A-Z]{1,3}\$?[0-9]+))?(?=,|$)", areas):
        top, left = position_of(first)
        yield (top, left, *position_of(last or first))
