"""What a copy of somebody else's workbook leaves behind: whatever could run, or lead out of the file.

Macros, ActiveX controls, embedded objects, links to other workbooks, data connections, buttons of
the ribbon, and signatures that the copy would break. What the cells last showed stays.
"""

import re

from lxml import etree

from quotebook.marked_copy.package_copy import Copy
from quotebook.spreadsheets.package import OBSERVED

BOOK_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"
SHEET_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"

FOREIGN = {
    "vbaProject", "wordVbaData", "attachedToolbars", "extensibility", "control", "activeXControlBinary", "oleObject",
    "package", "externalLink", "connections", "queryTable", "calcChain", "origin",
}  # fmt: skip
"""Kinds of relationship that are cut. The order of calculation (`calcChain`) is worked out anew by any program."""

MACRO_SHEETS = {"xlMacrosheet", "xlIntlMacrosheet", "dialogsheet"}
"""Kinds of sheet that hold commands; a blank sheet takes their place."""

ELSEWHERE = re.compile(r"(?<![\w.\[])\[[1-9][0-9]*\]|\|")
"""In a formula: another workbook by its number, `[1]Sheet1!A1`, or another program, `name|topic`."""

LOST = "#REF!"
BLANK = "<worksheet xmlns='{space}'><sheetData/></worksheet>"


def leave_behind_foreign(copy: Copy) -> None:
    """Cuts everything foreign out of a copy, and what rests on it."""
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
    _settle_formulas(copy)


def _as_plain_table(root: etree._Element) -> None:
    """Makes a table that a query filled one of cells alone."""
    for element in root.iter():
        for attribute in ("tableType", "queryTableFieldId", "connectionId"):
            element.attrib.pop(attribute, None)


def _settle_formulas(copy: Copy) -> None:
    """Formulas that read what was left behind: a cell keeps its last value, a name or a rule is lost."""
    sheets = [target for _, kind, target in copy.links(copy.book) if kind == "worksheet"]
    for part in (copy.book, *sheets):
        found = [element for element in copy.look(part).iter(*_formulas(copy.main)) if ELSEWHERE.search(_code(element))]
        shared = {element.get("si") for element in found if element.get("t") == "shared"}
        if found:
            found += [element for element in copy.edit(part).iter(f"{copy.main}f") if element.get("si") in shared]
        for element in dict.fromkeys(found):
            if element.tag == f"{copy.main}f":
                element.getparent().remove(element)
            else:
                element.text = LOST


def _formulas(main: str) -> list[str]:
    return [f"{main}{name}" for name in ("f", "formula", "formula1", "formula2", "definedName")]


def _code(element: etree._Element) -> str:
    """A formula without the texts in it."""
    return re.sub(r'"[^"]*"', "", element.text or "")
