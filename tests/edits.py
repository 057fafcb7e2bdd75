"""Edits of a workbook, made in its XML: whatever the file format can say, whether a program would say so or not.

Nothing is worked out again, so what a changed cell leads to stays as it was.
"""

import copy
import re
import zipfile
from bisect import bisect_left
from pathlib import Path

from lxml import etree

from quotebook.spreadsheets.cells import CellAddress, Fault

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
LINK = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
SHEET_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"
WORKBOOK, LINKS, TYPES = "xl/workbook.xml", "xl/_rels/workbook.xml.rels", "[Content_Types].xml"


class Book:
    """One issued workbook, parsed once for any number of edits."""

    def __init__(self, path: Path):
        with zipfile.ZipFile(path) as package:
            self.parts = {name: package.read(name) for name in package.namelist()}
        self.roots = {}
        self.sheets = [sheet.get("name") for sheet in self.root(WORKBOOK).iter(f"{MAIN}sheet")]

    def root(self, part: str):
        if part not in self.roots:
            self.roots[part] = etree.fromstring(self.parts[part])
        return self.roots[part]

    def edit(self) -> "Edit":
        return Edit(self)


class Edit:
    """A copy under the hand. Sheets are called by the names that they were issued with."""

    def __init__(self, book: Book):
        self.book, self.roots, self.parts = book, {}, {}

    def root(self, part: str):
        if part not in self.roots:
            self.roots[part] = copy.deepcopy(self.book.root(part))
        return self.roots[part]

    def sheet(self, name: str):
        return self.root(f"xl/worksheets/sheet{self.book.sheets.index(name) + 1}.xml")

    def save(self, path: Path, compression: int = zipfile.ZIP_STORED) -> Path:
        parts = self.book.parts | self.parts
        parts |= {
            name: etree.tostring(root, xml_declaration=True, encoding="UTF-8") for name, root in self.roots.items()
        }
        with zipfile.ZipFile(path, "w", compression) as package:
            for name, data in parts.items():
                if data is not None:
                    package.writestr(name, data)
        return path

    def cell(self, place: CellAddress):
        """The element of a cell, made where there is none."""
        data = self.sheet(place.sheet).find(f"{MAIN}sheetData")
        row = _ordered(data, "row", place.row, lambda line: int(line.get("r")), str(place.row))
        return _ordered(row, "c", place.column, lambda cell: _column(cell.get("r")), place.cell)

    def put(self, place: CellAddress, value) -> "Edit":
        """A value in place of whatever was there."""
        cell = self.cell(place)
        _emptied(cell)
        _valued(cell, value)
        return self

    def cache(self, place: CellAddress, value) -> "Edit":
        """Another value beside the formula that is there; None for none."""
        cell = self.cell(place)
        _emptied(cell, keep=f"{MAIN}f")
        _valued(cell, value, "str")
        return self

    def formula(self, place: CellAddress, formula: str) -> "Edit":
        """Another formula; the value beside it stays."""
        cell = self.cell(place)
        old = cell.find(f"{MAIN}f")
        if old is None:
            old = etree.Element(f"{MAIN}f")
            cell.insert(0, old)
        old.text = formula
        return self

    def names(self):
        return self.root(WORKBOOK).find(f"{MAIN}definedNames")

    def name(self, name: str):
        return next(each for each in self.names() if each.get("name") == name and each.get("localSheetId") is None)

    def point(self, name: str, target: str) -> "Edit":
        self.name(name).text = target
        return self

    def forget(self, name: str) -> "Edit":
        self.names().remove(self.name(name))
        return self

    def double(self, name: str, sheet: str, target: str) -> "Edit":
        """The same name once more, for one sheet alone."""
        at = str(self.book.sheets.index(sheet))
        etree.SubElement(self.names(), f"{MAIN}definedName", name=name, localSheetId=at).text = target
        return self

    def rename(self, sheet: str, new: str) -> "Edit":
        self._listed(sheet).set("name", new)
        self._retarget(lambda title, cells: (new if title == sheet else title, cells))
        return self

    def show(self, sheet: str, state: str) -> "Edit":
        self._listed(sheet).set("state", state)
        return self

    def delete(self, sheet: str) -> "Edit":
        at = self.book.sheets.index(sheet)
        self._listed(sheet).getparent().remove(self._listed(sheet))
        for name in list(self.names()):
            if name.get("localSheetId") == str(at):
                self.names().remove(name)
            elif name.get("localSheetId") and int(name.get("localSheetId")) > at:
                name.set("localSheetId", str(int(name.get("localSheetId")) - 1))
        self._retarget(lambda title, cells: None if title == sheet else (title, cells))
        return self

    def add(self, title: str, like: str | None = None) -> "Edit":
        """One more sheet behind the others: a copy of one of them, or with a single word on it."""
        new = copy.deepcopy(self.sheet(like)) if like else _sheet_with("Hello")
        number = len(self.book.sheets) + 1
        part = f"xl/worksheets/sheet{number}.xml"
        for child in list(new):
            if child.tag not in (f"{MAIN}sheetData", f"{MAIN}mergeCells"):
                new.remove(child)
        self.parts[part] = etree.tostring(new)
        sheets = self.root(WORKBOOK).find(f"{MAIN}sheets")
        etree.SubElement(sheets, f"{MAIN}sheet", {"name": title, "sheetId": str(number + 90), LINK: "rIdAdded"})
        links = self.root(LINKS)
        kind = f"{LINK[1:].partition('}')[0]}/worksheet"
        etree.SubElement(
            links,
            f"{{{links.nsmap[None]}}}Relationship",
            Id="rIdAdded",
            Type=kind,
            Target=f"worksheets/sheet{number}.xml",
        )
        types = self.root(TYPES)
        etree.SubElement(types, f"{{{types.nsmap[None]}}}Override", PartName=f"/{part}", ContentType=SHEET_TYPE)
        return self

    def insert(self, sheet: str, row: int = 0, column: int = 0) -> "Edit":
        """A blank row or column before this one, cells and names moved along."""
        return self._shift(sheet, lambda r, c: (r + (0 < row <= r), c + (0 < column <= c)))

    def remove(self, sheet: str, row: int = 0, column: int = 0) -> "Edit":
        """Without a row or a column; names of it alone are lost."""

        def moved(r: int, c: int):
            return None if row == r or column == c else (r - (0 < row < r), c - (0 < column < c))

        return self._shift(sheet, moved)

    def _shift(self, sheet: str, moved) -> "Edit":
        cells = {}
        data = self.sheet(sheet).find(f"{MAIN}sheetData")
        for cell in list(data.iter(f"{MAIN}c")):
            if at := moved(_row(cell.get("r")), _column(cell.get("r"))):
                cells[at] = cell
        for line in list(data):
            data.remove(line)
        for (row, column), cell in sorted(cells.items()):
            cell.set("r", CellAddress(sheet, row, column).cell)
            if not len(data) or data[-1].get("r") != str(row):
                etree.SubElement(data, f"{MAIN}row", r=str(row))
            data[-1].append(cell)

        def corners(title: str, refs: list[tuple[int, int]]):
            if title != sheet:
                return title, refs
            rows = [
                row for row in range(refs[0][0], refs[-1][0] + 1) if moved(row, refs[0][1]) or moved(row, refs[-1][1])
            ]
            columns = [c for c in range(refs[0][1], refs[-1][1] + 1) if moved(refs[0][0], c) or moved(refs[-1][0], c)]
            kept = [moved(row, column) for row in rows for column in columns if moved(row, column)]
            return (title, [min(kept), max(kept)]) if kept else None

        for merged in list(self.sheet(sheet).iter(f"{MAIN}mergeCell")):
            found = corners(sheet, [(_row(ref), _column(ref)) for ref in merged.get("ref").split(":")])
            if found and found[1][0] != found[1][1]:
                merged.set("ref", ":".join(CellAddress(sheet, *at).cell for at in found[1]))
            else:
                merged.getparent().remove(merged)
        self._move_rules(sheet, corners)
        self._retarget(corners)
        return self

    def _move_rules(self, sheet: str, corners) -> None:
        """Moves the conditional formats of a sheet along with its cells."""
        for ruled in list(self.sheet(sheet).iter(f"{MAIN}conditionalFormatting")):
            areas = ruled.get("sqref").split()
            kept = (corners(sheet, [(_row(ref), _column(ref)) for ref in area.split(":")]) for area in areas)
            now = [":".join(CellAddress(sheet, *at).cell for at in area[1]) for area in kept if area]
            ruled.set("sqref", " ".join(now)) if now else ruled.getparent().remove(ruled)

    def _retarget(self, change) -> None:
        """Rewrites what each name stands for; `change` gets the sheet and the first and last (row, column)."""
        for name in self.names():
            title, _, area = name.text.rpartition("!")
            title = title.strip("'").replace("''", "'")
            refs = [(_row(ref), _column(ref)) for ref in area.replace("$", "").split(":")] if "$" in area else None
            if not refs or name.get("name").startswith("_xlnm"):
                continue
            found = change(title, refs)
            if found is None:
                name.text = "#REF!"
                continue
            title, refs = found
            cells = ":".join(
                dict.fromkeys(re.sub(r"([A-Z]+)(\d+)", r"$\1$\2", CellAddress("", *ref).cell) for ref in refs)
            )
            name.text = "'{}'!{}".format(title.replace("'", "''"), cells)

    def _listed(self, sheet: str):
        sheets = self.root(WORKBOOK).find(f"{MAIN}sheets")
        return sheets[self.book.sheets.index(sheet)]


def _sheet_with(text: str):
    root = etree.Element(f"{MAIN}worksheet", nsmap={None: MAIN[1:-1]})
    row = etree.SubElement(etree.SubElement(root, f"{MAIN}sheetData"), f"{MAIN}row", r="1")
    _valued(etree.SubElement(row, f"{MAIN}c", r="A1"), text)
    return root


def _ordered(parent, tag: str, position: int, position_of, reference: str):
    """The child at a position, put where it belongs if it is not there."""
    positions = [position_of(child) for child in parent]
    index = bisect_left(positions, position)
    if position in positions[index : index + 1]:
        return parent[index]
    new = etree.Element(f"{MAIN}{tag}", r=reference)
    parent.insert(index, new)
    return new


def _emptied(cell, keep: str = "") -> None:
    cell.attrib.pop("t", None)
    for child in list(cell):
        if child.tag != keep:
            cell.remove(child)


def _valued(cell, value, kind_of_text: str = "inlineStr") -> None:
    if value is None:
        return
    if isinstance(value, str) and kind_of_text == "inlineStr":
        cell.set("t", "inlineStr")
        text = etree.SubElement(etree.SubElement(cell, f"{MAIN}is"), f"{MAIN}t")
        text.text = value
        return
    kind = (
        "b"
        if isinstance(value, bool)
        else "e"
        if isinstance(value, Fault)
        else "str"
        if isinstance(value, str)
        else "n"
    )
    cell.set("t", kind)
    said = str(int(value)) if kind == "b" else value.text if kind == "e" else str(value)
    etree.SubElement(cell, f"{MAIN}v").text = said


def _row(reference: str) -> int:
    return int(reference.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ"))


def _column(reference: str) -> int:
    column = 0
    for letter in reference.rstrip("0123456789"):
        column = column * 26 + ord(letter) - 64
    return column
