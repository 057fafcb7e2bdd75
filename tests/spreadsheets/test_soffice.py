"""The proof needs a recalculation: a cached value that is wrong must not survive LibreOffice, however it is asked."""

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


@pytest.fixture(params=["that stays open", pytest.param("of its own", marks=pytest.mark.slow)])
def office(request, soffice, monkeypatch):
    """LibreOffice as it is asked where it can be spoken to; and with --slow as it is asked where it cannot."""
    if request.param == "of its own":
        monkeypatch.setattr(soffice, "can_be_spoken_to", lambda: False)
    return soffice


def test_wrong_cached_values_are_recalculated_in_xlsx_and_in_ods(office, tmp_path):
    paths = [poisoned(tmp_path / "one.xlsx"), poisoned(tmp_path / "two.xlsx")]
    (tmp_path / "out").mkdir()
    through_ods = office.convert(office.convert(paths[:1], tmp_path / "out", to="ods"), tmp_path / "out")
    for path in [*through_ods, *office.convert(paths[1:], tmp_path / "out")]:
        assert openpyxl.load_workbook(path, data_only=True)["Sums"]["A2"].value == 109.5  # 36.5 * 3


def test_a_file_that_libreoffice_cannot_read_is_not_passed_over(office, tmp_path):
    """What is behind it is done all the same."""
    (tmp_path / "out").mkdir()
    with pytest.raises(RuntimeError, match=r"missing\.xlsx"):
        office.convert([tmp_path / "missing.xlsx", poisoned(tmp_path / "there.xlsx")], tmp_path / "out")
    assert (tmp_path / "out" / "there.xlsx").exists()


def test_a_libreoffice_that_fell_is_started_again(soffice, tmp_path):
    if not soffice.can_be_spoken_to():
        pytest.skip("no LibreOffice stays open")
    soffice.office()._kill()
    (saved,) = soffice.convert([poisoned(tmp_path / "one.xlsx")], tmp_path / "out")
    assert openpyxl.load_workbook(saved, data_only=True)["Sums"]["A2"].value == 109.5
