"""The formulas of the small plan on the first sheet, as text made of defined names.

Written apart from `small_plan_figures`, which says what they should come to.
"""

from quotebook.contract.formulas import first_of
from quotebook.contract.plan_block_formulas import FAR, LEFT, NEAR, RIGHT, Groups, most_blocks_of, of_block
from quotebook.contract.plan_formulas import whole_cells
from quotebook.contract.small_plan_figures import COLUMN_PIXELS, COLUMNS, EDGES, MIDDLES


def small_plan_formulas(groups: Groups = ()) -> dict[str, str]:
    """Every formula of the small plan by its defined name, without the leading `=`; `groups` as of the large one."""
    found = {**FLOOR}
    for number in range(2, most_blocks_of(groups) + 1):
        found |= {f"small_plan_{edge}_{number}": of_block(groups, number, amount) for edge, amount in BLOCK.items()}
        found[f"small_plan_kind_{number}"] = f"plan_kind_{number}"
    return found


def _has_room(edge: int) -> str:
    """Whether a floor that is drawn `edge` pixels tall is no wider than the small plan."""
    return f"ROUND({edge}*plan_whole_width,6)<=ROUND({COLUMNS * COLUMN_PIXELS}*plan_whole_length,6)"


FLOOR = {
    "small_plan_height": "IF(plan_whole_width*plan_whole_length=0,0,"
    + first_of([(_has_room(edge), str(edge)) for edge in EDGES[::-1]], str(EDGES[0]))
    + ")",
    "small_plan_rows": first_of([(f"small_plan_height={edge}", str(row)) for row, edge in enumerate(EDGES, 1)], "0"),
    "small_plan_columns": (
        "IF(small_plan_height=0,0,"
        f"MIN({COLUMNS},{whole_cells(f'small_plan_height*plan_whole_width/({COLUMN_PIXELS}*plan_whole_length)')}))"
    ),
    "small_plan_kind": "plan_kind",
}
"""The figures of the whole floor."""


def _columns(from_left: str) -> str:
    """How many columns end at a place so far from the left end of the floor."""
    return f"ROUND(ROUND(small_plan_columns*{from_left}/plan_whole_width,6),0)"


def _rows_above(from_near: str) -> str:
    """How many rows have their middle above a place so far from the near end of the floor."""
    edge = f"ROUND(small_plan_height*(plan_whole_length-{from_near})/plan_whole_length,6)"
    return "+".join(f"IF({middle:f}<{edge},1,0)" for middle in MIDDLES)


BLOCK = {
    "left": _columns(LEFT),
    "right": _columns(RIGHT),
    "top": _rows_above(FAR),
    "bottom": _rows_above(NEAR),
}
"""The columns before a block and up to its end, and the rows above it and down to its end."""
