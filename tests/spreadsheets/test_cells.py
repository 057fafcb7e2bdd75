"""Cells and names of an .xlsx: against openpyxl on workbooks of several programs, and odd ones by hand."""

from datetime import date
from decimal import Decimal as D

import handmade
import openpyxl
import pytest
import second_reader

from quotebook.checking.returned import DAYS_TO_1904
from quotebook.contract.values import day_of, is_day, serial_of_day
from quotebook.errors import Unreadable
from quotebook.spreadsheets.cells import Cell, CellRange, Fault, area_of, position_of
from quotebook.spreadsheets.reading import read_workbook


def cells_of(workbook):
    return {sheet.name: {at: tuple(cell) for at, cell in sheet.cells.items()} for sheet in workbook.sheets}


@pytest.fixture(scope="module")
def rich(tmp_path_factory):
    return handmade.rich_workbook(tmp_path_factory.mktemp("rich") / "rich.xlsx")


def resaved_by_openpyxl(path, folder):
    book = openpyxl.load_workbook(path)
    book.save(folder / "openpyxl.xlsx")
    return folder / "openpyxl.xlsx"


def resaved_by_ironcalc(path, folder):
    import ironcalc

    ironcalc.load_from_xlsx(str(path), "en", "UTC", "en").save_to_xlsx(str(folder / "ironcalc.xlsx"))
    return folder / "ironcalc.xlsx"


def test_as_xlsxwriter_wrote_it(rich):
    assert cells_of(read_workbook(rich)) == second_reader.cells_of(rich)


def test_as_openpyxl_saved_it(rich, tmp_path):
    path = resaved_by_openpyxl(rich, tmp_path)
    workbook = read_workbook(path)
    assert cells_of(workbook) == second_reader.cells_of(path)
    assert workbook.sheets[0].cells[1, 3] == Cell(None, "rate_1*2")  # the cached value is dropped


def test_as_ironcalc_saved_it(rich, tmp_path):
    path = resaved_by_ironcalc(rich, tmp_path)
    assert cells_of(read_workbook(path)) == second_reader.cells_of(path)


def test_as_libreoffice_saved_it(rich, soffice, tmp_path):
    path = soffice.convert([rich], tmp_path)[0]
    workbook = read_workbook(path)
    assert cells_of(workbook) == second_reader.cells_of(path)
    assert workbook.sheets[0].cells[1, 3] == Cell(D(73), "rate_1*2")  # 36.5 * 2: recalculated
    assert workbook.resolve("rate_1") == CellRange("It's a (test)", 10, 1, 10, 1)


def test_visibility(rich):
    assert [sheet.visibility for sheet in read_workbook(rich).sheets] == ["visible", "hidden", "veryHidden"]


def test_a_clients_workbook_as_it_was_written(tmp_path):
    path = handmade.client_workbook(tmp_path / "quote.xlsx")
    assert cells_of(read_workbook(path)) == second_reader.cells_of(path)


# What XlsxWriter wrote, value by value.

VALUES = {
    "zero": (1, 1, D(0)),
    "a third to 15 digits": (5, 1, D("0.333333333333333")),
    "more than 15 digits": (6, 1, D("12345678901234600000")),
    "noise of binary fractions": (8, 1, D("10.01")),
    "a date is its serial number": (11, 1, D(46193)),
    "a date with a time": (12, 1, D("46193.75")),
    "a share": (13, 1, D("0.06875")),
    "no": (14, 1, False),
    "text with spaces kept": (3, 2, "  two  spaces "),
    "text with a line break": (4, 2, "first\nsecond"),
    "a formula typed as text": (5, 2, "=1+1"),
    "rich text is its runs": (10, 2, "a bold word"),
    "as long as a text may be": (9, 2, "x" * 32_767),
}  # fmt: skip


@pytest.mark.parametrize(("row", "column", "value"), VALUES.values(), ids=VALUES)
def test_value(rich, row, column, value):
    assert read_workbook(rich).sheets[0].cells[row, column] == Cell(value, None)


FORMULAS = {
    "a text result": (2, Cell("none", 'IF(A1>1,"","none")')),
    "an error": (3, Cell(Fault("#DIV/0!"), "1/0")),
    "a truth": (6, Cell(True, "NOT(FALSE)")),
}


@pytest.mark.parametrize(("row", "cell"), FORMULAS.values(), ids=FORMULAS)
def test_formula(rich, row, cell):
    assert read_workbook(rich).sheets[0].cells[row, 3] == cell


def test_array_formula_has_its_text_in_its_first_cell(rich):
    cells = read_workbook(rich).sheets[0].cells
    assert cells[1, 4] == Cell(D(0), "A1:A2*2")
    assert cells[2, 4] == Cell(D(0), None)


def test_names(rich):
    workbook = read_workbook(rich)
    assert set(workbook.names) == {"rate_1", "wages", "a_constant"}  # the filter's own name is left out
    assert workbook.local_names == (("Löhne", "rate_1", "Löhne!$A$1"),)
    assert workbook.resolve("RATE_1") == CellRange("It's a (test)", 10, 1, 10, 1)
    assert workbook.resolve("wages") == CellRange("Löhne", 1, 1, 3, 1)
    assert workbook.resolve("a_constant") is None
    assert workbook.resolve("not_there") is None


# What no program here writes but the standard allows, by hand.


def only_cells(tmp_path, rows, **workbook):
    path = handmade.pack(tmp_path / "hand.xlsx", handmade.parts(rows, **workbook))
    return dict(read_workbook(path).sheets[0].cells)


def value_of(tmp_path, cell, **workbook):
    return only_cells(tmp_path, f"<row>{cell}</row>", **workbook)[1, 1].value


CELLS = {
    "noise of another program": ("<c><v>10.0100000000000000002</v></c>", D("10.01")),
    "noise of binary fractions": ("<c><v>0.070000000000000007</v></c>", D("0.07")),
    "a number in 300 decimals": (f"<c><v>0.{'0' * 299}1</v></c>", D("1E-300")),
    "infinity as XML has it": ("<c><v>INF</v></c>", Fault("INF")),
    "not a number": ("<c><v>NaN</v></c>", Fault("NaN")),
    "beyond a double": ("<c><v>1E400</v></c>", Fault("1E400")),
    "an error": ('<c t="e"><v>#REF!</v></c>', Fault("#REF!")),
    "true in words": ('<c t="b"><v>true</v></c>', True),
    "an ISO date": ('<c t="d"><v>2026-06-20</v></c>', D(46193)),
    "an ISO date with a time": ('<c t="d"><v>2026-06-20T18:00:00Z</v></c>', D("46193.75")),
    "the last ISO date before the 29 February that never was": ('<c t="d"><v>1900-02-28</v></c>', D(59)),
    "the first ISO date after it": ('<c t="d"><v>1900-03-01</v></c>', D(61)),
    "the first ISO date": ('<c t="d"><v>1900-01-01</v></c>', D(1)),
    "a number as text": ('<c t="inlineStr"><is><t>12</t></is></c>', "12"),
    "an empty text": ('<c t="str"><v></v></c>', ""),
    "inline runs": ('<c t="inlineStr"><is><r><rPr><b/></rPr><t>a</t></r><r><t> b</t></r></is></c>', "a b"),
    "how it is pronounced": ('<c t="inlineStr"><is><t>名</t><rPh sb="0" eb="1"><t>na</t></rPh></is></c>', "名"),
    "spaces kept": ('<c t="inlineStr"><is><t xml:space="preserve"> a </t></is></c>', " a "),
    "an escaped character": ('<c t="inlineStr"><is><t>a_x000D_b_x005F_x0041_</t></is></c>', "a\rb_x0041_"),
    "half a surrogate": ('<c t="inlineStr"><is><t>_xD83D_</t></is></c>', "\ufffd"),
    "a pair of surrogates": ('<c t="inlineStr"><is><t>_xD83D__xDD7A_</t></is></c>', "🕺"),
    "character data": ('<c t="str"><v><![CDATA[<a&b>]]></v></c>', "<a&b>"),
    "a result as long as a text may be": (f'<c t="str"><v>{"x" * 32_767}</v></c>', "x" * 32_767),
    "an inline text as long as a text may be": (
        f'<c t="inlineStr"><is><t>{"x" * 32_767}</t></is></c>', "x" * 32_767
    ),
    "a comment in a number": ("<c><v>12<!-- here -->34</v></c>", D(1234)),
}  # fmt: skip


@pytest.mark.parametrize(("cell", "value"), CELLS.values(), ids=CELLS)
def test_cell(tmp_path, cell, value):
    found = value_of(tmp_path, cell)
    assert (found, type(found)) == (value, type(value))


def test_shared_strings_with_runs_and_pronunciation(tmp_path):
    shared = '<si><t>plain</t></si><si/><si><r><t>ru</t></r><r><t>ns</t></r><rPh sb="0" eb="1"><t>no</t></rPh></si>'
    rows = "<row>" + "".join(f'<c t="s"><v>{number}</v></c>' for number in range(3)) + "</row>"
    cells = only_cells(tmp_path, rows, shared=shared)
    assert [cell.value for cell in cells.values()] == ["plain", "", "runs"]


def test_positions_that_are_implied(tmp_path):
    rows = (
        '<row><c><v>1</v></c><c r="D1"><v>2</v></c><c><v>3</v></c></row>'
        '<row r="5"><c><v>4</v></c></row><row><c><v>5</v></c></row>'
    )
    cells = only_cells(tmp_path, rows)
    assert {at: cell.value for at, cell in cells.items()} == {(1, 1): 1, (1, 4): 2, (1, 5): 3, (5, 1): 4, (6, 1): 5}


def test_the_last_cell_of_a_sheet(tmp_path):
    rows = '<row><c><v>1</v></c></row><row r="1048576"><c r="XFD1048576"><v>2</v></c></row>'
    assert list(only_cells(tmp_path, rows)) == [(1, 1), (1_048_576, 16_384)]


def test_cells_that_hold_nothing_are_left_out(tmp_path):
    assert only_cells(tmp_path, '<row><c s="3"/><c><v/></c><c><f/></c></row>') == {}


def test_a_formula_as_long_as_a_text_may_be(tmp_path):
    formula = "1+" * 16_383 + "1"
    assert only_cells(tmp_path, f"<row><c><f>{formula}</f></c></row>")[1, 1].formula == formula


@pytest.mark.parametrize("formula", ["a*b", "=a*b"])
def test_a_formula_without_a_cached_value(tmp_path, formula):
    assert only_cells(tmp_path, f"<row><c><f>{formula}</f></c></row>") == {(1, 1): Cell(None, "a*b")}


def test_shared_formulas_are_written_out(tmp_path):
    rows = (
        '<row><c r="B1"><f t="shared" ref="B1:B3" si="0">A1*rate_1+$C$1</f><v>1</v></c></row>'
        '<row><c r="B2"><f t="shared" si="0"/><v>2</v></c></row><row><c r="B3"><f t="shared" si="0"/></c></row>'
    )
    path = handmade.pack(tmp_path / "shared.xlsx", handmade.parts(rows))
    cells = read_workbook(path).sheets[0].cells
    assert [cell.formula for cell in cells.values()] == ["A1*rate_1+$C$1", "A2*rate_1+$C$1", "A3*rate_1+$C$1"]
    assert cells_of(read_workbook(path)) == second_reader.cells_of(path)


def two_sheets(name, rows):
    """Parts of a workbook with a second sheet."""
    parts = handmade.parts('<row><c><f t="shared" ref="A1" si="0">a</f></c></row>')
    second = f'<sheet name="{name}" r:id="rId3"/></sheets>'
    parts["xl/workbook.xml"] = parts["xl/workbook.xml"].replace("</sheets>", second)
    parts["xl/_rels/workbook.xml.rels"] = handmade.relationships(
        ("rId1", "worksheet", "worksheets/sheet1.xml"), ("rId3", "worksheet", "worksheets/sheet2.xml")
    )
    return parts | {"xl/worksheets/sheet2.xml": handmade.sheet_xml(rows)}


def test_a_shared_formula_is_shared_within_its_sheet_only(tmp_path):
    path = handmade.pack(tmp_path / "two.xlsx", two_sheets("Other", '<row><c><f t="shared" si="0"/></c></row>'))
    with pytest.raises(Unreadable, match=r"'Other'.*found '0'"):
        read_workbook(path)


def test_two_sheets_of_one_name(tmp_path):
    with pytest.raises(Unreadable, match="two sheets of one name"):
        read_workbook(handmade.pack(tmp_path / "two.xlsx", two_sheets("ONLY", "")))


def test_a_sheet_outside_the_file_is_not_followed(tmp_path):
    parts, links = handmade.parts(""), "xl/_rels/workbook.xml.rels"
    parts[links] = parts[links].replace('Target="worksheets', 'TargetMode="External" Target="worksheets')
    with pytest.raises(Unreadable, match="does not say where sheet 'Only' is"):
        read_workbook(handmade.pack(tmp_path / "outside.xlsx", parts))


def test_any_prefix_and_the_strict_namespace(tmp_path):
    main, office = handmade.STRICT
    parts = handmade.parts("<row><c><f>a</f><v>7</v></c></row>", main=main, office=office)
    parts["xl/worksheets/sheet1.xml"] = (
        f'<q:worksheet xmlns:q="{main}"><q:sheetData><q:row><q:c><q:f>a</q:f><q:v>7</q:v></q:c></q:row></q:sheetData>'
        "</q:worksheet>"
    )
    workbook = read_workbook(handmade.pack(tmp_path / "strict.xlsx", parts))
    assert workbook.sheets[0].cells == {(1, 1): Cell(D(7), "a")}


def test_targets_from_the_root_letters_of_either_case_and_utf_16(tmp_path):
    parts = handmade.parts("<row><c><v>7</v></c></row>")
    links = handmade.relationships(("rId1", "worksheet", "/XL/Sheets/One.xml"))
    sheet = '<?xml version="1.0" encoding="UTF-16"?>' + parts["xl/worksheets/sheet1.xml"]
    for encoding in ("utf-16", "utf-16-le", "utf-16-be"):
        parts |= {"xl/_rels/workbook.xml.rels": links, "xl/sheets/one.xml": sheet.encode(encoding)}
        path = handmade.pack(tmp_path / "other.xlsx", parts)
        assert read_workbook(path).sheets[0].cells == {(1, 1): Cell(D(7), None)}


# What a name may stand for.

TARGETS = {
    "$B$4": None,
    "Only!$B$4": CellRange("Only", 4, 2, 4, 2),
    "'Only'!B4": None,
    "Only!$B4": None,
    "ONLY!$b$4": CellRange("Only", 4, 2, 4, 2),
    "=Only!$B$4": CellRange("Only", 4, 2, 4, 2),
    "Only!$B$4:$C$9": CellRange("Only", 4, 2, 9, 3),
    "Only!$C$9:$B$4": CellRange("Only", 4, 2, 9, 3),
    "Only!$B$4:Only!$C$9": CellRange("Only", 4, 2, 9, 3),
    "Only!$XFD$1048576": CellRange("Only", 1_048_576, 16_384, 1_048_576, 16_384),
    "Only!$XFE$1": None,
    "Only!#REF!": None,
    "#REF!": None,
    "Other!$B$4": None,
    "[1]Only!$B$4": None,
    "Only!$B$4,Only!$C$9": None,
    "Only!$B:$B": None,
    "0.19": None,
    '"text"': None,
    "SUM(Only!$B$4)": None,
    "": None,
}  # fmt: skip


@pytest.mark.parametrize(("target", "area"), TARGETS.items(), ids=lambda value: str(value)[:30])
def test_target_of_a_name(tmp_path, target, area):
    names = f'<definedName name="Figure">{target.replace("<", "&lt;")}</definedName>'
    path = handmade.pack(tmp_path / "names.xlsx", handmade.parts("", names=names))
    assert read_workbook(path).resolve("figure") == area


def test_a_quote_in_a_sheets_name(rich):
    assert read_workbook(rich).names["rate_1"] == "'It''s a (test)'!$A$10"


def test_a_name_of_a_sheet_that_is_gone_is_listed(tmp_path):
    names = '<definedName name="total" localSheetId="7">Only!$A$1</definedName>'
    workbook = read_workbook(handmade.pack(tmp_path / "gone.xlsx", handmade.parts("", names=names)))
    assert (workbook.names, workbook.local_names) == ({}, (("", "total", "Only!$A$1"),))


def test_a_name_that_is_there_twice_is_listed(tmp_path):
    names = '<definedName name="total">Only!$A$1</definedName><definedName name="Total">Only!$A$2</definedName>'
    workbook = read_workbook(handmade.pack(tmp_path / "twice.xlsx", handmade.parts("", names=names)))
    assert workbook.local_names == (("", "Total", "Only!$A$2"),)


DAYS = {
    "0.5": date(1899, 12, 30), "1": date(1899, 12, 31), "59": date(1900, 2, 27), "60": date(1900, 2, 28),
    "61": date(1900, 3, 1), "46193": date(2026, 6, 20), "46193.99": date(2026, 6, 20), "2958465": date(9999, 12, 31),
    "2958466": None, "0": None, "-1": None, "1E+300": None,
}  # fmt: skip
"""Days by serial number (ECMA-376 part 1, 18.17.4.1; 46193 as in LibreOffice and openpyxl). None stands for no day.
Those below 61 are as LibreOffice counts them: Excel puts a 29 February 1900 before 1 March."""


@pytest.mark.parametrize(("serial", "day"), DAYS.items())
def test_day_of_a_serial_number(serial, day):
    assert (day_of(D(serial)) if is_day(D(serial)) else None) == day
    assert day is None or serial_of_day(day) == int(D(serial))


def test_an_iso_date_is_the_day_that_it_says(tmp_path):
    for properties in ("", '<workbookPr date1904="true"/>'):
        for day in ("1904-01-01", "2026-06-20", "9999-12-31"):
            rows = f'<row><c t="d"><v>{day}</v></c></row>'
            path = handmade.pack(tmp_path / "iso.xlsx", handmade.parts(rows, properties=properties))
            workbook = read_workbook(path)
            assert workbook.date_1904 == bool(properties)
            serial = workbook.sheets[0].cells[1, 1].value + DAYS_TO_1904 * workbook.date_1904
            assert day_of(serial) == date.fromisoformat(day)


# What is damaged or beyond the limits is refused in one sentence.

BAD = {
    "spaces around a number": ("<row><c><v> 5\n</v></c></row>", "not a number"),
    "digits of another script": ("<row><c><v>\u0665</v></c></row>", "not a number"),
    "a number with a comma": ("<row><c><v>1,5</v></c></row>", "not a number"),
    "a day without hyphens": ('<row><c t="d"><v>20260620</v></c></row>', "not a date"),
    "a day by its week": ('<row><c t="d"><v>2026-W25-6</v></c></row>', "not a date"),
    "a row in digits of another script": ('<row r="\u0663"><c><v>1</v></c></row>', "not a whole number"),
    "a place in small letters": ('<row><c r="a1"><v>1</v></c></row>', "no cell"),
    "a place with a sign": ('<row><c r="$A$1"><v>1</v></c></row>', "no cell"),
    "two rows in one place": ('<row r="1"/><row r="1"/>', "row 1 twice"),
    "two cells in one place, one of them blank": ('<row><c r="A1"/><c r="A1"><v>2</v></c></row>', "one place"),
    "a word for a number": ("<row><c><v>abc</v></c></row>", "not a number: 'abc'"),
    "Python's own spelling of a number": ("<row><c><v>1_0</v></c></row>", "not a number"),
    "a comma for a point": ("<row><c><v>1,5</v></c></row>", "not a number: '1,5'"),
    "an unknown kind of cell": ('<row><c t="x"><v>1</v></c></row>', "found 'x'"),
    "a text that is not shared": ('<row><c t="s"><v>3</v></c></row>', "found '3'"),
    "a text before the first": ('<row><c t="s"><v>-1</v></c></row>', "'-1'"),
    "a date that is none": ('<row><c t="d"><v>2026-02-30</v></c></row>', "day|date"),
    "a column beyond the last": ('<row><c r="XFE1"><v>1</v></c></row>', "no cell"),
    "a row beyond the last": ('<row><c r="A1048577"><v>1</v></c></row>', "no cell"),
    "row nought": ('<row><c r="A0"><v>1</v></c></row>', "no cell"),
    "a row without a number": ('<row r="x"><c><v>1</v></c></row>', "row 0.*not a whole number: 'x'"),
    "a place that is none": ('<row><c r="1A"><v>1</v></c></row>', "no cell"),
    "two cells in one place": ('<row><c r="A1"><v>1</v></c><c r="A1"><v>2</v></c></row>', "one place"),
    "a shared formula without its first": ('<row><c><f t="shared" si="4"/></c></row>', "'4'"),
    "a shared formula that goes off the sheet": (
        '<row><c/><c><f t="shared" ref="A1:B2" si="0">A1</f></c></row><row><c><f t="shared" si="0"/></c></row>',
        "a shared formula that cannot be moved",
    ),
    "a text too long": (f'<row><c t="str"><v>{"x" * 32_768}</v></c></row>', "32,767 characters"),
    "an inline text too long": (f'<row><c t="inlineStr"><is><t>{"x" * 32_768}</t></is></c></row>', "32,767 characters"),
    "a formula too long": (f"<row><c><f>{'1+' * 20_000}1</f></c></row>", "32,767 characters"),
    "tags that do not match": ("<row><c></row>", "damaged at line 1"),
}  # fmt: skip


@pytest.mark.parametrize(("rows", "says"), BAD.values(), ids=BAD)
def test_refused(tmp_path, rows, says):
    with pytest.raises(Unreadable, match=says) as refusal:
        only_cells(tmp_path, rows)
    assert "\n" not in str(refusal.value) and "hand.xlsx" in str(refusal.value)


@pytest.mark.parametrize("part", handmade.parts(""))
def test_a_missing_part_is_named_or_not_needed(tmp_path, part):
    parts = handmade.parts('<row><c t="s"><v>0</v></c></row>', shared="<si><t>a</t></si>")
    del parts[part]
    with pytest.raises(Unreadable):
        read_workbook(handmade.pack(tmp_path / "less.xlsx", parts))


MISLED = {
    "to nothing": ("officeDocument", "thumbnail", "does not say where its officeDocument is"),
    "to a sheet": ("xl/workbook.xml", "xl/worksheets/sheet1.xml", "its main part .* is not a workbook"),
}


@pytest.mark.parametrize(("right", "wrong", "says"), MISLED.values(), ids=MISLED)
def test_a_package_that_leads(tmp_path, right, wrong, says):
    parts = handmade.parts("")
    parts["_rels/.rels"] = parts["_rels/.rels"].replace(right, wrong)
    with pytest.raises(Unreadable, match=says):
        read_workbook(handmade.pack(tmp_path / "misled.xlsx", parts))


def test_limits_of_sheets_names_and_shared_formulas(tmp_path, monkeypatch):
    parts = handmade.parts("")
    more = "<sheets>" + '<sheet name="a" r:id="rId1"/>' * 200
    parts["xl/workbook.xml"] = parts["xl/workbook.xml"].replace("<sheets>", more)
    with pytest.raises(Unreadable, match="200 sheets"):
        read_workbook(handmade.pack(tmp_path / "sheets.xlsx", parts))
    names = "".join(f'<definedName name="n{number}">1</definedName>' for number in range(20_001))
    with pytest.raises(Unreadable, match="20,000 defined names"):
        read_workbook(handmade.pack(tmp_path / "names.xlsx", handmade.parts("", names=names)))
    shared = f'<row><c><f t="shared" ref="A1:A9" si="0">{"n+" * 15_000}n</f></c></row>'
    rows = shared + '<row><c><f t="shared" si="0"/></c></row>' * 34
    with pytest.raises(Unreadable, match="1,000,000 characters of shared formulas"):
        only_cells(tmp_path, rows)


def test_places():
    places = {"A1": (1, 1), "$Z$9": (9, 26), "aa10": (10, 27), "XFD1048576": (1_048_576, 16_384)}
    assert {text: position_of(text) for text in places} == places


@pytest.mark.parametrize(
    ("written", "area"),
    [
        ("B4", (4, 2, 4, 2)),
        ("B4:D9", (4, 2, 9, 4)),
        ("D9:B4", None),  # some programs turn it round, and others take it for nothing
        ("B9:D4", None),
        ("$B$4", None),
        ("b4", None),
        ("B04", None),
        ("XFE1", None),
        ("", None),
    ],
)
def test_an_area_is_what_programs_write_so(written, area):
    assert area_of(written) == area
