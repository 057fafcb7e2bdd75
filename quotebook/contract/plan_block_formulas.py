"""The formulas that draw the blocks of a floor of several lines, as text made of defined names.

Written apart from `plan_blocks`, which says what they should come to. Which lines were issued as one floor does not
change, so the formulas speak of those lines only; whether they still make one floor is worked out.

`{first}` stands for the first line of a floor, `{line}` for the line of a block, `{number}` for its place among the
blocks of its floor, from 1.
"""

from collections.abc import Sequence

from quotebook.contract.formulas import first_of

Groups = Sequence[Sequence[int]]
"""The numbers of the lines of each floor of several lines."""

LEFT = "ROUND(floor_width_{first}-SUM(joined_right_{line})-actual_width_{line},6)"
RIGHT = "ROUND(floor_width_{first}-SUM(joined_right_{line}),6)"
"""How far the panels of a line begin, and end, from the left end of the floor."""
NEAR = "ROUND(floor_length_{first}-SUM(joined_beyond_{line})-actual_length_{line},6)"
FAR = "ROUND(floor_length_{first}-SUM(joined_beyond_{line}),6)"
"""How far they begin, and end, from its near end."""


def _columns(length: str) -> str:
    return f"ROUND(ROUND({length}*plan_panel_columns/plan_laid_width,6),0)"


def _rows(length: str) -> str:
    return f"ROUND(ROUND({length}*plan_panel_rows/plan_laid_length,6),0)"


FIRST_BLOCK = {
    "left": (f"COLUMN(plan_origin)+{_columns(LEFT)}", "COLUMN(plan_origin)"),
    "bottom": (f"ROW(plan_origin)+plan_rows-1-{_rows(NEAR)}", "plan_last_row"),
}
"""Where the near left corner of a floor's first block is drawn, and where that of a floor of one line is."""

FURTHER_BLOCK = {
    "left": (FIRST_BLOCK["left"][0], "0"),
    "right": (f"COLUMN(plan_origin)+{_columns(RIGHT)}", "0"),
    "top": (f"ROW(plan_origin)+plan_rows-{_rows(FAR)}", "0"),
    "bottom": (FIRST_BLOCK["bottom"][0], "0"),
    "panel_columns": ("(plan_right_{number}-plan_left_{number})/across_{line}", "1"),
    "panel_rows": ("(plan_bottom_{number}-plan_top_{number}+1)/along_{line}", "1"),
    "kind": ("kind_row_{line}", "0"),
}
"""The figures of every further block, and what each is where the floor that is drawn has no such block. The column
`right` is the one after the last; a panel need not be a whole number of cells."""


def most_blocks_of(groups: Groups) -> int:
    """Blocks of the floor that has most."""
    return max(map(len, groups), default=1)


def of_block(groups: Groups, number: int, amount: str, otherwise: str = "0") -> str:
    """An amount of block `number` of the floor that is drawn; `otherwise` where that has no such block."""
    having = [group for group in groups if len(group) >= number]
    cases = [
        (f"plan_first={group[0]}", amount.format(first=group[0], line=group[number - 1], number=number))
        for group in having
    ]
    found = cases[0][1] if len(cases) == 1 else first_of(cases, otherwise)
    return f"IF(plan_blocks>={max(2, number)},{found},{otherwise})"


def block_formulas(groups: Groups) -> dict[str, str]:
    """Every figure of the blocks on the large plan; none where no floor has several lines."""
    if not groups:
        return {}
    found = {f"plan_joined_{group[0]}": _whole(group) for group in groups}
    blocks = [(f"plan_first={group[0]}", f"IF(plan_joined_{group[0]}=1,{len(group)},1)") for group in groups]
    found["plan_blocks"] = first_of(blocks, "1")
    panels = [(f"plan_first={group[0]}", "+".join(f"panels_{line}" for line in group)) for group in groups]
    found["plan_all_panels"] = f"IF(plan_blocks>1,{first_of(panels, '0')},0)"
    for number in range(1, most_blocks_of(groups) + 1):
        figures = FURTHER_BLOCK if number > 1 else FIRST_BLOCK
        found |= {f"plan_{name}_{number}": of_block(groups, number, *amounts) for name, amounts in figures.items()}
    return found


def _whole(group: Sequence[int]) -> str:
    """Whether some lines still cover one floor between them: 1 or 0."""
    first, *further = group
    starts = [(LEFT.format(first=first, line=line), NEAR.format(first=first, line=line)) for line in group]
    area = "+".join(f"area_{line}" for line in group)
    conditions = (
        "*".join(f"counted_{line}" for line in group) + "=1",
        *(f"ROUND(actual_width_{line}+SUM(joined_width_{line}),6)=0" for line in further),
        *(f"ROUND(actual_length_{line}+SUM(joined_length_{line}),6)=0" for line in further),
        *(f"{left}>=0,{near}>=0" for left, near in starts),
        f"OR({','.join(f'AND({left}=0,{near}=0)' for left, near in starts)})",
        f"ROUND({area}-floor_width_{first}*floor_length_{first},6)=0",
    )
    return f"IF(AND({','.join(conditions)}),1,0)"
