"""The formats of cells of an .ods, as far as they show something else than the cell (OpenDocument 1.3 part 3, 16)."""

import re
from typing import TYPE_CHECKING

from quotebook.spreadsheets.appearance import LEAST_TEXT, CellLook, FormatRule, draws_symbols, is_odd
from quotebook.spreadsheets.colours import BLACK, WHITE, plain_colour
from quotebook.spreadsheets.ods_formats import NUMBER, STYLE, TEXT_COLOUR, code_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from lxml.etree import _Element

FO, TEXT, TABLE, OFFICE = (
    f"{{urn:oasis:names:tc:opendocument:xmlns:{name}:1.0}}" for name in ("xsl-fo-compatible", "text", "table", "office")
)
CELL, USUAL = "table-cell", "Default"
USUAL_SIZE = 10
"""Points of a text whose size is said as a share of another."""
MOST_PARENTS = 20
MOST_INDENT = 150
"""Points by which a text may be moved to the right; quotes have ten."""
SHARE = re.compile(r"([0-9]{1,9})%")
LENGTH = re.compile(r"(-?[0-9]*\.?[0-9]+)(pt|in|cm|mm|pc|px)")
POINTS = {"pt": 1, "in": 72, "cm": 72 / 2.54, "mm": 72 / 25.4, "pc": 12, "px": 0.75}


class Styles:
    """The styles of one file, by their names."""

    def __init__(self, content: "_Element", styles: "_Element | None"):
        """`content` and `styles` are the roots of their parts; those of the content go before."""
        self._named: dict[tuple[str, str], _Element] = {}
        self._defaults: dict[str, _Element] = {}
        self._formats: dict[str, _Element] = {}
        self.pages: dict[str, _Element] = {}
        """Master pages."""
        for root in (content, styles):
            if root is not None:
                self._gather(root)
        self._looks: dict[str, CellLook] = {}
        self._said: dict[tuple[str, str | None], dict[str, str]] = {}

    def _gather(self, root: "_Element") -> None:
        for section in root.iterchildren(f"{OFFICE}automatic-styles", f"{OFFICE}styles", f"{OFFICE}master-styles"):
            for each in section:
                name, tag = each.get(f"{STYLE}name", ""), str(each.tag)
                if tag == f"{STYLE}style":
                    for called in (name, each.get(f"{STYLE}display-name", name)):  # LibreOffice names rules by either
                        self._named.setdefault((each.get(f"{STYLE}family", ""), called), each)
                elif tag == f"{STYLE}default-style":
                    self._defaults.setdefault(each.get(f"{STYLE}family", ""), each)
                elif tag == f"{STYLE}master-page":
                    self.pages.setdefault(name, each)
                elif tag.startswith(NUMBER):
                    self._formats.setdefault(name, each)

    def chain(self, family: str, name: str | None) -> "Iterator[_Element]":
        """A style, and those that it takes what it does not say from, the nearest first."""
        style = self._named.get((family, name or ""))
        for _ in range(MOST_PARENTS):
            if style is None:
                break
            yield style
            style = self._named.get((family, style.get(f"{STYLE}parent-style-name", "")))
        if family in self._defaults:
            yield self._defaults[family]

    def said(self, family: str, name: str | None) -> dict[str, str]:
        """The properties of a style, all kinds of them together."""
        if (family, name) in self._said:
            return self._said[family, name]
        found = self._said[family, name] = {}
        for style in self.chain(family, name):
            for properties in style.iterchildren(f"{STYLE}{kind}-properties" for kind in (family, "text", "paragraph")):
                for attribute, value in properties.attrib.items():
                    found.setdefault(str(attribute), str(value))
        return found

    def look(self, name: str | None) -> CellLook:
        """How cells of a style look."""
        name = name or USUAL
        if name not in self._looks:
            said = self.said(CELL, name)
            formats = (style.get(f"{STYLE}data-style-name") for style in self.chain(CELL, name))
            style = self._formats.get(next(filter(None, formats), ""))
            code = "" if style is None else code_of(style, self._formats)
            text, behind = _text_colour(said) or BLACK, _behind(said) or WHITE
            self._looks[name] = CellLook(text, behind, is_cut(said) or _is_struck(said), code)
        return self._looks[name]

    def rule(self, name: str | None) -> FormatRule:
        """What a rule makes of cells that gives them this style."""
        said = self.said(CELL, name)
        hides = is_cut(said) or is_odd(self.look(name).code) or (CELL, name or "") not in self._named
        return FormatRule((), _text_colour(said), _behind(said), _is_struck(said), hides)

    def rules_of(self, name: str | None) -> list[FormatRule]:
        """The rules that stand in the style of a cell itself."""
        maps = (each for style in self.chain(CELL, name) for each in style.iterfind(f"{STYLE}map"))
        return [self.rule(each.get(f"{STYLE}apply-style-name")) for each in maps]

    def hides_a_part(self, cell: "_Element", look: CellLook) -> bool:
        """Whether a part of the text in a cell of that look cannot be seen."""
        for part, family in ((f"{TEXT}span", "text"), (f"{TEXT}p", "paragraph")):
            for each in cell.iter(part):
                if name := each.get(f"{TEXT}style-name"):
                    said = self.said(family, name)
                    text = _text_colour(said) or look.text
                    if is_cut(said) or _is_struck(said) or look._replace(text=text).is_unseen:
                        return True
        return False


def is_cut(said: dict[str, str]) -> bool:
    """Whether a text with these properties is too small to be read, repeated, moved away, hidden, or other signs."""
    size = said.get(f"{FO}font-size", "")
    height = points(size, _share(size) * USUAL_SIZE)
    raised = said.get(f"{STYLE}text-position", "").split()[1:]
    fonts = (said.get(f"{STYLE}font-name", ""), said.get(f"{FO}font-family", "").strip("'\""))
    return (
        height * _share("".join(raised)) < LEAST_TEXT
        or points(said.get(f"{FO}margin-left"), 0) > MOST_INDENT
        or said.get(f"{STYLE}repeat-content") == "true"
        or said.get(f"{STYLE}cell-protect") == "hidden-and-protected"
        or any(map(draws_symbols, fonts))
    )


def _share(text: str) -> float:
    """A share such as `58%`; 1 for any other text."""
    share = SHARE.fullmatch(text)
    return int(share[1]) / 100 if share else 1


def points(length: str | None, otherwise: float) -> float:
    """A length in points; `otherwise` where there is none, or one of another kind, such as a share."""
    match = LENGTH.fullmatch(length or "")
    return float(match[1]) * POINTS[match[2]] if match else otherwise


def _is_struck(said: dict[str, str]) -> bool:
    return any(said.get(f"{STYLE}text-line-through-{what}", "none") != "none" for what in ("style", "type"))


def _text_colour(said: dict[str, str]) -> str | None:
    """The colour of a text; None where none is said, or where the program chooses it."""
    colour = plain_colour(said.get(TEXT_COLOUR))
    return colour if colour and said.get(f"{STYLE}use-window-font-color") != "true" else None


def _behind(said: dict[str, str]) -> str | None:
    return plain_colour(said.get(f"{FO}background-color")) or None
