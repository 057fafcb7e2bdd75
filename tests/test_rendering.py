"""Every sheet of a client's workbook as LibreOffice prints it: a page each, nothing cut to ###, no error, no text lost."""

import os
import re
import shutil
import subprocess
from dataclasses import replace
from datetime import date
from decimal import Decimal as D
from importlib.resources import as_file, files
from io import BytesIO

import pytest

from quotebook.demo import EVENTS
from quotebook.engine.model import LINES, FloorLine, Papers
from quotebook.sheets.quote import Issue, write_quote
from quotebook.sheets.rate_card import read_rate_card

SHEETS = 5
LONG_NAME = "The Committee of the Upper Quillmere Valley Harvest Supper"
LONG_TERM = (
    "The client makes sure that the crew can reach the spot with carts at the hour that was agreed, that it is level, "
    "clear and dry, and that nothing heavier than what the floor is made for is put on it before, during or after the event, "
    "and says so in good time if any of that cannot be had, number "
)


def card(name):
    with as_file(files("quotebook.templates") / name) as path:
        return read_rate_card(path)


def longest(card):
    """Six lines, long names, twelve terms."""
    codes = [kind.panel for kind in card.rates.kinds]
    lines = tuple(FloorLine(codes[i % len(codes)], D(11), D(19), True) for i in range(LINES))
    request = replace(EVENTS[1], client=LONG_NAME, event=LONG_NAME, venue=LONG_NAME, flights=D(2), guests=D(900), lines=lines)
    firm = replace(card.firm, firm=LONG_NAME)
    return replace(card, firm=firm, terms=tuple(LONG_TERM + str(number) for number in range(101, 113))), request


def cases():
    plain, metric = card("rate_card.xlsx"), card("rate_card_metric.xlsx")
    shortest = replace(EVENTS[0], lines=(FloorLine(metric.rates.kinds[0].panel, D(6), D(6), True),))
    yield "short, Letter, English, USD", plain, EVENTS[0]
    yield "long, Letter, English, USD", *longest(plain)
    yield "short, A4, French, EUR", metric, shortest
    for language, currency, units in (("fr", "JPY", D(0)), ("es", "BHD", D(3))):
        long, request = longest(metric)
        rates = replace(long.rates, minor_units=units, hourly_rate=D(9999))
        yield f"long, A4, {language}, {currency}", replace(
            long, rates=rates, firm=replace(long.firm, language=language, currency=currency)
        ), request


@pytest.fixture(scope="module")
def printed(soffice, tmp_path_factory):
    """The number of pages and the text of each case as printed."""
    if shutil.which("pdftotext") is None:
        (pytest.fail if os.environ.get("QUOTEBOOK_REQUIRE_ENGINES") else pytest.skip)("pdftotext is not installed")
    folder = tmp_path_factory.mktemp("printed")
    papers, made = Papers("Q0001", D(1), date(2027, 1, 4), date(2027, 2, 3)), list(cases())
    for number, (_, card, request) in enumerate(made):
        file = BytesIO()
        write_quote(file, Issue(papers, card.firm, card.rates, request, card.terms), b"a key")
        (folder / f"{number}.xlsx").write_bytes(file.getvalue())
    pdfs = soffice.convert([folder / f"{number}.xlsx" for number in range(len(made))], folder / "pdf", to="pdf")
    return {case: _printed(pdf) for (case, *_), pdf in zip(made, pdfs)}, made


def _printed(pdf):
    pages = re.search(r"Pages:\s+(\d+)", subprocess.run(["pdfinfo", pdf], capture_output=True, text=True, check=True).stdout)
    text = subprocess.run(["pdftotext", "-layout", pdf, "-"], capture_output=True, text=True, check=True).stdout
    return int(pages[1]), text


def test_a_page_for_each_sheet(printed):
    assert {case: pages for case, (pages, _) in printed[0].items()} == dict.fromkeys(printed[0], SHEETS)


def test_no_cell_is_too_narrow_and_none_has_an_error(printed):
    wrong = re.compile(r"###|#REF!|#NAME\?|#VALUE!|#DIV/0!|#N/A|Err:\d+")
    assert {case: found for case, (_, text) in printed[0].items() if (found := wrong.findall(text))} == {}


def test_every_term_is_printed_to_its_last_word(printed):
    for case, card, _ in printed[1]:
        text = re.sub(r"\s+", " ", printed[0][case][1])
        missing = [term for term in card.terms if re.sub(r"\s+", " ", term)[-40:] not in text]
        assert missing == [], case


def test_long_names_are_printed_to_their_last_word(printed):
    """On the letterhead, as client, event and venue; wrapped where they are long."""
    last = LONG_NAME.split()[-1]
    assert printed[0]["long, Letter, English, USD"][1].count(last) >= 4
