"""Writes the marked copy: the returned workbook with findings coloured, noted, and listed on a new first sheet.

The package itself is edited, because a library that loads and saves workbooks loses the cached results of formulas,
which are all that a preview shows. Parts without a mark keep their bytes.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from lxml import etree

from quotebook.errors import Misuse
from quotebook.marked_copy.cell_formats import EMPTY, CellFormats
from quotebook.marked_copy.cell_notes import add_notes
from quotebook.marked_copy.findings_sheet import FindingsPage, FindingsSheet
from quotebook.marked_copy.foreign_parts import SHEET_TYPE, remove_foreign_parts
from quotebook.marked_copy.package_copy import PackageCopy
from quotebook.marked_copy.steps_sheet import StepsPage, StepsSheet
from quotebook.spreadsheets.cells import CellAddress, position_of
from quotebook.spreadsheets.package import SAVE, open_package

STYLES_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.styles+xml"
TITLE = "Findings"
"""The name of the sheet of findings."""


@dataclass(frozen=True)
class Mark:
    """A fill and a note for one cell, given by its sheet's name and its address."""

    sheet: str
    cell: str
    note: str
    colour: str
    """`FFRRGGBB`."""


def write_marks(
    path: Path,
    file: BinaryIO,
    marks: Sequence[Mark],
    page: FindingsPage,
    minor_units: int,
    steps: StepsPage = StepsPage(),  # noqa: B008  (it never changes)
) -> None:
    """Writes a copy of the .xlsx at `path` with marks; a mark on a sheet that does not exist is left out.

    The findings come first, and the steps to the figures last, if there are any.

    Raises Misuse for an .ods, and Unreadable for a file that is no workbook.
    """
    package = open_package(path)
    if package.kind != "xlsx":
        raise Misuse(f"{path}: only an .xlsx can be marked; save it as .xlsx and check that.")
    copy = PackageCopy(package)
    try:
        _mark(copy, marks, page, minor_units, steps)
    except (AttributeError, LookupError, TypeError, ValueError):  # anyone made this file: parts may be missing or odd
        raise Misuse(f"{path}: its parts do not fit together and cannot be marked; {SAVE}, and check that.") from None
    copy.write(file)


def _mark(copy: PackageCopy, marks: Sequence[Mark], page: FindingsPage, minor_units: int, steps: StepsPage) -> None:
    """Marks the sheets of a copy, puts the findings in front of them and the steps behind them."""
    remove_foreign_parts(copy)
    formats = CellFormats(_styles(copy))
    for title, part in _sheets(copy).items():
        _mark_sheet(copy, part, [mark for mark in marks if mark.sheet == title], formats)
        _deselect(copy, part)
    if steps.steps:
        _add_sheet(copy, StepsSheet(copy.main, formats).steps(steps), steps.title, len(_listed(copy)))
    _put_in_front(copy, FindingsSheet(copy.main, formats, minor_units).findings(page))


def _styles(copy: PackageCopy) -> etree._Element:
    """The style sheet of a copy, made where there is none."""
    part = next((target for _, kind, target in copy.links(copy.book) if kind == "styles"), "")
    if not part:
        part = copy.free_name("xl/styles{}.xml")
        copy.add(part, etree.fromstring(EMPTY.format(space=copy.main[1:-1])), STYLES_TYPE)
        copy.link(copy.book, "styles", part)
    return copy.edit(part)


def _sheets(copy: PackageCopy) -> dict[str, str]:
    """The part of each worksheet by its name."""
    listed = copy.read(copy.book).iterfind(f"{copy.main}sheets/{copy.main}sheet")
    parts = {sheet.get("name", ""): copy.linked(copy.book, sheet) for sheet in listed}
    return {name: part for name, part in parts.items() if copy.read(part).tag == f"{copy.main}worksheet"}


def _mark_sheet(copy: PackageCopy, part: str, marks: list[Mark], formats: CellFormats) -> None:
    """Fills and notes the marked cells of a sheet; of several marks on a cell, the first gives the colour."""
    if not marks:
        return
    root = copy.edit(part)
    cells = _cells(root, copy.main)
    notes: dict[tuple[str, int, int], list[str]] = {}
    for mark in marks:
        at = position_of(mark.cell)
        cell = cells[at] if at in cells else cells.setdefault(at, _new_cell(root, copy.main, mark.cell, at))
        if (mark.cell, *at) not in notes:
            cell.set("s", f"{formats.filled(_whole(cell.get('s')), mark.colour)}")
        notes.setdefault((mark.cell, *at), []).append(mark.note)
    add_notes(copy, part, {at: "\n".join(texts) for at, texts in notes.items()})


def _cells(root: etree._Element, main: str) -> dict[tuple[int, int], etree._Element]:
    """Every cell of a sheet by (row, column). A row or cell without a position in the file gets it written in."""
    cells: dict[tuple[int, int], etree._Element] = {}
    row = 0
    for line in root.iterfind(f"{main}sheetData/{main}row"):
        row, column = int(line.get("r") or row + 1), 0
        line.set("r", f"{row}")
        for cell in line.iterchildren(f"{main}c"):
            reference = cell.get("r")
            row, column = at = position_of(reference) if reference else (row, column + 1)
            cell.set("r", CellAddress("", *at).cell)
            cells[at] = cell
    return cells


def _new_cell(root: etree._Element, main: str, address: str, at: tuple[int, int]) -> etree._Element:
    """A new blank cell, put into the sheet in the order of rows and columns."""
    rows, cell = _required(root, f"{main}sheetData"), etree.Element(f"{main}c", r=address)
    line = next((line for line in rows if line.get("r") == f"{at[0]}"), None)
    if line is None:
        line = etree.Element(f"{main}row", r=f"{at[0]}")
        rows.insert(sum(int(other.get("r", "")) < at[0] for other in rows), line)
    if "spans" in line.attrib:
        del line.attrib["spans"]  # it may not cover the new cell
    references = (other.get("r") for other in line)
    line.insert(sum(position_of(reference) < at for reference in references if reference), cell)
    return cell


def _required(parent: etree._Element, tag: str) -> etree._Element:
    """The first child with that tag. Raises LookupError where there is none."""
    found = parent.find(tag)
    if found is None:
        raise LookupError(tag)
    return found


def _whole(text: str | None) -> int:
    """A number of the file; 0 where there is none or no usable one."""
    return int(text) if text and text.isdecimal() and len(text) < 10 else 0


def _deselect(copy: PackageCopy, part: str) -> None:
    """Deselects a sheet: programs change all selected sheets at once, so only the findings may be selected."""
    path = f"{copy.main}sheetViews/{copy.main}sheetView[@tabSelected]"
    if copy.read(part).find(path) is not None:
        for view in copy.edit(part).iterfind(path):
            del view.attrib["tabSelected"]


def _put_in_front(copy: PackageCopy, sheet: etree._Element) -> None:
    """Makes the findings the first sheet, and the one in view; names of a single sheet follow it to its new number."""
    for view in sheet.iter(f"{copy.main}sheetView"):
        view.set("tabSelected", "1")
    _add_sheet(copy, sheet, TITLE, 0)
    book = copy.edit(copy.book)
    for name in book.iterfind(f"{copy.main}definedNames/{copy.main}definedName[@localSheetId]"):
        name.set("localSheetId", f"{int(name.get('localSheetId', '')) + 1}")
    for view in book.iterfind(f"{copy.main}bookViews/{copy.main}workbookView"):
        if "firstSheet" in view.attrib:
            del view.attrib["firstSheet"]
        view.set("activeTab", "0")


def _listed(copy: PackageCopy) -> etree._Element:
    """The list of sheets."""
    return _required(copy.edit(copy.book), f"{copy.main}sheets")


def _add_sheet(copy: PackageCopy, sheet: etree._Element, title: str, place: int) -> None:
    """Adds a sheet to the workbook at a place among the others, from 0."""
    listed = _listed(copy)
    part = copy.free_name("xl/worksheets/findings{}.xml")
    copy.add(part, sheet, SHEET_TYPE)
    number = max(_whole(other.get("sheetId")) for other in listed) + 1
    link = copy.link(copy.book, "worksheet", part)
    entry = {"name": _free_title(listed, title), "sheetId": f"{number}", copy.link_id: link}
    listed.insert(place, etree.Element(f"{copy.main}sheet", entry))


def _free_title(listed: etree._Element, title: str) -> str:
    """A title, or with a number behind it where the workbook has such a sheet."""
    taken = {sheet.get("name", "").lower() for sheet in listed}
    titles = (title, *(f"{title} {number}" for number in range(2, len(taken) + 3)))
    return next(title for title in titles if title.lower() not in taken)
