"""Adds notes to cells of a sheet (ECMA-376 part 1, 18.7; their drawing, part 4, 19.4) and keeps existing ones."""

from collections.abc import Mapping

from lxml import etree

from quotebook.errors import Unreadable
from quotebook.marked_copy.package_copy import PackageCopy, text_element

COMMENTS_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.comments+xml"
DRAWING_TYPE = "application/vnd.openxmlformats-officedocument.vmlDrawing"
AUTHOR = "quotebook"
AFTER_DRAWING = (
    "legacyDrawingHF",
    "drawingHF",
    "picture",
    "oleObjects",
    "controls",
    "webPublishItems",
    "tableParts",
    "extLst",
)
"""Elements that come after the notes' drawing in a sheet (CT_Worksheet), as do those of other namespaces."""

EMPTY_COMMENTS = "<comments xmlns='{space}'><authors/><commentList/></comments>"
EMPTY_SHAPES = """<xml xmlns:v="urn:schemas-microsoft-com:vml" xmlns:o="urn:schemas-microsoft-com:office:office"
 xmlns:x="urn:schemas-microsoft-com:office:excel">
<v:shapetype id="_x0000_t202" coordsize="21600,21600" o:spt="202" path="m,l,21600r21600,l21600,xe">
<v:stroke joinstyle="miter"/><v:path gradientshapeok="t" o:connecttype="rect"/></v:shapetype></xml>"""
SHAPE = """<v:shape xmlns:v="urn:schemas-microsoft-com:vml" xmlns:o="urn:schemas-microsoft-com:office:office"
 xmlns:x="urn:schemas-microsoft-com:office:excel" id="note_{row}_{column}" type="#_x0000_t202"
 style="position:absolute;visibility:hidden" fillcolor="#ffffe1" o:insetmode="auto"><v:fill color2="#ffffe1"/>
<v:path o:connecttype="none"/><v:textbox style="mso-direction-alt:auto"><div style="text-align:left"/></v:textbox>
<x:ClientData ObjectType="Note"><x:MoveWithCells/><x:SizeWithCells/><x:Anchor>{anchor}</x:Anchor>
<x:AutoFill>False</x:AutoFill><x:Row>{row}</x:Row><x:Column>{column}</x:Column></x:ClientData></v:shape>"""
"""The box of a note; rows and columns count from 0."""


def add_notes(copy: PackageCopy, sheet: str, notes: Mapping[tuple[str, int, int], str]) -> None:
    """Adds notes to the sheet whose part is `sheet`; the key of a note is its cell: address, row and column from 1.

    A cell that already has a note keeps it, and the new text follows it.
    """
    comments, shapes = _comments(copy, sheet), _shapes(copy, sheet)
    author = _author(_child(comments, f"{copy.main}authors"), copy.main)
    listed = _child(comments, f"{copy.main}commentList")
    there = {comment.get("ref"): comment for comment in listed}
    for (address, row, column), text in notes.items():
        if address in there:
            text = f"\n{text}"
        else:
            there[address] = etree.SubElement(listed, f"{copy.main}comment", ref=address, authorId=author)
            if shapes is not None:
                shapes.append(_shape(row, column, text))
        run = etree.SubElement(_child(there[address], f"{copy.main}text"), f"{copy.main}r")
        run.append(text_element(f"{copy.main}t", text))


def _child(parent: etree._Element, tag: str) -> etree._Element:
    """The first child with that tag, made where there is none."""
    found = parent.find(tag)
    return etree.SubElement(parent, tag) if found is None else found


def _comments(copy: PackageCopy, sheet: str) -> etree._Element:
    """The notes of a sheet, made where it has none."""
    part = next((target for _, kind, target in copy.links(sheet) if kind == "comments"), "")
    if part:
        return copy.edit(part)
    part = copy.free_name("xl/comments{}.xml")
    root = etree.fromstring(EMPTY_COMMENTS.format(space=copy.main[1:-1]))
    copy.add(part, root, COMMENTS_TYPE)
    copy.link(sheet, "comments", part)
    return root


def _author(authors: etree._Element, main: str) -> str:
    """Adds our name to the authors and returns its number."""
    authors.append(text_element(f"{main}author", AUTHOR))
    return f"{len(authors) - 1}"


def _shapes(copy: PackageCopy, sheet: str) -> etree._Element | None:
    """The drawing with the boxes of a sheet's notes; None where it is not well-formed, as happens."""
    root = copy.edit(sheet)
    element = root.find(f"{copy.main}legacyDrawing")
    if element is not None:
        try:
            return copy.edit(copy.linked(sheet, element))
        except Unreadable:
            return None
    part = copy.free_name("xl/drawings/vmlDrawing{}.vml")
    shapes = etree.fromstring(EMPTY_SHAPES)
    copy.add(part, shapes, DRAWING_TYPE)
    element = etree.Element(f"{copy.main}legacyDrawing", {copy.link_id: copy.link(sheet, "vmlDrawing", part)})
    after = {f"{copy.main}{name}" for name in AFTER_DRAWING}
    at = next(
        (at for at, child in enumerate(root) if child.tag in after or not child.tag.startswith(copy.main)), len(root)
    )
    root.insert(at, element)
    return shapes


def _shape(row: int, column: int, text: str) -> etree._Element:
    """A box beside its cell, tall enough for its text in lines of about 40 characters."""
    left, lines = min(column, 16_379), 2 + len(text) // 40 + text.count("\n")
    top = min(max(row - 2, 0), 1_048_575 - lines)
    anchor = f"{left}, 15, {top}, 4, {left + 4}, 15, {top + lines}, 4"
    return etree.fromstring(SHAPE.format(row=row - 1, column=column - 1, anchor=anchor))
