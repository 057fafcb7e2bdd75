"""A package on its way into a copy: parts edited, added or left behind, and every other one byte for byte.

What the copy carries is what its relationships still lead to (ECMA-376 part 2, 6.5), so that a part
is left behind by cutting the relationship to it.
"""

import posixpath
import re
from collections.abc import Iterator
from typing import BinaryIO
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from lxml import etree

from quotebook.spreadsheets.package import AGAIN, Package
from quotebook.spreadsheets.xlsx import LINK, MAIN

TYPES_PART = "[Content_Types].xml"
TYPES = "{http://schemas.openxmlformats.org/package/2006/content-types}"
LINKS = "{http://schemas.openxmlformats.org/package/2006/relationships}"
NO_LINKS = f"<Relationships xmlns='{LINKS[1:-1]}'/>"

NOT_AS_IT_IS = re.compile(r"_(?=x[0-9A-Fa-f]{4}_)|[\x00-\x08\x0b-\x1f\ud800-\udfff\ufffe\uffff]")
"""What a text must not hold as it is, but as `_xHHHH_` (ECMA-376 part 1, 22.9.2.19, ST_Xstring)."""
LONGEST_TEXT = 32_767


class Copy:
    """The parts of one .xlsx package; names count in any case of letters, as in a package."""

    def __init__(self, package: Package):
        self.package = package
        self.names = {name.replace("\\", "/").lower(): name for name in package.members}
        self._roots: dict[str, etree._Element] = {}
        self._edited: set[str] = set()
        self.book = next((target for _, kind, target in self.links("") if kind == "officeDocument"), "")
        """The workbook's own part."""
        self.main = next((main for main in MAIN if self.book and self.look(self.book).tag == f"{main}workbook"), "")
        """The namespace of sheets and cells, transitional or strict."""
        if not self.main:
            raise package.unreadable(f"does not say where its workbook is; {AGAIN}")
        self.link_id = LINK[MAIN.index(self.main)]
        """The attribute by which an element names a relationship."""

    def look(self, part: str) -> etree._Element:
        """The root of a part's XML, to be read."""
        key = part.lower()
        if key not in self._roots:
            self._roots[key] = self.package.xml(part)
        return self._roots[key]

    def edit(self, part: str) -> etree._Element:
        """The same, to be changed: the part will be written anew."""
        root = self.look(part)
        self._edited.add(part.lower())
        return root

    def add(self, part: str, root: etree._Element, content_type: str) -> None:
        """A part of our own, or one that takes the place of another."""
        self.names.setdefault(part.lower(), part)
        self._roots[part.lower()] = root
        self._edited.add(part.lower())
        self.declare(part, content_type)

    def free_name(self, pattern: str) -> str:
        """`xl/comments{}.xml` without a number, or with the first that is not taken."""
        names = (pattern.format(number) for number in ("", *range(1, len(self.names) + 1)))
        return next(name for name in names if name.lower() not in self.names)

    def declare(self, part: str, content_type: str) -> None:
        """Says what a part holds."""
        types, name = self.edit(TYPES_PART), f"/{part}"
        for override in types.iterfind(f"{TYPES}Override"):
            if override.get("PartName", "").lower() == name.lower():
                override.set("ContentType", content_type)
                return
        etree.SubElement(types, f"{TYPES}Override", PartName=name, ContentType=content_type)

    def links(self, part: str) -> Iterator[tuple[etree._Element, str, str]]:
        """The relationships of a part (the package itself: ""): the element, its kind, the part it leads to.

        One that leads out of the package leads to "".
        """
        links = _links_part(part)
        for link in list(self.look(links)) if links.lower() in self.names else ():
            if link.tag == f"{LINKS}Relationship":
                inside = link.get("TargetMode") != "External"
                target = posixpath.join("/", posixpath.dirname(part), link.get("Target", ""))
                target = posixpath.normpath(target).lstrip("/") if inside else ""
                yield link, link.get("Type", "").rpartition("/")[2], target

    def link(self, part: str, kind: str, target: str) -> str:
        """A relationship of a kind (`worksheet`) from a part to another; returns its id."""
        links = _links_part(part)
        if links.lower() not in self.names:
            self.names[links.lower()] = links
            self._roots[links.lower()] = etree.fromstring(NO_LINKS)
        root = self.edit(links)
        taken = {link.get("Id") for link in root}
        number = next(f"rId{count}" for count in range(1, len(taken) + 2) if f"rId{count}" not in taken)
        etree.SubElement(root, f"{LINKS}Relationship", Id=number, Type=self.full_kind(kind), Target=f"/{target}")
        return number

    def full_kind(self, kind: str) -> str:
        """A kind of relationship as this package writes it out."""
        return f"{self.link_id[1:-3]}/{kind}"

    def linked(self, part: str, element: etree._Element) -> str:
        """The part that an element of `part` names; "" where it names none."""
        number = next((element.get(attribute) for attribute in LINK if element.get(attribute)), None)
        return next((target for link, _, target in self.links(part) if number and link.get("Id") == number), "")

    def cut(self, part: str, link: etree._Element) -> None:
        """Ends a relationship of a part; a section of the part that names it goes too."""
        self.edit(_links_part(part)).remove(link)
        if part:
            for section in [child for child in self.look(part) if _names(child, link.get("Id"))]:
                self.edit(part).remove(section)

    def point(self, part: str, link: etree._Element, **attributes: str) -> None:
        """Lets a relationship of a part lead elsewhere."""
        self.edit(_links_part(part))
        link.attrib.update(attributes)

    def parts(self) -> set[str]:
        """Every part that the copy will carry, in lower case."""
        reached, waiting = set(), [""]
        while waiting:
            part = waiting.pop()
            targets = {target.lower() for _, _, target in self.links(self.names.get(part, part))}
            waiting += (targets - reached) & self.names.keys()
            reached |= targets & self.names.keys()
        return reached

    def write(self, file: BinaryIO) -> None:
        """The package, its list of parts first. The same parts give the same bytes."""
        parts = self.parts()
        carried = parts | {_links_part(part).lower() for part in (*parts, "")} | {TYPES_PART.lower()}
        types = self.edit(TYPES_PART)
        for override in list(types.iterfind(f"{TYPES}Override")):
            if override.get("PartName", "").lstrip("/").lower() not in parts:
                types.remove(override)
        with ZipFile(file, "w", ZIP_DEFLATED) as archive:
            for key in sorted(self.names, key=lambda key: key != TYPES_PART.lower()):
                if key in carried:
                    archive.writestr(_entry(self.names[key]), self._bytes(key))

    def _bytes(self, key: str) -> bytes:
        if key not in self._edited:
            return self.package.read(self.names[key])
        return etree.tostring(self._roots[key], xml_declaration=True, encoding="UTF-8", standalone=True)


def _names(section: etree._Element, number: str | None) -> bool:
    """Whether an element, or one in it, names a relationship."""
    return any(element.get(attribute) == number for element in section.iter() for attribute in LINK)


def _links_part(part: str) -> str:
    """The part that holds a part's relationships."""
    folder, name = posixpath.split(part)
    return posixpath.join(folder, "_rels", f"{name}.rels")


def _entry(name: str) -> ZipInfo:
    entry = ZipInfo(name.replace("\\", "/"))
    entry.compress_type = ZIP_DEFLATED
    return entry


def text_element(tag: str, text: str) -> etree._Element:
    """An element with a text that reads back as it is, whatever is in it, and is never more than text."""
    element = etree.Element(tag)
    element.text = NOT_AS_IT_IS.sub(lambda match: f"_x{ord(match[0]):04X}_", text[:LONGEST_TEXT])
    element.set("{http://www.w3.org/XML/1998/namespace}space", "preserve")
    return element
