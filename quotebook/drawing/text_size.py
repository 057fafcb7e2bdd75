"""How much room text takes on a sheet: spreadsheet programs do not all fit rows and columns to it.

Advance widths are those of Arial, which Helvetica and Liberation Sans share, in thousandths of the
type size; tests hold them against a page that LibreOffice set. Lengths are pixels, 96 to the inch.
"""

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
"""Of a character that is not in the table."""

DIGIT, PADDING = 7, 5
"""Pixels of a digit of the workbook's font, by which columns are measured, and of a column's padding."""

LINE = 1.3
"""Height of a line of text, in type sizes."""

ABOVE_AND_BELOW = 2.75
"""Points between a row's text and its edges, both together."""

SPARE = 0.95
"""Share of a cell that is counted on: programs break lines a little differently."""


def text_width(text: str, size: float = 10, bold: bool = False) -> float:
    """Pixels of a text on one line, in type of `size` points."""
    advance = _ADVANCES[bool(bold)]
    advances = sum(advance.get(normalize("NFKD", letter)[0], _WIDEST) for letter in text)
    return advances / 1000 * size * 96 / 72


def digits(pixels: float) -> float:
    """The width of a column with room for `pixels` of text, in digits, as spreadsheets count it."""
    return (pixels / SPARE + PADDING) / DIGIT


def pixels(widths) -> float:
    """What columns of these widths in digits measure together."""
    return sum(int(width * DIGIT + 0.5) + PADDING for width in widths)


@lru_cache(maxsize=4_096)
def lines(text: str, room: float, size: float = 10, bold: bool = False) -> int:
    """Lines that a text wraps to in a cell of `room` pixels, one at least."""
    room = (room - PADDING) * SPARE
    count = 1
    filled = 0.0
    for word in text.split(" "):
        width = text_width(word, size, bold)
        step = text_width(" ", size, bold) + width if filled else width
        if filled and filled + step > room:
            count, filled, step = count + 1, 0.0, width
        filled += step
        while filled > room:  # a word longer than a line is broken
            count, filled = count + 1, filled - room
    return count


def height(count: int, size: float = 10) -> float:
    """Points of a row of so many lines."""
    return count * size * LINE + ABOVE_AND_BELOW
