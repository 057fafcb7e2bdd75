"""Published values against the engine, the shipped files and two spreadsheet engines, each with its source.

What has a test file of its own is there: the lifting equation in test_lifting.py, what sentences quote in
test_published.py.
"""

from decimal import Decimal as D
from pathlib import Path

import ironcalc
import openpyxl
import pytest
import xlsxwriter

import quotebook
from quotebook.engine import charges, floor
from quotebook.engine.money import money, round_up, split
from quotebook.rate_card.reader import read_rate_card
from quotebook.rate_card.writer import SHIPPED

TEMPLATES = Path(quotebook.__file__).parents[1] / "templates"


@pytest.mark.parametrize(("area_a_person", "people"), [(15, 48), (7, 102), (5, 144)])
def test_occupant_load(area_a_person, people):
    """IBC Table 1004.5, net: tables and chairs 15 sq ft, concentrated 7, standing 5; 720 sq ft / 15 = 48."""
    assert floor.standing_room(D(720), D(area_a_person)) == people


POUND, FOOT = D("0.45359237"), D("0.3048")
"""Exact: the international pound in kg and foot in m."""


INCH = D("25.4")
"""Exact: the international inch in mm."""


@pytest.mark.parametrize("name", SHIPPED)
def test_plywood_on_the_shipped_cards(name):
    """About 3.0 lb per sq ft and inch of thickness, 15 % either way by grade (APA, secondary copies).

    That is 69.0 lb for 4 x 8 ft of 23/32 in (recomputed).
    """
    card = read_rate_card(TEMPLATES / f"{name}.xlsx")
    metric = card.firm.length_unit == "m"
    for code in {kind.subfloor_kind for kind in card.rates.kinds} - {""}:
        sheet = card.rates.listed_subfloor(code)
        area = sheet.sheet_width * sheet.sheet_length / (FOOT**2 if metric else 1)
        thickness = sheet.sheet_thickness / (INCH if metric else 1)
        weight = sheet.sheet_weight / (POUND if metric else 1)
        assert abs(weight / (area * thickness * D("3.0")) - 1) <= D("0.15"), code
    assert 4 * 8 * D("3.0") * 23 / 32 == D("69.0")


ROUND = [("2.15", 1, "2.2"), ("2.149", 1, "2.1"), ("-1.475", 2, "-1.48"), ("21.5", -1, "20")]
"""ECMA-376, ROUND; OpenFormula 6.17.5: ties go away from zero."""

ROUNDUP = [
    ("3.2", 0, "4"), ("76.9", 0, "77"), ("3.14159", 3, "3.142"), ("-3.14159", 1, "-3.2"), ("31415.92654", -2, "31500"),
]  # fmt: skip
"""ECMA-376, ROUNDUP."""


@pytest.mark.parametrize(("amount", "places", "rounded"), ROUND)
def test_round(amount, places, rounded):
    assert money(D(amount).scaleb(places), 0).scaleb(-places) == D(rounded)
    assert places != 2 or money(D(amount), 2) == D(rounded)


@pytest.mark.parametrize(("amount", "places", "rounded"), ROUNDUP)
def test_roundup(amount, places, rounded):
    assert round_up(D(amount).scaleb(places)).scaleb(-places) == D(rounded)


POISON = -12345


@pytest.fixture
def nested(tmp_path):
    """A workbook of the published cases, nested as quotes nest them, with a wrong answer cached in every cell."""
    path = tmp_path / "rounding.xlsx"
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet()
        for row, (amount, places, _) in enumerate(ROUND + ROUNDUP):
            function = "ROUND" if row < len(ROUND) else "ROUNDUP"
            sheet.write_formula(row, 0, f"={function}(ROUND({amount},6),{places})", None, POISON)
    return path


PUBLISHED = [D(rounded) for _, _, rounded in ROUND + ROUNDUP]


def test_rounding_in_ironcalc(nested):
    model = ironcalc.load_from_xlsx(str(nested))
    model.evaluate()
    assert [D(str(model.get_cell_value(0, row, 1))) for row in range(1, len(PUBLISHED) + 1)] == PUBLISHED


def test_rounding_in_libreoffice(nested, tmp_path, soffice):
    (tmp_path / "out").mkdir()
    (recalculated,) = soffice.convert([nested], tmp_path / "out")
    rows = openpyxl.load_workbook(recalculated, data_only=True).active.iter_rows(values_only=True)
    assert [D(str(value)) for (value,) in rows] == PUBLISHED


def test_tax_on_the_invoice_or_by_the_item():
    """Streamlined Sales and Use Tax Agreement s. 324: either basis; a quote rounds once. Recomputed."""
    rate = D("0.075")
    assert charges.tax(3 * D("0.99"), rate, D(0), False, 2) == D("0.22")
    assert 3 * charges.tax(D("0.99"), rate, D(0), False, 2) == D("0.21")


@pytest.mark.parametrize(("taxable", "tax"), [("1.24", "0.12"), ("1.25", "0.13"), ("1.249", "0.12"), ("1.29", "0.13")])
def test_tax_goes_up_where_the_third_decimal_is_above_four(taxable, tax):
    """The same section, at 10 %."""
    assert charges.tax(D(taxable), D("0.1"), D(0), False, 2) == D(tax)


APPORTIONMENT = {
    "VA": (630560, 21), "MA": (475327, 16), "PA": (432879, 14), "NC": (353523, 12), "NY": (331589, 11),
    "MD": (278514, 9), "CT": (236841, 8), "SC": (206236, 7), "NJ": (179570, 6), "NH": (141822, 5), "VT": (85533, 3),
    "GA": (70835, 2), "KY": (68705, 2), "RI": (68446, 2), "DE": (55540, 2),
}  # fmt: skip
"""People in 1790 and seats by Hamilton's method in the bill of 1792 that was vetoed: both published (COMAP, For All
Practical Purposes, chapter 14)."""


def test_largest_remainder():
    people, seats = zip(*APPORTIONMENT.values(), strict=True)
    assert sum(seats) == 120
    assert split(D(120), [D(count) for count in people], 0) == list(seats)
