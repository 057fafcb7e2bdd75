"""Formula text: what means the same becomes the same, and a change stays a change."""

import re
from itertools import combinations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from quotebook.contract.formulas import FORMULAS
from quotebook.evaluation.sameness import same_formula
from quotebook.spreadsheets.cells import CellRange

EQUAL = {
    "as a program writes it and as people type it": ("ROUND(total_1,2)", "= Round ( TOTAL_1 , 2 )"),
    "absolute and relative": ("A1+Rates!B2", "$A$1+Rates!B$2"),
    "quotes that a plain name does not need": ("Rates!A1", "'Rates'!A1"),
    "semicolons between arguments": ("IF(a,b,c)", "IF(a;b;c)"),
    "prefix of a newer function": ("STDEV.S(a)", "_xlfn.STDEV.S(a)"),
    "two prefixes": ("SORT(a)", "_xlfn._xlws.SORT(a)"),
    "leading plus": ("a*b", "=+a*b"),
    "brackets around the whole": ("a*b", "((a*b))"),
    "truth as a function": ("IF(TRUE,a,b)", "if(true(),a,b)"),
    "a small number": ("a>=0.0000005", "a>=5E-7"),
    "zeros that say nothing": ("ROUND(a*1.5,2)", "ROUND(a*01.50,2.0)"),
    "a number as a program with binary numbers writes it": ("a>=0.0000005", "a>=5.00000000000000000018e-07"),
    "a program's own prefix": ("SUMPRODUCT(a)", "ORG.GNUMERIC.SUMPRODUCT(a)"),
    "another program's": ("SUMPRODUCT(a)", "COM.MICROSOFT.SUMPRODUCT(a)"),
    "redundant brackets inside": ("a+b*c", "(a)+((b)*(c))"),
    "brackets in the order of calculation": ("a+b+c", "((a+b)+c)"),
    "a line break in a long formula": ("IF(a,b,c)", "IF(a,\n  b,\n  c)"),
}  # fmt: skip

DIFFERENT = {
    "letters in a text": ('IF(a,"Yes",b)', 'IF(a,"yes",b)'),
    "spaces in a text": ('"a b"', '"ab"'),
    "a quote in a text": ('"a""b"', '"ab"'),
    "semicolon in a text": ('"a;b"', '"a,b"'),
    "rows and columns of an array": ("SUM({1,2})", "SUM({1;2})"),
    "a leading minus": ("a", "-a"),
    "another number": ("a*0.0000005", "a*5E-6"),
    "a name that begins as a number does": ("a*e7", "a*1e7"),
    "plus minus": ("a+-b", "a-b"),
    "intersection of ranges": ("SUM(a b)", "SUM(ab)"),
    "intersection of brackets": ("(a) (b)", "(a)(b)"),
    "two brackets that are not one pair": ("(a)+(b)", "a)+(b"),
    "brackets in another order": ("a+b+c", "a+(b+c)"),
    "a text for a number": ("a+1", 'a+"1"'),
    "TRUE for 1": ("a=TRUE", "a=1"),
    "an argument left out": ("ROUND(a,2)", "ROUND(a)"),
    "a number at the 15th digit": ("a*0.100000000000001", "a*0.1"),
    "brackets inside": ("(a+b)*c", "a+b*c"),
    "sheet names that need quotes": ("'a b'!A1", "'ab'!A1"),
    "another sheet": ("Rates!A1", "Quote!A1"),
    "a name that ends in true": ("untrue()", "untrue"),
}  # fmt: skip


@pytest.mark.parametrize(("one", "other"), EQUAL.values(), ids=EQUAL)
def test_equal(one, other):
    assert same_formula(one, other) and same_formula(other, one)


@pytest.mark.parametrize(("one", "other"), DIFFERENT.values(), ids=DIFFERENT)
def test_different(one, other):
    assert not same_formula(one, other) and not same_formula(other, one)


def test_the_workbooks_own_formulas_stay_apart_from_each_other():
    texts = sorted(set(FORMULAS.values()))
    assert [(one, other) for one, other in combinations(texts, 2) if same_formula(one, other)] == []


# A formula is built as a list of its pieces, so that each can be spelled and changed on its own.

names = st.sampled_from(("total", "panels_1", "width_1", "A1", "B$2", "days_factor", "TRUE", "x.y", "naïve"))
numbers = st.sampled_from(("0", "1", "2", "0.5", "6", "100"))
texts = st.text('aB ;,"$=(){}', max_size=6).map(lambda text: '"' + text.replace('"', '""') + '"')
functions = st.sampled_from(("SUM", "ROUND", "IF", "MAX"))
operators = st.sampled_from(("+", "-", "*", "/", "&", "<=", "<>", "="))
one_piece = (names | numbers | texts).map(lambda piece: [piece])


def _extend(inner):
    arguments = st.lists(inner, min_size=1, max_size=3).map(_joined)
    call = st.builds(lambda function, inside: [function, "(", *inside, ")"], functions, arguments)
    sum_ = st.builds(lambda one, operator, other: [*one, operator, *other], inner, operators, inner)
    return call | sum_ | inner.map(lambda pieces: ["-", "(", *pieces, ")"])


def _joined(arguments):
    pieces = [piece for argument in arguments for piece in (",", *argument)]
    return pieces[1:]


formulas = st.recursive(one_piece, _extend, max_leaves=8)


@st.composite
def respelled(draw):
    """A formula's pieces, and the formula as some other program might write it."""
    pieces = draw(formulas)
    spelled = [draw(st.sampled_from(_spellings(piece))) for piece in pieces]
    blanks = draw(st.lists(st.sampled_from(("", "", " ", "\n ")), min_size=len(pieces), max_size=len(pieces)))
    text = "".join(blank + piece for blank, piece in zip(blanks, spelled, strict=True))
    wrapped = draw(st.sampled_from(("{}", "={}", "=+{}", "({})", " =( {} ) ", "= ((({})))")))
    return "".join(pieces), wrapped.format(text)


def _spellings(piece: str) -> list[str]:
    if piece.startswith('"'):
        return [piece]
    if piece == "TRUE":
        return ["TRUE", "true", "TRUE()", "true ( )"]
    if re.fullmatch(r"[A-Z]\$?[0-9]", piece):
        return [piece.replace("$", ""), piece.lower(), f"${piece}"]
    if piece in ("SUM", "ROUND", "IF", "MAX"):
        return [piece, piece.lower(), f"_xlfn.{piece}"]
    return [piece, piece.upper(), ";" if piece == "," else piece.lower()]


@given(respelled())
def test_a_formula_spelled_otherwise_is_equal(formula):
    plain, other = formula
    assert same_formula(plain, other), other


@st.composite
def changed(draw):
    """A formula, and the same with one of its pieces exchanged for another of its kind."""
    pieces = draw(formulas)
    at = draw(st.integers(0, len(pieces) - 1).filter(lambda index: pieces[index] not in "(),"))
    kind = next(kind for kind in (functions, operators, numbers, texts, names) if _is_of(kind, pieces[at]))
    other = draw(kind.filter(lambda piece: piece != pieces[at]))
    signs_a_zero = re.match(r"-\((?:-\()*0\)", "".join(pieces[at:]))
    assume(not (signs_a_zero and other in ("+", "=")))  # 0 is 0 with any sign, and a formula may begin with =
    return "".join(pieces), "".join([*pieces[:at], other, *pieces[at + 1 :]])


def _is_of(kind, piece: str) -> bool:
    if kind is texts:
        return piece.startswith('"')
    return piece in kind.elements


@given(changed())
def test_a_formula_with_another_piece_is_different(formula):
    one, other = formula
    assert not same_formula(one, other)


@given(formulas, formulas)
def test_what_is_added_around_a_formula_shows(pieces, more):
    formula = "".join(pieces)
    assume(not re.fullmatch(r"[-()]*0[)]*", formula))  # which a minus in front leaves as it is
    for other in (f"ROUND({formula},2)", f"({formula})*0.9", f"{formula}-{''.join(more)}", f"-({formula})"):
        assert not same_formula(other, formula)


# Names and the cells that they stand for

NAMED = {"total": CellRange("Quote", 9, 2, 9, 2), "kinds_rate": CellRange("Our rates", 3, 4, 8, 4)}
WRITTEN_OUT = {
    "on its own sheet": ("total*2", "$B$9*2", True),
    "with that sheet's name": ("total*2", "Quote!B9*2", True),
    "a range on another sheet": ("SUM(kinds_rate)", "SUM('our rates'!$D$3:$D$8)", True),
    "another cell": ("total*2", "$B$10*2", False),
    "a shorter range": ("SUM(kinds_rate)", "SUM('Our rates'!$D$3:$D$7)", False),
    "another sheet": ("total*2", "'Our rates'!$B$9*2", False),
    "a name of a sheet's own": ("total*2", "Quote!total*2", False),
    "a name that leads nowhere": ("lost*2", "$B$9*2", False),
}


@pytest.mark.parametrize(("one", "other", "same"), WRITTEN_OUT.values(), ids=WRITTEN_OUT)
def test_a_name_is_the_cells_that_it_stands_for(one, other, same):
    assert same_formula(one, other, "Quote", NAMED.get) == same_formula(other, one, "Quote", NAMED.get) == same


def test_a_formula_as_long_as_a_hostile_one_takes_no_time():
    for piece in ('"', "'", "(", "((", "{", ";", "' ", '"a', "a ", "TRUE("):
        same_formula(piece * (32_767 // len(piece)), "a")
