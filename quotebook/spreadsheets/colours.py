"""Colours as programs show them: those of a theme and of the palette too, lightened, mixed, and held together.

A colour is six hexadecimal digits, RRGGBB; "" is one that is not known.
"""

import re
from collections.abc import Sequence
from colorsys import hls_to_rgb, rgb_to_hls
from functools import lru_cache

WHITE, BLACK = "FFFFFF", "000000"
LEAST_CONTRAST = 1.5
"""Between a text and what is behind it (WCAG 2.1 asks for 4.5, and the palest text of a quote has 5)."""
RRGGBB = re.compile(r"[0-9A-F]{6}")

_EIGHT = (BLACK, WHITE, "FF0000", "00FF00", "0000FF", "FFFF00", "FF00FF", "00FFFF")
_MORE = """
800000 008000 000080 808000 800080 008080 C0C0C0 808080 9999FF 993366 FFFFCC CCFFFF 660066 FF8080 0066CC CCCCFF 000080
FF00FF FFFF00 00FFFF 800080 800000 008080 0000FF 00CCFF CCFFFF CCFFCC FFFF99 99CCFF FF99CC CC99FF FFCC99 3366FF 33CCCC
99CC00 FFCC00 FF9900 FF6600 666699 969696 003366 339966 003300 333300 993300 993366 333399 333333
"""
PALETTE = (*_EIGHT, *_EIGHT, *_MORE.split(), BLACK, WHITE)
"""The colours that a cell names by a number (ECMA-376 part 1, 18.8.27); the last two are the system's."""
THEME = (
    WHITE, BLACK, "EEECE1", "1F497D", "4F81BD", "C0504D", "9BBB59", "8064A2", "4BACC6", "F79646", "0000FF", "800080",
)  # fmt: skip
"""The colours of a theme where a file has none: that which Excel began with, in the order of the numbers that cells
give (18.8.3: light and dark first)."""
NAMED = {
    "BLACK": BLACK, "WHITE": WHITE, "RED": "FF0000", "GREEN": "00FF00", "BLUE": "0000FF", "YELLOW": "FFFF00",
    "MAGENTA": "FF00FF", "CYAN": "00FFFF",
}  # fmt: skip
"""Those that a number format names by a word (18.8.31)."""
IN_FORMAT = re.compile(r"\[(?:([A-Z]+)|COLOR *([0-9]{1,2})|#([0-9A-F]{6}))\]")


def plain_colour(text: str | None) -> str:
    """A colour as a file spells it, with or without what says how opaque it is; "" for anything else."""
    code = (text or "").removeprefix("#")[-6:].upper()
    return code if RRGGBB.fullmatch(code) else ""


def colours_of_format(code: str) -> tuple[str, ...]:
    """The colours that a number format gives to texts, by their names or their numbers."""
    found = []
    for name, number, own in IN_FORMAT.findall(code.upper()):
        colour = own or NAMED.get(name, "") or (PALETTE[min(int(number) + 7, 63)] if number else "")
        found += [colour] if colour else []
    return tuple(found)


def tinted(colour: str, tint: float) -> str:
    """A colour made lighter, or darker where `tint` is below 0 (18.8.19): its lightness moves towards the end."""
    if not colour or not tint:
        return colour
    hue, light, saturation = rgb_to_hls(*_shares(colour))
    tint = max(-1.0, min(1.0, tint))
    return _hex(hls_to_rgb(hue, light * (1 + tint) if tint < 0 else light + (1 - light) * tint, saturation))


def mixed(one: str, other: str, share: float) -> str:
    """Two colours in one, so much of the first as `share` says; "" where one is not known."""
    if not one or not other:
        return ""
    return _hex([share * a + (1 - share) * b for a, b in zip(_shares(one), _shares(other), strict=True)])


@lru_cache(maxsize=4_096)
def can_be_read(text: str, behind: str) -> bool:
    """Whether a text of one colour can be told from another behind it; true where one of them is not known."""
    if not text or not behind:
        return True
    darker, lighter = sorted(map(_luminance, (text, behind)))
    return (lighter + 0.05) / (darker + 0.05) >= LEAST_CONTRAST


def _luminance(colour: str) -> float:
    """How light a colour is, from 0 to 1 (relative luminance, WCAG 2.1)."""
    parts = (part / 12.92 if part <= 0.03928 else ((part + 0.055) / 1.055) ** 2.4 for part in _shares(colour))
    return sum(weight * part for weight, part in zip((0.2126, 0.7152, 0.0722), parts, strict=True))


def _shares(colour: str) -> tuple[float, float, float]:
    red, green, blue = (int(colour[start : start + 2], 16) / 255 for start in (0, 2, 4))
    return red, green, blue


def _hex(shares: Sequence[float]) -> str:
    return "".join(f"{round(share * 255):02X}" for share in shares)
