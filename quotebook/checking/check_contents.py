"""Checks of what else a file holds: what the reader does not know, and what is on the sheet of the stamp."""

from collections.abc import Iterator

from quotebook.checking.findings import Finding
from quotebook.checking.kinds import Kind
from quotebook.checking.worked_out import WorkedOut
from quotebook.contract.stamp import SHEET, beside_the_stamp, stamp_sheet
from quotebook.contract.wording import shown
from quotebook.spreadsheets.cells import CellAddress


def nothing_unknown(sheet: WorkedOut) -> Iterator[Finding]:
    """Nothing in the file that the reader steps over and a program may read."""
    for what, part, title, cell, times in sheet.returned.workbook.unknown:
        often = f", {times} times" if times > 1 else ""
        message = (
            f"The file holds something that no quote needs and that programs may read differently: {what} (in {part}"
            f"{often}). Open it in a spreadsheet program, save it as .xlsx under another name, and check that."
        )
        yield Finding(Kind.UNKNOWN_CONTENT, message, "", title, cell, None, what)


def stamp_in_its_place(sheet: WorkedOut) -> Iterator[Finding]:
    """The stamp's sheet holds the stamp alone, out of sight under its own name, as most programs leave it."""
    stamp = stamp_sheet(sheet.returned.workbook)
    if stamp is None:
        return
    for place in beside_the_stamp(stamp):
        message = "The sheet with the stamp holds something beside it. Ask the client for the file as they saved it."
        cell = CellAddress(stamp.name, *place).cell
        yield Finding(Kind.UNKNOWN_CONTENT, message, "", stamp.name, cell, None, shown("", stamp.cells[place].content))
    if stamp.visibility == "visible" or stamp.name.lower() != SHEET:
        message = "The sheet with the stamp was brought into view or renamed. The stamp itself holds."
        yield Finding(Kind.STAMP_SHOWN, message, "", stamp.name)
