"""The formats of cells of an .xlsx, as far as they show something else than the cell (ECMA-376 part 1, 18.8)."""

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple, TypeVar

from quotebook.spreadsheets.appearance import (
    LEAST_TEXT,
    CellLook,
    Place,
    SheetAppearance,
    draws_symbols,
    hides_texts,
    is_odd,
)
from quotebook.spreadsheets.colours import BLACK, PALETTE, THEME, WHITE, mixed, plain_colour, tinted

if TYPE_CHECKING:
    from lxml.etree import _Element

    Elements = Sequence[_Element]

Thing = TypeVar("Thing")

FALSE = (None, "", "0", "false", "f", "off")
"""What LibreOffice takes for no; it takes all else for yes."""
SMALLER = 0.58
"""What LibreOffice makes of a text that is raised or lowered."""
BILLION = 1_000_000_000
MOST_DIGITS = 4_000
"""Python makes no number of more than 4,300 digits, and no list has so many entries."""
MOST_INDENT = 20
"""Widths of three spaces, beyond which a text is moved out of its cell; quotes have one."""
IN_THEME = ("lt1", "dk1", "lt2", "dk2", "accent1", "accent2", "accent3", "accent4", "accent5", "accent6", "hlink",
            "folHlink")  # fmt: skip
"""The colours of a theme (20.1.6.2) in the order of the numbers that cells give."""
SHARES = {"solid": 1, "darkGray": 0.75, "lightGray": 0.25, "gray125": 0.125, "gray0625": 0.0625}
"""How much of a pattern has its first colour (18.18.55); of all others about half."""


class Colours:
    """The colours that a file gives to numbers: those of its theme and its own palette."""

    def __init__(self, styles: "_Element | None", theme: "_Element | None"):
        """Both are the roots of their parts, where there are any."""
        own = [] if styles is None else [plain_colour(each.get("rgb")) for each in styles.iter("{*}rgbColor")]
        self.palette = [*own, *PALETTE[len(own) :]]
        found = {} if theme is None else {local(each): each for scheme in theme.iter("{*}clrScheme") for each in scheme}
        self.theme = [_in_theme(found[name], usual) if name in found else usual
                      for name, usual in zip(IN_THEME, THEME, strict=True)]  # fmt: skip

    def of(self, element: "_Element | None", name: str, otherwise: str) -> str:
        """The colour in an element; `otherwise` where there is none, and "" for one that is not known here."""
        found = None if element is None else next(element.iter(f"{{*}}{name}"), None)
        if found is None or is_true(found.get("auto")):
            return otherwise
        colour = plain_colour(found.get("rgb"))
        for numbers, attribute in ((self.palette, "indexed"), (self.theme, "theme")):
            colour = colour or numbered(numbers, found.get(attribute)) or ""
        return tinted(colour, number_in(found.get("tint"), 0))


def _in_theme(element: "_Element", usual: str) -> str:
    """A colour of a theme: as it is stated, or as the system's was when the file was saved."""
    for each in element:
        return plain_colour(each.get("lastClr") or each.get("val")) or usual
    return usual


class RuleLook(NamedTuple):
    """A look that a rule gives to cells."""

    text: str | None
    """Its colour for texts; None where it has none."""
    has_fill: bool
    behind: str
    """The colour of its fill; "" for none, and for one that is not known here."""
    strikes: bool
    hides: bool
    """Whether it has a number format that shows something else than the cell."""


class OddStyles:
    """The formats of cells that show something else than the cell, or nothing, by the numbers that cells give."""

    def __init__(self, root: "_Element | None", theme: "_Element | None", digest: bytes):
        """`root` is that of the part with the styles, where there is one, and `theme` that of the theme; `digest` tells
        them from all others. Neither is kept."""
        self.digest = digest
        sections: Mapping[str, Elements] = {} if root is None else {local(each): list(each) for each in root}
        self.colours = Colours(root, theme)
        self.rule_looks = [self.rule_look(each) for each in sections.get("dxfs", ())]
        """The looks that rules give to cells."""
        codes = {code.get("numFmtId"): code.get("formatCode", "") for code in sections.get("numFmts", ())}
        fonts, fills = sections.get("fonts", ()), sections.get("fills", ())
        self.looks = {
            str(number): self._look(style, fonts, fills, codes)
            for number, style in enumerate(sections.get("cellXfs", ()))
        }
        self.formats = {
            number: look.code for number, look in self.looks.items() if is_odd(look.code) or hides_texts(look.code)
        }
        self.unseen = {number for number, look in self.looks.items() if look.is_unseen}
        self.odd = self.unseen | self.formats.keys()

    def _look(
        self,
        style: "_Element",
        fonts: "Sequence[_Element]",
        fills: "Sequence[_Element]",
        codes: Mapping[str | None, str],
    ) -> CellLook:
        """How cells of a style look."""
        font, fill = numbered(fonts, style.get("fontId")), numbered(fills, style.get("fillId"))
        alignments = list(style.iter("{*}alignment"))
        is_away = any(number_in(each.get("indent"), 0) > MOST_INDENT for each in alignments)
        is_repeated = any(each.get("horizontal") == "fill" for each in alignments)
        is_blended = fill is not None and next(fill.iter("{*}gradientFill"), None) is not None
        is_hidden = is_away or is_repeated or is_blended or is_cut(font)
        text, code = self.colours.of(font, "color", BLACK), codes.get(style.get("numFmtId"), "")
        return CellLook(text, self._behind(fill), is_hidden, code)

    def rule_look(self, element: "_Element") -> RuleLook:
        """What an element says of the look that a rule gives to cells.

        The first colour of a fill is its second one in the looks of rules, where both are there.
        """
        font, fill = (next(element.iter(f"{{*}}{name}"), None) for name in ("font", "fill"))
        has_colour = font is not None and next(font.iter("{*}color"), None) is not None
        return RuleLook(
            self.colours.of(font, "color", BLACK) if has_colour else None,
            fill is not None,
            "" if fill is None else self.colours.of(fill, "bgColor", self.colours.of(fill, "fgColor", "")),
            font is not None and is_struck(font),
            any(is_odd(code.get("formatCode", "")) for code in element.iter("{*}numFmt")),
        )

    def _behind(self, fill: "_Element | None") -> str:
        """The colour of a cell; that of a pattern is a mixture of its two."""
        for pattern in () if fill is None else fill.iter("{*}patternFill"):
            kind = pattern.get("patternType", "none")
            if kind != "none":
                front, back = self.colours.of(pattern, "fgColor", BLACK), self.colours.of(pattern, "bgColor", WHITE)
                return mixed(front, back, SHARES.get(kind, 0.5))
        return WHITE

    def note(self, style: str, at: Place, look: SheetAppearance) -> None:
        """Notes a cell that has this style."""
        if style in self.formats:
            look.formats[at] = self.formats[style]
        if style in self.unseen:
            look.unseen.add(at)
        if look.rules and style in self.looks:
            look.looks[at] = self.looks[style]

    def note_all(self, styles: Sequence[str], places: Iterable[Place], look: SheetAppearance) -> None:
        """Notes cells that have these styles, each in its place."""
        if look.rules or not self.odd.isdisjoint(styles):
            for style, at in zip(styles, places, strict=True):
                if look.rules or style in self.odd:
                    self.note(style, at, look)

    def note_runs(self, text: "_Element", style: str, at: Place, look: SheetAppearance) -> None:
        """Notes a cell of this style if a part of its text cannot be seen."""
        of_cell = self.looks.get(style, CellLook())
        for run in text.iter("{*}rPr"):
            if is_cut(run) or of_cell._replace(text=self.colours.of(run, "color", BLACK)).is_unseen:
                look.unseen.add(at)


def is_cut(font: "_Element | None") -> bool:
    """Whether a text in a font is too small to be read, struck out, or shown as other signs."""
    if font is None:
        return False
    sizes = [number_in(size.get("val"), LEAST_TEXT) for size in font.iter("{*}sz")]
    is_raised = any(each.get("val") in ("superscript", "subscript") for each in font.iter("{*}vertAlign"))
    height = min(sizes, default=LEAST_TEXT / SMALLER) * (SMALLER if is_raised else 1)
    names = [name.get("val", "") for name in font.iter("{*}name", "{*}rFont")]
    return height < LEAST_TEXT or is_struck(font) or any(map(draws_symbols, names))


def is_struck(font: "_Element") -> bool:
    """Whether a text in a font is struck out."""
    return any(is_true(strike.get("val", "1")) for strike in font.iter("{*}strike"))


def is_true(text: str | None) -> bool:
    """Whether a program takes what an attribute says for yes."""
    return text not in FALSE


def local(element: "_Element") -> str:
    """The name of an element without its namespace."""
    return str(element.tag).rpartition("}")[2]


def number_in(text: str | None, otherwise: float) -> float:
    """A size as a number; 0 for a text that is none, which programs take it for."""
    try:
        return otherwise if text is None else float(text)
    except ValueError:
        return 0


def whole_number_in(text: str | None, otherwise: int) -> int:
    """A position as a whole number, 0 for a text that is none; beyond a billion, a billion."""
    return int(max(-BILLION, min(BILLION, number_in(text, otherwise))))


def numbered(things: Sequence[Thing], number: str | None) -> Thing | None:
    """The one of some things that a file means by a number, from 0; None where there is none of that number."""
    is_number = number and number.isdecimal() and len(number) <= MOST_DIGITS
    return things[int(number)] if number and is_number and int(number) < len(things) else None
