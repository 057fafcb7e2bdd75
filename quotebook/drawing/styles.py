"""Styles of a firm's workbooks: one typeface, the firm's accent colour, one tint for cells that may be changed."""

import os
from collections.abc import Mapping
from decimal import Decimal
from io import StringIO
from typing import BinaryIO, TypedDict

import xlsxwriter
from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

from quotebook.drawing.plain_workbook import PlainWorkbook
from quotebook.drawing.theme import THEME

INK = "#2B2B2B"
QUIET = "#6E6E6E"
RULE = "#C9C9C9"
EDGE = "#8A8A8A"
"""The border of every cell that the reader may change: 3.5:1 against white (WCAG 2.2, 1.4.11 asks for 3:1)."""
ENTRY = "#FFF6D6"
"""The fill of every cell that the reader may change."""
WARNING = "#A23B2A"
STATUS = "#EDEDED"
"""The fill of a quote's status while nobody has answered it."""

PAPER_SIZES = {"A4": 9, "Letter": 1}
"""The number of each paper size (ECMA-376 part 1, 18.3.1.63, `paperSize`)."""

TYPE: dict[str, str | int] = {"font_name": "Arial", "font_size": 10}
"""The default font. Column widths are counted in its digits, so it must be a font that every machine has."""
PLAIN = TYPE | {"font_scheme": "none"}
"""The default font of all workbooks except the rate card."""

SIZE = 10
"""The default size of type, in points."""
INDENT = 9
"""Pixels of one step of indent: three spaces of the default font."""


class StyleProperties(TypedDict, total=False):
    """What a style sets, in the names of XlsxWriter's format properties; the colour `accent` is the firm's own."""

    font_size: int
    bold: bool
    italic: bool
    font_color: str
    bg_color: str
    align: str
    valign: str
    indent: int
    rotation: int
    shrink: bool
    text_wrap: bool
    border: int
    border_color: str
    top: int
    top_color: str
    bottom: int
    bottom_color: str
    locked: bool


_ENTRY: StyleProperties = {"bg_color": ENTRY, "border": 1, "border_color": EDGE, "locked": False, "valign": "vcenter"}
_COLUMN: StyleProperties = {
    "bold": True, "font_size": 9, "text_wrap": True, "valign": "bottom", "bottom": 1, "bottom_color": RULE,
}  # fmt: skip
_ROW: StyleProperties = {"bottom": 4, "bottom_color": RULE, "valign": "top"}
_HEADING: StyleProperties = {
    "font_size": 12, "bold": True, "font_color": "accent", "bottom": 1, "bottom_color": "accent",
}  # fmt: skip
_NOTE: StyleProperties = {"italic": True, "font_size": 9, "valign": "top", "font_color": QUIET}
_TOTAL: StyleProperties = {
    "bold": True, "font_size": 13, "font_color": "accent", "top": 1, "bottom": 1, "valign": "vcenter",
}  # fmt: skip
_SUM: StyleProperties = {"bold": True, "top": 1, "bottom": 1, "valign": "vcenter"}

STYLE_PROPERTIES: dict[str, StyleProperties] = {
    "plain": {},
    "quiet": {"font_color": QUIET, "font_size": 9},
    "quiet_shrunk": {"font_color": QUIET, "font_size": 9, "shrink": True},
    "quiet_right": {"font_color": QUIET, "font_size": 9, "align": "right", "valign": "vcenter", "shrink": True},
    "quiet_wrapped": {"font_color": QUIET, "font_size": 9, "text_wrap": True, "valign": "top"},
    "small_wrapped": {"font_color": QUIET, "font_size": 8, "text_wrap": True, "valign": "top"},
    "wrapped": {"text_wrap": True, "valign": "top"},
    "number": {"font_color": QUIET, "valign": "top"},
    "label": {"font_color": QUIET, "valign": "vcenter"},
    "field": {"font_color": QUIET, "valign": "vcenter", "shrink": True},
    "field_right": {"font_color": QUIET, "valign": "vcenter", "align": "right", "indent": 1},
    "firm": {"font_size": 20, "bold": True, "font_color": "accent", "valign": "vcenter", "shrink": True},
    "firm_long": {"font_size": 14, "bold": True, "font_color": "accent", "valign": "vcenter", "shrink": True},
    "title": {"font_size": 20, "font_color": "accent", "align": "right", "valign": "vcenter", "shrink": True},
    "page_title": {"font_size": 16, "bold": True, "font_color": "accent"},
    "heading": _HEADING,
    "heading_shrunk": {**_HEADING, "shrink": True},
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
    "small_figure": {"align": "right", "valign": "vcenter", "shrink": True, "font_size": 9},
    "fact": {"align": "left", "valign": "vcenter"},
    "fact_indented": {"align": "left", "valign": "vcenter", "text_wrap": True, "indent": 1},
    "small_fact_indented": {"align": "left", "valign": "vcenter", "text_wrap": True, "indent": 1, "font_size": 9},
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
    "note": {**_NOTE, "text_wrap": True},
    "caution": {**_NOTE, "font_color": WARNING, "text_wrap": True},
    "suggestion": {**_NOTE, "text_wrap": True},
    "total_label": _TOTAL,
    "total": {**_TOTAL, "align": "right", "shrink": True},
    "heading_wrapped": {
        "font_size": 10, "bold": True, "font_color": "accent", "bottom": 1, "bottom_color": "accent", "text_wrap": True,
    },
    "quiet_figure": {"font_color": QUIET, "font_size": 9, "align": "right", "valign": "vcenter", "shrink": True},
    "sum_label": _SUM,
    "sum": {**_SUM, "align": "right", "shrink": True},
    "signature": {"font_color": QUIET, "font_size": 9, "top": 1, "top_color": EDGE},
    "strong_wrapped": {"bold": True, "valign": "vcenter", "text_wrap": True},
    "strong_shrunk": {"bold": True, "valign": "vcenter", "shrink": True},
    "strong_right": {"bold": True, "align": "right", "valign": "vcenter", "shrink": True},
    "status": {"bg_color": STATUS, "valign": "vcenter", "indent": 1, "shrink": True},
    "status_right": {"bg_color": STATUS, "valign": "vcenter", "align": "right", "indent": 1, "shrink": True},
    "warning_right": {"bold": True, "font_size": 9, "font_color": WARNING, "align": "right", "shrink": True},
    "swatch": {},
    "mark": {"bold": True, "font_color": WARNING, "align": "center", "valign": "top"},
    "strong": {"bold": True, "valign": "bottom", "bottom": 1, "bottom_color": RULE},
    "box": {"border": 1, "border_color": QUIET},
    "band": {"bg_color": "accent"},
    "side": {"font_color": QUIET, "rotation": 90, "valign": "top", "align": "right"},
}  # fmt: skip
"""The styles by name."""


class Styles:
    """The styles of one workbook; each format of a style is made once."""

    def __init__(self, book: xlsxwriter.Workbook, accent_colour: str, minor_units: Decimal | int) -> None:
        self.book = book
        self.accent = accent_colour
        money = "#,##0" + ("." + "0" * int(minor_units) if minor_units else "")
        self.number_formats: dict[str, str | int] = {
            "money": money,
            "money_or_blank": f"{money};-{money};",
            "number_or_blank": "General;-General;",
            "date": 14,  # the reader's own short date
            "whole": "0",
            "mark": '"!";;',
        }
        """By the kinds that `format` knows; a workbook may add its own."""
        self.formats: dict[tuple[str, str], Format] = {}

    def format(self, style: str, kind: str = "") -> Format:
        """The format of a style that displays numbers as one kind.

        A kind is a key of `number_formats`, or `share_3` for a percentage with three decimal places.
        """
        if (style, kind) not in self.formats:
            base: dict[str, object] = {"font_name": "Arial", "font_size": SIZE, "font_color": INK}
            properties = {**base, **STYLE_PROPERTIES[style]}
            properties = {name: self.accent if value == "accent" else value for name, value in properties.items()}
            if kind:
                properties["num_format"] = self._number_format(kind)
            self.formats[style, kind] = self.book.add_format(properties)
        return self.formats[style, kind]

    @staticmethod
    def indent(style: str) -> int:
        """The indent of a style in pixels."""
        return INDENT * STYLE_PROPERTIES[style].get("indent", 0)

    @staticmethod
    def type(style: str) -> tuple[float, bool]:
        """The size of a style's type in points, and whether it is bold."""
        properties = STYLE_PROPERTIES[style]
        return properties.get("font_size", SIZE), properties.get("bold", False)

    def _number_format(self, kind: str) -> str | int:
        if kind.startswith("share_"):
            places = int(kind.removeprefix("share_"))
            return "0" + ("." + "0" * places if places else "") + "%"
        return self.number_formats[kind]


def share_kind(share: Decimal) -> str:
    """The kind that displays a share as a percentage with exactly the decimal places it needs."""
    places = -int((share * 100).normalize().as_tuple().exponent)
    return f"share_{max(0, places)}"


def new_workbook(file: str | os.PathLike[str] | BinaryIO, font: Mapping[str, str | int] = PLAIN) -> xlsxwriter.Workbook:
    """A workbook that stores text as text, whatever it starts with; `font` has the properties of its default font."""
    book = PlainWorkbook(
        file,
        {
            "in_memory": True,
            "strings_to_formulas": False,
            "strings_to_urls": False,
            "default_format_properties": {**font},  # XlsxWriter adds to what it is given
        },
    )
    book.use_custom_theme(StringIO(THEME))
    return book


def set_page(sheet: Worksheet, paper: str, footer: str, landscape: bool, pages_tall: int = 1) -> None:
    """Prints a sheet one page wide on a firm's paper, with a footer and page numbers.

    `pages_tall` is the number of pages from top to bottom; 0 lets the program use as many as it needs.
    """
    sheet.set_paper(PAPER_SIZES[paper])
    sheet.set_landscape() if landscape else sheet.set_portrait()
    sheet.set_margins(left=0.5, right=0.5, top=0.5, bottom=0.6)
    sheet.fit_to_pages(1, pages_tall)
    sheet.set_footer(f"&L&8{footer.replace('&', '&&')}&R&8&P / &N")
