"""The small plan on the first sheet has the floor's proportion, as nearly as its cells allow, within its frame."""

from decimal import Decimal as D

from hypothesis import given
from hypothesis import strategies as st

from quotebook.contract.plan_figures import BEYOND, SIDE_BY_SIDE
from quotebook.contract.small_plan_figures import COLUMN_PIXELS, COLUMNS, ROW_PIXELS, small_plan_figures

sides = st.decimals(1, 120, places=2)


def drawn(width, length, way=D(0), first_width=D(0), far_length=D(0)):
    """Rows and columns, those of the first block, and the pixels down and across."""
    plan = {
        "plan_whole_width": width, "plan_whole_length": length, "plan_way": way, "plan_actual_width": first_width,
        "plan_other_actual_length": far_length, "plan_kind": D(1), "plan_other_kind": D(2),
    }  # fmt: skip
    found = small_plan_figures(plan)
    rows, columns = int(found["small_plan_rows"]), int(found["small_plan_columns"])
    first = int(found["small_plan_first_rows"]), int(found["small_plan_first_columns"])
    return (rows, columns), first, (sum(ROW_PIXELS[:rows]), columns * COLUMN_PIXELS)


@given(sides, sides)
def test_a_floor_keeps_its_proportion(width, length):
    (rows, columns), first, (down, across) = drawn(width, length)
    assert 1 <= rows <= len(ROW_PIXELS) and 1 <= columns <= COLUMNS and first == (rows, columns)
    if 1 < columns < COLUMNS:
        assert abs(across - down * width / length) <= COLUMN_PIXELS / D(2)
    if rows < len(ROW_PIXELS):  # one row more would be too wide
        assert sum(ROW_PIXELS[: rows + 1]) * width > COLUMNS * COLUMN_PIXELS * length


@given(sides, sides, st.decimals(D("0.05"), D("0.95"), places=2))
def test_two_blocks_meet_where_they_do(width, length, share):
    (_, columns), (_, first), _ = drawn(width, length, D(SIDE_BY_SIDE), first_width=width * share)
    assert first == 1 or abs(first - columns * share) <= D("0.5")
    _, (above, _), (down, _) = drawn(width, length, D(BEYOND), far_length=length * share)
    assert abs(sum(ROW_PIXELS[:above]) - down * share) <= max(ROW_PIXELS) / D(2)


def test_no_floor_is_not_drawn():
    assert drawn(D(0), D(0)) == ((0, 0), (0, 0), (0, 0))
