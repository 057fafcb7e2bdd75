"""The formulas of the small plan on the first sheet, as text made of defined names.

Written apart from `small_plan_figures`, which says what they should come to.
"""

from quotebook.contract.formulas import first_of
from quotebook.contract.plan_figures import BEYOND, SIDE_BY_SIDE
from quotebook.contract.plan_formulas import whole_cells
from quotebook.contract.small_plan_figures import COLUMN_PIXELS, COLUMNS, EDGES


def _has_room(edge: int) -> str:
    """Whether a floor that is drawn `edge` pixels tall is no wider than the small plan."""
    return f"ROUND({edge}*plan_whole_width,6)<=ROUND({COLUMNS * COLUMN_PIXELS}*plan_whole_length,6)"


def _rows_above() -> str:
    """How many rows have their middle in the far one of two blocks that lie one beyond the other."""
    joint = "ROUND(small_plan_height*plan_other_actual_length/plan_whole_length,6)"
    tops = (0, *EDGES[:-1])
    return "+".join(f"IF({(top + edge) / 2:g}<{joint},1,0)" for top, edge in zip(tops, EDGES, strict=True))


def _first(way: int, cells: str, which: str) -> str:
    """Cells of the upper or the left one of two blocks that lie that way; 0 where they lie the other way."""
    return f"IF(plan_way=0,small_plan_{which},IF(plan_way={way},{cells},0))"


SMALL_PLAN = {
    "small_plan_height": "IF(plan_whole_width*plan_whole_length=0,0,"
    + first_of([(_has_room(edge), str(edge)) for edge in EDGES[::-1]], str(EDGES[0]))
    + ")",
    "small_plan_rows": first_of([(f"small_plan_height={edge}", str(row)) for row, edge in enumerate(EDGES, 1)], "0"),
    "small_plan_columns": (
        "IF(small_plan_height=0,0,"
        f"MIN({COLUMNS},{whole_cells(f'small_plan_height*plan_whole_width/({COLUMN_PIXELS}*plan_whole_length)')}))"
    ),
    "small_plan_first_rows": _first(BEYOND, _rows_above(), "rows"),
    "small_plan_first_columns": _first(
        SIDE_BY_SIDE, whole_cells("small_plan_columns*plan_actual_width/plan_whole_width"), "columns"
    ),
    "small_plan_kind": f"IF(plan_way={BEYOND},plan_other_kind,plan_kind)",
    "small_plan_other_kind": f"IF(plan_way={BEYOND},plan_kind,plan_other_kind)",
}
"""Every formula of the small plan by its defined name, without the leading `=`."""
