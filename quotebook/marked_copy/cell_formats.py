"""Formats added to the styles of a workbook that is there already (ECMA-376 part 1, 18.8): none of its own changes."""

from copy import deepcopy
from itertools import count

from lxml import etree

SECTIONS = (
    "numFmts", "fonts", "fills", "borders", "cellStyleXfs", "cellXfs", "cellStyles", "dxfs", "tableStyles", "colors",
    "extLst",
)  # fmt: skip
"""The parts of a style sheet in the order in which they must stand."""

EMPTY = (
    '<styleSheet xmlns="{space}"><fonts count="1"><font><sz val="10"/><name val="Arial"/></font></fonts>'
    '<fills count="2"><fill><patternFill patternType="none"/></fill>'
    '<fill><patternFill patternType="gray125"/></fill></fills>'
    '<borders count="1"><border><left/><right/><top/><bottom/><diagonal/></border></borders>'
    '<cellStyleXfs count="1"><xf/></cellStyleXfs><cellXfs count="1"><xf xfId="0"/></cellXfs>'
    '<cellStyles count="1"><cellStyle name="Normal" xfId="0" builtinId="0"/></cellStyles></styleSheet>'
)
"""A style sheet for a workbook that came without one."""


class CellFormats:
    """Adds to a style sheet; each method returns the number by which a cell asks for the format."""

    def __init__(self, root: etree._Element):
        self.root, self.main = root, root.tag.removesuffix("styleSheet")
        self.formats = self._section("cellXfs")
        self._fills: dict[str, str] = {}
        self._filled: dict[tuple[int, str], int] = {}

    def filled(self, number: int, colour: str) -> int:
        """Format `number` with a solid fill of a colour, `FFRRGGBB`, and nothing else changed."""
        if (number, colour) not in self._filled:
            there = 0 <= number < len(self.formats)
            form = deepcopy(self.formats[number]) if there else self._element("xf")
            form.set("fillId", self._fill(colour))
            form.set("applyFill", "1")
            self._filled[number, colour] = self._append("cellXfs", form)
        return self._filled[number, colour]

    def new(self, size: float = 10, bold=False, colour="FF2B2B2B", underline=False, right=False, number_format=""):
        """A format of our own: wrapped text at the top of its cell, or a number on the right."""
        font = self._element("font")
        for tag in ("b",) * bold + ("u",) * underline:
            font.append(self._element(tag))
        for tag, value in (("sz", {"val": f"{size}"}), ("color", {"rgb": colour}), ("name", {"val": "Arial"})):
            font.append(self._element(tag, **value))
        form = self._element("xf", fontId=f"{self._append('fonts', font)}", applyFont="1", applyAlignment="1")
        if number_format:
            form.set("numFmtId", self._number_format(number_format))
            form.set("applyNumberFormat", "1")
        form.append(
            self._element("alignment", vertical="top", **({"horizontal": "right"} if right else {"wrapText": "1"}))
        )
        return self._append("cellXfs", form)

    def _fill(self, colour: str) -> str:
        if colour not in self._fills:
            pattern = self._element("patternFill", patternType="solid")
            pattern.append(self._element("fgColor", rgb=colour))
            pattern.append(self._element("bgColor", indexed="64"))
            fill = self._element("fill")
            fill.append(pattern)
            self._fills[colour] = f"{self._append('fills', fill)}"
        return self._fills[colour]

    def _number_format(self, code: str) -> str:
        taken = {form.get("numFmtId") for form in self._section("numFmts")}
        number = next(f"{number}" for number in count(164) if f"{number}" not in taken)
        self._append("numFmts", self._element("numFmt", numFmtId=number, formatCode=code))
        return number

    def _append(self, section: str, element: etree._Element) -> int:
        parent = self._section(section)
        parent.append(element)
        parent.set("count", f"{len(parent)}")
        return len(parent) - 1

    def _section(self, name: str) -> etree._Element:
        found = self.root.find(f"{self.main}{name}")
        if found is None:
            found = self._element(name)
            earlier = {f"{self.main}{section}" for section in SECTIONS[: SECTIONS.index(name)]}
            self.root.insert(sum(1 for child in self.root if child.tag in earlier), found)
        return found

    def _element(self, tag: str, **attributes: str) -> etree._Element:
        return etree.Element(f"{self.main}{tag}", attributes)
