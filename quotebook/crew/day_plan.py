"""Writes the plan for laying one floor: its panels to scale, numbered in the order of laying, and its edging.

The sheet has a column or row between any two edges of panels, so each panel of a floor of one kind is one cell, and a
panel of a floor of several kinds may be several merged cells.
"""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from itertools import pairwise

from xlsxwriter.format import Format

from quotebook.client.floor_plan_sheet import paler, part_colours
from quotebook.crew.day_draft import DayDraft
from quotebook.drawing import text_size
from quotebook.drawing.sheet_writer import SheetWriter
from quotebook.drawing.styles import QUIET
from quotebook.engine.laid_floors import Floor
from quotebook.engine.laying import slot_sides
from quotebook.engine.visits import Job

WIDE, HIGH = 640, 700
"""The most pixels of the drawing, across and down."""
LARGEST, LEAST = 72, 12
"""The most pixels of a panel's shorter side, and the least of a column or row."""
FRAME = 10
"""Pixels of the edging and of the legend's colours."""
SWATCH, LEFT = 0, 1
"""The columns, from 0, of the legend's colours and of the edging on the left."""
TOP = 5
"""The row of the edging on the far side."""
SPARE_COLUMN = 40
"""Pixels of a column beside a narrow drawing, which makes room for sentences on the page."""
KIND_SHADES, KIND_GREYS = (0.86, 0.70, 0.54), ("#EAEAEA", "#CCCCCC", "#8C8C8C")
"""How pale the firm's colour is for each of the kinds, in their order, and the greys of those that follow. None
is the colour of a piece of edging, and all differ in grey print."""


def write_plan(writer: SheetWriter, draft: DayDraft, job: Job, number: int, floor: Floor) -> None:
    """Writes the sheet of floor `number` of a job."""
    xs = sorted({x for panel in floor.placements for x in (panel.x, panel.x + panel.width)})
    ys = sorted({y for panel in floor.placements for y in (panel.y, panel.y + panel.length)})
    bottom = TOP + len(ys)
    columns = {x: LEFT + 1 + index for index, x in enumerate(xs)}
    rows = {y: bottom - index for index, y in enumerate(ys)}
    width = _grid(writer, floor, xs, ys, rows)
    _head(writer, draft, job, number, floor, width)
    formats = _formats(writer, floor)
    for order, panel in enumerate(floor.placements, 1):
        top, left = rows[panel.y + panel.length], columns[panel.x]
        last_row, last_column = rows[panel.y] - 1, columns[panel.x + panel.width] - 1
        _fill(writer, top, left, last_row, last_column, formats["first" if order == 1 else panel.panel], order)
    _edges(writer, floor, columns, rows, formats)
    writer.sheet.write_string(
        bottom + 1, columns[floor.placements[0].x], draft.text("start"), writer.styles.format("quiet")
    )
    _legend(writer, draft, floor, bottom + 3, formats)
    writer.sheet.print_area(0, 0, bottom + 9, width)


def _grid(
    writer: SheetWriter, floor: Floor, xs: Sequence[Decimal], ys: Sequence[Decimal], rows: Mapping[Decimal, int]
) -> int:
    """Sets the sizes of columns and rows to scale; returns the last column of the page."""
    shortest = min(min(panel.width, panel.length) for panel in floor.placements)
    scale = min(WIDE / float(xs[-1]), HIGH / float(ys[-1]), LARGEST / float(shortest))
    cells = [max(LEAST, round(float(part) * scale)) for part in (after - before for before, after in pairwise(xs))]
    spare = max(0, WIDE - sum(cells)) // SPARE_COLUMN
    for column, pixels in enumerate((FRAME, FRAME, *cells, FRAME, *(SPARE_COLUMN,) * spare)):
        writer.sheet.set_column_pixels(column, column, pixels)
    for near, far in pairwise(ys):
        writer.sheet.set_row_pixels(rows[far], max(LEAST, round(float(far - near) * scale)))
    for row in (TOP, rows[ys[0]]):
        writer.sheet.set_row_pixels(row, FRAME)
    return LEFT + len(cells) + 1 + spare


def _head(writer: SheetWriter, draft: DayDraft, job: Job, number: int, floor: Floor, last: int) -> None:
    """Writes the title, and in sentences what to lay and in which order; `last` is the last column."""
    counts = ", ".join(f"{count} {code}" for code, count in floor.panels.items())
    lines = [draft.text("size", width=floor.width, length=floor.length, panels=counts), draft.text("order")]
    if floor.slot_pieces and len({panel.turned for panel in floor.placements}) > 1:
        lines[1] += " " + draft.text("spare")
    if floor.sheets:
        lines[0] += ". " + draft.text("over", sheets=floor.sheets, code=floor.sheets_of)
    writer.sheet.set_row(0, 24)
    writer.sheet.write_string(
        0, LEFT, f"{job.quote_number}  {draft.text('plan', floor=number)}", writer.styles.format("page_title")
    )
    for row, text in enumerate(lines, 1):
        writer.sheet.merge_range(row, LEFT, row, last, "", writer.styles.format("wrapped"))
        writer.sheet.write_string(row, LEFT, text, writer.styles.format("wrapped"))
        writer.sheet.set_row(row, text_size.row_height(text_size.line_count(text, WIDE)))


def _formats(writer: SheetWriter, floor: Floor) -> dict[str, Format]:
    """The formats of the first panel, of the panels of each kind, and of the edging."""
    tones = part_colours(writer.styles.accent)
    number = {"font_name": "Arial", "font_size": 9, "align": "center", "valign": "vcenter", "border": 1, "shrink": True}
    shades = (*(paler(writer.styles.accent, share) for share in KIND_SHADES), *KIND_GREYS)
    fills = dict(zip(floor.panels, shades, strict=False))
    kinds = {
        code: writer.book.add_format(number | {"bg_color": fill, "border_color": QUIET}) for code, fill in fills.items()
    }
    first = number | {"bg_color": writer.styles.accent, "font_color": "#FFFFFF", "bold": True}
    edges = {part: writer.book.add_format({"bg_color": tones[part]}) for part in ("slot", "tongue", "corner", "bare")}
    return kinds | edges | {"first": writer.book.add_format(first)}


def _fill(
    writer: SheetWriter, top: int, left: int, bottom: int, right: int, cell_format: Format, number: int | None = None
) -> None:
    """Merges a rectangle of cells into one, with a number or nothing in it."""
    if (top, left) != (bottom, right):
        writer.sheet.merge_range(top, left, bottom, right, "", cell_format)
    writer.sheet.write(top, left, number, cell_format)


def _edges(
    writer: SheetWriter,
    floor: Floor,
    columns: Mapping[Decimal, int],
    rows: Mapping[Decimal, int],
    formats: Mapping[str, Format],
) -> None:
    """Draws the edging around the floor, panel by panel: one kind for sides with slots, another for tongues."""
    right, far = max(columns), max(rows)
    outer = {"left": LEFT, "right": columns[right], "near": rows[min(rows)], "far": TOP}
    for panel, slots in zip(floor.placements, slot_sides(floor.placements), strict=True):
        sides = {
            "left": (panel.x == 0, not slots.right),
            "right": (panel.x + panel.width == right, slots.right),
            "near": (panel.y == 0, not slots.far),
            "far": (panel.y + panel.length == far, slots.far),
        }
        across = columns[panel.x], columns[panel.x + panel.width] - 1
        along = rows[panel.y + panel.length], rows[panel.y] - 1
        for side, (is_outer, has_slot) in sides.items():
            edging = formats[("slot" if has_slot else "tongue") if floor.slot_pieces else "bare"]
            at = outer[side]
            if is_outer and side in ("left", "right"):
                _fill(writer, along[0], at, along[1], at, edging)
            elif is_outer:
                _fill(writer, at, across[0], at, across[1], edging)
    for row in (outer["near"], outer["far"]):
        for column in (outer["left"], outer["right"]):
            _fill(writer, row, column, row, column, formats["corner" if floor.corners else "bare"])


def _legend(writer: SheetWriter, draft: DayDraft, floor: Floor, row: int, formats: Mapping[str, Format]) -> None:
    """Writes the colours and what they stand for, with the counts."""
    parts = [(code, f"{count} {code}") for code, count in floor.panels.items()]
    edging = {"slot": "slot_pieces", "tongue": "tongue_pieces", "corner": "corners"}
    parts += [
        (part, f"{getattr(floor, what)}  {draft.item(what, floor.edging_of)}")
        for part, what in edging.items()
        if floor.slot_pieces
    ]
    parts += [] if floor.slot_pieces else [("bare", draft.text("no_edging"))]
    for offset, (part, text) in enumerate(parts):
        _fill(writer, row + offset, SWATCH, row + offset, SWATCH, formats[part])
        writer.sheet.write_string(row + offset, LEFT + 1, text, writer.styles.format("fact"))
