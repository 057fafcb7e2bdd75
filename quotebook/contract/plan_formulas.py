"""The floor plan's own formulas, as text made of defined names: written apart from `plan_figures`.

Text and blanks in `plan_line` equal no line, so they draw nothing.
"""

from collections.abc import Mapping

from quotebook.contract.formulas import first_of, sentence
from quotebook.contract.plan_block_formulas import Groups, block_formulas
from quotebook.contract.plan_figures import FRAME, GRID, MOST_PANELS, PICKED
from quotebook.contract.values import Words
from quotebook.engine.model import LINES


def plan_formulas(words: Words, unit: str, groups: Groups = ()) -> dict[str, str]:
    """Every formula of the plan by its defined name, without the leading `=`.

    `words` is the whole of a words file, `unit` the card's unit of length, `groups` the lines of each floor that was
    issued as one of several lines.
    """
    picked = {f"plan_{name}": _of_line(name) for name in PICKED}
    kind, first, said = _of_line("kind_row"), _first(groups), _sentences(words["plan"], unit, bool(groups))
    return {"plan_first": first} | picked | {"plan_kind": kind} | _whole(groups) | SIZES | block_formulas(groups) | said


def _first(groups: Groups) -> str:
    """The line that is drawn, or the first line of the floor that it is part of; 0 where there is none."""
    of_floor = {line: group[0] for group in groups for line in group[1:]}
    lines = {line: str(line) for line in range(1, LINES + 1)}
    lines |= {line: f"IF(plan_joined_{first}=1,{first},{line})" for line, first in of_floor.items()}
    return first_of([(f"plan_line={line}", first) for line, first in lines.items()], "0")


def _of_line(name: str) -> str:
    """The figure of the line that is drawn, or of the first of several."""
    return first_of([(f"plan_first={line}", f"{name}_{line}") for line in range(1, LINES + 1)], "0")


def _whole(groups: Groups) -> dict[str, str]:
    """The sides of the floor that is drawn."""
    return {
        f"plan_whole_{side}": f"IF(plan_blocks>1,plan_floor_{side},plan_actual_{side})"
        if groups
        else f"plan_actual_{side}"
        for side in ("width", "length")
    }


def _where_drawn(amount: str, otherwise: str = "0") -> str:
    return f"IF(plan_drawn=1,{amount},{otherwise})"


def _room(count: str) -> str:
    """Whole cells that one of `count` panels can have."""
    return f"INT(ROUND({GRID}/{count},6))"


def whole_cells(cells: str) -> str:
    """The nearest whole number of cells, at least 1."""
    return f"MAX(1,ROUND(ROUND({cells},6),0))"


def _short(long: str) -> str:
    """Cells of a panel's short side, where its long side has `long`."""
    return whole_cells(f"{long}*plan_slimness")


def _misfit(long: str) -> str:
    return _where_drawn(f"ROUND(ROUND(ABS({_short(long)}/({long}*plan_slimness)-1),6),4)")


SIZES = {
    "plan_wide": "IF(plan_laid_width>0,ROUND(plan_whole_width/plan_laid_width,6),0)",
    "plan_deep": "IF(plan_laid_length>0,ROUND(plan_whole_length/plan_laid_length,6),0)",
    "plan_drawn": f"IF(AND(plan_wide>=1,plan_wide<={MOST_PANELS},plan_deep>=1,plan_deep<={MOST_PANELS}),1,0)",
    "plan_laid_width": "IF(plan_turned=1,plan_panel_length,plan_panel_width)",
    "plan_laid_length": "IF(plan_turned=1,plan_panel_width,plan_panel_length)",
    "plan_long": "MAX(plan_laid_width,plan_laid_length)",
    "plan_slimness": _where_drawn("MIN(plan_laid_width,plan_laid_length)/plan_long"),
    "plan_most": _where_drawn(
        f"INT(ROUND(MIN({_room('plan_wide')}/plan_laid_width,{_room('plan_deep')}/plan_laid_length)*plan_long,6))"
    ),
    "plan_misfit": _misfit("plan_most"),
    "plan_misfit_one_less": _misfit("(plan_most-1)"),
    "plan_misfit_two_less": _misfit("(plan_most-2)"),
    "plan_misfit_three_less": _misfit("(plan_most-3)"),
    "plan_least_misfit": "MIN(plan_misfit,plan_misfit_one_less,plan_misfit_two_less,plan_misfit_three_less)",
    "plan_long_cells": _where_drawn(
        "plan_most-IF(plan_misfit=plan_least_misfit,0,IF(plan_misfit_one_less=plan_least_misfit,1,"
        "IF(plan_misfit_two_less=plan_least_misfit,2,3)))"
    ),
    "plan_short_cells": _where_drawn(_short("plan_long_cells")),
    "plan_panel_columns": _where_drawn("IF(plan_laid_width=plan_long,plan_long_cells,plan_short_cells)", "1"),
    "plan_panel_rows": _where_drawn("IF(plan_laid_length=plan_long,plan_long_cells,plan_short_cells)", "1"),
    "plan_columns": _where_drawn("ROUND(ROUND(plan_wide*plan_panel_columns,6),0)"),
    "plan_rows": _where_drawn("ROUND(ROUND(plan_deep*plan_panel_rows,6),0)"),
    "plan_last_column": "COLUMN(plan_origin)+plan_columns-1",
    "plan_last_row": "ROW(plan_origin)+plan_rows-1",
    "plan_frame": _where_drawn(f"IF(plan_edging_fitted=1,{FRAME},1)"),
}
"""From the line's figures to cells. A panel is 1 x 1 where nothing is drawn, because the drawing divides by it."""


def _sentences(words: Mapping[str, str], unit: str, in_blocks: bool) -> dict[str, str]:
    """What the plan says; `in_blocks` where a floor of the quote has several lines."""
    said = {key: sentence(text.replace("{unit}", unit), "plan_{}") for key, text in words.items()}
    no_line = "AND(" + ",".join(f"plan_line<>{line}" for line in range(1, LINES + 1)) + ")"
    one = f"IF(plan_panels=1,{said['one_panel']},{said['caption']})"
    laid = f"IF(plan_turned=1,{said['turned']},{said['as_given']})"
    if in_blocks:
        one = f"IF(plan_blocks>1,{said['blocks']},{one})"
        laid = f"IF(plan_blocks>1,{said['in_blocks']},{laid})"
    not_drawn = f"IF({no_line},{said['no_line']},IF(plan_panels=0,{said['no_floor']},{said['too_many']}))"
    sides = {key: f"IF(plan_turned=1,{said[f'{key}_turned']},{said[key]})" for key in ("slot", "tongue")}
    edged = sides | {"corner": said["corner"]}
    slot, tongue, corner = (f'IF(plan_frame={FRAME},{text},"")' for text in edged.values())
    whole = ",".join(f"ROUND(plan_floor_{side}-plan_whole_{side},6)=0" for side in ("width", "length"))
    part = f'&IF(AND({whole}),""," "&{said["part"]})'
    return {
        "plan_caption": _where_drawn(one, not_drawn),
        "plan_laid": _where_drawn(f"{laid}{part}", '""'),
        "plan_width_said": _where_drawn(said["width_side"], '""'),
        "plan_length_said": _where_drawn(said["length_side"], '""'),
        "plan_panel_said": _where_drawn(said["panel"], '""'),
        "plan_slot_said": f"IF(plan_frame=1,{said['bare']},{slot})",
        "plan_tongue_said": tongue,
        "plan_corner_said": corner,
        "plan_size_said": f'IF(plan_panels=0,"",{said["size"]})',
    }
