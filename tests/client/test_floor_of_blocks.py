"""A floor of several lines is drawn whole: its blocks where they lie, each in its finish, edged round the whole only.

What should be painted is drawn here a second time, from the blocks themselves.
"""

import ast
import re
from dataclasses import replace
from decimal import ROUND_HALF_UP
from decimal import Decimal as D
from io import BytesIO
from itertools import accumulate, pairwise, product
from math import ceil

import ironcalc
import openpyxl
import oracle
import pytest
from extent import extent, some
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl.utils import get_column_letter
from test_first_screen import issue_of

from quotebook.client.draft import QuoteDraft
from quotebook.client.floor_plan_sheet import BOTTOM, CELLS, LEFT, TOP, part_colours
from quotebook.client.workbook import write_quote
from quotebook.contract.plan_figures import FRAME, ORIGIN_COLUMN, ORIGIN_ROW
from quotebook.contract.small_plan_figures import COLUMNS, ROW_PIXELS
from quotebook.contract.words import LANGUAGES
from quotebook.engine.model import LINES, FloorLine
from quotebook.engine.money import number, round6

ISSUE = issue_of()
SHAPE = [(4, 4), (2, 4), (4, 2), (2, 2)]
"""Sides of the panels, which lock together; every kind has edging of 4 ft."""
KINDS = tuple(
    replace(ISSUE.rates.kinds[0], panel=f"P{width}{length}", panel_width=D(width), panel_length=D(length), piece=D(4))
    for width, length in SHAPE
)
SIDES = {kind.panel: (kind.panel_width, kind.panel_length) for kind in KINDS}
FINISHES = {
    kind.panel: colour for kind, colour in zip(KINDS, ("#C8965A", "#B9834A", "#E0C090", "#806040"), strict=True)
}


def extent_of(blocks):
    """The sides of a floor."""
    return max(block[0] + block[2] for block in blocks), max(block[1] + block[3] for block in blocks)


def issue(*floors, edged=True, language="en"):
    """A quote for floors, each of blocks: x, y, width, length, panel. The first of a floor of several is near left."""
    lines = []
    for blocks in floors:
        wide, deep = extent_of(blocks)
        for place, (x, y, width, length, panel) in enumerate(blocks):
            joined = (-width, -length) if place else (wide - width, deep - length)
            at = wide - x - width, deep - y - length
            lines.append(FloorLine(panel, D(width), D(length), edged, *map(D, (*joined, *at))))
    found = issue_of(language=language)
    rates = replace(found.rates, kinds=KINDS)
    request = replace(found.request, surface="paving", lines=tuple(lines))
    return replace(found, rates=rates, request=request, finishes=FINISHES)


STRIPS = [(0, 0, 16, 12, "P44"), (0, 12, 16, 4, "P24"), (0, 16, 16, 2, "P42")]
BESIDE = [(0, 0, 12, 12, "P44"), (12, 0, 2, 16, "P24"), (0, 12, 12, 4, "P42")]
SIX = [(0, 0, 8, 8, "P44"), (8, 0, 4, 4, "P24"), (12, 0, 2, 8, "P22"), (8, 4, 4, 4, "P42"), (0, 8, 10, 2, "P22"),
       (10, 8, 4, 2, "P42")]  # fmt: skip
PINWHEEL = [(0, 0, 8, 4, "P44"), (8, 0, 4, 8, "P24"), (4, 4, 4, 4, "P22"), (0, 4, 4, 8, "P24"), (4, 8, 8, 4, "P42")]
OTHER_FIRST = [(4, 4, 8, 8, "P44"), (0, 0, 12, 4, "P42"), (0, 4, 4, 8, "P24")]
FLOORS = {
    "two side by side": [STRIPS[0], (16, 0, 4, 12, "P24")], "three in a row": STRIPS, "three round a corner": BESIDE,
    "four": [*BESIDE, (0, 16, 14, 2, "P22")], "five": PINWHEEL, "six": SIX, "another block first": OTHER_FIRST,
}  # fmt: skip


def recalculating_model(path, quote):
    """A quote in IronCalc, with every cached value wrong, and what it holds."""
    content = write(path, quote)
    path.write_bytes(oracle.poisoned(path.read_bytes()))
    return ironcalc.load_from_xlsx(str(path), "en", "UTC", "en"), content


def write(path, quote):
    with path.open("wb") as file:
        return write_quote(file, quote, b"key")


def wrong(model, content, results):
    """Figures of the plans that come to something else than they should."""
    found = {}
    for name, due in results.items():
        if "plan_" in name and name in content.formulas:
            _, row, column = content.places[name]
            value = model.get_cell_value(sheet_of(content, name), row, column)
            same = (value or "") == due if isinstance(due, str) else round6(number(value)) == round6(due)
            found |= {} if same else {name: (due, value, content.formulas[name])}
    return found


def sheet_of(content, name):
    """The number of the sheet that a name is on: those of the plans and of the entries are on the first two."""
    return int(content.places[name][0] != content.places["panel_1"][0])


TWO_FLOORS = ([(0, 0, 4, 4, "P44")], BESIDE, [(0, 0, 8, 4, "P44"), (8, 0, 2, 4, "P24")])
"""A floor of one line, one of three and one of two."""


@pytest.fixture(scope="module")
def recalculating(tmp_path_factory):
    return recalculating_model(tmp_path_factory.mktemp("blocks") / "quote.xlsx", issue(*TWO_FLOORS))


changes = st.dictionaries(
    st.tuples(st.integers(0, LINES - 1), st.sampled_from(("width", "length"))), st.integers(0, 16).map(D), max_size=2
)


@given(changes, st.integers(1, LINES).map(D))
@settings(max_examples=extent(25, 150), deadline=None)
def test_every_figure_of_the_plans_is_the_recalculated_one(recalculating, sizes, drawn):
    """Sizes are changed by a client: some of these floors are no more, and a first block may grow along its floor."""
    model, content = recalculating
    quote = issue(*TWO_FLOORS)
    lines = [*quote.request.lines]
    for (line, side), size in sizes.items():
        lines[line] = replace(lines[line], **{side: size})
    for place, line in enumerate(lines, 1):
        for side in ("width", "length"):
            model.set_user_input(0, *content.places[f"{side}_{place}"][1:], str(getattr(line, side)))
    model.set_user_input(1, *content.places["plan_line"][1:], str(drawn))
    model.evaluate()
    changed = replace(quote, request=replace(quote.request, lines=tuple(lines)))
    assert wrong(model, content, results_of(changed, drawn)) == {}


def results_of(quote, drawn):
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("quotebook.client.draft.LINE_DRAWN", drawn)
        return QuoteDraft(quote).results


@pytest.mark.parametrize("floor", some(FLOORS, ("two side by side", "six")))
def test_a_quote_with_such_a_floor_agrees(tmp_path, floor):
    model, content = recalculating_model(tmp_path / "quote.xlsx", issue(FLOORS[floor]))
    model.evaluate()
    assert content.results["plan_blocks"] == len(FLOORS[floor])
    assert wrong(model, content, content.results) == {}


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_quote_with_such_a_floor_stays_small(tmp_path, language):
    """The shipped cards' kinds make three blocks at most, which is within what every quote is; six take 2 KB more."""
    for blocks, kilobytes in ((STRIPS, 70), (FLOORS["four"], 71), (SIX, 72)):
        write(tmp_path / "quote.xlsx", issue(blocks, language=language))
        assert (tmp_path / "quote.xlsx").stat().st_size <= kilobytes * 1024


def test_a_quote_without_such_a_floor_holds_nothing_of_blocks():
    content = write_quote(BytesIO(), ISSUE, b"key")
    assert not [name for name in content.places if "block" in name or "joined_right" in name or "plan_left" in name]


WORDS = {"AND": "all_of", "OR": "any_of", "IF": "choose", "INT": "floor", "MOD": "modulo", "ROUND": "rounded"}


def painted(content, sheet, area, rows, columns):
    """The colour of each cell of an area that has one, by the rules that the file has for it: the first that holds.

    A rule of ours is in a few plain functions, which are said here once more in Python; IronCalc takes a minute to work
    out all rules of a quote (the test of one, below).
    """
    known = {name: value for name, value in content.results.items() if "plan_" in name}
    known |= {
        f"{name}_{axis}": content.places[name][at]
        for name in content.anchors
        for axis, at in (("row", 1), ("column", 2))
    }
    rules = sorted(
        (rule for ruled in sheet.conditional_formatting if str(ruled.sqref) == area for rule in ruled.rules),
        key=lambda rule: rule.priority,
    )
    conditions = [
        (compile(in_python(rule.formula[0]), "rule", "eval"), f"#{rule.dxf.fill.bgColor.rgb[2:]}") for rule in rules
    ]
    colours = {}
    for row in rows:
        for column in columns:
            here = PYTHON | known | {"row": row, "column": column}
            colour = next((colour for condition, colour in conditions if eval(condition, here)), None)
            if colour:
                colours[row, column] = colour
    return colours


PYTHON = {
    "all_of": lambda *them: all(them),
    "any_of": lambda *them: any(them),
    "choose": lambda condition, one, other: one() if condition else other(),
    "floor": lambda value: value // 1,
    "modulo": lambda value, by: value % by,
    "rounded": lambda value, places: round(D(value), places),
}


def in_python(formula):
    """A rule as an expression of Python; the branches of IF are worked out only where they are taken."""
    text = re.sub(r"(ROW|COLUMN)\((\w*)\)", lambda found: "_".join(filter(None, (found[2], found[1].lower()))), formula)
    text = re.sub(r"(?<![<>])=", "==", text)
    for word, name in WORDS.items():
        text = re.sub(rf"\b{word}\(", f"{name}(", text)
    tree = ast.parse(text, mode="eval")
    return ast.unparse(Lazily().visit(tree))


class Lazily(ast.NodeTransformer):
    """Puts off the branches of `choose`."""

    def visit_Call(self, node):
        self.generic_visit(node)
        if isinstance(node.func, ast.Name) and node.func.id == "choose":
            node.args[1:] = [
                ast.Lambda(ast.arguments([], [], None, [], [], None, []), branch) for branch in node.args[1:]
            ]
        return node


PLAN = f"{get_column_letter(LEFT + 1)}{TOP + 1}:{get_column_letter(LEFT + CELLS)}{BOTTOM}"


def scale_of(content):
    """Cells a foot, across and down."""
    results = content.results
    columns = results["plan_panel_columns"] / results["plan_laid_width"]
    return columns, results["plan_panel_rows"] / results["plan_laid_length"]


@pytest.mark.parametrize(
    ("floor", "edged"),
    some(product(FLOORS, (True, False)), [*product(FLOORS, [True]), ("three round a corner", False)]),
)
def test_blocks_are_painted_where_they_lie_in_their_finish_and_edged_round_the_whole(tmp_path, floor, edged):
    blocks = FLOORS[floor]
    content = write(tmp_path / "quote.xlsx", issue(blocks, edged=edged))
    sheet = openpyxl.load_workbook(tmp_path / "quote.xlsx").worksheets[1]
    check_painted(
        painted(content, sheet, PLAN, range(TOP + 1, BOTTOM + 1), range(LEFT + 1, LEFT + CELLS + 1)),
        content,
        blocks,
        edged,
    )


@pytest.mark.slow
def test_ironcalc_paints_them_so(tmp_path):
    content = write(tmp_path / "quote.xlsx", issue(PINWHEEL))
    model = ironcalc.create_user_model_from_xlsx(str(tmp_path / "quote.xlsx"), "en", "UTC", "en")
    model.evaluate()
    cells = {}
    for row in range(TOP + 1, BOTTOM + 1):
        for column in range(LEFT + 1, LEFT + CELLS + 1):
            cells[row, column] = model.get_extended_cell_style(1, row, column)["style"]["fill"].get("color")
    check_painted({place: colour for place, colour in cells.items() if colour}, content, PINWHEEL, edged=True)


def check_painted(found, content, blocks, edged):
    rows, columns = int(content.results["plan_rows"]), int(content.results["plan_columns"])
    across, down = scale_of(content)
    for x, y, width, length, panel in blocks:
        light, others = FINISHES[panel], {*FINISHES.values()} - {FINISHES[panel]}
        bottom, left = ORIGIN_ROW + rows - whole(y * down), ORIGIN_COLUMN + whole(x * across)
        inside = {
            (row, column): found.pop((row, column), None)
            for row in range(ORIGIN_ROW + rows - whole((y + length) * down), bottom)
            for column in range(left, ORIGIN_COLUMN + whole((x + width) * across))
        }
        tones = {*inside.values()}
        assert inside[bottom - 1, left] == light and others.isdisjoint(tones)
        assert len(tones) == (1 if (width, length) == SIDES[panel] else 2)
    assert edging_drawn(found, rows, columns, edged) == counted_edging(content, edged)


def whole(cells):
    """The nearest whole number of cells."""
    return int(D(cells).to_integral_value(ROUND_HALF_UP))


def edging_drawn(found, rows, columns, edged):
    """Edging pieces by kind round the floor, from the cells that are painted when every block is taken away."""
    frame = FRAME if edged else 1
    colours = part_colours(ISSUE.firm.accent_colour)
    at_row, at_column = range(ORIGIN_ROW, ORIGIN_ROW + rows), range(ORIGIN_COLUMN, ORIGIN_COLUMN + columns)
    around = {
        (row, column)
        for row in range(ORIGIN_ROW - frame, ORIGIN_ROW + rows + frame)
        for column in range(ORIGIN_COLUMN - frame, ORIGIN_COLUMN + columns + frame)
    }
    assert {*found} == around - {(row, column) for row in at_row for column in at_column}  # none on a joint
    if not edged:
        return {*found.values()}
    above = [found[ORIGIN_ROW - 1, column] for column in at_column]
    right = [found[row, ORIGIN_COLUMN + columns] for row in at_row]
    assert {*above, *right} == {colours["slot"]}
    dashes = {found[ORIGIN_ROW + rows, column] for column in at_column}
    dashes |= {found[row, ORIGIN_COLUMN - 1] for row in at_row}
    assert dashes == {colours["tongue"], colours["tongue_gap"]}
    corners = [colour for colour in found.values() if colour == colours["corner"]]
    return len(above), len(right), len(corners) // frame**2


def counted_edging(content, edged):
    """The sides of the floor in cells that so many pieces cover, and the corners."""
    if not edged:
        assert sum(content.results[f"edging_pieces_{line}"] for line in range(1, LINES + 1)) == 0
        return {part_colours(ISSUE.firm.accent_colour)["bare"]}
    (across, down), results = scale_of(content), content.results
    sides = results["plan_columns"], results["plan_rows"]
    feet = (round(side / scale, 1) for side, scale in zip(sides, (across, down), strict=True))
    pieces = sum(ceil(side / 4) for side in feet)
    for kind in ("slot", "tongue"):
        assert sum(results[f"{kind}_pieces_{line}"] for line in range(1, LINES + 1)) == pieces
    return *map(int, sides), sum(results[f"corners_{line}"] for line in range(1, LINES + 1))


@pytest.mark.parametrize("floor", FLOORS)
def test_the_small_plan_has_every_block_where_it_lies(tmp_path, floor):
    """A cell that is half a column or more inside a block, and whose middle is inside it, shows that block's finish."""
    blocks = FLOORS[floor]
    content = write(tmp_path / "quote.xlsx", issue(blocks))
    sheet = openpyxl.load_workbook(tmp_path / "quote.xlsx").worksheets[0]
    _, top, left = content.places["small_plan_origin"]
    last = top + len(ROW_PIXELS) - 1, left + COLUMNS - 1
    area = f"{get_column_letter(left)}{top}:{get_column_letter(last[1])}{last[0]}"
    found = painted(content, sheet, area, range(top, last[0] + 1), range(left, last[1] + 1))
    (wide, deep), results = extent_of(blocks), content.results
    height, columns = results["small_plan_height"], results["small_plan_columns"]
    assert {*found.values()} & {*FINISHES.values()} == {FINISHES[block[4]] for block in blocks}
    for row, (above, below) in enumerate(pairwise(accumulate(ROW_PIXELS, initial=0))):
        for column in range(int(columns)):
            x, y = (column + D("0.5")) * wide / columns, deep - D(above + below) / 2 * deep / height
            here = [
                panel
                for at_x, at_y, width, length, panel in blocks
                if min(x - at_x, at_x + width - x) * columns >= wide and at_y < y < at_y + length
            ]
            assert not here or found[top + row, left + column] == FINISHES[here[0]]


def test_the_plan_says_how_many_panels_and_blocks_and_names_each(tmp_path):
    content = write_quote(file := BytesIO(), issue(STRIPS), b"key")
    assert content.results["plan_caption"] == "24 panels in 3 blocks, 16 x 18 ft"
    said = [
        cell.value for row in openpyxl.load_workbook(file, data_only=True)["Floor plan"].iter_rows() for cell in row
    ]
    assert [text.count(";") for text in said if isinstance(text, str) and "16 x 12 ft" in text] == [2]
