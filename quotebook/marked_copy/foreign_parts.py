"""Removes from a copy of somebody else's workbook everything that could run, or lead out of the file.

That is macros, ActiveX controls, embedded objects, links to other workbooks, data connections, buttons of the ribbon,
and signatures, which the copy would break. The last values of the cells stay.
"""

import re

from lxml import etree

from quotebook.marked_copy.package_copy import PackageCopy
from quotebook.spreadsheets.package import OBSERVED

BOOK_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"
SHEET_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"

FOREIGN = {
    "vbaProject", "wordVbaData", "attachedToolbars", "extensibility", "control", "activeXControlBinary", "oleObject",
    "package", "externalLink", "connections", "queryTable", "calcChain", "origin",
}  # fmt: skip
"""Kinds of relationship that are removed. Any program can rebuild the order of calculation (`calcChain`)."""

MACRO_SHEETS = {"xlMacrosheet", "xlIntlMacrosheet", "dialogsheet"}
"""Kinds of sheet that hold commands; a blank sheet replaces them."""

OTHER_WORKBOOK = re.compile(r"(?<![\w.\[])\[[1-9][0-9]*\]|\|")
"""A reference in a formula to another workbook by its number, `[1]Sheet1!A1`, or to another program, `name|topic`."""

LOST = "#REF!"
BLANK = "<worksheet xmlns='{space}'><sheetData/></worksheet>"


def remove_foreign_parts(copy: PackageCopy) -> None:
    """Removes everything foreign from a copy, and whatever depends on it."""
    for part in ("", *(copy.names[key] for key in copy.parts())):
        for link, kind, target in copy.links(part):
            if kind in MACRO_SHEETS:
                copy.point(part, link, Type=copy.full_kind("worksheet"))
                copy.add(target, etree.fromstring(BLANK.format(space=copy.main[1:-1])), SHEET_TYPE)
            elif kind in FOREIGN or any(pattern.fullmatch(target.lower()) for pattern in OBSERVED.values()):
                copy.cut(part, link)
                if kind == "queryTable":
                    _as_plain_table(copy.edit(part))
            elif kind != "hyperlink" and link.get("TargetMode") == "External":
                copy.point(part, link, Target="about:blank")
    copy.declare(copy.book, BOOK_TYPE)
    _remove_foreign_formulas(copy)


def _as_plain_table(root: etree._Element) -> None:
    """Turns a table that a query filled into a plain table of cells."""
    for element in root.iter():
        for attribute in ("tableType", "queryTableFieldId", "connectionId"):
            if attribute in element.attrib:
                del element.attrib[attribute]


def _remove_foreign_formulas(copy: PackageCopy) -> None:
    """Removes formulas that read removed parts: a cell keeps its last value, a name or a rule becomes an error."""
    sheets = [target for _, kind, target in copy.links(copy.book) if kind == "worksheet"]
    for part in (copy.book, *sheets):
        found = [
            element
            for element in copy.read(part).iter(*_formula_tags(copy.main))
            if OTHER_WORKBOOK.search(_without_texts(element))
        ]
        shared = {element.get("si") for element in found if element.get("t") == "shared"}
        if found:
            found += [element for element in copy.edit(part).iter(f"{copy.main}f") if element.get("si") in shared]
        for element in dict.fromkeys(found):
            cell = element.getparent()
            if element.tag == f"{copy.main}f" and cell is not None:
                cell.remove(element)
            else:
                element.text = LOST


def _formula_tags(main: str) -> list[str]:
    """The tags of elements that hold a formula: of cells, of rules and of names."""
    return [f"{main}{name}" for name in ("f", "formula", "formula1", "formula2", "definedName")]


def _without_texts(element: etree._Element) -> str:
    """A formula without its quoted texts."""
    return re.sub(r'"[^"]*"', "", element.text or "")
