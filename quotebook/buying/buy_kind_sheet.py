"""Writes the workbook's sheet of one kind: a row for each step, the redrawn seasons beside it, and the chart."""

from decimal import Decimal
from typing import TYPE_CHECKING

from xlsxwriter.utility import xl_range_abs

from quotebook.buying.answer import Answer
from quotebook.buying.buy_chart import BANDS, insert_chart
from quotebook.buying.purchases import KindSteps, Step
from quotebook.buying.redraws import Band
from quotebook.buying.report import sentence
from quotebook.contract.formulas import money
from quotebook.contract.vocabulary import on_line
from quotebook.drawing.charts import cells
from quotebook.drawing.owner_workbook import OwnerWorkbook
from quotebook.drawing.sheet_writer import SheetWriter

if TYPE_CHECKING:
    from quotebook.contract.values import CellValue

LABEL = 1
ENTRIES_ROW = 4
HEAD = 8

PLAYED = {
    "bought": ("bought", "count"), "served": ("served", "count"), "refused": ("refused", "count"),
    "short_of_other_than_panels": ("of them short of edging or sheets", "count"), "added": ("last step added", "count"),
    "more": ("more than now", "count"), "earned": ("earned", "money"), "crew_hours": ("hours of the crew", "places"),
}  # fmt: skip
"""Columns of figures that were played, after the panels owned."""

LIVE = {
    "crew_paid": ("paid to the crew", "money", money("crew_hours_#_{here}*crew_cost")),
    "gain": (
        "leaves more a year", "money",
        "ROUND((earned_#_{here}-crew_paid_#_{here})-(earned_#_step_0-crew_paid_#_step_0),6)",
    ),
    "cost": ("costs", "money", money("bought_#_{here}*price_#")),
    "value": (
        "net present value", "money", money("NPV(discount_rate,flows_#_{here})-cost_#_{here}"),
    ),
    "rate": (
        "internal rate of return", "share_0",
        'IF(month_#_{here}="","",IFERROR(ROUND(IRR(all_flows_#_{here},{guess}),6),""))',
    ),
    "month": ("months to pay back", "one_place", "{months}"),
    "last_month": ("the last step alone, months", "one_place", "{last_months}"),
}  # fmt: skip
"""Columns of money that follow: words, how each is shown, and its formula."""

GUESS = "MAX(0,(SUM(flows_#_{here})-cost_#_{here})/MAX(1,life_#*cost_#_{here}))"
"""The rate from which programs start to search, below the result where flows are level."""

NAMED = ("owned", "bought", "more", "gain", "cost", "value", "month", "last_month")
"""Columns with a name of their own, which is the figure's with an `s`."""


def _months(bought: str, cost: str, gain: str) -> str:
    """The formula for the months until level gains have made good a cost, resale with the last year's."""
    resale, before = money(f"{cost}*resale_share"), f"{cost}-{gain}*(life_#-1)"
    in_last = f'IF({before}<={gain}+{resale},ROUND(12*(life_#-1+({before})/({gain}+{resale})),6),"")'
    return f'IF({bought}=0,"",IF({before}<=0,ROUND(12*{cost}/{gain},6),IF({gain}+{resale}>0,{in_last},"")))'


def write_kind(book: OwnerWorkbook, answer: Answer, number: int, found: KindSteps) -> None:
    """Write one kind's sheet: its entries, its steps, and the chart of what they are worth."""
    kind, again = found.kind, answer.redrawn[number - 1].steps if answer.redrawn else ()
    hint = "What was played is printed plain; money follows what is tinted here and on Buy. Before tax."
    pen = book.sheet(kind.code, f"How many {kind.code}?", hint, (10, *(10,) * 15))
    pen.figure(f"said_{number}", 2, LABEL, f"answer_{number}", sentence(found, answer.question.name), "label")
    entries: tuple[tuple[str, str, CellValue, str], ...] = (
        ("price", f"Price of one panel, {book.firm.currency}", kind.price, "money"),
        ("life", "Life of the panels, whole years", Decimal(kind.life_years), "count"),
    )
    for down, (name, words, value, shown) in enumerate(entries):
        pen.text(ENTRIES_ROW + down, LABEL, words, "label")
        pen.entry(f"{name}_{number}", ENTRIES_ROW + down, LABEL + 5, value, "entry_right", shown)
    pen.text(ENTRIES_ROW, LABEL + 8, "Kind, and panels in a step", "label")
    pen.owner(f"code_{number}", ENTRIES_ROW, LABEL + 12, kind.code, "fact_right")
    pen.owner(f"step_{number}", ENTRIES_ROW, LABEL + 13, Decimal(kind.step), "fact_right", "count")
    formula = f"MATCH(MAX(values_{number}),values_{number},0)"
    book.helper(f"best_{number}", f"Best row of the table of {kind.code}", Decimal(found.best + 1), formula)
    _write_headings(pen)
    for place, step in enumerate(found.steps):
        _write_step(pen, number, place, step)
    _name_columns(book, number, len(found.steps))
    below = HEAD + len(found.steps) + 2
    if again:
        _write_band_headings(pen, below, answer.question.redraws)
        for place, bands in enumerate(again):
            owned, here = Decimal(found.steps[place].owned), f"{number}_step_{place}"
            _write_bands(pen, below + 2 + place, here, owned, bands["gain"], bands["net_present_value"])
    insert_chart(book, pen, answer, number, (below, LABEL + (8 if again else 0)))
    book.page(pen)


def _write_headings(pen: SheetWriter) -> None:
    pen.sheet.set_row(HEAD, 52)
    pen.text(HEAD, LABEL, "owned", "column_right")
    words = [*(words for words, _ in PLAYED.values()), *(words for words, _, _ in LIVE.values())]
    for column, text in enumerate(words, LABEL + 1):
        pen.text(HEAD, column, text, "column_right")


def _write_band_headings(pen: SheetWriter, row: int, redraws: int) -> None:
    pen.text(row, LABEL, f"The season drawn again {redraws} times", "heading", to=LABEL + 2 * len(BANDS))
    pen.sheet.set_row(row + 1, 40)
    pen.text(row + 1, LABEL, "owned", "column_right")
    for column, words in enumerate(BANDS.values(), LABEL + 1):
        pen.text(row + 1, column, f"{words}, more a year", "column_right")
        pen.text(row + 1, column + len(BANDS), f"{words}, present value", "column_right")


def _write_step(pen: SheetWriter, number: int, place: int, step: Step) -> None:
    row, here = HEAD + 1 + place, f"step_{place}"
    pen.owner(f"owned_{number}_{here}", row, LABEL, Decimal(step.owned), "row_figure", "count")
    for column, (name, (_, shown)) in enumerate(PLAYED.items(), LABEL + 1):
        value = Decimal(getattr(step, name))
        pen.owner(f"{name}_{number}_{here}", row, column, value, "row_figure", shown)
    values: dict[str, Decimal | None] = {
        "crew_paid": step.crew_paid, "gain": step.gain, "cost": step.cost, "value": step.worth.net_present_value,
        "rate": step.worth.internal_rate_of_return, "month": step.worth.months_to_pay_back,
        "last_month": step.last_step.months_to_pay_back,
    }  # fmt: skip
    for column, (name, (_, shown, formula)) in enumerate(LIVE.items(), LABEL + 1 + len(PLAYED)):
        own = _formula(formula, number, place)
        found = values[name]
        pen.figure(f"{name}_{number}_{here}", row, column, own, "" if found is None else found, "row_figure", shown)


def _formula(formula: str, number: int, place: int) -> str:
    here, before = f"step_{place}", f"step_{max(0, place - 1)}"
    months = _months(f"bought_#_{here}", f"cost_#_{here}", f"gain_#_{here}")
    last_cost = f"(cost_#_{here}-cost_#_{before})"
    last_months = _months(f"bought_#_{here}", last_cost, f"(gain_#_{here}-gain_#_{before})")
    filled = formula.replace("{guess}", GUESS).replace("{months}", months).replace("{last_months}", last_months)
    return on_line(filled.replace("{here}", here), number)


def _write_bands(pen: SheetWriter, row: int, here: str, owned: Decimal, gains: Band, values: Band) -> None:
    """Write the gains of the redrawn seasons as they were played, and what they are worth, live."""
    number = here.partition("_")[0]
    pen.mirror(row, LABEL, f"owned_{here}", owned, "row_figure", "count")
    annuity = f"IF(discount_rate=0,life_{number},(1-(1+discount_rate)^-life_{number})/discount_rate)"
    resale = f"{money(f'cost_{here}*resale_share')}/(1+discount_rate)^life_{number}"
    for band, (gain, value) in enumerate(zip(gains, values, strict=True), 1):
        pen.owner(f"gain_band_{band}_{here}", row, LABEL + band, gain, "row_figure", "money")
        own = money(f"gain_band_{band}_{here}*{annuity}+{resale}-cost_{here}")
        column = LABEL + len(BANDS) + band
        pen.figure(f"value_band_{band}_{here}", row, column, own, value, "row_figure", "money")


def _name_columns(book: OwnerWorkbook, number: int, steps: int) -> None:
    for name in NAMED:
        sheet, *area = cells(book, f"{name}_{number}_step_0", f"{name}_{number}_step_{steps - 1}")
        book.book.define_name(f"{name}s_{number}", f"='{sheet}'!{xl_range_abs(*area)}")
