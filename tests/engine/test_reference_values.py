"""Published values against the engine, the shipped files and two spreadsheet engines, each with its source.

What has a test file of its own is there: the lifting equation in test_lifting.py, vehicles, straps and
steps in test_cautions.py.
"""

import tomllib
from decimal import Decimal as D
from pathlib import Path

import ironcalc
import openpyxl
import pytest
import xlsxwriter
from worked_example import PLY

import quotebook
from quotebook.engine import charges, floor, work
from quotebook.engine.cautions import COMMERCIAL_VEHICLE
from quotebook.engine.money import money, round_up, split

TEMPLATES = Path(quotebook.__file__).parents[1] / "templates"


@pytest.mark.parametrize(("area_a_person", "people"), [(15, 48), (7, 102), (5, 144)])
def test_occupant_load(area_a_person, people):
    """IBC Table 1004.5, net: tables and chairs 15 sq ft, concentrated 7, standing 5; 720 sq ft / 15 = 48."""
    assert floor.standing_room(D(720), D(area_a_person)) == people


POUND, FOOT, GRAVITY = D("0.45359237"), D("0.3048"), D("9.80665")
"""Exact: the international pound in kg and foot in m; standard gravity."""


def test_dance_hall_live_load():
    """100 psf = 4.79 kPa (ASCE 7 Table 4.3-1, clause from memory; the conversion is recomputed)."""
    assert round(100 * POUND * GRAVITY / FOOT**2 / 1000, 2) == D("4.79")
    assert "100 psf (4.79 kPa)" in _words()["cautions"]["upstairs"]


def test_standing_space_in_metres():
    """5 sq ft (IBC Table 1004.5) is 0.46 m2."""
    assert round(5 * FOOT**2, 2) == D("0.46")
    assert "5 sq ft, 0.46 m2" in _words()["cautions"]["crowding"]


def test_commercial_vehicle():
    """10,001 lb (4,536 kg): 49 CFR 390.5."""
    assert COMMERCIAL_VEHICLE == {"ft": 10001, "m": 4536} and round(10001 * POUND) == 4536


def _words():
    return tomllib.loads((TEMPLATES / "words.en.toml").read_text("utf-8"))


def test_plywood_sheet():
    """32 sq ft, about 3.0 lb per sq ft and inch of thickness (APA, secondary copies), 23/32 in; 69.0 lb recomputed."""
    sheet = PLY.sheet_width * PLY.sheet_length * D("3.0") * 23 / 32
    assert sheet == PLY.sheet_weight == D("69.0")
    assert work.weight(D(0), D(0), D(6), sheet) == 414


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
    assert charges.tax(3 * D("0.99"), rate, 2) == D("0.22")
    assert 3 * charges.tax(D("0.99"), rate, 2) == D("0.21")


@pytest.mark.parametrize(("taxable", "tax"), [("1.24", "0.12"), ("1.25", "0.13"), ("1.249", "0.12"), ("1.29", "0.13")])
def test_tax_goes_up_where_the_third_decimal_is_above_four(taxable, tax):
    """The same section, at 10 %."""
    assert charges.tax(D(taxable), D("0.1"), 2) == D(tax)


APPORTIONMENT = {
    "VA": (630560, 11), "MA": (475327, 8), "PA": (432879, 7), "NC": (353523, 6), "NY": (331589, 6), "MD": (278514, 5),
    "CT": (236841, 4), "SC": (206236, 3), "NJ": (179570, 3), "NH": (141822, 2), "VT": (85533, 1), "GA": (70835, 1),
    "KY": (68705, 1), "RI": (68446, 1), "DE": (55540, 1),
}  # fmt: skip
"""1790, 60 seats by Hamilton's method: populations published, all seats recomputed."""


def test_largest_remainder():
    people, seats = zip(*APPORTIONMENT.values(), strict=True)
    assert sum(seats) == 60
    assert split(D(60), [D(count) for count in people], 0) == list(seats)
