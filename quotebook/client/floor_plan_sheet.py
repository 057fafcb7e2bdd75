"""The sheet of the floor plan: one floor line, drawn by conditional formats that follow the entries.

The drawing is a square of small empty cells. Six rules colour it, and speak in the plan's own
figures, which stand below the drawing on the same sheet because not every spreadsheet program lets
a rule look at another one. Each rule is a plain formula and a solid fill, and the first that holds
ends the matter, so that programs which mix the formats of several rules show the same drawing.
"""

from decimal import Decimal

from quotebook.client.quote_sheet import set_up_page
from quotebook.contract.plan_figures import FRAME, GRID, ORIGIN_COLUMN, ORIGIN_ROW
from quotebook.engine.model import LINES

FIRST_LINE = Decimal(1)
"""The floor line that is drawn when the quote goes out."""

CELLS = GRID + 2 * FRAME
CELL_WIDTH, CELL_HEIGHT = 3.82, 4
"""Pixels of a cell of the drawing. Programs that count columns in whole pixels make both 4; LibreOffice, which does
not, would make a column of 4 pixels 5.7 % wider than a row of 4 (measured, Arial 10)."""

SIDE, SIDE_WIDTH, SIDE_ROWS = 0, 36, 40
"""The column left of the drawing, its pixels, and the rows of the text that runs up along it."""
LEFT, TOP = ORIGIN_COLUMN - 1 - FRAME, ORIGIN_ROW - 1 - FRAME
"""Where the drawing begins, counted from 0."""
LAST = LEFT + CELLS - 1
LINE_ROW, CAPTION_ROW, LAID_ROW, LEGEND_ROW, WIDTH_ROW = 3, 5, 6, 8, 10
BOTTOM = TOP + CELLS
"""The row under the drawing."""

DRAWN, BARE, EDGED = "plan_drawn=1", "plan_frame=1", f"plan_frame={FRAME}"
ABOVE, BELOW = "ROW()<ROW(plan_origin)", "ROW()>plan_last_row"
BEFORE, AFTER = "COLUMN()<COLUMN(plan_origin)", "COLUMN()>plan_last_column"
WITHIN = f"ROW()<=plan_last_row+{FRAME},COLUMN()<=plan_last_column+{FRAME}"
ON_FLOOR = "ROW()>=ROW(plan_origin),ROW()<=plan_last_row,COLUMN()>=COLUMN(plan_origin),COLUMN()<=plan_last_column"
PANELS_DOWN = "INT(ROUND((ROW()-ROW(plan_origin))/plan_panel_rows,6))"
PANELS_ALONG = "INT(ROUND((COLUMN()-COLUMN(plan_origin))/plan_panel_columns,6))"

RULES = {
    "panel": f"AND({ON_FLOOR},MOD({PANELS_DOWN}+{PANELS_ALONG},2)=0)",
    "next_panel": f"AND({ON_FLOOR})",
    "corner": f"AND({EDGED},{WITHIN},OR({ABOVE},{BELOW}),OR({BEFORE},{AFTER}))",
    "slot": f"AND({EDGED},{WITHIN},OR({ABOVE},{BEFORE}))",
    "tongue": f"AND({EDGED},{WITHIN})",
    "bare": (
        f"AND({BARE},ROW()>=ROW(plan_origin)-1,ROW()<=plan_last_row+1,"
        "COLUMN()>=COLUMN(plan_origin)-1,COLUMN()<=plan_last_column+1)"
    ),
}
"""What a cell of the drawing shows, from its own row and column: the first that holds. They name as little as they
can, because some programs work all of them out for all cells, and take most of that time to look names up."""

SWATCHES = (
    ("panel", 0, DRAWN), ("next_panel", 3, DRAWN), ("slot", 26, EDGED), ("bare", 26, BARE),
    ("tongue", 78, EDGED), ("corner", 130, EDGED),
)  # fmt: skip
"""Colours of the legend, three columns each: from which column, and when they show."""
LEGEND = {"plan_panel_said": 8, "plan_slot_said": 31, "plan_tongue_said": 83, "plan_corner_said": 135}
"""Sentences of the legend, and from which column."""


def write_floor_plan(pen, draft) -> None:
    """Writes the sheet with the pen; `draft` has the plan's formulas and results among its own."""
    pen.sheet.set_column_pixels(SIDE, SIDE, SIDE_WIDTH, pen.look("plain"))
    pen.sheet.set_column_pixels(LEFT, LAST, CELL_WIDTH, pen.look("plain"))
    fills = {part: pen.book.add_format({"bg_color": colour}) for part, colour in colours(pen.look.accent).items()}
    _head(pen, draft)
    _legend(pen, draft, fills)
    _drawing(pen, draft, fills)
    _working(pen, draft, BOTTOM + 1)
    set_up_page(pen, draft, BOTTOM, LAST)
    pen.sheet.center_horizontally()


def _head(pen, draft) -> None:
    pen.sheet.set_row(0, 6)
    pen.text(0, LEFT, "", "band", to=LAST)
    pen.sheet.set_row(1, 28)
    pen.text(1, LEFT, draft.issue.firm.firm, "firm", to=LEFT + 100)
    pen.text(1, LEFT + 101, draft.words["sheets"]["plan"], "title", to=LAST)
    pen.text(LINE_ROW, LEFT, draft.words["plan"]["which"], "label", to=LEFT + 39)
    pen.entry("plan_line", LINE_ROW, LEFT + 40, FIRST_LINE, kind="whole", to=LEFT + 51)
    lines = {"validate": "list", "source": [str(line) for line in range(1, LINES + 1)]}
    pen.sheet.data_validation(LINE_ROW, LEFT + 40, LINE_ROW, LEFT + 40, lines)
    _figure(pen, draft, "plan_caption", CAPTION_ROW, LEFT, "heading", to=LAST)
    _figure(pen, draft, "plan_laid", LAID_ROW, LEFT, "quiet", to=LAST)


def _legend(pen, draft, fills) -> None:
    for part, column, condition in SWATCHES:
        _rule(pen, LEGEND_ROW, LEFT + column, LEGEND_ROW, LEFT + column + 2, condition, fills[part])
    for name, column in LEGEND.items():
        _figure(pen, draft, name, LEGEND_ROW, LEFT + column, "quiet")


def _drawing(pen, draft, fills) -> None:
    _figure(pen, draft, "plan_width_said", WIDTH_ROW, LEFT, "label")
    pen.sheet.merge_range(TOP, SIDE, TOP + SIDE_ROWS - 1, SIDE, "", pen.look("side"))
    _figure(pen, draft, "plan_length_said", TOP, SIDE, "side")
    for row in range(TOP, BOTTOM):
        pen.sheet.set_row_pixels(row, CELL_HEIGHT)
    pen.anchor("plan_origin", ORIGIN_ROW - 1, ORIGIN_COLUMN - 1)
    for part, condition in RULES.items():
        _rule(pen, TOP, LEFT, BOTTOM - 1, LAST, condition, fills[part])


def _rule(pen, row, column, last_row, last_column, condition: str, fill) -> None:
    rule = {"type": "formula", "criteria": f"={condition}", "format": fill, "stop_if_true": True}
    pen.sheet.conditional_format(row, column, last_row, last_column, rule)


def _working(pen, draft, row: int) -> None:
    """The figures that the drawing rests on and nothing above shows, each before its name; they are not printed."""
    pen.text(row, LEFT, draft.words["plan"]["working"], "quiet")
    shown_above = set(pen.content.formulas)
    for name in draft.formulas:
        if name.startswith("plan_") and name not in shown_above:
            row += 1
            _figure(pen, draft, name, row, SIDE, "quiet")
            pen.text(row, LEFT, name, "quiet")


def _figure(pen, draft, name: str, row: int, column: int, style: str, to: int | None = None) -> None:
    pen.figure(name, row, column, draft.formulas[name], draft.results[name], style, to=to)


def colours(accent: str) -> dict[str, str]:
    """Of each part of the drawing: tones of the firm's own colour, but for corners and a bare edge."""
    return {
        "panel": _paler(accent, 0.86),
        "next_panel": _paler(accent, 0.70),
        "bare": "#A6A6A6",
        "slot": accent,
        "tongue": _paler(accent, 0.40),
        "corner": "#C08A3E",
    }


def _paler(colour: str, share: float) -> str:
    """The colour with that share of white in it."""
    channels = (int(colour[at : at + 2], 16) for at in (1, 3, 5))
    return "#" + "".join(f"{round(channel + (255 - channel) * share):02X}" for channel in channels)
