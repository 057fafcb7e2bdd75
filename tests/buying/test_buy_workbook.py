"""The workbook of what to buy: recalculated in two spreadsheet engines, it comes to what was worked out."""

from dataclasses import replace
from decimal import Decimal as D

import openpyxl
import pytest
from ledger_fixtures import CARD
from live_books import must_be_recalculated_by_libreoffice, must_come_to, printed, results, type_over, written
from test_redraws import season

from quotebook.buying.answer import Question, work_out
from quotebook.buying.buy_workbook import write_buy
from quotebook.buying.purchases import Assumed

FEW = replace(
    CARD,
    holdings={code: replace(holding, owned=D(50), life_years=D(4)) for code, holding in CARD.holdings.items()},
)
ASSUMED = Assumed(D(25), D("0.08"), D("0.1"), 4)
ANSWERS = {
    "two kinds": work_out(FEW, season(), Question("2026", ("4x4", "3x4"), True, ASSUMED, D(9000), 20, 1)),
    "one kind": work_out(
        FEW, season(60), Question("2026", ("4x4",), False, replace(ASSUMED, discount_rate=D(0), resale_share=D(0)))
    ),
    "nothing pays": work_out(FEW, season(3), Question("June", ("2x3",), False, ASSUMED, D(100), 5, 1)),
}


@pytest.mark.parametrize("case", ANSWERS)
def test_recalculated_by_ironcalc(case, tmp_path):
    content = written(write_buy, tmp_path / "buy.xlsx", ANSWERS[case])
    must_come_to(tmp_path / "buy.xlsx", content, content.results)


def test_recalculated_by_libreoffice(soffice, tmp_path):
    must_be_recalculated_by_libreoffice(soffice, tmp_path, write_buy, ANSWERS)


def test_money_is_live(tmp_path):
    """A dearer panel, a longer life and another rate, entered by hand, come to what would be worked out with them."""
    answer = ANSWERS["one kind"]
    content = written(write_buy, tmp_path / "buy.xlsx", answer)
    entries = {"price_1": 300, "life_1": 9, "discount_rate": 0.05, "crew_cost": 12, "resale_share": 0.2}
    type_over(tmp_path / "buy.xlsx", content, entries)
    dearer = replace(FEW.holdings["4x4"], purchase_price=D(300), life_years=D(9))
    assumed = replace(ASSUMED, crew_cost=D(12), discount_rate=D("0.05"), resale_share=D("0.2"))
    card = replace(FEW, holdings=FEW.holdings | {"4x4": dearer})
    expected = results(write_buy, work_out(card, season(60), replace(answer.question, assumed=assumed)))
    assert expected["answer_1"] != content.results["answer_1"]
    must_come_to(tmp_path / "buy.xlsx", content, expected)


def test_the_first_sheet_has_the_answer_its_table_and_the_chart_with_the_band(tmp_path):
    """The chart is of the kind that is worth most to buy, and it begins in the part that is seen without scrolling."""
    answer = ANSWERS["two kinds"]
    written(write_buy, tmp_path / "buy.xlsx", answer)
    book = openpyxl.load_workbook(tmp_path / "buy.xlsx")
    front = book.worksheets[0]
    [chart] = front._charts
    worth = {found.kind.code: found.steps[found.best].worth.net_present_value for found in answer.kinds}
    drawn = " ".join(series.val.numRef.f for series in chart.series)
    assert max(worth, key=worth.get) in drawn and len(chart.series) == 4
    assert chart.anchor._from.row < 16
    assert "would have served" in front["B4"].value


def test_what_formulas_count_with_is_out_of_the_way(tmp_path):
    content = written(write_buy, tmp_path / "buy.xlsx", ANSWERS["two kinds"])
    book = openpyxl.load_workbook(tmp_path / "buy.xlsx")
    assert {content.places[name][0] for name in ("minor_units", "best_1", "best_2")} == {"Helpers"}
    assert [sheet.title for sheet in book if sheet.sheet_state != "visible"] == ["Helpers"]


def test_it_prints(soffice, tmp_path):
    assert printed(soffice, tmp_path, write_buy, ANSWERS["two kinds"]) == [
        "What to buy for 2026", "How many 4x4?", "How many 3x4?", "Year by year", "Busiest days", "Requests",
        "Request Day Ground Days Floors Outcome Why Played",
    ]  # fmt: skip
