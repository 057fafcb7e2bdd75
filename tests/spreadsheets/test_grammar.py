"""What may stand in a file: the tables against what programs write, and everything else named where it stands.

QUOTEBOOK_SAVED_BY_PROGRAMS may name a sheet of counts (tab-separated: part, parent, element, attribute) of what stands
in workbooks that spreadsheet programs saved; then all of it is held against the tables as well.
"""

import os
from pathlib import Path

import handmade
import pytest
from lxml import etree

from quotebook.errors import Unreadable
from quotebook.spreadsheets import xlsx_links
from quotebook.spreadsheets.grammar import MOST_UNKNOWN, Grammar
from quotebook.spreadsheets.ods_tables import CONTENT, MANIFEST, SETTINGS
from quotebook.spreadsheets.ods_tables import PREFIXES as ODS_PREFIXES
from quotebook.spreadsheets.ods_tables import STYLES as ODS_STYLES
from quotebook.spreadsheets.reading import read_workbook
from quotebook.spreadsheets.xlsx_book_tables import PREFIXES, STRINGS, STYLES, WORKBOOK
from quotebook.spreadsheets.xlsx_parts import NAMESPACES, grammar_of
from quotebook.spreadsheets.xlsx_sheet_table import SHEET

MAIN, STRICT = NAMESPACES
TABLES = {"sheet": SHEET, "workbook": WORKBOOK, "strings": STRINGS, "styles": STYLES}


def grammar(part: str, namespace: str = MAIN) -> Grammar:
    if part == "rels":
        return xlsx_links._relationships()
    return xlsx_links._types() if part == "types" else grammar_of(TABLES[part], namespace)


@pytest.mark.parametrize(
    "table", [CONTENT, MANIFEST, SETTINGS, ODS_STYLES], ids=["content", "manifest", "settings", "styles"]
)
def test_everything_that_may_stand_in_an_element_of_an_ods_has_an_entry(table):
    assert Grammar(table, ODS_PREFIXES).rules


@pytest.mark.parametrize("table", [SHEET, WORKBOOK, STRINGS, STYLES], ids=["sheet", "workbook", "strings", "styles"])
def test_every_entry_of_a_table_can_be_reached_from_its_first(table):
    rules = grammar_of(table, MAIN).rules
    reached, waiting = (
        set(),
        [next(name for name in rules if name.split("}")[1] in ("worksheet", "workbook", "sst", "styleSheet"))],
    )
    while waiting:
        name = waiting.pop()
        if name not in reached:
            reached.add(name)
            waiting += rules[name].below
    assert reached == set(rules)


# What programs write, seen in files that they saved: what a quote could come back with.

WRITTEN = """
Excel         sheet     worksheet     mc:Ignorable xr:uid
Excel         sheet     sheetFormatPr defaultRowHeight x14ac:dyDescent
Excel         sheet     row           r spans s customFormat ht customHeight thickBot thickTop x14ac:dyDescent
Excel         sheet     c             r s t cm
Excel         sheet     f             t ref si ca
Excel         sheet     v             xml:space
Excel         sheet     dataValidation type allowBlank showInputMessage showErrorMessage sqref xr:uid
Excel         sheet     hyperlink     ref r:id xr:uid
Excel         sheet     pageSetup     paperSize orientation horizontalDpi verticalDpi r:id
SheetJS       sheet     col           min max width customWidth level
Excel         workbook  workbook      mc:Ignorable
Excel         workbook  workbookPr    defaultThemeVersion codeName filterPrivacy
Excel         workbook  workbookView  xWindow yWindow windowWidth windowHeight xr2:uid
Excel         workbook  calcPr        calcId fullCalcOnLoad
Excel         workbook  xr:revisionPtr revIDLastSave documentId xr6:coauthVersionLast xr10:uidLastSave
Excel         workbook  x15ac:absPath url
Excel         strings   sst           count uniqueCount
Excel         strings   rPh           sb eb
Excel         styles    fonts         count x14ac:knownFonts
LibreOffice   sheet     sheetView     showFormulas showGridLines view zoomScale zoomScalePageLayoutView
LibreOffice   sheet     row           r customFormat ht hidden customHeight outlineLevel collapsed
LibreOffice   sheet     f             aca
LibreOffice   workbook  workbookPr    backupFile showObjects date1904
LibreOffice   workbook  definedName   function hidden localSheetId name vbProcedure
LibreOffice   workbook  calcPr        iterateCount refMode iterate iterateDelta
Gnumeric      sheet     row           r spans customHeight ht
Gnumeric      workbook  fileVersion   lastEdited lowestEdited rupBuild
"""


@pytest.mark.parametrize("line", WRITTEN.strip().splitlines(), ids=lambda line: " ".join(line.split()[:3]))
@pytest.mark.parametrize("namespace", [MAIN, STRICT], ids=["transitional", "strict"])
def test_what_programs_write_is_known(line, namespace):
    _, part, element, *attributes = line.split()
    held = grammar(part, namespace)
    rule = held.rules[held._full(element)]
    assert rule.attributes >= {held._full(name) if ":" in name else name for name in attributes}


NOT_IN_A_QUOTE = {
    ("sheet", "v", "t"),  # in one file of a program's own tests, with a value that the standard does not have
}
COUNTED = os.environ.get("QUOTEBOOK_SAVED_BY_PROGRAMS")


@pytest.mark.skipif(not COUNTED, reason="QUOTEBOOK_SAVED_BY_PROGRAMS names no sheet of counts")
def test_all_that_was_counted_is_known():
    lines = [line.split("\t") for line in Path(COUNTED).read_text().splitlines() if line and line[0] != "#"]
    counted = [line[:4] for line in lines[1:] if len(line) > 5]
    assert len(counted) > 900
    assert [each for each in counted if not _is_known(*each)] == []
    types = {line[3] for line in lines if line[:3] == ["rels", "rel:Relationship", "Type"]}
    said = {match[1] for match in map(xlsx_links.TYPE.fullmatch, types) if match}
    assert len(said) == len({each.rpartition("/relationships/")[2] for each in types}) > 30
    assert said <= xlsx_links.HARMLESS | set(xlsx_links.READ) | set(xlsx_links._told_names())
    of_parts = {line[3] for line in lines if line[0] == "types" and line[2] == "ContentType"}
    assert [
        each for each in of_parts if not (xlsx_links.FAMILY.fullmatch(each) or xlsx_links.MEDIA.fullmatch(each))
    ] == []


def _is_known(part: str, parent: str, element: str, attribute: str) -> bool:
    held = grammar(part, STRICT if "strict:" in parent + element else MAIN)
    if (part, element, attribute) in NOT_IN_A_QUOTE:
        return True
    inside, here = _element(held, parent) if parent else "", _element(held, element)
    if inside and inside not in held.rules:
        return True  # it is in something that is skipped as a whole
    if inside and here not in held.rules[inside].below:
        return held.rules[inside].is_open
    return not attribute or (_full(held, attribute) if ":" in attribute else attribute) in held.rules[here].attributes


def _element(held: Grammar, name: str) -> str:
    """An element as the sheet of counts spells it, in full."""
    name = name.removeprefix("strict:").removeprefix("rel:").removeprefix("ct:")
    return _full(held, name) if ":" in name else held._full(name)


def _full(held: Grammar, name: str) -> str:
    """A name with a prefix, or with the end of its namespace in brackets, in full."""
    space, _, local = name.rpartition(":")
    ends = space.strip("<>/")
    spaces = [each for each in held._namespaces.values() if space[:1] == "<" and each.rstrip("/").endswith(ends)]
    return f"{{{spaces[0] if spaces else held._namespaces.get(space, space)}}}{local}"


# Everything else, named where it stands.


def unknown(tmp_path, parts) -> list[tuple]:
    return [tuple(each) for each in read_workbook(handmade.pack(tmp_path / "hand.xlsx", parts)).unknown]


def in_a_cell(tmp_path, cell: str) -> list[tuple]:
    return [each[0] for each in unknown(tmp_path, handmade.parts(f"<row>{cell}</row>", shared="<si><t>a</t></si>"))]


def test_a_plain_workbook_has_nothing_unknown(tmp_path):
    assert unknown(tmp_path, handmade.parts('<row><c r="A1"><v>1</v></c></row>')) == []
    assert read_workbook(handmade.client_workbook(tmp_path / "quote.xlsx")).unknown == ()


def test_unknown_content_is_told_by_part_sheet_and_cell(tmp_path):
    parts = handmade.parts('<row r="1"><c r="A1"><v>1</v></c><c r="B1" x="y"><v>1</v></c><c r="C1" x="y"/></row>')
    assert unknown(tmp_path, parts) == [("attribute x of c", "xl/worksheets/sheet1.xml", "Only", "B1", 2)]


CELLS = {
    "a child in a value": ("<c><v>1<t>2</t></v></c>", "element t in v"),
    "a child in a formula": ("<c><f>1<x/></f></c>", "element x in f"),
    "a second value": ("<c><v>1</v><v>2</v></c>", "a second v in c"),
    "a second formula": ("<c><f>1</f><f>2</f></c>", "a second f in c"),
    "a value of the other namespace": (
        f'<c><v>1</v><v xmlns="{STRICT}">2</v></c>',
        "element c.org/ooxml/spreadsheetml/main:v in c",
    ),
    "text beside the value": ("<c>5<v>1</v></c>", "text in c"),
    "alternates": (
        f'<m:AlternateContent xmlns:m="{PREFIXES["mc"]}"><m:Fallback><c><v>1</v></c></m:Fallback></m:AlternateContent>',
        "element mc:AlternateContent in row",
    ),
    "an inline text in a number": ("<c><is><t>1</t></is></c>", "is in a cell of the type n"),
    "a value in an inline text": ('<c t="inlineStr"><v>1</v></c>', "v in a cell of the type inlineStr"),
    "a text beside its runs": ('<c t="inlineStr"><is><t>a</t><r><t>b</t></r></is></c>', "a text beside its runs"),
    "two texts in a run": ('<c t="inlineStr"><is><r><t>a</t><t>b</t></r></is></c>', "a second t in r"),
    "a formula for other cells": (
        '<c r="A1"><f t="array" ref="A1:A2">1</f></c>',
        "a formula that fills other cells (array)",
    ),
    "a formula that is for no cell": ('<c r="A1"><f t="array">1</f></c>', "a formula that fills other cells (array)"),
    "a table of results": ('<c><f t="dataTable" ref="A1" r1="A2"/></c>', "a table of results (dataTable)"),
    "a shared formula without a range": (
        '<c><f t="shared" si="0">1</f></c>',
        "a shared formula that does not begin where it says",
    ),
    "a second shared formula of one number": (
        '<c r="A1"><f t="shared" si="0" ref="A1:B1">1</f></c><c r="B1"><f t="shared" si="0" ref="B1">2</f></c>',
        "a shared formula that is not where it says, or has a second one",
    ),
    "a shared formula beyond its range": (
        '<c r="A1"><f t="shared" si="0" ref="A1">1</f></c><c r="B1"><f t="shared" si="0"/></c>',
        "a shared formula that is not where it says, or has a second one",
    ),
    "a formula behind a sign of equality": (
        "<c><f>=1</f></c>",
        "a formula in a spelling that programs read differently",
    ),
    "an empty formula": ("<c><f/><v>1</v></c>", "an empty formula"),
    "a formula of spaces": ("<c><f>  </f><v>1</v></c>", "an empty formula"),
    "a day that programs count differently": ('<c t="d"><v>1899-12-31</v></c>', "a day before March 1900"),
    "a value that stands for another": ('<c vm="1"><v>1</v></c>', "a value that stands for something else (vm)"),
    "an escape in a text": ('<c t="inlineStr"><is><t>a_x0031_</t></is></c>', "an escaped character in a text"),
    "an escape in a result": ('<c t="str"><f>1</f><v>a_x0031_</v></c>', "an escaped character in a text"),
    "an escape in a formula": ("<c><f>1+_x0031_</f></c>", "an escaped character in a formula or a name"),
}


@pytest.mark.parametrize(("cell", "what"), CELLS.values(), ids=CELLS)
def test_in_a_cell(tmp_path, cell, what):
    assert what in in_a_cell(tmp_path, cell)


def test_a_row_s_number_has_no_zeros_before_it(tmp_path):
    """Gnumeric drops such a row."""
    path = handmade.pack(tmp_path / "zeros.xlsx", handmade.parts('<row r="02"><c><v>1</v></c></row>'))
    [found] = read_workbook(path).unknown
    assert (found.what, found.cell) == ("a row whose number has zeros before it", "A2")


FINE = {
    "an array of its own cell": '<c r="A1" cm="1"><f t="array" ref="A1">1</f><v>1</v></c>',
    "a shared formula": '<c r="A1"><f t="shared" si="0" ref="A1:B1">1</f></c><c r="B1"><f t="shared" si="0"/></c>',
    "a day as the strict form writes it": '<c t="d"><v>2027-06-12</v></c>',
    "runs": '<c t="inlineStr"><is><r><rPr><b/></rPr><t>a</t></r><r><t>b</t></r></is></c>',
    "a line's end as Excel writes it": '<c t="inlineStr"><is><t>a_x000D_\nb</t></is></c>',
    "a formula that is worked out always": '<c><f ca="1">1</f><v xml:space="preserve">1</v></c>',
}


@pytest.mark.parametrize("cell", FINE.values(), ids=FINE)
def test_what_programs_write_in_a_cell(tmp_path, cell):
    assert in_a_cell(tmp_path, cell) == []


BOOKS = {
    "a first day in another spelling": ("<sheets>", '<workbookPr date1904="on"/><sheets>', "date1904 'on'"),
    "two of the book's properties": (
        "<sheets>",
        "<workbookPr/><workbookPr/><sheets>",
        "a second workbookPr in workbook",
    ),
    "precision in another spelling": ("</workbook>", '<calcPr fullPrecision="off"/></workbook>', "fullPrecision 'off'"),
    "a state of a sheet": ('sheetId="1"', 'sheetId="1" state="gone"', "the state 'gone' of a sheet"),
    "a name that runs": (
        "<definedNames>",
        '<definedNames><definedName name="go" xlm="1">A1</definedName>',
        "the name 'go', which runs something",
    ),
    "a name that programs start": (
        "<definedNames>",
        '<definedNames><definedName name="_xlnm.Auto_Open">A1</definedName>',
        "the name '_xlnm.Auto_Open', which runs something",
    ),
    "names that look alike": (
        "<definedNames>",
        '<definedNames><definedName name="tax\u017f">1</definedName><definedName name="taxs">1</definedName>',
        "the name 'taxs', which looks like another",
    ),
    "a child in a name": (
        "<definedNames>",
        '<definedNames><definedName name="tax">1<b/>2</definedName>',
        "element b in definedName",
    ),
    "a second list of names": ("<definedNames>", "<definedNames/><definedNames>", "a second definedNames in workbook"),
    "a sheet twice": ("</sheets>", '<sheet name="Other" sheetId="2" r:id="rId1"/></sheets>', "two sheets of one part"),
}


@pytest.mark.parametrize(("old", "new", "what"), BOOKS.values(), ids=BOOKS)
def test_in_the_workbook(tmp_path, old, new, what):
    parts = handmade.parts("")
    parts["xl/workbook.xml"] = parts["xl/workbook.xml"].replace(old, new)
    assert what in [each[0] for each in unknown(tmp_path, parts)]


LINK = '<Relationship Id="rId1"'
LINKS = {
    "one id twice": (LINK, f'{LINK} Type="{handmade.OFFICE}/theme" Target="t.xml"/>{LINK}', "the id 'rId1' twice"),
    "a second link to the texts": (
        "</Relationships>",
        f'<Relationship Id="x" Type="{handmade.OFFICE}/sharedStrings" Target="sharedStrings.xml"/></Relationships>',
        "a second link to sharedStrings",
    ),
    "a look-alike": ('/worksheet"', '/x/worksheet"', "a link of the type"),
    "two slashes": (
        "worksheets/",
        "worksheets//",
        "a link to 'worksheets//sheet1.xml', which is no part of exactly that name",
    ),
    "other letters": (
        "worksheets/",
        "Worksheets/",
        "a link to 'Worksheets/sheet1.xml', which is no part of exactly that name",
    ),
    "a sign by its number": ("sheet1.xml", "sheet%31.xml", "a link to 'worksheets/sheet%31.xml'"),
    "a mode that is none": (LINK, f'{LINK} TargetMode="internal"', "the target mode 'internal'"),
}


@pytest.mark.parametrize(("old", "new", "what"), LINKS.values(), ids=LINKS)
def test_in_the_links(tmp_path, old, new, what):
    parts, part = handmade.parts('<row><c r="A1"><v>1</v></c></row>'), "xl/_rels/workbook.xml.rels"
    parts[part] = parts[part].replace(old, new, 1)
    parts |= {"xl/worksheets/sheet%31.xml": parts["xl/worksheets/sheet1.xml"]}
    try:
        found = [each[0] for each in unknown(tmp_path, parts)]
    except Unreadable:  # the sheet is nowhere to be found
        return
    assert [each for each in found if each.startswith(what)]


def test_a_sheet_must_be_of_the_type_of_a_sheet(tmp_path):
    parts = handmade.parts("")
    parts["[Content_Types].xml"] = parts["[Content_Types].xml"].replace("worksheet+xml", "chartsheet+xml")
    assert unknown(tmp_path, parts)[0][0].startswith("a link to worksheet that leads to")


def test_a_template_is_called_so(tmp_path):
    parts = handmade.parts("")
    parts["[Content_Types].xml"] = parts["[Content_Types].xml"].replace("sheet.main+xml", "template.main+xml")
    with pytest.raises(Unreadable, match=r"is a template for workbooks \(\.xltx\); open it"):
        read_workbook(handmade.pack(tmp_path / "hand.xltx", parts))


TOLD = {
    "vbaProject": "macro",
    "externalLink": "external link",
    "oleObject": "embedded object",
    "control": "ActiveX control",
    "connections": "data connection",
    "pivotTable": "pivot table",
}


@pytest.mark.parametrize(("kind", "what"), TOLD.items())
def test_what_runs_or_links_is_told_by_its_link_whatever_it_is_called(tmp_path, kind, what):
    parts = handmade.parts("")
    parts["xl/worksheets/_rels/sheet1.xml.rels"] = handmade.relationships(("rId1", kind, "../media/image1.png"))
    book = read_workbook(handmade.pack(tmp_path / "hand.xlsx", parts))
    assert book.observations == ((what, "xl/media/image1.png"),)
    assert book.unknown == ()


def test_a_scenario_is_told(tmp_path):
    """LibreOffice puts the values of the one that is shown into the cells when it opens a file."""
    parts, part = handmade.parts(""), "xl/worksheets/sheet1.xml"
    scenario = '<scenarios><scenario name="a"><inputCells r="A1" val="5"/></scenario></scenarios></worksheet>'
    parts[part] = parts[part].replace("</worksheet>", scenario)
    book = read_workbook(handmade.pack(tmp_path / "hand.xlsx", parts))
    assert book.observations == (("scenario that puts other values into cells", part),)
    assert book.unknown == ()


def test_what_runs_is_told_by_its_type(tmp_path):
    parts = handmade.parts("") | {"xl/media/image1.png": "x"}
    override = '<Override PartName="/xl/media/image1.png" ContentType="application/vnd.ms-office.vbaProject"/></Types>'
    parts["[Content_Types].xml"] = parts["[Content_Types].xml"].replace("</Types>", override)
    assert read_workbook(handmade.pack(tmp_path / "hand.xlsx", parts)).observations == (
        ("macro", "xl/media/image1.png"),
    )


def test_very_much_that_is_unknown_is_not_kept(tmp_path):
    row = "".join(f"<x{number}/>" for number in range(500))
    assert len(unknown(tmp_path, handmade.parts(f"<row>{row}</row>"))) == MOST_UNKNOWN


ODS = {
    "a second body": (
        lambda text: _after(text, "</office:spreadsheet>", "<office:spreadsheet/>"),
        "a second office:spreadsheet in office:body",
    ),
    "a field in a text": (
        lambda text: text.replace("<text:p>a", "<text:p>a<text:date>b</text:date>"),
        "element text:date in text:p",
    ),
    "a value of another type": (
        lambda text: text.replace('office:value="1"', 'office:value="1" office:string-value="1"'),
        "a value of another type",
    ),
    "a value without a type": (lambda text: text.replace('office:value-type="float"', ""), "a value without a type"),
    "a value of another namespace": (
        lambda text: text.replace('office:value="1"', 'office:value="1" table:value="2"'),
        "attribute value",
    ),
    "a text that is shown as another": (
        lambda text: text.replace('"string"', '"string" office:string-value="b"'),
        "a text that is shown as another",
    ),
    "a number that is shown as another": (
        lambda text: text.replace("<text:p>1<", "<text:p>9<"),
        "a number that is shown as another",
    ),
    "a formula with another program's separators": (
        lambda text: text.replace('office:value="1"', 'office:value="1" table:formula="msoxl:=SUM(1;0)"'),
        "a formula in a spelling that programs read differently",
    ),
    "a formula for other cells": (
        lambda text: text.replace('office:value="1"', 'office:value="1" table:number-matrix-rows-spanned="2"'),
        "a formula that fills other cells",
    ),
    "a formula for as many columns as it says, and for rows that it does not": (
        lambda text: text.replace('office:value="1"', 'office:value="1" table:number-matrix-columns-spanned="1"'),
        "a formula that fills other cells",
    ),
    "a range of another file": (
        lambda text: text.replace("<text:p>a", "<table:cell-range-source/><text:p>a"),
        "element cell-range-source",
    ),
    "cells of another namespace": (lambda text: text.replace("table:table-cell", "text:table-cell"), "element"),
}


def _after(text, mark, more):
    return text.replace(mark, mark + more)


@pytest.mark.parametrize(("change", "what"), ODS.values(), ids=ODS)
def test_in_an_ods(tmp_path, change, what):
    cells = (
        '<table:table-cell office:value-type="string"><text:p>a</text:p></table:table-cell>'
        '<table:table-cell office:value-type="float" office:value="1"><text:p>1</text:p></table:table-cell>'
    )
    parts = handmade.ods_parts(
        f'<table:table table:name="Only"><table:table-row>{cells}</table:table-row></table:table>'
    )
    assert read_workbook(handmade.pack(tmp_path / "plain.ods", parts)).unknown == ()
    parts["content.xml"] = change(parts["content.xml"])
    found = [each.what for each in read_workbook(handmade.pack(tmp_path / "hand.ods", parts)).unknown]
    assert [each for each in found if what in each]


def test_a_listener_is_told_wherever_it_stands(tmp_path):
    listener = "<table:shapes><office:event-listeners/></table:shapes>"
    parts = handmade.ods_parts(f'<table:table table:name="Only">{listener}</table:table>')
    book = read_workbook(handmade.pack(tmp_path / "hand.ods", parts))
    assert [kind for kind, _ in book.observations] == ["macro"]


def test_a_template_of_an_ods_is_called_so(tmp_path):
    parts = handmade.ods_parts("") | {"mimetype": "application/vnd.oasis.opendocument.spreadsheet-template"}
    with pytest.raises(Unreadable, match=r"is a template for spreadsheets \(\.ots\)"):
        read_workbook(handmade.pack(tmp_path / "hand.ots", parts))


def test_names_are_short_in_what_is_said():
    held = grammar("sheet")
    assert held.short(etree.QName(MAIN, "c").text) == "c"
    assert held.short(f"{{{PREFIXES['x14ac']}}}dyDescent") == "x14ac:dyDescent"
