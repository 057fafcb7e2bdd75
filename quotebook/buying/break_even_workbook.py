"""Writes the break-even workbook: two kinds for one floor, live, with the number of hires at which they cost the same.

Names end in the kind's number, and in the ground's where a figure rests on it: `panels_2_on_1` is what the second kind
takes on the first ground. The engine's counterpart is `break_even`; the formulas are written apart from it.
"""

from collections.abc import Sequence
from decimal import Decimal
from typing import BinaryIO, NamedTuple

from xlsxwriter.chart import Chart

from quotebook.buying.break_even import Crossing, FloorCosts, Terms, crossing, figure
from quotebook.buying.break_even_years import YEARS_SHEET, write_years
from quotebook.contract.formulas import money, rounded_up
from quotebook.contract.stamp import Content
from quotebook.drawing.charts import add_chart, cells, shades
from quotebook.drawing.owner_workbook import OwnerWorkbook
from quotebook.drawing.sheet_writer import SheetWriter
from quotebook.drawing.styles import INK
from quotebook.engine.model import OVER_SUBFLOOR, Firm, RateCard
from quotebook.engine.money import ZERO
from quotebook.engine.payback import LONGEST_LIFE

LABEL, UNIT, FIRST = 1, 2, 3
"""Columns, counted from 0: the words for a figure, its unit, and the first kind's figure."""
HEAD = 3
"""The row of a table's headings."""
POINTS = 20
"""Steps of the chart's axis of hires, from none to about twice those at the crossing."""
AXIS = 40
"""Hires on that axis where two floors have no crossing."""

OF_ALL = {
    "width": ("Width of the floor", "{length}", "places"),
    "length": ("Length of the floor", "{length}", "places"),
    "discount_rate": ("What the money would earn elsewhere", "a year", "share_1"),
    "resale_share": ("Resale after the life", "of what was paid", "share_0"),
    "crew_cost": ("Cost of one crew member", "{currency} an hour", "money"),
    "trip_cost": ("Cost of a trip, out and back, and again", "{currency}", "money"),
    "unload_minutes": ("To unload a cart", "person-minutes", "places"),
    "strike_share": ("Strike", "of set-up", "share_0"),
    "payload": ("Payload of the vehicle", "{weight}", "places"),
    "cart_places": ("Carts in the vehicle", "carts", "count"),
    "crew": ("People in the crew", "people", "count"),
    "hourly_rate": ("Rate of labour", "{currency} an hour", "money"),
    "minimum_hours": ("Minimum hours charged", "hours", "places"),
    "base_charge": ("Charge per trip", "{currency}", "money"),
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
    "piece_rate": ("Hire of a piece of edging", "{currency}", "money"),
    "corner_rate": ("Hire of a corner", "{currency}", "money"),
    "sheet_width": ("Subfloor sheet, width (0: none)", "{length}", "places"),
    "sheet_length": ("Subfloor sheet, length", "{length}", "places"),
    "sheet_price": ("Price of a sheet", "{currency}", "money"),
    "sheet_minutes": ("To lay a sheet", "person-minutes", "places"),
    "sheet_weight": ("Weight of a sheet", "{weight}", "places"),
    "sheets_per_cart": ("Sheets per cart", "sheets", "count"),
    "sheet_rate": ("Hire of a sheet", "{currency}", "money"),
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
    "trips": (
        "Trips", "trips", "count",
        f"MAX({rounded_up('(panels_@*panel_weight_#+sheets_@*sheet_weight_#)/payload')},{rounded_up('carts_@/cart_places')})",
    ),
    "crew_a_hire": ("Paid to the crew", "{currency} a hire", "money", money("person_minutes_@*crew_cost/60")),
    "trips_a_hire": ("Spent on trips", "{currency} a hire", "money", money("trips_@*trip_cost")),
    "spent_a_hire": ("Spent per hire", "{currency} a hire", "money", "crew_a_hire_@+trips_a_hire_@"),
    "goods": (
        "Charged for panels, edging and subfloor", "{currency} a day", "money",
        (f"{money('panels_@*rate_#')}+{money('edging_pieces_@*piece_rate_#+corners_@*corner_rate_#')}"
        f"+{money('sheets_@*sheet_rate_#')}"),
    ),
    "labour": (
        "Charged for labour", "{currency} a hire", "money",
        money(f"({_hours(_SETUP)}+{_hours(f'{_SETUP}*strike_share')})*crew*hourly_rate"),
    ),
    "delivery": ("Charged for delivery nearby", "{currency} a hire", "money", money("trips_@*base_charge")),
    "cost_a_year": (
        "Cost of a year of these hires", "{currency} a year", "money", "owning_a_year_@+hires_a_year*spent_a_hire_@",
    ),
    "hours_a_year": (
        "Work of a year of these hires", "person-hours a year", "places", "hires_a_year*person_minutes_@/60",
    ),
}  # fmt: skip
"""What each kind comes to on one ground: words, unit, how it is shown, and its formula."""


class Ground(NamedTuple):
    """Both kinds on one ground."""

    surface: str
    costs: tuple[FloorCosts, FloorCosts]


class Comparison(NamedTuple):
    """What the workbook is about."""

    card: RateCard
    sides: tuple[Decimal, Decimal]
    terms: Terms
    grounds: Sequence[Ground]
    hires_a_year: Decimal


def write_break_even(file: BinaryIO, comparison: Comparison) -> Content:
    """Write the workbook to `file`; returns the place, formula and cached value of every name in it."""
    card = comparison.card
    book = OwnerWorkbook(file, card.firm, int(card.rates.minor_units), "Break-even")
    book.styles.number_formats["places"] = "#,##0.00"
    for number, ground in enumerate(comparison.grounds, 1):
        _write_ground(book, comparison, number, ground)
    for number, ground in enumerate(comparison.grounds, 1):
        write_years(book, comparison.terms, comparison.hires_a_year, number, ground.surface, ground.costs)
    _write_assumptions(book, comparison)
    book.close()
    return book.content


def _on(formula: str, kind: int, ground: int) -> str:
    """A formula with the numbers of its kind and its ground: `#` is the kind's, `@` both."""
    return formula.replace("@", f"{kind}_on_{ground}").replace("#", str(kind))


def _units(firm: Firm, unit: str) -> str:
    length = firm.length_unit
    return unit.format(currency=firm.currency, length=length, weight={"ft": "lb", "m": "kg"}[length])


def _write_words(pen: SheetWriter, row: int, words: str, unit: str) -> None:
    pen.text(row, LABEL, words, "row")
    pen.text(row, UNIT, unit, "row_quiet")


def _write_headings(pen: SheetWriter, row: int, title: str, kinds: Sequence[str]) -> int:
    pen.text(row, LABEL, title, "column")
    pen.text(row, UNIT, "", "column")
    for column, kind in enumerate(kinds, FIRST):
        pen.text(row, column, kind, "column_right")
    return row + 1


def _write_ground(book: OwnerWorkbook, comparison: Comparison, number: int, ground: Ground) -> None:
    hint = "Change what is tinted, here and on Assumptions. Before tax; every year like the one before."
    title = f"On {ground.surface}"
    pen = book.sheet(title[:31], f"{title}: which floor costs less to own?", hint, (44, 20, 14, 14, 4, 13, 13, 13))
    kinds = [costs.kind.panel for costs in ground.costs]
    meeting = crossing(*ground.costs)
    _write_verdict(pen, HEAD, number, kinds, meeting)
    row = _write_headings(pen, HEAD + 2, "What is assumed on this ground", kinds)
    for name, (words, unit, shown) in OF_GROUND.items():
        _write_words(pen, row, words, unit)
        for kind, costs in enumerate(ground.costs, 1):
            value = _of_ground(costs)[name]
            pen.entry(_on(f"{name}_@", kind, number), row, FIRST + kind - 1, value, "entry_right", shown)
        row += 1
    if number == 1:
        _write_words(pen, row, "Hires", "a year")
        pen.entry("hires_a_year", row, FIRST, comparison.hires_a_year, "entry_right", "count")
        row += 1
    row = _write_headings(pen, row + 1, "What it comes to", kinds)
    for name, (words, unit, shown, formula) in RESULTS.items():
        _write_words(pen, row, words, _units(book.firm, unit))
        for kind, costs in enumerate(ground.costs, 1):
            own, value = _on(formula, kind, number), _value(name, costs, comparison.hires_a_year)
            pen.figure(_on(f"{name}_@", kind, number), row, FIRST + kind - 1, own, value, "row_figure", shown)
        row += 1
    pen.text(row, LABEL, f"Sheet {YEARS_SHEET.format(surface=ground.surface)} comes to the same year by year.", "quiet")
    _write_chart_table(book, pen, number, ground, meeting, row + 2)
    pen.sheet.insert_chart(row + 2, LABEL, _chart(book, number, kinds), {"x_scale": 0.72, "y_scale": 0.8})
    book.page(pen, landscape=False)


def _of_ground(costs: FloorCosts) -> dict[str, Decimal]:
    return {
        "edging_fitted": Decimal(int(costs.edging_wanted)),
        "over_subfloor": Decimal(int(costs.line.laying == OVER_SUBFLOOR)),
    }


def _value(name: str, costs: FloorCosts, hires: Decimal) -> Decimal:
    """The engine's value of a result."""
    if name == "cost_a_year":
        return costs.cost_a_year(hires)
    if name == "hours_a_year":
        return costs.hours_a_year(hires)
    return figure(costs, name)


def _write_verdict(pen: SheetWriter, row: int, ground: int, kinds: list[str], meeting: Crossing) -> None:
    """Write the answer in a sentence, and the number of hires that it speaks of."""
    one, other = f"1_on_{ground}", f"2_on_{ground}"
    more, saved = f"(owning_a_year_{one}-owning_a_year_{other})", f"(spent_a_hire_{other}-spent_a_hire_{one})"
    _write_words(pen, row + 1, "They cost the same at", "hires a year")
    formula = f'IF({more}*{saved}>0,ROUND({more}/{saved},6),"")'
    hires: Decimal | str = "" if meeting.hires is None else meeting.hires
    pen.figure(f"hires_on_{ground}", row + 1, FIRST, formula, hires, "row_figure", "places")
    above = f'IF({saved}>0,"{kinds[0]}","{kinds[1]}")'
    below = f'IF({saved}>0,"{kinds[1]}","{kinds[0]}")'
    always = f'IF(OR({more}<0,AND({more}=0,{saved}>=0)),"{kinds[0]}","{kinds[1]}")'
    crossed = (
        f'"From "&ROUNDUP(hires_on_{ground},0)&" such hires a year on "&{above}&" is the cheaper to own; below that "'
        f'&{below}&"."'
    )
    formula = f'IF({more}*{saved}>0,{crossed},{always}&" is the cheaper to own at any number of hires.")'
    pen.figure(f"verdict_on_{ground}", row, LABEL, formula, verdict(meeting), "strong", to=FIRST + 1)


def verdict(meeting: Crossing) -> str:
    """The answer in a sentence."""
    above, below = meeting.cheaper_above.kind.panel, meeting.cheaper_below.kind.panel
    if meeting.hires is None:
        return f"{above} is the cheaper to own at any number of hires."
    return f"From {meeting.hires_from} such hires a year on {above} is the cheaper to own; below that {below}."


def _write_chart_table(
    book: OwnerWorkbook, pen: SheetWriter, number: int, ground: Ground, meeting: Crossing, top: int
) -> None:
    """Write what the chart draws, beside it: hires a year and what each kind costs at so many, then the crossing."""
    column = FIRST + 3
    kinds = [costs.kind.panel for costs in ground.costs]
    for across, text in enumerate(("Hires a year", *kinds)):
        pen.text(top, column + across, text, "column_right")
    step = _step(meeting)
    formula = f'IF(hires_on_{number}="",{AXIS // POINTS},MAX(1,ROUND(2*hires_on_{number}/{POINTS},0)))'
    for point in range(POINTS + 1):
        row, hires = top + 1 + point, point * step
        own = f"{point}*{formula}"
        pen.figure(f"axis_{point}_on_{number}", row, column, own, hires, "row_figure", "count")
        for kind, costs in enumerate(ground.costs, 1):
            name = f"{kind}_on_{number}"
            own = f"owning_a_year_{name}+axis_{point}_on_{number}*spent_a_hire_{name}"
            value = costs.cost_a_year(hires)
            pen.figure(f"axis_cost_{point}_{name}", row, column + kind, own, value, "row_figure", "money")
    _write_crossing(pen, top + POINTS + 2, column, number, ground, meeting)


def _write_crossing(pen: SheetWriter, row: int, column: int, number: int, ground: Ground, meeting: Crossing) -> None:
    """Write the point that the chart marks; without a crossing it is where the first line begins."""
    formula = f'IF(hires_on_{number}="","No crossing","They cost the same")'
    words = "No crossing" if meeting.hires is None else "They cost the same"
    pen.figure(f"crossing_on_{number}", row, column, formula, words, "quiet", to=column + 2)
    hires = meeting.hires or ZERO
    formula = f'IF(hires_on_{number}="",0,hires_on_{number})'
    pen.figure(f"crossing_hires_on_{number}", row + 1, column, formula, hires, "row_figure", "places")
    name = f"1_on_{number}"
    formula = f"owning_a_year_{name}+crossing_hires_on_{number}*spent_a_hire_{name}"
    there = ground.costs[0].cost_a_year(hires)
    pen.figure(f"crossing_cost_on_{number}", row + 1, column + 1, formula, there, "row_figure", "money")


def _step(meeting: Crossing) -> Decimal:
    """Hires between two points of the chart's axis."""
    if meeting.hires is None:
        return Decimal(AXIS // POINTS)
    return Decimal(max(1, int((2 * meeting.hires / POINTS).to_integral_value("ROUND_HALF_UP"))))


def _chart(book: OwnerWorkbook, number: int, kinds: list[str]) -> Chart:
    """Cost a year against hires a year, with the crossing marked."""
    title = f"Cost a year against hires a year, {book.firm.currency}"
    chart = add_chart(book, {"type": "scatter", "subtype": "straight"}, title, "#,##0")
    axis = cells(book, f"axis_0_on_{number}", f"axis_{POINTS}_on_{number}")
    for kind, colour in enumerate(shades(book.styles.accent, len(kinds)), 1):
        values = cells(book, f"axis_cost_0_{kind}_on_{number}", f"axis_cost_{POINTS}_{kind}_on_{number}")
        line = {"color": colour, "width": 2}
        chart.add_series({"name": kinds[kind - 1], "categories": axis, "values": values, "line": line})
    chart.add_series(
        {
            "name": cells(book, f"crossing_on_{number}"),
            "categories": cells(book, f"crossing_hires_on_{number}"),
            "values": cells(book, f"crossing_cost_on_{number}"),
            "line": {"none": True},
            "marker": {"type": "diamond", "size": 10, "fill": {"color": INK}, "border": {"color": INK}},
        }
    )
    return chart


def _write_assumptions(book: OwnerWorkbook, comparison: Comparison) -> None:
    hint = "From the rate card. A subfloor is taken to last as long as the panels on it."
    pen = book.sheet("Assumptions", "Assumptions", hint, (44, 20, 14, 14))
    kinds = [costs.kind.panel for costs in comparison.grounds[0].costs]
    row = _write_headings(pen, HEAD, "The floor and the firm", ())
    given = vars(comparison.card.rates) | vars(comparison.terms)
    given |= dict(zip(("width", "length"), comparison.sides, strict=True))
    for name, (words, unit, shown) in OF_ALL.items():
        _write_words(pen, row, words, _units(book.firm, unit))
        pen.entry(name, row, FIRST, given[name], "entry_right", shown)
        row += 1
    row = _write_headings(pen, row + 1, "Each kind", kinds)
    for name, (words, unit, shown) in OF_KIND.items():
        _write_words(pen, row, words, _units(book.firm, unit))
        for kind, costs in enumerate(comparison.grounds[0].costs, 1):
            pen.entry(f"{name}_{kind}", row, FIRST + kind - 1, _of_kind(comparison, costs, name), "entry_right", shown)
        row += 1
    pen.text(row + 1, LABEL, "Decimal places", "quiet")
    pen.owner("minor_units", row + 1, FIRST, Decimal(book.minor_units), "quiet")
    book.page(pen, landscape=False)


def _of_kind(comparison: Comparison, costs: FloorCosts, name: str) -> Decimal:
    sheet = comparison.card.rates.subfloor(costs.kind.subfloor_kind)
    for record in (costs, costs.kind, costs.holding, *([sheet] if sheet else ())):
        if hasattr(record, name):
            found: Decimal = getattr(record, name)
            return found
    return ZERO
