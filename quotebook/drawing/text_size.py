"""Measures text on a sheet, because not every spreadsheet program fits rows and columns to it.

Advance widths are those of Arial, which Helvetica and Liberation Sans share, in thousandths of the type size; tests
compare them with a page that LibreOffice set. Lengths are in pixels, 96 to the inch.
"""

from collections.abc import Iterable
from functools import lru_cache
from unicodedata import normalize

_PLAIN = {
    191: "'", 222: "ijl", 260: "|", 278: " !,./:;I[\\]ft·", 333: "()-`r", 334: "{}", 355: '"', 389: "*", 469: "^",
    500: "Jckszvxy", 556: "0123456789#$?L_abdeghnopqu", 584: "+<=>~", 611: "FTZß", 667: "&ABEKPSVXY", 722: "CDHNRUw",
    778: "GOQ", 833: "Mm", 889: "%", 944: "Wœ",
}  # fmt: skip
_BOLD = {
    238: "'", 278: " ,./I\\ijl·", 280: "|", 333: "!()-:;[]`ft", 389: "*r{}", 474: '"', 500: "z",
    556: "0123456789#$J_aceksvxy", 584: "+<=>^~", 611: "?FLTZbdghnopquß", 667: "EPSVXY", 722: "&ABCDHKNRU", 778: "GOQw",
    833: "M", 889: "%m", 944: "Wœ",
}  # fmt: skip
_ADVANCES = [{letter: advance for advance, letters in table.items() for letter in letters} for table in (_PLAIN, _BOLD)]
_WIDEST = 1000
"""The advance width of a character that is not in the tables."""

DIGIT, PADDING = 7, 5
"""Pixels of a digit of the default font, in which column widths are counted, and of a column's padding."""

LINE = 1.3
"""The height of a line of text, as a multiple of the type size."""

ABOVE_AND_BELOW = 2.75
"""Points between the text of a row and its upper and lower edge, both together."""

SPARE = 0.95
"""The share of a cell's width that is used, because programs break lines a little differently."""


def text_width(text: str, size: float = 10, bold: bool = False) -> float:
    """The width of a text on one line, in pixels; `size` is the type size in points."""
    advance = _ADVANCES[bool(bold)]
    advances = sum(advance.get(normalize("NFKD", letter)[0], _WIDEST) for letter in text)
    return advances / 1000 * size * 96 / 72


def column_width(pixels: float) -> float:
    """The width in digits, as spreadsheets count it, of a column with room for `pixels` of text."""
    return (pixels / SPARE + PADDING) / DIGIT


def pixels_across(widths: Iterable[float]) -> float:
    """The width in pixels of columns side by side, given their widths in digits."""
    return sum(int(width * DIGIT + 0.5) + PADDING for width in widths)


@lru_cache(maxsize=4_096)
def line_count(text: str, width: float, size: float = 10, bold: bool = False) -> int:
    """The number of lines that a text wraps to in a cell of `width` pixels; at least 1."""
    room = (width - PADDING) * SPARE
    count = 1
    filled = 0.0
    for word in text.split(" "):
        length = text_width(word, size, bold)
        step = text_width(" ", size, bold) + length if filled else length
        if filled and filled + step > room:
            count, filled, step = count + 1, 0.0, length
        filled += step
        while filled > room:  # a word longer than a line is broken
            count, filled = count + 1, filled - room
    return count


def row_height(lines: int, size: float = 10) -> float:
    """The height in points of a row with that many lines of text."""
    return lines * size * LINE + ABOVE_AND_BELOW
