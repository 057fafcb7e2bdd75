"""At 100 % nothing that we write at the head of a quote is smaller than it should be: it fits its cell at its own size.

A cell that shrinks is measured with the longest that it says: the 30 of September, a Wednesday in 2026, as the CLDR of
each language names them (`babel`), with amounts of five digits. What clients and owners write may be longer still.
"""

import re
from dataclasses import replace
from datetime import date
from decimal import Decimal as D
from io import BytesIO
from itertools import product

import openpyxl
import pytest
from babel.dates import format_date
from extent import some
from test_first_screen import CARDS, PAPERS, issue_of

from quotebook.client.workbook import write_quote
from quotebook.contract.words import LANGUAGES
from quotebook.drawing import text_size
from quotebook.engine.model import FloorLine

DAY = date(2026, 9, 30)
GIVEN = ("Avelie", "Wedding supper", "quillmere", "brackenholt", "Quillmere", "Brackenholt")
"""What is said by the firm or the client themselves."""


def long_issue(unit, language, options):
    """A quote whose days are all long ones, for a floor of each kind, dear, with options or without."""
    issue = issue_of(unit, language)
    size = D("16.5"), D("20.5")
    lines = tuple(
        FloorLine(kind.panel, *size, True, option="ABC"[at % 3] if options else "")
        for at, kind in enumerate(issue.rates.kinds[:6])
    )
    papers = replace(PAPERS, issued_on=DAY, valid_until=DAY)
    rates = replace(
        issue.rates, deposit_days=D(365), kinds=tuple(replace(kind, rate=kind.rate * 20) for kind in issue.rates.kinds)
    )
    request = replace(issue.request, event_date=DAY, lines=lines, picked="A" if options else "")
    return replace(issue, papers=papers, rates=rates, request=request)


def shown(value, number_format, language):
    """What a cell shows, by the formats that a quote has."""
    if hasattr(value, "year"):
        form = re.sub(r"\[.*?\]", "", number_format).split(";")[0]
        names = {"dddd": "EEEE", "mmmm": "MMMM", "d": "d", "yyyy": "yyyy"}
        parts = re.findall(r'"[^"]*"|d+|m+|y+|.', form)
        return "".join(
            format_date(DAY, names[part], locale=language) if part in names else part.strip('"') for part in parts
        )
    if isinstance(value, int | float):
        unit = "".join(re.findall(r'"([^"]*)"', number_format))
        return (f"{value:,.2f}" if "0.00" in number_format else f"{value:g}") + unit
    return value or ""


CASES = [*product(LANGUAGES, CARDS, (False, True))]
USUAL = [("en", "ft", False), ("en", "m", True), ("es", "ft", True), ("fr", "m", True)]
"""Each language and unit, with options and without; with --slow in every combination."""


@pytest.mark.parametrize(("language", "unit", "options"), some(CASES, USUAL))
def test_every_cell_that_would_shrink_has_room(language, unit, options):
    file = BytesIO()
    write_quote(file, long_issue(unit, language, options), b"key")
    formats, values = openpyxl.load_workbook(file), openpyxl.load_workbook(file, data_only=True)
    seen = set()
    for sheet, results in zip(formats.worksheets[:2], values.worksheets[:2], strict=True):
        widths = {
            column: dimension.width * text_size.DIGIT
            for dimension in sheet.column_dimensions.values()
            for column in range(dimension.min, dimension.max + 1)
        }
        merged = {(area.min_row, area.min_col): area.max_col for area in sheet.merged_cells.ranges}
        for cell in (cell for row in sheet.iter_rows() for cell in row if cell.alignment.shrink_to_fit):
            text = shown(results[cell.coordinate].value, cell.number_format, language)
            last = merged.get((cell.row, cell.column), cell.column)
            room = sum(widths[column] for column in range(cell.column, last + 1)) - text_size.PADDING
            room -= 9 * int(cell.alignment.indent or 0)
            seen.add(text)
            if not text.startswith(GIVEN):
                assert text_size.text_width(text, cell.font.sz, cell.font.b) <= room, (cell.coordinate, text)
    assert {format_date(DAY, form, locale=language) for form in LONGEST[language]} <= seen


LONGEST = {
    "en": ("d MMMM yyyy", "EEEE d MMMM yyyy"),
    "es": ("d 'de' MMMM 'de' yyyy", "EEEE d 'de' MMMM 'de' yyyy"),
    "fr": ("d MMMM yyyy", "EEEE d MMMM yyyy"),
}
"""How each language writes a day with its month, and with its weekday."""
