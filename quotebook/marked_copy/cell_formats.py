"""Adds formats to the styles of an existing workbook (ECMA-376 part 1, 18.8); none of its own formats changes."""

from copy import deepcopy
from itertools import count

from lxml import etree

SECTIONS = (
    "numFmts", "fonts", "fills", "borders", "cellStyleXfs", "cellXfs", "cellStyles", "dxfs", "tableStyles", "colors",
    "extLst",
)  # fmt: skip
"""The sections of a style sheet in the order that the format requires."""

EMPTY = (
    '<styleSheet xmlns="{space}"><fonts count="1"><font><sz val="10"/><name val="Arial"/></font></fonts>'
    '<fills count="2"><fill><patternFill patternType="none"/></fill>'
    '<fill><patternFill patternType="gray125"/></fill></fills>'
    '<borders count="1"><border><left/><right/><top/><bottom/><diagonal/></border></borders>'
    '<cellStyleXfs count="1"><xf/></cellStyleXfs><cellXfs count="1"><xf xfId="0"/></cellXfs>'
    '<cellStyles count="1"><cellStyle name="Normal" xfId="0" builtinId="0"/></cellStyles></styleSheet>'
)
"""A style sheet for a workbook without one."""


class CellFormats:
    """Adds formats to a style sheet. Each method returns the number by which a cell refers to the format."""

    def __init__(self, root: etree._Element) -> None:
        self.root, self.main = root, root.tag.removesuffix("styleSheet")
        self.formats = self._section("cellXfs")
        self._fills: dict[str, str] = {}
        self._filled: dict[tuple[int, str], int] = {}

    def filled(self, number: int, colour: str) -> int:
        """The format `number` with a solid fill of a colour, `FFRRGGBB`, and no other change."""
        if (number, colour) not in self._filled:
            there = 0 <= number < len(self.formats)
            cell_format = deepcopy(self.formats[number]) if there else self._element("xf")
            cell_format.set("fillId", self._fill(colour))
            cell_format.set("applyFill", "1")
            self._filled[number, colour] = self._append("cellXfs", cell_format)
        return self._filled[number, colour]

    def new(
        self,
        size: float = 10,
        bold: bool = False,
        colour: str = "FF2B2B2B",
        underline: bool = False,
        right: bool = False,
        number_format: str = "",
    ) -> int:
        """A new format: wrapped text at the top of its cell, or with `right` a number on the right."""
        font = self._element("font")
        for tag in ("b",) * bold + ("u",) * underline:
            font.append(self._element(tag))
        for tag, value in (("sz", {"val": f"{size}"}), ("color", {"rgb": colour}), ("name", {"val": "Arial"})):
            font.append(self._element(tag, **value))
        cell_format = self._element("xf", fontId=f"{self._append('fonts', font)}", applyFont="1", applyAlignment="1")
        if number_format:
            cell_format.set("numFmtId", self._number_format(number_format))
            cell_format.set("applyNumberFormat", "1")
        cell_format.append(
            self._element("alignment", vertical="top", **({"horizontal": "right"} if right else {"wrapText": "1"}))
        )
        return self._append("cellXfs", cell_format)

    def _fill(self, colour: str) -> str:
        """The number of a solid fill."""
        if colour not in self._fills:
            pattern = self._element("patternFill", patternType="solid")
            pattern.append(self._element("fgColor", rgb=colour))
            pattern.append(self._element("bgColor", indexed="64"))
            fill = self._element("fill")
            fill.append(pattern)
            self._fills[colour] = f"{self._append('fills', fill)}"
        return self._fills[colour]

    def _number_format(self, code: str) -> str:
        """The number of a number format; those below 164 are the format's own (18.8.30)."""
        taken = {each.get("numFmtId") for each in self._section("numFmts")}
        number = next(f"{number}" for number in count(164) if f"{number}" not in taken)
        self._append("numFmts", self._element("numFmt", numFmtId=number, formatCode=code))
        return number

    def _append(self, section: str, element: etree._Element) -> int:
        """Adds an element to a section and returns its number there."""
        parent = self._section(section)
        parent.append(element)
        parent.set("count", f"{len(parent)}")
        return len(parent) - 1

    def _section(self, name: str) -> etree._Element:
        """The section of that name, made in its place where it is missing."""
        found = self.root.find(f"{self.main}{name}")
        if found is None:
            found = self._element(name)
            earlier = {f"{self.main}{section}" for section in SECTIONS[: SECTIONS.index(name)]}
            self.root.insert(sum(1 for child in self.root if child.tag in earlier), found)
        return found

    def _element(self, tag: str, **attributes: str) -> etree._Element:
        return etree.Element(f"{self.main}{tag}", attributes)
