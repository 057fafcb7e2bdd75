"""Nothing that a file holds makes the evaluator raise, hang or grow: work is counted in steps, which are bounded."""

import math
import string
from decimal import Decimal

import pytest
from by_hand import HERE, answer, workbook
from extent import extent
from hypothesis import given, settings
from hypothesis import strategies as st

from quotebook.evaluation import evaluation as module
from quotebook.evaluation.criteria import pattern
from quotebook.evaluation.evaluation import Changes, Evaluation, FromCachedValues
from quotebook.evaluation.functions import FUNCTIONS
from quotebook.evaluation.trees import NotAFormula, tree_of
from quotebook.evaluation.values import LONGEST_TEXT
from quotebook.spreadsheets.cells import Cell, CellAddress, Fault

TOO_MUCH = "more than is worked out here"
CIRCLE = "a formula that rests on itself"

LONG = (
    "(" * 10_000 + "1" + ")" * 10_000,
    "(" * 4_000 + "1" + ")" * 4_000,
    "-" * 8_000 + "1",
    "{" * 8_000,
    "(" * 8_000,
    "SUM(" * 2_000,
    "ABS(" * 1_000 + "1" + ")" * 1_000,
    "1^" * 4_000 + "1",
    "1" + "%" * 8_000,
    '"' * 8_191,
    "A1:" * 2_700 + "A1",
    "'" * 8_000 + "!A1",
    "x" * 8_000,
    "1" * 8_000,
    "1=" + "1&1+1*1^-" * 800 + "1",
    "A1 " * 2_000,
    "," * 8_000,
    "SUM(" + "," * 8_000 + ")",
    "~" * 8_000,
)


@pytest.mark.parametrize("formula", LONG, ids=range(len(LONG)))
def test_long_formulas(formula):
    answer(formula)


@pytest.mark.parametrize(
    "formula",
    [
        "9^9^9^9^9",
         "1E+308*1E+308", "-1E+308-1E+308", "10^308*10-10^308*10", "MOD(1E+308,1E-300)",
        "ROUND(1E+308,-308)",
        "ROUND(1.5,1E+300)", "ROUND(1.5,-1E+300)", "ROUNDUP(1.5,-1E+300)", "ROUNDUP(1E+308,-308)", "INT(-1E+308)",
        "DATE(1E+300,1,1)", "DATE(2000,1E+300,1)", "DATE(2000,1,-1E+300)", "YEAR(1E+300)", "INDEX({1,2},1E+300)",
        "LARGE({1,2},1E+300)", "LARGE({1,2},-1E+300)", "PMT(1E+300,1E+300,1)", "PMT(-2,0.5,1)", "PMT(-1,-1,1)",
        "NPV(-0.999999999,1E+300,1E+300)", "IRR({1E+300,-1E-300})", "IRR({-1E+308,1E+308,-1E+308})",
        "SLN(1E+308,-1E+308,1E-300)",
        "0/0", "1E-320/10", "(-1)^0.5", "(-1E+308)^3", "0^(-1E+300)", "1E+308%%%", "MATCH(1E+308,{1,2},1E+308)",
        "SUMPRODUCT({1E+308,1E+308},{1E+308,-1E+308})", "SUMPRODUCT({1E+308,1E+308}*{1E+308;-1E+308})",
        "SUM(1E+308,1E+308,-1E+308)",
    ],
)  # fmt: skip
def test_huge_numbers(formula):
    found = answer(formula)
    assert isinstance(found, str) or math.isfinite(found)


def steps(book) -> tuple[object, int]:
    """What H5 comes to, and the steps that it took."""
    evaluation = Evaluation(book)
    found = evaluation.cell(HERE)
    return found.text if isinstance(found, Fault) else found, evaluation._steps


@pytest.mark.parametrize(
    "formula",
    [
        "SUM(A1:XFD1048576)", "SUM(1:1048576)", "SUM(A:XFD)", "MAX(A:A,A:A,A:A)", "COUNTIFS(A:A,1)", "MATCH(1,A:A,0)",
        "INDEX(A1:XFD1048576,1,1)", "SUMPRODUCT(A:A*B:B)", "SUMPRODUCT(A1:A1000*A1:Z1)", "SUMPRODUCT(ROW(A1:A1048576))",
        "SUMPRODUCT(ROW(A1:A9000)*COLUMN(A1:XFD1))", "SUMPRODUCT(IF(ROW(A1:A9000)>COLUMN(A1:XFD1),1,0))",
        "SUMPRODUCT(ROUND(ROW(A1:A9000),COLUMN(A1:XFD1)))", "SUMPRODUCT(IFERROR(ROW(A1:A9000)/0,COLUMN(A1:XFD1)))",
        "SUMPRODUCT(LARGE(ROW(A1:A9000),ROW(A1:A9000)))",
    ],
)  # fmt: skip
def test_ranges_over_the_whole_sheet(formula):
    found, taken = steps(workbook({"A1": 1, "A2": 2, "H5": f"={formula}"}))
    assert found == TOO_MUCH or taken < 200_000


def test_the_same_work_over_and_over_is_counted_each_time():
    work = "+".join(["SUMPRODUCT(ROW(A1:A300)*COLUMN(A1:KN1))"] * 150)
    cells = {f"J{row}": f"={work}" for row in range(1, 1000)}
    found, taken = steps(workbook({**cells, "H5": "=SUM(J1:J999)"}))
    assert found == TOO_MUCH
    assert taken < 2 * module.MOST_STEPS


def chain(length, formula="=A{}+1"):
    cells = {f"A{row}": formula.format(row - 1) for row in range(2, length + 1)}
    return {"A1": 1, **cells, "H5": f"=A{length}"}


def test_a_chain_of_ten_thousand_cells_is_worked_out_to_its_end():
    found, taken = steps(workbook(chain(10_000)))
    assert found == 10_000
    assert taken < 100_000


def test_a_chain_that_reads_the_cell_before_many_times():
    found, taken = steps(workbook(chain(300, "=IF(A{0}>0,A{0},0)+IF(A{0}>0,1,A{0})")))
    assert found == 300
    assert taken < 10_000


def test_a_circle_of_eight_thousand_cells():
    found, taken = steps(workbook(chain(8_000) | {"A1": "=A8000"}))
    assert found == CIRCLE
    assert taken < 160_000


@pytest.mark.parametrize("evaluator", [Evaluation, FromCachedValues])
def test_circles_are_errors_whichever_cell_is_asked_for_first(evaluator):
    cells = {"A1": "=B1+1", "B1": "=C1", "C1": "=A1", "D1": "=A1*2", "E1": "=E1", "F1": "=IF(TRUE,1,F1)", "G1": 3}
    for first in "ABCDEFG":
        found = evaluator(workbook(cells))
        found.cell(CellAddress("Sheet", 1, ord(first) - 64))
        said = [found.cell(CellAddress("Sheet", 1, column)) for column in range(1, 8)]
        assert [getattr(value, "text", value) for value in said] == [CIRCLE] * 5 + [1, 3]


def test_values_that_were_never_cached_are_worked_out_once():
    cells = {f"A{row}": f"=A{row - 1}+A{row - 1}" for row in range(2, 60)}
    evaluation = FromCachedValues(workbook({"A1": 1, **cells, "H5": "=A59"}))
    assert evaluation.cell(HERE) == Decimal(f"{2.0**58:.15g}")
    assert evaluation._steps < 1_000


def test_texts_that_double():
    cells = {f"A{row}": f"=A{row - 1}&A{row - 1}" for row in range(2, 1_000)}
    evaluation = Evaluation(workbook({"A1": "x" * 100, **cells, "H5": "=A999"}))
    assert evaluation.cell(HERE) == Fault("#VALUE!")
    assert all(len(value) <= LONGEST_TEXT for value in evaluation._values.values() if isinstance(value, str))


def test_many_long_texts():
    cells = {f"B{row}": '=A1&""' for row in range(1, 20_000)}
    evaluation = Evaluation(workbook({"A1": "x" * LONGEST_TEXT, **cells, "H5": "=AND(B1:B19999)"}))
    evaluation.cell(HERE)
    assert sum(len(value) for value in evaluation._values.values() if isinstance(value, str)) < 200_000_000
    assert answer("SUMPRODUCT((A1:A9999&B1)*1)", {"B1": "x" * 2_000}) == TOO_MUCH


@pytest.mark.parametrize("wanted", ["*a*a*a*a*b", "*a" * 120, "?" * 200 + "*b", "*?" * 120 + "b", "*" * 250, "~" * 255])
def test_wildcards_read_a_text_once(wanted):
    reads = 0

    class Counted(str):
        def lower(self):
            return self

        def __iter__(self):
            nonlocal reads
            for character in str.__iter__(self):
                reads += 1
                yield character

    pattern(wanted)(Counted("a" * LONGEST_TEXT))
    assert reads <= LONGEST_TEXT


def test_a_rate_of_return_of_very_many_flows():
    cells = {f"A{row}": (-1) ** row * row for row in range(1, 40_000)}
    assert answer("IRR(A1:A39999)", cells) == TOO_MUCH


def test_names_that_double():
    names = {f"n{each}": f"=n{each + 1}+n{each + 1}" for each in range(1_000)}
    answer("n0", names={**names, "n1000": "=1"})
    answer("n0", names={**names, "n1000": "=n0"})


# What nobody chose

references = st.sampled_from(("A1", "B2", "$C$3", "A1:C3", "A:A", "2:2", "Sheet!B1", "Gone!A1", "one", "none", "H5"))
constants = st.one_of(
    st.integers(-9, 99).map(str), st.floats(allow_nan=False, allow_infinity=False).map(repr),
    st.sampled_from(('""', '"x"', '"5"', "TRUE", "#N/A", "#DIV/0!", "{1,2;3,4}", '{"a",TRUE}', '"*a?"', '">1"')),
)  # fmt: skip


def nested(inner):
    joined = st.tuples(inner, st.sampled_from(("+", "-", "*", "/", "^", "&", "=", "<>", "<", ">=", " ")), inner)
    called = st.tuples(
        st.sampled_from([*FUNCTIONS.keys() - {"-"}, "IF", "IFERROR", "TEXT"]), st.lists(inner, max_size=4)
    )
    return st.one_of(
        joined.map("".join), called.map(lambda call: f"{call[0]}({','.join(call[1])})"), inner.map(lambda x: f"(-{x}%)")
    )


formulas = st.recursive(st.one_of(references, constants), nested, max_leaves=12)
scribbles = st.text(
    st.sampled_from(string.ascii_letters[:8] + string.digits + "+-*/^&=<>%(),;:{}!#\"'$ .[]~\\?"), max_size=60
)
values = st.one_of(
    st.integers(-9, 9).map(Decimal), st.floats(-1e300, 1e300).map(lambda number: Decimal(f"{number:.15g}")),
    st.text(max_size=8), st.booleans(), st.sampled_from((Fault("#N/A"), Fault("1E999"), None)),
)  # fmt: skip


def book_of(contents):
    cells = {
        "ABC"[place % 3] + str(place // 3 + 1): Cell(None, content[1])
        if type(content) is tuple
        else Cell(content, None)
        for place, content in enumerate(contents)
    }
    book = workbook(dict.fromkeys(cells), {"one": "Sheet!$A$1", "few": "=Sheet!$A$1:$C$2"})
    sheet = book.sheets[0]
    for (row, column), cell in zip([*sheet.cells], cells.values(), strict=True):
        sheet.cells[row, column] = cell
    return book


contents = st.lists(st.one_of(values, formulas.map(lambda text: ("=", text))), min_size=9, max_size=9)


@given(st.one_of(st.text(), scribbles))
@settings(max_examples=extent(120, 300))
def test_any_text_is_a_formula_or_none(text):
    answer(text)
    try:
        tree_of(text)
    except NotAFormula as error:
        assert error.reason.text


@given(contents, formulas)
@settings(max_examples=extent(120, 300))
def test_any_formulas_over_any_cells_come_to_a_value(contents, formula):
    book = book_of(contents)
    book.sheets[0].cells[5, 8] = Cell(None, formula)
    for evaluator in (Evaluation, FromCachedValues):
        found = evaluator(book)
        for row, column in [*book.sheets[0].cells]:
            value = found.cell(CellAddress("Sheet", row, column))
            assert value is None or isinstance(value, (Decimal, str, bool, Fault))
            assert not isinstance(value, Decimal) or value.is_finite()


@given(contents, st.permutations(range(9)))
@settings(max_examples=extent(80, 200))
def test_what_cells_come_to_does_not_rest_on_the_order_in_which_they_are_asked_for(contents, order):
    book = book_of(contents)
    places = [CellAddress("Sheet", *place) for place in book.sheets[0].cells]
    forwards, other = Evaluation(book), Evaluation(book)
    for each in order:
        other.cell(places[each])
    assert [forwards.cell(at) for at in places] == [other.cell(at) for at in places]


@given(contents, st.integers(0, 8), values)
@settings(max_examples=extent(80, 200))
def test_a_change_leads_to_what_a_fresh_evaluation_says(contents, changed, value):
    book = book_of(contents)
    places = [CellAddress("Sheet", *place) for place in book.sheets[0].cells]
    before = Evaluation(book)
    for at in places:
        before.cell(at)
    changes = Changes({places[changed]: Cell(value, None)})
    after, fresh = before.with_changes(changes), Evaluation(book, changes)
    assert [after.cell(at) for at in places] == [fresh.cell(at) for at in places]
