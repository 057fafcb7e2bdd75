"""The workbook of what to buy: recalculated in two spreadsheet engines, it comes to what was worked out."""

import subprocess
from dataclasses import replace
from decimal import Decimal as D
from io import BytesIO

import openpyxl
import pytest
from ledger_fixtures import CARD
from oracle import poisoned, recalculated_by_ironcalc, values_in
from test_break_even_workbook import figures_of, must_equal
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


def written(path, answer):
    file = BytesIO()
    content = write_buy(file, answer)
    path.write_bytes(poisoned(file.getvalue()))
    return content


@pytest.mark.parametrize("case", ANSWERS)
def test_recalculated_by_ironcalc(case, tmp_path):
    content = written(tmp_path / "buy.xlsx", ANSWERS[case])
    must_equal(recalculated_by_ironcalc(tmp_path / "buy.xlsx", figures_of(content)), content.results)


def test_recalculated_by_libreoffice(soffice, tmp_path):
    contents = {case: written(tmp_path / f"{case}.xlsx", answer) for case, answer in ANSWERS.items()}
    (tmp_path / "out").mkdir()
    saved = soffice.convert([tmp_path / f"{case}.xlsx" for case in contents], tmp_path / "out")
    for path, content in zip(saved, contents.values(), strict=True):
        must_equal(values_in(path, figures_of(content)), content.results)


def test_money_is_live(tmp_path):
    """A dearer panel, a longer life and another rate, entered by hand, come to what would be worked out with them."""
    answer = ANSWERS["one kind"]
    content = written(tmp_path / "buy.xlsx", answer)
    book = openpyxl.load_workbook(tmp_path / "buy.xlsx")
    for name, value in {
        "price_1": 300,
        "life_1": 9,
        "discount_rate": 0.05,
        "crew_cost": 12,
        "resale_share": 0.2,
    }.items():
        sheet, row, column = content.places[name]
        book[sheet].cell(row, column).value = value
    book.save(tmp_path / "buy.xlsx")
    dearer = replace(FEW.holdings["4x4"], purchase_price=D(300), life_years=D(9))
    assumed = replace(ASSUMED, crew_cost=D(12), discount_rate=D("0.05"), resale_share=D("0.2"))
    card = replace(FEW, holdings=FEW.holdings | {"4x4": dearer})
    expected = write_buy(BytesIO(), work_out(card, season(60), replace(answer.question, assumed=assumed))).results
    assert expected["answer_1"] != content.results["answer_1"]
    must_equal(recalculated_by_ironcalc(tmp_path / "buy.xlsx", figures_of(content)), expected)


def test_it_prints(soffice, tmp_path):
    with (tmp_path / "buy.xlsx").open("wb") as file:
        write_buy(file, ANSWERS["two kinds"])
    (pdf,) = soffice.convert([tmp_path / "buy.xlsx"], tmp_path, to="pdf")
    text = subprocess.run(["pdftotext", "-layout", pdf, "-"], capture_output=True, text=True, check=True).stdout
    pages = [" ".join(page.strip().splitlines()[0].split()) for page in text.split("\f") if page.strip()]
    assert pages == [
        "What to buy for 2026", "How many 4x4?", "How many 3x4?", "Year by year", "Busiest days", "Requests",
        "Request Day Ground Days Floors Outcome Why Played",
    ]  # fmt: skip
    assert not any(wrong in text for wrong in ("###", "#NAME", "#VALUE", "#REF", "#DIV", "Err:"))
