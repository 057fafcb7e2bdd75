"""What a person sees in an .ods besides the cells: told as in an .xlsx; what programs save of a quote is not told."""

import zipfile
from datetime import date
from pathlib import Path

import pytest
from lxml import etree
from mutating import CALCEXT, ODF, OFFICE_, TABLE, TEXT

from quotebook.checking.check import check_file
from quotebook.desk import Desk
from quotebook.spreadsheets.ods_formats import code_of

SAMPLES = Path(__file__).parent.parent.parent / "sample_sheets"
STYLE, FO = (f"{{{ODF.format(name)}}}" for name in ("style", "xsl-fo-compatible"))
NUMBER, DRAW = f"{{{ODF.format('datastyle')}}}", f"{{{ODF.format('drawing')}}}"
TODAY = date(2026, 11, 3)
TOTAL, LABOUR, LABEL = (9, 4), (25, 12), (9, 2)
"""Where the sample has the total, what labour costs, and the label of the total."""


class Ods:
    """The sample that LibreOffice saved as .ods, to be edited."""

    def __init__(self):
        with zipfile.ZipFile(SAMPLES / "Q0001-saved-as.ods") as package:
            self.parts = {name: package.read(name) for name in package.namelist()}
        self.content, self.styles = (etree.fromstring(self.parts[name]) for name in ("content.xml", "styles.xml"))
        self.quote = next(self.content.iter(f"{TABLE}table"))

    def save(self, path: Path) -> Path:
        self.parts["content.xml"], self.parts["styles.xml"] = map(etree.tostring, (self.content, self.styles))
        with zipfile.ZipFile(path, "w") as package:
            for name, data in self.parts.items():
                package.writestr(name, data)
        return path

    def row(self, number: int):
        count = 0
        for row in self.quote.iter(f"{TABLE}table-row"):
            count += int(row.get(f"{TABLE}number-rows-repeated", "1"))
            if count >= number:
                return row
        raise LookupError

    def cell(self, at: tuple[int, int]):
        count = 0
        for cell in self.row(at[0]):
            count += int(cell.get(f"{TABLE}number-columns-repeated", "1"))
            if count >= at[1]:
                return cell
        raise LookupError

    def style(self, family: str, kind: str, **said):
        """A new automatic style; `said` are its properties, with `_` for `:` and `-`."""
        automatic = self.content.find(f"{OFFICE_}automatic-styles")
        made = etree.SubElement(automatic, f"{STYLE}style", {f"{STYLE}name": "made", f"{STYLE}family": family})
        spaces = {"fo": FO, "style": STYLE}
        properties = {
            spaces[name.partition("_")[0]] + name.partition("_")[2].replace("_", "-"): value
            for name, value in said.items()
        }
        etree.SubElement(made, f"{STYLE}{kind}-properties", properties)
        return made

    def dress(self, at: tuple[int, int], kind: str = "text", **said):
        """Gives a cell a style of its own."""
        made = self.style("table-cell", kind, **said)
        self.cell(at).set(f"{TABLE}style-name", "made")
        return made

    def number_format(self, *content: tuple[str, str], **attributes):
        """Gives the total a number format of its own: elements with their texts."""
        made = etree.SubElement(
            self.content.find(f"{OFFICE_}automatic-styles"), f"{NUMBER}number-style", {f"{STYLE}name": "own"}
        )
        for tag, text in content:
            etree.SubElement(made, f"{NUMBER}{tag}", attributes if tag == "number" else {}).text = text
        self.dress(TOTAL).set(f"{STYLE}data-style-name", "own")
        return made

    def rule(self, at: str, style: str = "made"):
        formats = next(self.quote.iter(f"{CALCEXT}conditional-formats"))
        rule = etree.SubElement(
            formats, f"{CALCEXT}conditional-format", {f"{CALCEXT}target-range-address": f"Quote.{at}:Quote.{at}"}
        )
        said = {"apply-style-name": style, "value": "formula-is(TRUE())", "base-cell-address": f"Quote.{at}"}
        etree.SubElement(rule, f"{CALCEXT}condition", {f"{CALCEXT}{name}": value for name, value in said.items()})


def closed_group(ods: Ods) -> None:
    row = ods.row(LABOUR[0])
    group = etree.Element(f"{TABLE}table-row-group", {f"{TABLE}display": "false"})
    row.addprevious(group)
    group.append(row)


def low_row(ods: Ods) -> None:
    ods.style("table-row", "table-row", style_row_height="0.01in")
    ods.row(LABOUR[0]).set(f"{TABLE}style-name", "made")


def narrow_column(ods: Ods) -> None:
    ods.style("table-column", "table-column", style_column_width="0.2mm")
    list(ods.quote.iter(f"{TABLE}table-column"))[3].set(f"{TABLE}style-name", "made")


def pale_part(ods: Ods) -> None:
    ods.style("text", "text", fo_color="#fefefe")
    [paragraph] = ods.cell(LABEL).iter(f"{TEXT}p")
    text, paragraph.text = paragraph.text, None
    etree.SubElement(paragraph, f"{TEXT}span", {f"{TEXT}style-name": "made"}).text = text


def of_row(ods: Ods) -> None:
    """A style that the row gives to its cells, of which one has none of its own."""
    ods.dress(LABEL, fo_color="#ffffff")
    ods.cell(LABEL).attrib.pop(f"{TABLE}style-name")
    ods.row(LABEL[0]).set(f"{TABLE}default-cell-style-name", "made")


def footer(ods: Ods) -> None:
    for page in ods.styles.iter(f"{STYLE}footer"):
        for text in list(page.iter(f"{TEXT}p"))[:1]:
            etree.SubElement(text, f"{TEXT}span").text = "less 10 %"


def hiding_rule(ods: Ods, **said) -> None:
    """The rule of ours for the total, with another style."""
    ods.style("table-cell", "text", **said)
    rule = next(
        each for each in ods.quote.iter(f"{CALCEXT}conditional-format")
        if "D9" in each.get(f"{CALCEXT}target-range-address")
    )  # fmt: skip
    rule[0].set(f"{CALCEXT}apply-style-name", "made")


def rule_in_the_style(ods: Ods) -> None:
    """As OpenDocument itself has rules, and Gnumeric writes them."""
    ods.style("table-cell", "text", fo_color="#ffffff")
    own = ods.cell(LABEL).get(f"{TABLE}style-name")
    style = next(each for each in ods.content.iter(f"{STYLE}style") if each.get(f"{STYLE}name") == own)
    said = {f"{STYLE}condition": "is-true-formula(TRUE())", f"{STYLE}apply-style-name": "made"}
    etree.SubElement(style, f"{STYLE}map", said)


TOLD = [
    ("lines-hidden", lambda ods: ods.row(LABOUR[0]).set(f"{TABLE}visibility", "collapse")),
    ("lines-hidden", closed_group),
    ("lines-hidden", low_row),
    ("lines-hidden", narrow_column),
    ("page-changed", footer),
    ("page-changed", lambda ods: ods.quote.set(f"{TABLE}print-ranges", "Quote.A1:Quote.N8")),
    ("page-changed", lambda ods: ods.quote.set(f"{TABLE}print", "false")),
    ("format-changed", lambda ods: ods.number_format(("text", "900.00"))),
    ("format-changed", lambda ods: ods.number_format(("text", ""))),
    ("format-changed", lambda ods: ods.number_format(("number", ""), ("text", " USD off"))),
    ("format-changed", lambda ods: ods.number_format(("number", ""), **{f"{NUMBER}display-factor": "1000"})),
    ("text-unseen", lambda ods: ods.dress(LABEL, fo_color="#FCFCFC")),
    ("text-unseen", lambda ods: ods.dress(LABEL, kind="table-cell", fo_background_color="#000000")),
    ("text-unseen", lambda ods: ods.dress(LABEL, fo_font_size="1pt")),
    ("text-unseen", lambda ods: ods.dress(LABEL, style_text_position="sub 10%", fo_font_size="9pt")),
    ("text-unseen", lambda ods: ods.dress(LABEL, style_text_line_through_style="solid")),
    ("text-unseen", lambda ods: ods.dress(LABEL, kind="table-cell", style_repeat_content="true")),
    ("text-unseen", lambda ods: ods.dress(LABEL, kind="table-cell", style_cell_protect="hidden-and-protected")),
    ("text-unseen", lambda ods: ods.dress(LABEL, fo_font_size="10%")),
    ("text-unseen", lambda ods: ods.dress(LABEL, style_font_name="OpenSymbol")),
    ("text-unseen", lambda ods: ods.dress(LABEL, kind="paragraph", fo_margin_left="90cm")),
    ("text-unseen", lambda ods: ods.cell(LABEL).set(f"{TABLE}number-columns-spanned", "9")),
    ("text-unseen", pale_part),
    ("text-unseen", of_row),
    ("rule-added", lambda ods: ods.rule("L25", "Default")),
    ("rule-added", lambda ods: hiding_rule(ods, fo_color="#ffffff")),
    ("rule-added", lambda ods: hiding_rule(ods, fo_font_size="1pt")),
    ("rule-added", rule_in_the_style),
]


@pytest.fixture
def told(tmp_path):
    def told_of(edit):
        ods = Ods()
        edit(ods)
        return check_file(ods.save(tmp_path / "back.ods"), Desk(SAMPLES / "desk"), TODAY)

    return told_of


@pytest.mark.parametrize(("kind", "edit"), TOLD)
def test_what_a_person_sees_in_an_ods_is_told_and_not_disputed(told, kind, edit):
    report = told(edit)
    assert {finding.kind for finding in report.findings} == {kind} and report.verdict == "changed"


def test_the_sample_as_it_is_says_nothing(told):
    assert told(lambda ods: None).findings == ()


def test_a_number_format_that_colours_its_text_away_is_told(told):
    def white(ods):
        made = ods.number_format(("number", ""), ("text", " USD"))
        made.insert(0, etree.Element(f"{STYLE}text-properties", {f"{FO}color": "#ffffff"}))

    assert "text-unseen" in {finding.kind for finding in told(white).findings}


@pytest.mark.parametrize(
    ("conditions", "rest", "code"),
    [
        ({}, "9", '#"9"'),
        ({"value()>0": "a", "value()<0": "b"}, "c", '#"a";#"b";#"c"'),
        ({"value()>=0": "a"}, "b", '#"a";#"b"'),
        ({"value()=900": "a"}, "b", '[value()=900]#"a";#"b"'),
    ],
)
def test_conditions_of_a_number_format_are_its_sections(conditions, rest, code):
    def style(text):
        made = etree.Element(f"{NUMBER}number-style")
        etree.SubElement(made, f"{NUMBER}number")
        etree.SubElement(made, f"{NUMBER}text").text = text
        return made

    first = style(rest)
    for condition, text in conditions.items():
        etree.SubElement(first, f"{STYLE}map", {f"{STYLE}condition": condition, f"{STYLE}apply-style-name": text})
    assert code_of(first, {text: style(text) for text in conditions.values()}) == code
