"""Each function by published examples, and by the odd cases that its standard names.

ECMA-376: Office Open XML part 1, 18.17.7, the example of the function. OpenFormula: OpenDocument 1.3 part 4.
Excel: what a workbook saved by Excel says (tests/evaluation/excel_corpus.py); "help": Microsoft's page of the function.
"""

import pytest
from by_hand import answer

EXAMPLES = (
    ("ROUND(2.15,1)", 2.2, "ECMA-376"),
    ("ROUND(2.149,1)", 2.1, "ECMA-376"),
    ("ROUND(-1.475,2)", -1.48, "ECMA-376"),
    ("ROUND(21.5,-1)", 20, "ECMA-376"),
    ("ROUND(-2.5,0)", -3, "a half goes away from zero"),
    ("ROUND(1.005,2)", 1.01, "of the 15 digits that are kept, not of the binary 1.00499999999999989"),
    ("ROUND(2.345,2.9)", 2.35, "broken places are cut off"),
    ("ROUND(5,-400)", 0, "more places than a number has"),
    ("ROUND(1E-300,2)", 0, "tiny"),
    ("ROUND(1E+300,2)", 1e300, "large"),
    ("ROUNDUP(3.2,0)", 4, "ECMA-376"),
    ("ROUNDUP(76.9,0)", 77, "ECMA-376"),
    ("ROUNDUP(3.14159,3)", 3.142, "ECMA-376"),
    ("ROUNDUP(-3.14159,1)", -3.2, "ECMA-376"),
    ("ROUNDUP(31415.92654,-2)", 31500, "ECMA-376"),
    ("ROUNDUP(1.1*3,1)", 3.3, "3.3000000000000003 is 3.3 at 15 digits"),
    ("INT(8.9)", 8, "help"),
    ("INT(-8.9)", -9, "help"),
    ("INT(0.3/0.1)", 3, "2.9999999999999996 is 3 at 15 digits"),
    ("MOD(3,2)", 1, "ECMA-376"),
    ("MOD(-3,2)", 1, "ECMA-376"),
    ("MOD(3,-2)", -1, "ECMA-376"),
    ("MOD(-3,-2)", -1, "ECMA-376"),
    ("MOD(3,0)", "#DIV/0!", "ECMA-376"),
    ("MOD(1E+308,1E-10)", "#NUM!", "beyond what binary numbers tell apart"),
    ("ABS(-4)", 4, "help"),
    ("SUM(3,2)", 5, "help"),
    ('SUM("5",15,TRUE)', 21, "help: texts and truths given by themselves count"),
    ("SUM(1E+308,1E+308)", "#NUM!", "no number is larger"),
    ("MIN(3,1,2)", 1, "plain"),
    ("MAX(3,1,2)", 3, "plain"),
    ("MAX(,-5)", 0, "an argument left blank is 0"),
    ("AND(TRUE,TRUE)", True, "ECMA-376"),
    ("AND(2+2=4,2+3=6)", False, "help"),
    ("AND(TRUE,)", False, "a blank argument is FALSE"),
    ("OR(1+1=1,2+2=5)", False, "help"),
    ("OR(TRUE,FALSE,TRUE)", True, "help"),
    ("OR(TRUE,1/0)", "#DIV/0!", "errors come first"),
    ('AND("x",TRUE)', "#VALUE!", "a text given by itself"),
    ("NOT(1+1=2)", False, "help"),
    ('NOT("x")', "#VALUE!", "a text"),
    ("IF(TRUE,,2)", 0, "a blank answer is 0"),
    ("IF(FALSE,1)", False, "an answer left out"),
    ("IF(0,1/0,7)", 7, "only the answer that is asked for is worked out"),
    ('IF("x",1,2)', "#VALUE!", "a text is no condition"),
    ('IFERROR(1/0,"none")', "none", "help"),
    ("IFERROR(210/35,9)", 6, "help"),
    ("INDEX({1,2;3,4},2,1)", 3, "OpenFormula"),
    ("INDEX({1,2,3},2)", 2, "one number along a single row"),
    ("FIXED(1234.567,1)", "1,234.6", "help"),
    ("FIXED(1234.567,-1)", "1,230", "help"),
    ("FIXED(-1234.567,-1,TRUE)", "-1230", "help"),
    ("FIXED(44.332)", "44.33", "help"),
    ("FIXED(2.5,0)", "3", "a half goes away from zero"),
    ("FIXED(1,128)", "#VALUE!", "help: at most 127 decimals"),
    ("INDEX({1,2;3,4},3,1)", "#REF!", "beyond"),
    ("INDEX({1,2;3,4},-1,1)", "#VALUE!", "before"),
    ("SUM(INDEX({1,2;3,4},2,0))", 7, "0 for the whole row"),
    ("SUM(INDEX({1,2;3,4},,2))", 6, "blank for the whole column"),
    ("SUM(INDEX({1,2,3},1,0))", 6, "0 is not an argument left out"),
    ("MATCH(39,{25,38,40,41},1)", 2, "help"),
    ("MATCH(41,{25,38,40,41},0)", 4, "help"),
    ("MATCH(40,{25,38,40,41},-1)", "#N/A", "help: not in descending order"),
    ("MATCH(2,{1,2,2,3},1)", 3, "the last of those that are equal"),
    ('MATCH("B?",{"a","bc"},0)', 2, "help: wildcards, without case"),
    ('MATCH("~*",{"a","*"},0)', 2, "help: ~ before a wildcard"),
    ('MATCH("2",{1,2},0)', "#N/A", "a text is no number"),
    ("MATCH(1,{1,2;3,4},0)", "#N/A", "neither row nor column"),
    ("SUMPRODUCT({3,4;8,6;1,9},{2,7;6,7;5,3})", 156, "help, of an older edition"),
    ("SUMPRODUCT({1,2},{3;4})", "#VALUE!", "help: of one shape"),
    ('SUMPRODUCT({1,"a"},{3,4})', 3, "help: what is no number is 0"),
    ("SUMPRODUCT(({1,2,3}>1)*{1,2,3})", 5, "plain"),
    ("LARGE({3,4;5,2;3,4;5,6;4,7},3)", 5, "help"),
    ("LARGE({3,4;5,2;3,4;5,6;4,7},7)", 4, "help"),
    ("SMALL({3;4;5;2;3;4;6;4;7},4)", 4, "help"),
    ("SMALL({1;4;8;3;7;12;54;8;23},2)", 3, "help"),
    ("LARGE({1,2},3)", "#NUM!", "help"),
    ("DATE(2008,1,2)", 39449, "help"),
    ("DATE(2008,14,2)", 39846, "help: 2 February 2009"),
    ("DATE(2008,-3,2)", 39327, "help: 2 September 2007"),
    ("DATE(2008,1,35)", 39482, "help: 4 February 2008"),
    ("DATE(2008,1,-15)", 39432, "help: 16 December 2007"),
    ("DATE(108,1,2)", 39449, "help: years up to 1899 count from 1900"),
    ("DATE(1900,1,1)", 1, "ECMA-376 18.17.4.1"),
    ("DATE(1900,2,29)", 60, "ECMA-376 18.17.4.1: the day that never was"),
    ("DATE(1900,3,1)", 61, "ECMA-376 18.17.4.1"),
    ("DATE(9999,12,31)", 2958465, "ECMA-376 18.17.4.1"),
    ("DATE(9999,12,32)", "#NUM!", "the day after"),
    ("YEAR(39634)", 2008, "plain: 5 July 2008"),
    ("MONTH(39634)", 7, "plain: 5 July 2008"),
    ("YEAR(1)", 1900, "ECMA-376 18.17.4.1"),
    ("MONTH(60)", 2, "ECMA-376 18.17.4.1"),
    ("MONTH(61)", 3, "ECMA-376 18.17.4.1"),
    ("YEAR(-1)", "#NUM!", "before all days"),
    ("YEAR(2958466)", "#NUM!", "after all days"),
    ("ROW()", 5, "the formula's own cell"),
    ("COLUMN()", 8, "the formula's own cell"),
    ("ROW(C10)", 10, "help"),
    ("COLUMN(D10)", 4, "help"),
    ("ROUND(NPV(0.1,-10000,3000,4200,6800),2)", 1188.44, "ECMA-376"),
    ("NPV(-1,1,2)", "#DIV/0!", "nothing is left to divide by"),
    ("ROUND(IRR({-70000,12000,15000,18000,21000}),6)", -0.021245, "help for IRR, -2.1 %"),
    ("ROUND(IRR({-70000,12000,15000,18000,21000,26000}),6)", 0.086631, "help for IRR, 8.7 %"),
    ("IRR({1,2})", "#NUM!", "help: a payment and an income at least"),
    ("ROUND(PMT(0.08/12,10,10000),2)", -1037.03, "help for PMT"),
    ("ROUND(PMT(0.08/12,10,10000,0,1),2)", -1030.16, "help for PMT"),
    ("PMT(0,10,10000)", -1000, "no interest"),
    ("PMT(-3,0.5,100)", "#NUM!", "the root of a negative number"),
    ("SLN(30000,7500,10)", 2250, "help for SLN"),
    ("SLN(1,2,0)", "#DIV/0!", "no life"),
)  # fmt: skip


@pytest.mark.parametrize(("formula", "expected", "source"), EXAMPLES, ids=[example[0] for example in EXAMPLES])
def test_functions(formula, expected, source):
    assert answer(formula) == expected, source


OPERATORS = (
    ("-2^2", 4, "ECMA-376 18.17.2.2: a minus in front before a power"),
    ("2^-2", 0.25, "a minus behind a power"),
    ("2^3^2", 64, "ECMA-376: powers from the left"),
    ("4^50%", 2, "a percent sign before all"),
    ("10%%", 0.001, "twice"),
    ("-50%", -0.5, "percent before minus"),
    ("--5", 5, "signs"),
    ('"5"+"6"', 11, "texts of numbers count where numbers are wanted"),
    ('"x"+1', "#VALUE!", "other texts do not"),
    ('""+1', "#VALUE!", "nor does an empty one"),
    ('+"5"', "5", "a plus does nothing"),
    ('"1"&1+2', "13", "joining after adding"),
    ("1&2=12", False, "comparing after joining; a text is no number"),
    ("1=1=1", False, "comparisons from the left: TRUE is no 1"),
    ('"a"="A"', True, "without case"),
    ('9<"1"', True, "numbers before texts"),
    ('"z"<FALSE', True, "texts before truths"),
    ("0.1+0.2=0.3", True, "15 digits"),
    ("1-0.9-0.1", 0, "what cancels is 0"),
    ("1/0", "#DIV/0!", ""),
    ("0^0", "#NUM!", ""),
    ("0^-1", "#DIV/0!", ""),
    ("(-8)^(1/3)", "#NUM!", ""),
    ("1E+308*10", "#NUM!", ""),
    ("#N/A+1/0", "#N/A", "the error on the left"),
    ("1/0+#N/A", "#DIV/0!", "the error on the left"),
    ('"say ""so"""&1', 'say "so"1', "a doubled quote"),
    ("TRUE()&FALSE()", "TRUEFALSE", "as some programs write them"),
    ('0.1+0.2&""', "0.3", "15 digits"),
    ('1/3&""', "0.333333333333333", "15 digits"),
    ('1E+19&""', "10000000000000000000", "20 characters, as Excel writes them"),
    ('1E+20&""', "1E+20", "more than 20 characters"),
    ('0.0000123456789&""', "0.0000123456789", "as Excel writes it"),
    ('0.0000123456789012346&""', "1.23456789012346E-05", "more than 20 characters"),
    (" 1 + 2 ", 3, "spaces"),
    ("SUM( A1 , A2 )", 0, "spaces beside addresses"),
)  # fmt: skip


@pytest.mark.parametrize(("formula", "expected", "source"), OPERATORS, ids=[example[0] for example in OPERATORS])
def test_operators(formula, expected, source):
    assert answer(formula) == expected, source


CELLS = (
    ("A1+1", {}, 1, "a blank is 0"),
    ('A1&"x"', {}, "x", "a blank is no text"),
    ('A1=""', {}, True, "a blank is equal to the nothing of every kind"),
    ("A1=0", {}, True, "a blank is equal to the nothing of every kind"),
    ("A1", {}, 0, "a blank alone"),
    ("SUM(A1:A3)", {"A1": "5", "A2": True, "A3": 2}, 2, "in cells, only numbers count"),
    ("SUM(A1:A3)", {"A1": "=1/0", "A2": "=#N/A"}, "#DIV/0!", "the first error"),
    ("MIN(A1:A2)", {"A1": "x"}, 0, "no numbers"),
    ("AND(A1:A2)", {"A1": "x", "A2": True}, True, "texts do not count"),
    ("AND(A1:A2)", {"A1": "x"}, "#VALUE!", "nothing counts"),
    ("INDEX(A1:A3,2)", {"A1": 1}, 0, "a blank cell"),
    ("MATCH(5,A1:A3,0)", {"A1": "=1/0", "A2": 5}, 2, "errors beside are stepped over"),
    ("SUMPRODUCT((A1:A3>1)*B1:B3)", {"A1": 1, "A2": 2, "A3": "x", "B2": 5, "B3": 6}, 11, "a text is more than 1"),
    ("SUMPRODUCT((A1:A3>=2)*1)", {"A1": True, "A2": 2, "A3": 3}, 3, "a truth is more than any number"),
    ("SUMPRODUCT(A1:A1,B1:B1)", {"A1": "4", "B1": 2}, "#VALUE!", "Excel: apache/poi FormulaEvalTestData_Copy.xlsx"),
    ("SUMPRODUCT(LARGE((A1:A3>1)*B1:B3,1))", {"A2": 2, "B2": 5}, 5, "arrays within SUMPRODUCT"),
    ("A1:A9", {"A5": 55}, 55, "the cell in the formula's row"),
    ("A1:A3", {"A1": 3}, "#VALUE!", "no cell in the formula's row"),
    ("G1:I1&A1:A9", {"H1": "over", "A5": "beside"}, "overbeside", "the formula's column and row"),
    ("SUM(A1:A9*2)", {"A5": 4}, 8, "one cell outside SUMPRODUCT"),
    ("SUM(IF(TRUE,A1:A3,0))", {"A1": 1, "A2": 2}, 3, "IF hands cells on"),
    ("SUMPRODUCT(IF(A1:A3>1,A1:A3,10))", {"A1": 1, "A2": 2, "A3": 3}, 15, "within SUMPRODUCT, each by its condition"),
    ("SUMPRODUCT(IFERROR(1/A1:A3,10))", {"A1": 1, "A3": 2}, 11.5, "within SUMPRODUCT, each that is an error"),
    ("SUM(A:A)", {"A5": 4, "A9000": 5}, 9, "a whole column"),
    ("SUM(3:3)", {"C3": 4, "XFD3": 1}, 5, "a whole row"),
    ("SUM($A$1:A$2)", {"A1": 4, "A2": 1}, 5, "with signs"),
    ('SUMIFS(B1:B3,A1:A3,">1")', {"A1": 1, "A2": 2, "A3": "x", "B1": 1, "B2": 10, "B3": 100}, 10, "numbers alone"),
    ('SUMIFS(B1:B3,A1:A3,"x*")', {"A1": "xa", "A2": "X", "A3": "ax", "B1": 1, "B2": 10, "B3": 100}, 11, "wildcards"),
    ("SUMIFS(B1:B2,A1:A3,1)", {}, "#VALUE!", "of one shape"),
    ('COUNTIFS(A1:A4,"x",B1:B4,">0")', {"A1": "x", "A2": "X", "B1": 1}, 1, "both"),
    ("COUNTIFS(A1:A4,5)", {"A1": 5, "A2": "5"}, 2, "a text of the number"),
    ('COUNTIFS(A1:A4,"=")', {"A1": 1, "A2": ""}, 2, "blanks alone"),
    ('COUNTIFS(A1:A4,"")', {"A1": 1, "A2": ""}, 3, "blanks and empty texts"),
    ('COUNTIFS(A1:A4,"<>x")', {"A1": "x", "A2": "y"}, 3, "blanks too"),
    ("COUNTIFS(A1:A4,B1)", {"A1": 0, "A2": 1}, 1, "a blank criterion is 0"),
    ('COUNTIFS(A1:A4,TRUE)', {"A1": True, "A2": 1, "A3": "TRUE"}, 1, "a truth"),
    ("ROUND(IRR(A1:A4),6)", {"A1": -100, "A2": 60, "A3": "x", "A4": 60}, 0.130662, "texts do not count"),
    ("Sheet!A1", {"A1": 7}, 7, "a sheet"),
    ("'sheet'!a1", {"A1": 7}, 7, "without case"),
    ("Gone!A1", {}, "#REF!", "no such sheet"),
    ("Sheet!#REF!", {}, "#REF!", "lost"),
    ("SUM(Sheet!A1:Sheet!A2)", {"A1": 7, "A2": 1}, 8, "both ends with the sheet"),
)  # fmt: skip


@pytest.mark.parametrize(("formula", "cells", "expected", "source"), CELLS, ids=[example[0] for example in CELLS])
def test_cells(formula, cells, expected, source):
    assert answer(formula, cells) == expected, source


NAMES = {
    "here": "Sheet!$A$1", "few": "=Sheet!$A$1:$A$3", "column": "Sheet!$A:$A", "share": "=0.19", "word": '="yes"',
    "again": "=here", "sum_of": "=SUM(Sheet!$A$1:$A$3)*2", "lost": "#REF!", "ZIP2024": "=0.2", "relative": "Sheet!A1",
    "circle_1": "=circle_2+1", "circle_2": "=circle_1+1", "several": "={1,2}", "double": "=double+double",
}  # fmt: skip


@pytest.mark.parametrize(
    ("formula", "expected"),
    [
        ("here", 1), ("HERE*2", 2), ("SUM(few)", 6), ("SUM(column)", 6), ("share*100", 19), ("word", "yes"),
        ("again+1", 2), ("sum_of", 12), ("lost", "#REF!"), ("ZIP2024", 0.2), ("unknown", "#NAME?"),
        ("relative", "the name relative, which is no cell of its own"), ("Sheet!here", 1), ("Gone!here", "#REF!"),
        ("circle_1", "a formula that rests on itself"), ("double", "a formula that rests on itself"),
        ("several", "a name that stands for several values"), ("ROW(few)", 1), ("SUMPRODUCT(few,few)", 14),
        ("SUM(INDEX(few,0))", 6), ("column+1", 1),
    ],
)  # fmt: skip
def test_names(formula, expected):
    assert answer(formula, {"A1": 1, "A2": 2, "A3": 3}, NAMES) == expected


def test_a_sheets_own_name_comes_first_on_that_sheet():
    local = [("Sheet", "here", "Sheet!$A$2")]
    assert answer("here", {"A1": 1, "A2": 2}, {"here": "Sheet!$A$1"}, local=local) == 2
    assert (
        answer("Other!B1", {"A1": 1, "A2": 2}, {"here": "Sheet!$A$1"}, local=local, others={"Other": {"B1": "=here"}})
        == 1
    )


def test_a_name_of_one_sheet_alone_is_known_on_every_sheet():
    once, twice = [("Other", "rate", "Sheet!$A$1")], [("Other", "rate", "Sheet!$A$1"), ("Third", "rate", "Sheet!$A$1")]
    others = {"Other": {}, "Third": {}}
    assert answer("rate", {"A1": 5}, local=once, others=others) == 5
    assert answer("rate", {"A1": 5}, local=twice, others=others) == "#NAME?"


def test_sheets_with_quotes_in_their_names():
    assert answer("'It''s here'!A1+1", others={"It's here": {"A1": 5}}) == 6


def test_days_from_1904():
    assert answer("DATE(1904,1,1)", date_1904=True) == 0
    assert answer("YEAR(0)", date_1904=True) == 1904
    assert answer("MONTH(59)+YEAR(366)", date_1904=True) == 2 + 1905, "29 February 1904 was"
    assert answer("DATE(1903,12,31)", date_1904=True) == "#NUM!"


@pytest.mark.parametrize(
    ("formula", "reason"),
    [
        ("VLOOKUP(1,A1:B2,2)", "the function VLOOKUP"),
        ("_xlfn.XLOOKUP(1,A1:A2,B1:B2)", "the function XLOOKUP"),
        ("IFERROR(TEXT(1,2),5)", "the function TEXT"),
        ("IF(TRUE,1,TEXT(1,2))", 1.0),
        ("[1]Sheet1!A1", "a link to another file"),
        ("Table1[Price]", "a column of a table"),
        ("'Sheet:Other'!A1", "cells of several sheets at once"),
        ("A1 A1:B2", "an intersection of ranges"),
        ("1+", "text that is no formula"),
        ("{1,A1}", "text that is no formula"),
        ("1E+999", "text that is no formula"),
        ("MOD(1)", "1 arguments of MOD"),
        ("INDEX(A1:B3,2)", "a whole row or column where one value goes"),
        ('"5 %"+1', "a text that some programs take for a number"),
        ('"1,000"*2', "a text that some programs take for a number"),
        ('"3 Mar 2027"*1', "a text that some programs take for a number"),
        ("A5:H5*1", "a formula that rests on itself"),
        ("H5", "a formula that rests on itself"),
    ],
)
def test_what_is_not_worked_out_is_said(formula, reason):
    assert answer(formula) == reason


@pytest.mark.parametrize("formula", ["SUM(A1)", "SUM(A1:A3)", "SUMIFS(A1:A3,B1:B3,9)", "SUM(A1)+0"])
def test_a_sum_of_no_numbers_is_a_number(formula):
    """0 as any other number: found by `test_hostile_formulas`, a sum of nothing was none of the kinds of a value."""
    assert isinstance(answer(formula, {"A1": "text", "B1": 1}), float)
