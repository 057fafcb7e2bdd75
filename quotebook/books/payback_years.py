"""Writes the payback workbook's sheet of years: what each kind earns in a year, and what is paid back by then."""

from decimal import Decimal

from xlsxwriter.chart import Chart
from xlsxwriter.utility import xl_range_abs

from quotebook.contract.formulas import money
from quotebook.contract.vocabulary import on_line
from quotebook.drawing.charts import add_chart, cells, line_of, shades
from quotebook.drawing.owner_workbook import OwnerWorkbook
from quotebook.drawing.sheet_writer import SheetWriter
from quotebook.engine.money import ONE, ZERO
from quotebook.engine.payback import LONGEST_LIFE, STRAIGHT_LINE, Plan, Year, payback, years


def _in_life(amount: str) -> str:
    """The formula for an amount of money in the years of the panels' life, and 0 after it."""
    return f"IF({{year}}>life_years_#,0,{money(amount)})"


OF_YEAR = {
    "written_off": (
        "written off", "money",
        _in_life(
            f'IF(depreciation_#="{STRAIGHT_LINE}",SLN(cost_#,resale_#,life_years_#),'
            "cost_#*IFERROR(INDEX(tax_tables,{year},MATCH(depreciation_#,tax_table_names,0)),0))"
        ),
    ),
    "tax": (
        "tax", "money",
        _in_life(
            "(net_a_year_#-written_off_#_year_{year}"
            "+IF({year}=life_years_#,resale_#-cost_#+SUM(written_offs_#),0))*tax_share_#"
        ),
    ),
    "flow": (
        "earned, tax paid", "money",
        "IF({year}>life_years_#,0,net_a_year_#-tax_#_year_{year}+IF({year}=life_years_#,resale_#,0))",
    ),
    "balance": ("so far, less the cost", "money", "ROUND(balance_#_year_{before}+flow_#_year_{year},6)"),
    "part": (
        "part of it until paid back", "places",
        "IF(balance_#_year_{before}>=0,0,IF(balance_#_year_{year}>=0,-balance_#_year_{before}/flow_#_year_{year},1))",
    ),
}  # fmt: skip
"""The columns of a year: the words for each figure, how it is shown, and its formula."""

RANGES = {
    "written_offs": ("written_off", 1), "earned": ("flow", 1), "parts": ("part", 1), "flows": ("flow", 0),
    "balances": ("balance", 0),
}  # fmt: skip
"""Columns with a name of their own: the figure in each, and the year that it starts with."""


def write_headings(pen: SheetWriter, row: int, kind: str, label: str, words: list[str]) -> int:
    """Write the headings of one kind's block of rows; returns the row after them."""
    pen.text(row, 1, kind, "heading", to=1 + len(words))
    pen.sheet.set_row(row + 1, 40)
    pen.text(row + 1, 1, label, "column")
    for column, text in enumerate(words, 2):
        pen.text(row + 1, column, text, "column_right")
    return row + 2


def write_years(book: OwnerWorkbook, plans: list[Plan]) -> None:
    """Write a block for each kind, with a row for each year from the purchase in year 0 to the longest life."""
    hint = "Resale comes with the last year of the life, and what is not written off by then is a loss of that year."
    pen = book.sheet("Years", "Year by year", hint, (8, *(16,) * len(OF_YEAR)))
    row, breaks = 3, []
    for number, plan in enumerate(plans, 1):
        row = write_headings(pen, row, plan.kind, "Year", [words for words, _, _ in OF_YEAR.values()])
        row = _write_kind(pen, row, number, plan, book.minor_units) + 1
        _name_ranges(book, number)
        breaks.append(row)
    pen.sheet.set_h_pagebreaks(breaks[:-1])
    book.page(pen, pages_tall=0, landscape=False)


def _write_kind(pen: SheetWriter, row: int, number: int, plan: Plan, minor_units: int) -> int:
    cost = payback(plan, minor_units)["cost"] or ZERO
    before = Year(ZERO, ZERO, ZERO, -cost)
    pen.text(row, 1, "0", "row")
    for name in ("flow", "balance"):
        column = 2 + list(OF_YEAR).index(name)
        pen.figure(f"{name}_{number}_year_0", row, column, f"-cost_{number}", before.balance, "row_figure", "money")
    for year, found in enumerate(years(plan, minor_units), 1):
        pen.text(row + year, 1, str(year), "row")
        values = (*found, _part(before, found))
        for column, ((name, (_, kind, formula)), value) in enumerate(zip(OF_YEAR.items(), values, strict=True), 2):
            own = on_line(formula, number).format(year=year, before=year - 1)
            pen.figure(f"{name}_{number}_year_{year}", row + year, column, own, value, "row_figure", kind)
        before = found
    return row + LONGEST_LIFE + 1


def _part(before: Year, year: Year) -> Decimal:
    """The part of a year that passes until the cost is paid back: 0 if it is already, 1 if it is not in that year."""
    if before.balance >= 0:
        return ZERO
    return -before.balance / year.flow if year.balance >= 0 else ONE


def _name_ranges(book: OwnerWorkbook, number: int) -> None:
    for name, (figure, first) in RANGES.items():
        sheet, *area = cells(book, f"{figure}_{number}_year_{first}", f"{figure}_{number}_year_{LONGEST_LIFE}")
        book.book.define_name(f"{name}_{number}", f"={sheet}!{xl_range_abs(*area)}")


def add_balances_chart(book: OwnerWorkbook, plans: list[Plan]) -> Chart:
    """A chart of what each kind has earned less its cost, from the purchase to the end of its life."""
    title = f"Earned so far, less the cost, {book.firm.currency}"
    chart = add_chart(book, {"type": "line"}, title, "#,##0", least=None)
    for number, colour in enumerate(shades(book.styles.accent, len(plans)), 1):
        last_year = min(int(plans[number - 1].life_years), LONGEST_LIFE)
        values = cells(book, f"balance_{number}_year_0", f"balance_{number}_year_{last_year}")
        sheet, top, *_ = book.address_of(f"balance_{number}_year_0")
        chart.add_series(
            {
                "name": plans[number - 1].kind,
                "values": values,
                "categories": [sheet, top - 1, 1, top - 1 + LONGEST_LIFE, 1],
                **line_of(number, colour),
            }
        )
    return chart
