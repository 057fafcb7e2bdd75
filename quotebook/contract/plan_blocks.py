"""Where the blocks of a floor of several lines are drawn: what the plan's figures of them should come to.

A block is a line of a floor that was issued as one of several kinds of panel: a rectangle of panels of one kind, all
laid one way. Such a floor is drawn whole while its lines still make it, and otherwise a line at a time. A quote without
such a floor has none of these figures.
"""

from collections.abc import Mapping, Sequence
from decimal import ROUND_HALF_UP, Decimal
from typing import NamedTuple

from quotebook.engine.figures import Figures, LineFigures
from quotebook.engine.laid_floors import joined_lines
from quotebook.engine.model import FloorLine
from quotebook.engine.money import ONE, ZERO, round6


class Block(NamedTuple):
    """A line of a floor of several lines, and the near left corner of its panels, from the floor's."""

    line: int
    own: LineFigures
    x: Decimal
    y: Decimal


def most_blocks(lines: Sequence[FloorLine]) -> int:
    """How many lines the floor of most lines was issued with: 1 where each line is a floor of its own."""
    return max((len(group) for group in joined_lines(lines)), default=1)


def blocks_drawn(lines: Sequence[FloorLine], figures: Figures, line: int) -> tuple[Block, ...]:
    """The blocks of the floor that a line is part of; none where it is a floor of its own, or its floor is no more."""
    group = next((group for group in joined_lines(lines) if line in group), ())
    return _whole(lines, figures, group) if group else ()


def _whole(lines: Sequence[FloorLine], figures: Figures, group: Sequence[int]) -> tuple[Block, ...]:
    """The blocks of some lines if these still cover the floor between them; else none.

    They do if all are priced, the further ones have the size that they were issued with, none begins outside the
    floor, one begins at its near left corner, and they have its area between them.
    """
    first = figures.line(group[0])
    blocks = tuple(_block(line, lines[line - 1], figures.line(line), first) for line in group)
    area = round6(sum((block.own.area for block in blocks), ZERO) - first.floor_width * first.floor_length)
    as_issued = all(
        not round6(own.actual_width + asked.joined_width) and not round6(own.actual_length + asked.joined_length)
        for own, asked in ((block.own, lines[block.line - 1]) for block in blocks[1:])
    )
    inside = all(block.x >= 0 and block.y >= 0 for block in blocks) and any(
        block[2:] == (ZERO, ZERO) for block in blocks
    )
    return blocks if all(block.own.counted for block in blocks) and as_issued and inside and not area else ()


def _block(line: int, asked: FloorLine, own: LineFigures, first: LineFigures) -> Block:
    x = round6(first.floor_width - asked.joined_right - own.actual_width)
    return Block(line, own, x, round6(first.floor_length - asked.joined_beyond - own.actual_length))


def block_figures(
    lines: Sequence[FloorLine],
    figures: Figures,
    blocks: Sequence[Block],
    plan: Mapping[str, Decimal],
    origin: tuple[Decimal, Decimal],
) -> dict[str, Decimal]:
    """The figures of the blocks without `plan_` before their names; none for a quote without a floor of several lines.

    `plan` has the figures of the floor, `origin` the row and the column of its far left cell.
    """
    if most_blocks(lines) == 1:
        return {}
    found = {f"joined_{group[0]}": ONE if _whole(lines, figures, group) else ZERO for group in joined_lines(lines)}
    found |= {"blocks": Decimal(len(blocks) or 1), "all_panels": sum((block.own.panels for block in blocks), ZERO)}
    found |= {"left_1": origin[1], "bottom_1": plan["last_row"]}
    for number in range(2, most_blocks(lines) + 1):
        found |= {f"{name}_{number}": value for name, value in _NOT_THERE.items()}
    for number, block in enumerate(blocks, 1):
        sizes = _on_sheet(block, plan, origin)
        found |= {f"{name}_{number}": sizes[name] for name in (sizes if number > 1 else ("left", "bottom"))}
    return found


_NOT_THERE = dict.fromkeys(("left", "right", "top", "bottom"), ZERO) | {"panel_columns": ONE, "panel_rows": ONE}
"""A block that the floor does not have, where another floor of the quote has as many."""


def _on_sheet(block: Block, plan: Mapping[str, Decimal], origin: tuple[Decimal, Decimal]) -> dict[str, Decimal]:
    """The first column of a block, the one after its last, its first and last row, and the cells of a panel."""
    width, length = plan["laid_width"], plan["laid_length"]
    left, right = (_cells(x, plan["panel_columns"], width) for x in (block.x, block.x + block.own.actual_width))
    near, far = (_cells(y, plan["panel_rows"], length) for y in (block.y, block.y + block.own.actual_length))
    row, column = origin
    return {
        "left": column + left,
        "right": column + right,
        "top": row + plan["rows"] - far,
        "bottom": row + plan["rows"] - near - 1,
        "panel_columns": (right - left) / block.own.across,
        "panel_rows": (far - near) / block.own.along,
    }


def _cells(length: Decimal, cells: Decimal, side: Decimal) -> Decimal:
    """The nearest whole number of cells for a length, where a panel's side of `side` has so many `cells`."""
    return round6(length * cells / side).to_integral_value(ROUND_HALF_UP)
