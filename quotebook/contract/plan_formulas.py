"""The floor plan's own formulas, as text made of defined names: written apart from `plan_figures`.

Text and blanks in `plan_line` equal no line, so they draw nothing.
"""

from collections.abc import Mapping
from string import Formatter

from quotebook.contract.formulas import first_of, in_words, quoted
from quotebook.contract.plan_figures import FRAME, GRID, MOST_PANELS, PICKED
from quotebook.contract.values import Words
from quotebook.engine.model import LINES


def plan_formulas(words: Words, unit: str) -> dict[str, str]:
    """Every formula of the plan by its defined name, without the leading `=`.

    `words` is the whole of a words file, `unit` the card's unit of length.
    """
    picked = {f"plan_{name}": _of_line(name) for name in PICKED}
    return picked | {"plan_kind": _of_line("kind_row")} | SIZES | _sentences(words["plan"], unit)


def _of_line(name: str) -> str:
    """The figure of the line that `plan_line` names."""
    return first_of([(f"plan_line={line}", f"{name}_{line}") for line in range(1, LINES + 1)], "0")


def _where_drawn(amount: str, otherwise: str = "0") -> str:
    return f"IF(plan_drawn=1,{amount},{otherwise})"


def _room(count: str) -> str:
    """Whole cells that one of `count` panels can have."""
    return f"INT(ROUND({GRID}/{count},6))"


def _short(long: str) -> str:
    """Cells of a panel's short side, where its long side has `long`."""
    return f"MAX(1,ROUND(ROUND({long}*plan_slimness,6),0))"


def _misfit(long: str) -> str:
    return _where_drawn(f"ROUND(ROUND(ABS({_short(long)}/({long}*plan_slimness)-1),6),4)")


SIZES = {
    "plan_drawn": f"IF(AND(plan_across>=1,plan_across<={MOST_PANELS},plan_along>=1,plan_along<={MOST_PANELS}),1,0)",
    "plan_laid_width": "IF(plan_turned=1,plan_panel_length,plan_panel_width)",
    "plan_laid_length": "IF(plan_turned=1,plan_panel_width,plan_panel_length)",
    "plan_long": "MAX(plan_laid_width,plan_laid_length)",
    "plan_slimness": _where_drawn("MIN(plan_laid_width,plan_laid_length)/plan_long"),
    "plan_most": _where_drawn(
        f"INT(ROUND(MIN({_room('plan_across')}/plan_laid_width,{_room('plan_along')}/plan_laid_length)*plan_long,6))"
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
    "plan_columns": _where_drawn("plan_across*plan_panel_columns"),
    "plan_rows": _where_drawn("plan_along*plan_panel_rows"),
    "plan_last_column": "COLUMN(plan_origin)+plan_columns-1",
    "plan_last_row": "ROW(plan_origin)+plan_rows-1",
    "plan_frame": _where_drawn(f"IF(plan_edging_fitted=1,{FRAME},1)"),
}
"""From the line's figures to cells. A panel is 1 x 1 where nothing is drawn, because the drawing divides by it."""


def _sentences(words: Mapping[str, str], unit: str) -> dict[str, str]:
    said = {key: _sentence(text.replace("{unit}", unit)) for key, text in words.items()}
    no_line = "AND(" + ",".join(f"plan_line<>{line}" for line in range(1, LINES + 1)) + ")"
    not_drawn = f"IF({no_line},{said['no_line']},IF(plan_panels=0,{said['no_floor']},{said['too_many']}))"
    slot, tongue, corner = (f'IF(plan_frame={FRAME},{said[key]},"")' for key in ("slot", "tongue", "corner"))
    whole = ",".join(f"ROUND(plan_floor_{side}-plan_actual_{side},6)=0" for side in ("width", "length"))
    part = f'&IF(AND({whole}),""," "&{said["part"]})'
    return {
        "plan_caption": _where_drawn(f"IF(plan_panels=1,{said['one_panel']},{said['caption']})", not_drawn),
        "plan_laid": _where_drawn(f"IF(plan_turned=1,{said['turned']},{said['as_given']}){part}", '""'),
        "plan_width_said": _where_drawn(said["width_side"], '""'),
        "plan_length_said": _where_drawn(said["length_side"], '""'),
        "plan_panel_said": _where_drawn(said["panel"], '""'),
        "plan_slot_said": f"IF(plan_frame=1,{said['bare']},{slot})",
        "plan_tongue_said": tongue,
        "plan_corner_said": corner,
    }


def _sentence(template: str) -> str:
    """`{panels} panels` as the number of `plan_panels` joined to `" panels"`."""
    parts = []
    for text, name, _, _ in Formatter().parse(template):
        parts += [quoted(text)] if text else []
        parts += [in_words(f"plan_{name}")] if name else []
    return "&".join(parts)
