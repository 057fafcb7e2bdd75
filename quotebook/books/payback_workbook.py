"""Writes the payback workbook: a plan for each kind that the owner can change, and what it comes to.

The first sheet has a column for each kind: its assumptions as entries, and the results below. Names
end in the kind's number: `rate_2` is the second kind's. Years and price ladder have their own sheets.
"""

from collections.abc import Sequence
from typing import BinaryIO

from xlsxwriter.utility import xl_range_abs

from quotebook.books.payback_years import add_balances_chart, write_headings, write_years
from quotebook.books.so_far import SoFar
from quotebook.books.so_far_sheet import write_so_far
from quotebook.contract.formulas import money, rounded_up
from quotebook.contract.stamp import Content
from quotebook.contract.vocabulary import on_line
from quotebook.drawing.owner_workbook import OwnerWorkbook
from quotebook.drawing.sheet_writer import SheetWriter
from quotebook.engine.model import Firm
from quotebook.engine.money import ZERO
from quotebook.engine.payback import DEPRECIATIONS, LONGEST_LIFE, STEPS, TAX_TABLES, Plan, Rung, payback, price_ladder

LABEL, UNIT, FIRST = 1, 2, 3
"""Columns of the first sheet, counted from 0: the words for a figure, its unit, and the first kind's figure."""
HEAD = 3
"""The row of a table's headings."""

ENTRIES = {
    "panels": ("Panels bought", "", "count"),
    "purchase_price": ("Price of one", "{currency}", "money"),
    "hires_a_month": ("Hires", "a month", "places"),
    "panels_a_hire": ("Panels", "a hire", "places"),
    "rate": ("Hire of one panel, net of discount", "{currency} a hire", "money"),
    "labour_a_hire": ("Labour charged", "{currency} a hire", "money"),
    "crew_hours_a_hire": ("Crew hours per hire, all people", "hours a hire", "places"),
    "crew_cost": ("Cost of one person", "{currency} an hour", "money"),
    "life_years": ("Life of the panels", f"whole years, to {LONGEST_LIFE}", "count"),
    "resale": ("Resale of them all after that", "{currency}", "money"),
    "discount_rate": ("What the money would earn elsewhere", "a year", "share_1"),
    "tax_share": ("Tax on profit", "of it", "share_1"),
    "depreciation": ("Written off by", "", ""),
}
"""What a plan assumes: the words for each figure, its unit, and how it is shown."""

BALANCES = (
    "Lines: for each kind of panel what it has earned so far less what it cost, year by year to the end of its life. "
    "The sheet Years has the same figures as a table."
)
"""What the chart shows, for those who have it read out."""

WHERE_EARNING = f'IF(net_a_hire_#>0,{rounded_up("{}/net_a_hire_#")},"")'

GUESS = "MAX(0,(SUM(earned_#)-cost_#)/(life_years_#*cost_#))"
"""The rate from which programs start to search: below the result if flows are level, so they approach from one side."""

RESULTS = {
    "cost": ("Cost", "{currency}", "money", money("panels_#*purchase_price_#")),
    "earned_a_hire": ("Earned by the panels", "{currency} a hire", "money", money("panels_a_hire_#*rate_#")),
    "crew_a_hire": ("Paid to the crew", "{currency} a hire", "money", money("crew_hours_a_hire_#*crew_cost_#")),
    "net_a_hire": ("Net per hire", "{currency}", "money", "earned_a_hire_#+labour_a_hire_#-crew_a_hire_#"),
    "net_a_month": ("Net per month", "{currency}", "money", money("hires_a_month_#*net_a_hire_#")),
    "net_a_year": ("Net per year", "{currency}", "money", "12*net_a_month_#"),
    "months_to_pay_back": (
        "Paid back after, tax paid", "months", "one_place", 'IF(MAX(balances_#)<0,"",ROUND(12*SUM(parts_#),6))',
    ),
    "break_even_hires": ("Hires until it is paid back, before tax", "hires", "count", WHERE_EARNING.format("cost_#")),
    "net_present_value": (
        "Net present value", "{currency}", "money", money("NPV(discount_rate_#,earned_#)-cost_#"),
    ),
    "internal_rate_of_return": (
        "Internal rate of return", "a year", "share_1",
        f'IF(MAX(balances_#)<0,"",IFERROR(ROUND(IRR(flows_#,{GUESS}),6),""))',
    ),
    "needed_a_year": (
        "Net needed per year to earn that rate, before tax", "{currency}", "money",
        money("-PMT(discount_rate_#,life_years_#,cost_#,-resale_#)"),
    ),
    "hires_needed_a_year": ("Hires that net as much", "a year", "count", WHERE_EARNING.format("needed_a_year_#")),
}  # fmt: skip
"""The results: the words for each figure, its unit, how it is shown, and its formula."""

OF_RUNG = {
    "rate": ("hire of one panel", "money", "rate_#*(1+step_{step})"),
    "net_a_hire": (
        "net per hire", "money",
        money("panels_a_hire_#*rate_#_step_{step}") + "+labour_a_hire_#-crew_a_hire_#",
    ),
    "net_a_year": (
        "net per year, hires as planned", "money", "12*" + money("hires_a_month_#*net_a_hire_#_step_{step}"),
    ),
    "hires_to_lose": (
        "hires a year that may be lost (if negative: must be won)", "count",
        'IF(net_a_hire_#_step_{step}>0,INT(ROUND(12*hires_a_month_#*(1-net_a_hire_#/net_a_hire_#_step_{step}),6)),"")',
    ),
}  # fmt: skip
"""The columns of the price ladder: the words for each figure, how it is shown, and its formula."""


def write_payback(
    file: BinaryIO, firm: Firm, minor_units: int, plans: list[Plan], earned: Sequence[SoFar] = ()
) -> Content:
    """Write the workbook to `file`; returns the place, formula and cached value of every name in it."""
    book = OwnerWorkbook(file, firm, minor_units, "Payback")
    if earned:
        write_so_far(book, earned)
    pen, row = _write_plans(book, plans)
    write_years(book, plans)
    shown = {"x_scale": 0.8, "y_scale": 0.8, "description": BALANCES}
    pen.sheet.insert_chart(row, LABEL, add_balances_chart(book, plans), shown)
    _write_ladder(book, plans)
    _write_tax_tables(book)
    book.close()
    return book.content


def _write_plans(book: OwnerWorkbook, plans: list[Plan]) -> tuple[SheetWriter, int]:
    """Write the sheet of plans; returns the sheet and the row for the chart below."""
    hint = "Change what is tinted. Each kind's hires are taken to be alike, and each year like the one before."
    pen = book.sheet("Payback", "Does each kind pay for itself?", hint, (44, 20, *(14,) * len(plans)))
    _write_answer(pen, plans, book.minor_units)
    row = _write_column_headings(pen, HEAD, "What is assumed", plans)
    for name, (words, unit, kind) in ENTRIES.items():
        _write_words(pen, row, words, unit.format(currency=book.firm.currency))
        for number, plan in enumerate(plans, 1):
            pen.entry(f"{name}_{number}", row, FIRST + number - 1, getattr(plan, name), "entry_right", kind)
            _validate(pen, name, row, FIRST + number - 1)
        row += 1
    row = _write_column_headings(pen, row + 1, "What it comes to", plans)
    figures = [payback(plan, book.minor_units) for plan in plans]
    for name, (words, unit, kind, formula) in RESULTS.items():
        _write_words(pen, row, words, unit.format(currency=book.firm.currency))
        for number, found in enumerate(figures, 1):
            value = "" if found[name] is None else found[name]
            own = on_line(formula, number)
            pen.figure(f"{name}_{number}", row, FIRST + number - 1, own, value, "row_figure", kind)
        row += 1
    pen.text(row + 1, LABEL, "A reminder, not advice: tax and the class of a panel are for your accountant.", "quiet")
    book.page(pen, landscape=False)
    book.count_in_minor_units()
    return pen, row + 3


def _write_answer(pen: SheetWriter, plans: list[Plan], minor_units: int) -> None:
    """Write how many of the kinds pay for themselves, and beside each kind without hires that it has none."""
    paid = sum(payback(plan, minor_units)["months_to_pay_back"] is not None for plan in plans)
    counted = "+".join(f'IF(months_to_pay_back_{number}="",0,1)' for number, _ in enumerate(plans, 1)) or "0"
    words = f" of {len(plans)} kinds of panel pay for themselves within their life."
    pen.mirror(HEAD - 1, LABEL, f'({counted})&"{words}"', f"{paid}{words}", "strong_shrunk", to=UNIT)
    for number, plan in enumerate(plans, 1):
        said = "" if plan.hires_a_month else NO_HIRES
        formula = f'IF(hires_a_month_{number}=0,"{NO_HIRES}","")'
        pen.mirror(HEAD - 1, FIRST + number - 1, formula, said, "warning_right")


NO_HIRES = "no hires"


def _write_column_headings(pen: SheetWriter, row: int, title: str, plans: list[Plan]) -> int:
    pen.text(row, LABEL, title, "column")
    pen.text(row, UNIT, "", "column")
    for column, plan in enumerate(plans, FIRST):
        pen.text(row, column, plan.kind, "column_right")
    return row + 1


def _write_words(pen: SheetWriter, row: int, words: str, unit: str) -> None:
    pen.text(row, LABEL, words, "row")
    pen.text(row, UNIT, unit, "row_quiet")


def _validate(pen: SheetWriter, name: str, row: int, column: int) -> None:
    """Let the program hint at what an entry should be. The formulas take any value."""
    rules = {
        "depreciation": {"validate": "list", "source": list(DEPRECIATIONS)},
        "life_years": {"validate": "integer", "criteria": "between", "minimum": 1, "maximum": LONGEST_LIFE},
    }
    rule = rules.get(name, {"validate": "decimal", "criteria": ">=", "value": 0})
    pen.sheet.data_validation(row, column, row, column, rule)


def _write_ladder(book: OwnerWorkbook, plans: list[Plan]) -> None:
    """Write a block for each kind, a row for each rate. The first block's steps are entries; the others follow."""
    hint = "At another rate, how many of a year's hires may be lost before it is worse than the plan."
    pen = book.sheet("Price ladder", "Price ladder", hint, (14, *(18,) * len(OF_RUNG)))
    row = 3
    for number, plan in enumerate(plans, 1):
        row = write_headings(pen, row, plan.kind, "Rate raised by", [words for words, _, _ in OF_RUNG.values()])
        for step, (share, rung) in enumerate(zip(STEPS, price_ladder(plan, book.minor_units), strict=True), 1):
            if number == 1:
                pen.entry(f"step_{step}", row, LABEL, share, "entry", "share_0")
            else:
                pen.mirror(row, LABEL, f"step_{step}", share, "row_left", "share_0")
            _write_rung(pen, row, number, step, rung)
            row += 1
        row += 1
    book.page(pen, landscape=False)


def _write_rung(pen: SheetWriter, row: int, number: int, step: int, rung: Rung) -> None:
    for column, (name, (_, kind, formula)) in enumerate(OF_RUNG.items(), 2):
        own, value = on_line(formula, number).format(step=step), getattr(rung, name)
        cell = f"{name}_{number}_step_{step}"
        pen.figure(cell, row, column, own, "" if value is None else value, "row_figure", kind)


def _write_tax_tables(book: OwnerWorkbook) -> None:
    hint = "Share of the cost written off each year, half-year convention (IRS Pub. 946, Table A-1)."
    pen = book.sheet("Tax tables", "Tax tables", hint, (8, *(16,) * len(TAX_TABLES)))
    pen.text(HEAD, LABEL, "Year", "column")
    pen.block("tax_table_names", HEAD, 2, [list(TAX_TABLES)], len(TAX_TABLES), "column_right")
    for year in range(1, LONGEST_LIFE + 1):
        pen.text(HEAD + year, LABEL, str(year), "row")
        for column, (number, table) in enumerate(enumerate(TAX_TABLES.values(), 1), 2):
            share = table[year - 1] if year <= len(table) else ZERO
            pen.owner(f"tax_table_{number}_year_{year}", HEAD + year, column, share, "row_figure", "share_2")
    area = xl_range_abs(HEAD + 1, 2, HEAD + LONGEST_LIFE, 1 + len(TAX_TABLES))
    book.book.define_name("tax_tables", f"='{pen.sheet.name}'!{area}")
    book.page(pen, landscape=False)
