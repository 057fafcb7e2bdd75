"""Copies an .xlsx package with some parts edited, added or left out, and every other part byte for byte.

The copy contains the parts that its relationships still lead to (ECMA-376 part 2, 6.5). A part is left out by removing
the relationship to it.
"""

import posixpath
import re
from collections.abc import Iterator
from typing import BinaryIO
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from lxml import etree

from quotebook.spreadsheets.package import AGAIN, LIMITS, Package
from quotebook.spreadsheets.xlsx_parts import LINK, MAIN

TYPES_PART = "[Content_Types].xml"
TYPES = "{http://schemas.openxmlformats.org/package/2006/content-types}"
LINKS = "{http://schemas.openxmlformats.org/package/2006/relationships}"
EMPTY_LINKS = f"<Relationships xmlns='{LINKS[1:-1]}'/>"

ESCAPED = re.compile(r"_(?=x[0-9A-Fa-f]{4}_)|[\x00-\x08\x0b-\x1f\ud800-\udfff\ufffe\uffff]")
"""Characters that a text must write as `_xHHHH_` (ECMA-376 part 1, 22.9.2.19, ST_Xstring)."""
LONGEST_TEXT = LIMITS["characters in one text"]


class PackageCopy:
    """The parts of one .xlsx package. Names of parts ignore case, as the format does."""

    def __init__(self, package: Package) -> None:
        self.package = package
        self.names = {name.replace("\\", "/").lower(): name for name in package.members}
        self._roots: dict[str, etree._Element] = {}
        self._edited: set[str] = set()
        self.book = next((target for _, kind, target in self.links("") if kind == "officeDocument"), "")
        """The part of the workbook."""
        self.main = next((main for main in MAIN if self.book and self.read(self.book).tag == f"{main}workbook"), "")
        """The namespace of sheets and cells, transitional or strict, in braces."""
        if not self.main:
            raise package.unreadable(f"does not say where its workbook is; {AGAIN}")
        self.link_id = LINK[MAIN.index(self.main)]
        """The attribute by which an element names a relationship, in the same variant."""

    def read(self, part: str) -> etree._Element:
        """The root of a part's XML, for reading only."""
        key = part.lower()
        if key not in self._roots:
            self._roots[key] = self.package.xml(part)
        return self._roots[key]

    def edit(self, part: str) -> etree._Element:
        """The root of a part's XML, for changes: the copy gets this part as it is when the copy is written."""
        root = self.read(part)
        self._edited.add(part.lower())
        return root

    def add(self, part: str, root: etree._Element, content_type: str) -> None:
        """Adds a part, or replaces the part of that name."""
        self.names.setdefault(part.lower(), part)
        self._roots[part.lower()] = root
        self._edited.add(part.lower())
        self.declare(part, content_type)

    def free_name(self, pattern: str) -> str:
        """A name that no part has, from a pattern such as `xl/comments{}.xml`: without a number, or with the lowest."""
        names = (pattern.format(number) for number in ("", *range(1, len(self.names) + 1)))
        return next(name for name in names if name.lower() not in self.names)

    def declare(self, part: str, content_type: str) -> None:
        """Sets the content type of a part."""
        types, name = self.edit(TYPES_PART), f"/{part}"
        for override in types.iterfind(f"{TYPES}Override"):
            if override.get("PartName", "").lower() == name.lower():
                override.set("ContentType", content_type)
                return
        etree.SubElement(types, f"{TYPES}Override", PartName=name, ContentType=content_type)

    def links(self, part: str) -> Iterator[tuple[etree._Element, str, str]]:
        """The relationships of a part, or of the package itself (""): the element, its kind and the part it leads to.

        That part is "" for a relationship that leads out of the package.
        """
        links = _links_part(part)
        for link in list(self.read(links)) if links.lower() in self.names else ():
            if link.tag == f"{LINKS}Relationship":
                inside = link.get("TargetMode") != "External"
                target = posixpath.join("/", posixpath.dirname(part), link.get("Target", ""))
                target = posixpath.normpath(target).lstrip("/") if inside else ""
                yield link, link.get("Type", "").rpartition("/")[2], target

    def link(self, part: str, kind: str, target: str) -> str:
        """Adds a relationship of a kind, such as `worksheet`, from a part to another; returns its id."""
        links = _links_part(part)
        if links.lower() not in self.names:
            self.names[links.lower()] = links
            self._roots[links.lower()] = etree.fromstring(EMPTY_LINKS)
        root = self.edit(links)
        taken = {link.get("Id") for link in root}
        number = next(f"rId{count}" for count in range(1, len(taken) + 2) if f"rId{count}" not in taken)
        etree.SubElement(root, f"{LINKS}Relationship", Id=number, Type=self.full_kind(kind), Target=f"/{target}")
        return number

    def full_kind(self, kind: str) -> str:
        """The full name of a kind of relationship, in the variant of this package."""
        return f"{self.link_id[1:-3]}/{kind}"

    def linked(self, part: str, element: etree._Element) -> str:
        """The part that an element of `part` refers to; "" where it refers to none."""
        number = next((element.get(attribute) for attribute in LINK if element.get(attribute)), None)
        return next((target for link, _, target in self.links(part) if number and link.get("Id") == number), "")

    def cut(self, part: str, link: etree._Element) -> None:
        """Removes a relationship of a part, and every section of the part that refers to it."""
        self.edit(_links_part(part)).remove(link)
        if part:
            for section in [child for child in self.read(part) if _refers(child, link.get("Id"))]:
                self.edit(part).remove(section)

    def point(self, part: str, link: etree._Element, **attributes: str) -> None:
        """Changes attributes of a relationship of a part, such as its target."""
        self.edit(_links_part(part))
        for name, value in attributes.items():
            link.set(name, value)

    def parts(self) -> set[str]:
        """Every part that the copy will contain, in lower case."""
        reached: set[str] = set()
        waiting = [""]
        while waiting:
            part = waiting.pop()
            targets = {target.lower() for _, _, target in self.links(self.names.get(part, part))}
            waiting += (targets - reached) & self.names.keys()
            reached |= targets & self.names.keys()
        return reached

    def write(self, file: BinaryIO) -> None:
        """Writes the package, its list of content types first. The same parts always give the same bytes."""
        parts = self.parts()
        written = parts | {_links_part(part).lower() for part in (*parts, "")} | {TYPES_PART.lower()}
        types = self.edit(TYPES_PART)
        for override in list(types.iterfind(f"{TYPES}Override")):
            if override.get("PartName", "").lstrip("/").lower() not in parts:
                types.remove(override)
        with ZipFile(file, "w", ZIP_DEFLATED) as archive:
            for key in sorted(self.names, key=lambda key: key != TYPES_PART.lower()):
                if key in written:
                    archive.writestr(_entry(self.names[key]), self._bytes(key))

    def _bytes(self, key: str) -> bytes:
        """A part as the copy gets it: unchanged unless it was edited."""
        if key not in self._edited:
            return self.package.read(self.names[key])
        return etree.tostring(self._roots[key], xml_declaration=True, encoding="UTF-8", standalone=True)


def _refers(section: etree._Element, number: str | None) -> bool:
    """Whether an element, or one inside it, refers to a relationship."""
    return any(element.get(attribute) == number for element in section.iter() for attribute in LINK)


def _links_part(part: str) -> str:
    """The name of the part that holds a part's relationships."""
    folder, name = posixpath.split(part)
    return posixpath.join(folder, "_rels", f"{name}.rels")


def _entry(name: str) -> ZipInfo:
    """The zip entry of a part, with a fixed time so that the bytes are the same on every run."""
    entry = ZipInfo(name.replace("\\", "/"))
    entry.compress_type = ZIP_DEFLATED
    return entry


def text_element(tag: str, text: str) -> etree._Element:
    """An element whose text reads back unchanged, whatever characters it has; cut to the longest text of a cell."""
    element = etree.Element(tag)
    element.text = ESCAPED.sub(lambda match: f"_x{ord(match[0]):04X}_", text[:LONGEST_TEXT])
    element.set("{http://www.w3.org/XML/1998/namespace}space", "preserve")
    return element
