"""The small plan on the first sheet has the floor's proportion, as nearly as its cells allow, within its frame."""

from decimal import Decimal as D

from hypothesis import given
from hypothesis import strategies as st

from quotebook.contract.small_plan_figures import COLUMN_PIXELS, COLUMNS, ROW_PIXELS, small_plan_figures

sides = st.decimals(1, 120, places=2)


def drawn(width, length):
    """Rows and columns, and the pixels down and across."""
    plan = {"plan_whole_width": width, "plan_whole_length": length, "plan_kind": D(1)}
    found = small_plan_figures(plan, (), ())
    rows, columns = int(found["small_plan_rows"]), int(found["small_plan_columns"])
    return (rows, columns), (sum(ROW_PIXELS[:rows]), columns * COLUMN_PIXELS)


@given(sides, sides)
def test_a_floor_keeps_its_proportion(width, length):
    (rows, columns), (down, across) = drawn(width, length)
    assert 1 <= rows <= len(ROW_PIXELS) and 1 <= columns <= COLUMNS
    if 1 < columns < COLUMNS:
        assert abs(across - down * width / length) <= COLUMN_PIXELS / D(2)
    if rows < len(ROW_PIXELS):  # one row more would be too wide
        assert sum(ROW_PIXELS[: rows + 1]) * width > COLUMNS * COLUMN_PIXELS * length


def test_no_floor_is_not_drawn():
    assert drawn(D(0), D(0)) == ((0, 0), (0, 0))
