"""A file taken apart for a mutation, at places that chance picks, and put together again."""

import copy
import random
import zipfile
from pathlib import Path

from lxml import etree

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
STRICT = "http://purl.oclc.org/ooxml/spreadsheetml/main"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
MC = "http://schemas.openxmlformats.org/markup-compatibility/2006"
X14 = "http://schemas.microsoft.com/office/spreadsheetml/2009/9/main"
ODF = "urn:oasis:names:tc:opendocument:xmlns:{}:1.0"
OFFICE_, TABLE, TEXT = (f"{{{ODF.format(name)}}}" for name in ("office", "table", "text"))
CALCEXT = "{urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0}"
NAMESPACES = (MAIN, STRICT, X14, MC, "urn:other", "")
M = f"{{{MAIN}}}"
BOOK, LINKS, TYPES, STRINGS = (
    "xl/workbook.xml",
    "xl/_rels/workbook.xml.rels",
    "[Content_Types].xml",
    "xl/sharedStrings.xml",
)
FALSE = "4711"
"""What a mutation would have a program show."""


class Unfit(Exception):
    """A mutation that has nothing to take hold of where chance put it."""


class Package:
    """The parts of a file, under the hand. `duplicates` are members of a name that is there already."""

    def __init__(self, parts: dict[str, bytes], chance: random.Random):
        self.parts, self.chance = dict(parts), chance
        self.roots, self.duplicates = {}, []

    def root(self, part: str):
        if part not in self.roots:
            if part not in self.parts:
                raise Unfit
            self.roots[part] = etree.fromstring(self.parts[part])
        return self.roots[part]

    def data(self, part: str) -> bytes:
        root = self.roots.pop(part, None)
        if root is not None:
            self.parts[part] = etree.tostring(root, xml_declaration=True, encoding="UTF-8", standalone=True)
        return self.parts[part]

    def pick(self, items):
        items = list(items)
        if not items:
            raise Unfit
        return self.chance.choice(items)

    def sheet(self):
        """A sheet but the stamp's, which holds more than the others together."""
        sheets = sorted(name for name in self.parts if name.startswith("xl/worksheets/sheet"))
        return self.root(self.pick(sheets[:-1]))

    def cell(self, having: str = "v"):
        """A cell that has such a child."""
        return self.pick(cell for cell in self.sheet().iter(f"{M}c") if cell.find(f"{M}{having}") is not None)

    def save(self, path: Path) -> Path:
        for part in list(self.roots):
            self.data(part)
        with zipfile.ZipFile(path, "w", zipfile.ZIP_STORED) as archive:
            for name, data in [*self.parts.items(), *self.duplicates]:
                archive.writestr(name, data)
        return path


def twin_of(package, cell, value=FALSE):
    """A copy of a cell that shows something else, as a number of its own."""
    twin = copy.deepcopy(cell)
    for child in list(twin):
        twin.remove(child)
    twin.set("t", "n")
    etree.SubElement(twin, f"{M}v").text = value
    return twin


def put_beside(package, element, other):
    """Puts an element before or behind another."""
    (element.addprevious if package.chance.random() < 0.5 else element.addnext)(other)
