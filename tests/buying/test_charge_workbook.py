"""The workbook of what to charge: recalculated in two spreadsheet engines, it comes to what was worked out."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal as D

import pytest
from ledger_fixtures import CARD
from live_books import must_be_recalculated_by_libreoffice, must_come_to, printed, results, type_over, written
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


@pytest.mark.parametrize("case", ANSWERS)
def test_recalculated_by_ironcalc(case, tmp_path):
    content = written(write_charges, tmp_path / "charge.xlsx", ANSWERS[case])
    must_come_to(tmp_path / "charge.xlsx", content, content.results)


def test_the_cases_differ():
    """One has prices at which nothing is left, and one at which all may be lost."""
    lost = [[rung.hires_to_lose for rung in each.ladder] for answer in ANSWERS.values() for each in answer.kinds]
    assert any(None in rungs and 15 in rungs for rungs in lost)


def test_recalculated_by_libreoffice(soffice, tmp_path):
    must_be_recalculated_by_libreoffice(soffice, tmp_path, write_charges, ANSWERS)


def test_the_ladder_is_live(tmp_path):
    """Another price, step and cost, entered by hand, come to what would be worked out with them."""
    content = written(write_charges, tmp_path / "charge.xlsx", ANSWERS["two kinds"])
    entries = {"price_1": 41.25, "step": 0.03, "crew_cost": 19.5, "trip_cost": 60}
    type_over(tmp_path / "charge.xlsx", content, entries)
    kinds = tuple(replace(kind, rate=D("41.25")) if kind.panel == "4x4" else kind for kind in CARD.rates.kinds)
    dearer = replace(CARD, rates=replace(CARD.rates, kinds=kinds))
    asked_for = terms(step=D("0.03"), costs=Costs(D("19.5"), D(60)))
    expected = results(write_charges, charges(dearer, SEASON, ["4x4"], asked_for))
    must_come_to(tmp_path / "charge.xlsx", content, expected)
    assert expected["left_1_rung_1"] != content.results["left_1_rung_1"]


def test_it_prints(soffice, tmp_path):
    pages = printed(soffice, tmp_path, write_charges, ANSWERS["two kinds"])
    assert pages == ["What to charge, 2027", "4x4: what to charge", "2x3: what to charge"]
