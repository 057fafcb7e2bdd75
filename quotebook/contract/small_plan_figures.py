"""What the figures of the small plan on the first sheet should come to: how many of its cells the floor takes.

It stands beside the head, whose rows are as tall as their texts need. So as many whole rows are taken as leave room for
the width, and the columns, which are narrow, make the proportion.
"""

from collections.abc import Mapping
from decimal import Decimal
from itertools import accumulate

from quotebook.contract.plan_figures import BEYOND, SIDE_BY_SIDE, whole_cells
from quotebook.contract.values import CellValue
from quotebook.engine.money import ZERO, round6

ROW_PIXELS = (17, 17, 17, 17, 20, 20, 21, 21, 22)
"""How tall its rows are, which are those of the head below the firm's name."""
COLUMNS, COLUMN_PIXELS = 26, 6
"""How many columns it has, and how wide each is."""
EDGES = tuple(accumulate(ROW_PIXELS))
"""Where each row ends, in pixels from the top of the first."""


def small_plan_figures(plan: Mapping[str, CellValue]) -> dict[str, CellValue]:
    """Every figure of the small plan by its defined name; `plan` has those of the large one, with its kinds."""
    width, length = Decimal(str(plan["plan_whole_width"])), Decimal(str(plan["plan_whole_length"]))
    height = rows = columns = ZERO
    if width and length:
        room = [edge for edge in EDGES if round6(edge * width) <= round6(COLUMNS * COLUMN_PIXELS * length)]
        height = Decimal(max(room, default=EDGES[0]))
        rows = Decimal(EDGES.index(int(height)) + 1)
        columns = min(Decimal(COLUMNS), whole_cells(height * width / (COLUMN_PIXELS * length)))
    first_rows, first_columns, kinds = rows, columns, ("plan_kind", "plan_other_kind")
    if plan["plan_way"] == SIDE_BY_SIDE:
        first_rows, first_columns = ZERO, whole_cells(columns * Decimal(str(plan["plan_actual_width"])) / width)
    if plan["plan_way"] == BEYOND:
        kinds = kinds[::-1]
        joint = round6(height * Decimal(str(plan["plan_other_actual_length"])) / length)
        above = [top for top, edge in zip((0, *EDGES), EDGES, strict=False) if Decimal(top + edge) / 2 < joint]
        first_rows, first_columns = Decimal(len(above)), ZERO
    return {
        "small_plan_height": height,
        "small_plan_rows": rows,
        "small_plan_columns": columns,
        "small_plan_first_rows": first_rows,
        "small_plan_first_columns": first_columns,
        "small_plan_kind": plan[kinds[0]],
        "small_plan_other_kind": plan[kinds[1]],
    }
