"""Plays the whole job on an invented scenario: a desk, quotes for four events, and what four clients send back."""

import zipfile
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

from lxml import etree

from quotebook import desk as desks
from quotebook.bookings.archive import desk_name
from quotebook.bookings.decisions import issue_and_record
from quotebook.checking.comparison import Comparison
from quotebook.checking.returned import Returned
from quotebook.checking.worked_out import WorkedOut
from quotebook.contract.stamp import Content
from quotebook.desk import Desk
from quotebook.engine.model import CARPET_INDOORS, GRASS, HARD_INDOORS, FloorLine, Request
from quotebook.files import atomically
from quotebook.ledger import Ledger
from quotebook.ledger.database import file_url
from quotebook.spreadsheets.cells import Cell, CellAddress, Fault, Sheet, Workbook, number_or_fault
from quotebook.spreadsheets.reading import read_workbook

D = Decimal

EVENTS = (
    Request(
        client="Avelie Marsh", event="Wedding supper under a tent", event_date=date(2027, 6, 12),
        venue="The Long Meadow, Quillmere",
        days=D(1), surface=GRASS, miles=D("22.5"), flights=D(0), guests=D(120), waiver_taken=True,
        lines=(FloorLine("OAK-44", D(16), D(20), True),),
    ),
    Request(
        client="Hotel Saltfleet", event="Winter ball", event_date=date(2027, 1, 30), venue="Ballroom, second floor",
        days=D(1), surface=CARPET_INDOORS, miles=D(9), flights=D(2), guests=D(150), after_hours=True,
        lines=(FloorLine("WHITE-23", D(14), D(18), False), FloorLine("MAPLE-33", D(6), D(6), True)),
    ),
    Request(
        client="Orrin Vale Players", event="Ceilidh", event_date=date(2027, 3, 6), venue="Old Corn Exchange",
        days=D(1), surface=HARD_INDOORS, miles=D(31), flights=D(0), guests=D(80), discount_share=D("0.05"),
        lines=(FloorLine("OAK-34", D(11), D(18), True),),
    ),
    Request(
        client="Tamsin Crake", event="Midsummer dance, two nights", event_date=date(2027, 6, 19),
        venue="Crake's Orchard",
        days=D(2), surface=GRASS, miles=D(12), flights=D(0), guests=D(60), waiver_taken=True,
        lines=(FloorLine("WHITE-23", D(12), D(12), False),),
    ),
)  # fmt: skip
"""An event on grass, one on carpet, one with oblong panels that fit better turned, one of two days on a subfloor."""

ANSWERS: tuple[tuple[str, Mapping[str, Decimal | str]], ...] = (
    ("accepted", {"accepted": "yes", "accepted_by": "Avelie Marsh", "questions": "Can you come before noon?"}),
    ("larger", {"width_1": D(16), "guests": D(170), "accepted": "yes"}),
    ("cheaper-labour", {"hourly_rate": D(12)}),
    ("no-delivery", {"days": D(3), "delivery": D(0)}),
)  # fmt: skip
"""What each client changes: a word for the file's name, and the new value of each cell by its name."""


def run(folder: Path, today: date) -> tuple[Desk, list[Path]]:
    """Make `desk` and `returned` in `folder`; returns the desk and the files that came back.

    The desk has a ledger of its own, even if QUOTEBOOK_LEDGER names another. Raises Misuse if the folder
    has a desk already.
    """
    desk = desks.init(folder / "desk")
    card, ledger = desk.card(), ledger_in(desk)
    returned = folder / "returned"
    returned.mkdir(exist_ok=True)
    files = []
    for request, number, (what, typed) in zip(EVENTS, desk.numbers(), ANSWERS, strict=False):  # numbers never end
        path, content = issue_and_record(desk, ledger, card, request, number, today)
        files.append(retype(path, returned / f"{number}-{what}.xlsx", content, typed))
    return desk, files


def ledger_in(desk: Desk) -> Ledger:
    """The ledger in an invented desk's own folder, so that a ledger shared by real desks has no invented quotes."""
    return Ledger(file_url(desk.folder / "ledger.sqlite"), desk_name(desk))


def retype(
    issued: Path, target: Path, content: Content, typed: Mapping[str, Decimal | str], workbook: Workbook | None = None
) -> Path:
    """Copy an issued workbook with some named cells typed over, recalculated as a client's program would do it.

    The recalculated values are the engine's own, since no spreadsheet program is at hand. `workbook` is the issued
    file where it was read already. Returns `target`.
    """
    workbook = workbook or read_workbook(issued)
    entered = {CellAddress(*content.places[name]): value for name, value in typed.items()}
    comparison = Comparison(content, Returned(_typed_over(workbook, entered), content))
    with zipfile.ZipFile(issued) as package:
        parts = {name: package.read(name) for name in package.namelist()}
    numbers = {sheet.name: number for number, sheet in enumerate(workbook.sheets, 1)}
    for values, keep_formula in ((entered, False), (WorkedOut(comparison).values, True)):
        for sheet in {place.sheet for place in values}:
            part = f"xl/worksheets/sheet{numbers[sheet]}.xml"
            cells = {place.cell: value for place, value in values.items() if place.sheet == sheet}
            parts[part] = _with_cells(parts[part], cells, keep_formula)
    with atomically(target, overwrite=True) as path, zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as package:
        for name, data in parts.items():
            package.writestr(name, data)
    return target


def _typed_over(workbook: Workbook, entered: Mapping[CellAddress, Decimal | str]) -> Workbook:
    """A workbook with other values in some cells, as it would be read from a file."""
    read = {place: value if isinstance(value, str) else number_or_fault(str(value)) for place, value in entered.items()}

    def with_entries(sheet: Sheet) -> Sheet:
        here = {place[1:]: Cell(value, None) for place, value in read.items() if place.sheet == sheet.name}
        return replace(sheet, cells=sheet.cells | here)

    return replace(workbook, sheets=tuple(map(with_entries, workbook.sheets)))


def _with_cells(sheet: bytes, values: Mapping[str, object], keep_formula: bool) -> bytes:
    """A sheet's XML with the values of some cells replaced; `values` has them by the cell's address."""
    tree = etree.fromstring(sheet)
    space = tree.nsmap[None]
    for element in tree.iterfind(f".//{{{space}}}c"):
        address = element.get("r")
        if address and address in values:
            _put(element, values[address], keep_formula, f"{{{space}}}")
    return etree.tostring(tree, xml_declaration=True, encoding="UTF-8", standalone=True)


def _put(cell: etree._Element, value: object, keep_formula: bool, space: str) -> None:
    """Replace a cell's value, and its formula too unless `keep_formula`; `space` is the namespace in braces."""
    for child in list(cell):
        if not (keep_formula and child.tag == f"{space}f"):
            cell.remove(child)
    if "t" in cell.attrib:
        del cell.attrib["t"]
    if isinstance(value, Fault):
        cell.set("t", "e")
        etree.SubElement(cell, f"{space}v").text = value.text
    elif not isinstance(value, str):
        etree.SubElement(cell, f"{space}v").text = str(value)
    elif keep_formula:
        cell.set("t", "str")
        etree.SubElement(cell, f"{space}v").text = value
    else:
        cell.set("t", "inlineStr")
        etree.SubElement(etree.SubElement(cell, f"{space}is"), f"{space}t").text = value
