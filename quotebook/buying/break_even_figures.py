"""What the break-even workbook assumes and works out: the words, unit, looks and formula of every figure.

Names end in the kind's number, and in the ground's where a figure rests on it: `panels_2_on_1` is what the second kind
takes on the first ground. In the formulas `#` is the kind's number and `@` both. The engine's counterpart is
`break_even`; the formulas are written apart from it.
"""

from quotebook.contract.formulas import money, rounded_up
from quotebook.engine.model import WEIGHT_UNITS, Firm
from quotebook.engine.payback import LONGEST_LIFE

OF_ALL = {
    "width": ("Width of the floor", "{length}", "places"),
    "length": ("Length of the floor", "{length}", "places"),
    "discount_rate": ("What the money would earn elsewhere", "a year", "share_1"),
    "resale_share": ("Resale after the life", "of what was paid", "share_0"),
    "crew_cost": ("Cost of one crew member", "{currency} an hour", "money"),
    "trip_cost": ("Cost of a trip, out and back, and again", "{currency}", "money"),
    "unload_minutes": ("To unload a cart", "person-minutes", "places"),
    "strike_share": ("Strike", "of set-up", "share_0"),
    "tools_weight": ("Weight of tools, on every trip", "{weight}", "places"),
    "cart_weight": ("Weight of an empty cart", "{weight}", "places"),
    "payload": ("Payload of the vehicle", "{weight}", "places"),
    "cart_places": ("Carts in the vehicle", "carts", "count"),
    "crew": ("People in the crew", "people", "count"),
    "hourly_rate": ("Rate of labour", "{currency} an hour", "money"),
    "minimum_hours": ("Minimum hours charged", "hours", "places"),
    "base_charge": ("Charge per trip", "{currency}", "money"),
    "labour_tax": ("Tax in the rate of labour", "of it without tax", "share_2"),
    "delivery_tax": ("Tax in the charge per trip", "of it without tax", "share_2"),
}
"""Assumptions about the floor and the firm: words, unit, and how each is shown."""

OF_KIND = {
    "panel_width": ("Panel, width", "{length}", "places"),
    "panel_length": ("Panel, length", "{length}", "places"),
    "purchase_price": ("Price of a panel", "{currency}", "money"),
    "life_years": ("Life of the panels", f"whole years, to {LONGEST_LIFE}", "count"),
    "panel_minutes": ("To lay a panel", "person-minutes", "places"),
    "panel_weight": ("Weight of a panel", "{weight}", "places"),
    "panels_per_cart": ("Panels per cart", "panels", "count"),
    "rate": ("Hire of a panel", "{currency}", "money"),
    "piece": ("Edging, length of a piece (0: none kept)", "{length}", "places"),
    "piece_price": ("Price of a piece of edging", "{currency}", "money"),
    "corner_price": ("Price of a corner", "{currency}", "money"),
    "piece_minutes": ("To fit a piece or a corner", "person-minutes", "places"),
    "piece_weight": ("Weight of a piece of edging", "{weight}", "places"),
    "corner_weight": ("Weight of a corner", "{weight}", "places"),
    "piece_rate": ("Hire of a piece of edging", "{currency}", "money"),
    "corner_rate": ("Hire of a corner", "{currency}", "money"),
    "sheet_width": ("Subfloor sheet, width (0: none)", "{length}", "places"),
    "sheet_length": ("Subfloor sheet, length", "{length}", "places"),
    "sheet_price": ("Price of a sheet", "{currency}", "money"),
    "sheet_minutes": ("To lay a sheet", "person-minutes", "places"),
    "sheet_weight": ("Weight of a sheet", "{weight}", "places"),
    "sheets_per_cart": ("Sheets per cart", "sheets", "count"),
    "sheet_rate": ("Hire of a sheet", "{currency}", "money"),
    "goods_tax": ("Tax in these hires", "of them without tax", "share_2"),
}
"""Assumptions about each kind."""

OF_GROUND = {
    "edging_fitted": ("Edging fitted (1 yes, 0 no)", "", "count"),
    "over_subfloor": ("Laid over a subfloor (1 yes, 0 no)", "", "count"),
}
"""Assumptions about each kind on one ground."""


def _grid(width: str, length: str) -> str:
    return f"{rounded_up(f'width/{width}')}*{rounded_up(f'length/{length}')}"


def _side(side: str, as_given: str, turned: str) -> str:
    """A side that whole panels cover, of length `as_given`, or `turned` where they lie a quarter turn round."""
    return f"IF(turned_@=1,{rounded_up(f'{side}/{turned}')}*{turned},{rounded_up(f'{side}/{as_given}')}*{as_given})"


def _sheets(one: str, other: str) -> str:
    return f"{rounded_up(f'actual_width_@/{one}')}*{rounded_up(f'actual_length_@/{other}')}"


def _hours(minutes: str) -> str:
    """Paid hours of each person, by the quarter hour."""
    return f"MAX(minimum_hours,{rounded_up(f'{minutes}/crew/15')}/4)"


_TWICE = f"({rounded_up('actual_width_@/piece_#')}+{rounded_up('actual_length_@/piece_#')})"
_SETUP = "setup_minutes_@"
_AS_GIVEN, _TURNED = _sheets("sheet_width_#", "sheet_length_#"), _sheets("sheet_length_#", "sheet_width_#")
_GOODS = (
    f"{money('panels_@*rate_#')}+{money('edging_pieces_@*piece_rate_#+corners_@*corner_rate_#')}"
    f"+{money('sheets_@*sheet_rate_#')}"
)
_LABOUR = money(f"({_hours(_SETUP)}+{_hours(f'{_SETUP}*strike_share')})*crew*hourly_rate")

RESULTS = {
    "turned": (
        "Panels laid a quarter turn round (1 yes, 0 no)", "", "count",
        f"IF({_grid('panel_length_#', 'panel_width_#')}<{_grid('panel_width_#', 'panel_length_#')},1,0)",
    ),
    "actual_width": ("Actual width", "{length}", "places", _side("width", "panel_width_#", "panel_length_#")),
    "actual_length": ("Actual length", "{length}", "places", _side("length", "panel_length_#", "panel_width_#")),
    "panels": (
        "Panels", "panels", "count",
        f"MIN({_grid('panel_width_#', 'panel_length_#')},{_grid('panel_length_#', 'panel_width_#')})",
    ),
    "edging_pieces": (
        "Edging", "pieces", "count", f"IF(AND(edging_fitted_@=1,piece_#>0),2*IFERROR({_TWICE},0),0)",
    ),
    "corners": ("Corners", "pieces", "count", "IF(AND(edging_fitted_@=1,piece_#>0),4,0)"),
    "sheets": (
        "Subfloor", "sheets", "count",
        f"IF(AND(over_subfloor_@=1,sheet_width_#>0),IFERROR(MIN({_AS_GIVEN},{_TURNED}),0),0)",
    ),
    "cost": (
        "To buy all that", "{currency}", "money",
        money(
            "panels_@*purchase_price_#+edging_pieces_@*piece_price_#+corners_@*corner_price_#+sheets_@*sheet_price_#"
        ),
    ),
    "owning_a_year": (
        "To own it", "{currency} a year", "money",
        money(f"-PMT(discount_rate,life_years_#,cost_@,-{money('cost_@*resale_share')})"),
    ),
    "setup_minutes": (
        "To set up", "person-minutes", "places",
        ("panels_@*panel_minutes_#+sheets_@*sheet_minutes_#+(edging_pieces_@+corners_@)*piece_minutes_#"
        "+carts_@*unload_minutes"),
    ),
    "person_minutes": ("To set up and strike", "person-minutes", "places", f"{_SETUP}*(1+strike_share)"),
    "carts": (
        "Carts", "carts", "count",
        f"{rounded_up('panels_@/panels_per_cart_#')}+IF(sheets_@>0,IFERROR({rounded_up('sheets_@/sheets_per_cart_#')},0),0)",
    ),
    "weight": (
        "Weight of all that, with its carts", "{weight}", "places",
        ("panels_@*panel_weight_#+sheets_@*sheet_weight_#+edging_pieces_@*piece_weight_#+corners_@*corner_weight_#"
        "+carts_@*cart_weight"),
    ),
    "trips": (
        "Trips", "trips", "count",
        f"MAX({rounded_up('(weight_@+tools_weight)/payload')},{rounded_up('carts_@/cart_places')})",
    ),
    "crew_a_hire": ("Paid to the crew", "{currency} a hire", "money", money("person_minutes_@*crew_cost/60")),
    "trips_a_hire": ("Spent on trips", "{currency} a hire", "money", money("trips_@*trip_cost")),
    "spent_a_hire": ("Spent per hire", "{currency} a hire", "money", "crew_a_hire_@+trips_a_hire_@"),
    "charged_for_goods": (
        "Charged for panels, edging and subfloor", "{currency} a day", "money", money(f"({_GOODS})/(1+goods_tax_#)"),
    ),
    "charged_for_labour": (
        "Charged for labour", "{currency} a hire", "money",
        money(f"{_LABOUR}/(1+labour_tax)"),
    ),
    "charged_for_delivery": (
        "Charged for delivery nearby", "{currency} a hire", "money",
        money(f"{money('trips_@*base_charge')}/(1+delivery_tax)"),
    ),
    "cost_a_year": (
        "Cost of a year of these hires", "{currency} a year", "money", "owning_a_year_@+hires_a_year*spent_a_hire_@",
    ),
    "hours_a_year": (
        "Work of a year of these hires", "person-hours a year", "places", "hires_a_year*person_minutes_@/60",
    ),
}  # fmt: skip
"""What each kind comes to on one ground: words, unit, how it is shown, and its formula."""


def on_ground(formula: str, kind: int, ground: int) -> str:
    """A formula with the numbers of its kind and its ground: `#` is the kind's, `@` both."""
    return formula.replace("@", f"{kind}_on_{ground}").replace("#", str(kind))


def in_units(firm: Firm, unit: str) -> str:
    """A unit with the firm's currency, length and weight filled in."""
    length = firm.length_unit
    return unit.format(currency=firm.currency, length=length, weight=WEIGHT_UNITS[length])
