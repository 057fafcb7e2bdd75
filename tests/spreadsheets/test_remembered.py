"""What was read once of parts that files have alike is what reading them again would give."""

from dataclasses import fields

import handmade
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from quotebook.errors import Unreadable
from quotebook.spreadsheets import remembered, xlsx_plain_steps
from quotebook.spreadsheets.grammar import Unknowns
from quotebook.spreadsheets.package import LIMITS
from quotebook.spreadsheets.reading import read_workbook
from quotebook.spreadsheets.remembered import Bounded, Remembered
from quotebook.spreadsheets.xlsx_plain_steps import PlainSteps

WORKBOOK, LINKS, TYPES, SHEET, STYLES, THEME = (
    "xl/workbook.xml", "xl/_rels/workbook.xml.rels", "[Content_Types].xml", "xl/worksheets/sheet1.xml", "xl/styles.xml",
    "xl/theme/theme1.xml",
)  # fmt: skip
STYLE = (
    f'<styleSheet xmlns="{handmade.MAIN}"><fonts><font><color theme="1"/></font></fonts><fills><fill/></fills>'
    '<cellXfs><xf fontId="0" fillId="0"/></cellXfs>'
    '<dxfs><dxf><font><color rgb="FF112233"/></font></dxf></dxfs></styleSheet>'
)
COLOURS = (
    '<a:theme xmlns:a="http://schemas.openxmlformats.org/drawingml/2006/main"><a:themeElements><a:clrScheme>'
    '<a:dk1><a:srgbClr val="101010"/></a:dk1></a:clrScheme></a:themeElements></a:theme>'
)
ROWS = '<row r="1"><c r="A1" s="0"><f>Rate+1</f><v>2</v></c></row><row r="2"><c r="A2" t="s"><v>0</v></c></row>'
BEFORE = '<cols><col min="2" max="3" width="9"/></cols>'
BEHIND = (
    '<mergeCells><mergeCell ref="B1:C1"/></mergeCells><conditionalFormatting sqref="A1">'
    '<cfRule type="expression" dxfId="0" priority="1"><formula>TRUE</formula></cfRule></conditionalFormatting>'
    "<headerFooter><oddFooter>Q0001</oddFooter></headerFooter>"
)
WORKBOOK_LINKS = (
    ("rId1", "worksheet", "worksheets/sheet1.xml"), ("rId2", "sharedStrings", "sharedStrings.xml"),
    ("rId3", "styles", "styles.xml"), ("rId4", "theme", "theme/theme1.xml"),
)  # fmt: skip
MACROS = '<Default Extension="bin" ContentType="application/vnd.ms-office.vbaProject"/>'
PRINT_AREA = '<definedName name="_xlnm.Print_Area" localSheetId="0">Only!$A$1</definedName>'

EDITS = [
    (WORKBOOK, 'name="rate"', 'name="Rate"'),
    (WORKBOOK, 'name="rate"', 'name="r_x0041_"'),
    (WORKBOOK, 'name="rate"', 'name="rate" function="1"'),
    (WORKBOOK, "Only!$A$1", "Only!$A$2"),
    (WORKBOOK, "<definedNames>", f"<definedNames>{PRINT_AREA}"),
    (WORKBOOK, 'date1904="0"', 'date1904="1"'),
    (WORKBOOK, 'date1904="0"', 'date1904="perhaps"'),
    (WORKBOOK, "</workbook>", '<calcPr fullPrecision="0"/></workbook>'),
    (WORKBOOK, 'sheetId="1"', 'sheetId="1" state="hidden"'),
    (WORKBOOK, "</workbook>", "<x/></workbook>"),
    (WORKBOOK, "</workbook>", ""),
    (STYLES, 'theme="1"', 'rgb="FFFFFFFF"'),
    (STYLES, 'rgb="FF112233"', 'rgb="FFFFFFFF"'),
    (STYLES, "<fills>", "<x/><fills>"),
    (STYLES, STYLE, ""),
    (THEME, "101010", "FFFFFF"),
    (THEME, "</a:theme>", ""),
    (SHEET, "Q0001", "Q0002"),
    (SHEET, "Q0001", "the footer, with the number of a quote"),
    (SHEET, 'width="9"', 'width="0"'),
    (SHEET, 'ref="B1:C1"', 'ref="B1:C"'),
    (SHEET, "<oddFooter>", "<x/><oddFooter>"),
    (SHEET, 'dxfId="0"', 'dxfId="1"'),
    (SHEET, "<cols>", '<legacyDrawing/><cols hidden="1">'),
    (SHEET, '<row r="2">', '<row r="2" hidden="1">'),
    (SHEET, "<v>2</v>", "<v>3</v>"),
    (SHEET, 's="0"', 's="1"'),
    (LINKS, "/relationships/theme", "/relationships/oleObject"),
    (LINKS, "/relationships/theme", "/relationships/nothing"),
    (TYPES, "styles+xml", "strange+xml"),
    (STYLES, STYLES, "xl/Styles.xml"),
    ("xl/other.bin", "", "x"),
    ("xl/worksheets/_rels/sheet1.xml.rels", "", handmade.relationships(*WORKBOOK_LINKS)),
    (TYPES, "<Default ", '<Override PartName="/xl/sharedStrings.xml" ContentType="image/png"/><Default '),
]  # fmt: skip


def parts_with(edits):
    """The parts of a workbook with everything whose reading is kept, after some edits."""
    names = '<definedName name="rate">Only!$A$1</definedName>'
    parts = handmade.parts(ROWS, names=names, shared="<si><t>a</t></si>", properties='<workbookPr date1904="0"/>')
    parts[SHEET] = (
        parts[SHEET].replace("<sheetData>", f"{BEFORE}<sheetData>").replace("</sheetData>", f"</sheetData>{BEHIND}")
    )
    parts[STYLES], parts[THEME] = STYLE, COLOURS
    parts[LINKS] = handmade.relationships(*WORKBOOK_LINKS)
    kinds = ((STYLES, "spreadsheetml.styles"), (THEME, "theme"))
    types = "".join(
        f'<Override PartName="/{part}" ContentType="application/vnd.openxmlformats-officedocument.{kind}+xml"/>'
        for part, kind in kinds
    )
    parts[TYPES] = parts[TYPES].replace("</Types>", f"{MACROS}{types}</Types>")
    for part, old, new in edits:
        if old == part:
            parts[new] = parts.pop(part)
        else:
            parts[part] = parts.get(part, "").replace(old, new)
    return parts


def result(path, scale=1):
    try:
        book = read_workbook(path, scale)
    except Unreadable as error:
        return str(error)
    looks = [sheet.appearance for sheet in book.sheets]
    return book, looks


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    return tmp_path_factory.mktemp("remembered") / "hand.xlsx"


def anew(path):
    """What comes of a file of which nothing is known."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Remembered, "of", lambda self, made_of, unknowns, read: read())
        patch.setattr(Bounded, "keep", lambda self, *read, **limits: None)
        patch.setattr(xlsx_plain_steps, "_steps", PlainSteps)
        return result(path)


def test_the_workbook_is_clean_before_the_edits(path):
    book, _ = result(handmade.pack(path, parts_with([])))
    assert [each.what for each in book.unknown] == ["a formula that spells a name with other letters"]


@pytest.mark.parametrize("edit", EDITS, ids=lambda edit: f"{edit[0]} {edit[2][:40]}")
def test_every_edit_is_seen_when_the_workbook_is_known_without_it(path, edit):
    known = result(handmade.pack(path, parts_with([])))
    edited = result(handmade.pack(path, parts_with([edit])))
    assert edited == anew(path)
    assert edited != known


@given(st.lists(st.lists(st.sampled_from(EDITS), max_size=3, unique=True), min_size=1, max_size=3))
@settings(max_examples=60)
@example([[EDITS[0]], []])
def test_what_is_known_changes_nothing(path, files):
    for edits in files:
        handmade.pack(path, parts_with(edits))
        assert result(path) == anew(path)


def test_whoever_changes_a_workbook_changes_none_that_is_read_later(path):
    handmade.pack(path, parts_with([]))
    book, (look,) = result(path)
    book.names.clear()
    for field in fields(look):
        value = getattr(look, field.name)
        if value:
            value.clear()
    assert result(path) == anew(path)


def test_a_sheet_of_the_other_namespace_is_refused_where_it_is_known(path):
    main, office = handmade.STRICT
    known, strict = handmade.parts(""), handmade.parts("", main=main, office=office)
    for parts in (known, strict):
        parts[LINKS] = parts[LINKS].replace('/sharedStrings"', '/image"')
        parts[SHEET] = known[SHEET]
    assert result(handmade.pack(path, known)) == anew(path)
    assert "is not what its links say" in result(handmade.pack(path, strict))


def test_nothing_is_read_again_of_a_clean_part():
    memory, read = Remembered(), []
    for _ in range(2):
        assert memory.of((b"part", 1), Unknowns(), lambda: read.append(1) or "reading") == "reading"
    memory.of((b"part", 2), Unknowns(), lambda: read.append(2) or "reading")
    memory.of((b"qart", 1), Unknowns(), lambda: read.append(3) or "reading")
    assert read == [1, 2, 3]


def test_a_part_with_something_to_note_is_read_each_time():
    memory = Remembered()
    for _ in range(2):
        unknowns = Unknowns()
        memory.of((b"part",), unknowns, lambda: unknowns.note("x", "part") or "reading")  # noqa: B023 - called at once
        assert [each.what for each in unknowns] == ["x"]


@pytest.mark.parametrize(("most_bytes", "most_readings"), [(100, 1_000), (1_000, 4)])
def test_what_is_kept_is_bounded(monkeypatch, most_bytes, most_readings):
    monkeypatch.setattr(remembered, "MOST_BYTES", most_bytes)
    monkeypatch.setattr(remembered, "LONGEST", 60)
    monkeypatch.setattr(remembered, "MOST_READINGS", most_readings)
    memory = Remembered()
    for number in range(20):
        memory.of((b"%40d" % number,), Unknowns(), lambda: "reading")
        memory.of((b"%d" % number,), Unknowns(), lambda: "reading")
        memory.of((b"%61d" % number,), Unknowns(), lambda: "reading")
        assert len(memory._kept) <= most_readings
        assert sum(len(each) for key in memory._kept for each in key) <= most_bytes
        assert max(len(each) for key in memory._kept for each in key) <= 60


def test_the_steps_that_are_kept_are_bounded(monkeypatch):
    monkeypatch.setattr(xlsx_plain_steps, "MOST_STEPS", 3)
    monkeypatch.setattr(xlsx_plain_steps, "MOST_CHARACTERS", 200)
    monkeypatch.setattr(xlsx_plain_steps, "LONGEST_STEP", 60)
    steps = PlainSteps("ht")
    for number in range(1, 20):
        for cells in ("A", "B", "ABCD"):
            steps.of("</c>" + "".join(f'<c r="{column}{number}"/>' for column in cells))
            kept = [len(written) for written in steps._known]
            assert len(kept) <= 3 and sum(kept) <= 260 and max(kept, default=0) <= 60


def test_limits_of_a_small_file_are_not_those_of_a_large_one(path, monkeypatch):
    names = "".join(f'<definedName name="name_{number}">Only!$A$1</definedName>' for number in range(6))
    handmade.pack(path, handmade.parts(ROWS, names=names, shared="<si><t>a</t></si>"))
    monkeypatch.setitem(LIMITS, "defined names", 5)
    assert not isinstance(result(path, scale=2), str)
    assert "more than 5 defined names" in result(path)
