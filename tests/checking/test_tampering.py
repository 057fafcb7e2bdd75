"""Edits that the file format can say and no program would make, meant to be overlooked: each disputes the quote."""

import re
import zipfile
from datetime import date
from functools import cached_property

import pytest
import soffice
import worked_example
from edits import LINKS, MAIN, WORKBOOK, Book
from lxml import etree

from quotebook import desk as desks
from quotebook.checking.check import check_file
from quotebook.checking.check_sheets import MOST_ADDED
from quotebook.checking.findings import AGREES, DISPUTED, UNREADABLE
from quotebook.contract.stamp import SHEET
from quotebook.contract.stamped import table_columns
from quotebook.quoting.issuing import issue
from quotebook.spreadsheets.cells import CellAddress

TODAY = date(2026, 6, 1)


class Quote:
    def __init__(self, folder):
        self.folder, self.desk = folder, desks.init(folder / "desk")
        self.path, self.content = issue(self.desk, self.desk.card(), worked_example.REQUEST, "Q0001", TODAY)
        self.places = {name: CellAddress(*place) for name, place in self.content.places.items()}
        self.book = Book(self.path)

    @cached_property
    def as_ods(self):
        """The quote as LibreOffice saves it."""
        (saved,) = soffice.convert([self.path], self.folder, "ods")
        return saved

    def found(self, edit):
        """The verdict, and the findings by kind and name, or kind and place."""
        hand = self.book.edit()
        edit(self, hand)
        return self.told(hand.save(self.folder / "back.xlsx"))

    def told(self, path):
        report = check_file(path, self.desk, TODAY)
        return report.verdict, {finding.reference for finding in report.findings}

    def target(self, name):
        return self.book.edit().name(name).text


@pytest.fixture(scope="module")
def issued(tmp_path_factory):
    return Quote(tmp_path_factory.mktemp("tampering"))


def _two_values(kind, order):
    """A cell whose shared or own text says "no" to one program and "yes" to another."""

    def edit(quote, hand):
        cell = hand.cell(quote.places["tax_on_goods"])
        for child in list(cell):
            cell.remove(child)
        cell.set("t", kind)
        for tag in order:
            if tag == "v":
                etree.SubElement(cell, f"{MAIN}v").text = "0" if kind == "s" else "yes"
            else:
                etree.SubElement(etree.SubElement(cell, f"{MAIN}is"), f"{MAIN}t").text = "no"

    return edit


def _prefixed(prefix):
    def edit(quote, hand):
        formula = quote.content.formulas["total"]
        assert "+labour" in formula
        hand.formula(quote.places["total"], formula.replace("+labour", f"+{prefix}labour"))
        etree.SubElement(hand.names(), f"{MAIN}definedName", name=f"{prefix}labour").text = "0"

    return edit


def _grown(name, rows):
    def edit(quote, hand):
        place = quote.places[name]
        column = place.cell.rstrip("0123456789")
        last = place.row + len(quote.content.tables.get(name, [0])) - 1 + rows
        hand.point(name, f"'{place.sheet}'!${column}${place.row}:${column}${last}")

    return edit


def test_a_table_that_ends_further_down_in_all_of_its_columns_has_the_names_of_its_own(issued):
    def longer(quote, hand):
        for name in table_columns(quote.content)["kinds"]:
            cells, _, last = quote.target(name).rpartition("$")
            hand.point(name, f"{cells}${int(last) + 5}")

    _, found = issued.found(longer)
    assert not any(reference.startswith("name-redirected") for reference in found)


def _data_table(quote, hand):
    hand.cell(quote.places["total"]).find(f"{MAIN}f").attrib.update({"t": "dataTable", "ref": "A1", "r1": "B2"})


def _rounds_as_shown(quote, hand):
    hand.root(WORKBOOK).find(f"{MAIN}calcPr").set("fullPrecision", "0")


def _stamp_as_a_quote(quote, hand):
    """The stamp's cells pushed down, and a false quote above them."""
    hand.show(SHEET, "visible").rename(SHEET, "Quote agreed")
    rows = hand.sheet(SHEET).find(f"{MAIN}sheetData")
    for row in rows:
        row.set("r", str(int(row.get("r")) + 500))
        for cell in row:
            cell.set("r", f"A{row.get('r')}")
    line = etree.Element(f"{MAIN}row", r="1")
    rows.insert(0, line)
    cell = etree.SubElement(line, f"{MAIN}c", r="A1", t="str")
    etree.SubElement(cell, f"{MAIN}v").text = "Total agreed: 500"


def _texts_where_figures_are_missing(quote, hand):
    for name in quote.content.formulas:
        hand.cache(quote.places[name], None)
    hand.cache(quote.places["plan_caption"], "Agreed: 500 in all")


TAMPERED = {
    "a name that leads elsewhere from each cell": (
        lambda q, hand: hand.point("hourly_rate", q.target("hourly_rate").replace("$", "")), "name-missing:hourly_rate",
    ),
    "a name fixed by its column alone": (
        lambda q, hand: hand.point("hourly_rate", "".join(q.target("hourly_rate").rsplit("$", 1))),
        "name-missing:hourly_rate",
    ),
    "a name spelled as if it were a newer function": (_prefixed("com.microsoft."), "formula-altered:total"),
    "the same by another prefix": (_prefixed("_xlws."), "formula-altered:total"),
    "an entry's name over three cells": (_grown("days", 2), "name-redirected:days"),
    "a figure's name over three cells": (_grown("hire_1", 2), "name-redirected:hire_1"),
    "a column of a table longer than the rest": (_grown("kinds_rate", 2), "name-redirected:kinds_rate"),
    "a column of a table of one row": (_grown("kinds_panel_width", -2), "name-redirected:kinds_panel_width"),
    "a total that comes from a data table": (_data_table, "formula-altered:total"),
    "a setting that rounds figures to what is shown": (_rounds_as_shown, "foreign-part"),
    "a false quote on the stamp's sheet": (_stamp_as_a_quote, "cell-added:Quote agreed!A1"),
    "a text where no figures are": (_texts_where_figures_are_missing, "arithmetic-differs:plan_caption"),
}  # fmt: skip


@pytest.mark.parametrize("what", TAMPERED)
def test_it_is_found(issued, what):
    edit, expected = TAMPERED[what]
    verdict, found = issued.found(edit)
    assert verdict == DISPUTED
    assert expected in found


@pytest.mark.parametrize(("kind", "order"), [("s", ("v", "is")), ("inlineStr", ("is", "v"))])
def test_a_cell_with_two_values_is_told(issued, kind, order):
    verdict, found = issued.found(_two_values(kind, order))
    place = issued.places["tax_on_goods"]
    assert verdict == DISPUTED and f"unknown-content:{place.sheet}!{place.cell}" in found


def test_very_many_cells_above_the_stamp_are_not_told_one_by_one(issued):
    def edit(quote, hand):
        _stamp_as_a_quote(quote, hand)
        rows = hand.sheet(SHEET).find(f"{MAIN}sheetData")
        for row in range(2, 402):
            line = etree.Element(f"{MAIN}row", r=str(row))
            rows.insert(row - 1, line)
            etree.SubElement(etree.SubElement(line, f"{MAIN}c", r=f"A{row}"), f"{MAIN}v").text = "1"

    _, found = issued.found(edit)
    assert len([each for each in found if each.startswith("cell-added:Quote agreed!")]) == MOST_ADDED


def test_a_sheet_without_cells_is_said(issued):
    """It may hold a picture or a chart."""

    def edit(quote, hand):
        hand.add("Agreed")
        (part,) = (part for part in hand.parts if part.startswith("xl/worksheets/"))
        hand.parts[part] = f'<worksheet xmlns="{MAIN[1:-1]}"><sheetData/></worksheet>'.encode()

    _, found = issued.found(edit)
    assert "sheet-added:Agreed" in found


def test_a_name_in_capitals_is_told(issued):
    """Gnumeric finds a name only by the very letters that it is defined with, and shows an error in its place."""
    place = issued.places["delivery"]
    formula = issued.content.formulas["delivery"]
    verdict, found = issued.found(lambda quote, hand: hand.formula(place, formula.replace("trips", "TRIPS")))
    assert (verdict, found) == (DISPUTED, {f"unknown-content:{place.sheet}!{place.cell}"})
    verdict, found = issued.found(lambda quote, hand: hand.name("trips").set("name", "Trips"))
    assert verdict == DISPUTED and {each.partition(":")[0] for each in found} == {"unknown-content"}


def test_a_name_for_what_begins_with_an_equals_sign_is_told(issued):
    """Gnumeric makes nothing of the formulas that use it."""

    def edit(quote, hand):
        name = next(each for each in hand.names() if each.get("name") == "labour")
        name.text = f"={name.text}"

    assert issued.found(edit) == (DISPUTED, {"unknown-content"})


@pytest.mark.parametrize(
    "target", ["./worksheets/sheet1.xml", "worksheets/./sheet1.xml", "worksheets/../worksheets/sheet1.xml"]
)
def test_a_link_with_steps_that_lead_nowhere_is_told(issued, target):
    """LibreOffice looks first for a file of that very name, which may stand beside the one that the check reads."""

    def edit(quote, hand):
        links = hand.root(LINKS)
        next(each for each in links if each.get("Target") == "worksheets/sheet1.xml").set(
            "Target", target.format("worksheets")
        )

    assert issued.found(edit) == (DISPUTED, {"unknown-content"})


def test_a_name_of_the_client_s_own_may_have_capitals(issued):
    def edit(quote, hand):
        etree.SubElement(hand.names(), f"{MAIN}definedName", name="Budget").text = "Quote!$Z$1"

    assert issued.found(edit) == (AGREES, set())


def _ods_rewritten(issued, rewrite):
    target = issued.folder / "rewritten.ods"
    with zipfile.ZipFile(issued.as_ods) as old, zipfile.ZipFile(target, "w") as new:
        for info in old.infolist():
            data = old.read(info)
            if info.filename == "content.xml":
                text = data.decode()
                data = rewrite(text).encode()
                assert data.decode() != text
            new.writestr(info, data)
    return issued.told(target)


OF = ' xmlns:of="urn:oasis:names:tc:opendocument:xmlns:of:1.2"'
PREFIXES = {
    "a prefix that stands for nothing": (OF, ""),
    "a prefix that stands for something else": (OF, OF.replace("oasis", "other")),
    "a prefix that stands for something else on one sheet": ("<table:table ", '<table:table xmlns:of="urn:other" '),
    "a prefix in capitals": ('table:formula="of:=', 'table:formula="OF:='),
    "a prefix behind a space": ('table:formula="of:=', 'table:formula=" of:='),
}


@pytest.mark.skipif(not soffice.PROGRAM, reason="LibreOffice is not here")
@pytest.mark.parametrize(("old", "new"), PREFIXES.values(), ids=PREFIXES)
def test_a_formula_that_libreoffice_does_not_work_out_is_told(issued, old, new):
    verdict, found = _ods_rewritten(issued, lambda text: text.replace(old, new, 1))
    assert verdict == DISPUTED
    assert {each.partition(":")[0] for each in found} == {"unknown-content"}


@pytest.mark.skipif(not soffice.PROGRAM, reason="LibreOffice is not here")
def test_a_figure_in_a_covered_cell_is_told(issued):
    """Gnumeric shows nothing there."""
    place = issued.places["kind_row_2"]

    def covered(text):
        start = text.rindex("<table:table-cell", 0, text.index("of:=IF(panel_2&lt;&gt;"))
        end = text.index("</table:table-cell>", start)
        cell = text[start:end].replace("<table:table-cell", "<table:covered-table-cell")
        return f"{text[:start]}{cell}</table:covered-table-cell>{text[end + len('</table:table-cell>') :]}"

    assert _ods_rewritten(issued, covered) == ("changed", {f"text-unseen:{place.sheet}!{place.cell}"})


@pytest.mark.skipif(not soffice.PROGRAM, reason="LibreOffice is not here")
@pytest.mark.parametrize("what", ["untouched", "text without a type", "a third first day", "relative", "as shown"])
def test_in_an_ods(issued, what):
    body = "<office:spreadsheet>"
    settings = "<table:calculation-settings{}>{}</table:calculation-settings>"

    def with_settings(text, attribute="", inside=""):
        start, end = text.index("<table:calculation-settings"), text.index("</table:calculation-settings>")
        return text[:start] + settings.format(attribute, inside) + text[end + len("</table:calculation-settings>") :]

    rewrite, expected = {
        "untouched": (lambda text: text.replace(body, f"{body}<!-- -->"), (AGREES, set())),
        "text without a type": (
            lambda text: re.sub(
                r'(<table:table-cell table:style-name="\w+")/>',
                r"\1><text:p>Agreed: 500</text:p></table:table-cell>",
                text,
                count=1,
            ),
            None,
        ),
        "a third first day": (
            lambda text: with_settings(text, "", '<table:null-date table:date-value="1900-01-01"/>'),
            (UNREADABLE, {"unreadable"}),
        ),
        "relative": (
            lambda text: text.replace(
                f'table:cell-range-address="${issued.places["hourly_rate"].sheet}.$D$6"',
                f'table:cell-range-address="${issued.places["hourly_rate"].sheet}.D6"',
            ),
            None,
        ),
        "as shown": (
            lambda text: with_settings(text, ' table:precision-as-shown="true"'),
            (DISPUTED, {"foreign-part"}),
        ),
    }[what]
    verdict, found = _ods_rewritten(issued, rewrite)
    if expected:
        assert (verdict, found) == expected
    else:
        assert verdict == DISPUTED
        assert any(each.startswith(("cell-added", "name-missing:hourly_rate")) for each in found)
