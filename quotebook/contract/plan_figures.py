"""What the floor plan's figures should come to: one floor, and how large it is drawn.

A floor is one line, or several whose blocks of panels are locked together (`plan_blocks`). The near end is at the
bottom, as on the crew's plan (`engine.laying`). Slot edging is on the far side, and on the right unless the panels of
its first line are turned.

A panel is a whole number of cells each way. Of the four largest sizes that fit, the one nearest to
the panel's own proportion is drawn: among four whole numbers in a row there is always one that can
be halved, cut in three and cut in four, so panels of 1:1, 3:4, 2:3 and 1:2 are exact up to 24 x 24.
Any other that is no slimmer than 1:4 is within 5 % up to 8 panels on a side, 8 % up to 12, 20 % up to 24.
"""

from collections.abc import Mapping, Sequence
from decimal import ROUND_HALF_UP, Decimal

from quotebook.contract.plan_blocks import Block, block_figures, blocks_drawn
from quotebook.contract.values import CellValue, Words, joined
from quotebook.engine.figures import Figures
from quotebook.engine.model import LINES, FloorLine
from quotebook.engine.money import ONE, ZERO, round6

MOST_PANELS = 24
"""Panels on a side that are still drawn: no more have four cells each on a drawing as wide as a screen."""

GRID = 4 * MOST_PANELS
"""Cells of the drawing on a side, without the frame around a floor."""

FRAME = 2
"""Cells of edging around a floor; a floor without edging has an outline of one."""

ORIGIN_ROW, ORIGIN_COLUMN = 14, 4
"""Where on its sheet the floor's first cell is as issued, from 1."""

PICKED = (
    "across", "along", "panels", "panel_width", "panel_length", "actual_width", "actual_length", "turned",
    "floor_width", "floor_length", "edging_fitted", "slot_pieces", "tongue_pieces", "corners",
)  # fmt: skip
"""Figures of a floor line that the plan shows; `plan_across` is `across` of the line that is drawn, or of the first of
those that are drawn as one floor."""


def plan_figures(
    figures: Figures, lines: Sequence[FloorLine], plan_line: CellValue, words: Words, unit: str
) -> dict[str, Decimal | str]:
    """Every figure and sentence of the plan, by its defined name.

    `figures` are the engine's, `lines` all floor lines of the request, left out or not, `words` the whole of a words
    file, `unit` the card's unit of length. `plan_line` is the client's entry as found: anything but a whole number from
    1 to 6 draws nothing.
    """
    line = plan_line if isinstance(plan_line, Decimal) and plan_line in range(1, LINES + 1) else None
    blocks = blocks_drawn(lines, figures, int(line or 0))
    first = blocks[0].line if blocks else int(line or 0)
    picked = {name: getattr(figures.line(first), name) if line else ZERO for name in PICKED}
    for side in ("width", "length"):
        picked[f"whole_{side}"] = picked[f"{'floor' if blocks else 'actual'}_{side}"]
    drawn = all(1 <= panels <= MOST_PANELS for panels in _panels_each_way(picked))
    sizes = _sizes(picked, drawn)
    origin = Decimal(ORIGIN_ROW), Decimal(ORIGIN_COLUMN)
    found = picked | sizes | block_figures(lines, figures, blocks, picked | sizes, origin) | {"first": Decimal(first)}
    found |= _sentences(found, line, blocks, drawn, words["plan"], unit)
    return {f"plan_{name}": value for name, value in found.items()}


def _laid(picked: Mapping[str, Decimal]) -> tuple[Decimal, Decimal]:
    """The sides of a panel as it lies, across and along."""
    width, length = picked["panel_width"], picked["panel_length"]
    return (length, width) if picked["turned"] else (width, length)


def _panels_each_way(picked: Mapping[str, Decimal]) -> tuple[Decimal, Decimal]:
    """How many panels of the first line would cover the whole floor, across and along, to six places."""
    width, length = _laid(picked)
    if not width or not length:
        return ZERO, ZERO
    return round6(picked["whole_width"] / width), round6(picked["whole_length"] / length)


def _sizes(picked: Mapping[str, Decimal], drawn: bool) -> dict[str, Decimal]:
    """Cells of a panel, of the floor, and of the frame around it."""
    laid, (wide, deep) = _laid(picked), _panels_each_way(picked)
    panel = _panel_cells(wide, deep, *laid) if drawn else _NO_PANEL
    columns = _rounded(round6(wide * panel["panel_columns"])) if drawn else ZERO
    rows = _rounded(round6(deep * panel["panel_rows"])) if drawn else ZERO
    frame = FRAME if picked["edging_fitted"] else 1
    return panel | {
        "drawn": Decimal(drawn),
        "laid_width": laid[0],
        "laid_length": laid[1],
        "wide": wide,
        "deep": deep,
        "long": max(laid),
        "columns": columns,
        "rows": rows,
        "last_column": ORIGIN_COLUMN + columns - 1,
        "last_row": ORIGIN_ROW + rows - 1,
        "frame": Decimal(frame if drawn else 0),
    }


def _panel_cells(wide: Decimal, deep: Decimal, width: Decimal, length: Decimal) -> dict[str, Decimal]:
    """The best size for one panel as it is laid, and how it was found. `most` is never below 4."""
    long = max(width, length)
    slimness = min(width, length) / long
    most = round6(min(round6(GRID / wide) // 1 / width, round6(GRID / deep) // 1 / length) * long) // 1
    shorts = {most - less: whole_cells((most - less) * slimness) for less in range(len(MISFITS))}
    misfits = {cells: _share(abs(short / (cells * slimness) - 1)) for cells, short in shorts.items()}
    best = min(misfits, key=misfits.__getitem__)
    return dict(zip(MISFITS, misfits.values(), strict=True)) | {
        "slimness": slimness,
        "most": most,
        "least_misfit": misfits[best],
        "long_cells": best,
        "short_cells": shorts[best],
        "panel_columns": best if width == long else shorts[best],
        "panel_rows": best if length == long else shorts[best],
    }


MISFITS = ("misfit", "misfit_one_less", "misfit_two_less", "misfit_three_less")
"""How far a panel is out of proportion, as a share, when it is drawn as large as fits, a cell smaller, and so on."""

_NO_PANEL = dict.fromkeys((*MISFITS, "slimness", "most", "least_misfit", "long_cells", "short_cells"), ZERO) | {
    "panel_columns": ONE,
    "panel_rows": ONE,
}


def _share(amount: Decimal) -> Decimal:
    """To four places, by way of six as money is, since programs differ on a tie that binary cannot write."""
    return round6(amount).quantize(Decimal("0.0001"), ROUND_HALF_UP)


def whole_cells(cells: Decimal) -> Decimal:
    """The nearest whole number of cells, at least 1."""
    return max(ONE, _rounded(round6(cells)))


def _rounded(cells: Decimal) -> Decimal:
    return cells.to_integral_value(ROUND_HALF_UP)


def _sentences(
    picked: Mapping[str, Decimal],
    line: Decimal | None,
    blocks: Sequence[Block],
    drawn: bool,
    words: Mapping[str, str],
    unit: str,
) -> dict[str, str]:
    """What the plan says; nothing where a sentence does not apply."""
    said = {name: joined(value) for name, value in picked.items()} | {"line": line, "unit": unit}
    edged, bare = drawn and picked["edging_fitted"], drawn and not picked["edging_fitted"]
    applying = {
        "caption": _caption(picked, line, blocks, drawn),
        "laid": drawn and ("in_blocks" if blocks else "turned" if picked["turned"] else "as_given"),
        "width_said": drawn and "width_side",
        "length_said": drawn and "length_side",
        "panel_said": drawn and "panel",
        "slot_said": "bare" if bare else edged and ("slot_turned" if picked["turned"] else "slot"),
        "tongue_said": edged and ("tongue_turned" if picked["turned"] else "tongue"),
        "corner_said": edged and "corner",
        "size_said": picked["panels"] and "size",
    }
    sentences = {name: words[key].format(**said) if key else "" for name, key in applying.items()}
    whole = all(picked[f"floor_{side}"] == picked[f"whole_{side}"] for side in ("width", "length"))
    return sentences if whole or not drawn else sentences | {"laid": f"{sentences['laid']} {words['part']}"}


def _caption(picked: Mapping[str, Decimal], line: Decimal | None, blocks: Sequence[Block], drawn: bool) -> str:
    if drawn and blocks:
        return "blocks"
    if drawn:
        return "one_panel" if picked["panels"] == 1 else "caption"
    if line is None:
        return "no_line"
    return "too_many" if picked["panels"] else "no_floor"
