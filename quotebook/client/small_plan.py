"""The small plan beside the head of the first sheet: the floor in its proportion, in the colours of its finish.

It draws what the sheet of the floor plan draws, by rules that read cells of its own sheet, because not every program
lets a rule read another one. Each rule is a plain fill, and the first that holds stops the others.
"""

from quotebook.client.columns import FIRST, PLAN
from quotebook.client.draft import QuoteDraft
from quotebook.client.floor_plan_sheet import CELL_WIDTH
from quotebook.contract.formulas import first_of
from quotebook.contract.plan_block_formulas import most_blocks_of
from quotebook.contract.small_plan_figures import COLUMNS, ROW_PIXELS
from quotebook.contract.small_plan_formulas import small_plan_formulas
from quotebook.contract.vocabulary import on_line
from quotebook.drawing.sheet_writer import SheetWriter

GROUND, UNCOLOURED = "#DCE3DF", "#A6A6A6"
"""The colours of the ground, and of a floor whose kind of panel has none on the card."""

DOWN, ACROSS = "ROW()-ROW(small_plan_origin)", "COLUMN()-COLUMN(small_plan_origin)"
ON_FLOOR = f"{DOWN}<small_plan_rows,{ACROSS}<small_plan_columns"
IN_BLOCK = (
    f"AND({ACROSS}>=small_plan_left_#,{ACROSS}<small_plan_right_#,{DOWN}>=small_plan_top_#,{DOWN}<small_plan_bottom_#)"
)


def write_small_plan(writer: SheetWriter, draft: QuoteDraft, row: int) -> None:
    """Writes the floor's size in a row, and below it the rows and columns of the drawing."""
    writer.sheet.set_column_pixels(PLAN, PLAN + COLUMNS - 1, CELL_WIDTH, writer.styles.format("plain"))
    formula, result = draft.formulas["plan_size_said"], draft.results["plan_size_said"]
    writer.figure("plan_size_said", row, PLAN, formula, result, "label")
    writer.anchor("small_plan_origin", row + 1, PLAN)
    blocks = [
        (on_line(IN_BLOCK, block), f"small_plan_kind_{block}") for block in range(2, most_blocks_of(draft.groups) + 1)
    ]
    kind_there = first_of(blocks, "small_plan_kind")
    for number, kind in enumerate(draft.issue.rates.kinds, 1):
        if colour := draft.issue.finishes.get(kind.panel):
            _rule(writer, row + 1, f"AND({ON_FLOOR},{kind_there}={number})", colour)
    _rule(writer, row + 1, f"AND({ON_FLOOR})", UNCOLOURED)
    _rule(writer, row + 1, "small_plan_rows>0", GROUND)


def _rule(writer: SheetWriter, row: int, condition: str, colour: str) -> None:
    fill = writer.book.add_format({"bg_color": colour})
    rule = {"type": "formula", "criteria": f"={condition}", "format": fill, "stop_if_true": True}
    writer.sheet.conditional_format(row, PLAN, row + len(ROW_PIXELS) - 1, PLAN + COLUMNS - 1, rule)


def write_small_plan_figures(writer: SheetWriter, draft: QuoteDraft, row: int) -> None:
    """Writes the figures that the drawing reads, side by side in a row that is not printed."""
    for at, name in enumerate(small_plan_formulas(draft.groups), FIRST):
        writer.figure(name, row, at, draft.formulas[name], draft.results[name], "quiet")
