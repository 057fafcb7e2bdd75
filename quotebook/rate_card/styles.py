"""How the rate card looks: its formats, its pages, and the room that a text takes in it."""

from math import ceil

from quotebook.drawing.styles import ENTRY, INK, PAPER_SIZES, QUIET, RULE, TYPE

MISSING = "#F3C4BB"
"""Fill of an empty cell that must be filled."""


def formats(book, accent: str) -> dict:
    """The formats of the card by name."""
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


def set_card_page(sheet, paper: str) -> None:
    """One page wide, on the firm's paper."""
    sheet.hide_gridlines(2)
    sheet.set_column(0, 0, 1)
    sheet.set_paper(PAPER_SIZES[paper])
    sheet.set_margins(left=0.4, right=0.4, top=0.5, bottom=0.6)
    sheet.fit_to_pages(1, 0)
    sheet.set_footer("&L&8Rate card&C&8&A&R&8Page &P of &N")


def write_title(sheet, look: dict, title: str, purpose: str) -> None:
    sheet.set_row(0, 24)
    sheet.write(0, 1, title, look["title"])
    sheet.write(1, 1, purpose, look["purpose"])


def height(text: str, width: float, size: int = 10) -> float:
    """Points that wrapped text of a font size takes in a column of so many characters, with a little air."""
    characters_a_line = width * 12 / size
    return 1.3 * size * max(1, ceil(len(text) / characters_a_line)) + 5
