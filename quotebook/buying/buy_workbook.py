"""Writes the workbook `buy`: the answer in sentences, a sheet for each kind with its steps, and what they rest on.

What was played is written as figures; the money that follows from it is live. Names end in the kind's number, and in
the step's: `gain_2_step_3` is what the third step of the second kind leaves more a year.
"""

from decimal import Decimal
from typing import BinaryIO

from quotebook.buying.answer import Answer
from quotebook.buying.buy_chart import ROWS, insert_chart
from quotebook.buying.buy_kind_sheet import write_kind
from quotebook.buying.buy_lists import write_busiest, write_requests
from quotebook.buying.buy_years import write_flows
from quotebook.buying.report import say_assumptions, say_purchase, sentence
from quotebook.contract.formulas import rounded_up
from quotebook.contract.stamp import Content
from quotebook.drawing.owner_workbook import OwnerWorkbook
from quotebook.drawing.sheet_writer import SheetWriter

LABEL, UNIT, FIRST, LAST = 1, 2, 3, 8
HEAD = 3

ASSUMPTIONS = {
    "crew_cost": ("Cost of one crew member", "{currency} an hour", "money"),
    "discount_rate": ("What the money would earn elsewhere", "a year", "share_1"),
    "resale_share": ("Resale after the life", "of the price", "share_0"),
}
"""What every kind's money rests on: the words for each, its unit, and how it is shown."""

SUMMARY = {
    "best_owned": ("Own", "count"), "best_bought": ("that is, buy", "count"), "best_cost": ("for", "money"),
    "best_more": ("more hires", "count"), "best_value": ("net present value", "money"),
    "best_month": ("months to pay back", "one_place"),
}  # fmt: skip
"""The columns of the first sheet's table, and how each is shown."""


def write_buy(file: BinaryIO, answer: Answer) -> Content:
    """Write the workbook to `file`; returns the place, formula and cached value of every name in it."""
    card = answer.card
    book = OwnerWorkbook(file, card.firm, int(card.rates.minor_units), f"What to buy for {answer.question.name}")
    pen = book.sheet("Buy", book.title, _hint(answer), (38, 16, *(13,) * (LAST - FIRST + 1)))
    pen.widths = [1.5, 38, 16, *(13.0,) * (LAST - FIRST + 1)]
    for number, found in enumerate(answer.kinds, 1):
        write_kind(book, answer, number, found)
    _write_front(book, pen, answer)
    write_flows(book, answer)
    write_busiest(book, answer)
    write_requests(book, answer)
    book.count_in_minor_units()
    book.close()
    return book.content


def _hint(answer: Answer) -> str:
    return (
        f"{len(answer.season)} requests. Change what is tinted, and the money follows. The season is not played again "
        "by that: run quotebook buy."
    )


def _write_front(book: OwnerWorkbook, pen: SheetWriter, answer: Answer) -> None:
    """Write the sentences, the best purchase, a row for each kind, the chart of the first to buy, what is assumed."""
    row = HEAD
    for number, found in enumerate(answer.kinds, 1):
        said = sentence(found, answer.question.name)
        pen.figure(f"answer_{number}", row, LABEL, _sentence(number, answer), said, "wrapped", to=LAST)
        pen.fit(row, LABEL, said + " " * 20, "wrapped", to=LAST)
        row += 1
    if answer.purchase:
        said = say_purchase(answer.purchase, answer)
        pen.text(row, LABEL, said, "wrapped", to=LAST)
        pen.fit(row, LABEL, said, "wrapped", to=LAST)
        row += 1
    row = _write_summary(book, pen, answer, row + 1)
    insert_chart(book, pen, answer, _first_to_buy(answer), (row + 1, LABEL))
    row = _write_assumptions(book, pen, answer, row + ROWS + 2)
    text = say_assumptions(answer)
    pen.text(row + 1, LABEL, text, "quiet_wrapped", to=LAST)
    pen.fit(row + 1, LABEL, text, "quiet_wrapped", to=LAST)
    book.page(pen)


def _first_to_buy(answer: Answer) -> int:
    """The number of the kind whose best purchase is worth most."""
    worth = [found.steps[found.best].worth.net_present_value for found in answer.kinds]
    return 1 + worth.index(max(worth))


def _write_assumptions(book: OwnerWorkbook, pen: SheetWriter, answer: Answer, row: int) -> int:
    pen.text(row, LABEL, "What is assumed", "column", to=FIRST)
    for name, (words, unit, shown) in ASSUMPTIONS.items():
        row += 1
        pen.text(row, LABEL, words, "row")
        pen.text(row, UNIT, unit.format(currency=book.firm.currency), "row_quiet")
        pen.entry(name, row, FIRST, getattr(answer.question.assumed, name), "entry_right", shown)
    return row + 1


def _write_summary(book: OwnerWorkbook, pen: SheetWriter, answer: Answer, row: int) -> int:
    """Write a row for each kind: the number of panels from which on another step no longer pays."""
    pen.text(row, LABEL, "From here on another step no longer pays", "column", to=UNIT)
    for column, (words, _) in enumerate(SUMMARY.values(), FIRST):
        pen.text(row, column, words, "column_right")
    for number, found in enumerate(answer.kinds, 1):
        row += 1
        best = found.steps[found.best]
        months = best.worth.months_to_pay_back
        values: dict[str, Decimal | str] = {
            "best_owned": Decimal(best.owned), "best_bought": Decimal(best.bought), "best_cost": best.cost,
            "best_more": Decimal(best.more), "best_value": best.worth.net_present_value,
            "best_month": "" if months is None else months,
        }  # fmt: skip
        pen.text(row, LABEL, found.kind.code, "row", to=UNIT)
        for column, (name, (_, shown)) in enumerate(SUMMARY.items(), FIRST):
            formula = f"INDEX({name.removeprefix('best_')}s_{number},best_{number})"
            pen.figure(f"{name}_{number}", row, column, formula, values[name], "row_figure", shown)
    return row + 1


def _sentence(number: int, answer: Answer) -> str:
    """The formula of `report.sentence`, from the columns of a kind's steps; `best_#` is the place of the best one."""
    code, season, step = f"code_{number}", answer.question.name, f"step_{number}"
    last = answer.question.assumed.steps + 1
    best, following = f"best_{number}", f"MIN({last},best_{number}+1)"

    def of(column: str, place: str) -> str:
        return f"INDEX({column}s_{number},{place})"

    def pays(months: str) -> str:
        words = f'{rounded_up(months)}&IF({rounded_up(months)}=1," month"," months")'
        return f'IF({months}="","do not pay back in their life","pay back in "&{words})'

    def adds(place: str) -> str:
        hires = f'{of("more", place)}&IF({of("more", place)}=1," more hire"," more hires")&" in {season}"'
        none = f'"no more hires in {season} but left more,"'
        return f'{of("bought", place)}&" more "&{code}&" would have served "&IF({of("more", place)}<=0,{none},{hires})'

    months = of("last_month", following)
    words = f'{rounded_up(months)}&IF({rounded_up(months)}=1," month."," months.")'
    further = f'IF({months}="","would not pay back in their life.","only in "&{words})'
    none = f'"No more "&{code}&": "&{step}&" more would have served no more hires in {season}."'
    no_more = (
        f'IF({of("gain", following)}=0,{none},"No more "&{code}&": "&{adds(following)}&" and "&{pays(months)}&".")'
    )
    said = f'{adds(best)}&" and "&{pays(of("month", best))}'
    more = f'IF({best}={last},"; more than that was not looked at (--steps).","; a further "&{step}&" "&{further})'
    return f"IF({of('bought', best)}=0,{no_more},{said}&{more})"
