"""Every sheet of a client's workbook as it looks: printed by LibreOffice, at its shortest and at its longest.

LibreOffice is also asked how tall it would make each row of wrapped text by itself, since no
program does so where cells are merged, and how wide its own letters are.
"""

import os
import re
import shutil
import subprocess
from collections import Counter
from dataclasses import replace
from datetime import date
from decimal import Decimal as D
from importlib.resources import as_file, files
from io import BytesIO
from types import SimpleNamespace
from xml.sax.saxutils import escape

import openpyxl
import pytest
from extent import extent
from openpyxl.utils import range_boundaries

from quotebook.client import floor_plan_sheet as floor_plan
from quotebook.client import quote_sheet
from quotebook.client.draft import Issue, QuoteDraft
from quotebook.client.floor_lines import lines_in_use
from quotebook.client.workbook import SHEETS, write_quote
from quotebook.contract.words import LANGUAGES, words_in
from quotebook.demonstration.demo import EVENTS
from quotebook.drawing import styles, text_size
from quotebook.engine.model import LINES, FloorLine, Papers
from quotebook.rate_card.reader import read_rate_card

PAPERS = Papers("Q0001", D(3), date(2027, 1, 4), date(2027, 2, 3))
POINTS = {"Letter": (612, 792), "A4": (595, 842)}
LARGEST = 74_000
"""Bytes of a client's workbook, without its logo."""


def card(name):
    with as_file(files("quotebook.templates") / name) as path:
        return read_rate_card(path)


def filled(text, characters):
    """A text of exactly so many characters, that ends in a word of its own."""
    return (text * 9)[: characters - 5] + " ends"


NAME = filled("The Committee of the Upper Quillmere Valley Harvest Supper and Ball ", 60)
CONTACT = filled("Unit 14, The Old Maltings, Wharf Row, Upper Quillmere; open from Monday to Friday, ", 80)
TERM = (
    "The client makes sure that the crew can reach the spot with carts at the hour that was agreed, that it is level, "
    "clear and dry, and that nothing heavier than the floor is made for is put on it before or after the event, and "
    "says so in good time if that cannot be had: number "
)
CHANGE = (
    "Floor line {}: Panel: OAK-44, now WHITE-23, Width: 16, now 18.5, Length: 20, now 22, Edging: yes, now no, "
    "as was asked for."
)


def longest(card):
    """Six lines with all their notes, eight kinds of panel, twelve terms of 300 characters, sums in the millions."""
    snap = next(kind for kind in card.rates.kinds if kind.subfloor_kind)
    kinds = tuple(
        replace(
            snap,
            panel=f"EXTRA-LONG-CODE-{number:04}",
            panel_name=filled("Tiles in sections, white and oak, ", 60),
            rate=D("8987.5"),
            free=D(100_000),
        )
        for number in range(8)
    )
    sides = (D("40.25"), D("60.5")) if card.firm.length_unit == "ft" else (D("11.9"), D("17.9"))
    lines = tuple(FloorLine(kind.panel, *sides, True) for kind in kinds[:LINES])
    request = replace(
        EVENTS[1],
        client=NAME,
        event=NAME,
        venue=NAME,
        surface="grass",
        flights=D(12),
        guests=D(9000),
        lines=lines,
        raised=True,
        room_width=D(9),
    )
    firm = replace(card.firm, firm=NAME, contact_lines=(CONTACT,) * 4)
    terms = tuple((TERM + f"{number} of twelve, i").ljust(299, "s") + "." for number in range(101, 113))
    return replace(card, firm=firm, rates=replace(card.rates, kinds=kinds), terms=terms), request


def case(name, language, paper, currency, minor_units, long):
    """An issue of one of the shipped cards: one floor and four terms, or all that it can have."""
    made = card(name)
    request = replace(EVENTS[0], lines=(FloorLine(made.rates.kinds[0].panel, D(6), D(8), True),))
    if long:
        made, request = longest(made)
    firm = replace(made.firm, language=language, paper=paper, currency=currency)
    changes = tuple(CHANGE.format(line) for line in range(1, 4)) if long else ()
    return Issue(PAPERS, firm, replace(made.rates, minor_units=D(minor_units)), request, made.terms, changes)


FEET, METRES = "rate_card.xlsx", "rate_card_metric.xlsx"
CASES = {
    "one line, Letter, English, USD": (FEET, "en", "Letter", "USD", 2, False),
    "six lines, A4, English, USD": (FEET, "en", "A4", "USD", 2, True),
    "one line, A4, Spanish, BHD": (METRES, "es", "A4", "BHD", 3, False),
    "six lines, Letter, Spanish, BHD": (FEET, "es", "Letter", "BHD", 3, True),
    "one line, Letter, French, EUR": (METRES, "fr", "Letter", "EUR", 2, False),
    "six lines, A4, French, JPY": (METRES, "fr", "A4", "JPY", 0, True),
}
AT_LENGTH = ("one line, A4, Spanish, BHD", "one line, Letter, French, EUR")
"""With --slow: each language, paper, unit and currency is among the others too, on longer quotes."""
CASES = {name: case for name, case in CASES.items() if name not in extent(AT_LENGTH, ())}


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """Each case with its issue, its file, what is in it, and the file as openpyxl reads it."""
    folder, made = tmp_path_factory.mktemp("written"), {}
    for number, (name, asked) in enumerate(CASES.items()):
        issue, file, path = case(*asked), BytesIO(), folder / f"{number}.xlsx"
        content = write_quote(file, issue, b"a key")
        path.write_bytes(file.getvalue())
        book = openpyxl.load_workbook(path, data_only=True)
        made[name] = SimpleNamespace(issue=issue, path=path, content=content, sheets=book.worksheets[: len(SHEETS)])
    return made


@pytest.fixture(scope="module")
def printed(written, soffice, tmp_path_factory):
    """The PDF of each case."""
    for program in ("pdftotext", "pdfinfo"):
        if shutil.which(program) is None:
            (pytest.fail if os.environ.get("QUOTEBOOK_REQUIRE_ENGINES") else pytest.skip)(f"{program} is not installed")
    paths = [quote.path for quote in written.values()]
    return dict(zip(written, soffice.convert(paths, tmp_path_factory.mktemp("printed"), to="pdf"), strict=True))


def said(*command):
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout


def pages_of(pdf):
    """The text of each page."""
    return said("pdftotext", "-layout", pdf, "-").split("\f")[:-1]


# The printed page


@pytest.mark.parametrize("name", CASES)
def test_a_page_for_each_sheet_on_the_firm_s_paper(written, printed, name):
    sizes = re.findall(r"Page +\d+ size: +([\d.]+) x ([\d.]+)", said("pdfinfo", "-f", "1", "-l", "99", printed[name]))
    paper = POINTS[written[name].issue.firm.paper]
    assert len(sizes) == len(SHEETS)
    assert {tuple(sorted(round(float(side)) for side in size)) for size in sizes} == {paper}


@pytest.mark.parametrize("name", CASES)
def test_no_cell_is_too_narrow_for_its_number_and_none_has_an_error(printed, name):
    wrong = re.compile(r"##|#REF!|#NAME\?|#VALUE!|#DIV/0!|#NUM!|#N/A|Err:\d+")
    assert wrong.findall(said("pdftotext", "-layout", printed[name], "-")) == []


def test_the_longest_case_is_long(written):
    """It has what it says: sums in the millions, every note that a line can have, every caution of the first sheet."""
    for name, quote in written.items():
        long = name.startswith("six")
        assert (quote.content.results["total"] > 10_000_000) == long
        if long:
            for line in range(1, LINES + 1):
                assert quote.content.results[f"notes_{line}"].count(".") == 3
            shown = {*quote_sheet.SHOWN_CAUTIONS} - {"step"}  # that is of kinds with edging, and these have none
            assert all(quote.content.results[f"caution_{key}"] for key in shown)
            assert {len(term) for term in quote.issue.terms} == {300}


def shown_texts(sheet):
    """Every text in the printed area of a sheet, by its cell."""
    left, top, right, bottom = range_boundaries(sheet.print_area.rpartition("!")[2].replace("$", ""))
    rows = sheet.iter_rows(top, bottom, left, right)
    return {cell.coordinate: cell.value for row in rows for cell in row if isinstance(cell.value, str) and cell.value}


def words(text):
    return Counter(re.findall(r"\w+", text))


@pytest.mark.parametrize("name", CASES)
def test_every_word_of_every_sheet_is_printed(written, printed, name):
    for sheet, page in zip(written[name].sheets, pages_of(printed[name]), strict=True):
        wanted = words(" ".join(shown_texts(sheet).values()))
        assert wanted and wanted - words(page) == {}, sheet.title


# Room


def area_of(sheet, cell):
    """The columns and rows that a cell takes, merged or not."""
    for merged in sheet.merged_cells.ranges:
        if cell.coordinate in merged:
            return range(merged.min_col, merged.max_col + 1), range(merged.min_row, merged.max_row + 1)
    return range(cell.column, cell.column + 1), range(cell.row, cell.row + 1)


def digits_of(sheet, column):
    """A column's width. openpyxl keeps one entry for neighbours of one width."""
    return next(kept.width for kept in sheet.column_dimensions.values() if kept.min <= column <= kept.max)


def wrapped_texts(sheet):
    """What wraps in the printed area: its text, its type, the points of its width, and the points of its height."""
    for coordinate, text in shown_texts(sheet).items():
        cell = sheet[coordinate]
        if cell.alignment.wrap_text:
            columns, rows = area_of(sheet, cell)
            heights = [sheet.row_dimensions[row].height for row in rows]
            assert None not in heights, f"{sheet.title} {coordinate} wraps in a row without a height"
            width = (
                sum(digits_of(sheet, column) for column in columns) * text_size.DIGIT
                - styles.INDENT * cell.alignment.indent
            )
            yield (text, cell.font.sz, cell.font.b, cell.font.i, round(width * 72 / 96, 2)), sum(heights)


def test_rows_are_as_tall_as_libreoffice_would_make_them(written, soffice, tmp_path):
    """Each wrapped text alone in a cell of the same width, in a row without a height: LibreOffice gives it one."""
    texts = {
        key: height for quote in written.values() for sheet in quote.sheets for key, height in wrapped_texts(sheet)
    }
    assert len(texts) > 400
    (tmp_path / "probe.fods").write_text(_alone(texts), encoding="utf-8")
    [saved] = soffice.convert([tmp_path / "probe.fods"], tmp_path / "saved")
    rows = openpyxl.load_workbook(saved).active.row_dimensions
    needed = {key: rows[number].height for number, key in enumerate(texts, 1)}
    assert max(needed.values()) > 40 and min(needed.values()) < 14
    assert {key: (texts[key], height) for key, height in needed.items() if texts[key] < height} == {}


SPACES = {"office": "office", "style": "style", "text": "text", "table": "table", "fo": "xsl-fo-compatible"}


def _alone(texts):
    """A flat OpenDocument sheet with each text in a row of its own, and in the column of its width."""
    widths, fonts = sorted({key[-1] for key in texts}), sorted({key[1:-1] for key in texts})
    spaces = " ".join(
        f'xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{space}:1.0"' for name, space in SPACES.items()
    )
    styles = "".join(
        f'<style:style style:name="c{number}" style:family="table-column">'
        f'<style:table-column-properties style:column-width="{width}pt"/></style:style>'
        for number, width in enumerate(widths)
    ) + "".join(
        f'<style:style style:name="f{number}" style:family="table-cell">'
        '<style:table-cell-properties fo:wrap-option="wrap"/>'
        f'<style:text-properties fo:font-family="Arial" fo:font-size="{size}pt"'
        f' fo:font-weight="{"bold" if bold else "normal"}" fo:font-style="{"italic" if italic else "normal"}"/>'
        "</style:style>"
        for number, (size, bold, italic) in enumerate(fonts)
    )  # fmt: skip
    rows = "".join(
        "<table:table-row>" + "<table:table-cell/>" * widths.index(width)
        + f'<table:table-cell table:style-name="f{fonts.index(tuple(font))}" office:value-type="string">'
        f"<text:p>{escape(text)}</text:p></table:table-cell></table:table-row>"
        for text, *font, width in texts
    )  # fmt: skip
    columns = "".join(f'<table:table-column table:style-name="c{number}"/>' for number in range(len(widths)))
    return (
        f'<?xml version="1.0" encoding="UTF-8"?><office:document {spaces} office:version="1.2"'
        ' office:mimetype="application/vnd.oasis.opendocument.spreadsheet">'
        f"<office:automatic-styles>{styles}</office:automatic-styles><office:body><office:spreadsheet>"
        f'<table:table table:name="alone">{columns}{rows}</table:table>'
        "</office:spreadsheet></office:body></office:document>"
    )


@pytest.mark.parametrize("name", CASES)
def test_a_text_that_does_not_wrap_ends_before_its_neighbour(written, name):
    """It may run on over empty cells, unless it is in merged cells, or shrinks."""
    for sheet in written[name].sheets:
        for coordinate, text in shown_texts(sheet).items():
            cell = sheet[coordinate]
            if cell.alignment.wrap_text or cell.alignment.shrink_to_fit or cell.alignment.textRotation:
                continue
            columns, _ = area_of(sheet, cell)
            if len(columns) == 1:
                filled = (other.column for other in sheet[cell.row] if other.column > cell.column and _has(other))
                columns = range(cell.column, next(filled, sheet.max_column + 1))
            room = text_size.pixels_across(digits_of(sheet, column) for column in columns)
            assert text_size.text_width(text, cell.font.sz, cell.font.b) <= room, (sheet.title, coordinate, text)


def _has(cell):
    return cell.value not in (None, "")


def test_letters_are_as_wide_as_in_libreoffice(soffice, tmp_path):
    """To 2 % over a line of plain type, and of bold."""
    lines = {text for language in LANGUAGES for text in words_in(language)["explained"].values()}
    plain = sorted({re.sub(r"\W", "", line)[:70] for line in lines})
    plain += ["0123456789" * 5, "ABCDEFGHIJKLMNOPQRSTUVWXYZ", "œÉàçñüß" * 3]
    path = tmp_path / "letters.xlsx"
    book = styles.new_workbook(path)
    for bold in (False, True):
        sheet = book.add_worksheet()
        for row, text in enumerate(plain):
            sheet.write_string(row, 0, text, book.add_format({"font_name": "Arial", "font_size": 10, "bold": bold}))
        sheet.set_column(0, 0, 90)
        sheet.set_landscape()
    book.close()
    [pdf] = soffice.convert([path], tmp_path / "pdf", to="pdf")
    boxes = re.findall(
        r'<word xMin="([\d.]+)" .*? xMax="([\d.]+)" .*?>(.*?)</word>', said("pdftotext", "-bbox", pdf, "-")
    )
    found = [(text, (float(right) - float(left)) * 96 / 72) for left, right, text in boxes if text in plain]
    assert len(found) == 2 * len(plain)
    for number, (text, width) in enumerate(found):
        assert text_size.text_width(text, bold=number >= len(plain)) == pytest.approx(width, rel=0.02), text


# The whole


@pytest.mark.parametrize("name", CASES)
def test_tab_goes_from_label_to_label_in_reading_order(written, name):
    """A protected sheet's Tab goes through its unlocked cells row by row, so each has its label before it or above."""
    quote = written[name]
    sheet, labels = quote.sheets[0], words_in(quote.issue.firm.language)["labels"]
    units = words_in(quote.issue.firm.language)["units"][quote.issue.firm.length_unit]
    places = {
        (row, column): name for name, (title, row, column) in quote.content.places.items() if title == sheet.title
    }
    open_cells = (cell for row in sheet.iter_rows() for cell in row if not cell.protection.locked)
    unlocked = [cell for cell in open_cells if (cell.row, cell.column) in places]
    names = [places[cell.row, cell.column] for cell in unlocked]
    assert set(names) == {*quote.content.inputs} - {"plan_line"}
    used = lines_in_use(QuoteDraft(quote.issue))
    lines = [f"{stem}_{line}" for line in range(1, LINES + 1) for stem in ("panel", "width", "length", "edging_wanted")]
    answers = ("accepted", "accepted_by", "accepted_on", "questions")
    assert names == [*lines[: 4 * used], *quote_sheet.ENTRIES, *answers, *lines[4 * used :]]
    for cell, name in zip(unlocked, names, strict=True):
        stem = re.sub(r"_\d$", "", name)
        before = [other.value for other in sheet[cell.row][: cell.column - 1]]
        above = [sheet.cell(row, cell.column).value for row in range(1, cell.row)]
        assert labels[stem].format(**units) in (before if stem == name else above), name


@pytest.mark.parametrize("name", CASES)
def test_colours_are_the_firm_s_own_and_few(written, name):
    quote = written[name]
    accents = floor_plan.part_colours(quote.issue.firm.accent_colour).values()
    own = {styles.INK, styles.QUIET, styles.RULE, styles.ENTRY, styles.EDGE, styles.STATUS, styles.WARNING, *accents}
    cells = [cell for sheet in quote.sheets for row in sheet.iter_rows() for cell in row if cell.has_style]
    used = (colour for cell in cells for colour in (cell.font.color, cell.fill.fgColor))
    colours = {colour.rgb for colour in used if colour and colour.type == "rgb"}
    assert {f"#{colour[2:]}" for colour in colours if colour != "00000000"} <= own
    assert {cell.font.name for cell in cells} == {"Arial"}


@pytest.mark.parametrize("name", CASES)
def test_a_workbook_stays_small(written, name):
    assert written[name].path.stat().st_size <= LARGEST


def test_the_longest_sheet_keeps_its_headings_in_view(written):
    for quote in written.values():
        working = quote.sheets[2]
        assert working.freeze_panes == "D5" and working.print_title_rows == "$1:$4"
