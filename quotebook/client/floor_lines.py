"""The floor lines of the first sheet: what is chosen, what that is, and what it costs."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from functools import lru_cache

from xlsxwriter.utility import xl_rowcol_to_cell

from quotebook.client.columns import (
    EDGING,
    FIGURES,
    FIRST,
    LAST,
    LENGTH,
    OPTION,
    PANEL,
    SAID,
    SAID_LAST,
    SWATCH,
    WIDTH,
)
from quotebook.client.draft import QuoteDraft
from quotebook.client.entry_rules import set_entry_rule
from quotebook.contract.note_formulas import FORBIDDING
from quotebook.contract.values import CellValue, joined, request_cells
from quotebook.contract.vocabulary import on_line
from quotebook.drawing import text_size
from quotebook.drawing.sheet_writer import SheetWriter
from quotebook.drawing.styles import QUIET, WARNING
from quotebook.engine.model import LINES, FloorLine

ENTRIES = {
    "panel": (PANEL, "entry", ""), "width": (WIDTH, "entry_right", "length"),
    "length": (LENGTH, "entry_right", "length"), "edging_wanted": (EDGING, "entry_centred", ""),
}  # fmt: skip
"""The entries of a floor line: the column, the style and the kind of each."""

LINE_FIGURES = (
    ("panels_#", "number_or_blank"), ("hire_#", "money_or_blank"), ("edging_#", "money_or_blank"),
    ("subfloor_#", "money_or_blank"),
)  # fmt: skip
"""The figures of a floor line with the kind of each, from the column FIGURES on."""

MOST_NOTES = (("not_on_surface", "not_enough_free"), ("subfloor_added", "rounded_up", "edging_cut"))
"""Notes that can appear together. A line has room for them, and for one more where it is part of a larger floor."""


MULTIPLES = range(1, 13)
"""Panels on a side whose lengths a floor's name has room for."""


def lines_in_use(draft: QuoteDraft) -> int:
    """How many floor lines the first screen shows: those in use, and one to spare."""
    used = [number for number, line in enumerate(draft.issue.request.every_line, 1) if line != FloorLine()]
    return min(LINES, max(used, default=0) + 1)


def write_floors(writer: SheetWriter, draft: QuoteDraft, row: int, title: str, lines: Sequence[int]) -> int:
    """Writes some floor lines under their headings, two rows each; returns the row below."""
    writer.text(row, FIRST, draft.text(title), "heading", to=LAST)
    writer.text(row + 1, FIRST, "", "column")
    for stem, (column, style, _) in ENTRIES.items():
        _heading(writer, row + 1, column, draft.label(stem), style)
    for column in range(SWATCH, SAID_LAST + 1):
        writer.text(row + 1, column, "", "column")
    if draft.options:
        _heading(writer, row + 1, OPTION, f"{draft.options[0]}\N{EN DASH}{draft.options[-1]}", "entry_centred")
    for column, (name, _) in enumerate(LINE_FIGURES, FIGURES):
        _heading(writer, row + 1, column, draft.label(name.removesuffix("_#")), "entry_right")
    cells = request_cells(draft.issue.request, draft.dictionary)
    rows = [row + 2 + 2 * at for at in range(len(lines))]
    for at, line in zip(rows, lines, strict=True):
        _floor_line(writer, draft, cells, line, at)
    for stem, (column, _, _) in ENTRIES.items():
        set_entry_rule(writer, draft, stem, rows[0], column, rows[1:])
    if draft.options:
        set_entry_rule(writer, draft, "option", rows[0], OPTION, rows[1:])
        _quieten_left_out(writer, rows)
    _colours(writer, draft, rows)
    return row + 2 + 2 * len(lines)


def _heading(writer: SheetWriter, row: int, column: int, text: str, style: str) -> None:
    heading = {"entry_right": "column_right", "entry_centred": "column_centred"}.get(style, "column")
    writer.text(row, column, text, heading)
    writer.fit(row, column, text, heading)


def _floor_line(writer: SheetWriter, draft: QuoteDraft, cells: Mapping[str, CellValue], line: int, row: int) -> None:
    """Writes a floor line and, below it, its notes."""
    writer.text(row, FIRST, str(line), "label")
    for stem, (column, style, kind) in ENTRIES.items():
        name = f"{stem}_{line}"
        writer.entry(name, row, column, cells[name], style, kind)
    writer.fit(row, PANEL, "", "entry")
    said, first = f"floor_said_{line}", SAID
    if draft.options:
        name, first = f"option_{line}", OPTION + 1
        writer.entry(name, row, OPTION, cells[name], "entry_centred")
    to = SAID_LAST if first < SAID_LAST else None
    longest = _longest_name(
        tuple((kind.panel_name, kind.panel_width, kind.panel_length) for kind in draft.issue.rates.kinds),
        draft.words["offer"]["size"],
        draft.units["length"],
    )
    style = "fact_indented" if writer.fits(first, longest, "fact_indented", to) else "small_fact_indented"
    writer.fit(row, first, longest, style, to)
    writer.figure(said, row, first, draft.formulas[said], draft.results[said], style, to=to)
    for column, (template, kind) in enumerate(LINE_FIGURES, FIGURES):
        name = on_line(template, line)
        writer.figure(name, row, column, draft.formulas[name], draft.results[name], kind=kind)
    name = f"cannot_{line}"
    writer.figure(name, row + 1, FIRST, draft.formulas[name], draft.results[name], "mark", "mark")
    name = f"notes_{line}"
    writer.figure(name, row + 1, PANEL, draft.formulas[name], draft.results[name], "note", to=LAST)
    joined = any(draft.joined[f"joined_{side}_{line}"] for side in ("width", "length"))
    for together in MOST_NOTES:
        keys = (*together, "part_of_floor") if joined and together[0] not in FORBIDDING else together
        writer.fit(row + 1, PANEL, " ".join(draft.words["notes"][key] for key in keys), "note", to=LAST)


@lru_cache(maxsize=16)
def _longest_name(kinds: tuple[tuple[str, Decimal, Decimal], ...], size: str, unit: str) -> str:
    """The widest of what a floor of each kind is called, with a long size; kinds are names and sides of panels.

    Remembered, since it is the same for every line of all quotes by one card.
    """
    names = []
    for name, *sides in kinds:
        width, length = (max((joined(n * side) for n in MULTIPLES), key=len) for side in sides)
        names.append(name + size.format(actual_width=width, actual_length=length, unit=unit))
    return max(names, key=text_size.text_width, default="")


def _quieten_left_out(writer: SheetWriter, rows: Sequence[int]) -> None:
    """Shows the entries of a floor line quietly while its option is not picked."""
    _, row, column = writer.content.places["picked"]
    picked = xl_rowcol_to_cell(row - 1, column - 1, row_abs=True, col_abs=True)
    quiet = writer.book.add_format({"font_color": QUIET, "italic": True})
    for at in rows:
        own = xl_rowcol_to_cell(at, OPTION, row_abs=True, col_abs=True)
        rule = {"type": "formula", "criteria": f'=AND({own}<>"",{own}<>{picked})', "format": quiet}
        writer.sheet.conditional_format(at, FIRST, at, EDGING, rule)


def _colours(writer: SheetWriter, draft: QuoteDraft, rows: Sequence[int]) -> None:
    """Shows the finish of the panel that is chosen on each line, and the notes on what cannot be had as warnings."""
    for row in rows:
        writer.text(row, SWATCH, "", "swatch")
    swatches = " ".join(f"$G${row + 1}" for row in rows)
    for code, colour in draft.issue.finishes.items():
        literal = code.replace('"', '""')
        finish = writer.book.add_format({"bg_color": colour, "border": 1, "border_color": QUIET})
        rule = {"type": "formula", "criteria": f'=$C{rows[0] + 1}="{literal}"', "format": finish}
        writer.sheet.conditional_format(rows[0], SWATCH, rows[-1], SWATCH, rule | {"multi_range": swatches})
    notes = " ".join(f"$C${row + 2}:$M${row + 2}" for row in rows)
    warning = writer.book.add_format({"font_color": WARNING, "bold": True})
    rule = {"type": "formula", "criteria": f"=$B{rows[0] + 2}=1", "format": warning, "multi_range": notes}
    writer.sheet.conditional_format(rows[0] + 1, PANEL, rows[-1] + 1, LAST, rule)
