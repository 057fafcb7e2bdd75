"""Where spreadsheet programs differ among themselves: what each says, and which one is followed.

Excel's answers are those that its own saved workbooks hold (`excel_corpus.py`) or that Microsoft's pages state; None
where neither does. The others are asked each time: IronCalc here, LibreOffice and Gnumeric in one file.
"""

import warnings
from typing import NamedTuple

import oracle
import pytest
import xlsxwriter
from by_hand import answer
from openpyxl import load_workbook


class Difference(NamedTuple):
    formula: str
    cells: dict
    ours: object
    ironcalc: object
    libreoffice: object
    gnumeric: object
    why: str


MAYBE = "a text that some programs take for a number"
BIG = "1" + 20 * "0"
D = Difference
DIFFERENCES = (
    D("2^3^2", {}, 64, 64, 64, 512, "ECMA-376 and Excel: powers from the left"),
    D("1=1=1", {}, False, False, True, False, "Excel: TRUE is no number"),
    D("INT(0.3/0.1)", {}, 3, 2, 3, 3, "a number that is whole at 15 digits is whole"),
    D("INT((0.1+0.7)*10)", {}, 8, 7, 8, 8, "a number that is whole at 15 digits is whole"),
    D("ROUNDUP(0.1+0.2-0.3,2)", {}, 0, 0.01, 0, 0, "what cancels is 0, as in Excel"),
    D("1E+15+0.5-1E+15", {}, 0, 0.5, 0, 0.5, "what cancels at 15 digits is 0, as in Excel"),
    D("ROUNDUP(1E+20/5.67,0)*5.67-1E+20>0", {}, False, True, False, False, "what cancels is 0, as in Excel"),
    D("MOD(1E+15,7)", {}, "#NUM!", 6, 6, 6, "Excel's page: #NUM! for a quotient that is too large"),
    D("YEAR(1)", {}, 1900, 1899, 1899, 1900, "ECMA-376 18.17.4.1"),
    D("MONTH(60)", {}, 2, 2, 2, "#NUM!", "ECMA-376 18.17.4.1: 29 February 1900"),
    D("DATE(2008,1,2)-DATE(108,1,2)", {}, 0, 0, "#VALUE!", 0, "Excel's page: years up to 1899 count from 1900"),
    D("0^0", {}, "#NUM!", "#NUM!", 1, "#NUM!", "Excel"),
    D("(-8)^(1/3)", {}, "#NUM!", -2, -2, "#NUM!", "Excel"),
    D('IF("x",1,2)', {}, "#VALUE!", "#VALUE!", "#VALUE!", 2, "Excel"),
    D('AND("x",TRUE)', {}, "#VALUE!", True, "#VALUE!", True, "Excel"),
    D("AND(FALSE,1/0)", {}, "#DIV/0!", False, "#DIV/0!", "#DIV/0!", "Excel works all arguments out"),
    D("OR(TRUE,1/0)", {}, "#DIV/0!", True, "#DIV/0!", "#DIV/0!", "Excel works all arguments out"),
    D('SUM("5",TRUE,2)', {}, 8, 8, "#VALUE!", 2, "Excel's page"),
    D("SUM(A1:A3)", {"A1": "5", "A2": True, "A3": 2}, 2, 2, 3, 2, "Excel: truths in cells do not count"),
    D("SUM(word)", {"A1": "x"}, 0, "#VALUE!", 0, 0, "a name of one cell is that cell; IronCalc takes its value"),
    D("SUMPRODUCT(A1:A1,B1:B1)", {"A1": "4", "B1": 2}, "#VALUE!", 0, 0, 0, "Excel: POI, FormulaEvalTestData_Copy.xlsx"),
    D("SUMPRODUCT(MAX((A1:A3>1)*B1:B3))", {"A2": 2, "B2": 5}, 5, 5, 5, "#VALUE!", "Excel"),
    D("INDEX(A1:C1,2)", {"B1": 7}, 7, 7, 7, "#REF!", "Excel's page: one number along a single row"),
    D("INDEX(A1,1)", {"A1": 7}, 7, "#VALUE!", 7, "#REF!", "one cell is a range of one; no table of ours has one row"),
    D('MATCH("b*",{"a","bc"},0)', {}, 2, 2, "#N/A", 2, "Excel; LibreOffice has wildcards only in cells"),
    D("MATCH(2,{3,2,2,1},-1)", {}, 3, 3, 3, 2, "the last of those that are equal"),
    D("MATCH(4,{1,5,2,3},1)", {}, 1, 4, 1, 1, "by halving, as Excel does"),
    D("LARGE({3,5,4},1.5)", {}, 4, 5, 5, 4, "a broken rank is rounded up"),
    D("COUNTIFS(A1:A3,5)", {"A1": 5, "A2": "5"}, 2, 2, 1, 2, "Excel: a text of the number is equal"),
    D('COUNTIFS(A1:A3,"<>x")', {"A1": "x", "A2": "y"}, 2, 1, 2, 2, "Excel: blanks are not equal"),
    D("SLN(1,2,0)", {}, "#DIV/0!", "#DIV/0!", "#DIV/0!", "#NUM!", "Excel"),
    D('0.1+0.2&""', {}, "0.3", "0.30000000000000004", "0.3", "0.3", "15 digits"),
    D('1E+16&""', {}, "10000000000000000", "10000000000000000", "1E+016", "10000000000000000", "20 characters"),
    D('1E-5&""', {}, "0.00001", "0.00001", "0.00001", "1e-05", "20 characters"),
    D("FIXED(1E+20,0,1)", {}, BIG, "18446744073709551615", BIG, BIG, "all digits; IronCalc stops at 2^64 - 1"),
    D('"TRUE"+1', {}, "#VALUE!", "#VALUE!", 2, 2, "Excel: POI, FormulaEvalTestData_Copy.xlsx"),
    D('"5%"+1', {}, MAYBE, 1.05, 1.05, 1.05, "a number in some countries and programs"),
    D('"1 1/2"+1', {}, MAYBE, "#VALUE!", 2.5, 2.5, "a number in some countries and programs"),
    D('""+1', {}, "#VALUE!", "#VALUE!", "#VALUE!", "#VALUE!", "of an empty text in a formula all say so,"),
    D("A1+1", {"A1": ""}, "#VALUE!", "#VALUE!", 1, "#VALUE!", "but LibreOffice loads an empty cell of text as a blank"),
)  # fmt: skip


def written(path):
    """A workbook with a sheet for each row of the table, its formula in H5, its cached value wrong."""
    book = xlsxwriter.Workbook(path)
    for number, difference in enumerate(DIFFERENCES):
        sheet = book.add_worksheet(f"S{number}")
        for at, value in difference.cells.items():
            write = sheet.write_string if isinstance(value, str) else sheet.write
            write(at, value)
        sheet.write_formula("H5", "=" + difference.formula, None, -987654.5)
        book.define_name(f"S{number}!word", f"=S{number}!$A$1")
    book.close()
    return path


def saved(path):
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", "Workbook contains no default style")  # as Gnumeric saves it
        book = load_workbook(path, data_only=True)
    return [book[f"S{number}"]["H5"].value for number in range(len(DIFFERENCES))]


def others(answers, program):
    """Rows of which a program says something else than the table."""
    return [
        (difference.formula, said, getattr(difference, program))
        for difference, said in zip(DIFFERENCES, answers, strict=True)
        if not is_one(said, getattr(difference, program))
    ]


def is_one(said, expected):
    if isinstance(expected, (bool, str)) or isinstance(said, str):
        return said == expected
    return abs(said - expected) < 1e-9


@pytest.mark.parametrize("difference", DIFFERENCES, ids=[difference.formula for difference in DIFFERENCES])
def test_what_is_followed(difference):
    names = {"word": "Sheet!$A$1"}
    assert is_one(answer(difference.formula, difference.cells, names), difference.ours), difference.why


def test_ironcalc(tmp_path):
    places = {str(number): [f"S{number}", 5, 8] for number in range(len(DIFFERENCES))}
    path = written(tmp_path / "differences.xlsx")
    assert others(oracle.recalculated_by_ironcalc(path, places).values(), "ironcalc") == []


def test_libreoffice(tmp_path, soffice):
    [converted] = soffice.convert([written(tmp_path / "differences.xlsx")], tmp_path / "recalculated")
    assert others(saved(converted), "libreoffice") == []


def test_gnumeric(tmp_path, gnumeric):
    [converted] = gnumeric.convert([written(tmp_path / "differences.xlsx")], tmp_path / "recalculated")
    assert others(saved(converted), "gnumeric") == []
