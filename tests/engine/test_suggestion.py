"""The suggested size: the same from the engine and from a workbook's formulas, in two spreadsheet engines."""

from decimal import Decimal as D

import ironcalc
import openpyxl
import xlsxwriter
from hypothesis import given, settings
from hypothesis import strategies as st

from quotebook.contract.formulas import CANDIDATES, QUOTE
from quotebook.engine.suggestion import (  # fmt: skip
    area_needed,
    suggested_across,
    suggested_along,
    suggested_length,
    suggested_width,
)

FORMULAS = (
    {name: QUOTE[name] for name in ("area_needed", "panels_needed")}
    | CANDIDATES
    | {
        name: QUOTE[name]
        for name in ("suggested_score", "suggested_across", "suggested_along", "suggested_width", "suggested_length")
    }
)
"""As a client's workbook writes them."""

SIZE_ROWS = range(len(FORMULAS) - 3, len(FORMULAS) + 1)
"""Where the panels across and along and the sides stand, from 1."""

GIVEN = ("suggested_panel_width", "suggested_panel_length", "dancers", "area_per_dancer", "longest_side")
POISON = -12345
"""Cached in every formula's cell, so that an engine that echoes it is found out."""


def _write(path, case):
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("Size")
        for row, (name, value) in enumerate(zip(GIVEN, case, strict=True)):
            sheet.write_number(row, 0, float(value))
            book.define_name(name, f"=Size!$A${row + 1}")
        sheet.write_number(len(GIVEN), 0, 0)
        book.define_name("crowding_area", f"=Size!$A${len(GIVEN) + 1}")
        for row, (name, formula) in enumerate(FORMULAS.items()):
            sheet.write_formula(row, 1, f"={formula}", None, POISON)
            book.define_name(name, f"=Size!$B${row + 1}")
    return path


def _by_engine(case):
    panel_width, panel_length, dancers, area_per_dancer, longest_side = case
    needed = area_needed(dancers, area_per_dancer, D(0))
    across = suggested_across(panel_width, panel_length, needed, longest_side)
    along = suggested_along(across, panel_width, panel_length, needed)
    grid = across, panel_width, along, panel_length
    return across, along, suggested_width(*grid), suggested_length(*grid)


def _by_ironcalc(model, case):
    for row, value in enumerate(case, 1):
        model.set_user_input(0, row, 1, str(value))
    model.evaluate()
    return tuple(D(str(model.get_cell_value(0, row, 2))) for row in SIZE_ROWS)


CASES = {
    "120 guests at 40 %, 4x4": ((4, 4, 48, "4.5", 200), (4, 4, 16, 16)),
    "the same, 3x4 exactly": ((3, 4, 48, "4.5", 200), (6, 3, 12, 18)),
    "1 dancer": ((4, 4, 1, "4.5", 200), (1, 1, 4, 4)),
    "a long panel is doubled": ((4, 8, 1, "4.5", 200), (2, 1, 8, 8)),
    "metric": (("1.22", "0.91", 60, "0.42", 60), (4, 6, "4.88", "5.46")),
    "no panel chosen": ((0, 0, 48, "4.5", 200), (0, 0, 0, 0)),
    "nobody dances": ((4, 4, 0, "4.5", 200), (0, 0, 0, 0)),
    "more than a floor may be": ((4, 4, 9000, "4.5", 200), (0, 0, 0, 0)),
    "as much as a floor may be": ((4, 4, 3200, 5, 128), (32, 32, 128, 128)),
}
"""Panel's sides, dancers, area of each, longest side; panels across and along, and the sides: by hand."""


def _decimals(values):
    return tuple(map(D, values))


def test_by_hand_and_in_every_engine(tmp_path, soffice):
    cases = {name: (_decimals(case), _decimals(answer)) for name, (case, answer) in CASES.items()}
    paths = [_write(tmp_path / f"{number}.xlsx", case) for number, (case, _) in enumerate(cases.values())]
    (tmp_path / "out").mkdir()
    recalculated = soffice.convert(paths, tmp_path / "out")
    for (name, (case, answer)), path, saved in zip(cases.items(), paths, recalculated, strict=True):
        sheet = openpyxl.load_workbook(saved, data_only=True).active
        by_libreoffice = tuple(round(D(str(sheet.cell(row, 2).value)), 6) for row in SIZE_ROWS)
        by_ironcalc = _by_ironcalc(ironcalc.load_from_xlsx(str(path)), case)
        assert _by_engine(case) == answer, name
        assert by_libreoffice == answer, name
        assert tuple(round(value, 6) for value in by_ironcalc) == answer, name


sides = st.one_of(st.sampled_from((D(2), D(3), D(4), D("1.22"), D("0.91"))), st.decimals(D("0.3"), D(9), places=2))
cases = st.tuples(
    sides,
    sides,
    st.integers(0, 2500).map(D),
    st.decimals(D("0.2"), D(9), places=2),
    st.sampled_from((D(60), D(100), D("61.5"))),
)


def test_engine_and_formulas_agree(tmp_path_factory):
    path = _write(tmp_path_factory.mktemp("size") / "size.xlsx", (4, 4, 48, 4.5, 200))
    model = ironcalc.load_from_xlsx(str(path))

    @settings(max_examples=400)
    @given(cases)
    def agree(case):
        by_ironcalc = _by_ironcalc(model, case)
        assert tuple(round(value, 6) for value in by_ironcalc) == _by_engine(case)

    agree()


def test_formulas_stay_within_what_a_cell_holds():
    """8,192 characters a formula ("Excel specifications and limits")."""
    assert all(len(formula) < 8192 for formula in FORMULAS.values())
