"""Writes the workbook `charge`: what each kind's use was, in sentences and a chart, and a sheet with its price ladder.

What was counted is written as figures; the ladder is live. Names end in the kind's number, and in the rung's:
`left_2_rung_3` is what the second kind's hires leave on the third rung.
"""

from decimal import Decimal
from typing import BinaryIO

from xlsxwriter.chart import Chart

from quotebook.buying.charge import Charges
from quotebook.buying.charge_kind_sheet import write_kind
from quotebook.buying.charge_report import say_what_it_rests_on, sentence
from quotebook.contract.stamp import Content
from quotebook.drawing.charts import add_chart, cells, line_of, shades
from quotebook.drawing.owner_workbook import OwnerWorkbook
from quotebook.drawing.sheet_writer import SheetWriter

LABEL, UNIT, FIRST, LAST = 1, 2, 3, 8
HEAD = 3

ASSUMPTIONS = {
    "step": ("Step of the ladder", "of the price", "share_1"),
    "crew_cost": ("Cost of one crew member", "{currency} an hour", "money"),
    "trip_cost": ("Cost of one trip with the vehicle", "{currency}", "money"),
}
"""What every ladder rests on: the words for each, its unit, and how it is shown."""

SUMMARY = {
    "share": ("out, of its panel-days", "share_0"), "sold_out": ("days sold out", "count"),
    "requests": ("requests", "count"), "refused": ("refused", "count"), "beyond": ("panels beyond", "count"),
}  # fmt: skip
"""The columns of the first sheet's table that were counted, and how each is shown."""

CHART_ALTERNATIVE = (
    "Lines: the share of each kind's panel-days that was out in each month. The sheet of each kind has the same "
    "figures as a table."
)
"""What the chart shows, for those who have it read out."""


def write_charges(file: BinaryIO, found: Charges) -> Content:
    """Write the workbook to `file`; returns the place, formula and cached value of every name in it."""
    card = found.card
    book = OwnerWorkbook(file, card.firm, int(card.rates.minor_units), f"What to charge, {found.terms.name}")
    hint = "Change what is tinted here and on the sheets of the kinds, and the ladders follow. The price is yours."
    pen = book.sheet("Charge", book.title, hint, (34, 16, *(13,) * (LAST - FIRST + 1)))
    for number, each in enumerate(found.kinds, 1):
        write_kind(book, found, number, each)
    row = _write_sentences(pen, found)
    row = _write_assumptions(book, pen, found, row + 1)
    row = _write_summary(book, pen, found, row + 1)
    pen.sheet.insert_chart(row + 1, LABEL, _chart(book, found), {"description": CHART_ALTERNATIVE, "x_scale": 0.96})
    row += 22
    text = say_what_it_rests_on(found)
    pen.text(row, LABEL, text, "quiet_wrapped", to=LAST)
    pen.fit(row, LABEL, text, "quiet_wrapped", to=LAST)
    book.page(pen)
    book.count_in_minor_units()
    book.close()
    return book.content


def _write_sentences(pen: SheetWriter, found: Charges) -> int:
    row = HEAD
    for each in found.kinds:
        said = sentence(each, found)
        pen.text(row, LABEL, said, "wrapped", to=LAST)
        pen.fit(row, LABEL, said, "wrapped", to=LAST)
        row += 1
    return row


def _write_assumptions(book: OwnerWorkbook, pen: SheetWriter, found: Charges, row: int) -> int:
    terms = found.terms
    values = {"step": terms.step, "crew_cost": terms.costs.crew_cost, "trip_cost": terms.costs.trip_cost}
    pen.text(row, LABEL, "What is assumed", "column", to=FIRST)
    for name, (words, unit, shown) in ASSUMPTIONS.items():
        row += 1
        pen.text(row, LABEL, words, "row")
        pen.text(row, UNIT, unit.format(currency=book.firm.currency), "row_quiet")
        pen.entry(name, row, FIRST, values[name], "entry_right", shown)
    return row + 1


def _write_summary(book: OwnerWorkbook, pen: SheetWriter, found: Charges, row: int) -> int:
    """Write a row for each kind: what was counted, and what its hires leave at today's price."""
    pen.text(row, LABEL, f"In {found.terms.name}", "column", to=UNIT)
    for column, (words, _) in enumerate(SUMMARY.values(), FIRST):
        pen.text(row, column, words, "column_right")
    pen.text(row, LAST, f"left, {book.firm.currency}", "column_right")
    for number, each in enumerate(found.kinds, 1):
        row += 1
        pen.text(row, LABEL, each.use.kind, "row", to=UNIT)
        for column, (name, (_, shown)) in enumerate(SUMMARY.items(), FIRST):
            value = Decimal(getattr(each.use.season, name))
            pen.text(row, column, value, "row_figure", kind=shown)
        today = each.ladder[len(each.ladder) // 2].left
        pen.mirror(row, LAST, f"today_{number}", today, "row_figure", "money")
    return row + 1


def _chart(book: OwnerWorkbook, found: Charges) -> Chart:
    """The share of each kind that was out, month by month."""
    chart = add_chart(book, {"type": "line"}, "Share of its panel-days that was out, by month", "0%")
    colours = shades(book.styles.accent, len(found.kinds))
    for number, (each, colour) in enumerate(zip(found.kinds, colours, strict=True), 1):
        last = len(each.use.months)
        axis = cells(book, f"month_{number}_1", f"month_{number}_{last}")
        values = cells(book, f"share_{number}_month_1", f"share_{number}_month_{last}")
        chart.add_series({"name": each.use.kind, "categories": axis, "values": values, **line_of(number, colour)})
    return chart
