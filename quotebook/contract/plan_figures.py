"""What the floor plan's figures should come to: one floor, and how large it is drawn.

A floor is one line, or two whose panels are locked together side by side or one beyond the other. A floor of more
blocks than two is drawn a block at a time. The near end is at the bottom, as on the crew's plan (`engine.laying`): the
first block is near and left, the second to its right or beyond it, and slot edging is on the far side, and on the
right unless the panels of the first are turned.

A panel is a whole number of cells each way. Of the four largest sizes that fit, the one nearest to
the panel's own proportion is drawn: among four whole numbers in a row there is always one that can
be halved, cut in three and cut in four, so panels of 1:1, 3:4, 2:3 and 1:2 are exact up to 24 x 24.
Any other that is no slimmer than 1:4 is within 5 % up to 8 panels on a side, 8 % up to 12, 20 % up to 24.
"""

from collections.abc import Mapping
from decimal import ROUND_HALF_UP, Decimal

from quotebook.contract.values import CellValue, Words, joined
from quotebook.engine.figures import Figures, LineFigures
from quotebook.engine.model import LINES
from quotebook.engine.money import ONE, ZERO, round6

MOST_PANELS = 24
"""Panels on a side that are still drawn: no more have four cells each on a drawing as wide as a screen."""

GRID = 4 * MOST_PANELS
"""Cells of the drawing on a side, without the frame around a floor."""

FRAME = 2
"""Cells of edging around a floor; a floor without edging has an outline of one."""

ORIGIN_ROW, ORIGIN_COLUMN = 14, 4
"""Where on its sheet the floor's first cell is as issued, from 1."""

BLOCK = ("across", "along", "panels", "panel_width", "panel_length", "actual_width", "actual_length")
"""Figures of the second of two lines that make one floor; `plan_other_across` is its `across`."""

PICKED = (
    *BLOCK, "turned", "floor_width", "floor_length", "edging_fitted", "slot_pieces", "tongue_pieces", "corners",
)  # fmt: skip
"""Figures of a floor line that the plan shows; `plan_across` is `across` of the line that is drawn, or of the first of
two that are drawn as one floor."""

SIDE_BY_SIDE, BEYOND = 1, 2
"""How the second line of a floor lies, which is `plan_way`; 0 where a line is drawn alone."""


def plan_figures(figures: Figures, plan_line: CellValue, words: Words, unit: str) -> dict[str, Decimal | str]:
    """Every figure and sentence of the plan, by its defined name.

    `figures` are the engine's, `words` the whole of a words file, `unit` the card's unit of length.
    `plan_line` is the client's entry as found: anything but a whole number from 1 to 6 draws nothing.
    """
    line = plan_line if isinstance(plan_line, Decimal) and plan_line in range(1, LINES + 1) else None
    ways = {first: _way(figures.line(first), figures.line(first + 1)) for first in range(1, LINES)} | dict.fromkeys(
        (0, LINES), 0
    )
    first = int(line or 0)
    first -= first > 1 and ways[first - 1] > 0
    way = ways[first]
    picked = {name: getattr(figures.line(first), name) if line else ZERO for name in PICKED}
    picked |= {f"other_{name}": getattr(figures.line(first + 1), name) if way else ZERO for name in BLOCK}
    for side, lies in (("width", SIDE_BY_SIDE), ("length", BEYOND)):
        picked[f"whole_{side}"] = picked[f"actual_{side}"] + (picked[f"other_actual_{side}"] if way == lies else ZERO)
    drawn = all(1 <= panels <= MOST_PANELS for panels in _panels_each_way(picked))
    found = picked | _sizes(picked, way, drawn) | _sentences(picked, line, way, drawn, words["plan"], unit)
    found |= {"first": Decimal(first), "way": Decimal(way)}
    found |= {f"way_{number}": Decimal(ways[number]) for number in range(1, LINES)}
    return {f"plan_{name}": value for name, value in found.items()}


def _way(first: LineFigures, second: LineFigures) -> int:
    """How two lines in a row lie where they make one floor between them, and nothing more; else 0."""
    if not (first.counted and second.counted) or second.floor_width or second.floor_length:
        return 0
    width, length = first.floor_width, first.floor_length
    if length == first.actual_length == second.actual_length and width == first.actual_width + second.actual_width:
        return SIDE_BY_SIDE
    if width == first.actual_width == second.actual_width and length == first.actual_length + second.actual_length:
        return BEYOND
    return 0


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


def _sizes(picked: Mapping[str, Decimal], way: int, drawn: bool) -> dict[str, Decimal]:
    """Cells of a panel, of the floor, and of the frame around it."""
    laid, (wide, deep) = _laid(picked), _panels_each_way(picked)
    panel = _panel_cells(wide, deep, *laid) if drawn else _NO_PANEL
    own_columns = picked["across"] * panel["panel_columns"] if drawn else ZERO
    own_rows = picked["along"] * panel["panel_rows"] if drawn else ZERO
    columns = _rounded(round6(wide * panel["panel_columns"])) if drawn else ZERO
    rows = _rounded(round6(deep * panel["panel_rows"])) if drawn else ZERO
    frame = FRAME if picked["edging_fitted"] else 1
    beside, beyond = drawn and way == SIDE_BY_SIDE, drawn and way == BEYOND
    other = {"other_panel_columns": ONE, "other_panel_rows": ONE}
    if beside or beyond:
        other["other_panel_columns"] = (columns - own_columns if beside else columns) / picked["other_across"]
        other["other_panel_rows"] = (rows - own_rows if beyond else rows) / picked["other_along"]
    return (
        panel
        | other
        | {
            "drawn": Decimal(drawn),
            "laid_width": laid[0],
            "laid_length": laid[1],
            "wide": wide,
            "deep": deep,
            "long": max(laid),
            "columns": columns,
            "rows": rows,
            "other_column": ORIGIN_COLUMN + (own_columns if beside else ZERO),
            "other_last_row": ORIGIN_ROW + rows - 1 - (own_rows if beyond else ZERO),
            "last_column": ORIGIN_COLUMN + columns - 1,
            "last_row": ORIGIN_ROW + rows - 1,
            "frame": Decimal(frame if drawn else 0),
        }
    )


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
    picked: Mapping[str, Decimal], line: Decimal | None, way: int, drawn: bool, words: Mapping[str, str], unit: str
) -> dict[str, str]:
    """What the plan says; nothing where a sentence does not apply."""
    said = {name: joined(value) for name, value in picked.items()} | {"line": line, "unit": unit}
    edged, bare = drawn and picked["edging_fitted"], drawn and not picked["edging_fitted"]
    applying = {
        "caption": _caption(picked, line, way, drawn),
        "laid": drawn and ("two_kinds" if way else "turned" if picked["turned"] else "as_given"),
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


def _caption(picked: Mapping[str, Decimal], line: Decimal | None, way: int, drawn: bool) -> str:
    if drawn and way:
        return "two_blocks"
    if drawn:
        return "one_panel" if picked["panels"] == 1 else "caption"
    if line is None:
        return "no_line"
    return "too_many" if picked["panels"] else "no_floor"
