"""No quote leaves unproved: a formula that comes to something else than the engine does stops the issue."""

from dataclasses import replace
from datetime import date

import pytest
import worked_example
from click.testing import CliRunner

from quotebook.cli import main
from quotebook.contract import formulas
from quotebook.desk import init
from quotebook.errors import NotProved
from quotebook.quoting.issuing import issue

WRONG = {
    "labour": "ROUND(ROUND((setup_hours+strike_hours)*crew*hourly_rate*1.01,6),minor_units)",
    "tax": "ROUND(taxable*tax_rate*10,minor_units)/10",
    "trips": "XLOOKUP(weight,payload,carts)",
    "hire_2": "hire_2+0",
}
"""A rate too high; a rounding to the wrong place; a function that is not worked out; a formula that rests on itself."""


@pytest.mark.parametrize("name", WRONG)
def test_a_wrong_formula_stops_the_issue(tmp_path, monkeypatch, name):
    monkeypatch.setitem(formulas.FORMULAS, name, WRONG[name])
    desk = init(tmp_path / "desk")
    card = replace(desk.card(), rates=worked_example.RATES)
    with pytest.raises(NotProved, match=rf"Q0001 was not issued.* for {name} its workbook comes to"):
        issue(desk, card, worked_example.REQUEST, "Q0001", date(2026, 6, 1))
    assert list(desk.issued.iterdir()) == []


def test_nothing_is_recorded_and_one_sentence_is_said(tmp_path, monkeypatch):
    monkeypatch.setitem(formulas.FORMULAS, "tax", WRONG["tax"])
    desk = init(tmp_path / "desk")
    asked = ["--date", "2027-06-12", "--surface", "grass", "--miles", "31.7", "--floor", "OAK-44:16x20"]
    told = CliRunner().invoke(main, ["issue", "--desk", str(desk.folder), *asked])
    assert told.exit_code == 2 and told.stderr.count("\n") <= 2 and "for tax its workbook comes to" in told.stderr
    assert [path for path in desk.issued.iterdir() if path.suffix == ".xlsx"] == []
    listed = CliRunner().invoke(main, ["quotes", "--desk", str(desk.folder)])
    assert "Q0001" not in listed.output
