"""Writes the workbook's sheet of one kind: its price ladder, live, and its use by month and by weekday."""

from collections.abc import Sequence
from decimal import Decimal

from quotebook.buying.charge import Charges, KindCharge
from quotebook.buying.charge_report import sentence
from quotebook.buying.price_ladder import RUNGS, Rung, left, spent
from quotebook.buying.use import Use
from quotebook.contract.formulas import money
from quotebook.contract.vocabulary import on_line
from quotebook.drawing.owner_workbook import OwnerWorkbook
from quotebook.drawing.sheet_writer import SheetWriter

LABEL = 1
VALUE = 8
"""The column of what a ladder rests on."""
HEAD = 4

COUNTED = {
    "count": ("Hires with panels of this kind", "count"),
    "units": ("Panels they are charged for, times the factor of their days, less discount", "places"),
    "other": ("What they bring besides: edging, subfloor, other kinds, labour, delivery, {currency}", "money"),
    "crew_hours": ("Hours of the crew, all people", "places"),
    "trips": ("Trips with the vehicle", "count"),
}
"""What was counted: the words for each figure, and how it is shown."""

LIVE = {
    "crew_paid": ("Paid to the crew, {currency}", money("crew_hours_#*crew_cost")),
    "vehicle_paid": ("Paid for the vehicle, {currency}", money("trips_#*trip_cost")),
    "today": (
        "Left at today's price, {currency}",
        "ROUND(" + money("units_#*price_#") + "+other_#-crew_paid_#-vehicle_paid_#,6)",
    ),
}  # fmt: skip
"""Money that follows from it."""

WHERE_LEFT = 'IF(left_#_{rung}>0,{value},"")'

LADDER = {
    "change": ("change", "share_1", "ROUND({steps}*step,6)"),
    "price": ("a panel", "money", money("price_#*(1+change_#_{rung})")),
    "left": (
        "left when crew and vehicle are paid", "money",
        "ROUND(" + money("units_#*price_#_{rung}") + "+other_#-crew_paid_#-vehicle_paid_#,6)",
    ),
    "hires_to_lose": (
        "hires that may be lost (below 0: must be won)", "count",
        WHERE_LEFT.replace("{value}", "MIN(count_#,INT(ROUND(count_#*(1-today_#/left_#_{rung}),6)))"),
    ),
    "share_to_lose": (
        "of the hires", "share_1", WHERE_LEFT.replace("{value}", "MIN(1,ROUND(1-today_#/left_#_{rung},6))"),
    ),
}  # fmt: skip
"""The columns of the ladder: words, how each is shown, and its formula."""

USE = {
    "days": ("days", "count"), "panel_days": ("panel-days out", "count"), "share": ("of those owned", "share_0"),
    "sold_out": ("days sold out", "count"), "requests": ("requests", "count"), "hires": ("hires", "count"),
    "refused": ("refused", "count"), "beyond": ("panels beyond", "count"),
}  # fmt: skip
"""The columns of the tables of months and weekdays."""


def write_kind(book: OwnerWorkbook, found: Charges, number: int, each: KindCharge) -> None:
    """Write one kind's sheet."""
    use = each.use
    hint = "Change what is tinted, and the ladder follows. What was counted stays as it is: run quotebook charge."
    pen = book.sheet(use.kind, f"{use.kind}: what to charge", hint, (14, *(11,) * len(USE)))
    said = sentence(each, found)
    pen.text(2, LABEL, said, "wrapped", to=LABEL + len(USE))
    pen.fit(2, LABEL, said, "wrapped", to=LABEL + len(USE))
    row = _write_basis(pen, found, number, each)
    row = _write_ladder(pen, row + 1, number, each.ladder)
    row = _write_use(pen, row + 1, number, "month", (*use.months, use.season))
    _write_use(pen, row + 1, number, "weekday", use.weekdays)
    book.page(pen, landscape=False)


def _write_basis(pen: SheetWriter, found: Charges, number: int, each: KindCharge) -> int:
    """Write today's price, what was counted, and the money that follows from both. Returns the next row."""
    currency, hires, minor_units = found.card.firm.currency, each.hires, int(found.card.rates.minor_units)
    pen.text(HEAD, LABEL, f"Price of one panel today, for a hire that is charged once, {currency}", "label")
    pen.entry(f"price_{number}", HEAD, VALUE, hires.price, "entry_right", "money")
    row = HEAD
    for name, (words, shown) in COUNTED.items():
        row += 1
        pen.text(row, LABEL, words.format(currency=currency), "label")
        pen.owner(f"{name}_{number}", row, VALUE, Decimal(getattr(hires, name)), "fact_right", shown)
    money_of = spent(hires, found.terms.costs, minor_units)._asdict()
    money_of["today"] = left(hires, hires.price, found.terms.costs, minor_units)
    for name, (words, formula) in LIVE.items():
        row += 1
        pen.text(row, LABEL, words.format(currency=currency), "label")
        pen.figure(f"{name}_{number}", row, VALUE, on_line(formula, number), money_of[name], "figure", "money")
    return row + 1


def _write_ladder(pen: SheetWriter, row: int, number: int, ladder: Sequence[Rung]) -> int:
    """Write a row for each price. Returns the next row."""
    pen.sheet.set_row(row, 52)
    for column, (words, _, _) in enumerate(LADDER.values(), LABEL):
        pen.text(row, column, words, "column" if column == LABEL else "column_right")
    for place, (steps, rung) in enumerate(zip(RUNGS, ladder, strict=True), 1):
        row += 1
        here = f"rung_{place}"
        for column, (name, (_, shown, formula)) in enumerate(LADDER.items(), LABEL):
            own = on_line(formula.replace("{steps}", str(steps)).replace("{rung}", here), number)
            found = getattr(rung, name)
            value = "" if found is None else Decimal(found)
            style = "row_left" if column == LABEL else "row_figure"
            pen.figure(f"{name}_{number}_{here}", row, column, own, value, style, shown)
    return row + 1


def _write_use(pen: SheetWriter, row: int, number: int, group: str, uses: Sequence[Use]) -> int:
    """Write a row for each month, or each weekday, and for the season below the months. Returns the next row."""
    pen.sheet.set_row(row, 28)
    pen.text(row, LABEL, group.capitalize(), "column")
    for column, (words, _) in enumerate(USE.values(), LABEL + 1):
        pen.text(row, column, words, "column_right")
    for place, use in enumerate(uses, 1):
        row += 1
        pen.owner(f"{group}_{number}_{place}", row, LABEL, use.name, "row_left")
        for column, (name, (_, shown)) in enumerate(USE.items(), LABEL + 1):
            value = Decimal(getattr(use, name))
            pen.owner(f"{name}_{number}_{group}_{place}", row, column, value, "row_figure", shown)
    return row + 1
