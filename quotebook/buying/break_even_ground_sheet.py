"""Writes the break-even workbook's sheet of one ground: the answer, what it rests on, and the chart of both costs."""

from collections.abc import Sequence
from decimal import Decimal

from xlsxwriter.chart import Chart

from quotebook.buying.break_even import Comparison, Crossing, FloorCosts, Ground, crossing, figure
from quotebook.buying.break_even_figures import OF_GROUND, RESULTS, in_units, on_ground
from quotebook.buying.break_even_report import verdict
from quotebook.buying.break_even_years import YEARS_SHEET
from quotebook.drawing.charts import add_chart, cells, shades
from quotebook.drawing.owner_workbook import OwnerWorkbook
from quotebook.drawing.sheet_writer import SheetWriter
from quotebook.drawing.styles import INK
from quotebook.engine.model import OVER_SUBFLOOR
from quotebook.engine.money import ZERO

LABEL, UNIT, FIRST = 1, 2, 3
"""Columns, counted from 0: the words for a figure, its unit, and the first kind's figure."""
HEAD = 3
"""The row of a table's headings."""
POINTS = 20
"""Steps of the chart's axis of hires, from none to about twice those at the crossing."""
AXIS = 40
"""Hires on that axis where two floors have no crossing."""


def write_words(pen: SheetWriter, row: int, words: str, unit: str) -> None:
    """Write what a figure is, and its unit."""
    pen.text(row, LABEL, words, "row")
    pen.text(row, UNIT, unit, "row_quiet")


def write_headings(pen: SheetWriter, row: int, title: str, kinds: Sequence[str]) -> int:
    """Write a table's title and its kinds; returns the row below."""
    pen.text(row, LABEL, title, "column")
    pen.text(row, UNIT, "", "column")
    for column, kind in enumerate(kinds, FIRST):
        pen.text(row, column, kind, "column_right")
    return row + 1


def write_ground(book: OwnerWorkbook, comparison: Comparison, number: int, ground: Ground) -> None:
    """Write one ground's sheet: the answer, what is assumed there, what each kind comes to, and the chart."""
    hint = "Change what is tinted, here and on Assumptions. Before tax; every year like the one before."
    title = f"On {ground.surface}"
    pen = book.sheet(title[:31], f"{title}: which floor costs less to own?", hint, (44, 20, 14, 14, 4, 13, 13, 13))
    kinds = [costs.kind.panel for costs in ground.costs]
    meeting = crossing(*ground.costs)
    _write_verdict(pen, HEAD, number, kinds, meeting)
    row = write_headings(pen, HEAD + 2, "What is assumed on this ground", kinds)
    for name, (words, unit, shown) in OF_GROUND.items():
        write_words(pen, row, words, unit)
        for kind, costs in enumerate(ground.costs, 1):
            value = _of_ground(costs)[name]
            pen.entry(on_ground(f"{name}_@", kind, number), row, FIRST + kind - 1, value, "entry_right", shown)
        row += 1
    if number == 1:
        write_words(pen, row, "Hires", "a year")
        pen.entry("hires_a_year", row, FIRST, comparison.hires_a_year, "entry_right", "count")
        row += 1
    row = write_headings(pen, row + 1, "What it comes to", kinds)
    for name, (words, unit, shown, formula) in RESULTS.items():
        write_words(pen, row, words, in_units(book.firm, unit))
        for kind, costs in enumerate(ground.costs, 1):
            own, value = on_ground(formula, kind, number), _value(name, costs, comparison.hires_a_year)
            pen.figure(on_ground(f"{name}_@", kind, number), row, FIRST + kind - 1, own, value, "row_figure", shown)
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
    write_words(pen, row + 1, "They cost the same at", "hires a year")
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
