"""The sheet Season of the desk book: what each kind of panel earned this year by month, beside last year."""

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import NamedTuple

from xlsxwriter.utility import xl_col_to_name

from quotebook.books.revenue import revenue, table
from quotebook.contract.values import serial_of_day
from quotebook.drawing.charts import FONT, X_AXIS, add_chart, shades
from quotebook.drawing.owner_workbook import OwnerWorkbook
from quotebook.drawing.sheet_writer import SheetWriter
from quotebook.drawing.styles import INK
from quotebook.engine.model import RateCard
from quotebook.engine.money import ZERO, in_major_units
from quotebook.ledger import Ledger
from quotebook.ledger.records import CHARGES

SHEET = "Season"
HEAD, FIRST_ROW, LABEL, FIRST = 3, 4, 1, 2
MONTHS = range(1, 13)


class Season(NamedTuple):
    """A year's revenue in one currency: for each kind and charge an amount for each of its months."""

    year: int
    kinds: Sequence[str]
    amounts: Mapping[str, Sequence[Decimal]]
    last_year: Sequence[Decimal]
    """The totals of the months of the year before."""


def season(ledger: Ledger, card: RateCard, year: int) -> Season:
    """The revenue of agreed quotes whose events start in a year, and its total by month in the year before.

    It is in the card's currency, and kinds have the codes that the card has.
    """
    currency, minor_units = card.firm.currency, int(card.rates.minor_units)

    def columns(of_year: int) -> dict[str, list[Decimal]]:
        days = date(of_year, 1, 1), date(of_year, 12, 31)
        frame = table(revenue(ledger, *days, currency=currency, on_card=card.holdings))
        return {str(name): [in_major_units(int(each), minor_units) for each in frame[name]] for name in frame.columns}

    now, before = columns(year), columns(year - 1)
    last_year = before.get("total", [ZERO] * 12)
    amounts = {name: each for name, each in now.items() if name != "total"}
    return Season(year, [name for name in amounts if name not in CHARGES], amounts, last_year)


def write_season(book: OwnerWorkbook, found: Season) -> None:
    """Write the table, with live sums, and its chart."""
    hint = f"{book.firm.currency}, agreed quotes by the first day of the event, goods net of discount."
    names = [*found.amounts]
    pen = book.sheet(SHEET, f"Season {found.year}", hint, (12, *(12,) * (len(names) + 2)))
    pen.text(HEAD, LABEL, "Month", "column")
    for column, heading in enumerate([*names, "total", f"total {found.year - 1}"], FIRST):
        text = heading if heading in found.kinds else heading.capitalize()
        pen.text(HEAD, column, text, "column_right")
    total, last = FIRST + len(names), xl_col_to_name(FIRST + len(names) - 1)
    for at, month in enumerate(MONTHS, FIRST_ROW):
        pen.text(at, LABEL, Decimal(serial_of_day(date(found.year, month, 1))), "row_left", kind="month")
        row = [found.amounts[name][month - 1] for name in names]
        for column, amount in enumerate(row, FIRST):
            pen.text(at, column, amount, "row_figure", kind="money")
        across = f"SUM({xl_col_to_name(FIRST)}{at + 1}:{last}{at + 1})" if names else "0"
        pen.mirror(at, total, across, sum(row, ZERO), "row_figure", "money")
        pen.text(at, total + 1, found.last_year[month - 1], "row_figure", kind="money")
    _write_totals(pen, found, names)
    pen.sheet.freeze_panes(FIRST_ROW, FIRST)
    _write_chart(book, pen, found, total)
    book.page(pen)


def _write_totals(pen: SheetWriter, found: Season, names: Sequence[str]) -> None:
    at = FIRST_ROW + len(MONTHS)
    pen.text(at, LABEL, "Year", "total_label")
    columns = [found.amounts[name] for name in names]
    whole = [sum(amounts, ZERO) for amounts in columns]
    for column, value in enumerate([*whole, sum(whole, ZERO), sum(found.last_year, ZERO)], FIRST):
        letter = xl_col_to_name(column)
        pen.mirror(at, column, f"SUM({letter}{FIRST_ROW + 1}:{letter}{at})", value, "total", "money")


def _write_chart(book: OwnerWorkbook, pen: SheetWriter, found: Season, total: int) -> None:
    """Draw the kinds of this year as columns upon each other, and last year's total as a line."""
    chart = add_chart(
        book, {"type": "column", "subtype": "stacked"}, f"Revenue by month, {book.firm.currency}", "#,##0"
    )
    rows = FIRST_ROW, FIRST_ROW + len(MONTHS) - 1
    categories = [SHEET, rows[0], LABEL, rows[1], LABEL]
    for place, colour in enumerate(shades(book.styles.accent, max(1, len(found.amounts))), FIRST):
        if place < total:
            chart.add_series({
                "name": [SHEET, HEAD, place], "categories": categories,
                "values": [SHEET, rows[0], place, rows[1], place], "fill": {"color": colour}, "gap": 60,
            })  # fmt: skip
    line = book.book.add_chart({"type": "line"})
    line.add_series({
        "name": [SHEET, HEAD, total + 1], "categories": categories,
        "values": [SHEET, rows[0], total + 1, rows[1], total + 1], "line": {"color": INK, "width": 2},
    })  # fmt: skip
    if found.amounts:
        chart.combine(line)
    else:
        chart = line
        chart.set_title({"name": f"Revenue by month, {book.firm.currency}", "name_font": FONT})
    chart.set_x_axis(X_AXIS | {"num_format": "mmm", "text_axis": True})
    pen.sheet.insert_chart(FIRST_ROW + len(MONTHS) + 2, 1, chart)
