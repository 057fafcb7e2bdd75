"""A few cells are written into somebody else's file, and nothing else in it changes."""

import zipfile

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quotebook.desk_books.filled_cells import fill_cells

places = st.tuples(st.integers(1, 12), st.integers(1, 30))
texts = st.text(st.characters(categories=("L", "N", "P", "S", "Zs")), min_size=1, max_size=20).filter(str.strip)
values = texts | st.integers(-1000, 1000) | st.booleans()


@settings(max_examples=40, deadline=None)
@given(st.dictionaries(places, values, max_size=15), st.dictionaries(places, texts, min_size=1, max_size=8))
def test_only_those_cells_change(tmp_path_factory, there, filled):
    path = tmp_path_factory.mktemp("cells") / "book.xlsx"
    book = openpyxl.Workbook()
    for (row, column), value in there.items():
        cell = book.active.cell(row, column)
        cell.value, cell.data_type = value, "s" if isinstance(value, str) else cell.data_type
    book.create_sheet("Other")["C3"] = 7
    book.save(path)
    parts = contents(path)
    fill_cells(path, "Sheet", filled)
    assert {name for name, data in contents(path).items() if parts.get(name) != data} <= {
        "xl/worksheets/sheet1.xml", "[Content_Types].xml",
    }  # fmt: skip
    sheet = openpyxl.load_workbook(path)["Sheet"]
    found = {(cell.row, cell.column): cell.value for row in sheet for cell in row if cell.value is not None}
    assert found == there | filled


def contents(path):
    with zipfile.ZipFile(path) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def test_a_cell_keeps_its_format(tmp_path):
    path = tmp_path / "book.xlsx"
    book = openpyxl.Workbook()
    book.active["B2"], book.active["B2"].number_format = 0.5, "0.0%"
    book.save(path)
    fill_cells(path, "Sheet", {(2, 2): "half", (2, 3): ""})
    cell = openpyxl.load_workbook(path).active["B2"]
    assert (cell.value, cell.number_format) == ("half", "0.0%")


@pytest.mark.parametrize("text", ["=1+1", "+1", "@sum"])
def test_nothing_in_csv_runs(tmp_path, text):
    path = tmp_path / "list.csv"
    path.write_text("a,b\n1,2\n")
    fill_cells(path, "", {(2, 3): text})
    assert path.read_text() == f"a,b\n1,2,'{text}\n"
