"""The parts of one .xlsx as they are opened: each held against its table, with the texts and truths in it."""

import re
from functools import cache
from typing import TYPE_CHECKING

from quotebook.spreadsheets.grammar import Grammar, Unknowns
from quotebook.spreadsheets.package import SAVE, Package
from quotebook.spreadsheets.remembered import Remembered
from quotebook.spreadsheets.xlsx_book import Book, book_in
from quotebook.spreadsheets.xlsx_book_tables import PREFIXES, WORKBOOK
from quotebook.spreadsheets.xlsx_links import Links
from quotebook.spreadsheets.xlsx_sheet_table import TOLD

if TYPE_CHECKING:
    from lxml.etree import _Element

NAMESPACES = {
    "http://schemas.openxmlformats.org/spreadsheetml/2006/main": (
        "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    ),
    "http://purl.oclc.org/ooxml/spreadsheetml/main": "http://purl.oclc.org/ooxml/officeDocument/relationships",
}
"""The namespace of sheets and cells, transitional and strict, each with that of the attributes that name a link."""
MAIN = tuple(f"{{{namespace}}}" for namespace in NAMESPACES)
LINK = tuple(f"{{{namespace}}}id" for namespace in NAMESPACES.values())
"""How lxml writes both: what a tag begins with, and the attribute by which an element names a link."""
TRUTHS = {"1": True, "0": False, "true": True, "false": False}
"""How a file spells a truth (xsd:boolean)."""
ESCAPE = re.compile(r"_x([0-9A-Fa-f]{4})_")


_BOOKS: Remembered[Book] = Remembered()


class Parts:
    """The parts of a package, and what in them is not known."""

    def __init__(self, package: Package):
        """Opens the workbook's own part. Raises Unreadable where there is none."""
        self.package, self.unknowns = package, Unknowns()
        self.links = Links(package, self.unknowns)
        self.book = self.links.main_part()
        self.book_data = package.utf8(self.book)
        """The bytes of the workbook's own part."""
        self.workbook = _BOOKS.of((self.book_data,), self.unknowns, self._book)
        self.namespace, self.main = self.workbook.namespace, f"{{{self.workbook.namespace}}}"

    def _book(self) -> Book:
        """What the workbook's own part says."""
        root = self.package.parsed(self.book, self.book_data)
        namespace = str(root.tag)[1:].removesuffix("}workbook")
        if namespace not in NAMESPACES:
            raise self.package.unreadable(
                f"its main part {self.book[:60]!r} is not a workbook; ask for the workbook, saved as .xlsx"
            )
        for _, what in grammar_of(WORKBOOK, namespace).unknown_in(root):
            self.unknowns.note(what, self.book)
        return book_in(root, namespace, LINK[MAIN.index(f"{{{namespace}}}")])

    def held(
        self, member: str, data: bytes, tag: str, table: str, *, sheet: str = "", unknowns: Unknowns | None = None
    ) -> "_Element":
        """The root of a part, which must have this tag, held against a table. What is not known is noted in `unknowns`,
        where they are given. Raises Unreadable."""
        unknowns = self.unknowns if unknowns is None else unknowns
        root = self.package.parsed(member, data)
        if root.tag != f"{self.main}{tag}":
            raise self.package.unreadable(f"part {member[:60]!r} is not what its links say; {SAVE}")
        for element, what in grammar_of(table, self.namespace).unknown_in(root):
            unknowns.note(what, member, sheet, _cell_around(element) if sheet else "")
        return root

    def truth(self, attribute: str, text: str | None, *, otherwise: bool = False) -> bool:
        """A truth in an attribute of the workbook's part; notes one that is spelled in no known way."""
        if text is not None and text not in TRUTHS:
            self.unknowns.note(f"{attribute} {text[:20]!r}", self.book)
        return TRUTHS.get(text or "", otherwise)

    def text(self, item: "_Element", member: str, sheet: str = "", cell: str = "") -> str:
        """The text of a string item: plain, or its runs in order; phonetic hints are left out."""
        plain, run = f"{self.main}t", f"{self.main}r"
        if len(item) == 1 and item[0].tag == plain:
            return self.held_text(item[0].text or "", member, sheet, cell)
        texts = [child for child in item if child.tag == plain]
        runs = [child for child in item if child.tag == run]
        if texts and runs:
            self.unknowns.note("a text beside its runs", member, sheet, cell)
        pieces = [piece.text or "" for piece in texts] or [piece.findtext(plain) or "" for piece in runs]
        return self.held_text("".join(pieces), member, sheet, cell)

    def held_text(self, text: str, member: str, sheet: str = "", cell: str = "") -> str:
        """A text with its escapes replaced. Notes all but that of a line end, which LibreOffice shows as written."""
        if "_x" in text and ESCAPE.search(text.replace("_x000D_\n", "")):
            self.unknowns.note("an escaped character in a text", member, sheet, cell)
        return self.unescaped(text)

    def unescaped(self, text: str) -> str:
        """`text` with its `_x000D_` escapes replaced (ECMA-376 part 1, 22.9.2.19, ST_Xstring).

        Raises Unreadable for a text longer than a cell may hold.
        """
        self.package.bound("characters in one text", len(text))
        if "_x" not in text:
            return text
        text = ESCAPE.sub(lambda match: chr(int(match[1], 16)), text)
        return text.encode("utf-16-le", "surrogatepass").decode("utf-16-le", "replace")

    def unescapable(self, text: str, member: str, sheet: str = "", cell: str = "") -> str:
        """A formula or a name unchanged. Notes an escape in it: the standard has it replaced there as well, and
        LibreOffice and Gnumeric leave it."""
        self.package.bound("characters in one text", len(text))
        if "_x" in text and ESCAPE.search(text):
            self.unknowns.note("an escaped character in a formula or a name", member, sheet, cell)
        return text


def told_in(root: "_Element", main: str) -> tuple[str, ...]:
    """What is told of a sheet by its part's root."""
    return tuple(what for name, what in TOLD.items() if root.find(f"{main}{name}") is not None)


@cache
def grammar_of(table: str, namespace: str) -> Grammar:
    """A table for parts of one of the two namespaces."""
    return Grammar(table, PREFIXES | {"": namespace, "r": NAMESPACES[namespace]})


def _cell_around(element: "_Element") -> str:
    """The reference of the cell that an element is in, or that it is; "" where it is in none, or it gives none."""
    for each in (element, *element.iterancestors()):
        if str(each.tag).endswith("}c"):
            return (each.get("r") or "")[:10]
    return ""
