"""The payback workbook: recalculated in two spreadsheet engines, it comes to what the engine says."""

import subprocess
from dataclasses import replace
from decimal import Decimal as D
from io import BytesIO

import openpyxl
import pytest
from extent import extent
from hypothesis import given, settings
from hypothesis import strategies as st
from ledger_fixtures import FIRM
from oracle import poisoned, recalculated_by_ironcalc, values_in
from payback_examples import PLAN, plans

from quotebook.books.payback_workbook import write_payback
from quotebook.engine.payback import DEPRECIATIONS, FIVE_YEARS, SEVEN_YEARS, payback

PLANS = [
    replace(PLAN, tax_share=D("0.25"), depreciation=FIVE_YEARS),
    replace(PLAN, kind="2x3", depreciation=SEVEN_YEARS, life_years=D(3), discount_rate=D(0), tax_share=D("0.3")),
    replace(PLAN, kind="3x4", hires_a_month=D("0.05"), labour_a_hire=D(0)),  # never paid back
    replace(PLAN, kind="6x6", rate=D(1), labour_a_hire=D(0)),  # costs more than it earns
    replace(PLAN, kind="8x8", hires_a_month=D("1.333333"), rate=D("12.345678"), life_years=D(20)),
]


def written(its_plans, path, minor_units=2):
    """The workbook in a file, with wrong cached values, and what was cached."""
    file = BytesIO()
    content = write_payback(file, FIRM, minor_units, its_plans)
    path.write_bytes(poisoned(file.getvalue()))
    return content


def must_equal(found, cached):
    """To a millionth of what it is, or of one."""
    differing = {}
    for name, expected in cached.items():
        value = "" if found[name] is None else found[name]
        texts = isinstance(expected, str) or isinstance(value, str)
        if value != expected if texts else abs(float(value) - float(expected)) > 1e-6 * max(1, abs(float(expected))):
            differing[name] = value, expected
    assert not differing


def figures_of(content):
    return {name: content.places[name] for name in content.results}


def test_recalculated_by_ironcalc(tmp_path):
    content = written(PLANS, tmp_path / "payback.xlsx")
    must_equal(recalculated_by_ironcalc(tmp_path / "payback.xlsx", figures_of(content)), content.results)


def test_recalculated_by_libreoffice(soffice, tmp_path):
    content = written(PLANS, tmp_path / "payback.xlsx")
    (tmp_path / "out").mkdir()
    (saved,) = soffice.convert([tmp_path / "payback.xlsx"], tmp_path / "out")
    must_equal(values_in(saved, figures_of(content)), content.results)


@settings(max_examples=extent(8, 60))
@given(its_plans=st.lists(plans, min_size=1, max_size=3), minor_units=st.sampled_from((0, 2, 3)))
def test_any_plans_recalculated(tmp_path_factory, its_plans, minor_units):
    path = tmp_path_factory.mktemp("payback") / "payback.xlsx"
    content = written(its_plans, path, minor_units)
    must_equal(recalculated_by_ironcalc(path, figures_of(content)), content.results)


def test_entries_are_live(tmp_path):
    """A quarter more hire, a longer life and another table, entered by hand, come to what the engine makes of them."""
    path = tmp_path / "payback.xlsx"
    content = written(PLANS, path)
    book = openpyxl.load_workbook(path)
    changed = replace(PLANS[1], rate=D("45.625"), life_years=D(12), depreciation=FIVE_YEARS, discount_rate=D("0.1"))
    for name in ("rate", "life_years", "depreciation", "discount_rate"):
        sheet, row, column = content.places[f"{name}_2"]
        value = getattr(changed, name)
        book[sheet].cell(row, column).value = value if isinstance(value, str) else float(value)
    book.save(path)
    expected = {f"{name}_2": "" if value is None else value for name, value in payback(changed, 2).items()}
    must_equal(recalculated_by_ironcalc(path, {name: content.places[name] for name in expected}), expected)


def test_never_is_left_blank(tmp_path):
    results = write_payback(BytesIO(), FIRM, 2, PLANS).results
    never = ("months_to_pay_back", "internal_rate_of_return", "break_even_hires")
    assert [results[f"{name}_4"] for name in never] == [""] * 3


@pytest.mark.parametrize("depreciation", DEPRECIATIONS)
def test_depreciation_is_chosen_from_a_list(tmp_path, depreciation):
    written(PLANS, tmp_path / "payback.xlsx")
    rules = openpyxl.load_workbook(tmp_path / "payback.xlsx")["Payback"].data_validations.dataValidation
    assert any(rule.type == "list" and depreciation in rule.formula1 for rule in rules)


def test_it_prints(soffice, tmp_path):
    """The plans on a page, a page of years for each kind, the ladder and the tables; no cell too narrow."""
    with (tmp_path / "payback.xlsx").open("wb") as file:
        write_payback(file, FIRM, 2, PLANS)
    (pdf,) = soffice.convert([tmp_path / "payback.xlsx"], tmp_path, to="pdf")
    text = subprocess.run(["pdftotext", "-layout", pdf, "-"], capture_output=True, text=True, check=True).stdout
    pages = [page.strip() for page in text.split("\f") if page.strip()]
    assert [page.splitlines()[0] for page in pages] == [
        "Does each kind pay for itself?", "Year by year", "2x3", "3x4", "6x6", "8x8", "Price ladder", "Tax tables",
    ]  # fmt: skip
    assert not any(wrong in page for page in pages for wrong in ("###", "#NAME", "#VALUE", "#REF", "#DIV", "Err:"))
