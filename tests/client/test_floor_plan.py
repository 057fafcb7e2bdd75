"""The floor plan: its figures recalculated, its drawing painted by two spreadsheet engines, its proportions.

What should be painted is drawn here a second time, panel by panel and strip by strip.
"""

import re
import zlib
from collections import Counter
from dataclasses import replace
from decimal import Decimal as D
from io import BytesIO

import openpyxl
import oracle
import pytest
import random_quotes
from extent import extent
from hypothesis import given, settings
from hypothesis import strategies as st
from worked_example import FIRM, LARGE, OBLONG, PAPERS, RATES, REQUEST, SNAP

from quotebook.client import floor_plan_sheet as floor_plan
from quotebook.client.draft import LINE_DRAWN, Issue, QuoteDraft
from quotebook.client.floor_plan_sheet import BOTTOM, CELLS, LEFT, TOP, write_floor_plan
from quotebook.client.workbook import SHEETS, write_quote
from quotebook.contract.plan_figures import GRID, ORIGIN_COLUMN, ORIGIN_ROW, PICKED, plan_figures
from quotebook.contract.stamp import Content
from quotebook.contract.vocabulary import on_every_line
from quotebook.contract.words import words_in
from quotebook.drawing.sheet_writer import SheetWriter
from quotebook.drawing.styles import Styles, new_workbook
from quotebook.engine.model import LINES, FloorLine, Request
from quotebook.engine.money import number, round6
from quotebook.engine.price import NO_PANEL, price

WORDS = words_in("en")
COLOURS = floor_plan.part_colours(FIRM.accent_colour)
PARTS = {colour: part for part, colour in COLOURS.items()}
EDGED_OBLONG = replace(OBLONG, piece=D(4))
EDGED_SNAP = replace(SNAP, piece=D(3))


def figures_of(*floors, kinds=(LARGE, EDGED_SNAP, EDGED_OBLONG)):
    """The engine's figures for floors written as panel, width, length, edging."""
    lines = tuple(FloorLine(panel, D(width), D(length), edged) for panel, width, length, edged in floors)
    return price(replace(RATES, kinds=kinds), replace(REQUEST, lines=lines))


def plan_of(figures, line=LINE_DRAWN):
    return plan_figures(figures, (), line, WORDS, "ft")


READ = (*PICKED, "counted")
"""Figures of a floor line that the plan reads."""


class Plan:
    """The plan's sheet over a sheet of plain figures, in a spreadsheet engine that lives in this process."""

    def __init__(self, path):
        book = new_workbook(path)
        content, styles = Content(), Styles(book, FIRM.accent_colour, D(2))
        draft = QuoteDraft(Issue(PAPERS, FIRM, RATES, REQUEST, terms=()))
        styles.number_formats |= draft.words["formats"]
        write_floor_plan(SheetWriter(book, book.add_worksheet("Plan"), styles, content), draft)
        writer = SheetWriter(book, book.add_worksheet("Figures"), styles, content)
        for row, (name, line) in enumerate((name, line) for name in READ for line in range(1, LINES + 1)):
            writer.owner(f"{name}_{line}", row, 0, D(0))
        book.close()
        self.path, self.places = path, {name: place[1:] for name, place in content.places.items()}

    def enter(self, model, figures, line):
        """Figures, and the line to draw as a client would type it; `'` before a text keeps it text."""
        flat = figures.by_name()
        for name in on_every_line(*(f"{name}_#" for name in READ)):
            model.set_user_input(1, *self.places[name], str(flat[name]))
        typed = "" if line is None else f"'{line}" if isinstance(line, str) else str(line)
        model.set_user_input(0, *self.places["plan_line"], typed)


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    return Plan(tmp_path_factory.mktemp("plan") / "plan.xlsx")


# The figures


@pytest.fixture(scope="module")
def recalculating(plan):
    """The plan without its rules and with every cached value wrong, in IronCalc."""
    import ironcalc

    path = plan.path.with_name("poisoned.xlsx")
    path.write_bytes(oracle.poisoned(plan.path.read_bytes()))
    return ironcalc.load_from_xlsx(str(path), "en", "UTC", "en")


floors = st.builds(
    FloorLine, panel=st.sampled_from((*random_quotes.CODES, "")), width=random_quotes.decimals("0.1", 200),
    length=random_quotes.decimals("0.1", 200), edging_wanted=st.booleans(),
)  # fmt: skip
requests = st.lists(floors, min_size=1, max_size=LINES).map(lambda lines: replace(REQUEST, lines=tuple(lines)))
rates = st.tuples(*map(random_quotes.kinds, random_quotes.CODES)).map(lambda kinds: replace(RATES, kinds=kinds))
lines_to_draw = st.one_of(
    random_quotes.wholes(1, LINES), st.sampled_from((None, "two", "1", "*", D(0), D(7), D(-1), D("1.5"), D("1E+20")))
)


def check_figures(plan, recalculating, rates, request, line):
    figures = price(rates, request)
    plan.enter(recalculating, figures, line)
    recalculating.evaluate()
    for name, expected in plan_of(figures, line).items():
        found = recalculating.get_cell_value(0, *plan.places[name])
        assert found == expected if isinstance(expected, str) else round6(number(found)) == round6(expected), name


@given(rates, requests, lines_to_draw)
@settings(max_examples=extent(60, 150), deadline=None)
def test_every_figure_and_sentence_is_the_recalculated_one(plan, recalculating, rates, request, line):
    check_figures(plan, recalculating, rates, request, line)


@pytest.mark.slow
@given(rates, requests, lines_to_draw)
@settings(max_examples=10_000, deadline=None)
def test_every_figure_and_sentence_is_the_recalculated_one_at_length(plan, recalculating, rates, request, line):
    check_figures(plan, recalculating, rates, request, line)


METRIC = replace(LARGE, panel="S", panel_width=D("1.22"), panel_length=D("1.22"))
BARE = "No edging: the edge is bare"
TURNED = "Panels of 3 x 4 ft, laid a quarter turn round: that way fewer are needed."
NO_LINE = "Choose a floor line from 1 to 6: nothing is drawn."

SAID = {
    "the worked example's first line": (
        figures_of(("4x4", 18, 22, True)), D(1),
        ("5 across x 6 along, 30 panels, 20 x 24 ft", "Panels of 4 x 4 ft, not turned.",
         "Slot edging, above and right: 11 pieces", "Tongue edging, below and left: 11 pieces", "Corners: 4"),
    ),
    "its third, turned, without edging": (
        figures_of(("4x4", 1, 1, True), ("3x4", 11, 18, False)), D(2),
        ("3 across x 6 along, 18 panels, 12 x 18 ft", TURNED, BARE, "", ""),
    ),
    "its third, turned, with edging": (
        figures_of(("3x4", 11, 18, True)), D(1),
        ("3 across x 6 along, 18 panels, 12 x 18 ft", TURNED,
         "Slot edging, above and left: 8 pieces", "Tongue edging, below and right: 8 pieces", "Corners: 4"),
    ),
    "one panel": (
        figures_of(("4x4", 1, 1, False)), D(1),
        ("1 across x 1 along, 1 panel, 4 x 4 ft", "Panels of 4 x 4 ft, not turned.", BARE, "", ""),
    ),
    "decimals without noise": (
        figures_of(("S", 8, 8, False), kinds=(METRIC,)), D(1),
        ("7 across x 7 along, 49 panels, 8.54 x 8.54 ft", "Panels of 1.22 x 1.22 ft, not turned.", BARE, "", ""),
    ),
    "too many": (
        figures_of(("4x4", 100, 12, True)), D(1),
        ("25 across x 3 along, 75 panels: more than 24 on a side are too many to draw.", "", "", "", ""),
    ),
    "no floor on that line": (
        figures_of(("4x4", 16, 12, True)), D(5),
        ("Floor line 5 is blank or not priced: nothing is drawn.", "", "", "", ""),
    ),
    "a blank entry": (figures_of(("4x4", 16, 12, True)), None, (NO_LINE, "", "", "", "")),
    "a text entry": (figures_of(("4x4", 16, 12, True)), "1", (NO_LINE, "", "", "", "")),
}  # fmt: skip


@pytest.mark.parametrize("case", SAID)
def test_what_the_plan_says(plan, recalculating, case):
    figures, line, said = SAID[case]
    plan.enter(recalculating, figures, line)
    recalculating.evaluate()
    names = ("plan_caption", "plan_laid", "plan_slot_said", "plan_tongue_said", "plan_corner_said")
    assert tuple(recalculating.get_cell_value(0, *plan.places[name]) for name in names) == said


# The drawing


@pytest.fixture(scope="module")
def painting(plan):
    """The plan with its rules, in IronCalc, which works conditional formats out."""
    import ironcalc

    return ironcalc.create_user_model_from_xlsx(str(plan.path), "en", "UTC", "en")


def drawn(plan):
    """What each cell of the drawing should show, by row and column: painted strip by strip, panel over edging."""
    cells = {}

    def fill(part, top, left, rows, columns):
        cells.update({(row, column): part for row in range(top, top + rows) for column in range(left, left + columns)})

    across, along, panel_columns, panel_rows, frame = (
        int(plan[f"plan_{name}"]) for name in ("across", "along", "panel_columns", "panel_rows", "frame")
    )
    if not plan["plan_drawn"]:
        return cells
    top, left, rows, columns = ORIGIN_ROW, ORIGIN_COLUMN, along * panel_rows, across * panel_columns
    edge = ("corner", "slot", "tongue") if plan["plan_edging_fitted"] else ("bare", "bare", "bare")
    fill(edge[0], top - frame, left - frame, rows + 2 * frame, columns + 2 * frame)
    at_left, at_right = edge[1:] if plan["plan_turned"] else edge[:0:-1]
    fill(edge[1], top - frame, left, frame, columns)
    fill(edge[2], top + rows, left, frame, columns)
    fill(at_left, top, left - frame, rows, frame)
    fill(at_right, top, left + columns, rows, frame)
    gaps = [(row, column) for (row, column), part in cells.items() if part == "tongue" and (row + column) % 4 >= 2]
    cells.update(dict.fromkeys(gaps, "tongue_gap"))
    for down in range(along):
        for over in range(across):
            tone = ("panel", "next_panel")[(along - 1 - down + over) % 2]
            fill(tone, top + down * panel_rows, left + over * panel_columns, panel_rows, panel_columns)
    return cells


def painted(model):
    """What each cell of the drawing does show, after the engine has worked the rules out."""
    cells = {}
    for row in range(TOP + 1, BOTTOM + 1):
        for column in range(LEFT + 1, LEFT + CELLS + 1):
            colour = model.get_extended_cell_style(0, row, column)["style"]["fill"].get("color")
            if colour:
                cells[row, column] = PARTS[colour]
    return cells


PAINTED = {
    "5 x 6 of 4x4, edged": (("4x4", 18, 22, True), D(1)),
    "3 x 6 of 3x4, turned, edged": (("3x4", 11, 18, True), D(1)),
    "5 x 4 of 2x3, bare": (("2x3", 10, 10, False), D(1)),
    "24 x 24 of 2x3, edged": (("2x3", 48, 72, True), D(1)),
    "1 x 1 of 4x4, bare": (("4x4", 4, 4, False), D(1)),
    "24 x 1 of 3x4, edged": (("3x4", 72, 4, True), D(1)),
    "25 x 3 of 4x4": (("4x4", 100, 12, True), D(1)),
    "no line": (("4x4", 18, 22, True), None),
}


def repaint(plan, model, figures, line):
    model.pause_evaluation()
    plan.enter(model, figures, line)
    model.resume_evaluation()
    model.evaluate()


@pytest.mark.parametrize("case", PAINTED)
def test_the_rules_paint_the_floor(plan, painting, case):
    floor, line = PAINTED[case]
    figures = figures_of(floor)
    repaint(plan, painting, figures, line)
    expected = drawn(plan_of(figures, line))
    assert painted(painting) == expected
    assert bool(expected) == (case not in ("25 x 3 of 4x4", "no line"))


def test_the_drawing_holds_nothing_and_its_rules_are_plain_fills(plan):
    sheet = openpyxl.load_workbook(plan.path)["Plan"]
    area = sheet.iter_rows(min_row=TOP + 1, max_row=BOTTOM, min_col=LEFT + 1, max_col=LEFT + CELLS, values_only=True)
    assert {value for row in area for value in row} == {None}
    last = f"{openpyxl.utils.get_column_letter(LEFT + CELLS)}{BOTTOM}"
    rules = sheet.conditional_formatting[f"{openpyxl.utils.get_column_letter(LEFT + 1)}{TOP + 1}:{last}"]
    assert [rule.formula for rule in rules] == [[formula] for formula in floor_plan.rules(1).values()]
    assert [rule.priority for rule in rules] == sorted(rule.priority for rule in rules)
    assert {(rule.type, rule.stopIfTrue) for rule in rules} == {("expression", True)}
    assert [f"#{rule.dxf.fill.bgColor.rgb[2:]}" for rule in rules] == [COLOURS[part] for part in floor_plan.rules(1)]


def test_rules_speak_in_names_and_in_functions_that_mean_the_same_everywhere():
    words = set(re.findall(r"[A-Za-z_]\w*", " ".join(floor_plan.rules(1).values())))
    assert {word for word in words if word.isupper()} == {"AND", "OR", "IF", "INT", "ROUND", "MOD", "ROW", "COLUMN"}
    assert {word for word in words if not word.isupper()} <= {"plan_origin", *plan_of(figures_of())}


# Proportion

COMMON = [(D(width), D(length)) for width, length in (
    (4, 4), (3, 4), (4, 3), (2, 3), (4, 2), (3, 3), ("1.2", "0.9"), (1, 1), ("1.22", "1.22"), ("1.22", "2.44"),
)]  # fmt: skip
"""Sizes in which panels are made, in feet and in metres (common practice, no source)."""


def plan_for(across, along, width, length):
    """The plan of a floor of so many panels of that size as they are laid."""
    figures = {
        "across": D(across), "along": D(along), "panel_width": width, "panel_length": length,
        "actual_width": across * width, "actual_length": along * length, "panels": D(across * along),
    }  # fmt: skip
    return plan_of(replace(price(RATES, Request()), lines=(replace(NO_PANEL, **figures),) * LINES))


@pytest.mark.parametrize(("width", "length"), COMMON)
def test_common_panels_are_drawn_in_their_own_proportion_and_as_large_as_fits(width, length):
    for across in range(1, 25):
        for along in (1, 2, 3, 5, 8, 13, 20, 23, 24):
            plan = plan_for(across, along, width, length)
            columns, rows = plan["plan_panel_columns"], plan["plan_panel_rows"]
            assert columns * length == rows * width
            assert max(columns * across, rows * along) <= GRID
            larger = (max(columns, rows) + 4) / max(width, length)
            assert larger * width * across > GRID or larger * length * along > GRID


@given(random_quotes.decimals("0.25", 1, places=3), st.integers(1, 24), st.integers(1, 24), st.booleans())
def test_any_panel_is_drawn_near_its_own_proportion(slimness, across, along, wide):
    plan = plan_for(across, along, *((D(1), slimness) if wide else (slimness, D(1))))
    short, long = sorted((plan["plan_panel_columns"], plan["plan_panel_rows"]))
    most = max(across, along)
    bound = D("0.05") if most <= 8 else D("0.08") if most <= 12 else D("0.20")
    assert abs(short / (long * slimness) - 1) <= bound
    assert max(across * plan["plan_panel_columns"], along * plan["plan_panel_rows"]) <= GRID


# The page


def write(path, paper, *floors):
    lines = tuple(FloorLine(panel, D(width), D(length), edged) for panel, width, length, edged in floors)
    issue = Issue(
        PAPERS, replace(FIRM, paper=paper), replace(RATES, kinds=(LARGE, EDGED_SNAP, EDGED_OBLONG)),
        replace(REQUEST, lines=lines), terms=("Pay in time.",),
    )  # fmt: skip
    file = BytesIO()
    write_quote(file, issue, b"a key for tests")
    path.write_bytes(file.getvalue())
    return path


def rectangles(pdf):
    """Every filled rectangle of a PDF's pages by part of the drawing: left, bottom, width, height in points."""
    streams = re.findall(rb"/FlateDecode>>\s*stream\r?\n(.*?)\nendstream", pdf.read_bytes(), re.DOTALL)
    text = b"\n".join(zlib.decompress(stream) for stream in streams if stream[:1] == b"x").decode("latin-1")
    found, colour = [], None
    for match in re.finditer(r"([\d. ]+) rg\b|([-\d. ]+) re f\*", text):
        if match[1]:
            colour = "#" + "".join(f"{round(float(channel) * 255):02X}" for channel in match[1].split())
        elif colour in PARTS:
            found.append((PARTS[colour], *map(float, match[2].split())))
    return found


def stacked(shapes):
    """Rectangles of one part that stand on one another, as one: the dashes beside them cut each row of a panel off."""
    found = []
    for part, left, bottom, width, height in sorted(shapes, key=lambda shape: (shape[0], shape[1], shape[3], shape[2])):
        if found and found[-1][:2] == [part, left] and found[-1][3] == width and bottom - sum(found[-1][2::2]) < 0.1:
            found[-1][4] = bottom + height - found[-1][2]
        else:
            found.append([part, left, bottom, width, height])
    return found


def test_libreoffice_prints_square_cells_on_one_page(tmp_path, soffice):
    """Panels of the printed plan, each one rectangle in the file, are as long and wide as they should be to 2 %."""
    paths = [
        write(tmp_path / "grass.xlsx", "Letter", ("4x4", 18, 22, True)),
        write(tmp_path / "turned.xlsx", "A4", ("3x4", 11, 18, True)),
    ]
    pdfs = soffice.convert(paths, tmp_path / "pdf", to="pdf")
    for pdf, panels, proportion, slot_first in zip(pdfs, (30, 18), (1, 4 / 3), (False, True), strict=True):
        tall = [shape for shape in stacked(rectangles(pdf)) if shape[4] > 20]
        tones = Counter(part for part, *_ in tall if part in ("panel", "next_panel"))
        assert tones == {"panel": panels / 2, "next_panel": panels / 2}
        for part, _, _, width, height in tall:
            assert part not in tones or width / height == pytest.approx(proportion, rel=0.02)
        ends = min if slot_first else max
        assert ends(tall, key=lambda shape: shape[1])[0] == "slot"
        dashes = [shape for shape in rectangles(pdf) if shape[0] in ("tongue", "tongue_gap")]
        beside = [left for _, left, *_ in tall]
        assert (
            max(left for _, left, *_ in dashes) > max(beside)
            if slot_first
            else min(left for _, left, *_ in dashes) < min(beside)
        )
        assert len(re.findall(rb"/Type\s*/Page\b", pdf.read_bytes())) == len(SHEETS)


def test_a_client_s_workbook_stays_small(tmp_path):
    assert write(tmp_path / "quote.xlsx", "A4", *[("4x4", 160, 160, True)] * LINES).stat().st_size < 70_000
