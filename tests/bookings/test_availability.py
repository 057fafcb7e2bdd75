"""What is free for a request, what to offer instead, and the stock calendar."""

import csv
import io
import subprocess
from dataclasses import replace
from datetime import date
from decimal import Decimal as D

import openpyxl
import pytest
import worked_example
from ledger_fixtures import CARD, floor, issue_and_agree, quote

from quotebook.bookings.availability import fit, free_by_day, rates_for, to_csv, to_json
from quotebook.bookings.stock_workbook import write_stock
from quotebook.engine.stock import Item, owned
from quotebook.ledger import Ledger

PANELS = Item("panels", "4x4")
DAYS = date(2026, 6, 18), date(2026, 6, 23)
REQUEST = replace(worked_example.REQUEST, lines=floor(width=40, length=40))
"""100 of 120 panels, from 19 to 22 June."""


@pytest.fixture
def ledger(tmp_path):
    """With 30 of 4x4 held from 19 to 22 June by the worked example."""
    ledger = Ledger(f"sqlite:///{tmp_path / 'ledger.sqlite'}")
    issue_and_agree(ledger, quote())
    return ledger


def test_free_by_day(ledger):
    assert free_by_day(ledger, CARD, *DAYS)[PANELS] == [120, 90, 90, 90, 90, 120]
    assert free_by_day(ledger, CARD, *DAYS, excluding="Q0001")[PANELS] == [120] * 6
    assert set(free_by_day(ledger, CARD, *DAYS)) == set(owned(CARD))


def test_rates_say_what_is_free_on_all_the_days(ledger):
    """Of 120 4x4, 300 2x3 and 90 3x4, the worked example holds 30, 20 and 18."""
    assert [kind.free for kind in rates_for(ledger, CARD, REQUEST).kinds] == [90, 280, 72]
    assert [kind.free for kind in rates_for(ledger, CARD, REQUEST, excluding="Q0001").kinds] == [120, 300, 90]
    undated = replace(REQUEST, event_date=None)
    assert rates_for(ledger, CARD, undated) == CARD.rates


def test_nothing_is_free_where_more_is_promised_than_owned(ledger):
    fewer = replace(CARD, holdings=CARD.holdings | {"4x4": replace(CARD.holdings["4x4"], owned=D(10))})
    assert rates_for(ledger, fewer, REQUEST).kinds[0].free == 0


def test_a_request_that_fits(ledger):
    found = fit(ledger, CARD, replace(REQUEST, lines=floor()))
    assert found.shortages == () and found.alternatives == {}


def test_a_request_that_does_not(ledger):
    """100 wanted, 90 free on each of four days. 10 x 9 fit; 3x4 would take 140 and 2x3 280, but not its 55 sheets."""
    found = fit(ledger, CARD, REQUEST)
    assert [(str(day), item, short) for item, day, short in found.shortages] == [
        (f"2026-06-{day}", PANELS, 10) for day in (19, 20, 21, 22)
    ]
    assert found.alternatives[1].other_kinds == ()
    assert {found.alternatives[1].smaller.width, found.alternatives[1].smaller.length} == {D(36), D(40)}


def test_only_lines_that_take_of_what_is_short_get_something_instead(ledger):
    found = fit(ledger, CARD, replace(REQUEST, lines=(*floor("3x4", 9, 8), *REQUEST.lines)))
    assert list(found.alternatives) == [2]


def test_a_request_without_days_fits(ledger):
    assert fit(ledger, CARD, replace(REQUEST, days=None)).shortages == ()


def test_json_and_csv(ledger):
    by_day = {PANELS: [120, 90], Item("carts", ""): [30, 23]}
    assert to_json(by_day, DAYS[0])["rows"][1] == {"day": "2026-06-19", "what": "panels", "kind": "4x4", "free": 90}
    rows = list(csv.reader(io.StringIO(to_csv({Item("panels", "=1"): [1, 2]} | by_day, DAYS[0]))))
    assert rows[0] == ["day", "panels of =1", "panels of 4x4", "carts"]
    assert rows[1:] == [["2026-06-18", "1", "120", "30"], ["2026-06-19", "2", "90", "23"]]


def test_calendar(ledger, tmp_path):
    """Panels on a sheet of their own; of the rest, what the firm has any of."""
    by_day, has = free_by_day(ledger, CARD, *DAYS), owned(CARD) | {Item("corners", "2x3"): 0}
    with (tmp_path / "stock.xlsx").open("wb") as file:
        write_stock(file, CARD.firm, has, by_day, DAYS[0])
    panels, rest = openpyxl.load_workbook(tmp_path / "stock.xlsx").worksheets
    rows = list(panels.iter_rows(min_row=4, min_col=2, values_only=True))
    assert rows[0][2:] == ("4x4", "2x3", "3x4")
    assert [row[2] for row in rows[1:]] == [120, *by_day[PANELS]]
    assert rows[3][0].date() == date(2026, 6, 19) and len(rows) == 2 + 6
    headings, counts = rest.iter_rows(min_row=4, max_row=5, min_col=4, values_only=True)
    assert dict(zip(headings, counts, strict=True)) == {
        str(item): count for item, count in has.items() if item.what != "panels" and count
    }


def test_calendar_prints_in_any_length(soffice, ledger, tmp_path):
    year = date(2026, 1, 1), date(2026, 12, 31)
    with (tmp_path / "stock.xlsx").open("wb") as file:
        write_stock(file, CARD.firm, owned(CARD), free_by_day(ledger, CARD, *year), year[0])
    (pdf,) = soffice.convert([tmp_path / "stock.xlsx"], tmp_path, to="pdf")
    text = subprocess.run(["pdftotext", "-layout", pdf, "-"], capture_output=True, text=True, check=True).stdout
    assert "###" not in text and all("day" in page and "4x4" in page for page in text.split("\f")[:-1])
