"""The sheet Money of the desk book: by month what is still due, what was paid, and what is overdue."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from xlsxwriter.utility import xl_range_abs

from quotebook.contract.local import local_for
from quotebook.contract.values import CellValue, serial_of_day
from quotebook.desk_books.book_data import BookData
from quotebook.drawing.owner_workbook import OwnerWorkbook
from quotebook.drawing.sheet_writer import SheetWriter
from quotebook.engine.money import ZERO, in_major_units

SHEET = "Money"
HEAD, FIRST_ROW = 3, 4
MONTHS = {"Month": "month", "Still due": "money", "Overdue": "money", "Paid": "money"}
DUES = {"Quote": "", "Client": "", "For": "", "Due on": "date", "Amount": "money"}
PAYMENTS = {"Quote": "", "Paid on": "date", "For": "", "Amount": "money"}
DUES_AT, PAYMENTS_AT = len(MONTHS) + 2, len(MONTHS) + len(DUES) + 3
"""The first columns of the two lists beside the table; an empty column stands before each."""


def write_money(book: OwnerWorkbook, data: BookData) -> None:
    """Write the sheet, in the card's currency alone: currencies are never added up."""
    currency = data.card.firm.currency
    dues = sorted(
        (due.due_on, row.quote.quote_number, row.quote.client, due.towards, due.amount)
        for row in data.quotes
        for due in row.account.dues
        if row.quote.currency == currency
    )
    paid = [
        (each.paid_on, each.quote_number, each.towards, in_major_units(each.amount, data.card.rates.minor_units))
        for each in data.payments
        if each.currency == currency
    ]
    today = local_for(data.card.firm).day(data.today)
    hint = f"{currency}. The months are worked out from the lists beside them; overdue is due before {today}."
    pen = book.sheet(SHEET, "Money", hint, (11, 13, 13, 13, 3, 9, 22, 10, 12, 12, 3, 9, 12, 10, 12))
    months = _months([day for day, *_ in dues] + [day for day, *_ in paid] or [data.today])
    _headings(pen, 1, MONTHS)
    _headings(pen, DUES_AT, DUES)
    _headings(pen, PAYMENTS_AT, PAYMENTS)
    for at, (due_on, number, client, towards, amount) in enumerate(dues, FIRST_ROW):
        _row(pen, at, DUES_AT, DUES, (number, client, towards, _serial(due_on), amount))
    for at, (paid_on, number, towards, amount) in enumerate(paid, FIRST_ROW):
        _row(pen, at, PAYMENTS_AT, PAYMENTS, (number, _serial(paid_on), towards, amount))
    last = FIRST_ROW + max(len(dues), len(paid), 1)
    for at, month in enumerate(months, FIRST_ROW):
        _month(pen, at, last, month, data.today, dues, paid)
    _totals(pen, FIRST_ROW + len(months), dues, paid, data.today)
    pen.sheet.freeze_panes(FIRST_ROW, 2)
    book.page(pen, pages_tall=0, repeat_row=HEAD)


def _headings(pen: SheetWriter, column: int, columns: dict[str, str]) -> None:
    for place, (heading, kind) in enumerate(columns.items(), column):
        pen.text(HEAD, place, heading, "column_right" if kind == "money" else "column")


def _row(pen: SheetWriter, at: int, column: int, columns: dict[str, str], values: Sequence[CellValue]) -> None:
    for place, (value, kind) in enumerate(zip(values, columns.values(), strict=True), column):
        pen.text(at, place, value, "row_figure" if kind == "money" else "row_left", kind=kind)


Dues = Sequence[tuple[date, str, str, str, Decimal]]
Paid = Sequence[tuple[date, str, str, Decimal]]


def _month(pen: SheetWriter, at: int, last: int, month: date, today: date, dues: Dues, paid: Paid) -> None:
    """Write one month: live sums over the lists."""
    pen.text(at, 1, _serial(month), "row_left", kind="month")
    row = at + 1
    due_on, due = (_column(DUES_AT, DUES, heading, last) for heading in ("Due on", "Amount"))
    paid_on, amount = (_column(PAYMENTS_AT, PAYMENTS, heading, last) for heading in ("Paid on", "Amount"))
    end = f"DATE(YEAR($B{row}),MONTH($B{row})+1,1)"
    within = f'">="&$B{row},{{days}},"<"&{end}'
    in_month = [each for each in dues if _same_month(each[0], month)]
    sums = (
        (f"SUMIFS({due},{due_on},{within.format(days=due_on)})", [each[-1] for each in in_month]),
        (
            f'SUMIFS({due},{due_on},{within.format(days=due_on)},{due_on},"<{serial_of_day(today)}")',
            [each[-1] for each in in_month if each[0] < today],
        ),
        (
            f"SUMIFS({amount},{paid_on},{within.format(days=paid_on)})",
            [each[-1] for each in paid if _same_month(each[0], month)],
        ),
    )
    for column, (formula, amounts) in enumerate(sums, 2):
        pen.mirror(at, column, formula, sum(amounts, ZERO), "row_figure", "money")


def _column(first: int, columns: dict[str, str], heading: str, last: int) -> str:
    """The cells of a column of a list, as a formula names them."""
    place = first + [*columns].index(heading)
    return str(xl_range_abs(FIRST_ROW, place, last, place))


def _totals(pen: SheetWriter, at: int, dues: Dues, paid: Paid, today: date) -> None:
    pen.text(at, 1, "All", "total_label")
    sums = ([each[-1] for each in dues], [each[-1] for each in dues if each[0] < today], [each[-1] for each in paid])
    for column, amounts in enumerate(sums, 2):
        letter = chr(ord("A") + column)
        pen.mirror(at, column, f"SUM({letter}{FIRST_ROW + 1}:{letter}{at})", sum(amounts, ZERO), "total", "money")


def _months(days: Sequence[date]) -> list[date]:
    """The first day of every month from the earliest day's to the latest's."""
    first, last = min(days), max(days)
    numbers = range(first.year * 12 + first.month - 1, last.year * 12 + last.month)
    return [date(number // 12, number % 12 + 1, 1) for number in numbers]


def _same_month(day: date, month: date) -> bool:
    return (day.year, day.month) == (month.year, month.month)


def _serial(day: date) -> Decimal:
    return Decimal(serial_of_day(day))
