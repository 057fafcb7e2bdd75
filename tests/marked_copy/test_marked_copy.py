"""The marked copy: what was returned, cell by cell and part by part, with the findings on top of it."""

import re
import shutil
import zipfile
from copy import deepcopy
from datetime import date
from decimal import Decimal as D
from functools import cache
from pathlib import Path

import handmade
import openpyxl
import pytest
from extent import extent
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from quotebook.checking.check import check_file, returned_quote
from quotebook.checking.explanation import explain
from quotebook.checking.worked_out import WorkedOut
from quotebook.demonstration import demo
from quotebook.desk import Desk, init
from quotebook.errors import Misuse, QuotebookError
from quotebook.marked_copy.findings_sheet import FindingRow, FindingsPage
from quotebook.marked_copy.marking import DISPUTING, FREE, STEPS, marked_path, write_marked_copy
from quotebook.marked_copy.writer import Mark, write_marks
from quotebook.quoting.issuing import issue
from quotebook.spreadsheets.cells import CellAddress
from quotebook.spreadsheets.reading import read_workbook

TODAY = date(2026, 11, 2)
RED = "FFF6B9A8"
PAGE = FindingsPage(
    "Title", ("A sentence.",), (("Total", D("10.50")),), ("No.", "Where", "What", "", "", "", "Worth"), (), ()
)


@pytest.fixture(scope="module")
def returned(tmp_path_factory):
    """A desk, and what four clients sent back."""
    return demo.run(tmp_path_factory.mktemp("marked"), TODAY)


@pytest.fixture(scope="module")
def copies(returned, tmp_path_factory):
    """Each returned file with its report and its marked copy."""
    desk, files = returned
    folder = tmp_path_factory.mktemp("copies")
    reports = {path: check_file(path, desk, TODAY) for path in files}
    return [(path, report, write_marked_copy(path, report, folder / path.name)) for path, report in reports.items()]


@cache
def opened(path):
    """A file of `returned` or `copies` as openpyxl reads it, to look at."""
    return openpyxl.load_workbook(path)


def parts_of(path):
    with zipfile.ZipFile(path) as package:
        return {name: package.read(name) for name in package.namelist()}


def cell_of(path, name):
    """The address of a named cell."""
    area = read_workbook(path).resolve(name)
    return CellAddress(area.sheet, area.top, area.left).cell


def mark(path, target, *marks, page=PAGE):
    with target.open("wb") as file:
        write_marks(path, file, marks, page, 2)
    return target


# As returned


def test_the_file_itself_is_left_as_it_came(returned, tmp_path):
    desk, files = returned
    before = [path.read_bytes() for path in files]
    for path in files:
        write_marked_copy(path, check_file(path, desk, TODAY), tmp_path / path.name)
    assert [path.read_bytes() for path in files] == before


def test_formulas_values_and_names_of_the_copy_are_those_returned(copies):
    for path, _, copy in copies:
        before, after = read_workbook(path), read_workbook(copy)
        assert after.sheets[0].name == "Findings"
        assert after.sheets[1 : 1 + len(before.sheets)] == before.sheets
        assert (after.names, after.local_names) == (before.names, before.local_names)


def test_parts_that_no_mark_touches_keep_their_bytes(copies):
    path, _, copy = copies[1]  # two findings on the first sheet, and figures that differ on two
    before, after = parts_of(path), parts_of(copy)
    changed = {name for name in before if after.get(name) != before[name]}
    assert changed == {
        "[Content_Types].xml", "xl/workbook.xml", "xl/_rels/workbook.xml.rels", "xl/styles.xml",
        "xl/worksheets/sheet1.xml", "xl/worksheets/sheet3.xml",
    }  # fmt: skip


def test_print_areas_and_page_set_up_stay_with_their_sheets(copies):
    for path, _, copy in copies:
        before, after = opened(path), opened(copy)
        for sheet in before.worksheets:
            now = after[sheet.title]
            assert (now.print_area, now.page_setup.paperSize) == (sheet.print_area, sheet.page_setup.paperSize)
            assert now.column_dimensions["D"].width == sheet.column_dimensions["D"].width
            assert now.merged_cells.ranges == sheet.merged_cells.ranges
            assert len(now.data_validations.dataValidation) == len(sheet.data_validations.dataValidation)
            assert len(now.conditional_formatting) == len(sheet.conditional_formatting)


def test_only_the_findings_are_selected(copies):
    for *_, copy in copies:
        book = opened(copy)
        assert book.active.title == "Findings"
        assert [sheet.title for sheet in book.worksheets if sheet.sheet_view.tabSelected] == ["Findings"]


# The marks


def test_each_finding_fills_and_notes_its_cell(copies):
    seen = 0
    for _, report, copy in copies:
        book = opened(copy)
        for finding in (finding for finding in report.findings if finding.cell):
            cell = book[finding.sheet][finding.cell]
            assert cell.fill.fgColor.rgb == (FREE if finding.kind == "input-changed" else DISPUTING)
            assert finding.message in cell.comment.text
            seen += 1
    assert seen == 5  # two, one and two edits in demo.ANSWERS; the first client changed nothing


def test_a_mark_changes_nothing_of_a_cell_but_its_fill(copies):
    path, _, copy = copies[3]
    before, after = (opened(file)["Quote"][cell_of(path, "delivery")] for file in (path, copy))
    assert before.fill.fgColor.rgb != after.fill.fgColor.rgb
    for aspect in ("number_format", "font", "border", "alignment", "protection"):
        assert repr(getattr(after, aspect)) == repr(getattr(before, aspect))


def test_the_findings_sheet_has_the_totals_and_a_link_to_each_cell(copies):
    path, report, copy = copies[3]
    sheet = opened(copy)["Findings"]
    values = [cell.value for row in sheet.iter_rows() for cell in row if cell.value is not None]
    for total in (report.issued, report.sheet, report.engine, report.worked_out):
        assert float(total) in values
    assert {cell.hyperlink.location for row in sheet.iter_rows() for cell in row if cell.hyperlink} == {
        f"'Quote'!{cell_of(path, name)}" for name in ("days", "delivery")
    }  # fmt: skip
    assert sheet["C11"].value == "input-changed:days"  # the largest effect stands first
    assert "-0.01 is left over: some of these changes affect what others are worth." in values


def test_the_steps_to_the_total_are_those_that_explain_gives(copies):
    """The second client's wider floor: a figure that differs is noted at its cell and is a step of the last sheet."""
    path, report, copy = copies[1]
    book = opened(copy)
    sheet, explained = book["How it came about"], WorkedOut(returned_quote(path, Desk(Path(report.desk))))
    steps = explain(explained, "total")
    assert [row[2].value for row in sheet.iter_rows(min_row=5)] == [step.value for step in steps]
    assert [row[0].hyperlink.location for row in sheet.iter_rows(min_row=5, max_row=5)] == [
        f"'Quote'!{cell_of(path, 'total')}"
    ]
    differing = [step for step in steps if step.differs]
    assert {step.name for step in differing} >= {"total", "tax", "hire_1", "panels_1", "width_1"}
    for step in differing:
        place = explained.returned.cells[step.name].place
        assert step.value in book[place.sheet][place.cell].comment.text


def test_a_figure_that_is_as_issued_has_no_steps(copies):
    assert "How it came about" not in opened(copies[0][2]).sheetnames


def test_a_file_without_findings_is_copied_too(copies):
    _, report, copy = copies[0]
    assert not report.findings
    assert opened(copy)["Findings"]["A1"].value == "Q0001 revision 1: agrees"


# In a spreadsheet program


def test_libreoffice_opens_it_and_works_out_what_was_returned(copies, soffice, tmp_path):
    chosen = copies[:: extent(2, 1)]
    names = [path.name for path, *_ in chosen]
    (tmp_path / "returned").mkdir(), (tmp_path / "marked").mkdir()
    soffice.convert([path for path, *_ in chosen], tmp_path / "returned")
    soffice.convert([copy for *_, copy in chosen], tmp_path / "marked")
    for name in names:
        before, after = (read_workbook(tmp_path / folder / name) for folder in ("returned", "marked"))
        values = [{place: cell.value for place, cell in sheet.cells.items()} for sheet in before.sheets]
        assert [{place: cell.value for place, cell in sheet.cells.items()} for sheet in after.sheets[1:]][
            : len(values)
        ] == values


def test_libreoffice_shows_the_notes_and_prints_pages_more(copies, soffice, tmp_path):
    path, report, copy = copies[3]
    (ods,) = soffice.convert([copy], tmp_path, to="ods")
    noted = sum(cell.comment is not None for sheet in openpyxl.load_workbook(copy) for row in sheet for cell in row)
    assert noted > len(report.findings)
    assert zipfile.ZipFile(ods).read("content.xml").count(b"<office:annotation ") == noted
    before = shutil.copy(path, tmp_path / "before.xlsx")
    printed = soffice.convert([before, copy], tmp_path, to="pdf")
    pages = [len(re.findall(rb"/Type\s*/Page\b", file.read_bytes())) for file in printed]
    assert pages[1] > pages[0] + 1


def test_files_that_other_programs_saved_are_marked_likewise(returned, soffice, tmp_path):
    desk, files = returned
    (tmp_path / "libreoffice").mkdir()
    saved = soffice.convert(files[3:], tmp_path / "libreoffice")
    book = openpyxl.load_workbook(files[3])
    book.save(tmp_path / "openpyxl.xlsx")
    for path in (*saved, tmp_path / "openpyxl.xlsx"):
        copy = write_marked_copy(path, check_file(path, desk, TODAY), marked_path(path))
        _, *sheets, steps = read_workbook(copy).sheets
        assert sheets == [*read_workbook(path).sheets] and steps.name == STEPS
        assert openpyxl.load_workbook(copy)["Quote"][cell_of(path, "delivery")].fill.fgColor.rgb == DISPUTING


# Whatever is in the file


def test_a_clients_own_notes_stay(returned, tmp_path):
    _, files = returned
    both, theirs, ours = (cell_of(files[1], name) for name in ("width_1", "length_1", "width_2"))
    book = openpyxl.load_workbook(files[1])
    for cell, text in ((both, "We measured again."), (theirs, "New name.")):
        book["Quote"][cell].comment = openpyxl.comments.Comment(text, "A client")
    book.save(tmp_path / "noted.xlsx")
    copy = mark(
        tmp_path / "noted.xlsx", tmp_path / "copy.xlsx", *(Mark("Quote", cell, "Ours.", RED) for cell in (both, ours))
    )
    sheet = openpyxl.load_workbook(copy)["Quote"]
    notes = {cell: sheet[cell].comment.text for cell in (both, theirs, ours)}
    assert notes == {both: "We measured again.\nOurs.", theirs: "New name.", ours: "Ours."}


HOSTILE = (
    "=1+1",
    '=HYPERLINK("http://x.example")',
    "+1",
    "@SUM(1)",
    "_x0041_",
    "a\x01b",
    "\u202eevil",
    "<b>&amp;",
    "x" * 40_000,
)


def test_a_clients_text_never_becomes_a_formula(tmp_path):
    desk = init(tmp_path / "desk")
    path, content = issue(desk, desk.card(), demo.EVENTS[0], next(desk.numbers()), TODAY)
    formula = '=HYPERLINK("http://x.example","=1")'
    back = demo.retype(path, tmp_path / "back.xlsx", content, {"client": formula, "hourly_rate": formula})
    copy = write_marked_copy(back, check_file(back, desk, TODAY), tmp_path / "copy.xlsx")
    findings = read_workbook(copy).sheets[0]
    assert all(cell.formula is None for cell in findings.cells.values())
    assert formula in [cell.value for cell in findings.cells.values()]
    assert openpyxl.load_workbook(copy)["Quote"][cell_of(back, "client")].data_type == "s"


@settings(max_examples=30)
@given(st.one_of(st.sampled_from(HOSTILE), st.text(max_size=50)))
def test_any_text_reads_back_as_text(tmp_path_factory, text):
    folder = tmp_path_factory.mktemp("text")
    path = handmade.pack(folder / "back.xlsx", handmade.parts("<row><c><v>1</v></c></row>"))
    page = FindingsPage(text, (), (), PAGE.headings, (FindingRow("Only", "A1", (text, "", "", ""), None, RED),), ())
    copy = mark(path, folder / "copy.xlsx", Mark("Only", "A1", text or "x", RED), page=page)
    cells = read_workbook(copy).sheets[0].cells
    shown = text if len(text) <= 300 else text[:299] + "…"
    assert (cells[1, 1].value or "") == text[:32_767] and (cells[5, 3].value or "") == shown
    assert not any(cell.formula for cell in cells.values())
    openpyxl.load_workbook(copy)


ROWS = {
    "counted": ("<row><c><v>1</v></c><c><v>2</v></c></row><row><c><v>3</v></c></row>", "B2"),
    "placed": ('<row r="2" spans="1:1"><c r="A2"><v>1</v></c><c r="D2"><v>2</v></c></row>', "C2"),
    "no such row": ('<row r="2"><c r="A2"><v>1</v></c></row><row r="9"/>', "E5"),
    "strange style": ('<row><c s="999"><v>1</v></c><c s="x"><v>1</v></c></row>', "A1"),
}


@pytest.mark.parametrize(
    ("main", "office"), [(handmade.MAIN, handmade.OFFICE), handmade.STRICT], ids=["transitional", "strict"]
)
@pytest.mark.parametrize(("rows", "cell"), ROWS.values(), ids=ROWS)
def test_a_sheet_of_any_spelling_is_marked_in_order(tmp_path, rows, cell, main, office):
    path = handmade.pack(tmp_path / "back.xlsx", handmade.parts(rows, main=main, office=office))
    copy = mark(path, tmp_path / "copy.xlsx", Mark("Only", cell, "Here.", RED))
    assert read_workbook(copy).sheets[1:] == read_workbook(path).sheets
    sheet = etree.fromstring(parts_of(copy)["xl/worksheets/sheet1.xml"])
    places = [element.get("r") for element in sheet.iter(f"{{{main}}}c")]
    assert places == sorted(places, key=lambda place: (place[1:], place)) and cell in places
    if main == handmade.MAIN and "999" not in rows:  # openpyxl reads no other form, and no style that is not there
        assert openpyxl.load_workbook(copy)["Only"][cell].fill.fgColor.rgb == RED


def test_a_sheet_called_findings_keeps_its_name(tmp_path):
    members = handmade.parts("<row><c><v>1</v></c></row>")
    members["xl/workbook.xml"] = members["xl/workbook.xml"].replace('"Only"', '"FINDINGS"')
    copy = mark(handmade.pack(tmp_path / "back.xlsx", members), tmp_path / "copy.xlsx")
    assert [sheet.name for sheet in read_workbook(copy).sheets] == ["Findings 2", "FINDINGS"]


# What is left behind

CELLS = (
    '<row r="1"><c r="A1"><f>[1]Prices!A1*2</f><v>84</v></c><c r="B1"><f>A1+1</f><v>85</v></c>'
    '<c r="C1" t="str"><f>"[1]"&amp;"a|b"</f><v>[1]a|b</v></c></row>'
)


@pytest.fixture
def foreign(tmp_path):
    """A workbook with macros, a link to another workbook, an embedded object and a linked picture."""
    members = handmade.parts(CELLS, names='<definedName name="there">[1]Prices!$A$1</definedName>')
    office, main = handmade.OFFICE, handmade.MAIN
    members["[Content_Types].xml"] = members["[Content_Types].xml"].replace(
        f"{handmade.SPREADSHEET}.sheet.main+xml", "application/vnd.ms-excel.sheet.macroEnabled.main+xml"
    )
    members["xl/workbook.xml"] = members["xl/workbook.xml"].replace(
        "</sheets>", '</sheets><externalReferences><externalReference r:id="rId7"/></externalReferences>'
    )
    members["xl/_rels/workbook.xml.rels"] = handmade.relationships(
        ("rId1", "worksheet", "worksheets/sheet1.xml"), ("rId2", "sharedStrings", "sharedStrings.xml"),
        ("rId7", "externalLink", "externalLinks/externalLink1.xml"), ("rId8", "vbaProject", "vbaProject.bin"),
        ("rId9", "calcChain", "calcChain.xml"),
    )  # fmt: skip
    members["xl/worksheets/sheet1.xml"] = members["xl/worksheets/sheet1.xml"].replace(
        "</sheetData>",
        f'</sheetData><oleObjects xmlns:r="{office}"><oleObject shapeId="1" r:id="rId1"/></oleObjects>',
    )
    members["xl/worksheets/_rels/sheet1.xml.rels"] = handmade.relationships(
        ("rId1", "oleObject", "../embeddings/oleObject1.bin")
    ).replace(
        "</R",
        f'<Relationship Id="rId2" TargetMode="External" Type="{office}/image" Target="http://x.example/a.png"/></R',
    )
    members |= {
        "xl/vbaProject.bin": "macros", "xl/embeddings/oleObject1.bin": "object",
        "xl/calcChain.xml": f'<calcChain xmlns="{main}"/>',
        "xl/externalLinks/externalLink1.xml": f'<externalLink xmlns="{main}"/>', "xl/lost.bin": "nothing leads here",
    }  # fmt: skip
    return handmade.pack(tmp_path / "back.xlsm", members)


def test_macros_links_and_objects_are_left_behind_and_their_figures_stay(foreign, tmp_path):
    copy = mark(foreign, tmp_path / "copy.xlsx", Mark("Only", "A1", "Here.", RED))
    book, parts = read_workbook(copy), parts_of(copy)
    assert book.observations == ()
    assert not [name for name in parts if re.search("vba|embedd|external|calcChain|lost", name)]
    everything = b"".join(parts.values())
    assert not re.search(rb"x\.example|macroEnabled|oleObject|externalReference", everything)
    cells = book.sheets[1].cells
    assert cells[1, 1] == (D(84), None)  # it read another workbook
    assert cells[1, 2] == (D(85), "A1+1") and cells[1, 3].formula == '"[1]"&"a|b"'
    assert book.names["there"] == "#REF!"


def test_the_copy_of_a_foreign_file_opens(foreign, soffice, tmp_path):
    copy = mark(foreign, tmp_path / "copy.xlsx", Mark("Only", "B1", "Here.", RED))
    assert openpyxl.load_workbook(copy)["Only"]["B1"].comment.text == "Here."
    (tmp_path / "out").mkdir()
    assert read_workbook(soffice.convert([copy], tmp_path / "out")[0]).sheets[1].cells[1, 2].value == 85


def test_a_table_filled_from_elsewhere_keeps_its_cells_and_asks_nobody(tmp_path):
    """A table that a query filled (ECMA-376 part 1, 18.5 and 18.12): its query goes, and what names it."""
    members = handmade.parts(
        '<row r="1"><c r="A1" t="str"><v>Price</v></c></row><row r="2"><c r="A2"><v>7</v></c></row>'
    )
    members["xl/worksheets/sheet1.xml"] = members["xl/worksheets/sheet1.xml"].replace(
        "</sheetData>", f'</sheetData><tableParts xmlns:r="{handmade.OFFICE}"><tablePart r:id="rId1"/></tableParts>'
    )
    members["xl/worksheets/_rels/sheet1.xml.rels"] = handmade.relationships(("rId1", "table", "../tables/table1.xml"))
    members["xl/tables/table1.xml"] = (
        f'<table xmlns="{handmade.MAIN}" id="1" name="T" displayName="T" ref="A1:A2" tableType="queryTable">'
        '<tableColumns count="1"><tableColumn id="1" name="Price" queryTableFieldId="1"/></tableColumns></table>'
    )
    members["xl/tables/_rels/table1.xml.rels"] = handmade.relationships(
        ("rId1", "queryTable", "../queryTables/queryTable1.xml")
    )
    members["xl/queryTables/queryTable1.xml"] = f'<queryTable xmlns="{handmade.MAIN}" name="q" connectionId="1"/>'
    parts = parts_of(mark(handmade.pack(tmp_path / "back.xlsx", members), tmp_path / "copy.xlsx"))
    assert not re.search(rb"(?i)querytable|connectionId", b"".join(parts.values()))
    assert b'<tableColumn id="1" name="Price"' in parts["xl/tables/table1.xml"]


def test_a_sheet_of_commands_becomes_a_blank_one(tmp_path):
    members = handmade.parts("<row><c><v>1</v></c></row>")
    members["xl/workbook.xml"] = members["xl/workbook.xml"].replace(
        "</sheets>", '<sheet name="Macro1" sheetId="2" state="veryHidden" r:id="rId5"/></sheets>'
    )
    members["xl/_rels/workbook.xml.rels"] = handmade.relationships(
        ("rId1", "worksheet", "worksheets/sheet1.xml"), ("rId5", "xlMacrosheet", "macrosheets/sheet1.xml")
    )
    members["xl/macrosheets/sheet1.xml"] = f'<macrosheet xmlns="{handmade.MAIN}"><f>EXEC("calc")</f></macrosheet>'
    copy = mark(handmade.pack(tmp_path / "back.xlsx", members), tmp_path / "copy.xlsx")
    assert b"EXEC" not in b"".join(parts_of(copy).values())
    assert openpyxl.load_workbook(copy).sheetnames == ["Findings", "Only", "Macro1"]


# A damaged or hand-made package

GARBAGE = ("", "-1", "999999999999", "x", "'", "../../x", "rId1", "1e9")


def damaged(data: bytes, choose) -> bytes:
    """A part with one element or attribute taken out, doubled, or made nonsense of."""
    root = etree.fromstring(data)
    element = choose([each for each in root.iter() if isinstance(each.tag, str)][:400])
    parent = element.getparent()
    match choose(("attribute", "remove", "double", "empty")):
        case "attribute" if element.attrib:
            element.set(choose(list(element.attrib)), choose(GARBAGE))
        case "remove" if parent is not None:
            parent.remove(element)
        case "double" if parent is not None:
            parent.append(deepcopy(element))
        case "empty":
            element.clear()
    return etree.tostring(root)


@pytest.fixture(scope="module")
def noted(copies):
    """A workbook with notes, marks and links: a marked copy itself, to be marked again."""
    return copies[3][2]


def _copied_or_refused(noted, tmp_path_factory, data):
    members = parts_of(noted)
    for part in data.draw(
        st.lists(st.sampled_from([name for name in members if "theme" not in name]), min_size=1, max_size=3)
    ):
        members[part] = damaged(members[part], lambda options: data.draw(st.sampled_from(options)))
    folder = tmp_path_factory.mktemp("damaged")
    path = handmade.pack(folder / "back.xlsx", members)
    try:
        before = read_workbook(path)
        copy = mark(path, folder / "copy.xlsx", Mark("Quote", "D19", "Here.", RED), Mark("Quote", "Z99", "There.", RED))
    except QuotebookError as error:
        assert "\n" not in str(error)
    else:
        assert read_workbook(copy).sheets[1:] == before.sheets


@settings(max_examples=extent(5, 15))
@given(st.data())
def test_a_damaged_package_is_copied_or_refused_in_a_sentence(noted, tmp_path_factory, data):
    _copied_or_refused(noted, tmp_path_factory, data)


@pytest.mark.slow
@settings(max_examples=500)
@given(st.data())
def test_a_damaged_package_is_copied_or_refused_at_length(noted, tmp_path_factory, data):
    _copied_or_refused(noted, tmp_path_factory, data)


# What cannot be marked


def test_an_ods_says_what_to_save_as(returned, soffice, tmp_path):
    desk, files = returned
    (ods,) = soffice.convert(files[:1], tmp_path, to="ods")
    with pytest.raises(Misuse, match=r"save it as \.xlsx"):
        write_marked_copy(ods, check_file(ods, desk, TODAY), marked_path(ods))
    assert [path.name for path in tmp_path.iterdir()] == [ods.name]


def test_what_cannot_be_read_is_not_marked(returned, tmp_path):
    (tmp_path / "back.xlsx").write_text("no workbook")
    with pytest.raises(Misuse, match="nothing to mark"):
        write_marked_copy(
            tmp_path / "back.xlsx", check_file(tmp_path / "back.xlsx", returned[0]), tmp_path / "copy.xlsx"
        )


def test_a_marked_copy_that_is_there_is_left(returned, tmp_path):
    desk, files = returned
    report, target = check_file(files[0], desk, TODAY), tmp_path / "copy.xlsx"
    target.write_text("notes of mine")
    with pytest.raises(Misuse, match="exists already"):
        write_marked_copy(files[0], report, target)
    assert target.read_text() == "notes of mine"
    assert write_marked_copy(files[0], report, target, overwrite=True).stat().st_size > 10_000
