"""The workbook's arithmetic: the formula of every figure, as text made of defined names.

Written apart from `quotebook.engine` and never generated from it: tests hold the two against each
other by recalculating workbooks in spreadsheet engines. Rules that the measurements force:

- every money line is ROUND(ROUND(x,6),minor_units), every ROUNDUP and INT works on a ROUND(x,6);
- a client's number is read through SUM(), which counts text and blanks as nothing in every
  program, where `+` would give an error in one and a number in another;
- a row of a table is found by SUMPRODUCT over whole columns, because MATCH takes `*` and `?` in a client's
  entry for wildcards, and one engine finds nothing by it in a table of a single row; inside SUMPRODUCT only
  operators work on arrays, because no function of an array there means the same in every program.

A `#` stands for the number of the floor line.
"""

from collections.abc import Sequence
from string import Formatter

from quotebook.contract.vocabulary import TABLE_COLUMNS, on_every_line, on_line
from quotebook.engine.model import LINES
from quotebook.engine.suggestion import MOST_A_SIDE

ACROSS = range(1, MOST_A_SIDE + 1)
"""The numbers of panels across that a suggestion considers."""


def money(amount: str) -> str:
    """A line of money, to the currency's minor units; of any workbook that has those in a cell of that name."""
    return f"ROUND(ROUND({amount},6),minor_units)"


def rounded_up(amount: str) -> str:
    """An amount up to the next whole number, of any workbook."""
    return f"ROUNDUP(ROUND({amount},6),0)"


WHOLE = ("panels", "all_panels", "blocks", "across", "along", "line", "cut_pieces")
"""Figures that sentences name and that are whole by how they are made."""


def in_words(number: str) -> str:
    """A number as a sentence says it: at most three decimals, and no 0 at their end.

    By FIXED, because one program joins a number to a text with up to 20 digits (9.1199999999999999999).
    """
    thousandths = f"ROUND(ROUND({number},6),3)"
    decimals = "+".join(f"({thousandths}<>ROUND({number},{places}))" for places in range(3))
    return f"FIXED({thousandths},{decimals},TRUE)"


def sentence(template: str, figure: str = "{}") -> str:
    """A sentence as a formula has it: the figures that it names in braces are joined in.

    `figure` is how a figure is called that is named so, such as `plan_{}`.
    """
    said = []
    for text, name, _, _ in Formatter().parse(template):
        said += [quoted(text)] if text else []
        called = figure.format(name)
        said += [f"FIXED({called},0,TRUE)" if name in WHOLE else in_words(called)] if name else []
    return "&".join(said)


def where(condition: str, amount: str) -> str:
    """An amount where a condition holds, 0 where it does not."""
    return f"IF({condition},{amount},0)"


def first_of(cases: Sequence[tuple[str, str]], otherwise: str) -> str:
    """What belongs to the first of some conditions that holds; `otherwise` where none does."""
    formula = otherwise
    for condition, value in reversed(cases):
        formula = f"IF({condition},{value},{formula})"
    return formula


def _in_range(entry: str, least: str) -> str:
    """A client's number, counted as nothing where it is out of range."""
    return f"IF(AND(SUM({entry}){least},SUM({entry})<=largest_entry),SUM({entry}),0)"


def _whole_in_range(entry: str, least: str) -> str:
    return f"IF(AND(SUM({entry}){least},SUM({entry})<=largest_entry,SUM({entry})=INT(SUM({entry}))),SUM({entry}),0)"


def _row_of(table: str, condition: str) -> str:
    """The row of a table, from 1, for which a condition on its columns holds; 0 where there is none."""
    first = TABLE_COLUMNS[table][0]
    return f"SUMPRODUCT({condition}*(ROW({first})-ROW({table}_heading)))"


def _in_row(column: str, row: str) -> str:
    """The number in a column of a table; SUM() counts a text there as nothing."""
    return where(f"{row}>0", f"SUM(INDEX({column},{row}))")


def _of_kind(column: str) -> str:
    return _in_row(f"kinds_{column}", "kind_row_#")


def _of_subfloor(column: str) -> str:
    return _in_row(f"subfloors_{column}", "subfloor_row_#")


def _sheets(width: str, length: str) -> str:
    across, along = rounded_up(f"floor_width_#/{width}"), rounded_up(f"floor_length_#/{length}")
    return where("AND(counted_#=1,laying_#=word_over_subfloor,sheet_width_#>0)", f"{across}*{along}")


def _cut(side: str) -> str:
    """Two pieces where the edging does not divide a side: one there, one on the side opposite."""
    return f"IF(ROUND({rounded_up(f'{side}/piece_#')}*piece_#-{side},6)>0,2,0)"


def _first_panel(side: str) -> str:
    """A side of the panel on the first line that has one of the card."""
    return first_of([(f"panel_width_{line}>0", f"{side}_{line}") for line in range(1, LINES + 1)], "0")


def _of_all(function: str, amounts: list[str]) -> str:
    """The least or the most of some amounts, in two halves, since one file format takes no more than 30 at once."""
    half = len(amounts) // 2
    return f"{function}({function}({','.join(amounts[:half])}),{function}({','.join(amounts[half:])}))"


def _candidates(across: int) -> dict[str, str]:
    """The formulas of the floor to consider for so many panels across: `engine.suggestion` says how it is scored."""
    width, length = f"{across}*suggested_panel_width", f"along_for_{across}*suggested_panel_length"
    most = f"MAX(panels_needed/{across},{width}/(1.5*suggested_panel_length))"
    fits = f"ROUND(MAX({width},{length})-MIN(longest_side,1.5*MIN({width},{length})),6)<=0"
    usable = f"AND(along_for_{across}>0,along_for_{across}<={MOST_A_SIDE},{fits})"
    score = f"{across}*along_for_{across}*10000+ROUND({width}+{length},6)"
    return {
        f"along_for_{across}": where("panels_needed>0", rounded_up(most)),
        f"score_for_{across}": f"IF({usable},{score},1000000000)",
    }


def over_lines(name: str) -> str:
    """The sum of a line's figure over all lines."""
    return f"SUM({','.join(on_every_line(name))})"


def quoted(text: str) -> str:
    """A text as a formula has it: at most 255 characters, as some programs take no more."""
    return '"' + text.replace('"', '""') + '"'


LINE = {
    "kind_row_#": where('panel_#<>""', _row_of("kinds", "(kinds_panel=panel_#)")),
    "panel_width_#": _of_kind("panel_width"),
    "panel_length_#": _of_kind("panel_length"),
    "thickness_#": _of_kind("thickness"),
    "panel_weight_#": _of_kind("panel_weight"),
    "rate_#": _of_kind("rate"),
    "panel_minutes_#": _of_kind("panel_minutes"),
    "panels_per_cart_#": _of_kind("panels_per_cart"),
    "piece_#": _of_kind("piece"),
    "piece_rate_#": _of_kind("piece_rate"),
    "corner_rate_#": _of_kind("corner_rate"),
    "piece_minutes_#": _of_kind("piece_minutes"),
    "piece_weight_#": _of_kind("piece_weight"),
    "corner_weight_#": _of_kind("corner_weight"),
    "free_#": _of_kind("free"),
    "reduced_tax_#": _of_kind("reduced_tax"),
    "laying_#": 'IF(kind_row_#=0,"",IF(surface_column=0,word_not_here,INDEX(kinds_layings,kind_row_#,surface_column)))',
    "subfloor_kind_#": 'IF(kind_row_#=0,"",INDEX(kinds_subfloor_kind,kind_row_#)&"")',
    "subfloor_row_#": where('subfloor_kind_#<>""', _row_of("subfloors", "(subfloors_subfloor_kind=subfloor_kind_#)")),
    "sheet_width_#": _of_subfloor("sheet_width"),
    "sheet_length_#": _of_subfloor("sheet_length"),
    "sheet_thickness_#": _of_subfloor("sheet_thickness"),
    "sheet_rate_#": _of_subfloor("sheet_rate"),
    "sheet_minutes_#": _of_subfloor("sheet_minutes"),
    "sheet_weight_#": _of_subfloor("sheet_weight"),
    "sheets_per_cart_#": _of_subfloor("sheets_per_cart"),
    "counted_#": (
        "IF(AND(panel_width_#>0,SUM(width_#)>0,SUM(width_#)<=longest_side,"
        "SUM(length_#)>0,SUM(length_#)<=longest_side),1,0)"
    ),
    "across_as_given_#": where("counted_#=1", rounded_up("width_#/panel_width_#")),
    "along_as_given_#": where("counted_#=1", rounded_up("length_#/panel_length_#")),
    "across_turned_#": where("counted_#=1", rounded_up("width_#/panel_length_#")),
    "along_turned_#": where("counted_#=1", rounded_up("length_#/panel_width_#")),
    "turned_#": "IF(across_turned_#*along_turned_#<across_as_given_#*along_as_given_#,1,0)",
    "across_#": "IF(turned_#=1,across_turned_#,across_as_given_#)",
    "along_#": "IF(turned_#=1,along_turned_#,along_as_given_#)",
    "panels_#": "across_#*along_#",
    "actual_width_#": "across_#*IF(turned_#=1,panel_length_#,panel_width_#)",
    "actual_length_#": "along_#*IF(turned_#=1,panel_width_#,panel_length_#)",
    "area_#": "actual_width_#*actual_length_#",
    "floor_width_#": where("counted_#=1", "MAX(0,ROUND(actual_width_#+SUM(joined_width_#),6))"),
    "floor_length_#": where("counted_#=1", "MAX(0,ROUND(actual_length_#+SUM(joined_length_#),6))"),
    "edging_fitted_#": "IF(AND(counted_#=1,edging_wanted_#=word_yes,piece_#>0),1,0)",
    "slot_pieces_#": where(
        "edging_fitted_#=1", f"{rounded_up('floor_width_#/piece_#')}+{rounded_up('floor_length_#/piece_#')}"
    ),
    "tongue_pieces_#": where(
        "edging_fitted_#=1", f"{rounded_up('floor_length_#/piece_#')}+{rounded_up('floor_width_#/piece_#')}"
    ),
    "edging_pieces_#": "slot_pieces_#+tongue_pieces_#",
    "cut_pieces_#": where("edging_fitted_#=1", f"{_cut('floor_width_#')}+{_cut('floor_length_#')}"),
    "corners_#": where("AND(floor_width_#>0,floor_length_#>0)", "4*edging_fitted_#"),
    "sheets_as_given_#": _sheets("sheet_width_#", "sheet_length_#"),
    "sheets_turned_#": _sheets("sheet_length_#", "sheet_width_#"),
    "sheets_#": "MIN(sheets_as_given_#,sheets_turned_#)",
    "edge_height_#": "thickness_#+IF(sheets_#>0,sheet_thickness_#,0)",
    "minutes_#": "panels_#*panel_minutes_#+sheets_#*sheet_minutes_#+(edging_pieces_#+corners_#)*piece_minutes_#",
    "carts_#": (
        where("panels_#>0", rounded_up("panels_#/panels_per_cart_#"))
        + "+"
        + where("sheets_#>0", rounded_up("sheets_#/sheets_per_cart_#"))
    ),
    "weight_#": (
        "panels_#*panel_weight_#+sheets_#*sheet_weight_#+edging_pieces_#*piece_weight_#+corners_#*corner_weight_#"
        "+carts_#*cart_weight"
    ),
    "hire_#": money("panels_#*rate_#*days_factor"),
    "edging_#": money("(edging_pieces_#*piece_rate_#+corners_#*corner_rate_#)*days_factor"),
    "subfloor_#": money("sheets_#*sheet_rate_#*days_factor"),
}

_REDUCED_GOODS = "+".join(
    f"IF(reduced_tax_{line}=1,hire_{line}+edging_{line}+subfloor_{line},0)" for line in range(1, LINES + 1)
)
"""The goods of the lines whose kind bears the reduced rate of tax, before discount."""

QUOTE = {
    "surface_column": "SUMPRODUCT((surfaces=surface)*(COLUMN(surfaces)-COLUMN(surfaces_heading)))",
    "days_counted": _whole_in_range("days", ">=1"),
    "miles_counted": _in_range("miles", ">0"),
    "flights_counted": _whole_in_range("flights", ">0"),
    "guests_counted": _whole_in_range("guests", ">0"),
    "day_factor_row": where(
        "days_counted>0",
        _row_of("day_factors", "(day_factors_hire_days<=days_counted)*(days_counted<=day_factors_last_day)"),
    ),
    "days_factor": _in_row("day_factors_hire_factor", "day_factor_row"),
    "dancers": rounded_up("guests_counted*dancers_share"),
    "area_needed": "dancers*MAX(area_per_dancer,crowding_area)",
    "panels": over_lines("panels_#"),
    "area": over_lines("area_#"),
    "weight": over_lines("weight_#"),
    "carts": over_lines("carts_#"),
    "standing_room": "INT(ROUND(area/crowding_area,6))",
    "trips": where("carts>0", f"MAX({rounded_up('(weight+tools_weight)/payload')},{rounded_up('carts/cart_places')})"),
    "setup_minutes": f"{over_lines('minutes_#')}+carts*(unload_minutes+flights_counted*flight_minutes)",
    "setup_hours": where("setup_minutes>0", f"MAX(minimum_hours,{rounded_up('setup_minutes/crew/15')}/4)"),
    "strike_minutes": "setup_minutes*strike_share",
    "strike_hours": where("setup_minutes>0", f"MAX(minimum_hours,{rounded_up('strike_minutes/crew/15')}/4)"),
    "labour": money("(setup_hours+strike_hours)*crew*hourly_rate"),
    "after_hours_charge": where("after_hours=word_yes", money("strike_hours*crew*hourly_rate*after_hours_share")),
    "delivery": money("trips*(base_charge+MAX(0,miles_counted-included_miles)*rate_per_mile)"),
    "goods": f"{over_lines('hire_#')}+{over_lines('edging_#')}+{over_lines('subfloor_#')}",
    "discount": money("goods*discount_share"),
    "minimum_order_charge": where("panels>0", money("MAX(0,minimum_order-(goods-discount))")),
    "waiver": where("waiver_taken=word_yes", money("(goods-discount)*waiver_share")),
    "goods_reduced": f"{_REDUCED_GOODS}-{money(f'({_REDUCED_GOODS})*discount_share')}",
    "taxable": (
        "IF(tax_on_goods=word_yes,goods-discount+minimum_order_charge-goods_reduced,0)"
        "+IF(AND(tax_on_delivery=word_yes,reduced_on_delivery<>word_yes),delivery,0)"
        "+IF(AND(tax_on_labour=word_yes,reduced_on_labour<>word_yes),labour+after_hours_charge,0)"
        "+IF(AND(tax_on_waiver=word_yes,reduced_on_waiver<>word_yes),waiver,0)"
    ),
    "taxable_reduced": (
        "IF(tax_on_goods=word_yes,goods_reduced,0)"
        "+IF(AND(tax_on_delivery=word_yes,reduced_on_delivery=word_yes),delivery,0)"
        "+IF(AND(tax_on_labour=word_yes,reduced_on_labour=word_yes),labour+after_hours_charge,0)"
        "+IF(AND(tax_on_waiver=word_yes,reduced_on_waiver=word_yes),waiver,0)"
    ),
    "tax_reduced": money("taxable_reduced*reduced_tax_rate/IF(prices_with_tax=word_yes,1+reduced_tax_rate,1)"),
    "tax": money("taxable*tax_rate/IF(prices_with_tax=word_yes,1+tax_rate,1)") + "+tax_reduced",
    "total": (
        "goods-discount+minimum_order_charge+waiver+delivery+labour+after_hours_charge"
        "+IF(prices_with_tax=word_yes,0,tax)"
    ),
    "deposit": money("total*deposit_share"),
    "balance": "total-deposit",
    "suggested_panel_width": _first_panel("panel_width"),
    "suggested_panel_length": _first_panel("panel_length"),
    "panels_needed": where(
        "AND(suggested_panel_width>0,area_needed>0)", "area_needed/(suggested_panel_width*suggested_panel_length)"
    ),
    "suggested_score": _of_all("MIN", [f"score_for_{across}" for across in ACROSS]),
    "suggested_across": where(
        "suggested_score<1000000000",
        _of_all("MAX", [f"IF(score_for_{across}=suggested_score,{across},0)" for across in ACROSS]),
    ),
    "suggested_along": where("suggested_across>0", "INT(ROUND(suggested_score/10000,6))/suggested_across"),
    "suggested_width": "MIN(suggested_across*suggested_panel_width,suggested_along*suggested_panel_length)",
    "suggested_length": "MAX(suggested_across*suggested_panel_width,suggested_along*suggested_panel_length)",
}

CANDIDATES = {name: formula for across in ACROSS for name, formula in _candidates(across).items()}
"""For each number of panels across: the fewest panels along that do, and the score of that floor."""

FORMULAS = {
    on_line(name, line): on_line(text, line) for line in range(1, LINES + 1) for name, text in LINE.items()
} | QUOTE | CANDIDATES  # fmt: skip
"""Every formula of the price and of the suggested size by its defined name, without the leading `=`."""
