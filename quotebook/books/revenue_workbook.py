"""Writes the revenue workbook: a row for every agreed line, and tables with formulas that an owner can follow.

Formulas read the columns of the sheets `Lines` and `Quotes` by name, such as `lines_hire`. Every cell
of a table has a name too, made of its column and its row: `goods_1_month_3` is what the first kind of
panel earned in the third month. Amounts are net of discount; charges for a whole quote are spread
over its lines. The first month is an entry: a change there moves the whole workbook to other months.
"""

from datetime import date
from decimal import Decimal
from typing import BinaryIO

from quotebook.books.revenue_charts import open_charts, write_charts
from quotebook.books.revenue_figures import RevenueTables, Row
from quotebook.books.revenue_rows import Books, Line, Quote, write_rows
from quotebook.contract.formulas import money
from quotebook.contract.stamp import Content
from quotebook.contract.values import serial_of_day
from quotebook.drawing.owner_workbook import OwnerWorkbook
from quotebook.drawing.sheet_writer import SheetWriter
from quotebook.engine.money import in_major_units
from quotebook.ledger.records import CHARGES

HEAD = 3
"""The row of a table's headings, counted from 0 as rows and columns are here."""
LABEL, FIRST = 1, 2
"""The columns of a row's label and of its first figure."""
BUSY_HEAD = HEAD + 2
"""The row of the headings on the sheet of panel-days, below the kinds and the panels owned."""
OF_KIND = {"panel_days": "count", "busy": "share_0", "goods_a_panel": "money"}
"""The figures of each kind on the sheet of panel-days, and how each is shown."""


def write_revenue(file: BinaryIO, books: Books) -> Content:
    """Write the workbook to `file`; returns the place, formula and cached value of every name in it."""
    tables = RevenueTables(books)
    book = OwnerWorkbook(file, books.firm, books.minor_units, f"Revenue {books.first:%Y-%m} to {books.last:%Y-%m}")
    charts = open_charts(book)
    _write_by_month(book, tables)
    _write_busy(book, tables)
    write_charts(book, tables, charts)
    write_rows(book, "lines", Line._fields, books.lines)
    write_rows(book, "quotes", Quote._fields, books.quotes)
    book.count_in_minor_units()
    book.close()
    return book.content


def _serial(day: date) -> Decimal:
    return Decimal(serial_of_day(day))


def _sum_formula(row: Row, amount: str, kind_number: int | None = None) -> str:
    """The formula for the sum of an amount over the lines in a row, or over those of one kind of panel."""
    of_kind = f"(lines_panel=kind_{kind_number})*" if kind_number else ""
    return f"SUMPRODUCT({of_kind}(lines_event_date>=start_{row.name})*(lines_event_date<before_{row.name})*{amount})"


def _write_by_month(book: OwnerWorkbook, tables: RevenueTables) -> None:
    hint = f"{tables.books.currency}, net of discount, by the first day of the event. Worked out from Lines and Quotes."
    pen = book.sheet("By month", book.title, hint, (20, *(13,) * len(tables.columns), 11, 11))
    headings = [f"kind_{number}" for number, _ in enumerate(tables.kinds, 1)]
    pen.text(HEAD, LABEL, "Month", "column")
    for column, (name, kind) in enumerate(zip(headings, tables.kinds, strict=True), FIRST):
        pen.owner(name, HEAD, column, kind, "column_right")
    for column, text in enumerate((*CHARGES, "total", "from", "before"), FIRST + len(tables.kinds)):
        pen.text(HEAD, column, text.capitalize(), "column_right")
    for place, row in enumerate(tables.months, HEAD + 1):
        _write_month(pen, tables, place, row)
    bottom = HEAD + len(tables.months) + 1
    _write_total(pen, tables, bottom)
    _write_years(pen, tables, bottom + 2)
    _write_reconciliation(pen, tables, bottom + 8)
    pen.sheet.freeze_panes(HEAD + 1, FIRST)
    book.page(pen)


def _write_month(pen: SheetWriter, tables: RevenueTables, place: int, row: Row) -> None:
    if row is tables.months[0]:
        pen.owner(f"start_{row.name}", place, LABEL, _serial(row.start), "entry", "month")
    else:
        before = tables.months[tables.months.index(row) - 1]
        pen.figure(f"start_{row.name}", place, LABEL, f"before_{before.name}", _serial(row.start), "row_left", "month")
    _write_sums(pen, tables, place, row)
    _write_bound(pen, tables, place, "before", row, f"DATE(YEAR(start_{row.name}),MONTH(start_{row.name})+1,1)")


def _write_sums(pen: SheetWriter, tables: RevenueTables, place: int, row: Row) -> None:
    """Write every column of one row, summed over the lines."""
    for column, name in enumerate(tables.columns[:-1], FIRST):
        is_kind = name not in CHARGES
        amount = "(lines_hire+lines_edging+lines_subfloor)" if is_kind else f"lines_{name}"
        formula = money(_sum_formula(row, amount, int(name.removeprefix("goods_")) if is_kind else None))
        cell = f"{name}_{row.name}"
        pen.figure(cell, place, column, formula, tables.figures[cell], "row_figure", "money")
    across = ",".join(f"{name}_{row.name}" for name in tables.columns[:-1])
    total = f"total_{row.name}"
    column = FIRST + len(tables.columns) - 1
    pen.figure(total, place, column, f"SUM({across})", tables.figures[total], "row_figure", "money")


def _write_bound(pen: SheetWriter, tables: RevenueTables, place: int, which: str, row: Row, formula: str) -> None:
    column = FIRST + len(tables.columns) + ("start", "before").index(which)
    pen.figure(f"{which}_{row.name}", place, column, formula, _serial(getattr(row, which)), "row_quiet", "date")


def _write_total(pen: SheetWriter, tables: RevenueTables, place: int) -> None:
    pen.text(place, LABEL, "Total", "total_label")
    for column, name in enumerate(tables.columns, FIRST):
        down = ",".join(f"{name}_{row.name}" for row in tables.months)
        total = f"{name}_period"
        pen.figure(total, place, column, f"SUM({down})", tables.figures[total], "total", "money")


def _write_years(pen: SheetWriter, tables: RevenueTables, place: int) -> None:
    """Write the year so far, the same part of the year before, and the change between them."""
    _, this_year, last_year = tables.spans
    last = tables.months[-1].name
    pen.text(place, LABEL, "Year to date", "heading", to=FIRST + len(tables.columns) - 1)
    bounds = {
        this_year: (f"DATE(YEAR(start_{last}),1,1)", f"before_{last}"),
        last_year: ("DATE(YEAR(start_this_year)-1,1,1)", "DATE(YEAR(before_this_year)-1,MONTH(before_this_year),1)"),
    }
    for down, (row, label) in enumerate(((this_year, "This year"), (last_year, "Last year, to then")), 1):
        pen.text(place + down, LABEL, label, "row")
        _write_sums(pen, tables, place + down, row)
        for which, formula in zip(("start", "before"), bounds[row], strict=True):
            _write_bound(pen, tables, place + down, which, row, formula)
    pen.text(place + 3, LABEL, "Change", "row")
    pen.text(place + 4, LABEL, "Change as a share", "row")
    for column, name in enumerate(tables.columns, FIRST):
        now, then = tables.figures[f"{name}_this_year"], tables.figures[f"{name}_last_year"]
        formula = f"{name}_this_year-{name}_last_year"
        pen.figure(f"{name}_change", place + 3, column, formula, now - then, "row_figure", "money")
        formula = f'IF({name}_last_year=0,"",{name}_change/{name}_last_year)'
        growth = (now - then) / then if then else ""
        pen.figure(f"{name}_growth", place + 4, column, formula, growth, "row_figure", "share_0")


def _write_reconciliation(pen: SheetWriter, tables: RevenueTables, place: int) -> None:
    pen.text(place, LABEL, "Reconciliation", "heading", to=FIRST + len(tables.columns) - 1)
    agreed = in_major_units(tables.agreed, tables.books.minor_units)
    total = tables.figures["total_period"]
    dates = f"(quotes_event_date>=start_month_1)*(quotes_event_date<before_{tables.months[-1].name})"
    yes, no = "Equal: the table has all of the agreed quotes.", "NOT EQUAL: the table and the agreed quotes differ."
    pen.text(place + 1, LABEL, "Sum of the table", "row")
    pen.mirror(place + 1, FIRST, "total_period", total, "row_figure", "money")
    pen.text(place + 2, LABEL, "Sum of the quotes", "row")
    pen.figure("agreed", place + 2, FIRST, money(f"SUMPRODUCT({dates}*quotes_total)"), agreed, "row_figure", "money")
    formula = f'IF(ROUND(total_period-agreed,6)=0,"{yes}","{no}")'
    pen.figure("reconciled", place + 3, LABEL, formula, yes if total == agreed else no, "label")


def _write_busy(book: OwnerWorkbook, tables: RevenueTables) -> None:
    """Write the sheet of panel-days: those hired, their share of those owned, and the goods for each panel owned."""
    hint = "Panel-days are panels times days of the event. Busy: their share of panels owned times days of the month."
    pen = book.sheet("How busy", "How busy the panels are", hint, (20, *(12,) * (3 * len(tables.kinds))))
    for number, kind in enumerate(tables.kinds, 1):
        column = FIRST + 3 * (number - 1)
        pen.mirror(HEAD, column, f"kind_{number}", kind, "heading", to=column + 2)
        pen.owner(f"owned_{number}", HEAD + 1, column, Decimal(tables.books.owned.get(kind, 0)), "entry_right", "count")
        for across, text in enumerate(("panel-days hired", "busy", "goods a panel owned")):
            pen.text(BUSY_HEAD, column + across, text, "column_right")
    pen.text(HEAD + 1, LABEL, "Panels owned", "label")
    pen.sheet.set_row(BUSY_HEAD, 27)
    pen.text(BUSY_HEAD, LABEL, "Month", "column")
    for place, row in enumerate(tables.months, BUSY_HEAD + 1):
        pen.mirror(place, LABEL, f"start_{row.name}", _serial(row.start), "row_left", "month")
        _write_busy_row(pen, tables, place, row, f"before_{row.name}-start_{row.name}", "row_figure")
    bottom = BUSY_HEAD + len(tables.months) + 1
    pen.text(bottom, LABEL, "All months", "total_label")
    days = f"before_{tables.months[-1].name}-start_month_1"
    _write_busy_row(pen, tables, bottom, tables.spans[0], days, "total")
    pen.sheet.freeze_panes(BUSY_HEAD + 1, FIRST)
    book.page(pen)


def _write_busy_row(pen: SheetWriter, tables: RevenueTables, place: int, row: Row, days: str, style: str) -> None:
    for number, _ in enumerate(tables.kinds, 1):
        names = [f"{name}_{number}_{row.name}" for name in OF_KIND]
        hired = _sum_formula(row, "lines_panels*lines_days", number)
        if row is tables.spans[0]:
            hired = "SUM(" + ",".join(f"panel_days_{number}_{month.name}" for month in tables.months) + ")"
        formulas = (
            hired,
            f"IF(owned_{number}=0,0,{names[0]}/(owned_{number}*({days})))",
            f"IF(owned_{number}=0,0,{money(f'goods_{number}_{row.name}/owned_{number}')})",
        )
        for across, (name, formula, kind) in enumerate(zip(names, formulas, OF_KIND.values(), strict=True)):
            pen.figure(name, place, FIRST + 3 * (number - 1) + across, formula, tables.figures[name], style, kind)
