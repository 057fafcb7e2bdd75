"""Writes the break-even workbook's tables of years, which come to the closed form by a plain sum."""

from decimal import Decimal

from xlsxwriter.utility import xl_range_abs

from quotebook.buying.break_even import FloorCosts, Terms, level_cost, years_of_costs
from quotebook.contract.formulas import money
from quotebook.drawing.charts import cells
from quotebook.drawing.owner_workbook import OwnerWorkbook
from quotebook.engine.money import ZERO
from quotebook.engine.payback import LONGEST_LIFE

YEARS_SHEET = "Years, {surface}"
HEAD = 3
BOTTOM = HEAD + 3 + LONGEST_LIFE
"""The row of the first sum."""
SUMS = ("All of it, today", "As equal amounts, a year", "By the closed form, a year", "Difference")


def write_years(
    book: OwnerWorkbook, terms: Terms, hires: Decimal, ground: int, surface: str, both: tuple[FloorCosts, FloorCosts]
) -> None:
    """Write what each kind takes in each year of its life on one ground, and the equal yearly amounts it comes to."""
    hint = "Year 0 is the purchase. A year's spending is worth less today by the owner's rate."
    title = YEARS_SHEET.format(surface=surface)
    pen = book.sheet(title, "Year by year", hint, (32, 14, 14, 14, 14))
    pen.text(HEAD + 1, 1, "Year", "column")
    for kind, costs in enumerate(both, 1):
        column, name = 2 * kind, f"{kind}_on_{ground}"
        pen.text(HEAD, column, costs.kind.panel, "heading", to=column + 1)
        for across, text in enumerate(("spent", "worth today")):
            pen.text(HEAD + 1, column + across, text, "column_right")
        years = years_of_costs(costs, hires, terms, book.minor_units)
        for year, found in enumerate(years):
            row = HEAD + 2 + year
            pen.text(row, 1, str(year), "row")
            own = f"cost_{name}" if not year else _spent(year).replace("@", name).replace("#", str(kind))
            pen.figure(f"spent_{name}_year_{year}", row, column, own, found.spent, "row_figure", "money")
            own = f"spent_{name}_year_{year}/(1+discount_rate)^{year}"
            pen.figure(f"worth_{name}_year_{year}", row, column + 1, own, found.worth, "row_figure", "money")
        sheet, *area = cells(book, f"worth_{name}_year_0", f"worth_{name}_year_{LONGEST_LIFE}")
        book.book.define_name(f"worths_{name}", f"='{sheet}'!{xl_range_abs(*area)}")
        level = level_cost(costs, years, terms, book.minor_units)
        closed = costs.cost_a_year(hires)
        sums = (
            (f"present_{name}", f"SUM(worths_{name})", sum((year.worth for year in years), ZERO)),
            (f"level_{name}", money(f"-PMT(discount_rate,life_years_{kind},present_{name})"), level),
            (f"closed_{name}", f"cost_a_year_{name}", closed),
            (f"difference_{name}", f"ROUND(level_{name}-closed_{name},6)", level - closed),
        )
        for down, (own_name, formula, value) in enumerate(sums):
            pen.figure(own_name, BOTTOM + down, column, formula, value, "row_figure", "money")
    for down, text in enumerate(SUMS):
        pen.text(BOTTOM + down, 1, text, "row")
    book.page(pen, landscape=False)


def _spent(year: int) -> str:
    resale = f"IF({year}=life_years_#,{money('cost_@*resale_share')},0)"
    return f"IF({year}>life_years_#,0,{money('hires_a_year*spent_a_hire_@')}-{resale})"
