"""The revenue workbook: its formulas recalculated, its cached values and the ledger's own tables all say the same."""

import subprocess
from dataclasses import replace
from datetime import date
from decimal import Decimal as D
from io import BytesIO

import openpyxl
import pytest
import worked_example
from ledger_fixtures import CARD, FIRM, agree_a_season, issue_and_agree, quote
from oracle import poisoned, recalculated_by_ironcalc, values_in

from quotebook.books import revenue_rows
from quotebook.books.revenue import revenue, table
from quotebook.books.revenue_workbook import write_revenue
from quotebook.books.sources import books
from quotebook.errors import Misuse
from quotebook.ledger import Ledger
from quotebook.ledger.events import Cancelled, now

YEAR = date(2027, 1, 1), date(2027, 12, 31)
YEN = replace(CARD, firm=replace(FIRM, currency="JPY"), rates=replace(worked_example.RATES, minor_units=D(0)))


@pytest.fixture(scope="module")
def season(tmp_path_factory):
    """The ledger of 2026 and 2027."""
    ledger = Ledger(f"sqlite:///{tmp_path_factory.mktemp('season') / 'ledger.sqlite'}")
    agree_a_season(ledger)
    ledger.record(Cancelled(at=now(), quote_number="Q0007", revision=1))
    return ledger


def written(its_books, path):
    """The workbook in a file, with wrong cached values, and what was cached."""
    file = BytesIO()
    content = write_revenue(file, its_books)
    path.write_bytes(poisoned(file.getvalue()))
    return content


def figures_of(content):
    """The places of all that is worked out."""
    return {name: content.places[name] for name in content.results}


def must_equal(found, cached):
    """To a millionth: sums of cents in binary, shares as they are."""
    differing = {
        name: (found[name], expected) for name, expected in cached.items()
        if (found[name] != expected if isinstance(expected, str) else abs(float(found[name]) - float(expected)) > 1e-6)
    }  # fmt: skip
    assert not differing


def serial(value):
    """A date as LibreOffice's file gives it, as the number that a cell holds."""
    return value if not hasattr(value, "toordinal") else value.toordinal() - date(1899, 12, 30).toordinal()


@pytest.mark.parametrize(
    ("first", "last"), [YEAR, (date(2026, 11, 1), date(2027, 2, 28)), (date(2027, 6, 1), date(2027, 6, 30))]
)
def test_recalculated_by_ironcalc(season, tmp_path, first, last):
    content = written(books(season, CARD, first, last), tmp_path / "revenue.xlsx")
    must_equal(recalculated_by_ironcalc(tmp_path / "revenue.xlsx", figures_of(content)), content.results)


def test_recalculated_by_libreoffice(season, soffice, tmp_path):
    content = written(books(season, CARD, *YEAR), tmp_path / "revenue.xlsx")
    (tmp_path / "out").mkdir()
    (saved,) = soffice.convert([tmp_path / "revenue.xlsx"], tmp_path / "out")
    found = values_in(saved, figures_of(content))
    must_equal({name: "" if value is None else serial(value) for name, value in found.items()}, content.results)


@pytest.mark.parametrize(("first", "last"), [YEAR, (date(2026, 3, 1), date(2026, 9, 30))])
def test_shows_what_the_ledgers_own_table_says(season, first, last):
    """Two ways from the same rows: sums in SQL and pandas, and the figures that the formulas are held against."""
    found = revenue(season, first, last)
    frame = table(found)
    content = write_revenue(BytesIO(), books(season, CARD, first, last))
    for number, kind in enumerate(CARD.holdings, 1):
        for place, month in enumerate(found.months, 1):
            assert content.results[f"goods_{number}_month_{place}"] * 100 == int(frame.loc[month, kind])
            days = int(found.by_kind["panel_days"].get((month, kind), 0))
            assert content.results[f"panel_days_{number}_month_{place}"] == days
    for name in ("delivery", "labour", "waiver", "tax", "total"):
        assert content.results[f"{name}_period"] * 100 == int(frame[name].sum())
    assert content.results["total_period"] == content.results["agreed"] and found.reconciled
    assert content.results["reconciled"].startswith("Equal")


def test_year_to_date_and_the_year_before(season):
    content = write_revenue(BytesIO(), books(season, CARD, date(2027, 4, 1), date(2027, 6, 30)))
    this, last = (revenue(season, date(year, 1, 1), date(year, 6, 30)).total for year in (2027, 2026))
    shown = [content.results[f"total_{row}"] * 100 for row in ("this_year", "last_year", "change")]
    assert shown == [this, last, this - last]


def test_busy_by_hand(tmp_path):
    """30 of 120 panels for two days of June: 60 of 3,600 panel-days; 1,560.37 + 113.86 over 120 panels is 13.95."""
    ledger = Ledger(f"sqlite:///{tmp_path / 'ledger.sqlite'}")
    issue_and_agree(ledger, quote())
    results = write_revenue(BytesIO(), books(ledger, CARD, date(2026, 6, 1), date(2026, 6, 30))).results
    found = [results[f"{name}_1_month_1"] for name in ("panel_days", "busy", "goods_a_panel")]
    assert found == [60, D(60) / 3600, D("13.95")]


def test_a_line_changed_by_hand_shows_and_no_longer_reconciles(season, tmp_path):
    """The formulas are live: one more in the last row's hire, and the total and the sentence say so."""
    path = tmp_path / "revenue.xlsx"
    content = written(books(season, CARD, *YEAR), path)
    book = openpyxl.load_workbook(path)
    book["Lines"].cell(book["Lines"].max_row, 10).value += 1
    book.save(path)
    found = recalculated_by_ironcalc(path, {name: content.places[name] for name in ("total_period", "reconciled")})
    assert found["total_period"] == pytest.approx(float(content.results["total_period"]) + 1)
    assert found["reconciled"].startswith("NOT EQUAL")


def test_text_is_text_whatever_it_starts_with(season, tmp_path):
    written(books(season, CARD, *YEAR), tmp_path / "revenue.xlsx")
    rows = openpyxl.load_workbook(tmp_path / "revenue.xlsx")["Lines"].iter_rows(min_row=5)
    cells = [cell for row in rows for cell in row]
    assert any(cell.value == "=cmd|' /C calc'!A0" for cell in cells)
    assert {cell.data_type for cell in cells if cell.column_letter in "CEFG"} == {"s"}


def test_nothing_agreed_and_another_currency(tmp_path):
    ledger = Ledger(f"sqlite:///{tmp_path / 'ledger.sqlite'}")
    content = written(books(ledger, YEN, *YEAR), tmp_path / "revenue.xlsx")
    must_equal(recalculated_by_ironcalc(tmp_path / "revenue.xlsx", figures_of(content)), content.results)
    assert content.results["total_period"] == 0 and content.results["total_growth"] == ""


def test_more_lines_than_a_sheet_holds(season, monkeypatch):
    monkeypatch.setattr(revenue_rows, "MOST_ROWS", 10)
    with pytest.raises(Misuse, match=r"lines are more than a sheet holds\. Ask for fewer months"):
        write_revenue(BytesIO(), books(season, CARD, *YEAR))


def test_it_prints(season, soffice, tmp_path):
    """Tables and charts on a page each, and no cell too narrow for what is in it."""
    with (tmp_path / "revenue.xlsx").open("wb") as file:
        write_revenue(file, books(season, CARD, *YEAR))
    (pdf,) = soffice.convert([tmp_path / "revenue.xlsx"], tmp_path, to="pdf")
    text = subprocess.run(["pdftotext", "-layout", pdf, "-"], capture_output=True, text=True, check=True).stdout
    pages = [page.strip() for page in text.split("\f") if page.strip()]
    titles = [page.splitlines()[0] for page in pages]
    assert titles[:4] == ["Charts", "Revenue 2027-01 to 2027-12", "How busy the panels are", "Lines"]
    assert not any(wrong in page for page in pages for wrong in ("###", "#NAME", "#VALUE", "#REF", "#DIV", "Err:"))
