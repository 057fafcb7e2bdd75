"""What the sheets of an .xlsx show or hide besides the contents of their cells (ECMA-376 part 1, 18.3, 18.8, 20.5)."""

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

from quotebook.errors import Unreadable
from quotebook.spreadsheets.appearance import MOST_HIDDEN, Area, Place, SheetAppearance, is_odd
from quotebook.spreadsheets.cells import position_of
from quotebook.spreadsheets.xlsx_links import Link
from quotebook.spreadsheets.xlsx_parts import Parts

if TYPE_CHECKING:
    from lxml.etree import _Element

TRUE = ("1", "true", "on")
LEAST_HEIGHT, LEAST_WIDTH, LEAST_TEXT = 3, 0.5, 4
"""Points of a row, characters of a column and points of a text below which nobody reads what is there; the least of
a quote's own are 3.75, 0.8 and 8."""
WHITE, BLACK = "FFFFFF", "000000"
LEAST_CONTRAST = 1.5
"""Between a text and what is behind it (WCAG 2.1 asks for 4.5, and the palest text of a quote has 5)."""
PRINT_AREA = "_xlnm.print_area"
ROW_OF_RANGE = re.compile(r"[0-9]{1,7}")
REFERENCE = re.compile(r'"[^"]*"|(\$?\b[A-Za-z]{1,3})([0-9]{1,7})\b(?!\()')
"""A text in a formula, or a reference whose row moves along."""
ANCHORS = ("oneCellAnchor", "twoCellAnchor", "absoluteAnchor")


def look_around(parts: Parts, member: str, root: "_Element", styles: "OddStyles", look: SheetAppearance) -> None:
    """Notes what stands around the cells of a sheet and over them: columns, rules, page texts, comments, pictures."""
    rules: set[tuple[str, ...]] = set()
    for element in root:
        match _local(element):
            case "cols":
                look.hidden_columns |= set(_hidden_columns(element))
            case "conditionalFormatting":
                rules.add(_meaning(element))
                look.hiding_rules += sum(rule.get("dxfId") in styles.hiding for rule in element)
            case "mergeCells":
                look.covered += [area for merged in element if (area := _area(merged.get("ref", "")))]
            case "picture":  # behind the cells
                look.pictures.append((1, 1))
            case "headerFooter":
                look.page_texts += [child.text for child in element if child.text]
    look.rules = len(rules)
    for link in parts.links.of(member).values():
        if link.kind == "comments":
            look.comments |= dict(_comments(parts, link.member))
        look.pictures += _drawn(parts, link)


def _drawn(parts: Parts, link: Link) -> Iterator[Place]:
    """Where the pictures and shapes begin that a link of a sheet leads to."""
    if link.kind == "drawing":
        yield from (_begins(anchor) for anchor in _children(parts, link.member) if _local(anchor) in ANCHORS)
    elif link.kind == "vmlDrawing":
        yield from (_begins_in_vml(shape) for shape in _children(parts, link.member) if _is_seen_in_vml(shape))


def print_areas(parts: Parts) -> dict[str, str]:
    """What is printed of each sheet, by its number among the sheets."""
    names = parts.workbook.iterfind(f"{parts.main}definedNames/{parts.main}definedName")
    return {
        name.get("localSheetId", ""): name.text or "" for name in names if name.get("name", "").lower() == PRINT_AREA
    }


def hides_row(hidden: str | None, height: str | None) -> bool:
    """Whether a row with these two attributes is hidden, or too low to be read."""
    return hidden in TRUE or _number(height, LEAST_HEIGHT) < LEAST_HEIGHT


class OddStyles:
    """The formats of cells that show something else than the cell, or nothing, by the numbers that cells give."""

    def __init__(self, root: "_Element | None"):
        """`root` is that of the part with the styles, where there is one."""
        sections = {_local(section): section for section in root} if root is not None else {}
        codes = {code.get("numFmtId"): code.get("formatCode", "") for code in sections.get("numFmts", ())}
        fonts, fills = list(sections.get("fonts", ())), list(sections.get("fills", ()))
        self.formats: dict[str, str] = {}
        self.unseen: set[str] = set()
        self.behind: dict[str, str] = {}
        """The colours of cells."""
        looks = enumerate(sections.get("dxfs", ()))
        self.hiding = {str(number) for number, dxf in looks if _hides(dxf)}
        """The looks that rules give to cells, by their numbers, in which something cannot be seen."""
        for number, style in enumerate(sections.get("cellXfs", ())):
            code = codes.get(style.get("numFmtId"), "")
            if is_odd(code):
                self.formats[str(number)] = code
            self.behind[str(number)] = behind = _filling(_at(fills, style.get("fillId")))
            is_repeated = any(each.get("horizontal") == "fill" for each in style)
            if is_repeated or _is_unseen(_at(fonts, style.get("fontId")), behind):
                self.unseen.add(str(number))

    def note(self, style: str, at: Place, look: SheetAppearance) -> None:
        """Notes a cell that has this style."""
        if style in self.formats:
            look.formats[at] = self.formats[style]
        if style in self.unseen:
            look.unseen.add(at)

    def note_runs(self, text: "_Element", style: str, at: Place, look: SheetAppearance) -> None:
        """Notes a cell of this style if a part of its text cannot be seen."""
        if any(_is_unseen(run, self.behind.get(style, WHITE)) for run in text.iter("{*}rPr")):
            look.unseen.add(at)


def _local(element: "_Element") -> str:
    return str(element.tag).rpartition("}")[2]


def _number(text: str | None, otherwise: float) -> float:
    """A size as a number; 0 for a text that is none, which programs take it for."""
    try:
        return otherwise if text is None else float(text)
    except ValueError:
        return 0


def _children(parts: Parts, member: str) -> "Iterator[_Element]":
    """What stands in a part that a sheet leads to; nothing in one that no program can read."""
    try:
        yield from parts.package.xml(member)
    except Unreadable:
        return


def _comments(parts: Parts, member: str) -> Iterator[tuple[str, str]]:
    """The comments of a sheet, each with the address of its cell."""
    for group in _children(parts, member):
        for note in group.iter("{*}comment"):
            yield note.get("ref", ""), "".join(text.text or "" for text in note.iter("{*}t"))


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
        if column.get("hidden") in TRUE or _number(column.get("width"), LEAST_WIDTH) < LEAST_WIDTH:
            first, last = (int(_number(column.get(end), 1)) for end in ("min", "max"))
            yield from range(first, min(last, first + MOST_HIDDEN) + 1)


def _area(reference: str) -> Area | None:
    """The first and last row and column of a range; None for a text that is none."""
    first, _, last = reference.partition(":")
    try:
        (top, left), (bottom, right) = position_of(first), position_of(last or first)
    except ValueError:
        return None
    return top, left, bottom, right


def _begins(anchor: "_Element") -> Place:
    """The cell in which an anchor begins; the first one for an anchor without a cell."""
    numbers = {_local(each): int(_number(each.text, 0)) for corner in anchor.iter("{*}from") for each in corner}
    return max(numbers.get("row", 0), 0) + 1, max(numbers.get("col", 0), 0) + 1


def _is_seen_in_vml(shape: "_Element") -> bool:
    """Whether something in a drawing of the older kind is a shape, and not the frame of a comment."""
    kinds = {data.get("ObjectType") for data in shape.iter("{*}ClientData")}
    return _local(shape) not in ("shapelayout", "shapetype") and kinds != {"Note"}


def _begins_in_vml(shape: "_Element") -> Place:
    """The cell in which a shape of the older kind begins; the first one where it does not say."""
    numbers = [int(_number(text, 0)) for anchor in shape.iter("{*}Anchor") for text in (anchor.text or "").split(",")]
    return (max(numbers[2], 0) + 1, max(numbers[0], 0) + 1) if len(numbers) > 2 else (1, 1)


def _at(elements: "list[_Element]", number: str | None) -> "_Element | None":
    return elements[int(number)] if number and number.isdecimal() and int(number) < len(elements) else None


def _is_unseen(font: "_Element | None", behind: str) -> bool:
    """Whether a text in a font before a colour cannot be seen, is too small, or is struck out."""
    if font is None:
        return False
    sizes = [_number(size.get("val"), LEAST_TEXT) for size in font.iter("{*}sz")]
    is_struck = any(strike.get("val", "1") in TRUE for strike in font.iter("{*}strike"))
    contrast = _contrast(_colour(font, "color", BLACK), behind)
    return is_struck or min(sizes, default=LEAST_TEXT) < LEAST_TEXT or contrast < LEAST_CONTRAST


def _hides(look: "_Element") -> bool:
    """Whether a rule that gives cells this look hides their text by its own colours, or shows another text.

    Black says nothing: LibreOffice adds it to every look that has no colour for texts.
    """
    codes = [code.get("formatCode", "") for code in look.iter("{*}numFmt")]
    text = next((_colour(font, "color", "") for font in look.iter("{*}font")), "")
    fill = next(look.iter("{*}fill"), None)
    behind = _colour(fill, "bgColor", _colour(fill, "fgColor", WHITE))
    return any(map(is_odd, codes)) or (text != BLACK and _contrast(text, behind) < LEAST_CONTRAST)


def _filling(fill: "_Element | None") -> str:
    """The colour of a cell."""
    is_filled = fill is not None and any(each.get("patternType", "none") != "none" for each in fill)
    return _colour(fill, "fgColor", WHITE) if is_filled else WHITE


def _colour(element: "_Element | None", name: str, otherwise: str) -> str:
    """A colour as RRGGBB, white by its numbers too; `otherwise` where there is none, and "" for one not known here."""
    for colour in () if element is None else element.iter(f"{{*}}{name}"):
        code = colour.get("rgb", "")[-6:].upper()
        if re.fullmatch(r"[0-9A-F]{6}", code):
            return code
        is_white = not colour.get("tint") and (colour.get("theme") == "0" or colour.get("indexed") in ("1", "9"))
        return WHITE if is_white else ""
    return otherwise


def _contrast(one: str, other: str) -> float:
    """How much lighter one colour is than another (contrast ratio, WCAG 2.1); the most where one is not known."""
    if not one or not other:
        return 21
    darker, lighter = sorted(map(_luminance, (one, other)))
    return (lighter + 0.05) / (darker + 0.05)


def _luminance(colour: str) -> float:
    """How light a colour is, from 0 to 1 (relative luminance, WCAG 2.1)."""
    parts = (int(colour[start : start + 2], 16) / 255 for start in (0, 2, 4))
    red, green, blue = (part / 12.92 if part <= 0.03928 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue
