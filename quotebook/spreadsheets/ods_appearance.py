"""What the sheets of an .ods show or hide besides the contents of their cells (OpenDocument 1.3 part 3, 9, 10, 16)."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import islice, product
from typing import TYPE_CHECKING

from quotebook.spreadsheets.appearance import (
    LEAST_HEIGHT,
    MOST_HIDDEN,
    Area,
    FormatRule,
    Place,
    SheetAppearance,
    hides_texts,
    is_odd,
)
from quotebook.spreadsheets.cells import CellAddress, area_of, parse_count
from quotebook.spreadsheets.ods_formats import STYLE
from quotebook.spreadsheets.ods_sheet import lines, repetitions
from quotebook.spreadsheets.ods_styles import OFFICE, TABLE, TEXT, Styles, points

if TYPE_CHECKING:
    from lxml.etree import _Element

DRAW = "{urn:oasis:names:tc:opendocument:xmlns:drawing:1.0}"
CALC = "{urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0}"
COVERED = f"{TABLE}covered-table-cell"
HIDDEN = ("collapse", "filter")
MOST_NOTED = 10_000
"""Repetitions of one cell of which it is noted how they look."""
LEAST_WIDTH = 3
"""Points of a column below which nobody reads what is there; the least of a quote's own is 4.2."""
QUOTED_NAME = re.compile(r"'(?:[^']|'')*'")
RANGE = re.compile(r"\.\$?([A-Z]+)\$?([0-9]+)(?::[^.\s:]*\.\$?([A-Z]+)\$?([0-9]+))?(?=\s|$)")
"""A cell or a range in an address, behind the name of its sheet."""
OF_PAGES = tuple(f"{TEXT}{field}" for field in ("page-number", "page-count", "sheet-name", "date", "time", "file-name"))
"""Fields that stand for what a header or footer of .xlsx has codes for."""


@dataclass
class SheetLooks:
    """Reads how the sheets of one file look. Raises ValueError for a number of rows or columns that is none."""

    styles: Styles
    rules: dict[str, list[FormatRule]] = field(default_factory=dict)
    closed: "dict[_Element, bool]" = field(default_factory=dict)
    """Whether groups of rows and columns are closed."""

    def of(self, table: "_Element") -> SheetAppearance:
        """What is out of the ordinary on the sheet in a table."""
        look = SheetAppearance()
        look.pictures = [(1, 1) for shapes in table.iter(f"{TABLE}shapes") for _ in shapes]
        look.page_texts = list(self._page_texts(table.get(f"{TABLE}style-name")))
        look.printed = printed_of(table)
        columns, usual = self._columns(table, look)
        look.rules = list(self._rules(table))
        by_style: dict[str, list[Area]] = {}
        row = 1
        for element in lines(table, "row"):
            times = repetitions(element, "rows")
            if self._hides(element, "row"):
                look.hidden_rows |= {*range(row, row + min(times, MOST_HIDDEN))}
            column = 1
            of_row = element.get(f"{TABLE}default-cell-style-name")
            for cell in element:
                beside = repetitions(cell, "columns")
                if len(cell) or cell.get(f"{OFFICE}value-type") or cell.get(f"{TABLE}formula"):
                    name = cell.get(f"{TABLE}style-name") or of_row or columns.get(column, usual)
                    for at in islice(product(range(row, row + times), range(column, column + beside)), MOST_NOTED):
                        self._note(cell, at, name, look)
                    if name and self.rules_of(name):
                        by_style.setdefault(name, []).append((row, column, row + times - 1, column + beside - 1))
                column += beside
            row += times
        for name, areas in by_style.items():
            look.rules += [rule._replace(areas=tuple(areas)) for rule in self.rules_of(name)]
        return look

    def rules_of(self, style: str) -> list[FormatRule]:
        """The rules in the style of a cell."""
        if style not in self.rules:
            self.rules[style] = self.styles.rules_of(style)
        return self.rules[style]

    def _note(self, cell: "_Element", at: Place, style: str | None, look: SheetAppearance) -> None:
        """Notes how a cell looks, and what lies over it."""
        own = self.styles.look(style)
        look.looks[at] = own
        if is_odd(own.code) or hides_texts(own.code):
            look.formats[at] = own.code
        is_covered = cell.tag == COVERED and len(cell) > 0
        down, across = (parse_count(cell.get(f"{TABLE}number-{what}-spanned", "1")) for what in ("rows", "columns"))
        if down > 1 or across > 1:
            look.covered.append((*at, at[0] + down - 1, at[1] + across - 1))
        if own.is_unseen or is_covered or (len(cell) and self.styles.hides_a_part(cell, own)):
            look.unseen.add(at)
        for child in cell:
            if child.tag == f"{OFFICE}annotation":
                look.comments[CellAddress("", *at).cell] = "".join(map(str, child.itertext())).strip()
            elif str(child.tag).startswith(DRAW):
                look.pictures.append(at)

    def _columns(self, table: "_Element", look: SheetAppearance) -> tuple[dict[int, str], str | None]:
        """The styles that columns give to their cells, and that of the last ones; notes those that are hidden."""
        styles: dict[int, str] = {}
        number, style = 1, None
        for element in lines(table, "column"):
            times = min(repetitions(element, "columns"), MOST_HIDDEN)
            style = element.get(f"{TABLE}default-cell-style-name")
            columns = range(number, number + times)
            if self._hides(element, "column"):
                look.hidden_columns |= {*columns}
            if style:
                styles |= dict.fromkeys(columns, style)
            number += repetitions(element, "columns")
        return styles, style

    def _hides(self, line: "_Element", kind: str) -> bool:
        """Whether a row or a column is hidden, too small to be read, or in a group that is closed."""
        measure, least = {"row": ("row-height", LEAST_HEIGHT), "column": ("column-width", LEAST_WIDTH)}[kind]
        said = self.styles.said(f"table-{kind}", line.get(f"{TABLE}style-name"))
        return (
            line.get(f"{TABLE}visibility") in HIDDEN
            or points(said.get(f"{STYLE}{measure}"), least) < least
            or self._is_closed(line.getparent())
        )

    def _is_closed(self, group: "_Element | None") -> bool:
        """Whether a group of rows or columns is closed, or one that it is in."""
        if group is None or group.tag == f"{TABLE}table":
            return False
        if group not in self.closed:
            self.closed[group] = group.get(f"{TABLE}display") == "false" or self._is_closed(group.getparent())
        return self.closed[group]

    def _rules(self, table: "_Element") -> Iterator[FormatRule]:
        """The rules that stand beside the cells, as LibreOffice writes them."""
        for each in table.iter(f"{CALC}conditional-format"):
            areas = areas_in(each.get(f"{CALC}target-range-address", ""))
            for condition in each:
                if condition.tag in (f"{CALC}condition", f"{CALC}date-is"):
                    name = condition.get(f"{CALC}apply-style-name") or condition.get(f"{CALC}style")
                    yield self.styles.rule(name)._replace(areas=areas)
                else:  # it paints cells by their values: no quote has such a rule
                    yield FormatRule(areas, hides=True)

    def _page_texts(self, style: str | None) -> Iterator[str]:
        """The headers and footers of a sheet."""
        names = (each.get(f"{STYLE}master-page-name") for each in self.styles.chain("table", style))
        page = self.styles.pages.get(next(filter(None, names), ""))
        for part in () if page is None else page:
            if part.get(f"{STYLE}display") != "false":
                yield " ".join(_words(part)).strip()


def printed_of(table: "_Element") -> tuple[Area, ...] | None:
    """What is printed of the sheet in a table; None for all of it."""
    if table.get(f"{TABLE}print") == "false":
        return ()
    return areas_in(table.get(f"{TABLE}print-ranges", "")) or None


def areas_in(addresses: str) -> tuple[Area, ...]:
    """The rectangles of cells in a list of addresses, all of them of one sheet."""
    found = RANGE.findall(QUOTED_NAME.sub("", addresses))
    areas = (area_of(f"{left}{top}" + (f":{right}{bottom}" if right else "")) for left, top, right, bottom in found)
    return tuple(area for area in areas if area)


def _words(part: "_Element") -> Iterator[str]:
    """What a header or a footer says; a field that is none of a page's own by its name."""
    for each in part.iter():
        tag = str(each.tag)
        if tag in OF_PAGES:
            yield each.tail or ""
        elif tag.startswith(TEXT) and tag[len(TEXT) :] not in ("p", "span", "a", "s", "tab", "line-break"):
            yield f"{tag[len(TEXT) :]} {each.text or ''} {each.tail or ''}"
        else:
            yield f"{each.text or ''} {each.tail or ''}"
