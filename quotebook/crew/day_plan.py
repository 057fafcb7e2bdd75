"""A page to lay one floor by: its panels in proportion, numbered in the order of laying, and its edging.

Columns and rows are the lengths between the panels' edges, so that a floor of one kind has a cell for
each panel, and one of several kinds has panels of several cells.
"""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from itertools import pairwise

from quotebook.client.floor_plan_sheet import part_colours
from quotebook.drawing import text_size as measure
from quotebook.drawing.styles import QUIET
from quotebook.engine.laying import slot_sides
from quotebook.engine.loading import Floor

WIDE, HIGH = 640, 700
"""Pixels for the drawing."""
LARGEST, LEAST = 72, 12
"""Pixels of a panel's shorter side at most, and of a column or row at least."""
FRAME = 10
"""Pixels of the edging, and of the colours beside the legend."""
SWATCH, LEFT = 0, 1
"""Columns, from 0, of the legend's colours and of the edging on the left."""
TOP = 5
"""The row of the far edge's edging."""
SPARE = 40
"""Columns beside a narrow drawing, so that sentences have room on the page."""
KIND_TONES = ("panel", "next_panel", "tongue", "bare", "corner", "slot")
"""Fills for the kinds of panel of one floor."""


def write_plan(pen, draft, job, number: int, floor: Floor) -> None:
    """Writes the sheet of floor `number` of a job."""
    xs = sorted({x for panel in floor.placements for x in (panel.x, panel.x + panel.width)})
    ys = sorted({y for panel in floor.placements for y in (panel.y, panel.y + panel.length)})
    bottom = TOP + len(ys)
    columns = {x: LEFT + 1 + place for place, x in enumerate(xs)}
    rows = {y: bottom - place for place, y in enumerate(ys)}
    width = _grid(pen, floor, xs, ys, rows)
    _head(pen, draft, job, number, floor, width)
    formats = _formats(pen, floor)
    for place, panel in enumerate(floor.placements, 1):
        style = formats["first" if place == 1 else panel.panel]
        _fill(
            pen,
            rows[panel.y + panel.length],
            columns[panel.x],
            rows[panel.y] - 1,
            columns[panel.x + panel.width] - 1,
            style,
            place,
        )
    _edges(pen, floor, columns, rows, formats)
    pen.sheet.write_string(bottom + 1, columns[floor.placements[0].x], draft.text("start"), pen.styles.format("quiet"))
    _legend(pen, draft, floor, bottom + 3, formats)
    pen.sheet.print_area(0, 0, bottom + 9, width)


def _grid(pen, floor: Floor, xs: Sequence[Decimal], ys: Sequence[Decimal], rows: Mapping) -> int:
    """Sets columns and rows to the drawing's proportions; returns the last column of the page."""
    shortest = min(min(panel.width, panel.length) for panel in floor.placements)
    scale = min(WIDE / float(xs[-1]), HIGH / float(ys[-1]), LARGEST / float(shortest))
    cells = [max(LEAST, round(float(part) * scale)) for part in (after - before for before, after in pairwise(xs))]
    spare = max(0, WIDE - sum(cells)) // SPARE
    for column, pixels in enumerate((FRAME, FRAME, *cells, FRAME, *(SPARE,) * spare)):
        pen.sheet.set_column_pixels(column, column, pixels)
    for near, far in pairwise(ys):
        pen.sheet.set_row_pixels(rows[far], max(LEAST, round(float(far - near) * scale)))
    for row in (TOP, rows[ys[0]]):
        pen.sheet.set_row_pixels(row, FRAME)
    return LEFT + len(cells) + 1 + spare


def _head(pen, draft, job, number: int, floor: Floor, last: int) -> None:
    said = ", ".join(f"{count} {code}" for code, count in floor.panels.items())
    lines = [draft.text("size", width=floor.width, length=floor.length, panels=said), draft.text("order")]
    if floor.slot_pieces and len({panel.turned for panel in floor.placements}) > 1:
        lines[1] += " " + draft.text("spare")
    if floor.sheets:
        lines[0] += ". " + draft.text("over", sheets=floor.sheets, code=floor.sheets_of)
    pen.sheet.set_row(0, 24)
    pen.sheet.write_string(0, LEFT, f"{job.quote_number}  {draft.text('plan', floor=number)}", pen.styles.format("page_title"))
    for row, text in enumerate(lines, 1):
        pen.sheet.merge_range(row, LEFT, row, last, "", pen.styles.format("wrapped"))
        pen.sheet.write_string(row, LEFT, text, pen.styles.format("wrapped"))
        pen.sheet.set_row(row, measure.row_height(measure.line_count(text, WIDE)))


def _formats(pen, floor: Floor) -> dict:
    """Of the first panel, of the panels of each kind, and of the edging."""
    tones = part_colours(pen.styles.accent)
    number = {"font_name": "Arial", "font_size": 9, "align": "center", "valign": "vcenter", "border": 1, "shrink": True}
    fills = {code: tones[tone] for code, tone in zip(floor.panels, KIND_TONES)}
    kinds = {
        code: pen.book.add_format(number | {"bg_color": fill, "border_color": QUIET}) for code, fill in fills.items()
    }
    first = number | {"bg_color": pen.styles.accent, "font_color": "#FFFFFF", "bold": True}
    edges = {part: pen.book.add_format({"bg_color": tones[part]}) for part in ("slot", "tongue", "corner", "bare")}
    return kinds | edges | {"first": pen.book.add_format(first)}


def _fill(pen, top: int, left: int, bottom: int, right: int, style, number: int | None = None) -> None:
    """A rectangle of cells as one, with a number or nothing in it."""
    if (top, left) != (bottom, right):
        pen.sheet.merge_range(top, left, bottom, right, "", style)
    pen.sheet.write(top, left, number, style)


def _edges(pen, floor: Floor, columns: Mapping, rows: Mapping, formats: Mapping) -> None:
    """The edging round the floor, panel by panel: for slots where slots are, for tongues where tongues are."""
    right, far = max(columns), max(rows)
    outer = {"left": LEFT, "right": columns[right], "near": rows[min(rows)], "far": TOP}
    for panel, slots in zip(floor.placements, slot_sides(floor.placements)):
        shown = {
            "left": (panel.x == 0, not slots.right),
            "right": (panel.x + panel.width == right, slots.right),
            "near": (panel.y == 0, not slots.far),
            "far": (panel.y + panel.length == far, slots.far),
        }
        across = columns[panel.x], columns[panel.x + panel.width] - 1
        along = rows[panel.y + panel.length], rows[panel.y] - 1
        for side, (is_outer, has_slot) in shown.items():
            style = formats[("slot" if has_slot else "tongue") if floor.slot_pieces else "bare"]
            at = outer[side]
            if is_outer and side in ("left", "right"):
                _fill(pen, along[0], at, along[1], at, style)
            elif is_outer:
                _fill(pen, at, across[0], at, across[1], style)
    for row in (outer["near"], outer["far"]):
        for column in (outer["left"], outer["right"]):
            _fill(pen, row, column, row, column, formats["corner" if floor.corners else "bare"])


def _legend(pen, draft, floor: Floor, row: int, formats: Mapping) -> None:
    parts = [(code, f"{count} {code}") for code, count in floor.panels.items()]
    edging = {"slot": "slot_pieces", "tongue": "tongue_pieces", "corner": "corners"}
    parts += [
        (part, f"{getattr(floor, what)}  {draft.item(what, floor.edging_of)}")
        for part, what in edging.items()
        if floor.slot_pieces
    ]
    parts += [] if floor.slot_pieces else [("bare", draft.text("no_edging"))]
    for offset, (part, text) in enumerate(parts):
        _fill(pen, row + offset, SWATCH, row + offset, SWATCH, formats[part])
        pen.sheet.write_string(row + offset, LEFT + 1, text, pen.styles.format("fact"))
