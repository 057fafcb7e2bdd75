"""The quick way through the cells of a sheet gives what the careful way does, or nothing at all."""

import handmade
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from quotebook.errors import Unreadable
from quotebook.spreadsheets import xlsx_plain_cells
from quotebook.spreadsheets.reading import read_workbook
from quotebook.spreadsheets.xlsx_frame import ANY_FOOTER
from quotebook.spreadsheets.xlsx_sheet import SheetReader

PLAIN = SheetReader._plain


class Ways:
    """A workbook of some rows, read both ways."""

    def __init__(self, folder):
        self.folder = folder

    def read(self, rows, start="", end=""):
        """Whether the quick way was taken, what came of it, and what the careful way gives."""
        parts = handmade.parts(rows, shared="<si><t>a</t></si><si><t>b</t></si>")
        part = parts["xl/worksheets/sheet1.xml"]
        parts["xl/worksheets/sheet1.xml"] = part.replace("<sheetData>", f"{start}<sheetData>").replace(
            "</sheetData></worksheet>", f"</sheetData>{end}</worksheet>"
        )
        path = handmade.pack(self.folder / "hand.xlsx", parts)
        taken = []
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(SheetReader, "_plain", lambda reader, data: taken.append(PLAIN(reader, data)) or taken[0])
            quick = self._result(path)
            patch.setattr(SheetReader, "_plain", lambda reader, data: None)
            careful = self._result(path)
        return taken[0] is not None, quick, careful

    def _result(self, path):
        try:
            book = read_workbook(path)
        except Unreadable as error:
            return str(error)
        return book.sheets[0].cells, book.sheets[0].appearance, book.unknown


@pytest.fixture(scope="module")
def ways(tmp_path_factory):
    return Ways(tmp_path_factory.mktemp("ways"))


HONEST = {
    "numbers": '<row r="1"><c r="A1"><v>1</v></c><c r="B1" s="3"><v>-2.5E-3</v></c><c r="C1" t="n"><v>3</v></c></row>',
    "texts": '<row r="1"><c r="A1" t="s"><v>1</v></c><c r="B1" t="str"><v>a &amp; b &#10;&lt;</v></c></row>',
    "truths and errors": '<row r="1"><c r="A1" t="b"><v>1</v></c><c r="B1" t="e"><v>#N/A</v></c></row>',
    "formulas": '<row r="1"><c r="A1"><f>1+1</f><v>2</v></c><c r="B1" t="str"><f aca="false">""</f><v></v></c></row>',
    "formulas without a value": '<row r="1"><c r="A1"><f>1+1</f><v/></c><c r="B1" t="str"><f>""</f><v/></c></row>',
    "blank cells": '<row r="1"><c r="A1" s="1"/><c r="B1"/><c r="C1"><v>1</v></c><c r="D1" s="2"></c></row>',
    "rows": '<row r="1" spans="1:2" ht="12.5" customHeight="1"/><row r="3" hidden="0"><c r="A3"><v>1</v></c></row>',
    "rows and columns hidden": '<row r="1" hidden="1"><c r="A1" s="1"><v>1</v></c></row><row r="2" ht="0.5"></row>',
    "indented": '\n  <row r="1">\n    <c r="A1">\n      <f>1</f>\n      <v>1</v>\n    </c>\n  </row>\n',
    "texts of their own": '<row r="1"><c r="A1" s="1" t="inlineStr"><is><t>a &amp; b</t></is></c></row>',
    "a value behind a formula alone": '<row r="1"><c r="A1"><f>1</f></c><c r="B1"><v>1</v></c></row>',
    "the last row without a value": '<row r="1"><c r="A1"><v>1</v></c></row><row r="2"><c r="B2"/></row>',
    "spaces kept": '<row r="1"><c r="A1" t="str"><f>1</f><v xml:space="preserve"> a </v></c></row>',
}


@pytest.mark.parametrize("rows", HONEST.values(), ids=HONEST)
def test_what_programs_write_goes_the_quick_way(ways, rows):
    taken, quick, careful = ways.read(rows)
    assert taken
    assert quick == careful


def test_a_quote_goes_the_quick_way(tmp_path, monkeypatch):
    taken = []
    monkeypatch.setattr(SheetReader, "_plain", lambda reader, data: taken.append(PLAIN(reader, data)) or taken[-1])
    read_workbook(handmade.client_workbook(tmp_path / "quote.xlsx"))
    assert len(taken) == 6 and None not in taken


CAREFUL = {
    "a row twice": '<row r="1"/><row r="1"/>',
    "a cell twice": '<row r="1"><c r="A1"/><c r="A1"><v>1</v></c></row>',
    "cells in another order": '<row r="1"><c r="B1"><v>1</v></c><c r="A1"><v>1</v></c></row>',
    "rows in another order": '<row r="2"><c r="A2"><v>1</v></c></row><row r="1"><c r="A1"><v>1</v></c></row>',
    "a row twice, with cells": '<row r="1"><c r="A1"><v>1</v></c></row><row r="1"><c r="B1"><v>1</v></c></row>',
    "a value in no cell": '<row r="1"><c r="A1"/><v>1</v></row>',
    "an end of a cell too many": '<row r="1"><c r="A1"/><v></c><c r="B1"><v>1</v></c></row>',
    "an element in a value": '<row r="1"><c r="A1"><v>1<x/></v></c></row>',
    "two values": '<row r="1"><c r="A1"><v>1</v><v>2</v></c></row>',
    "an escape in a text of its own": '<row r="1"><c r="A1" t="inlineStr"><is><t>&#95;x0041_</t></is></c></row>',
    "an element in a text": '<row r="1"><c r="A1" t="str"><v>a<x/></v></c></row>',
    "a text that is too long": f'<row r="1"><c r="A1" t="str"><v>{"a" * 32_768}</v></c></row>',
    "an end of a row before any": '</row><row r="1"><c r="A1"><v>1</v></c></row>',
    "a row that ends twice": '<row r="1"><c r="A1"><v>1</v></c></row></row><row r="2"><c r="A2"><v>1</v></c></row>',
    "a blank cell in no row": '<row r="1"/><c r="A1"/>',
    "a cell in another row": '<row r="1"><c r="A2"><v>1</v></c></row>',
    "an attribute twice": '<row r="1" ht="1" ht="2"><c r="A1"><v>1</v></c></row>',
    "a row that is not closed": '<row r="1"><c r="A1"><v>1</v></c>',
    "a cell behind the rows": '<row r="1"/><c r="A1"><v>1</v></c>',
    "a row in a row": '<row r="1"><row r="2"></row></row>',
    "an element that is not known": '<row r="1"><x/></row>',
    "an entity that is not known": '<row r="1"><c r="A1" t="str"><v>&nbsp;</v></c></row>',
    "half an entity": '<row r="1"><c r="A1" t="str"><v>a & b</v></c></row>',
    "a sign that XML has not": '<row r="1"><c r="A1" t="str"><v>&#1;</v></c></row>',
    "what is no character": '<row r="1"><c r="A1" t="str"><v>\ufffe</v></c></row>',
    "a carriage return": '<row r="1"><c r="A1" t="str"><v>a\r\nb</v></c></row>',
    "an end of character data": '<row r="1"><c r="A1" t="str"><v>a]]>b</v></c></row>',
    "character data": '<row r="1"><c r="A1" t="str"><v><![CDATA[a]]></v></c></row>',
    "a comment": '<row r="1"><!-- --><c r="A1"><v>1</v></c></row>',
    "an array": '<row r="1"><c r="A1"><f t="array" ref="A1">1</f><v>1</v></c></row>',
    "a place beyond the last": '<row r="1"><c r="XFE1"/></row>',
    "an escape in a formula": '<row r="1"><c r="A1"><f>_x0031_</f></c></row>',
    "an escape in a result": '<row r="1"><c r="A1" t="str"><f>1</f><v>_x0031_</v></c></row>',
    "an equals sign before a formula, as a number": '<row r="1"><c r="A1"><f>&#61;1</f><v>1</v></c></row>',
    "an escape in a formula, its first sign as a number": '<row r="1"><c r="A1"><f>&#95;x0031_</f></c></row>',
    "an escape in a text, its first sign as a number": '<row r="1"><c r="A1" t="str"><v>&#95;x0041_</v></c></row>',
    "an empty formula": '<row r="1"><c r="A1"><f></f><v>1</v></c></row>',
    "text between the cells": '<row r="1">5<c r="A1"><v>1</v></c></row>',
    "a block in the block": '<row r="1"></row></sheetData><sheetData><row r="2"></row>',
}


@pytest.mark.parametrize("rows", CAREFUL.values(), ids=CAREFUL)
def test_whatever_is_not_plain_goes_the_careful_way(ways, rows):
    taken, quick, careful = ways.read(rows)
    assert not taken
    assert quick == careful


AROUND = {
    "a comment around": ("<!-- ", " -->"),
    "a comment that hides the block": ("<!-- <sheetData> -->", ""),
    "another block before": ("<sheetData/>", ""),
    "another block behind": ("", "<sheetData/>"),
    "the block in something else": ("<x>", "</x>"),
    "a footer": ("", "<headerFooter><oddFooter>&amp;LQ0001 &lt; 1</oddFooter></headerFooter>"),
    "two footers": (
        "",
        "<headerFooter><oddFooter>a</oddFooter><evenFooter>b</evenFooter><oddFooter>c</oddFooter></headerFooter>",
    ),
    "a footer that is only spaces": ("", "<headerFooter><oddFooter> </oddFooter></headerFooter>"),
    "a footer with a carriage return": ("", "<headerFooter><oddFooter>a\r\nb</oddFooter></headerFooter>"),
    "a footer with an end of character data": ("", "<headerFooter><oddFooter>a]]>b</oddFooter></headerFooter>"),
    "a footer in character data": (
        "",
        "<headerFooter><oddHeader><![CDATA[<oddFooter>a</oddFooter>]]></oddHeader></headerFooter>",
    ),
    "a footer in a comment, and what stands for it elsewhere": (
        "",
        f"<!-- <oddFooter>a</oddFooter> --><headerFooter><evenFooter>{ANY_FOOTER}</evenFooter></headerFooter>",
    ),
    "a footer in a comment": ("", "<!-- <oddFooter>a</oddFooter> -->"),
    "a footer somewhere else": ("", "<oddFooter>a</oddFooter>"),
    "a footer with an entity that is not known": ("", "<headerFooter><oddFooter>&a;</oddFooter></headerFooter>"),
    "rows above a frozen pane, scrolled out of sight": (
        '<sheetViews><sheetView workbookViewId="0" topLeftCell="B3"><pane state="frozen"/></sheetView></sheetViews>',
        "",
    ),
}


@pytest.mark.parametrize(("start", "end"), AROUND.values(), ids=AROUND)
def test_what_stands_around_the_block_is_seen(ways, start, end):
    _, quick, careful = ways.read('<row r="1"><c r="A1"><v>1</v></c></row>', start, end)
    assert quick == careful


def test_a_block_of_no_namespace_is_none_of_the_sheet(ways, tmp_path):
    parts = handmade.parts("")
    rows = '<row r="1"><c r="A1"><v>1</v></c></row>'
    parts["xl/worksheets/sheet1.xml"] = (
        f'<x:worksheet xmlns:x="{handmade.MAIN}"><x:sheetData/><sheetData>{rows}</sheetData></x:worksheet>'
    )
    assert not read_workbook(handmade.pack(tmp_path / "hand.xlsx", parts)).sheets[0].cells


def test_a_part_that_is_very_long_goes_the_careful_way(ways, monkeypatch):
    monkeypatch.setattr(xlsx_plain_cells, "LONGEST", 100)
    row = '<row r="1"><c r="A1"><v>1</v></c><c r="B1"><v>12{}</v></c></row>'
    fits = row.format("3" * (100 - len(row) + 2))
    assert ways.read(fits)[0] and not ways.read(fits.replace("12", "122"))[0]


pieces = st.sampled_from(
    (
        '<row r="1">',
        '<row r="2" ht="9">',
        '<row r="3"/>',
        "<row>",
        "</row>",
        '<c r="A1"><v>1</v></c>',
        '<c r="B1"/>',
        '<c r="A2" t="s"><v>0</v></c>',
        '<c r="B2" t="s"><v>9</v></c>',
        '<c r="C2" s="1"><f>1&lt;2</f><v>0</v></c>',
        '<c r="C1" t="str"><f>a</f><v></v></c>',
        '<c r="D1"><f>=1</f></c>',
        '<c r="D2" t="str"><f>1</f><v/></c>',
        '<c r="D1" t="b"><v>2</v></c>',
        '<c r="E1"><v>x</v></c>',
        "<c><v>1</v></c>",
        '<c t="n" r="F1"><v>1</v></c>',
        '<c r="G1"><v>1</v><f>1</f></c>',
        '<c r="H1" t="e"><v>#REF!</v></c>',
        " ",
        "\n",
        '<c r="I1" s="1" t="str"><v>&#9;&quot;</v></c>',
        '<c r="J1"><v xml:space="preserve">1</v></c>',
        '<c r="A10"><v>1</v></c>',
        "x",
        "&amp;",
        '<c r="K1" s="x"/>',
        '<c r="L1"></c>',
        '<c r="M1" t="d"><v>2026-06-20</v></c>',
        '<c r="A01"/>',
        '<c r="B2" r="B2"/>',
        '<c r="N1" t="inlineStr"><is><t>a &lt; b</t></is></c>',
        '<c r="O1" s="1" t="inlineStr"><is><t/></is></c>',
        '<c r="N2" t="inlineStr"><v>1</v></c>',
        "<v>1</v>",
        "<v>",
        "</v>",
        "</c>",
        '<c r="P1">',
    )
)


@given(st.lists(pieces, max_size=12).map("".join), st.booleans())
@settings(max_examples=120)
@example("", False)
def test_both_ways_give_the_same(ways, rows, in_a_row):
    rows = f'<row r="1">{rows}</row>' if in_a_row else rows
    _, quick, careful = ways.read(rows)
    assert quick == careful


@pytest.mark.slow
@given(st.lists(st.one_of(pieces, st.text('<>/"=cr1A vf&;#', max_size=4)), max_size=14).map("".join), st.booleans())
@settings(max_examples=20_000)
def test_both_ways_give_the_same_at_length(ways, rows, in_a_row):
    rows = f'<row r="1">{rows}</row>' if in_a_row else rows
    _, quick, careful = ways.read(rows)
    assert quick == careful
