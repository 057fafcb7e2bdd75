"""No false alarm: what spreadsheet programs do to a workbook without being asked is no finding.

LibreOffice, openpyxl and IronCalc open and save real quotes, also one after the other, and people edit
them there. What other programs may do by the file format is written into the file itself.
"""

import os
import re
import subprocess
import zipfile
from dataclasses import replace
from datetime import date
from decimal import Decimal as D
from pathlib import Path

import dressings
import hands
import pytest
from edits import MAIN, Book
from hands import steps
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree
from soffice import Job

from quotebook import desk as desks
from quotebook.checking.check import check_file
from quotebook.demonstration.demo import EVENTS
from quotebook.quoting.issuing import issue
from quotebook.spreadsheets.cells import CellAddress

TODAY = date(2026, 11, 2)
REQUEST = replace(EVENTS[1], flights=D(1), discount_share=D("0.05"), lines=(*EVENTS[1].lines, EVENTS[0].lines[0]))


class Issued:
    """A desk with one quote, and what comes back of it."""

    def __init__(self, folder, template="rate_card.xlsx", request=REQUEST):
        self.folder, self.desk = folder, desks.init(folder / "desk", template)
        self.card = self.desk.card()
        self.path, self.content = issue(self.desk, self.card, request, "Q0001", TODAY)
        self.places = self.content.places
        self.book = Book(self.path)

    def check(self, path):
        return check_file(path, self.desk, TODAY)


@pytest.fixture(scope="module")
def issued(tmp_path_factory):
    return Issued(tmp_path_factory.mktemp("issued"))


@pytest.fixture(scope="module")
def abroad(tmp_path_factory):
    """Metres, euros and another language."""
    request = replace(REQUEST, lines=())
    made = Issued(tmp_path_factory.mktemp("abroad"), "rate_card_metric.xlsx", request)
    kind = made.card.rates.kinds[0].panel
    lines = (replace(REQUEST.lines[0], panel=kind, width=D("4.5"), length=D(6)),)
    made.path, made.content = issue(
        made.desk, made.card, replace(REQUEST, surface="hard indoors", lines=lines), "Q0002", TODAY
    )
    return made


def clean(report, changed=()):
    """Nothing but what the client changed, each told once, and the file adds up."""
    told = sorted((f.kind, f.name) for f in report.findings)
    assert told == sorted(("input-changed", name) for name in changed)
    assert report.verdict == ("changed" if changed else "agrees")
    assert (report.state, report.sheet) == ("consistent", report.engine)


LEGAL = {
    "client": "Somebody else",
    "days": D(3),
    "guests": D(260),
    "after_hours": "no",
    "width_1": D(20),
    "length_3": D("22.5"),
}
"""What a client may change."""

INSERTED = [
    ["insert_rows", "Quote", 3, 2], ["insert_columns", "Quote", 2, 1], ["insert_rows", "Floor plan", 2, 1],
    ["insert_rows", "How it is worked out", 20, 3], ["insert_columns", "How it is worked out", 5, 1],
    ["insert_columns", "Rates", 4, 2], ["insert_rows", "Terms and cautions", 6, 1],
]  # fmt: skip


AT_LENGTH = ("after openpyxl", "after IronCalc", "abroad", "dressed by Excel", "strictly dressed")
"""Second programs after a first one, and others that the normal run has in a like form: with --slow."""


def marked(*titles):
    """Titles as parameters, those of AT_LENGTH for the slow run."""
    return [pytest.param(title, marks=[pytest.mark.slow] if title in AT_LENGTH else []) for title in titles]


@pytest.fixture(scope="module")
def saved(issued, abroad, by_libreoffice, tmp_path_factory, request):
    """What LibreOffice saves, in one go: by what was done."""
    folder, at_length = tmp_path_factory.mktemp("saved"), request.config.getoption("--slow")
    dropped = hands.by_openpyxl(issued.path, folder / "dropped.xlsx")
    calculated = hands.by_ironcalc(issued.path, folder / "calculated.xlsx", issued.places, lambda hand: None)
    jobs = {
        "as .xlsx": Job(issued.path, folder / "as.xlsx"),
        "as .ods": Job(issued.path, folder / "as.ods"),
        "after openpyxl": Job(dropped, folder / "after_openpyxl.xlsx"),
        "after IronCalc": Job(calculated, folder / "after_ironcalc.xlsx"),
        "abroad": Job(abroad.path, folder / "abroad.xlsx"),
        "abroad, as .ods": Job(abroad.path, folder / "abroad.ods"),
        "changed": Job(issued.path, folder / "changed.xlsx", steps(issued.places, LEGAL)),
        "changed, as .ods": Job(issued.path, folder / "changed.ods", steps(issued.places, LEGAL)),
        "as .xlsm": Job(issued.path, folder / "as.xlsm"),
        "as .xls": Job(issued.path, folder / "as.xls"),
        "as .fods": Job(issued.path, folder / "as.fods"),
        "dressed by Excel": Job(dressings.as_excel(issued.path, folder / "excel.xlsx"), folder / "from_excel.xlsx"),
        "strictly dressed": Job(dressings.as_strict(issued.path, folder / "strict.xlsx"), folder / "from_strict.xlsx"),
        "rows and columns inserted": Job(issued.path, folder / "inserted.xlsx", INSERTED),
        "inserted and changed, as .ods": Job(issued.path, folder / "both.ods", steps(issued.places, LEGAL) + INSERTED),
    }
    jobs = {title: job for title, job in jobs.items() if at_length or title not in AT_LENGTH}
    by_libreoffice([*jobs.values()])
    back = {
        "as .ods and back": Job(jobs["changed, as .ods"].target, folder / "there_and_back.xlsx"),
        "through .xls": Job(jobs["as .xls"].target, folder / "from_xls.xlsx"),
        "through .fods": Job(jobs["as .fods"].target, folder / "from_fods.ods"),
    }
    by_libreoffice([*back.values()])
    return {title: job.target for title, job in (jobs | back).items()}


@pytest.mark.parametrize(
    "how",
    marked(
        "as .xlsx", "as .xlsm", "as .ods", "through .xls", "through .fods", "after openpyxl", "after IronCalc",
        "dressed by Excel", "strictly dressed", "rows and columns inserted",
    ),
)  # fmt: skip
def test_saved_by_libreoffice(issued, saved, how):
    clean(issued.check(saved[how]))


@pytest.mark.parametrize("how", marked("abroad", "abroad, as .ods"))
def test_in_another_language_saved_by_libreoffice(abroad, saved, how):
    clean(abroad.check(saved[how]))


@pytest.mark.parametrize("how", ["changed", "changed, as .ods", "inserted and changed, as .ods", "as .ods and back"])
def test_changed_in_libreoffice(issued, saved, how):
    clean(issued.check(saved[how]), LEGAL)


def test_saved_by_ironcalc(issued, saved, tmp_path):
    clean(issued.check(hands.by_ironcalc(issued.path, tmp_path / "back.xlsx", issued.places, lambda hand: None)))
    clean(issued.check(hands.by_ironcalc(saved["as .xlsx"], tmp_path / "back.xlsx", issued.places, lambda hand: None)))


def test_changed_in_ironcalc(issued, tmp_path):
    def change(hand):
        for name, value in LEGAL.items():
            hand.type(name, value)

    clean(issued.check(hands.by_ironcalc(issued.path, tmp_path / "back.xlsx", issued.places, change)), LEGAL)


def test_saved_by_openpyxl_has_lost_its_figures(issued, saved, tmp_path):
    for path in (issued.path, saved["as .xlsx"]):
        report = issued.check(hands.by_openpyxl(path, tmp_path / "back.xlsx"))
        assert [finding.kind for finding in report.findings] == ["not-recalculated"]
        assert (report.verdict, report.state, report.sheet) == ("agrees", "missing", None)


def test_changed_by_openpyxl_has_lost_its_figures(issued, tmp_path):
    report = issued.check(hands.by_openpyxl(issued.path, tmp_path / "back.xlsx", issued.places, LEGAL))
    assert [finding.kind for finding in report.findings] == [*["input-changed"] * len(LEGAL), "not-recalculated"]
    assert (report.verdict, report.state) == ("changed", "missing")


@pytest.mark.parametrize("what", ["miles", "width_1", "days"])
def test_changed_again_in_a_program_that_works_nothing_out(issued, saved, tmp_path, what):
    """After LibreOffice has worked its changes out, one that it did not make, or one that it made otherwise."""
    typed = {"miles": D(60), "width_1": D(30), "days": D(5)}[what]
    path = Book(saved["changed"]).edit().put(CellAddress(*issued.places[what]), typed).save(tmp_path / "back.xlsx")
    report = issued.check(path)
    assert {(f.kind, f.name) for f in report.findings} == {
        *(("input-changed", name) for name in {*LEGAL, what}), ("not-recalculated", "total"),
    }  # fmt: skip
    assert (report.verdict, report.state) == ("changed", "stale")
    [stale] = [finding for finding in report.findings if finding.kind == "not-recalculated"]
    assert stale.effect == report.sheet - report.engine
    assert what in stale.message


def test_figures_of_no_entry_that_is_there_do_not_add_up(issued, saved, tmp_path):
    """An entry put back to what was issued: then nothing says why the figures are others."""
    path = Book(saved["changed"]).edit().put(CellAddress(*issued.places["width_1"]), D(14)).save(tmp_path / "back.xlsx")
    report = issued.check(path)
    assert (report.verdict, report.state) == ("disputed", "mismatching")
    wrong = [finding.name for finding in report.findings if finding.kind == "arithmetic-differs"]
    assert "across_as_given_1" in wrong and len(wrong) < 5 and all(name.endswith("_1") for name in wrong)


@pytest.mark.parametrize(("how", "says"), {"as .xls": "an old .xls workbook", "as .fods": "in one XML file"}.items())
def test_what_is_saved_in_another_format_is_called_so(issued, saved, how, says):
    report = issued.check(saved[how])
    assert report.verdict == "unreadable" and says in report.findings[0].message


# Programs that cannot be run here


@pytest.mark.parametrize("program", dressings.DRESSINGS)
def test_dressed_as_another_program_saves_it(issued, tmp_path, program):
    clean(issued.check(dressings.DRESSINGS[program](issued.path, tmp_path / "dressed.xlsx")))


@pytest.mark.parametrize("program", dressings.DRESSINGS)
def test_changed_and_dressed_as_another_program_saves_it(issued, saved, tmp_path, program):
    clean(issued.check(dressings.DRESSINGS[program](saved["changed"], tmp_path / "dressed.xlsx")), LEGAL)


# Gnumeric


def test_saved_by_gnumeric(issued, saved, gnumeric, tmp_path):
    """As .xlsx, as .ods and back from that. It brings the sheet of the stamp into view."""
    outputs = gnumeric.convert([issued.path, saved["changed"]], tmp_path / "xlsx")
    outputs += gnumeric.convert([issued.path], tmp_path / "ods", "ods")
    outputs += gnumeric.convert(outputs[2:], tmp_path / "back")
    for output, verdict in zip(outputs, ("agrees", "changed", "agrees", "agrees"), strict=True):
        report = issued.check(output)
        assert {finding.kind for finding in report.findings} <= {"input-changed", "stamp-shown"}
        assert (report.verdict, report.state, report.sheet) == (verdict, "consistent", report.engine)


def test_saved_by_gnumeric_from_an_ods_has_functions_that_no_other_program_knows(issued, saved, gnumeric, tmp_path):
    """It writes `ODF.SUMPRODUCT` into an .xlsx, which Excel and LibreOffice cannot work out: told as what it is."""
    (output,) = gnumeric.convert([saved["as .ods"]], tmp_path)
    assert {finding.kind for finding in issued.check(output).findings} <= {"formula-altered", "stamp-shown"}


# Libraries: odfpy from PyPI, and, where NODE_PATH names the folder that they are installed in, three of npm


@pytest.mark.parametrize(("how", "changed"), {"as .ods": (), "changed, as .ods": LEGAL}.items())
def test_saved_by_odfpy(issued, saved, tmp_path, how, changed):
    odf = pytest.importorskip("odf.opendocument")
    odf.load(saved[how]).save(tmp_path / "odfpy.ods")
    clean(issued.check(tmp_path / "odfpy.ods"), changed)


@pytest.mark.skipif(not os.environ.get("NODE_PATH"), reason="NODE_PATH names no folder of npm packages")
@pytest.mark.parametrize("changed", [(), LEGAL], ids=["as issued", "changed"])
def test_saved_by_libraries_of_npm(issued, saved, tmp_path, changed):
    script, source = Path(__file__).parent.parent / "npm_writers.js", saved["changed"] if changed else issued.path
    subprocess.run(["node", str(script), str(source), str(tmp_path)], check=True, timeout=60)
    for name in ("exceljs", "sheetjs"):
        clean(issued.check(tmp_path / f"{name}.xlsx"), changed)
    report = issued.check(tmp_path / "xlsx-populate.xlsx")  # it works nothing out
    kinds = [finding.kind for finding in report.findings]
    assert sorted(kinds) == sorted(["input-changed"] * len(changed) + ["not-recalculated"])


# What other programs may do, by the file format


def _rewritten(issued, tmp_path, change, part=None):
    """The issued file with its XML changed, of every sheet or of one part."""
    path = tmp_path / "back.xlsx"
    with zipfile.ZipFile(issued.path) as source, zipfile.ZipFile(path, "w") as target:
        for name in source.namelist():
            data = source.read(name)
            chosen = name == part if part else name.startswith("xl/worksheets/sheet")
            target.writestr(name, change(data.decode()).encode() if chosen else data)
    return issued.check(path)


def _each_cell(change):
    """A change of every cell's element."""

    def changed(xml: str) -> str:
        root = etree.fromstring(xml.encode())
        for cell in root.iter(f"{MAIN}c"):
            change(cell)
        return etree.tostring(root).decode()

    return changed


def _noisy(cell):
    """17 digits, of which spreadsheets mean 15."""
    value = cell.find(f"{MAIN}v")
    if value is not None and value.text and cell.get("t") in (None, "n"):
        value.text = repr(float(value.text) * (1 + 2**-52)) if float(value.text) % 1 else f"{float(value.text):.1f}"


def _with_a_date_format(cell):
    cell.set("s", "3")


def _blank_texts(cell):
    if len(cell) == 0:
        cell.set("t", "str")
        etree.SubElement(cell, f"{MAIN}v").text = ""


def _as_people_type(cell):
    formula = cell.find(f"{MAIN}f")
    if formula is not None:
        pieces = re.split(r'("[^"]*")', formula.text)
        formula.text = "+" + "".join(
            p if p.startswith('"') else re.sub(r"([,*()])", r" \1 ", p).lower() for p in pieces
        )


def _trimmed(cell):
    value = cell.find(f"{MAIN}v")
    if cell.get("t") == "str" and value is not None and value.text:
        value.text = value.text.strip()


def _without_empty_results(cell):
    value = cell.find(f"{MAIN}v")
    if cell.get("t") == "str" and value is not None and not value.text:
        cell.remove(value)
        cell.attrib.pop("t")


@pytest.mark.parametrize(
    "change", [_noisy, _with_a_date_format, _blank_texts, _as_people_type, _trimmed, _without_empty_results]
)
def test_cells_written_otherwise(issued, tmp_path, change):
    clean(_rewritten(issued, tmp_path, _each_cell(change)))


def test_texts_in_the_cells_themselves(issued, tmp_path):
    with zipfile.ZipFile(issued.path) as package:
        texts = [item.findtext(f"{MAIN}t") for item in etree.fromstring(package.read("xl/sharedStrings.xml"))]

    def inline(cell):
        if cell.get("t") == "s":
            text = texts[int(cell.findtext(f"{MAIN}v"))]
            cell.remove(cell[0])
            cell.set("t", "inlineStr")
            etree.SubElement(etree.SubElement(cell, f"{MAIN}is"), f"{MAIN}t").text = text

    clean(_rewritten(issued, tmp_path, _each_cell(inline)))


NAMES = {
    "no quotes where none are needed": lambda text: re.sub(r"'(\w+)'!", r"\1!", text),
    "quotes everywhere": lambda text: re.sub(r"(?<=>)(\w+)!", r"'\1'!", text),
    "each for a sheet alone": lambda text: re.sub(
        r'<definedName name="([a-z]\w+)"', r'<definedName name="\1" localSheetId="0"', text
    ),
    "doubled for a sheet, with the same meaning": lambda text: re.sub(
        r'(<definedName name="[a-z]\w+")(>.*?</definedName>)', r'\1\2\1 localSheetId="0"\2', text
    ),
}


@pytest.mark.parametrize("how", NAMES)
def test_names_written_otherwise(issued, tmp_path, how):
    clean(_rewritten(issued, tmp_path, NAMES[how], "xl/workbook.xml"))


def test_days_counted_from_1904(issued, tmp_path):
    """1,462 days later than the other way (ECMA-376 part 1, 18.17.4.1)."""
    edit = issued.book.edit()
    edit.root("xl/workbook.xml").find(f"{MAIN}workbookPr").set("date1904", "1")
    for name in ("event_date", "issued_on", "valid_until"):
        value = {**issued.content.inputs, **issued.content.owner}[name]
        edit.put(CellAddress(*issued.places[name]), value - 1462)
    clean(issued.check(edit.save(tmp_path / "back.xlsx")))


def test_days_written_as_dates(issued, tmp_path):
    """`t="d"` with an ISO 8601 day (ECMA-376 part 1, 18.18.11)."""
    edit = issued.book.edit()
    for name, day in (("event_date", REQUEST.event_date), ("issued_on", TODAY)):
        place = CellAddress(*issued.places[name])
        edit.cache(place, D(0))
        edit.cell(place).set("t", "d")
        edit.cell(place).find(f"{MAIN}v").text = day.isoformat()
    clean(issued.check(edit.save(tmp_path / "back.xlsx")))


def test_zeros_in_place_of_figures(issued, tmp_path):
    """A program that writes formulas and works nothing out."""

    def nothing(cell):
        if cell.find(f"{MAIN}f") is not None:
            cell.attrib.pop("t", None)
            cell.find(f"{MAIN}v").text = "0"

    report = _rewritten(issued, tmp_path, _each_cell(nothing))
    assert [finding.kind for finding in report.findings] == ["not-recalculated"]
    assert (report.verdict, report.state, report.sheet, report.remainder) == ("agrees", "zero", 0, 0)
    assert report.findings[0].effect == -report.issued


# What nobody chose


changes = st.fixed_dictionaries(
    {},
    optional={
        "client": st.text("abc é“", min_size=1).map(lambda text: f"x{text}x"),
        "days": st.integers(1, 30).map(D),
        "miles": st.decimals(0, 400, places=2),
        "flights": st.integers(0, 9).map(D),
        "guests": st.integers(0, 900).map(D),
        "surface": st.sampled_from(("grass", "hard indoors")),
        "after_hours": st.sampled_from(("yes", "no")),
        "waiver_taken": st.sampled_from(("yes", "no")),
        "width_1": st.decimals(1, 90, places=2),
        "length_1": st.integers(1, 99).map(D),
        "edging_wanted_1": st.sampled_from(("yes", "no")),
        "panel_2": st.sampled_from(("WHITE-23", "MAPLE-33")),
        "width_3": st.decimals(1, 90, places=1),
    },
)
"""Entries that a client may make in the quote above."""


def _check_changes(issued, path, typed):
    def change(hand):
        for name, value in typed.items():
            hand.type(name, value)

    report = issued.check(hands.by_ironcalc(issued.path, path, issued.places, change))
    names = {name for name, value in typed.items() if value != issued.content.inputs[name]}
    assert {(f.kind, f.name) for f in report.findings} <= {("input-changed", name) for name in names} | {
        ("input-invalid", f"panel_{line}") for line in (1, 2, 3) if "surface" in names
    }
    assert report.state == "consistent" and report.sheet == report.engine


@given(changes)
@settings(max_examples=3)
def test_any_legal_change_in_ironcalc(issued, tmp_path_factory, typed):
    _check_changes(issued, tmp_path_factory.getbasetemp() / "changed.xlsx", typed)


@pytest.mark.slow
@given(changes)
@settings(max_examples=1_000)
def test_any_legal_change_in_ironcalc_at_length(issued, tmp_path_factory, typed):
    _check_changes(issued, tmp_path_factory.getbasetemp() / "changed.xlsx", typed)
