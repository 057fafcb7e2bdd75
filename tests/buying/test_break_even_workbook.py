"""The break-even workbook: recalculated in two spreadsheet engines, it comes to what the engine says."""

import subprocess
from dataclasses import replace
from decimal import Decimal as D
from io import BytesIO

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from oracle import poisoned, recalculated_by_ironcalc, values_in
from test_break_even import PRICED, SIDES, TERMS

from quotebook.buying.break_even_report import compare_on
from quotebook.buying.break_even_workbook import write_break_even


def written(path, comparison):
    file = BytesIO()
    content = write_break_even(file, comparison)
    path.write_bytes(poisoned(file.getvalue()))
    return content


def must_equal(found, expected):
    """To a millionth of what it is, or of one."""
    differing = {}
    for name, value in expected.items():
        is_text = isinstance(value, str)
        same = (
            (found[name] or "") == value if is_text else found[name] == pytest.approx(float(value), rel=1e-6, abs=1e-6)
        )
        if not same:
            differing[name] = found[name], value
    assert not differing


def figures_of(content):
    return {name: content.places[name] for name in content.results}


COMPARISONS = {
    "crossing": compare_on(PRICED, ("4x4", "2x3"), "grass", SIDES, TERMS),
    "two grounds": compare_on(PRICED, ("3x4", "2x3"), "paving", (D("15.5"), D(23)), TERMS),
    "no rate": compare_on(PRICED, ("4x4", "3x4"), "hard indoors", SIDES, replace(TERMS, discount_rate=D(0))),
}


@pytest.mark.parametrize("case", COMPARISONS)
def test_recalculated_by_ironcalc(case, tmp_path):
    content = written(tmp_path / "break-even.xlsx", COMPARISONS[case])
    must_equal(recalculated_by_ironcalc(tmp_path / "break-even.xlsx", figures_of(content)), content.results)


def test_recalculated_by_libreoffice(soffice, tmp_path):
    contents = {case: written(tmp_path / f"{case}.xlsx", each) for case, each in COMPARISONS.items()}
    (tmp_path / "out").mkdir()
    saved = soffice.convert([tmp_path / f"{case}.xlsx" for case in contents], tmp_path / "out")
    for path, content in zip(saved, contents.values(), strict=True):
        must_equal(values_in(path, figures_of(content)), content.results)


@settings(max_examples=15)
@given(
    sides=st.tuples(st.decimals(3, 60, places=2), st.decimals(3, 60, places=2)),
    surface=st.sampled_from(("grass", "paving", "hard indoors")), price=st.decimals(1, 400, places=2),
    rate=st.decimals(0, "0.3", places=3), life=st.integers(1, 20).map(D), resale=st.decimals(0, 1, places=2),
)  # fmt: skip
def test_any_floors_recalculated(tmp_path_factory, sides, surface, price, rate, life, resale):
    holdings = PRICED.holdings | {"4x4": replace(PRICED.holdings["4x4"], purchase_price=price, life_years=life)}
    terms = replace(TERMS, discount_rate=rate, resale_share=resale)
    path = tmp_path_factory.mktemp("break-even") / "break-even.xlsx"
    content = written(path, compare_on(replace(PRICED, holdings=holdings), ("4x4", "2x3"), surface, sides, terms))
    must_equal(recalculated_by_ironcalc(path, figures_of(content)), content.results)


def test_assumptions_are_live(tmp_path):
    """A dearer crew, a cheaper section and a larger floor, entered by hand, come to what the engine makes of them."""
    content = written(tmp_path / "break-even.xlsx", COMPARISONS["crossing"])
    book = openpyxl.load_workbook(tmp_path / "break-even.xlsx")
    for name, value in {"crew_cost": 45, "purchase_price_2": 30, "width": 20, "length": 24}.items():
        sheet, row, column = content.places[name]
        book[sheet].cell(row, column).value = value
    book.save(tmp_path / "break-even.xlsx")
    holdings = PRICED.holdings | {"2x3": replace(PRICED.holdings["2x3"], purchase_price=D(30))}
    changed = compare_on(
        replace(PRICED, holdings=holdings), ("4x4", "2x3"), "grass", (D(20), D(24)), replace(TERMS, crew_cost=D(45))
    )
    changed = changed._replace(hires_a_year=COMPARISONS["crossing"].hires_a_year)
    expected = write_break_even(BytesIO(), changed).results
    assert expected["verdict_on_1"] != content.results["verdict_on_1"]
    must_equal(recalculated_by_ironcalc(tmp_path / "break-even.xlsx", figures_of(content)), expected)


def test_it_prints(soffice, tmp_path):
    with (tmp_path / "break-even.xlsx").open("wb") as file:
        write_break_even(file, COMPARISONS["two grounds"])
    (pdf,) = soffice.convert([tmp_path / "break-even.xlsx"], tmp_path, to="pdf")
    text = subprocess.run(["pdftotext", "-layout", pdf, "-"], capture_output=True, text=True, check=True).stdout
    pages = [page.strip().splitlines()[0] for page in text.split("\f") if page.strip()]
    assert pages == [
        "On paving: which floor costs less to own?", "On carpet indoors: which floor costs less to own?",
        "Year by year", "Year by year", "Assumptions",
    ]  # fmt: skip
    assert not any(wrong in text for wrong in ("###", "#NAME", "#VALUE", "#REF", "#DIV", "Err:"))
