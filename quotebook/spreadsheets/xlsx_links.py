"""Finds the parts of an .xlsx by the types and the links that its package states (ECMA-376 part 2, 9 and 10).

A part is what its content type says, and belongs to what a relationship leads from; the name of its file says
nothing. What is neither read nor known to be harmless is noted, and what runs, links or embeds is told.
"""

import posixpath
import re
from collections.abc import Hashable, Iterable
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

from quotebook.spreadsheets.grammar import Grammar, Unknowns
from quotebook.spreadsheets.package import AGAIN, SAVE, Package
from quotebook.spreadsheets.remembered import Remembered
from quotebook.spreadsheets.xlsx_book_tables import PREFIXES

if TYPE_CHECKING:
    from lxml.etree import _Element

TYPES_PART = "[Content_Types].xml"
TYPES = """
Types                 > Default* Override*
Default               Extension ContentType
Override              PartName ContentType
"""
RELATIONSHIPS = """
Relationships         xml:space > Relationship*
Relationship          Id Type Target TargetMode
"""

READ = {
    "officeDocument": ("spreadsheetml.sheet.main+xml", "ms-excel.sheet.macroEnabled.main+xml"),
    "worksheet": ("spreadsheetml.worksheet+xml",),
    "sharedStrings": ("spreadsheetml.sharedStrings+xml",),
    "styles": ("spreadsheetml.styles+xml",),
    "comments": ("spreadsheetml.comments+xml",),
    "drawing": ("drawing+xml",),
    "vmlDrawing": ("vmlDrawing",),
    "theme": ("theme+xml",),
}
"""Relationships that are followed, by the last part of their type, each with the ends of the content types that the
part which it leads to may have."""
TEMPLATE = ("spreadsheetml.template.main+xml", "ms-excel.template.macroEnabled.main+xml")

TOLD = {
    "macro": "vbaProject wordVbaData vbaProjectSignature xlMacrosheet xlIntlMacrosheet attachedToolbars",
    "ribbon of commands": "ui/extensibility ui/userCustomization",
    "external link": "externalLink externalReference volatileDependencies",
    "embedded object": "oleObject package",
    "ActiveX control": "control ctrlProp activeXControlBinary",
    "data connection": "connections queryTable powerPivotData customData",
    "web extension": "webextension webextensiontaskpanes",
    "dialog sheet": "dialogsheet",
    "pivot table": "pivotTable",
}
"""Relationships that are told, by what each leads to."""
HARMLESS = frozenset(
    (
        "themeOverride", "calcChain", "printerSettings", "chart", "chartUserShapes",
        "chartStyle", "chartColorStyle", "chartEx", "image", "hdphoto", "threadedComment", "person",
        "documenttask", "extended-properties", "extendedProperties", "core-properties", "custom-properties",
        "customProperties", "customProperty", "thumbnail", "metadata/thumbnail", "metadata/core-properties", "table",
        "pivotCacheDefinition", "pivotCacheRecords", "slicer", "slicerCache", "timeline", "timelineCache", "customXml",
        "customXmlProps", "xmlMaps", "tableSingleCells", "sheetMetadata", "rdRichValue", "rdRichValueStructure",
        "rdRichValueTypes", "rdSupportingPropertyBag", "rdSupportingPropertyBagStructure", "rdArray", "richValueRel",
        "richStyles", "FeaturePropertyBag", "namedSheetView", "hyperlink", "chartsheet", "revisionHeaders",
        "revisionLog", "usernames", "classificationlabels", "diagramData", "diagramLayout", "diagramQuickStyle",
        "diagramColors", "diagramDrawing", "font", "digital-signature/origin", "digital-signature/signature",
        "digital-signature/certificate", "workbookmetadata", "externalLinkPath", "xlExternalLinkPath/xlPathMissing",
        "xlExternalLinkPath/xlStartup", "xlExternalLinkPath/xlAlternateStartup", "xlExternalLinkPath/xlLibrary",
    )
)  # fmt: skip
"""Relationships to what holds no cells of a sheet, and those of a part that is told itself."""

OFFICE = (
    "http://schemas.openxmlformats.org/officeDocument/2006/relationships/",
    "http://purl.oclc.org/ooxml/officeDocument/relationships/",
)
"""What the type of a relationship that is followed begins with, transitional and strict."""
TYPE = re.compile(
    r"(?:http://schemas\.openxmlformats\.org/(?:officeDocument|package)/2006/relationships"
    r"|http://purl\.oclc\.org/ooxml/officeDocument/relationships"
    r"|http://schemas\.microsoft\.com/office/[0-9]{4}(?:/[0-9]{2})?/relationships"
    r"|http://customschemas\.google\.com/relationships)/(.+)"
)
"""The types of relationships of the standard, of Microsoft and of Google, with what each says."""
MEDIA = re.compile(r"(?:image|audio|video|font)/[\w.+-]+")
FAMILY = re.compile(
    r"application/(?:xml|binary|octet-stream|msword|vnd\.ms-(?:office|excel|powerpoint|word)[\w.+-]*"
    r"|vnd\.openxmlformats-(?:officedocument|package)\.[\w.+-]+|x-fontdata|x-font-ttf|pdf|json|inkml\+xml)"
)
"""Content types of the standard's and of Microsoft's families: what holds cells among them is only in READ."""
LINKS_OUT = ("/hyperlink", "/externalLinkPath")
"""The ends of the types of links that lead out of the package and fetch nothing by themselves, or are told already."""
NOWHERE = "about:blank"
"""Where the links of a marked copy lead."""
TARGET = re.compile(r"(?:/|(?:\.\./)*)(?:(?!\.\.?/)[^%\\?#:/]+/)*(?!\.\.?$)[^%\\?#:/]+")
"""A link inside the package, spelled so that no two programs read it as the names of two files: LibreOffice looks for a
file of that very name before it makes one step less of `./`."""
TOLD_TYPES = {
    "macro": ("vbaProject", "macrosheet+xml"),
    "external link": ("externalLink+xml",),
    "embedded object": ("oleObject",),
    "ActiveX control": ("activeX+xml", "activeX", "controlproperties+xml"),
    "data connection": ("connections+xml", "queryTable+xml", "model+data"),
    "web extension": ("webextension+xml", "webextensiontaskpanes+xml"),
}
"""The ends of content types that are told, whatever leads to a part of that type."""


class Link(NamedTuple):
    """What a relationship leads to inside the package."""

    kind: str
    """A key of READ, or "" for what is not followed."""
    member: str


Told = dict[tuple[str, str], None]
"""What runs, links or embeds, as (kind, part or target)."""


class Types:
    """The content types of a package, as stated."""

    def __init__(self, defaults: dict[str, str], overrides: dict[str, str], members: Iterable[str]):
        """`defaults` are by ending, `overrides` by part; `members` are all parts."""
        self._defaults, self._overrides = defaults, overrides
        self.told: Told = dict.fromkeys(
            (what, member)
            for member in members
            for what, ends in TOLD_TYPES.items()
            if re.split(r"[./-]", self.of(member))[-1] in ends
        )

    def of(self, member: str) -> str:
        """The type of a part; "" where none is stated."""
        return self._overrides.get(f"/{member}") or self._defaults.get(member.rpartition(".")[2].lower(), "")


_TYPES: Remembered[Types] = Remembered()
_LINKS: Remembered[tuple[dict[str, Link], Told]] = Remembered()


class Links:
    """The links of a package. Notes in `unknowns` what is not known; `told` has what runs, links or embeds."""

    def __init__(self, package: Package, unknowns: Unknowns):
        self._package, self._unknowns = package, unknowns
        types = package.utf8(TYPES_PART)
        names: tuple[Hashable, ...] = (package.exact_names, *package.members)
        self._types = _TYPES.of((types, names), unknowns, lambda: self._content_types(types))
        self.told: Told = dict.fromkeys(self._types.told)
        self._links: dict[str, dict[str, Link]] = {}
        for part in package.members:
            if part.lower().endswith(".rels"):
                self._add(part, types, names)

    def _add(self, part: str, types: bytes, names: tuple[Hashable, ...]) -> None:
        """Adds what a part of relationships leads to and tells; both depend on the types and names of all parts."""
        data = self._package.utf8(part)
        links, told = _LINKS.of((part, data, types, names), self._unknowns, lambda: self._read(part, data))
        self._links[part.lower()] = links
        self.told |= told

    def of(self, part: str) -> dict[str, Link]:
        """What a part, or the package itself (""), leads to, by the ids of its relationships."""
        folder, file = posixpath.split(part)
        return self._links.get(posixpath.join(folder, "_rels", f"{file}.rels").lower(), {})

    def only(self, part: str, kind: str) -> str | None:
        """The one member of a kind that a part leads to; None where there is none. A second one is noted."""
        members = [link.member for link in self.of(part).values() if link.kind == kind]
        if len(members) > 1:
            self._unknowns.note(f"a second link to {kind}", part or "_rels/.rels")
        return members[0] if members else None

    def main_part(self) -> str:
        """The part of the workbook. Raises Unreadable where there is none, or where it is a template."""
        part = self.only("", "officeDocument")
        if part is None:
            raise self._package.unreadable(f"does not say where its officeDocument is; {AGAIN}")
        if self._types.of(part).endswith(TEMPLATE):
            raise self._package.unreadable(f"is a template for workbooks (.xltx); {SAVE}")
        return part

    def _content_types(self, data: bytes) -> Types:
        """The content types, as stated."""
        part, root = TYPES_PART, self._package.parsed(TYPES_PART, data)
        self._hold(part, root, _types())
        defaults: dict[str, str] = {}
        overrides: dict[str, str] = {}
        for element in root:
            kind = element.get("ContentType", "")
            name, types = element.get("PartName"), overrides
            if name is None:
                name, types = element.get("Extension", "").lower(), defaults
            elif not (name.startswith("/") and TARGET.fullmatch(name)):
                self._unknowns.note(f"the part name {name[:60]!r}", part)
            if types.setdefault(name, kind) != kind:
                self._unknowns.note(f"two content types of {name[:60]!r}", part)
            if not (FAMILY.fullmatch(kind) or MEDIA.fullmatch(kind)):
                self._unknowns.note(f"the content type {kind[:80]!r}", part)
        if len({name.lower() for name in overrides}) < len(overrides):
            self._unknowns.note("two parts whose names differ by case", part)
        return Types(defaults, overrides, self._package.members)

    def _read(self, part: str, data: bytes) -> tuple[dict[str, Link], Told]:
        """The links in a part of relationships that stay inside the package, by id, and what is told of others."""
        folder = posixpath.dirname(posixpath.dirname(part))
        root = self._package.parsed(part, data)
        self._hold(part, root, _relationships())
        links: dict[str, Link] = {}
        told: Told = {}
        for element in root:
            id_, type_, target = (element.get(name, "") for name in ("Id", "Type", "Target"))
            outside = element.get("TargetMode", "Internal")
            if outside not in ("Internal", "External"):
                self._unknowns.note(f"the target mode {outside[:20]!r}", part)
            member = "" if outside != "Internal" else posixpath.normpath(posixpath.join("/", folder, target))[1:]
            if id_ in links:
                self._unknowns.note(f"the id {id_[:40]!r} twice", part)
            links[id_] = Link(self._kind(part, type_, member or target, told), member)
            if outside == "External" and target != NOWHERE and not type_.endswith(LINKS_OUT):
                told["external link", target[:100]] = None
            is_lost = links[id_].kind == "theme" and not self._package.has(member)  # some libraries leave it out
            if outside == "Internal" and links[id_].kind and not is_lost:
                self._hold_target(part, target, links[id_])
        return {id_: link for id_, link in links.items() if link.member}, told

    def _kind(self, part: str, type_: str, leads_to: str, told: Told) -> str:
        """What is followed of that type, or "". Notes a type that is not known; adds what is to be told to `told`."""
        name = next((type_.removeprefix(start) for start in OFFICE if type_.startswith(start)), "")
        if name in READ:
            return name
        match = TYPE.fullmatch(type_)
        name = match[1] if match else ""
        what = _told_names().get(name)
        if what:
            told[what, leads_to] = None
        elif name not in HARMLESS:
            self._unknowns.note(f"a link of the type {type_[-80:]!r}", part)
        return ""

    def _hold_target(self, part: str, target: str, link: Link) -> None:
        """Notes a link that another program may take for one to another part, and a part of another type."""
        if not TARGET.fullmatch(target) or link.member not in self._package.exact_names:
            self._unknowns.note(f"a link to {target[:60]!r}, which is no part of exactly that name", part)
        elif not (kind := self._types.of(link.member)).endswith((*READ[link.kind], *TEMPLATE)):
            self._unknowns.note(f"a link to {link.kind} that leads to {kind[:80]!r}", part)

    def _hold(self, part: str, root: "_Element", grammar: Grammar) -> None:
        if part not in self._package.exact_names:
            self._unknowns.note(f"the part name {part[:60]!r} in other letters", part)
        for _, what in grammar.unknown_in(root):
            self._unknowns.note(what, part)


@cache
def _types() -> Grammar:
    return Grammar(TYPES, PREFIXES | {"": "http://schemas.openxmlformats.org/package/2006/content-types"})


@cache
def _relationships() -> Grammar:
    return Grammar(RELATIONSHIPS, PREFIXES | {"": "http://schemas.openxmlformats.org/package/2006/relationships"})


@cache
def _told_names() -> dict[str, str]:
    return {name: what for what, names in TOLD.items() for name in names.split()}
