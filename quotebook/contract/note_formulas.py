"""When the notes beside a floor line, the suggested size and the cautions stand on the client's quote, as formulas.

A `#` stands for the number of the floor line.
"""

from collections.abc import Mapping

from quotebook.contract.formulas import sentence, where
from quotebook.contract.vocabulary import on_line
from quotebook.engine.model import LINES

FORBIDDING = {
    "not_on_card": 'AND(panel_#<>"",panel_width_#=0)',
    "size_needed": "AND(panel_width_#>0,counted_#=0)",
    "panel_needed": 'AND(panel_#="",OR(SUM(width_#)<>0,SUM(length_#)<>0))',
    "not_on_surface": "AND(counted_#=1,laying_#=word_not_here)",
    "not_enough_free": "AND(counted_#=1,"
    + "+".join(f"IF(panel_{line}=panel_#,panels_{line},0)" for line in range(1, LINES + 1))
    + ">free_#)",
}
"""When a floor line cannot be had as it stands, and each note that says why stands beside it."""

INFORMING = {
    "subfloor_added": "sheets_#>0",
    "rounded_up": (
        "AND(counted_#=1,OR(ROUND(actual_width_#-SUM(width_#),6)>0,ROUND(actual_length_#-SUM(length_#),6)>0))"
    ),
    "no_edging_kept": "AND(counted_#=1,edging_wanted_#=word_yes,piece_#=0)",
    "edging_cut": "cut_pieces_#>0",
    "part_of_floor": "AND(counted_#=1,OR(SUM(joined_width_#)<>0,SUM(joined_length_#)<>0))",
}
"""When each other note stands beside a floor line that can be had."""


def _on_any_line(condition: str) -> str:
    return f"OR({','.join(on_line(condition, line) for line in range(1, LINES + 1))})"


_AROUND = "2*(clear_way+IF(edging_fitted_#=1,edging_breadth,0))"
_SHORTER = f"MIN(floor_width_#,floor_length_#)+{_AROUND}"
_LONGER = f"MAX(floor_width_#,floor_length_#)+{_AROUND}"
"""The sides of a floor with its edging and a clear way round it."""

_OUTDOORS = "AND(panels>0,surface_column>=1,surface_column<=2)"
"""Grass and paving are the first two grounds of the list."""

CAUTIONS = {
    "days_needed": "days_counted=0",
    "surface_needed": "surface_column=0",
    "crowding": "AND(panels>0,dancers>standing_room)",
    "step": _on_any_line("AND(floor_width_#>0,edging_fitted_#=0,edge_height_#>step_limit,piece_#>0)"),
    "step_no_edging": _on_any_line("AND(floor_width_#>0,edging_fitted_#=0,edge_height_#>step_limit,piece_#=0)"),
    "bevel": _on_any_line("AND(edging_fitted_#=1,edge_height_#>step_limit)"),
    "raised": "AND(panels>0,raised=word_yes)",
    "room": where(
        "OR(SUM(room_width)>0,SUM(room_length)>0)",
        _on_any_line(
            "AND(floor_width_#>0,floor_length_#>0,OR("
            f"AND(SUM(room_width)>0,ROUND({_SHORTER}-SUM(room_width),6)>0),"
            f"AND(SUM(room_length)>0,ROUND({_SHORTER}-SUM(room_length),6)>0),"
            "AND(SUM(room_width)>0,SUM(room_length)>0,"
            f"ROUND({_LONGER}-MAX(SUM(room_width),SUM(room_length)),6)>0)))"
        ),
    ),
    "ground": _OUTDOORS,
    "weather": _OUTDOORS,
    "sun": _OUTDOORS,
    "exits": "panels>0",
    "cables": "panels>0",
    "slippery": "panels>0",
    "cleaning": "panels>0",
    "tax": "tax<>0",
}
"""When each caution stands on the client's quote."""

LIVE_IN_CAUTIONS = ("crowding_area", "clear_way")
"""Rates that sentences of cautions name in braces."""


def notes(words: Mapping[str, str], also: Mapping[str, str] | None = None) -> dict[str, str]:
    """The formula of each line's notes: why it cannot be had, or else what is worth knowing, one after another.

    `also` has conditions of further notes of the second sort, by their keys.
    """
    forbidding, informing = (
        _sentences(words, conditions) for conditions in (FORBIDDING, {**INFORMING, **(also or {})})
    )
    formula = f"IF(cannot_#=1,{forbidding},{informing})"
    return {f"notes_{line}": on_line(formula, line) for line in range(1, LINES + 1)}


def _sentences(words: Mapping[str, str], conditions: Mapping[str, str]) -> str:
    said = {key: sentence(words[key] + " ", "{}_#") for key in conditions}
    return "&".join(f'IF({condition},{said[key]},"")' for key, condition in conditions.items())


def suggestion(words: dict[str, str], unit: str) -> str:
    """The formula of the sentence that suggests a size, where the floors have less area than the dancers need."""
    said = sentence(words["suggestion"].replace("{unit}", unit))
    return f'IF(AND(suggested_width>0,ROUND(area_needed-area,6)>0),{said},"")'


def cautions(words: dict[str, str]) -> dict[str, str]:
    """The formula of each caution: its sentence where it applies, else nothing."""
    said = {key: sentence(words[key]) for key in CAUTIONS}
    return {f"caution_{key}": f'IF({condition},{said[key]},"")' for key, condition in CAUTIONS.items()}
