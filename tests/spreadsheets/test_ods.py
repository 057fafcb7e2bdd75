"""Cells and names of an .ods: the same as of the .xlsx that it was made from, and odd ones by hand."""

import tracemalloc
from decimal import Decimal as D

import handmade
import pytest

from quotebook.errors import Unreadable
from quotebook.evaluation.sameness import same_formula
from quotebook.spreadsheets.cells import Cell, CellRange, Fault
from quotebook.spreadsheets.openformula import xlsx_address, xlsx_formula
from quotebook.spreadsheets.reading import read_workbook


@pytest.fixture(scope="module")
def through_libreoffice(soffice, tmp_path_factory):
    """The client's workbook and the rich one, each as .xlsx and as .ods, both recalculated by LibreOffice."""
    folder = tmp_path_factory.mktemp("ods")
    sources = [handmade.client_workbook(folder / "quote.xlsx"), handmade.rich_workbook(folder / "rich.xlsx")]
    (folder / "out").mkdir()
    as_xlsx, as_ods = soffice.convert(sources, folder / "out"), soffice.convert(sources, folder / "out", "ods")
    return [(read_workbook(one), read_workbook(other)) for one, other in zip(as_xlsx, as_ods, strict=True)]


@pytest.fixture(scope="module")
def quote(through_libreoffice):
    return through_libreoffice[0]


@pytest.fixture(scope="module")
def rich(through_libreoffice):
    return through_libreoffice[1]


def test_every_cell_of_the_clients_workbook_is_the_same_as_in_the_xlsx(quote):
    as_xlsx, as_ods = quote
    for one, other in zip(as_xlsx.sheets, as_ods.sheets, strict=True):
        assert {at: cell.value for at, cell in other.cells.items()} == {
            at: cell.value for at, cell in one.cells.items()
        }
        for at, cell in one.cells.items():
            assert same_formula(other.cells[at].formula or "", cell.formula or ""), (one.name, at)


def test_names_of_the_clients_workbook_lead_to_the_same_cells(quote):
    as_xlsx, as_ods = quote
    assert as_ods.names.keys() == as_xlsx.names.keys()
    for name in as_xlsx.names:
        assert as_ods.resolve(name) == as_xlsx.resolve(name), name


def test_the_worked_examples_total_is_read_from_the_ods(quote):
    workbook = quote[1]
    area = workbook.resolve("total")
    cell = {sheet.name: sheet for sheet in workbook.sheets}[area.sheet].cells[area.top, area.left]
    assert cell.value == D("3669.21")  # worked out by hand: tests/worked_example.py
    assert cell.formula == (
        "goods-discount+minimum_order_charge+waiver+delivery+labour+after_hours_charge+IF(prices_with_tax=word_yes,0,tax)"
    )


def test_the_rich_workbook(rich):
    as_xlsx, as_ods = rich
    assert [sheet.name for sheet in as_ods.sheets] == [sheet.name for sheet in as_xlsx.sheets]
    assert [sheet.visibility for sheet in as_ods.sheets] == ["visible", "hidden", "hidden"]
    assert as_ods.local_names == (("Löhne", "rate_1", "Löhne!$A$1"),)
    cells = as_ods.sheets[0].cells
    assert cells[11, 1].value == D(46193) and cells[12, 1].value == D("46193.75")  # dates
    assert cells[1, 3] == Cell(D(73), "rate_1*2")  # 36.5 * 2
    assert cells[3, 3] == Cell(Fault("#DIV/0!"), "1/0")
    assert cells[4, 3].formula == "SUM(A1:A3,Löhne!$A$1)"
    assert cells[5, 3] == Cell("a;bc|d", '"a;b"&"c|d"')
    assert cells[6, 3] == Cell(True, "NOT(FALSE())")
    assert cells[10, 2] == Cell("a bold word", None)
    assert cells[4, 2] == Cell("first\nsecond", None)
    same = {at for at, cell in cells.items() if cell.value == "same"}
    assert same == {(21, 4), (21, 5), (21, 6), (21, 7), (22, 4), (23, 4)}  # a repeated cell, and rows


ADDRESSES = {
    "$Quote.$B$4": "Quote!$B$4",
    ".B4": "B4",
    ".B4:.C9": "B4:C9",
    "$'How it is'.$B$4:.$B$9": "'How it is'!$B$4:$B$9",
    "$'It''s'.$B$4:$'It''s'.$B$9": "'It''s'!$B$4:$B$9",
    "$Quote.$#REF!$#REF!": "$Quote.$#REF!$#REF!",
    "$One.A1:$Two.A1": "$One.A1:$Two.A1",
}


@pytest.mark.parametrize(("text", "spelled"), ADDRESSES.items())
def test_address(text, spelled):
    assert xlsx_address(text) == spelled


FORMULAS = {
    "of:=ROUND([.A1];2)": "ROUND(A1,2)",
    "oooc:=ROUND([.A1];2)": "ROUND(A1,2)",
    "=ROUND(total;2)": "ROUND(total,2)",
    "msoxl:=ROUND(A1,2)": "ROUND(A1,2)",
    'of:="a;b|c~d[.A1]"&"it""s;"': '"a;b|c~d[.A1]"&"it""s;"',
    "of:=SUM({1;2|3;4};5)": "SUM({1,2;3,4},5)",
    "of:=SUM([.A1:.A3]![.A2:.A4])": "SUM(A1:A3 A2:A4)",
    "of:=SUM(([.A1]~[.A2]))": "SUM((A1,A2))",
    "of:=#REF!+[$'a]b'.A1]": "#REF!+'a]b'!A1",
    "of:=IFERROR(1/0;#N/A)": "IFERROR(1/0,#N/A)",
}


@pytest.mark.parametrize(("text", "spelled"), FORMULAS.items())
def test_formula(text, spelled):
    assert xlsx_formula(text) == spelled


# By hand: what other programs may write.


def cell(kind: str, attributes: str = "", content: str = "") -> str:
    return f'<table:table-cell office:value-type="{kind}" {attributes}>{content}</table:table-cell>'


ONE = cell("float", 'office:value="1"')


def read(tmp_path, rows, **more):
    tables = f'<table:table table:name="Only">{rows}</table:table>'
    return read_workbook(handmade.pack(tmp_path / "hand.ods", handmade.ods_parts(tables, **more)))


CELLS = {
    "a number": (cell("float", 'office:value="10.0100000000000000002"'), D("10.01")),
    "a share": (cell("percentage", 'office:value="0.5"'), D("0.5")),
    "money": (cell("currency", 'office:value="12.5"'), D("12.5")),
    "a number that is not finite": (cell("float", 'office:value="NaN"'), Fault("NaN")),
    "a day": (cell("date", 'office:date-value="2026-06-20"'), D(46193)),
    "a number shown as a day": (cell("date", 'office:date-value="1900-01-19T12:00:00"'), D("20.5")),
    "a time": (cell("time", 'office:time-value="PT36H30M00S"'), D("1.52083333333333")),
    "a time of an hour before": (cell("time", 'office:time-value="-PT12H00M00S"'), D("-0.5")),
    "a truth": (cell("boolean", 'office:boolean-value="true"'), True),
    "blanks, tabs and line breaks": (
        cell("string", "", '<text:p>a<text:s text:c="3"/>b<text:tab/>c<text:line-break/><text:a> d</text:a>e</text:p>'),
        "a   b\tc\n de",
    ),
    "runs of white space": (cell("string", "", "<text:p>a \n  b</text:p>"), "a b"),
    "paragraphs": (cell("string", "", "<text:p>a</text:p><text:p/><text:p>b</text:p>"), "a\n\nb"),
    "no note": (
        cell("string", "", "<office:annotation><text:p>note</text:p></office:annotation><text:p>a</text:p>"), "a"
    ),
    "a value as long as a text may be": (cell("string", f'office:string-value="{"x" * 32_767}"'), "x" * 32_767),
    "paragraphs as long as a text may be": (
        cell("string", "", '<text:p>a<text:s text:c="32764"/></text:p><text:p>b</text:p>'), f"a{' ' * 32_764}\nb"
    ),
    "a value behind what is shown": (cell("string", 'office:string-value="long"', "<text:p>lo</text:p>"), "long"),
}  # fmt: skip


@pytest.mark.parametrize(("content", "value"), CELLS.values(), ids=CELLS)
def test_cell(tmp_path, content, value):
    found = read(tmp_path, f"<table:table-row>{content}</table:table-row>").sheets[0].cells
    assert found == {(1, 1): Cell(value, None)} and type(found[1, 1].value) is type(value)


RESULTS = {
    "none kept": ('<table:table-cell table:formula="of:=a"/>', None),
    "an empty text": ('<table:table-cell table:formula="of:=a"><text:p/></table:table-cell>', ""),
    "an error": (
        cell("string", 'table:formula="of:=a" office:string-value=""', "<text:p>#N/A</text:p>"), Fault("#N/A")
    ),
    "an error of its own": (cell("string", 'table:formula="of:=a"', "<text:p>Err:502</text:p>"), Fault("Err:502")),
    "a text": (cell("string", 'table:formula="of:=a"', "<text:p>yes</text:p>"), "yes"),
}  # fmt: skip


@pytest.mark.parametrize(("content", "value"), RESULTS.values(), ids=RESULTS)
def test_cached_result(tmp_path, content, value):
    found = read(tmp_path, f"<table:table-row>{content}</table:table-row>").sheets[0].cells
    assert found == {(1, 1): Cell(value, "a")}


def test_repeated_and_covered_cells_rows_and_groups(tmp_path):
    rows = (
        f'<table:table-header-rows><table:table-row table:number-rows-repeated="2">{ONE}</table:table-row>'
        "</table:table-header-rows>"
        '<table:table-row table:number-rows-repeated="1000"><table:table-cell/></table:table-row>'
        '<table:table-row-group><table:table-row><table:table-cell table:number-columns-repeated="5"/>'
        f'<table:covered-table-cell table:number-columns-repeated="3"/>{ONE}</table:table-row></table:table-row-group>'
    )
    assert list(read(tmp_path, rows).sheets[0].cells) == [(1, 1), (2, 1), (1003, 9)]


BLANK = "<table:table-cell/>"


def row(cells: str, times: int = 1) -> str:
    return f'<table:table-row table:number-rows-repeated="{times}">{cells}</table:table-row>'


def repeated(content: str, times: int) -> str:
    return content.replace("<table:table-cell", f'<table:table-cell table:number-columns-repeated="{times}"', 1)


def test_as_many_repeated_cells_as_a_workbook_may_hold(tmp_path):
    assert len(read(tmp_path, row(ONE, 200_000)).sheets[0].cells) == 200_000
    assert len(read(tmp_path, row(repeated(ONE, 10_000), 20)).sheets[0].cells) == 200_000


def test_the_last_cell_of_a_sheet_after_repeated_blanks(tmp_path):
    rows = row(BLANK, 1_048_575) + row(repeated(BLANK, 16_383) + ONE)
    assert list(read(tmp_path, rows).sheets[0].cells) == [(1_048_576, 16_384)]


def test_cells_are_counted_over_all_rows_and_sheets(tmp_path):
    half = row(ONE, 100_000)
    for tables in (
        f'<table:table table:name="Only">{half}{half}{row(ONE)}</table:table>',
        (
            f'<table:table table:name="One">{half}</table:table>'
            f'<table:table table:name="Two">{half}{row(ONE)}</table:table>'
        ),
    ):
        with pytest.raises(Unreadable, match="200,000 cells"):
            read_workbook(handmade.pack(tmp_path / "full.ods", handmade.ods_parts(tables)))


WITHOUT_END = {
    "a cell": (row(repeated(ONE, 2_000_000)), "no cell: row 1, column 2000000"),
    "a row": (row(ONE, 1_000_000), "200,000 cells"),
    "a row of many cells": (row(repeated(ONE, 16_384), 1_048_576), "200,000 cells"),
    "a cell in rows that a sheet has not": (row(BLANK, 1_048_576) + row(ONE), "no cell: row 1048577, column 1"),
    "a space": (row(cell("string", "", '<text:p><text:s text:c="50000000"/></text:p>')), "32,767 characters"),
}


@pytest.mark.parametrize(("rows", "says"), WITHOUT_END.values(), ids=WITHOUT_END)
def test_what_is_repeated_is_refused_before_it_fills_the_memory(tmp_path, rows, says):
    """Copied first, each would take 50 MB or more; a part is read into 16 MB."""
    tracemalloc.start()
    try:
        with pytest.raises(Unreadable, match=says):
            read(tmp_path, rows)
        most = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert most < 30_000_000


def test_the_copy_of_another_file_is_no_sheet_but_is_noted(tmp_path):
    tables = (
        '<table:table table:name="Only"/><table:table table:name="\'file:///a.ods\'#$Rates">'
        '<table:table-source xmlns:x="http://www.w3.org/1999/xlink" x:href="a.ods"/></table:table>'
    )
    workbook = read_workbook(handmade.pack(tmp_path / "linked.ods", handmade.ods_parts(tables)))
    assert [sheet.name for sheet in workbook.sheets] == ["Only"]
    assert workbook.observations == (("external link", "'file:///a.ods'#$Rates"),)


def test_days_from_1904(tmp_path):
    settings = (
        '<table:calculation-settings><table:null-date table:date-value="1904-01-01"/></table:calculation-settings>'
    )
    day = cell("date", 'office:date-value="2026-06-20"')
    workbook = read(tmp_path, f"<table:table-row>{day}</table:table-row>", settings=settings)
    assert workbook.date_1904 and workbook.sheets[0].cells[1, 1].value == D(44731)  # 46193 - 1462


NAMES = (
    '<table:named-expressions><table:named-range table:name="Total" table:cell-range-address="$Only.$B$4"/>'
    '<table:named-range table:name="lost" table:cell-range-address="$Only.$#REF!$#REF!"/>'
    '<table:named-expression table:name="constant" table:expression="0.19"/>'
    '<table:named-expression table:name="formula" table:expression="of:=[$Only.$A$1]*2"/>'
    '<table:named-range table:name="TOTAL" table:cell-range-address="$Only.$B$5"/></table:named-expressions>'
)


def test_names(tmp_path):
    tables = f'<table:table table:name="Only"/>{NAMES}'
    workbook = read_workbook(handmade.pack(tmp_path / "names.ods", handmade.ods_parts(tables)))
    assert workbook.resolve("total") == CellRange("Only", 4, 2, 4, 2)
    assert [workbook.resolve(name) for name in ("lost", "constant", "formula")] == [None, None, None]
    assert workbook.names["formula"] == "Only!$A$1*2"
    assert workbook.local_names == (("", "TOTAL", "Only!$B$5"),)


BAD = {
    "a word for a number": (cell("float", 'office:value="abc"'), "damaged"),
    "no number": (cell("float"), "damaged"),
    "a day that is none": (cell("date", 'office:date-value="2026-02-30"'), "damaged"),
    "a time that is none": (cell("time", 'office:time-value="P1D"'), "not a time"),
    "neither true nor false": (cell("boolean", 'office:boolean-value="maybe"'), "damaged"),
    "repeated no times": (cell("float", 'office:value="1" table:number-columns-repeated="0"'), "repeated 0 times"),
    "repeated beyond the last column": (
        cell("float", 'office:value="1" table:number-columns-repeated="16385"'), "no cell"
    ),
    "repeated without end": (  # counted before it is written out, else this takes minutes
        cell("float", 'office:value="1" table:number-columns-repeated="900000000"'), "no cell"
    ),
    "blanks without end": (cell("string", "", '<text:p><text:s text:c="999999999"/></text:p>'), "32,767 characters"),
    "a value too long": (cell("string", f'office:string-value="{"x" * 32_768}"'), "32,767 characters"),
    "paragraphs too long": (
        cell("string", "", '<text:p>a<text:s text:c="32765"/></text:p><text:p>b</text:p>'), "32,767 characters"
    ),
    "a row repeated a million times": (
        f'{ONE}</table:table-row><table:table-row table:number-rows-repeated="1000000">{ONE}', "200,000 cells"
    ),
}  # fmt: skip


@pytest.mark.parametrize(("content", "says"), BAD.values(), ids=BAD)
def test_refused(tmp_path, content, says):
    with pytest.raises(Unreadable, match=says) as refusal:
        read(tmp_path, f"<table:table-row>{content}</table:table-row>")
    assert "\n" not in str(refusal.value)


def test_two_sheets_of_one_name(tmp_path):
    tables = '<table:table table:name="Only"/><table:table table:name="ONLY"/>'
    with pytest.raises(Unreadable, match="two sheets"):
        read_workbook(handmade.pack(tmp_path / "two.ods", handmade.ods_parts(tables)))


def test_a_text_document(tmp_path):
    parts = handmade.ods_parts("")
    parts["content.xml"] = parts["content.xml"].replace("office:spreadsheet", "office:text")
    with pytest.raises(Unreadable, match="not a spreadsheet"):
        read_workbook(handmade.pack(tmp_path / "letter.odt", parts))
