"""The texts that cells share are the same by one pattern and element by element."""

import handmade
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quotebook.errors import Unreadable
from quotebook.spreadsheets import xlsx_shared_texts
from quotebook.spreadsheets.reading import read_workbook

PLAIN = xlsx_shared_texts._plain
FIRST = '<row r="1"><c r="A1" t="s"><v>0</v></c></row><row r="2"><c r="A2" t="s"><v>1</v></c></row>'


@pytest.fixture(scope="module")
def both_ways(tmp_path_factory):
    """Whether the pattern took the texts of a part, what came of it, and what comes of them element by element."""
    path = tmp_path_factory.mktemp("texts") / "hand.xlsx"

    def read(shared):
        handmade.pack(path, handmade.parts(FIRST, shared=shared))
        taken = []
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(xlsx_shared_texts, "_plain", lambda *given: taken.append(PLAIN(*given)) or taken[0])
            quick = _result(path)
            patch.setattr(xlsx_shared_texts, "_plain", lambda *given: None)
            return taken[0] is not None, quick, _result(path)

    return read


def _result(path):
    try:
        book = read_workbook(path)
    except Unreadable as error:
        return str(error)
    return book.sheets[0].cells, book.sheets[0].appearance, book.unknown


@pytest.mark.parametrize(
    "shared",
    [
        "<si><t>a</t></si><si><t>b &amp; c</t></si>",
        '<si><t xml:space="preserve"> a\n</t></si><si><t></t></si>',
        "<si><t>a</t></si><si><t>&#233; é</t></si>",
    ],
)
def test_texts_as_programs_write_them_are_read_by_the_pattern(both_ways, shared):
    taken, quick, careful = both_ways(shared)
    assert taken and quick == careful


@pytest.mark.parametrize(
    "shared",
    [
        "<si><t>a</t></si><si><r><t>b</t></r><r><rPr><strike/></rPr><t>c</t></r></si>",
        "<si><t>_x0041_</t></si><si><t>b</t></si>",
        "<si><t>&#95;x0041_</t></si><si><t>b</t></si>",
        "<si><t>a\r\nb</t></si><si><t>b</t></si>",
        "<si><t>a]]>b</t></si><si><t>b</t></si>",
        "<si><t>&nbsp;</t></si><si><t>b</t></si>",
        "<si><t>a</t></si><x/><si><t>b</t></si>",
        "<si><t>a</t></si>5<si><t>b</t></si>",
        "<si><t>a</t><t>b</t></si><si><t>b</t></si>",
        "<!-- <si><t>a</t></si> --><si><t>b</t></si>",
        "<!-- <si><t>a</t></si><si><t>b</t></si> -->",
        "<![CDATA[<si><t>a</t></si><si><t>b</t></si>]]>",
        "5<si><t>a</t></si><si><t>b</t></si>",
        "<si/><si><t>a</t></si><si><t>b</t></si>",
        "<x><si><t>a</t></si><si><t>b</t></si></x>",
        f"<si><t>{'a' * 32_768}</t></si><si><t>b</t></si>",
    ],
)
def test_any_other_texts_are_read_element_by_element(both_ways, shared):
    taken, quick, careful = both_ways(shared)
    assert not taken and quick == careful


pieces = st.sampled_from(
    (
        "<si><t>a</t></si>",
        "<si>",
        "</si>",
        "<t>",
        "</t>",
        "<t/>",
        "<si/>",
        "b",
        "&lt;",
        " ",
        "<r>",
        "</r>",
        "<!--",
        "-->",
    )
)


@given(st.lists(pieces, max_size=8).map("".join))
@settings(max_examples=80)
def test_both_ways_give_the_same(both_ways, shared):
    _, quick, careful = both_ways(shared)
    assert quick == careful
