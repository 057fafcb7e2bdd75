"""What a person sees besides the cells: told in one line each and disputed by nobody; ours is never told."""

from copy import deepcopy

import pytest
from edits import LINK, MAIN, Edit
from lxml import etree

from quotebook.spreadsheets.appearance import is_odd
from quotebook.spreadsheets.cells import CellAddress, position_of
from quotebook.spreadsheets.xlsx_styles import is_cut

KINDS = f"{LINK[1:].partition('}')[0]}"
TERM = CellAddress("Terms and cautions", 3, 3)
TYPES = "{http://schemas.openxmlformats.org/package/2006/content-types}"
RELATIONSHIPS = "{http://schemas.openxmlformats.org/package/2006/relationships}"


def element(tag: str, *children, **attributes):
    made = etree.Element(f"{MAIN}{tag}", attributes)
    made.extend(children)
    return made


def before(root, tags: tuple[str, ...], made) -> None:
    """Puts an element before the first of some others, or at the end."""
    at = next((index for index, child in enumerate(root) if etree.QName(child).localname in tags), len(root))
    root.insert(at, made)


def place(hand: Edit, name: str) -> CellAddress:
    """The cell of a name on the sheet with the price."""
    sheet, _, cell = hand.name(name).text.rpartition("!")
    return CellAddress(sheet, *position_of(cell))


def hidden_row(hand: Edit) -> None:
    hand.cell(place(hand, "tax")).getparent().set("hidden", "1")


def low_row(hand: Edit) -> None:
    hand.cell(place(hand, "tax")).getparent().set("ht", "1.5")


def narrow_column(hand: Edit) -> None:
    before(hand.sheet("Rates").find(f"{MAIN}cols"), (), element("col", min="4", max="4", width="0.1", customWidth="1"))


def hidden_column(hand: Edit) -> None:
    before(hand.sheet("Rates").find(f"{MAIN}cols"), (), element("col", min="4", max="4", width="0", customWidth="1"))


def link(hand: Edit, sheet: int, kind: str, part: str, data: bytes) -> None:
    """A part that a sheet leads to."""
    hand.parts[f"xl/{part}"] = data
    types, content = hand.root("[Content_Types].xml"), "application/vnd.openxmlformats-officedocument."
    content += {"drawing": "drawing+xml", "vmlDrawing": "vmlDrawing"}.get(kind, f"spreadsheetml.{kind}+xml")
    types.append(types.makeelement(f"{TYPES}Override", PartName=f"/xl/{part}", ContentType=content))
    hand.parts[f"xl/worksheets/_rels/sheet{sheet}.xml.rels"] = (
        f'<Relationships xmlns="{RELATIONSHIPS[1:-1]}"><Relationship Id="rId9" Type="{KINDS}/{kind}" '
        f'Target="../{part}"/></Relationships>'
    ).encode()


def comment(hand: Edit) -> None:
    data = (
        f'<comments xmlns="{MAIN[1:-1]}"><authors><author/></authors><commentList><comment ref="K42" authorId="0">'
        "<text><r><t>As agreed, 900.</t></r></text></comment></commentList></comments>"
    )
    link(hand, 1, "comments", "comments1.xml", data.encode())


def footer(hand: Edit) -> None:
    hand.sheet("Quote").find(f"{MAIN}headerFooter")[0].text = "&LQ0001 · 1&CLess 10 %&R&P / &N"


def print_area(hand: Edit) -> None:
    areas = (
        name for name in hand.names() if name.get("name") == "_xlnm.Print_Area" and name.get("localSheetId") == "4"
    )
    next(areas).text = "'Terms and cautions'!$A$1:$D$4"


def picture(hand: Edit) -> None:
    space = "http://schemas.openxmlformats.org/drawingml/2006/spreadsheetDrawing"
    corner = "<{0}><col>9</col><row>41</row></{0}>"
    data = (
        f'<wsDr xmlns="{space}"><twoCellAnchor>{corner.format("from")}{corner.format("to")}<sp/></twoCellAnchor></wsDr>'
    )
    link(hand, 1, "drawing", "drawings/drawing1.xml", data.encode())


def style(hand: Edit, cell: CellAddress, code: str = "", colour: str = "", size: str = "") -> None:
    """Gives a cell a format of its own: a number format, or a colour or a size of its text."""
    root = hand.root("xl/styles.xml")
    sections = {etree.QName(section).localname: section for section in root}
    made = element("xf")
    if code:
        sections["numFmts"].append(element("numFmt", numFmtId="999", formatCode=code))
        made.set("numFmtId", "999")
    if colour or size:
        sections["fonts"].append(element("font", element("sz", val=size or "10"), element("color", rgb=colour)))
        made.set("fontId", str(len(sections["fonts"]) - 1))
    sections["cellXfs"].append(made)
    hand.cell(cell).set("s", str(len(sections["cellXfs"]) - 1))


def rule(hand: Edit) -> None:
    cells = place(hand, "labour").cell
    made = element("conditionalFormatting", element("cfRule", type="expression", priority="1"), sqref=cells)
    before(hand.sheet("Quote"), ("dataValidations", "printOptions", "pageMargins"), made)


def doubled(hand: Edit) -> None:
    hand.add("Quote (2)", "Quote").show("Quote", "hidden")


def total(hand: Edit) -> CellAddress:
    """The cell of the total."""
    return place(hand, "total")


def label(hand: Edit) -> CellAddress:
    """The cell of its label."""
    return total(hand)._replace(column=2)


def rule_of_ours_elsewhere(hand: Edit) -> None:
    """One of ours for another cell that holds something, as a rule of its own among all."""
    ours = next(hand.sheet("Quote").iter(f"{MAIN}conditionalFormatting"))
    made = deepcopy(ours)
    made.set("sqref", place(hand, "labour").cell)
    for number, each in enumerate(made, 90):
        each.set("priority", str(number))
    ours.addnext(made)


ADDED = {
    "lines-hidden": hidden_row,
    "comment-added": comment,
    "page-changed": footer,
    "picture-added": picture,
    "format-changed": lambda hand: style(hand, total(hand), code='"900.00"'),
    "text-unseen": lambda hand: style(hand, label(hand), colour="FFFFFFFF"),
    "rule-added": rule,
    "sheet-doubled": doubled,
}  # fmt: skip
"""An edit for each kind of what is told."""

PLACES = {
    "lines-hidden": ("Quote", "A{tax}"), "comment-added": ("Quote", "K42"), "page-changed": ("Quote", ""),
    "picture-added": ("Quote", "J42"), "format-changed": ("Quote", "D{total}"), "text-unseen": ("Quote", "B{total}"),
    "rule-added": ("Quote", "{labour}"), "sheet-doubled": ("Quote (2)", ""),
}  # fmt: skip
"""Where each is told; `{total}` is the row of the total, `{tax}` that of the tax, `{labour}` the cell of labour."""


def merged_over(hand: Edit) -> None:
    """The label of the total merged with the total: programs show the label alone."""
    at = total(hand)
    for merged in list(hand.sheet("Quote").iter(f"{MAIN}mergeCell")):
        if merged.get("ref").startswith(f"B{at.row}:"):
            merged.getparent().remove(merged)
    hand.sheet("Quote").find(f"{MAIN}mergeCells").append(element("mergeCell", ref=f"B{at.row}:D{at.row}"))


def ours_that_hides(hand: Edit, *look) -> None:
    """One of our own rules, that of the total, with another look."""
    looks = hand.root("xl/styles.xml").find(f"{MAIN}dxfs")
    looks.append(element("dxf", *look))
    rule = next(each for each in hand.sheet("Quote").iter(f"{MAIN}cfRule") if "D9" in each.getparent().get("sqref"))
    rule.set("dxfId", str(len(looks) - 1))


def font(**colour) -> object:
    return element("font", element("color", **colour))


def fill(code: str) -> object:
    """A fill as the looks of rules have it."""
    return element("fill", element("patternFill", element("bgColor", rgb=code)))


def of_later_excel(hand: Edit) -> None:
    """A rule among extensions, with its look in it, for the total."""
    x14 = "http://schemas.microsoft.com/office/spreadsheetml/2009/9/main"
    xm = "http://schemas.microsoft.com/office/excel/2006/main"
    hand.sheet("Quote").append(
        etree.fromstring(
            f'''<extLst xmlns="{MAIN[1:-1]}"><ext uri="{{78C0D931-6437-407d-A8EE-F0AAD7539E65}}">
            <x14:conditionalFormattings xmlns:x14="{x14}" xmlns:xm="{xm}"><x14:conditionalFormatting>
            <x14:cfRule type="expression" priority="1" id="{{1}}"><xm:f>TRUE</xm:f>
            <x14:dxf><font><color rgb="FFFFFFFF"/></font></x14:dxf></x14:cfRule><xm:sqref>D9</xm:sqref>
            </x14:conditionalFormatting></x14:conditionalFormattings></ext></extLst>'''
        )
    )


def painted_by_value(hand: Edit) -> None:
    """Our rule for the total, as a scale of colours."""
    rule = next(each for each in hand.sheet("Quote").iter(f"{MAIN}cfRule") if "D9" in each.getparent().get("sqref"))
    rule[:] = [element("colorScale", *(element("cfvo", type=end) for end in ("min", "max")))]
    rule[0].extend([element("color", rgb="FF1F5C4D"), element("color", rgb="FF1F5C4D")])
    rule.set("type", "colorScale")


def filled(hand: Edit, cell: CellAddress, made, **font_colour) -> None:
    """Gives a cell a fill of its own, and a colour of its text."""
    style(hand, cell, size="10")
    root = hand.root("xl/styles.xml")
    fills = root.find(f"{MAIN}fills")
    fills.append(element("fill", made))
    root.find(f"{MAIN}cellXfs")[-1].set("fillId", str(len(fills) - 1))
    root.find(f"{MAIN}fonts")[-1][-1].attrib.clear()
    root.find(f"{MAIN}fonts")[-1][-1].attrib.update(font_colour)


def pattern(kind: str, front: str, back: str) -> object:
    return element("patternFill", element("fgColor", rgb=front), element("bgColor", rgb=back), patternType=kind)


VML = (
    '<xml xmlns:v="urn:schemas-microsoft-com:vml" xmlns:x="urn:schemas-microsoft-com:office:excel">'
    '<v:shapetype/><v:shape><x:ClientData ObjectType="{kind}"><x:Anchor>3, 0, 8, 0, 5, 0, 9, 0</x:Anchor>'
    "</x:ClientData></v:shape></xml>"
)


def vml(hand: Edit, kind: str = "Rect") -> None:
    """A drawing of the older kind, over the total."""
    link(hand, 1, "vmlDrawing", "drawings/vmlDrawing9.vml", VML.format(kind=kind).encode())


def struck_out_in_part(hand: Edit, inline: bool = False) -> None:
    """A part of a term, in a text of two runs: a shared one, or the cell's own."""
    cell, strings = hand.cell(TERM), hand.root("xl/sharedStrings.xml")
    text = strings[int(cell.findtext(f"{MAIN}v"))].findtext(f"{MAIN}t")
    runs = [element("r", element("t")), element("r", element("rPr", element("strike")), element("t"))]
    for run, said in zip(runs, (text[:9], text[9:]), strict=True):
        run[-1].text = said
    cell[:] = [element("is", *runs) if inline else element("v")]
    cell.set("t", "inlineStr" if inline else "s")
    if not inline:
        strings.append(element("si", *runs))
        cell[0].text = str(len(strings) - 1)


def pale_as_a_whole(hand: Edit) -> None:
    """A shared text in one run, which is white."""
    cell, strings = hand.cell(TERM), hand.root("xl/sharedStrings.xml")
    run = element("r", element("rPr", element("color", rgb="FFFFFFFF")), element("t"))
    run[-1].text = strings[int(cell.findtext(f"{MAIN}v"))].findtext(f"{MAIN}t")
    strings.append(element("si", run))
    cell.find(f"{MAIN}v").text = str(len(strings) - 1)


def aligned(hand: Edit, cell: CellAddress, **how) -> None:
    style(hand, cell, size="10")
    hand.root("xl/styles.xml").find(f"{MAIN}cellXfs")[-1].append(element("alignment", **how))


def in_font(hand: Edit, cell: CellAddress, name: str) -> None:
    style(hand, cell, size="10")
    hand.root("xl/styles.xml").find(f"{MAIN}fonts")[-1].append(element("name", val=name))


def repeated(hand: Edit) -> None:
    """The total repeated as often as its cell has room for: 55 for 5."""
    aligned(hand, total(hand), horizontal="fill")


MORE = [
    ("lines-hidden", hidden_column),
    ("lines-hidden", low_row),
    ("lines-hidden", narrow_column),
    ("page-changed", print_area),
    ("format-changed", lambda hand: style(hand, total(hand), code=";;;")),
    ("text-unseen", lambda hand: style(hand, label(hand), colour="FFFBFCFD")),
    ("text-unseen", lambda hand: style(hand, label(hand), colour="FF2B2B2B", size="1")),
    ("text-unseen", merged_over),
    ("text-unseen", struck_out_in_part),
    ("text-unseen", lambda hand: struck_out_in_part(hand, inline=True)),
    ("text-unseen", repeated),
    ("picture-added", vml),
    ("picture-added", lambda hand: hand.sheet("Quote").append(element("picture"))),
    ("text-unseen", lambda hand: filled(hand, label(hand), pattern("none", "", ""), theme="0")),
    ("text-unseen", lambda hand: filled(hand, label(hand), pattern("none", "", ""), theme="3", tint="0.95")),
    ("text-unseen", lambda hand: filled(hand, label(hand), pattern("none", "", ""), indexed="26")),
    ("text-unseen", lambda hand: filled(hand, label(hand), pattern("solid", "FF000000", "FFFFFFFF"), theme="1")),
    ("text-unseen", lambda hand: filled(hand, label(hand), pattern("darkGray", "FF000000", "FFFFFFFF"), rgb="404040")),
    ("text-unseen", lambda hand: filled(hand, label(hand), element("gradientFill"), rgb="000000")),
    ("lines-hidden", lambda hand: hand.cell(place(hand, "tax")).getparent().set("hidden", "t")),
    ("text-unseen", pale_as_a_whole),
    ("text-unseen", lambda hand: aligned(hand, label(hand), horizontal="left", indent="200")),
    ("text-unseen", lambda hand: in_font(hand, label(hand), "Wingdings")),
    ("lines-hidden", lambda hand: next(hand.sheet("Quote").iter(f"{MAIN}sheetView")).set("topLeftCell", "A12")),
    ("text-unseen", lambda hand: style(hand, total(hand), code="[White]#,##0.00")),
    ("text-unseen", lambda hand: style(hand, total(hand), code="[Color 6]#,##0.00")),
    ("format-changed", lambda hand: style(hand, label(hand), code="General;General;General;")),
    ("format-changed", lambda hand: style(hand, total(hand), code="[<900]General;")),
    ("rule-added", lambda hand: ours_that_hides(hand, font(rgb="FFFFFFFF"))),
    ("rule-added", lambda hand: ours_that_hides(hand, font(theme="0"))),
    ("rule-added", lambda hand: ours_that_hides(hand, fill("FF1F5C4D"))),
    ("rule-added", lambda hand: ours_that_hides(hand, element("numFmt", numFmtId="999", formatCode=";;;"))),
    ("rule-added", painted_by_value),
    ("rule-added", rule_of_ours_elsewhere),
]


def test_a_format_of_ours_on_another_cell_is_told(english):
    """The total said to be an exclamation mark, as the sheet has beside a line with a warning."""
    [told] = english.report(lambda hand: style(hand, total(hand), code='"!";;')).findings
    assert (told.kind, told.sheet, told.cell) == ("format-changed", "Quote", "D9")


def test_a_last_part_of_a_format_that_shows_the_number_as_it_is_says_nothing(english):
    """Gnumeric writes one where LibreOffice has left the format of a blank empty."""
    row, column, code = next(each for each in english.content.formats["Quote"] if each[2].endswith("yyyy;;"))
    day = CellAddress("Quote", row, column)
    assert english.report(lambda hand: style(hand, day, code=f"{code}General")).findings == ()


@pytest.mark.parametrize(("kind", "edit"), [*ADDED.items(), *MORE])
def test_what_a_person_sees_is_told_and_not_disputed(english, kind, edit):
    report = english.report(edit)
    [told] = report.findings
    assert (told.kind, told.effect, report.verdict) == (kind, None, "changed") and "\n" not in told.message


def test_a_rule_of_later_excel_is_told_beside_what_is_not_known_of_it(english):
    assert "rule-added" in {finding.kind for finding in english.report(of_later_excel).findings}


def test_a_print_area_is_told_on_its_sheet(english):
    [found] = english.report(print_area).findings
    assert (found.kind, found.sheet, found.cell) == ("page-changed", "Terms and cautions", "")
    assert found.message.startswith("Terms and cautions: the print area leaves out B5, C5, B6 and ")


def test_the_frame_of_a_comment_is_no_shape(english):
    assert english.report(lambda hand: vml(hand, "Note")).findings == ()


def test_what_is_said_names_the_place(english):
    said = {kind: english.report(edit).findings[0].message for kind, edit in ADDED.items()}
    assert said["lines-hidden"] == "Quote: row 28 hidden, with what is on it."
    assert said["comment-added"] == "Quote K42: a comment was added, “As agreed, 900.”."
    assert said["page-changed"] == "Quote: the header or footer now says “less 10”."
    assert said["format-changed"].startswith('Quote D9: the number format “"900.00"”')


@pytest.mark.parametrize(
    ("code", "odd"),
    [
        ("", False), ("General", False), ("#,##0.00", False), ("General;-General;", False),
        ("#,##0.00;\\-#,##0.00;;", False),
        ("0.00%", False), ("[Red]0.00", False), ("yyyy\\-mm\\-dd", False), ("[$-409]d\\-mmm\\-yy", False),
        (";;;", True), ("0.00;;", True), ('"900.00"', True), ('0.00" less 10 %"', True), ("\\9\\0\\0", True),
        ("#,##0,", True), ("0.0,,", True), ("[$EUR] 0.00", True), ("-0.00", True), ("9#", True), ("0 x", True),
        ("*9", True), ("# ??/16", False), ('_(* #,##0.00_);_(* \\(#,##0.00\\);_(* "-"??_);_(@_)', False),
    ],
)  # fmt: skip
def test_number_formats_with_words_or_nothing_in_them(code, odd):
    assert is_odd(code) == odd


@pytest.mark.parametrize(
    ("font", "cut"),
    [
        ('<sz val="8"/>', False),
        ('<sz val="3"/>', True),
        ('<sz val="8"/><vertAlign val="superscript"/>', False),
        ('<sz val="6"/><vertAlign val="superscript"/>', True),  # 58 % of it are 3.5 points
        ('<sz val="6"/><vertAlign val="subscript"/>', True),
        ('<sz val="6"/><vertAlign val="baseline"/>', False),
    ],
)
def test_a_small_text_is_smaller_where_it_is_raised(font, cut):
    assert is_cut(etree.fromstring(f"<font>{font}</font>")) == cut
