"""How a firm's workbooks look: one typeface, the firm's accent colour, one tint for what may be changed."""

import os
from decimal import Decimal
from typing import BinaryIO

import xlsxwriter

INK = "#2B2B2B"
QUIET = "#6E6E6E"
RULE = "#C9C9C9"
ENTRY = "#FFF6D6"
"""Fill of every cell that the reader may change."""
WARNING = "#A23B2A"

PAPER_SIZES = {"A4": 9, "Letter": 1}
"""Numbers of ECMA-376 18.3.1.63, `paperSize`."""

TYPE = {"font_name": "Arial", "font_size": 10}
"""Columns are as wide as their number of its digits, so it must be a font that is found everywhere."""
PLAIN = TYPE | {"font_scheme": "none"}
"""The plain type of all workbooks but the rate card."""

SIZE = 10
"""Points of plain type."""
INDENT = 9
"""Pixels of one step of indent: three spaces of plain type."""

_ENTRY = {"bg_color": ENTRY, "border": 1, "border_color": RULE, "locked": False, "valign": "vcenter"}
_COLUMN = {"bold": True, "font_size": 9, "text_wrap": True, "valign": "bottom", "bottom": 1, "bottom_color": RULE}
_ROW = {"bottom": 4, "bottom_color": RULE, "valign": "top"}
_NOTE = {"italic": True, "font_size": 9, "valign": "top"}
_TOTAL = {"bold": True, "font_size": 13, "font_color": "accent", "top": 1, "bottom": 1, "valign": "vcenter"}

STYLES = {
    "plain": {},
    "quiet": {"font_color": QUIET, "font_size": 9},
    "quiet_shrunk": {"font_color": QUIET, "font_size": 9, "shrink": True},
    "quiet_right": {"font_color": QUIET, "font_size": 9, "align": "right", "valign": "vcenter", "shrink": True},
    "quiet_wrapped": {"font_color": QUIET, "font_size": 9, "text_wrap": True, "valign": "top"},
    "wrapped": {"text_wrap": True, "valign": "top"},
    "number": {"font_color": QUIET, "valign": "top"},
    "label": {"font_color": QUIET, "valign": "vcenter"},
    "field": {"font_color": QUIET, "valign": "vcenter", "shrink": True},
    "firm": {"font_size": 20, "bold": True, "font_color": "accent", "valign": "vcenter", "shrink": True},
    "firm_long": {"font_size": 14, "bold": True, "font_color": "accent", "valign": "vcenter", "shrink": True},
    "title": {"font_size": 20, "font_color": "accent", "align": "right", "valign": "vcenter", "shrink": True},
    "page_title": {"font_size": 16, "bold": True, "font_color": "accent"},
    "heading": {"font_size": 12, "bold": True, "font_color": "accent", "bottom": 1, "bottom_color": "accent"},
    "column": _COLUMN,
    "column_right": {**_COLUMN, "align": "right"},
    "column_centred": {**_COLUMN, "align": "center"},
    "column_number": {**_COLUMN, "align": "right", "indent": 1},
    "entry": {**_ENTRY, "align": "left", "indent": 1, "shrink": True},
    "entry_right": {**_ENTRY, "align": "right", "shrink": True},
    "entry_centred": {**_ENTRY, "align": "center", "shrink": True},
    "entry_wrapped": {**_ENTRY, "align": "left", "indent": 1, "text_wrap": True},
    "entry_block": {**_ENTRY, "align": "left", "indent": 1, "text_wrap": True, "valign": "top"},
    "figure": {"align": "right", "valign": "vcenter", "shrink": True},
    "fact": {"align": "left", "valign": "vcenter"},
    "fact_right": {"align": "right", "valign": "vcenter", "shrink": True},
    "fact_number": {"align": "right", "indent": 1, "valign": "vcenter", "shrink": True},
    "fact_wrapped": {"align": "left", "valign": "vcenter", "text_wrap": True},
    "row": {**_ROW, "text_wrap": True},
    "row_left": {**_ROW, "align": "left"},
    "row_figure": {**_ROW, "align": "right", "shrink": True},
    "row_number": {**_ROW, "align": "right", "indent": 1, "shrink": True},
    "row_word": {**_ROW, "align": "right", "font_size": 9, "text_wrap": True},
    "row_text": {**_ROW, "font_size": 9, "text_wrap": True},
    "row_quiet": {**_ROW, "font_color": QUIET, "font_size": 8},
    "note": {**_NOTE, "font_color": WARNING, "text_wrap": True},
    "suggestion": {**_NOTE, "font_color": QUIET, "align": "right", "shrink": True},
    "total_label": _TOTAL,
    "total": {**_TOTAL, "align": "right", "shrink": True},
    "heading_wrapped": {
        "font_size": 10, "bold": True, "font_color": "accent", "bottom": 1, "bottom_color": "accent", "text_wrap": True,
    },
    "strong": {"bold": True, "valign": "bottom", "bottom": 1, "bottom_color": RULE},
    "box": {"border": 1, "border_color": QUIET},
    "band": {"bg_color": "accent"},
    "side": {"font_color": QUIET, "rotation": 90, "valign": "top", "align": "right"},
}  # fmt: skip
"""Properties of each style; the colour `accent` stands for the firm's own."""


class Look:
    """The formats of one workbook, each made once."""

    def __init__(self, book, accent_colour: str, minor_units: Decimal):
        self.book = book
        self.accent = accent_colour
        money = "#,##0" + ("." + "0" * int(minor_units) if minor_units else "")
        self.number_formats = {
            "money": money,
            "money_or_blank": f"{money};-{money};",
            "number_or_blank": "General;-General;",
            "date": 14,  # the reader's own short date
            "whole": "0",
        }
        self.formats = {}

    def __call__(self, style: str, kind: str = ""):
        """The xlsxwriter format of a style, showing numbers of one kind (`money`, `date`, `share_3`)."""
        if (style, kind) not in self.formats:
            properties = {"font_name": "Arial", "font_size": SIZE, "font_color": INK} | STYLES[style]
            properties = {name: self.accent if value == "accent" else value for name, value in properties.items()}
            if kind:
                properties["num_format"] = self._number_format(kind)
            self.formats[style, kind] = self.book.add_format(properties)
        return self.formats[style, kind]

    @staticmethod
    def indent(style: str) -> int:
        """Pixels by which a style's text is set in."""
        return INDENT * STYLES[style].get("indent", 0)

    @staticmethod
    def type(style: str) -> tuple[float, bool]:
        """The size of a style's type in points, and whether it is bold."""
        return STYLES[style].get("font_size", SIZE), STYLES[style].get("bold", False)

    def _number_format(self, kind: str) -> str | int:
        if kind.startswith("share_"):
            places = int(kind.removeprefix("share_"))
            return "0" + ("." + "0" * places if places else "") + "%"
        return self.number_formats[kind]


def share_kind(share: Decimal) -> str:
    """The kind that shows a share as a percentage with just the places it needs."""
    places = -(share * 100).normalize().as_tuple().exponent
    return f"share_{max(0, places)}"


def new_workbook(file: str | os.PathLike | BinaryIO, plain: dict = PLAIN) -> xlsxwriter.Workbook:
    """A workbook in which text is text, whatever it starts with; `plain` are the properties of its plain type."""
    return xlsxwriter.Workbook(
        file,
        {
            "in_memory": True,
            "strings_to_formulas": False,
            "strings_to_urls": False,
            "default_format_properties": {**plain},  # XlsxWriter adds to what it is given
        },
    )


def set_page(sheet, paper: str, footer: str, landscape: bool, pages_tall: int = 1) -> None:
    """One printed page wide, in a firm's paper size, with a footer and numbers; `pages_tall` 0 for as many as it takes."""
    sheet.set_paper(PAPER_SIZES[paper])
    sheet.set_landscape() if landscape else sheet.set_portrait()
    sheet.set_margins(left=0.5, right=0.5, top=0.5, bottom=0.6)
    sheet.fit_to_pages(1, pages_tall)
    sheet.set_footer(f"&L&8{footer.replace('&', '&&')}&R&8&P / &N")
