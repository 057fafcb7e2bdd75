"""What a client sees without scrolling: worked out from the rows and columns of the first sheet itself.

A screen of 1366 x 768 pixels at 100 %. Measured in LibreOffice with its usual toolbars, the cells begin 200 pixels
below the top and 45 from the left, and end 55 above the bottom and 20 before the right; a ribbon takes no more.
"""

from dataclasses import replace
from datetime import date
from decimal import Decimal as D
from importlib.resources import as_file, files
from io import BytesIO
from itertools import product

import openpyxl
import pytest
from extent import some

from quotebook.client.columns import WIDTHS
from quotebook.client.draft import Issue
from quotebook.client.quote_head import MOST_ROWS
from quotebook.client.workbook import write_quote
from quotebook.contract.words import LANGUAGES, words_in
from quotebook.demonstration.demo import EVENTS
from quotebook.drawing import styles, text_size
from quotebook.engine import model
from quotebook.engine.model import LINES, FloorLine, Papers
from quotebook.rate_card.reader import read_rate_card

WIDE, TALL = 1366 - 45 - 20, 768 - 200 - 55
PAPERS = Papers("Q0001", D(1), date(2026, 11, 26), date(2026, 12, 17))
CARDS = {"ft": "rate_card.xlsx", "m": "rate_card_metric.xlsx"}


def issue_of(unit="ft", language="en", lines=1, surface="grass", changes=()):
    with as_file(files("quotebook.templates") / CARDS[unit]) as path:
        card = read_rate_card(path)
    floors = tuple(FloorLine(card.rates.kinds[0].panel, D(6), D(8), True) for _ in range(lines))
    firm = replace(card.firm, language=language)
    request = replace(EVENTS[0], surface=surface, lines=floors)
    return Issue(PAPERS, firm, card.rates, request, card.terms, changes, finishes=card.finishes)


class Screen:
    """The first sheet of a quote, in pixels."""

    def __init__(self, issue):
        file = BytesIO()
        self.content = write_quote(file, issue, b"key")
        self.size = len(file.getvalue())
        file.seek(0)
        self.book = openpyxl.load_workbook(file)
        self.sheet = self.book.worksheets[0]

    def below(self, row):
        """Where a row ends, from the top of the first."""
        heights = (self.sheet.row_dimensions[each].height or 15 for each in range(1, row + 1))
        return sum(round(height * 96 / 72) for height in heights)

    def cell(self, name):
        """The row and column of a name, and those at which its cell ends if it is merged."""
        _, row, column = self.content.places[name]
        for merged in self.sheet.merged_cells.ranges:
            if (merged.min_row, merged.min_col) == (row, column):
                return row, column, merged.max_row, merged.max_col
        return row, column, row, column


CASES = {
    "one line": {}, "six lines": {"lines": 6}, "a floor that cannot be laid": {"surface": "carpet indoors"},
    "Spanish": {"language": "es"}, "French": {"language": "fr"}, "metric": {"unit": "m", "language": "fr"},
    "a later revision": {"changes": ("Changed since revision 1:", "Days of hire: 1, now 2.")},
}  # fmt: skip


@pytest.fixture(scope="module")
def screens():
    return {name: Screen(issue_of(**case)) for name, case in CASES.items()}


@pytest.mark.parametrize("case", CASES)
def test_the_answer_stays_in_view_within_the_first_rows(screens, case):
    screen = screens[case]
    frozen = int(screen.sheet.freeze_panes[1:]) - 1
    assert screen.sheet.freeze_panes.startswith("A") and frozen <= MOST_ROWS
    for name in ("total", "deposit_due", "balance_due", "status", "bought", "valid_until", "quote_number"):
        *_, last_row, last_column = screen.cell(name)
        assert last_row <= frozen
        assert text_size.pixels_across(WIDTHS[:last_column]) <= WIDE
    assert screen.below(frozen) <= 0.5 * TALL  # half the screen is left for the entries


@pytest.mark.parametrize("case", CASES)
def test_the_first_screen_has_the_total_and_the_floors_in_use_and_one_to_spare(screens, case):
    screen = screens[case]
    assert screen.below(screen.cell("total")[2]) <= TALL
    used = min(LINES, CASES[case].get("lines", 1) + 1)
    assert screen.below(screen.cell(f"width_{used}")[0]) <= TALL
    assert text_size.pixels_across(WIDTHS) <= WIDE


@pytest.mark.parametrize(("options", "language"), some([*product((2, 3), LANGUAGES)], [(2, "es"), (3, "fr")]))
def test_the_options_are_on_the_first_screen_with_the_first_of_their_floors(language, options):
    """The cell in which one is picked, on which the cursor opens, and a line for each; then the floors begin."""
    issue = issue_of(language=language, lines=options)
    floors = tuple(
        replace(line, option=letter) for line, letter in zip(issue.request.lines, model.OPTIONS, strict=False)
    )
    screen = Screen(replace(issue, request=replace(issue.request, lines=floors, picked="A")))
    row, column, *_ = screen.cell("picked")
    assert screen.sheet.sheet_view.selection[-1].activeCell == screen.sheet.cell(row, column).coordinate
    last = screen.cell(f"option_said_{'abc'[options - 1]}")[0]
    assert row < screen.cell("option_said_a")[0] <= last < screen.cell("panel_1")[0]
    assert screen.below(screen.cell("panel_1")[0]) <= TALL
    assert text_size.pixels_across(WIDTHS[: screen.cell("option_note_a")[3]]) <= WIDE


def test_a_quote_without_options_shows_none_and_holds_none(screens):
    names = screens["six lines"].content.places
    assert not [name for name in names if "option" in name or "picked" in name or name.endswith(("_a", "_b", "_c"))]


def test_further_floor_lines_are_below_the_price_and_the_reply(screens):
    screen = screens["one line"]
    assert screen.cell("panel_2")[0] < screen.cell("goods")[0] < screen.cell("accepted")[0] < screen.cell("panel_3")[0]


def test_the_price_stands_beside_the_entries(screens):
    screen = screens["one line"]
    entries = {screen.cell(name)[0] for name in ("event_date", "days", "surface", "guests", "miles", "flights")}
    prices = {screen.cell(name)[0] for name in ("goods", "discount", "delivery", "labour", "waiver", "tax")}
    assert min(entries) == min(prices) and len(entries & prices) >= 5


@pytest.mark.parametrize("case", CASES)
def test_the_cursor_opens_on_the_first_entry(screens, case):
    screen = screens[case]
    row, column, *_ = screen.cell("panel_1")
    entries = [screen.content.places[name] for name in screen.content.inputs]
    assert [row, column] == min(place[1:] for place in entries if place[0] == screen.sheet.title)
    pane = screen.sheet.sheet_view.selection[-1]
    assert pane.activeCell == screen.sheet.cell(row, column).coordinate


@pytest.mark.parametrize("unit", CARDS)
@pytest.mark.parametrize("language", LANGUAGES)
def test_a_quote_is_within_70_kilobytes(unit, language):
    assert Screen(issue_of(unit, language)).size <= 70 * 1024


# For all who read it


def luminance(colour):
    """The relative luminance of a colour (WCAG 2.2)."""
    digits = colour.removeprefix("#")
    parts = (int(digits[at : at + 2], 16) / 255 for at in (0, 2, 4))
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one, other="FFFFFF"):
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def test_contrast_is_that_of_the_standard():
    """21:1 for black on white, and 4.54:1 for #767676 (WCAG 2.2, understanding 1.4.3)."""
    assert contrast("000000") == pytest.approx(21) and round(contrast("767676"), 2) == 4.54


def test_text_and_the_borders_of_entries_can_be_made_out():
    """4.5:1 for text, 3:1 for the edges of what is to be used (WCAG 2.2, 1.4.3 and 1.4.11)."""
    fills = ("FFFFFF", styles.ENTRY, styles.STATUS)
    assert all(contrast(text, fill) >= 4.5 for text in (styles.INK, styles.WARNING) for fill in fills)
    assert contrast(styles.QUIET) >= 4.5
    assert contrast(styles.EDGE) >= 3


@pytest.mark.parametrize("language", LANGUAGES)
def test_dates_name_their_month_in_the_quote_s_language(language):
    screen = Screen(issue_of(language=language))
    formats = words_in(language)["formats"]
    row, column, *_ = screen.cell("valid_until")
    assert screen.sheet.cell(row, column).number_format == formats["date"]
    row, column, *_ = screen.cell("event_date")
    assert screen.sheet.cell(row, column).number_format == formats["day"]
    assert all("mmmm" in form for form in formats.values())


def test_a_length_is_shown_with_its_unit_and_held_as_a_number(screens):
    row, column, *_ = screens["metric"].cell("width_1")
    cell = screens["metric"].sheet.cell(row, column)
    assert (cell.value, cell.number_format) == (6, 'General" m"')
