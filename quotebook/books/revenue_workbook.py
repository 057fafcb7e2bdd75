"""The revenue workbook: a row for every agreed line, and tables over them by formulas that an owner can follow.

Formulas read the columns of the sheets `Lines` and `Quotes` by name (`lines_hire`). Every cell of a
table has a name too, made of its column and its row: `goods_1_month_3` is what the first kind of
panel earned in the third month. Amounts are net of discount; what was charged for a quote as a whole
is spread over its lines. The first month is an entry: another one there moves the whole workbook.
"""

from typing import BinaryIO

from quotebook.books.revenue_charts import write_charts
from quotebook.books.revenue_figures import Row, figures, months, spans
from quotebook.books.revenue_rows import Books, Line, Quote, write_rows
from quotebook.contract.formulas import money
from quotebook.contract.stamp import Content
from quotebook.contract.values import serial_of_day
from quotebook.drawing.owner_workbook import OwnerWorkbook
from quotebook.drawing.sheet_writer import SheetWriter
from quotebook.ledger.records import CHARGES, in_major_units

HEAD = 3
"""The row of a table's headings, counted from 0 as rows and columns are here."""
LABEL, FIRST = 1, 2
"""The columns of a row's label and of its first figure."""
BUSY_HEAD = HEAD + 2
"""The same row on the sheet of panel-days, below the kinds and what is owned of them."""
OF_KIND = {"panel_days": "count", "busy": "share_0", "goods_a_panel": "money"}
"""What that sheet shows of each kind."""


class Draft:
    """The books with their rows, columns and figures worked out, ready to be written sheet by sheet."""

    def __init__(self, books: Books):
        self.books = books
        self.kinds = list(dict.fromkeys([*books.owned, *(line.panel for line in books.lines)]))
        self.months = months(books.first, books.last)
        self.spans = spans(self.months)
        self.figures = figures(books, self.kinds, [*self.months, *self.spans])
        self.agreed = sum(quote.total for quote in books.quotes if books.first <= quote.event_date <= books.last)
        self.columns = [f"goods_{number}" for number, _ in enumerate(self.kinds, 1)] + [*CHARGES, "total"]


def write_revenue(file: BinaryIO, books: Books) -> Content:
    """Writes the workbook; returns the places, formulas and cached values of every name in it."""
    draft = Draft(books)
    book = OwnerWorkbook(file, books.firm, books.minor_units, f"Revenue {books.first:%Y-%m} to {books.last:%Y-%m}")
    _write_by_month(book, draft)
    _write_busy(book, draft)
    write_charts(book, draft)
    write_rows(book, "lines", Line, books.lines)
    write_rows(book, "quotes", Quote, books.quotes)
    book.close()
    return book.content


def _counted(row: Row, amount: str, number: str = "") -> str:
    """The sum of an amount over the lines of a row's days, and of one kind of panel if its number is given."""
    of_kind = f"(lines_panel=kind_{number})*" if number else ""
    return f"SUMPRODUCT({of_kind}(lines_event_date>=start_{row.name})*(lines_event_date<before_{row.name})*{amount})"


def _write_by_month(book: OwnerWorkbook, draft: Draft) -> None:
    hint = f"{draft.books.currency}, net of discount, by the first day of the event. Worked out from Lines and Quotes."
    pen = book.sheet("By month", book.title, hint, (20, *(13,) * len(draft.columns), 11, 11))
    headings = [f"kind_{number}" for number, _ in enumerate(draft.kinds, 1)]
    pen.text(HEAD, LABEL, "Month", "column")
    for column, (name, kind) in enumerate(zip(headings, draft.kinds, strict=True), FIRST):
        pen.owner(name, HEAD, column, kind, "column_right")
    for column, text in enumerate((*CHARGES, "total", "from", "before"), FIRST + len(draft.kinds)):
        pen.text(HEAD, column, text.capitalize(), "column_right")
    for place, row in enumerate(draft.months, HEAD + 1):
        _write_month(pen, draft, place, row)
    bottom = HEAD + len(draft.months) + 1
    _write_total(pen, draft, bottom)
    _write_years(pen, draft, bottom + 2)
    _write_reconciliation(pen, draft, bottom + 8)
    pen.sheet.freeze_panes(HEAD + 1, FIRST)
    book.page(pen)


def _write_month(pen: SheetWriter, draft: Draft, place: int, row: Row) -> None:
    if row is draft.months[0]:
        pen.owner(f"start_{row.name}", place, LABEL, serial_of_day(row.start), "entry", "month")
    else:
        before = draft.months[draft.months.index(row) - 1]
        pen.figure(
            f"start_{row.name}", place, LABEL, f"before_{before.name}", serial_of_day(row.start), "row_left", "month"
        )
    _write_sums(pen, draft, place, row)
    _write_bound(pen, draft, place, "before", row, f"DATE(YEAR(start_{row.name}),MONTH(start_{row.name})+1,1)")


def _write_sums(pen: SheetWriter, draft: Draft, place: int, row: Row) -> None:
    """Every column of one row, counted over the lines."""
    for column, name in enumerate(draft.columns[:-1], FIRST):
        is_kind = name not in CHARGES
        amount = "(lines_hire+lines_edging+lines_subfloor)" if is_kind else f"lines_{name}"
        formula = money(_counted(row, amount, name.removeprefix("goods_") if is_kind else ""))
        cell = f"{name}_{row.name}"
        pen.figure(cell, place, column, formula, draft.figures[cell], "row_figure", "money")
    across = ",".join(f"{name}_{row.name}" for name in draft.columns[:-1])
    total = f"total_{row.name}"
    column = FIRST + len(draft.columns) - 1
    pen.figure(total, place, column, f"SUM({across})", draft.figures[total], "row_figure", "money")


def _write_bound(pen: SheetWriter, draft: Draft, place: int, which: str, row: Row, formula: str) -> None:
    column = FIRST + len(draft.columns) + ("start", "before").index(which)
    pen.figure(f"{which}_{row.name}", place, column, formula, serial_of_day(getattr(row, which)), "row_quiet", "date")


def _write_total(pen: SheetWriter, draft: Draft, place: int) -> None:
    pen.text(place, LABEL, "Total", "total_label")
    for column, name in enumerate(draft.columns, FIRST):
        down = ",".join(f"{name}_{row.name}" for row in draft.months)
        total = f"{name}_period"
        pen.figure(total, place, column, f"SUM({down})", draft.figures[total], "total", "money")


def _write_years(pen: SheetWriter, draft: Draft, place: int) -> None:
    """The year so far beside the same months of the last one, and the change between them."""
    _, this_year, last_year = draft.spans
    last = draft.months[-1].name
    pen.text(place, LABEL, "Year to date", "heading", to=FIRST + len(draft.columns) - 1)
    bounds = {
        this_year: (f"DATE(YEAR(start_{last}),1,1)", f"before_{last}"),
        last_year: ("DATE(YEAR(start_this_year)-1,1,1)", "DATE(YEAR(before_this_year)-1,MONTH(before_this_year),1)"),
    }
    for down, (row, label) in enumerate(((this_year, "This year"), (last_year, "Last year, to then")), 1):
        pen.text(place + down, LABEL, label, "row")
        _write_sums(pen, draft, place + down, row)
        for which, formula in zip(("start", "before"), bounds[row], strict=True):
            _write_bound(pen, draft, place + down, which, row, formula)
    pen.text(place + 3, LABEL, "Change", "row")
    pen.text(place + 4, LABEL, "Change as a share", "row")
    for column, name in enumerate(draft.columns, FIRST):
        now, then = draft.figures[f"{name}_this_year"], draft.figures[f"{name}_last_year"]
        formula = f"{name}_this_year-{name}_last_year"
        pen.figure(f"{name}_change", place + 3, column, formula, now - then, "row_figure", "money")
        formula = f'IF({name}_last_year=0,"",{name}_change/{name}_last_year)'
        growth = (now - then) / then if then else ""
        pen.figure(f"{name}_growth", place + 4, column, formula, growth, "row_figure", "share_0")


def _write_reconciliation(pen: SheetWriter, draft: Draft, place: int) -> None:
    pen.text(place, LABEL, "Reconciliation", "heading", to=FIRST + len(draft.columns) - 1)
    agreed = in_major_units(draft.agreed, draft.books.minor_units)
    total = draft.figures["total_period"]
    dates = f"(quotes_event_date>=start_month_1)*(quotes_event_date<before_{draft.months[-1].name})"
    yes, no = "Equal: the table has all of the agreed quotes.", "NOT EQUAL: the table and the agreed quotes differ."
    pen.text(place + 1, LABEL, "Sum of the table", "row")
    pen.mirror(place + 1, FIRST, "total_period", total, "row_figure", "money")
    pen.text(place + 2, LABEL, "Sum of the quotes", "row")
    pen.figure("agreed", place + 2, FIRST, money(f"SUMPRODUCT({dates}*quotes_total)"), agreed, "row_figure", "money")
    formula = f'IF(ROUND(total_period-agreed,6)=0,"{yes}","{no}")'
    pen.figure("reconciled", place + 3, LABEL, formula, yes if total == agreed else no, "label")
    pen.text(place + 4, LABEL, "Decimal places", "quiet")
    pen.owner("minor_units", place + 4, FIRST, draft.books.minor_units, "quiet")


def _write_busy(book: OwnerWorkbook, draft: Draft) -> None:
    """Panel-days hired against those owned, and what each panel owned earned."""
    hint = "Panel-days are panels times days of the event. Busy: their share of panels owned times days of the month."
    pen = book.sheet("How busy", "How busy the panels are", hint, (20, *(12,) * (3 * len(draft.kinds))))
    for number, kind in enumerate(draft.kinds, 1):
        column = FIRST + 3 * (number - 1)
        pen.mirror(HEAD, column, f"kind_{number}", kind, "heading", to=column + 2)
        pen.owner(f"owned_{number}", HEAD + 1, column, draft.books.owned.get(kind, 0), "entry_right", "count")
        for across, text in enumerate(("panel-days hired", "busy", "goods a panel owned")):
            pen.text(BUSY_HEAD, column + across, text, "column_right")
    pen.text(HEAD + 1, LABEL, "Panels owned", "label")
    pen.sheet.set_row(BUSY_HEAD, 27)
    pen.text(BUSY_HEAD, LABEL, "Month", "column")
    for place, row in enumerate(draft.months, BUSY_HEAD + 1):
        pen.mirror(place, LABEL, f"start_{row.name}", serial_of_day(row.start), "row_left", "month")
        _write_busy_row(pen, draft, place, row, f"before_{row.name}-start_{row.name}", "row_figure")
    bottom = BUSY_HEAD + len(draft.months) + 1
    pen.text(bottom, LABEL, "All months", "total_label")
    days = f"before_{draft.months[-1].name}-start_month_1"
    _write_busy_row(pen, draft, bottom, draft.spans[0], days, "total")
    pen.sheet.freeze_panes(BUSY_HEAD + 1, FIRST)
    book.page(pen)


def _write_busy_row(pen: SheetWriter, draft: Draft, place: int, row: Row, days: str, style: str) -> None:
    for number, _ in enumerate(draft.kinds, 1):
        names = [f"{name}_{number}_{row.name}" for name in OF_KIND]
        hired = _counted(row, "lines_panels*lines_days", number)
        if row is draft.spans[0]:
            hired = "SUM(" + ",".join(f"panel_days_{number}_{month.name}" for month in draft.months) + ")"
        formulas = (
            hired,
            f"IF(owned_{number}=0,0,{names[0]}/(owned_{number}*({days})))",
            f"IF(owned_{number}=0,0,{money(f'goods_{number}_{row.name}/owned_{number}')})",
        )
        for across, (name, formula, kind) in enumerate(zip(names, formulas, OF_KIND.values(), strict=True)):
            pen.figure(name, place, FIRST + 3 * (number - 1) + across, formula, draft.figures[name], style, kind)
