"""The first screen of a quote as LibreOffice shows it at 1366 x 768 and 100 %: the answer is there, in ink.

Where a cell is comes from the sheet's own rows and columns; that it is seen, from a picture of the screen. The usual
run looks at three screens, `--slow` at all of them. `QUOTEBOOK_SCREENS` names a folder that keeps the pictures.
"""

import os
from dataclasses import replace
from pathlib import Path

import pytest
import screen
from test_first_screen import CASES, WIDE, Screen, issue_of

from quotebook.client.workbook import write_quote
from quotebook.contract.words import LANGUAGES
from quotebook.drawing import text_size
from quotebook.drawing.styles import STATUS, WARNING
from quotebook.engine import model

LEFT, TOP = 37, 123
"""Where the cells begin on the screen, in pixels: to the right of the numbers of the rows, below the column letters."""
STRETCH = 1.12
"""LibreOffice draws columns wider than they are said to be, by at most this."""


def with_options(language):
    issue = issue_of(language=language, lines=3)
    floors = zip(issue.request.lines, model.OPTIONS, strict=True)
    lines = tuple(replace(line, option=option) for line, option in floors)
    return replace(issue, request=replace(issue.request, lines=lines, picked="A"))


SCREENS = {name: issue_of(**case) for name, case in CASES.items()}
SCREENS |= {f"options, {language}": with_options(language) for language in LANGUAGES}
SCREENS["metric, English"] = issue_of(unit="m")
USUAL = ("one line", "a floor that cannot be laid", "options, fr")

pytestmark = pytest.mark.skipif(not screen.PROGRAM, reason="no LibreOffice with windows, or no virtual display")


@pytest.fixture(scope="module")
def shown(request, tmp_path_factory):
    """The pictures of all screens that are looked at, by name, taken one after another on one display."""
    slow = request.config.getoption("--slow")
    names = [name for name in SCREENS if slow or name in USUAL]
    folder = Path(os.environ.get("QUOTEBOOK_SCREENS") or tmp_path_factory.mktemp("screens"))
    folder.mkdir(exist_ok=True)
    paths = [folder / f"{name}.xlsx" for name in names]
    for name, path in zip(names, paths, strict=True):
        with path.open("wb") as file:
            write_quote(file, SCREENS[name], b"key")
    taken = dict(zip(names, screen.pictures(paths), strict=True))
    for name, picture in taken.items():
        picture.save(folder / f"{name}.ppm")
    return taken


def area(sheet, name):
    """The edges of a name's cell on the screen: left, top, right, bottom. Left may be further right, by the stretch."""
    row, column, last_row, last_column = sheet.cell(name)
    widths = [dimension_of(sheet, each) for each in range(1, last_column + 1)]
    left, right = text_size.pixels_across(widths[: column - 1]), text_size.pixels_across(widths)
    return LEFT + left, TOP + sheet.below(row - 1), LEFT + right * STRETCH, TOP + sheet.below(last_row)


def dimension_of(sheet, column):
    """The width of a column in digits."""
    found = (each for each in sheet.sheet.column_dimensions.values() if each.min <= column <= each.max)
    return next(found).width - text_size.PADDING / text_size.DIGIT


NAMES = [pytest.param(name, marks=() if name in USUAL else pytest.mark.slow) for name in SCREENS]


@pytest.mark.parametrize("name", NAMES)
def test_the_total_is_seen_where_the_sheet_says_it_is(shown, name):
    sheet, picture = Screen(SCREENS[name]), shown[name]
    left, top, right, bottom = area(sheet, "total")
    assert right <= LEFT + WIDE and bottom <= screen.HEIGHT - 55
    written = WARNING if sheet.content.results["cannot"] else SCREENS[name].firm.accent_colour
    assert picture.share_of(written.removeprefix("#"), left, top, right, bottom) > 0.02, (
        "the total is not written there"
    )
    assert picture.share_of("FFFFFF", left, top, right, bottom) > 0.5, "the total's cell is hidden by something"


@pytest.mark.parametrize("name", NAMES)
def test_the_status_is_a_band_that_is_red_where_there_is_no_offer(shown, name):
    sheet, picture = Screen(SCREENS[name]), shown[name]
    left, top, right, bottom = area(sheet, "status")
    band = (WARNING if sheet.content.results["cannot"] else STATUS).removeprefix("#")
    assert picture.share_of(band, left, top + 2, right / STRETCH, bottom - 2) > 0.6


def test_the_total_s_place_has_no_ink_on_an_empty_display():
    """The display itself, without a window, would fail both tests."""
    with screen.display() as (_, frame):
        picture = screen.Picture(frame.read_bytes())
    issue = SCREENS["one line"]
    assert picture.share_of(issue.firm.accent_colour.removeprefix("#"), *area(Screen(issue), "total")) == 0
    assert (picture.pixels.shape[1], picture.pixels.shape[0]) == screen.SIZE
