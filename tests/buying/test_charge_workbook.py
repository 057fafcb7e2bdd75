"""The workbook of what to charge: recalculated in two spreadsheet engines, it comes to what was worked out."""

import subprocess
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal as D
from io import BytesIO

import openpyxl
import pytest
from ledger_fixtures import CARD
from oracle import poisoned, recalculated_by_ironcalc, values_in
from test_break_even_workbook import figures_of, must_equal
from test_charge import MAY, asked, terms

from quotebook.buying.charge import charges
from quotebook.buying.charge_workbook import write_charges
from quotebook.buying.demand import AGREED, LISTED, LOST
from quotebook.buying.price_ladder import Costs

SEASON = [
    asked(number, MAY + timedelta(3 * number), LOST if number % 4 == 3 else AGREED, ("4x4", 16, 20), *more)
    for number, more in enumerate([(), (("2x3", 10, 10),), (), ()] * 5)
]
ANSWERS = {
    "two kinds": charges(CARD, SEASON, ["4x4", "2x3"], terms()),
    "hires that cost more than they bring": charges(
        CARD, SEASON, ["4x4"], terms(step=D("0.15"), costs=Costs(D(250), D(85)))
    ),
    "a list, and a kind without hires": charges(
        CARD, [replace(each, outcome=LISTED) for each in SEASON], ["3x4", "4x4"], terms(name="May & June", year=None)
    ),
}


def written(path, answer):
    file = BytesIO()
    content = write_charges(file, answer)
    path.write_bytes(poisoned(file.getvalue()))
    return content


@pytest.mark.parametrize("case", ANSWERS)
def test_recalculated_by_ironcalc(case, tmp_path):
    content = written(tmp_path / "charge.xlsx", ANSWERS[case])
    must_equal(recalculated_by_ironcalc(tmp_path / "charge.xlsx", figures_of(content)), content.results)


def test_the_cases_differ():
    """One has prices at which nothing is left, and one at which all may be lost."""
    lost = [[rung.hires_to_lose for rung in each.ladder] for answer in ANSWERS.values() for each in answer.kinds]
    assert any(None in rungs and 15 in rungs for rungs in lost)


def test_recalculated_by_libreoffice(soffice, tmp_path):
    contents = {case: written(tmp_path / f"{case}.xlsx", answer) for case, answer in ANSWERS.items()}
    (tmp_path / "out").mkdir()
    saved = soffice.convert([tmp_path / f"{case}.xlsx" for case in contents], tmp_path / "out")
    for path, content in zip(saved, contents.values(), strict=True):
        must_equal(values_in(path, figures_of(content)), content.results)


def test_the_ladder_is_live(tmp_path):
    """Another price, step and cost, entered by hand, come to what would be worked out with them."""
    content = written(tmp_path / "charge.xlsx", ANSWERS["two kinds"])
    book = openpyxl.load_workbook(tmp_path / "charge.xlsx")
    for name, value in {"price_1": 41.25, "step": 0.03, "crew_cost": 19.5, "trip_cost": 60}.items():
        sheet, row, column = content.places[name]
        book[sheet].cell(row, column).value = value
    book.save(tmp_path / "charge.xlsx")
    kinds = tuple(replace(kind, rate=D("41.25")) if kind.panel == "4x4" else kind for kind in CARD.rates.kinds)
    dearer = replace(CARD, rates=replace(CARD.rates, kinds=kinds))
    asked_for = terms(step=D("0.03"), costs=Costs(D("19.5"), D(60)))
    expected = write_charges(BytesIO(), charges(dearer, SEASON, ["4x4"], asked_for)).results
    found = recalculated_by_ironcalc(tmp_path / "charge.xlsx", figures_of(content))
    must_equal(found, expected)
    assert expected["left_1_rung_1"] != content.results["left_1_rung_1"]


def test_it_prints(soffice, tmp_path):
    with (tmp_path / "charge.xlsx").open("wb") as file:
        write_charges(file, ANSWERS["two kinds"])
    (pdf,) = soffice.convert([tmp_path / "charge.xlsx"], tmp_path, to="pdf")
    text = subprocess.run(["pdftotext", "-layout", pdf, "-"], capture_output=True, text=True, check=True).stdout
    pages = [" ".join(page.strip().splitlines()[0].split()) for page in text.split("\f") if page.strip()]
    assert pages == ["What to charge, 2027", "4x4: what to charge", "2x3: what to charge"]
    assert not any(wrong in text for wrong in ("###", "#NAME", "#VALUE", "#REF", "#DIV", "Err:"))
