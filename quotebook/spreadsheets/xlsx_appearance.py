"""What the sheets of an .xlsx show or hide besides the contents of their cells (ECMA-376 part 1, 18.3, 20.5)."""

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

from quotebook.errors import Unreadable
from quotebook.spreadsheets.appearance import (
    LEAST_HEIGHT,
    MOST_HIDDEN,
    Area,
    FormatRule,
    Place,
    SheetAppearance,
)
from quotebook.spreadsheets.cells import LAST_COLUMN, area_of
from quotebook.spreadsheets.grammar import Unknowns
from quotebook.spreadsheets.xlsx_book import Book
from quotebook.spreadsheets.xlsx_links import Link
from quotebook.spreadsheets.xlsx_parts import Parts
from quotebook.spreadsheets.xlsx_styles import OddStyles, is_true, local, number_in, numbered, whole_number_in

if TYPE_CHECKING:
    from lxml.etree import _Element

LEAST_WIDTH = 0.5
"""Characters of a column below which nobody reads what is there; the least of a quote's own is 0.8."""
PRINTED = re.compile(r"\$?([A-Z]{1,3}\$?[0-9]+)(?::\$?([A-Z]{1,3}\$?[0-9]+))?(?=,|$)")
"""A range in a print area."""
ANCHORS = ("oneCellAnchor", "twoCellAnchor", "absoluteAnchor")
BY_ITSELF = ("colorScale", "dataBar", "iconSet")
"""Rules that paint cells by their values: no quote has any."""


def look_around(root: "_Element", member: str, unknowns: Unknowns, styles: OddStyles, look: SheetAppearance) -> None:
    """Notes what stands around the cells in the part of a sheet: columns, rules, page texts, a picture behind them."""
    for element in root:
        match local(element):
            case "cols":
                look.hidden_columns |= set(_hidden_columns(element))
            case "sheetViews":
                _note_scrolled(element, look)
            case "mergeCells":
                look.covered += _areas(unknowns, member, [merged.get("ref", "") for merged in element])
            case "picture":  # behind the cells
                look.pictures.append((1, 1))
            case "headerFooter":
                look.page_texts += [child.text for child in element if child.text]
    for element in root.iter("{*}conditionalFormatting"):  # those that Excel added later stand among extensions
        later = " ".join(each.text or "" for each in element.iter("{*}sqref"))
        areas = tuple(_areas(unknowns, member, (element.get("sqref") or later).split()))
        look.rules += [_rule(rule, areas, styles) for rule in element.iter("{*}cfRule")]


def look_over(parts: Parts, member: str, look: SheetAppearance) -> None:
    """Notes what stands over the cells of a sheet, in the parts that it leads to: comments and pictures."""
    for link in parts.links.of(member).values():
        if link.kind == "comments":
            look.comments |= dict(_comments(parts, link.member))
        look.pictures += _drawn(parts, link)


def _note_scrolled(views: "_Element", look: SheetAppearance) -> None:
    """Notes the rows and columns above and left of panes that are frozen: nobody can scroll to them."""
    for view in views:
        frozen = any(pane.get("state", "").startswith("frozen") for pane in view.iter("{*}pane"))
        area = area_of(view.get("topLeftCell", "A1")) if frozen else None
        if area:
            look.hidden_rows |= {*range(1, min(area[0], MOST_HIDDEN))}
            look.hidden_columns |= {*range(1, min(area[1], MOST_HIDDEN))}


def _areas(unknowns: Unknowns, member: str, references: list[str]) -> list[Area]:
    """The rectangles of cells that a sheet names. Notes what names none: programs may take it for one."""
    areas = {reference: area_of(reference) for reference in references}
    for reference, area in areas.items():
        if area is None:
            unknowns.note(f"the cells {reference[:20]!r}", member)
    return [area for area in areas.values() if area]


def _rule(rule: "_Element", areas: tuple[Area, ...], styles: OddStyles) -> FormatRule:
    """A rule and the look that it gives to cells, which stands in it or among the styles."""
    listed = numbered(styles.rule_looks, rule.get("dxfId"))
    text, behind, strikes, hides = None, None, False, False
    for given in (*filter(None, (listed,)), *map(styles.rule_look, rule.iter("{*}dxf"))):
        text = text if given.text is None else given.text
        behind = (given.behind or None) if given.has_fill else behind
        strikes |= given.strikes
        hides |= given.hides
    hides |= any(local(child) in BY_ITSELF for child in rule)
    return FormatRule(areas, text, behind, strikes, hides)


def _drawn(parts: Parts, link: Link) -> Iterator[Place]:
    """Where the pictures and shapes begin that a link of a sheet leads to."""
    if link.kind == "drawing":
        yield from (_begins(anchor) for anchor in _children(parts, link.member) if local(anchor) in ANCHORS)
    elif link.kind == "vmlDrawing":
        yield from (_begins_in_vml(shape) for shape in _children(parts, link.member) if _is_seen_in_vml(shape))


def print_areas(book: Book) -> dict[str, tuple[Area, ...] | None]:
    """What is printed of each sheet that says so, by its number among the sheets; None for whole rows and columns."""
    return {number: _printed(area) for number, area in book.printed}


def _printed(print_area: str) -> tuple[Area, ...] | None:
    """The cells that a print area prints."""
    found = (area_of(f"{first}:{last or first}".replace("$", "")) for first, last in PRINTED.findall(print_area))
    return tuple(area for area in found if area) or None


def hides_row(hidden: str | None, height: str | None) -> bool:
    """Whether a row with these two attributes is hidden, or too low to be read."""
    return is_true(hidden) or number_in(height, LEAST_HEIGHT) < LEAST_HEIGHT


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


def _hidden_columns(columns: "_Element") -> Iterator[int]:
    for column in columns:
        if is_true(column.get("hidden")) or number_in(column.get("width"), LEAST_WIDTH) < LEAST_WIDTH:
            first, last = (whole_number_in(column.get(end), 1) for end in ("min", "max"))
            yield from range(max(first, 1), min(last, first + MOST_HIDDEN, LAST_COLUMN) + 1)


def _begins(anchor: "_Element") -> Place:
    """The cell in which an anchor begins; the first one for an anchor without a cell."""
    numbers = {local(each): whole_number_in(each.text, 0) for corner in anchor.iter("{*}from") for each in corner}
    return max(numbers.get("row", 0), 0) + 1, max(numbers.get("col", 0), 0) + 1


def _is_seen_in_vml(shape: "_Element") -> bool:
    """Whether something in a drawing of the older kind is a shape, and not the frame of a comment."""
    kinds = {data.get("ObjectType") for data in shape.iter("{*}ClientData")}
    return local(shape) not in ("shapelayout", "shapetype") and kinds != {"Note"}


def _begins_in_vml(shape: "_Element") -> Place:
    """The cell in which a shape of the older kind begins; the first one where it does not say."""
    numbers = [
        whole_number_in(text, 0) for anchor in shape.iter("{*}Anchor") for text in (anchor.text or "").split(",")
    ]
    return (max(numbers[2], 0) + 1, max(numbers[0], 0) + 1) if len(numbers) > 2 else (1, 1)
