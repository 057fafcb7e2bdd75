"""The proof needs a recalculation: a cached value that is wrong must not survive LibreOffice."""

import openpyxl
import pytest
import xlsxwriter


def poisoned(path):
    """A workbook whose formula carries a cached value that is wrong."""
    with xlsxwriter.Workbook(path) as workbook:
        sheet = workbook.add_worksheet("Sums")
        sheet.write_number("A1", 36.5)
        sheet.write_formula("A2", "=ROUND(A1*3,2)", None, 9999)
    return path


def test_wrong_cached_values_are_recalculated_in_xlsx_and_in_ods(soffice, tmp_path):
    paths = [poisoned(tmp_path / "one.xlsx"), poisoned(tmp_path / "two.xlsx")]
    (tmp_path / "out").mkdir()
    through_ods = soffice.convert(soffice.convert(paths[:1], tmp_path / "out", to="ods"), tmp_path / "out")
    for path in [*through_ods, *soffice.convert(paths[1:], tmp_path / "out")]:
        assert openpyxl.load_workbook(path, data_only=True)["Sums"]["A2"].value == 109.5  # 36.5 * 3


def test_a_file_that_libreoffice_cannot_read_is_not_passed_over(soffice, tmp_path):
    with pytest.raises(RuntimeError, match=r"missing\.xlsx"):
        soffice.convert([tmp_path / "missing.xlsx"], tmp_path)
