"""The sheet of the floor plan: one floor line, drawn by conditional formats that follow the entries.

The drawing is a square of small empty cells, coloured by six rules. The rules read the plan's own figures, which are
below the drawing on the same sheet because not every spreadsheet program lets a rule read another sheet. Each rule is
a plain formula and a solid fill, and the first rule that holds stops the others. So programs that would mix the
formats of several rules show the same drawing.
"""

from xlsxwriter.format import Format

from quotebook.client.draft import LINE_DRAWN, QuoteDraft
from quotebook.client.entry_rules import set_entry_rule
from quotebook.client.page import set_up_page
from quotebook.contract.formulas import first_of
from quotebook.contract.plan_block_formulas import most_blocks_of, of_block
from quotebook.contract.plan_figures import FRAME, GRID, ORIGIN_COLUMN, ORIGIN_ROW
from quotebook.contract.vocabulary import on_line
from quotebook.drawing import text_size
from quotebook.drawing.sheet_writer import SheetWriter
from quotebook.drawing.styles import INK
from quotebook.engine.model import LINES

CELLS = GRID + 2 * FRAME
"""Cells on a side of the drawing."""
CELL_WIDTH, CELL_HEIGHT = 5.73, 6
"""Pixels of a cell of the drawing. Programs that count columns in whole pixels make both 6. LibreOffice does not: it
would make a column a little wider than a row (measured, Arial 10). Gnumeric drops columns that are narrower."""

SIDE, SIDE_WIDTH, SIDE_ROWS = 0, 36, 27
"""The column to the left of the drawing, its width in pixels, and the rows of the text that runs up beside it."""
LEFT, TOP = ORIGIN_COLUMN - 1 - FRAME, ORIGIN_ROW - 1 - FRAME
"""The first column and row of the drawing, from 0."""
LAST = LEFT + CELLS - 1
"""The last column of the drawing."""
HALF = 59
"""Columns of what stands at the left of the head."""
QUOTE_ROW, LINE_ROW, FLOOR_ROW, CAPTION_ROW, LAID_ROW, LEGEND_ROW, WIDTH_ROW = 2, 3, 4, 5, 6, 7, 10
BOTTOM = TOP + CELLS
"""The row below the drawing."""

DRAWN, BARE, EDGED = "plan_drawn=1", "plan_frame=1", f"plan_frame={FRAME}"
ABOVE, BELOW = "ROW()<ROW(plan_origin)", "ROW()>plan_last_row"
BEFORE, AFTER = "COLUMN()<COLUMN(plan_origin)", "COLUMN()>plan_last_column"
WITHIN = f"ROW()<=plan_last_row+{FRAME},COLUMN()<=plan_last_column+{FRAME}"
ON_FLOOR = "ROW()>=ROW(plan_origin),ROW()<=plan_last_row,COLUMN()>=COLUMN(plan_origin),COLUMN()<=plan_last_column"
DASH = "MOD(ROW()+COLUMN(),4)<2"
"""Slot edging is drawn solid and tongue edging dashed, so that nobody has to tell their colours apart."""
IN_BLOCK = "AND(COLUMN()>=plan_left_#,COLUMN()<plan_right_#,ROW()>=plan_top_#,ROW()<=plan_bottom_#)"
BLOCK_PANELS = (
    "INT(ROUND((plan_bottom_#-ROW())/plan_panel_rows_#,6))+INT(ROUND((COLUMN()-plan_left_#)/plan_panel_columns_#,6))"
)
"""Whether a cell is in a block of a floor of several lines, and the panels of the block between it and the block's near
left corner."""
FIRST_PANELS = "INT(ROUND(({bottom}-ROW())/plan_panel_rows,6))+INT(ROUND((COLUMN()-{left})/plan_panel_columns,6))"
ALONE = {"bottom": "plan_last_row", "left": "COLUMN(plan_origin)"}
"""The panels of the first block, or of a floor of one line, in the same way; and where the latter lies."""

EDGES = {
    "corner": f"AND({EDGED},{WITHIN},OR({ABOVE},{BELOW}),OR({BEFORE},{AFTER}))",
    "slot": f"AND({EDGED},{WITHIN},OR({ABOVE},IF(plan_turned=1,{BEFORE},{AFTER})))",
    "tongue": f"AND({EDGED},{WITHIN},{DASH})",
    "tongue_gap": f"AND({EDGED},{WITHIN})",
    "bare": (
        f"AND({BARE},ROW()>=ROW(plan_origin)-1,ROW()<=plan_last_row+1,"
        "COLUMN()>=COLUMN(plan_origin)-1,COLUMN()<=plan_last_column+1)"
    ),
}
"""Where a cell of the drawing shows edging."""


def rules(blocks: int) -> dict[str, str]:
    """What a cell of the drawing shows, worked out from its own row and column, where floors have up to so many blocks.

    The first rule that holds counts. The rules use few names, because some programs evaluate all of them for all cells
    and spend most of that time on names.
    """
    several = [(on_line(IN_BLOCK, number), on_line(BLOCK_PANELS, number)) for number in range(2, blocks + 1)]
    first = {"bottom": "plan_bottom_1", "left": "plan_left_1"} if several else ALONE
    panels_before = first_of(several, FIRST_PANELS.format(**first))
    return {"panel": f"AND({ON_FLOOR},MOD({panels_before},2)=0)", "next_panel": f"AND({ON_FLOOR})"} | EDGES


def kind_there(blocks: int) -> str:
    """The kind of the panel that a cell of the drawing is part of, by its place on the list."""
    several = [(on_line(IN_BLOCK, number), f"plan_kind_{number}") for number in range(2, blocks + 1)]
    return first_of(several, "plan_kind")


SWATCHES = (
    ("panel", 0, 0, DRAWN), ("corner", 0, 50, EDGED), ("slot", 1, 0, EDGED),
    ("bare", 1, 0, BARE), ("tongue", 1, 50, f"AND({EDGED},{DASH})"), ("tongue_gap", 1, 50, EDGED),
)  # fmt: skip
"""The colours of the legend, three columns wide: part, row from LEGEND_ROW, first column from LEFT, and when it shows.
Where each kind of edging lies is said in words too."""
SWATCH_STEP = 4
"""Columns from the colour of a block to that of the next, or to what they are."""
LEGEND = {
    "plan_panel_said": (0, SWATCH_STEP), "plan_corner_said": (0, 54),
    "plan_slot_said": (1, SWATCH_STEP), "plan_tongue_said": (1, 54),
}  # fmt: skip
"""The sentences of the legend, each with its row from LEGEND_ROW and its first column from LEFT."""


def write_floor_plan(writer: SheetWriter, draft: QuoteDraft) -> None:
    """Writes the whole sheet. Formulas and results of the plan are among those of the draft."""
    writer.sheet.set_column_pixels(SIDE, SIDE, SIDE_WIDTH, writer.styles.format("plain"))
    writer.sheet.set_column_pixels(LEFT, LAST, CELL_WIDTH, writer.styles.format("plain"))
    fills = {
        part: writer.book.add_format({"bg_color": colour})
        for part, colour in part_colours(writer.styles.accent).items()
    }
    _head(writer, draft)
    _legend(writer, draft, fills)
    writer.sheet.hide_row_col_headers()
    _drawing(writer, draft, fills)
    _working(writer, draft, BOTTOM + 1)
    set_up_page(writer, draft, BOTTOM, LAST)
    writer.sheet.center_horizontally()


def _head(writer: SheetWriter, draft: QuoteDraft) -> None:
    """Writes the letterhead, the entry for the line to draw, and two sentences about that line."""
    writer.sheet.set_row(0, 6)
    writer.text(0, LEFT, "", "band", to=LAST)
    writer.sheet.set_row(1, 28)
    firm = draft.issue.firm.firm
    long = text_size.text_width(firm, *writer.styles.type("firm")) > HALF * CELL_WIDTH * text_size.SPARE
    writer.text(1, LEFT, firm, "firm_long" if long else "firm", to=LEFT + HALF - 1)
    writer.text(1, LEFT + HALF, draft.words["sheets"]["plan"], "title", to=LAST)
    _whose(writer, draft)
    writer.text(LINE_ROW, LEFT, draft.words["plan"]["which"], "label", to=LEFT + 29)
    writer.entry("plan_line", LINE_ROW, LEFT + 30, LINE_DRAWN, kind="whole", to=LEFT + 39)
    set_entry_rule(writer, draft, "plan_line", LINE_ROW, LEFT + 30)
    writer.sheet.set_selection(LINE_ROW, LEFT + 30, LINE_ROW, LEFT + 30)
    _figure(writer, draft, "plan_caption", CAPTION_ROW, LEFT, "heading_shrunk", to=LAST)
    _figure(writer, draft, "plan_laid", LAID_ROW, LEFT, "quiet_shrunk", to=LAST)


def _whose(writer: SheetWriter, draft: QuoteDraft) -> None:
    """Writes the quote's number, the client and the day, and what the floor that is drawn is."""
    client, day = draft.issue.request.client, draft.results["event_day"] or ""
    said = f"{draft.issue.papers.quote_number}{', ' if client else ''}{client}"
    whose = 'quote_number&IF(client="","",", "&client)'
    writer.mirror(QUOTE_ROW, LEFT, whose, said, "strong_shrunk", to=LEFT + HALF - 1)
    writer.mirror(QUOTE_ROW, LEFT + HALF, 'IF(event_day=0,"",event_day)', day, "strong_right", "day", to=LAST)
    first = int(str(draft.results["plan_first"]))
    floor = first_of([(f"plan_first={line}", f"floor_said_{line}") for line in range(1, LINES + 1)], '""')
    blocks = int(str(draft.results.get("plan_blocks", 1)))
    for number in range(2, most_blocks_of(draft.groups) + 1):
        floor += "&" + of_block(draft.groups, number, '"; "&floor_said_{line}', '""')
    result = "; ".join(str(draft.results[f"floor_said_{line}"]) for line in range(first, first + blocks))
    writer.mirror(FLOOR_ROW, LEFT, floor, result, "strong_wrapped", to=LAST)
    names = ["; ".join(str(draft.results[f"floor_said_{line}"]) for line in group) for group in draft.groups]
    lines = max(text_size.line_count(text, CELLS * CELL_WIDTH, bold=True) for text in (result, *names))
    writer.sheet.set_row(FLOOR_ROW, text_size.row_height(lines))


def _legend(writer: SheetWriter, draft: QuoteDraft, fills: dict[str, Format]) -> None:
    """Writes the colours and their meaning; a colour shows only where the drawing has that part."""
    for part, down, column, condition in SWATCHES:
        row = LEGEND_ROW + down
        if part in ("panel", "next_panel"):
            _finishes(writer, draft, part, (row, LEFT + column, row, LEFT + column + 2), condition, "plan_kind")
        _rule(writer, row, LEFT + column, row, LEFT + column + 2, condition, fills[part])
    further = most_blocks_of(draft.groups) - 1
    for number in range(1, further + 1):
        first = LEFT + SWATCH_STEP * number
        area, condition = (LEGEND_ROW, first, LEGEND_ROW, first + 2), f"AND({DRAWN},plan_blocks>{number})"
        _finishes(writer, draft, "panel", area, condition, f"plan_kind_{number + 1}")
        _rule(writer, *area, condition, fills["panel"])
    for name, (down, column) in LEGEND.items():
        column += SWATCH_STEP * further if name == "plan_panel_said" else 0
        _figure(writer, draft, name, LEGEND_ROW + down, LEFT + column, "quiet")


def _finishes(
    writer: SheetWriter, draft: QuoteDraft, part: str, area: tuple[int, int, int, int], condition: str, kind_drawn: str
) -> None:
    """Fills the cells of a panel in the colour of its kind's finish, where it has one; the next panel's is darker."""
    for place, kind in enumerate(draft.issue.rates.kinds, 1):
        if colour := draft.issue.finishes.get(kind.panel):
            fill = writer.book.add_format({"bg_color": colour if part == "panel" else _darker(colour)})
            _rule(writer, *area, f"AND({kind_drawn}={place},{condition})", fill)


def _drawing(writer: SheetWriter, draft: QuoteDraft, fills: dict[str, Format]) -> None:
    """Writes the square of cells with its rules, and the floor's measures above it and beside it."""
    _figure(writer, draft, "plan_width_said", WIDTH_ROW, LEFT, "label")
    writer.sheet.merge_range(TOP, SIDE, TOP + SIDE_ROWS - 1, SIDE, "", writer.styles.format("side"))
    _figure(writer, draft, "plan_length_said", TOP, SIDE, "side")
    for row in range(TOP, BOTTOM):
        writer.sheet.set_row_pixels(row, CELL_HEIGHT)
    writer.anchor("plan_origin", ORIGIN_ROW - 1, ORIGIN_COLUMN - 1)
    blocks = most_blocks_of(draft.groups)
    for part, condition in rules(blocks).items():
        if part in ("panel", "next_panel"):
            _finishes(writer, draft, part, (TOP, LEFT, BOTTOM - 1, LAST), condition, kind_there(blocks))
        _rule(writer, TOP, LEFT, BOTTOM - 1, LAST, condition, fills[part])


def _rule(
    writer: SheetWriter, row: int, column: int, last_row: int, last_column: int, condition: str, fill: Format
) -> None:
    """Fills the cells of a rectangle where a condition holds, before any rule that is written later."""
    rule = {"type": "formula", "criteria": f"={condition}", "format": fill, "stop_if_true": True}
    writer.sheet.conditional_format(row, column, last_row, last_column, rule)


def _working(writer: SheetWriter, draft: QuoteDraft, row: int) -> None:
    """Writes the figures that the drawing reads and nothing above shows, each before its name; they are not printed."""
    writer.text(row, LEFT, draft.words["plan"]["working"], "quiet")
    written_above = set(writer.content.formulas)
    for name in draft.formulas:
        if name.startswith("plan_") and name not in written_above:
            row += 1
            _figure(writer, draft, name, row, SIDE, "quiet")
            writer.text(row, LEFT, name, "quiet")


def _figure(
    writer: SheetWriter, draft: QuoteDraft, name: str, row: int, column: int, style: str, to: int | None = None
) -> None:
    writer.figure(name, row, column, draft.formulas[name], draft.results[name], style, to=to)


def part_colours(accent: str) -> dict[str, str]:
    """The colour of each part of the drawing: tones of the firm's own, except for corners and a bare edge."""
    return {
        "panel": paler(accent, 0.86),
        "next_panel": paler(accent, 0.70),
        "bare": "#A6A6A6",
        "slot": accent,
        "tongue": paler(accent, 0.40),
        "tongue_gap": paler(accent, 0.80),
        "corner": INK,
    }


def _darker(colour: str) -> str:
    """A colour mixed with a tenth of black."""
    channels = (int(colour[at : at + 2], 16) for at in (1, 3, 5))
    return "#" + "".join(f"{round(channel * 0.9):02X}" for channel in channels)


def paler(colour: str, share: float) -> str:
    """A colour mixed with that share of white."""
    channels = (int(colour[at : at + 2], 16) for at in (1, 3, 5))
    return "#" + "".join(f"{round(channel + (255 - channel) * share):02X}" for channel in channels)
