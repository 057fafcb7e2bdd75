"""The marked copy: a returned workbook as it came back, its findings filled, noted, and listed on a sheet in front.

The package itself is edited, since a library that loads and saves workbooks loses the figures that
its cells last showed, and with them what a preview shows. Parts that no mark touches keep their bytes.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from lxml import etree

from quotebook.errors import Misuse
from quotebook.marked_copy.cell_formats import EMPTY, CellFormats
from quotebook.marked_copy.cell_notes import add_notes
from quotebook.marked_copy.findings_sheet import FindingsSheet, Front
from quotebook.marked_copy.foreign_parts import SHEET_TYPE, leave_behind_foreign
from quotebook.marked_copy.package_copy import Copy
from quotebook.spreadsheets.cells import CellAddress, position_of
from quotebook.spreadsheets.package import SAVE, open_package

STYLES_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.styles+xml"
TITLE = "Findings"


@dataclass(frozen=True)
class Mark:
    """A fill and a note for one cell, by the name of its sheet and its address."""

    sheet: str
    cell: str
    note: str
    colour: str
    """`FFRRGGBB`."""


def write_marked(path: Path, file: BinaryIO, marks: Sequence[Mark], front: Front, minor_units: int) -> None:
    """Writes the marked copy of the .xlsx at `path`; marks on sheets that are not there are left out.

    Raises Misuse for an .ods, and Unreadable for what is no workbook.
    """
    package = open_package(path)
    if package.kind != "xlsx":
        raise Misuse(f"{path}: only an .xlsx can be marked; save it as .xlsx and check that.")
    copy = Copy(package)
    try:
        _mark(copy, marks, front, minor_units)
    except (AttributeError, LookupError, TypeError, ValueError):  # what is missing or odd in a file made by anyone
        raise Misuse(f"{path}: its parts do not fit together and cannot be marked; {SAVE}, and check that.") from None
    copy.write(file)


def _mark(copy: Copy, marks: Sequence[Mark], front: Front, minor_units: int) -> None:
    leave_behind_foreign(copy)
    formats = CellFormats(_styles(copy))
    for title, part in _sheets(copy).items():
        _mark_sheet(copy, part, [mark for mark in marks if mark.sheet == title], formats)
        _deselect(copy, part)
    _put_in_front(copy, FindingsSheet(copy.main, formats, minor_units).root(front))


def _styles(copy: Copy) -> etree._Element:
    part = next((target for _, kind, target in copy.links(copy.book) if kind == "styles"), "")
    if not part:
        part = copy.free_name("xl/styles{}.xml")
        copy.add(part, etree.fromstring(EMPTY.format(space=copy.main[1:-1])), STYLES_TYPE)
        copy.link(copy.book, "styles", part)
    return copy.edit(part)


def _sheets(copy: Copy) -> dict[str, str]:
    """The part of each worksheet by its name."""
    listed = copy.look(copy.book).iterfind(f"{copy.main}sheets/{copy.main}sheet")
    parts = {sheet.get("name"): copy.linked(copy.book, sheet) for sheet in listed}
    return {name: part for name, part in parts.items() if copy.look(part).tag == f"{copy.main}worksheet"}


def _mark_sheet(copy: Copy, part: str, marks: list[Mark], formats: CellFormats) -> None:
    if not marks:
        return
    root, notes = copy.edit(part), {}
    cells = _cells(root, copy.main)
    for mark in marks:
        at = position_of(mark.cell)
        cell = cells[at] if at in cells else cells.setdefault(at, _new_cell(root, copy.main, mark.cell, at))
        if (mark.cell, *at) not in notes:
            cell.set("s", f"{formats.filled(_whole(cell.get('s')), mark.colour)}")
        notes.setdefault((mark.cell, *at), []).append(mark.note)
    add_notes(copy, part, {at: "\n".join(texts) for at, texts in notes.items()})


def _cells(root: etree._Element, main: str) -> dict[tuple[int, int], etree._Element]:
    """Every cell of a sheet by row and column; one that left its place to be counted gets it in writing."""
    cells, row = {}, 0
    for line in root.iterfind(f"{main}sheetData/{main}row"):
        row, column = int(line.get("r") or row + 1), 0
        line.set("r", f"{row}")
        for cell in line.iterchildren(f"{main}c"):
            row, column = at = position_of(cell.get("r")) if cell.get("r") else (row, column + 1)
            cell.set("r", CellAddress("", *at).cell)
            cells[at] = cell
    return cells


def _new_cell(root: etree._Element, main: str, address: str, at: tuple[int, int]) -> etree._Element:
    """A blank cell where the sheet has none, in order of rows and columns."""
    data, cell = root.find(f"{main}sheetData"), etree.Element(f"{main}c", r=address)
    line = next((line for line in data if line.get("r") == f"{at[0]}"), None)
    if line is None:
        line = etree.Element(f"{main}row", r=f"{at[0]}")
        data.insert(sum(1 for other in data if int(other.get("r")) < at[0]), line)
    line.attrib.pop("spans", None)
    line.insert(sum(1 for other in line if other.get("r") and position_of(other.get("r")) < at), cell)
    return cell


def _whole(text: str | None) -> int:
    return int(text) if text and text.isdecimal() and len(text) < 10 else 0


def _deselect(copy: Copy, part: str) -> None:
    """Programs change all selected sheets at once, so that only the findings may be selected."""
    path = f"{copy.main}sheetViews/{copy.main}sheetView[@tabSelected]"
    if copy.look(part).find(path) is not None:
        for view in copy.edit(part).iterfind(path):
            del view.attrib["tabSelected"]


def _put_in_front(copy: Copy, sheet: etree._Element) -> None:
    """The findings as the first sheet, in view; names that belong to one sheet follow it to its new number."""
    book = copy.edit(copy.book)
    listed = book.find(f"{copy.main}sheets")
    part = copy.free_name("xl/worksheets/findings{}.xml")
    copy.add(part, sheet, SHEET_TYPE)
    number = max(_whole(other.get("sheetId")) for other in listed) + 1
    entry = {"name": _free_title(listed), "sheetId": f"{number}", copy.link_id: copy.link(copy.book, "worksheet", part)}
    listed.insert(0, etree.Element(f"{copy.main}sheet", entry))
    for name in book.iterfind(f"{copy.main}definedNames/{copy.main}definedName[@localSheetId]"):
        name.set("localSheetId", f"{int(name.get('localSheetId')) + 1}")
    for view in book.iterfind(f"{copy.main}bookViews/{copy.main}workbookView"):
        view.attrib.pop("firstSheet", None)
        view.set("activeTab", "0")


def _free_title(listed: etree._Element) -> str:
    """`Findings`, or `Findings 2` and so on where the workbook has such a sheet."""
    there = {sheet.get("name", "").lower() for sheet in listed}
    titles = (TITLE, *(f"{TITLE} {number}" for number in range(2, len(there) + 3)))
    return next(title for title in titles if title.lower() not in there)
