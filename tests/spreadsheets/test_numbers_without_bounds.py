"""Numbers of any length in attributes are no error, and hide no more columns than a sheet has."""

import handmade
import pytest

from quotebook.spreadsheets.cells import LAST_COLUMN
from quotebook.spreadsheets.reading import read_workbook

SHEET = "xl/worksheets/sheet1.xml"
ROWS = '<row r="1"><c r="A1"><v>1</v></c></row>'
NINES = "9" * 5_000
"""More digits than Python makes a number of."""


@pytest.fixture
def look(tmp_path):
    """What the only sheet looks like with something before and behind its cells."""

    def read(before="", behind="", **parts):
        parts = handmade.parts(ROWS, **parts)
        sheet = parts[SHEET].replace("<sheetData>", f"{before}<sheetData>")
        parts[SHEET] = sheet.replace("</sheetData>", f"</sheetData>{behind}")
        return read_workbook(handmade.pack(tmp_path / "hand.xlsx", parts)).sheets[0].appearance

    return read


def test_a_rule_of_a_look_that_cannot_be_there_has_none(look):
    rule = f'<cfRule type="expression" dxfId="{NINES}"/>'
    assert look(behind=f'<conditionalFormatting sqref="A1">{rule}</conditionalFormatting>').rules[0].text is None


def test_a_print_area_of_a_sheet_that_cannot_be_there_prints_nothing(look):
    name = f'<definedName name="_xlnm.Print_Area" localSheetId="{NINES}">Only!$A$1</definedName>'
    assert look(names=name).printed is None


@pytest.mark.parametrize("first", ["inf", "nan", "1e400", NINES, "-1e400"])
def test_a_column_that_cannot_be_there_is_no_error(look, first):
    hidden = look(f'<cols><col min="{first}" max="3" hidden="1"/></cols>').hidden_columns
    assert hidden <= {*range(1, 4)}


def test_only_columns_that_a_sheet_has_are_hidden(look):
    columns = "".join(f'<col min="{first}" max="{first + 999}" hidden="1"/>' for first in range(0, 40_000, 1_000))
    assert look(f"<cols>{columns}</cols>").hidden_columns == {*range(1, LAST_COLUMN + 1)}
