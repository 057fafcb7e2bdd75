"""Writes the payback workbook's first sheets: what each kind has earned since it was bought, month by month.

What the ledger says is written as figures; what a crew member costs is an entry, and what is left follows from it.
Names end in the kind's number and the month's: `so_far_left_2_month_5`.
"""

from collections.abc import Sequence
from decimal import Decimal

from xlsxwriter.chart import Chart

from quotebook.books.so_far import Entry, SoFar
from quotebook.contract.local import Local, local_for
from quotebook.contract.values import serial_of_day
from quotebook.drawing.charts import X_AXIS, add_chart, cells, line_of, shades
from quotebook.drawing.owner_workbook import OwnerWorkbook
from quotebook.drawing.sheet_writer import SheetWriter

LABEL, FIRST = 1, 2
ANSWERS = 2
"""The row of the first kind's answer."""
CHART_ROWS = 20
CHART_ALTERNATIVE = (
    "Lines: for each kind of panel what it has earned since it was bought, less what it cost, month by month. The "
    "tables below have the same figures."
)
"""What the chart shows, for those who have it read out."""

OF_LEDGER = {
    "hires": ("hires", "count"), "hire": ("hire", "money"), "labour": ("labour", "money"),
    "crew_hours": ("crew hours", "places"), "lost": ("panels lost", "count"), "edging": ("edging", "money"),
    "subfloor": ("subfloor", "money"), "delivery": ("delivery", "money"),
}  # fmt: skip
"""Columns that the ledger fills: words, and how each is shown."""

LIVE = {
    "crew_paid": ("paid to the crew", "ROUND(ROUND(so_far_crew_hours_{here}*so_far_crew_cost,6),minor_units)"),
    "losses": ("losses, at cost", "ROUND(ROUND(so_far_lost_{here}*so_far_price_{kind},6),minor_units)"),
    "left": (
        "left", "so_far_hire_{here}+so_far_labour_{here}-so_far_crew_paid_{here}-so_far_losses_{here}",
    ),
    "balance": ("so far, less the cost", "ROUND({before}+so_far_left_{here},6)"),
}  # fmt: skip
"""Columns that follow: words and formula."""


def write_so_far(book: OwnerWorkbook, earned: Sequence[SoFar]) -> None:
    """Write a sheet with a block for each kind, and the chart of what they have earned less their cost."""
    local = local_for(book.firm)
    last = local.day(earned[0].last)
    hint = f"By the ledger, to {last}, before tax. Edging, subfloor and delivery are shown and not counted."
    pen = book.sheet("So far", "Has each kind paid for itself?", hint, (20, *(11,) * (len(OF_LEDGER) + len(LIVE))))
    for place, each in enumerate(earned, ANSWERS):
        pen.text(place, LABEL, f"{each.kind}: {_standing(each, local)}", "wrapped", to=LABEL + len(OF_LEDGER))
    cost = ANSWERS + len(earned) + 1
    pen.text(cost, LABEL, f"Cost of one person, {book.firm.currency} an hour", "label", to=LABEL + 2)
    pen.entry("so_far_crew_cost", cost, LABEL + 3, earned[0].crew_cost, "entry_right", "money")
    row = cost + 2 + CHART_ROWS
    for number, each in enumerate(earned, 1):
        row = _write_kind(pen, row, number, each, local) + 2
    pen.sheet.insert_chart(cost + 2, LABEL, _chart(book, earned), {"y_scale": 0.95, "description": CHART_ALTERNATIVE})
    book.page(pen, pages_tall=0)


def _write_kind(pen: SheetWriter, row: int, number: int, each: SoFar, local: Local) -> int:
    """Write one kind's months; returns the row after them."""
    pen.text(row, LABEL, each.kind, "heading", to=FIRST + len(OF_LEDGER) + len(LIVE) - 1)
    pen.text(row + 1, LABEL, "Price of one panel, and cost", "label", to=LABEL + 1)
    pen.owner(f"so_far_price_{number}", row + 1, LABEL + 2, each.price, "fact_right", "money")
    pen.owner(f"so_far_cost_{number}", row + 1, LABEL + 3, each.cost, "fact_right", "money")
    pen.text(row + 1, LABEL + 5, _standing(each, local), "label")
    pen.sheet.set_row(row + 2, 27)
    pen.text(row + 2, LABEL, "Month", "column")
    words = [*(words for words, _ in OF_LEDGER.values()), *(words for words, _ in LIVE.values())]
    for column, text in enumerate(words, FIRST):
        pen.text(row + 2, column, text, "column_right")
    balance = -each.cost
    for place, entry in enumerate(each.months, 1):
        balance += each.left(entry)
        _write_month(pen, row + 2 + place, f"{number}_month_{place}", each, entry, balance)
    return row + 3 + len(each.months)


def _standing(each: SoFar, local: Local) -> str:
    bought = f"Bought {local.day(each.bought_on)}."
    if not each.total.hires:
        return f"{bought} No hires yet."
    day = local.day(each.paid_off_on) if each.paid_off_on else ""
    if not each.to_earn:
        return f"{bought} Paid off on {day}."
    when = f"on {day} at the pace of twelve months" if day else "never, at the pace of the last twelve months"
    return f"{bought} Still to earn {local.amount(each.to_earn)}: paid off {when}."


def _write_month(pen: SheetWriter, row: int, here: str, each: SoFar, entry: Entry, balance: Decimal) -> None:
    pen.owner(f"so_far_{here}", row, LABEL, Decimal(serial_of_day(entry.day)), "row_left", "month")
    for column, (name, (_, shown)) in enumerate(OF_LEDGER.items(), FIRST):
        pen.owner(f"so_far_{name}_{here}", row, column, Decimal(getattr(entry, name)), "row_figure", shown)
    kind, _, place = here.partition("_month_")
    before = f"so_far_balance_{kind}_month_{int(place) - 1}" if int(place) > 1 else f"-so_far_cost_{kind}"
    values = (each.crew_paid(entry), each.losses(entry), each.left(entry), balance)
    for column, ((name, (_, formula)), value) in enumerate(
        zip(LIVE.items(), values, strict=True), FIRST + len(OF_LEDGER)
    ):
        own = formula.format(here=here, kind=kind, before=before)
        pen.figure(f"so_far_{name}_{here}", row, column, own, value, "row_figure", "money")


def _chart(book: OwnerWorkbook, earned: Sequence[SoFar]) -> Chart:
    """What each kind has earned less its cost, by month."""
    chart = add_chart(
        book,
        {"type": "scatter", "subtype": "straight"},
        f"Earned so far, less the cost, {book.firm.currency}",
        "#,##0",
        least=None,
    )
    for number, (each, colour) in enumerate(zip(earned, shades(book.styles.accent, len(earned)), strict=True), 1):
        first, last = f"{number}_month_1", f"{number}_month_{len(each.months)}"
        chart.add_series(
            {
                "name": each.kind,
                "categories": cells(book, f"so_far_{first}", f"so_far_{last}"),
                "values": cells(book, f"so_far_balance_{first}", f"so_far_balance_{last}"),
                **line_of(number, colour),
            }
        )
    chart.set_x_axis(X_AXIS | {"num_format": "mmm yy"})
    return chart
