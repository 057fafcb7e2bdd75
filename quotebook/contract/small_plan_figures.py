"""What the figures of the small plan on the first sheet should come to: how many of its cells the floor takes.

It stands beside the head, whose rows are as tall as their texts need. So as many whole rows are taken as leave room for
the width, and the columns, which are narrow, make the proportion.
"""

from collections.abc import Mapping, Sequence
from decimal import ROUND_HALF_UP, Decimal
from itertools import accumulate

from quotebook.contract.plan_blocks import Block, most_blocks
from quotebook.contract.plan_figures import whole_cells
from quotebook.contract.values import CellValue
from quotebook.engine.model import FloorLine
from quotebook.engine.money import ZERO, round6

ROW_PIXELS = (17, 17, 17, 17, 20, 20, 21, 21, 22)
"""How tall its rows are, which are those of the head below the firm's name."""
COLUMNS, COLUMN_PIXELS = 26, 6
"""How many columns it has, and how wide each is."""
EDGES = tuple(accumulate(ROW_PIXELS))
"""Where each row ends, in pixels from the top of the first."""
MIDDLES = tuple(Decimal(top + edge) / 2 for top, edge in zip((0, *EDGES), EDGES, strict=False))
"""Where the middle of each row is."""


def small_plan_figures(
    plan: Mapping[str, CellValue], lines: Sequence[FloorLine], blocks: Sequence[Block]
) -> dict[str, CellValue]:
    """Every figure of the small plan by its defined name.

    `plan` has the figures of the large one with its kinds, `lines` are all floor lines of the request, `blocks` those
    of the floor that is drawn, which has none where it is of one line.
    """
    width, length = Decimal(str(plan["plan_whole_width"])), Decimal(str(plan["plan_whole_length"]))
    height = rows = columns = ZERO
    if width and length:
        room = [edge for edge in EDGES if round6(edge * width) <= round6(COLUMNS * COLUMN_PIXELS * length)]
        height = Decimal(max(room, default=EDGES[0]))
        rows = Decimal(EDGES.index(int(height)) + 1)
        columns = min(Decimal(COLUMNS), whole_cells(height * width / (COLUMN_PIXELS * length)))
    found = {
        "small_plan_height": height,
        "small_plan_rows": rows,
        "small_plan_columns": columns,
        "small_plan_kind": plan["plan_kind"],
    }
    for number in range(2, most_blocks(lines) + 1):
        there = number <= len(blocks)
        edges = _edges(blocks[number - 1], (width, length), (height, columns)) if there else (ZERO,) * 4
        names = (f"small_plan_{edge}_{number}" for edge in ("left", "right", "top", "bottom"))
        found |= dict(zip(names, edges, strict=True))
        found[f"small_plan_kind_{number}"] = plan[f"plan_kind_{number}"]
    return found


def _edges(block: Block, whole: tuple[Decimal, Decimal], drawn: tuple[Decimal, Decimal]) -> tuple[Decimal, ...]:
    """The columns before a block and up to its end, and the rows above it and down to its end.

    `whole` are the sides of the floor, `drawn` the pixels that it is tall and the columns that it is wide.
    """
    (width, length), (height, columns) = whole, drawn
    across = (round6(columns * x / width) for x in (block.x, block.x + block.own.actual_width))
    down = (round6(height * (length - y) / length) for y in (block.y + block.own.actual_length, block.y))
    rows = (Decimal(sum(middle < edge for middle in MIDDLES)) for edge in down)
    return *(edge.to_integral_value(ROUND_HALF_UP) for edge in across), *rows
