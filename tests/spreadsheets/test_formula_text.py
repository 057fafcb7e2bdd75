"""Formula text: what means the same becomes the same, and a change stays a change."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quotebook.contract.formulas import FORMULAS
from quotebook.spreadsheets.formula_text import normalise

EQUAL = {
    "as a program writes it and as people type it": ("ROUND(total_1,2)", "= Round ( TOTAL_1 , 2 )"),
    "absolute and relative": ("A1+Rates!B2", "$A$1+Rates!B$2"),
    "quotes that a plain name does not need": ("Rates!A1", "'Rates'!A1"),
    "semicolons between arguments": ("IF(a,b,c)", "IF(a;b;c)"),
    "prefix of a newer function": ("STDEV.S(a)", "_xlfn.STDEV.S(a)"),
    "two prefixes": ("SORT(a)", "_xlfn._xlws.SORT(a)"),
    "OpenFormula": ("SUM(a,b)", "of:=SUM(a;b)"),
    "its forerunner": ("SUM(a,b)", "oooc:=SUM(a;b)"),
    "Excel's grammar in an .ods": ("SUM(a,b)", "msoxl:=SUM(a,b)"),
    "leading plus": ("a*b", "=+a*b"),
    "brackets around the whole": ("a*b", "((a*b))"),
    "truth as a function": ("IF(TRUE,a,b)", "if(true(),a,b)"),
    "a small number": ("a>=0.0000005", "a>=5E-7"),
    "zeros that say nothing": ("ROUND(a*1.5,2)", "ROUND(a*01.50,2.0)"),
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
    "brackets inside": ("(a+b)*c", "a+b*c"),
    "sheet names that need quotes": ("'a b'!A1", "'ab'!A1"),
    "another sheet": ("Rates!A1", "Quote!A1"),
    "a name that ends in true": ("untrue()", "untrue"),
}  # fmt: skip


@pytest.mark.parametrize(("one", "other"), EQUAL.values(), ids=EQUAL)
def test_equal(one, other):
    assert normalise(one) == normalise(other)


@pytest.mark.parametrize(("one", "other"), DIFFERENT.values(), ids=DIFFERENT)
def test_different(one, other):
    assert normalise(one) != normalise(other)


def test_the_workbooks_own_formulas_stay_apart_from_each_other():
    assert len({normalise(text) for text in FORMULAS.values()}) == len(set(FORMULAS.values()))


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
    wrapped = draw(st.sampled_from(("{}", "={}", "=+{}", "({})", " =( {} ) ", "of:={}", "= ((({})))")))
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
    assert normalise(plain) == normalise(other), other


@st.composite
def changed(draw):
    """A formula, and the same with one of its pieces exchanged for another of its kind."""
    pieces = draw(formulas)
    at = draw(st.integers(0, len(pieces) - 1).filter(lambda index: pieces[index] not in "(),"))
    kind = next(kind for kind in (functions, operators, numbers, texts, names) if _is_of(kind, pieces[at]))
    other = draw(kind.filter(lambda piece: piece != pieces[at]))
    return "".join(pieces), "".join([*pieces[:at], other, *pieces[at + 1 :]])


def _is_of(kind, piece: str) -> bool:
    if kind is texts:
        return piece.startswith('"')
    return piece in kind.elements


@given(changed())
def test_a_formula_with_another_piece_is_different(formula):
    one, other = formula
    assert normalise(one) != normalise(other)


@given(formulas, formulas)
def test_what_is_added_around_a_formula_shows(pieces, more):
    formula = "".join(pieces)
    for other in (f"ROUND({formula},2)", f"({formula})*0.9", f"{formula}-{''.join(more)}", f"-({formula})"):
        assert normalise(other) != normalise(formula)


@given(st.text("aA1$\"';,(){}=+ [].!#\\\n"))
def test_any_text_has_one_spelling_and_it_stays(text):
    assert normalise(normalise(text)) == normalise(text)


def test_a_formula_as_long_as_a_hostile_one_takes_no_time():
    for piece in ('"', "'", "(", "((", "{", ";", "' ", '"a', "a ", "TRUE("):
        normalise(piece * (32_767 // len(piece)))
