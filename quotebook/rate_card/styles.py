"""Styles of the rate card: its formats, its pages, and the height of a text in it."""

from math import ceil

from xlsxwriter import Workbook
from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

from quotebook.drawing.styles import ENTRY, INK, PAPER_SIZES, QUIET, RULE, TYPE

MISSING = "#F3C4BB"
"""The fill of an empty cell that needs an entry."""

Formats = dict[str, Format]
"""The formats of the card by name."""


def make_formats(book: Workbook, accent: str) -> Formats:
    """The formats of a new card, in the firm's accent colour."""
    plain = TYPE | {"font_color": INK, "valign": "vcenter"}
    wrapped = plain | {"text_wrap": True}
    entry = wrapped | {"bg_color": ENTRY, "border": 1, "border_color": RULE}
    left, right = {"align": "left", "indent": 1}, {"align": "right", "text_wrap": False}
    lined = {"valign": "bottom", "bottom": 1, "bottom_color": accent}
    styles = {
        "plain": plain,
        "wrapped": wrapped,
        "link": plain | {"font_color": accent, "underline": 1},
        "title": plain | {"font_size": 16, "bold": True, "font_color": accent},
        "purpose": plain | {"font_color": QUIET},
        "section": plain | {"bold": True, "font_size": 11, "font_color": accent} | lined,
        "band": plain | {"bold": True, "font_color": "#FFFFFF", "bg_color": accent},
        "head": wrapped | {"bold": True, "font_size": 9, "valign": "bottom"},
        "step": plain | {"bold": True, "align": "center", "font_color": accent},
        "strong": wrapped | {"bold": True},
        "quiet": wrapped | left | {"font_color": QUIET, "font_size": 9},
        "unit": wrapped | {"font_color": QUIET, "font_size": 9, "valign": "top"},
        "small": wrapped | {"font_color": QUIET, "font_size": 8, "valign": "top"},
        "needed": entry | left | {"bg_color": MISSING},
        "missing": {"bg_color": MISSING},
        "text": entry | left,
        "number": entry | right,
        "money": entry | right | {"num_format": "#,##0.00##"},
        "share": entry | right | {"num_format": "0.0##%"},
        "date": entry | right | {"num_format": "yyyy-mm-dd"},
    }
    return {name: book.add_format(style) for name, style in styles.items()}


def set_card_page(sheet: Worksheet, paper: str) -> None:
    """Prints a sheet one page wide on the firm's paper."""
    sheet.hide_gridlines(2)
    sheet.set_column(0, 0, 1)
    sheet.set_paper(PAPER_SIZES[paper])
    sheet.set_margins(left=0.4, right=0.4, top=0.5, bottom=0.6)
    sheet.fit_to_pages(1, 0)
    sheet.set_footer("&L&8Rate card&C&8&A&R&8Page &P of &N")


def write_title(sheet: Worksheet, formats: Formats, title: str, purpose: str) -> None:
    """Writes the title of a sheet and, below it, what the sheet is for."""
    sheet.set_row(0, 24)
    sheet.write(0, 1, title, formats["title"])
    sheet.write(1, 1, purpose, formats["purpose"])


def text_height(text: str, width: float, size: int = 10) -> float:
    """The height in points of a wrapped text in a column of `width` characters; `size` is the type size in points."""
    characters_per_line = width * 12 / size
    return 1.3 * size * max(1, ceil(len(text) / characters_per_line)) + 5
