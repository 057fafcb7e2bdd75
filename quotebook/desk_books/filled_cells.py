"""Writes into a few cells of a file that is somebody else's, and leaves all the rest of it as it is."""

import csv
import io
from collections.abc import Mapping
from pathlib import Path

from lxml import etree

from quotebook.files import atomically
from quotebook.marked_copy.package_copy import PackageCopy, text_element
from quotebook.quoting.lists import delimiter_of
from quotebook.spreadsheets.cells import CellAddress, position_of
from quotebook.spreadsheets.csv_text import safe_text
from quotebook.spreadsheets.package import open_package

Texts = Mapping[tuple[int, int], str]
"""Texts by row and column, from 1; an empty one clears its cell."""


def fill_cells(path: Path, sheet: str, texts: Texts) -> None:
    """Write texts into cells of a sheet, or of a CSV file, all of them at once. Raises Misuse and Unreadable."""
    if path.suffix.lower() == ".csv":
        _fill_csv(path, texts)
        return
    copy = PackageCopy(open_package(path))
    book = copy.read(copy.book)
    element = next(each for each in book.iterfind(f"{copy.main}sheets/{copy.main}sheet") if each.get("name") == sheet)
    rows = copy.edit(copy.linked(copy.book, element)).find(f"{copy.main}sheetData")
    assert rows is not None  # every sheet has one (ECMA-376 part 1, 18.3.1.99)
    for place, text in sorted(texts.items()):
        _fill(_cell(rows, *place, copy.main), text, copy.main)
    with atomically(path, overwrite=True) as temporary, temporary.open("wb") as file:
        copy.write(file)


def _cell(rows: etree._Element, row: int, column: int, main: str) -> etree._Element:
    """The element of a cell, put in where there is none. Rows and cells stand in order, and may lack their numbers."""
    number, before = 0, 0
    for line in rows.iterchildren(f"{main}row"):
        number = int(line.get("r") or number + 1)
        if number >= row:
            break
        before += 1
    if number != row:
        line = etree.Element(f"{main}row", r=str(row))
        rows.insert(before, line)
    at, before = 0, 0
    for cell in line.iterchildren(f"{main}c"):
        reference = cell.get("r")
        at = position_of(reference)[1] if reference else at + 1
        if at >= column:
            break
        before += 1
    if at == column:
        return cell
    made = etree.Element(f"{main}c", r=CellAddress("", row, column).cell)
    line.insert(before, made)
    return made


def _fill(cell: etree._Element, text: str, main: str) -> None:
    """Put a text into a cell, which keeps its format."""
    for child in list(cell):
        cell.remove(child)
    cell.attrib.pop("t", "")
    if text:
        cell.set("t", "inlineStr")
        etree.SubElement(cell, f"{main}is").append(text_element(f"{main}t", text))


def _fill_csv(path: Path, texts: Texts) -> None:
    """Every other entry keeps its text; the file keeps its delimiter, its line ends and its mark of UTF-8."""
    data = path.read_bytes()
    text = data.decode("utf-8-sig")
    delimiter = delimiter_of(text.splitlines()[0])
    rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True))
    for (row, column), said in texts.items():
        cells = rows[row - 1]
        cells += [""] * (column - len(cells))
        cells[column - 1] = safe_text(said)
    written = io.StringIO(newline="")
    ends = "\r\n" if b"\r\n" in data else "\n"
    csv.writer(written, delimiter=delimiter, lineterminator=ends).writerows(rows)
    mark = b"\xef\xbb\xbf" if data.startswith(b"\xef\xbb\xbf") else b""
    with atomically(path, overwrite=True) as temporary:
        temporary.write_bytes(mark + written.getvalue().encode())
