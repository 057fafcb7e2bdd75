"""Excel's own answers: every formula of workbooks that it saved, where QUOTEBOOK_EXCEL_WORKBOOKS names their folder."""

import os
from decimal import Decimal
from pathlib import Path

import excel_corpus
import pytest
import xlsxwriter

from quotebook.evaluation.values import NotWorkedOut
from quotebook.spreadsheets.cells import Fault

FOLDER = os.environ.get("QUOTEBOOK_EXCEL_WORKBOOKS")

KNOWN = {
    ("57535.xlsx", "E5"): "a circle that Excel was told to go round: 0.1*(E4+E6), where E6 is E4+E5",
}
"""Formulas of apache/poi on which this evaluator and Excel do not agree, and why."""


@pytest.mark.skipif(not FOLDER, reason="QUOTEBOOK_EXCEL_WORKBOOKS names no folder of workbooks that Excel saved")
def test_excels_own_answers():
    held, different = 0, []
    for answer in excel_corpus.answers(Path(FOLDER)):
        if not isinstance(answer.ours, NotWorkedOut):
            held += 1
            if not excel_corpus.agrees(answer.excel, answer.ours):
                different.append((answer.path.name, answer.address.cell))
    assert held
    assert set(different) <= KNOWN.keys()


def test_the_corpus_says_where_a_saved_result_is_another(tmp_path, capsys):
    book = xlsxwriter.Workbook(tmp_path / "some.xlsx")  # which says that Microsoft Excel made it
    sheet = book.add_worksheet()
    sheet.write("A1", 2)
    sheet.write_formula("B1", "=A1*2", None, 4)
    sheet.write_formula("B2", "=B1*2", None, 9)
    sheet.write_formula("B3", "=B2*2", None, 18)
    sheet.write_formula("B4", '=TEXT(A1,"0")', None, "2")
    sheet.write_formula("B5", "=1/0", None, "#DIV/0!")
    sheet.write_array_formula("B6:B6", "{=SUM(A1:A2*2)}", None, 4)
    book.close()
    excel_corpus.main([tmp_path])
    said = capsys.readouterr().out
    assert "some.xlsx Sheet1!B2 =B1*2: Decimal('9'), Decimal('8')" in said
    assert "1 not worked out: the function TEXT" in said
    assert "1 files: 3 equal, 1 different, 1 not worked out" in said, (
        "each from what the file says of the cells it reads"
    )


def test_results_are_compared_by_kind_and_to_twelve_digits():
    assert excel_corpus.agrees(Decimal("0.1"), Decimal("0.1000000000000001"))
    assert not excel_corpus.agrees(Decimal("0.1"), Decimal("0.10000001"))
    assert not excel_corpus.agrees(True, Decimal(1))
    assert not excel_corpus.agrees(Fault("#NUM!"), Fault("#VALUE!"))
    assert not excel_corpus.agrees("x", Decimal(1))
