"""Commands for the end of a month: what each kind of panel earned, and whether it has paid for itself."""

from collections.abc import Iterable, Sequence
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import click

from quotebook.cli.options import (
    FILE,
    complain,
    desk_option,
    json_option,
    number_between,
    say,
    say_json,
    share_between_0_and_1,
)

if TYPE_CHECKING:
    from quotebook.books.payback_plans import Assumptions
    from quotebook.books.revenue import Revenue
    from quotebook.books.so_far import SoFar
    from quotebook.contract.local import Local
    from quotebook.desk import Desk
    from quotebook.engine.model import RateCard
    from quotebook.engine.payback import Plan
    from quotebook.ledger import Ledger


class PlannedHires(NamedTuple):
    """The hires that an owner plans for one kind of panel."""

    code: str
    hires_a_month: Decimal
    panels_a_hire: Decimal
    rate: Decimal | None
    """For one panel; None for the card's rate."""


AMOUNT = number_between(0, 1_000_000)


def planned_hires(text: str) -> PlannedHires:
    """The plan in an option's value, written CODE:HIRES:PANELS[:RATE]. Raises click.BadParameter."""
    code, *numbers = text.split(":")
    if len(numbers) not in (2, 3):
        raise click.BadParameter(f"{text!r}: write CODE:HIRES:PANELS or CODE:HIRES:PANELS:RATE")
    hires, panels, *rate = map(AMOUNT, numbers)
    return PlannedHires(code, hires, panels, rate[0] if rate else None)


@click.command(epilog="Example: quotebook revenue --from 2027-01 --to 2027-12 -o revenue.xlsx")
@desk_option
@click.option("--from", "first", required=True, metavar="YYYY-MM", help="The first month.")
@click.option("--to", "last", metavar="YYYY-MM", help="The last month.  [default: the first]")
@click.option(
    "--by",
    type=click.Choice(("event", "bill", "payment")),
    default="event",
    show_default=True,
    help="Count in the month of the event, of the bill, or of the payment.",
)
@click.option("--spread", is_flag=True, help="Spread delivery, labour, waiver and tax over the kinds.")
@click.option("--currency", metavar="CODE", help="Count only quotes in this currency.")
@click.option("--csv", "csv_file", type=FILE, metavar="FILE", help="Also write the table as CSV.")
@json_option
@click.option("-o", "output", type=FILE, metavar="FILE", help="Also write a workbook with live totals and charts.")
def revenue(
    desk: "Desk",
    first: str,
    last: str | None,
    by: str,
    spread: bool,
    currency: str | None,
    csv_file: Path | None,
    as_json: bool,
    output: Path | None,
) -> None:
    """Show what each kind of panel earned, month by month.

    A quote counts in the month of its event. Hire, edging and subfloor are net
    of discount and belong to the kind; cancelled quotes are left out. By bill
    and by payment the table has what was billed at each rate of tax, or paid.
    """
    from quotebook.bookings.archive import open_ledger
    from quotebook.books import revenue as books
    from quotebook.contract.local import local_for
    from quotebook.files import atomically

    first_day, last_day = books.month_days(first, last or first)
    ledger, card = open_ledger(desk), desk.card()
    if by != "event":
        if spread or output:
            raise click.UsageError("--spread and -o go with --by event")
        _takings(ledger, by, first_day, last_day, currency, csv_file, as_json, local_for(card.firm))
        return
    found = books.revenue(ledger, first_day, last_day, spread, currency, card.holdings)
    if csv_file:
        with atomically(csv_file) as path:
            path.write_text(books.to_csv(found), "utf-8-sig", newline="")
    if output:
        write_revenue_workbook(output, ledger, card, first_day, last_day, currency)
    if as_json:
        say_json(books.to_json(found))
    else:
        say_revenue(found, local_for(card.firm))


def _takings(
    ledger: "Ledger",
    by: str,
    first: date,
    last: date,
    currency: str | None,
    csv_file: Path | None,
    as_json: bool,
    local: "Local",
) -> None:
    from quotebook.books import takings
    from quotebook.files import atomically
    from quotebook.spreadsheets.csv_text import csv_of
    from quotebook.text_table import table

    found = (takings.billed if by == "bill" else takings.paid)(ledger, first, last, currency)
    headings, *rows = takings.rows_with_total(found)
    if csv_file:
        with atomically(csv_file) as path:
            path.write_text(csv_of([headings, *rows]), "utf-8-sig", newline="")
    if as_json:
        named = [dict(zip(map(str, headings), map(str, row), strict=True)) for row in rows]
        say_json({"currency": found.currency, "rows": named, "reconciled": found.reconciled})
        return
    for line in table([*map(str, headings)], _locally(([*map(str, row)] for row in rows), local)):
        say(line)
    say(takings.statement(found, local.amount))


def _locally(rows: Iterable[Sequence[str]], local: "Local") -> list[list[str]]:
    """The rows of a table of months, with the amounts after each month as the firm's country writes them."""
    return [[month, *(local.amount(Decimal(amount)) for amount in amounts)] for month, *amounts in rows]


def write_revenue_workbook(
    output: Path, ledger: "Ledger", card: "RateCard", first: date, last: date, currency: str | None = None
) -> None:
    """Write the revenue workbook for the days from `first` to `last` to a new file."""
    from quotebook.books.revenue_workbook import write_revenue
    from quotebook.books.sources import books
    from quotebook.files import atomically

    with atomically(output) as path, path.open("wb") as file:
        write_revenue(file, books(ledger, card, first, last, currency))


def say_revenue(found: "Revenue", local: "Local") -> None:
    """Print the table with a row of totals, and whether it sums to the agreed quotes."""
    from quotebook.books.revenue import rows_with_total, statement
    from quotebook.text_table import table

    headings, *rows = rows_with_total(found)
    for line in table(["Month", *headings[1:]], _locally(rows, local)):
        say(line)
    say(statement(found, local.amount))


@click.command(epilog="Example: quotebook payback --plan OAK-44:6:20 -o payback.xlsx")
@desk_option
@click.option("--from", "first", metavar="YYYY-MM", help="Earnings from this month on.  [default: a year before --to]")
@click.option("--to", "last", metavar="YYYY-MM", help="Earnings up to this month.  [default: this month]")
@click.option(
    "--plan",
    "plans",
    type=planned_hires,
    multiple=True,
    metavar="CODE:HIRES:PANELS[:RATE]",
    help="Plan these hires a month and panels per hire, instead of reading the ledger.",
)
@click.option("--crew-cost", type=AMOUNT, metavar="MONEY", help="What one crew member costs you per hour.")
@click.option(
    "--discount-rate",
    type=share_between_0_and_1,
    default="8",
    show_default=True,
    metavar="PERCENT",
    help="What your money could earn elsewhere, per year.",
)
@click.option("--tax", "tax_share", type=share_between_0_and_1, default="0", metavar="PERCENT", help="Tax on profit.")
@click.option("--depreciation", metavar="TABLE", help="straight line, 5-year table or 7-year table.")
@click.option(
    "--resale",
    type=share_between_0_and_1,
    default="0",
    metavar="PERCENT",
    help="Resale value after the life, of the price.",
)
@json_option
@click.option("-o", "output", type=FILE, metavar="FILE", help="Also write a workbook with live figures and charts.")
def payback(
    desk: "Desk",
    first: str | None,
    last: str | None,
    plans: tuple[PlannedHires, ...],
    crew_cost: Decimal | None,
    discount_rate: Decimal,
    tax_share: Decimal,
    depreciation: str | None,
    resale: Decimal,
    as_json: bool,
    output: Path | None,
) -> None:
    """Show whether each kind of panel has paid for itself.

    First what the ledger says since each was bought; then the projection.
    """
    from quotebook.books import so_far as books
    from quotebook.books.payback_plans import Assumptions, plan_by_hand, to_json
    from quotebook.contract.local import local_for
    from quotebook.engine.payback import DEPRECIATIONS, STRAIGHT_LINE

    if depreciation not in (None, *DEPRECIATIONS):
        raise click.UsageError(f"--depreciation {depreciation}: allowed are {', '.join(DEPRECIATIONS)}")
    card = desk.card()
    assumed = Assumptions(crew_cost, discount_rate, tax_share, depreciation or STRAIGHT_LINE, resale)
    made = [plan_by_hand(card, plan.code, plan.hires_a_month, plan.panels_a_hire, plan.rate, assumed) for plan in plans]
    counted = _months_counted(first, last)
    made = made or _plans_from_ledger(desk, card, *counted, assumed)
    minor_units = int(card.rates.minor_units)
    earned = [] if plans else _so_far(desk, card, last, assumed)
    if output:
        write_payback_workbook(output, card, made, earned)
    if as_json:
        of_plans = [to_json(plan, minor_units) for plan in made]
        kinds = [books.to_json(each) for each in earned]
        say_json({"currency": card.firm.currency, "so_far": kinds, "plans": of_plans})
    else:
        for line in books.say_so_far(earned, card.firm.currency, local_for(card.firm)):
            say(line)
        if earned:
            say("")
            say(f"The projection, if hires go on as they were from {counted[0]:%Y-%m} to {counted[1]:%Y-%m}. Hire and")
            say("labour are before sales tax; edging, subfloor, delivery and waiver are left out:")
        say_payback(made, minor_units, local_for(card.firm))


def _months_counted(first: str | None, last: str | None) -> tuple[date, date]:
    """The first and the last day of the months whose hires are taken to go on: a year, unless the owner says."""
    from quotebook.books.revenue import month_days

    last = last or f"{date.today():%Y-%m}"
    end = month_days(first or last, last)[1]
    start = month_days(first, last)[0] if first else date(end.year - (end.month < 12), end.month % 12 + 1, 1)
    return start, end


def _plans_from_ledger(desk: "Desk", card: "RateCard", start: date, end: date, assumed: "Assumptions") -> list["Plan"]:
    from quotebook.bookings.archive import open_ledger
    from quotebook.books.payback_plans import plans_from_ledger
    from quotebook.books.revenue import currencies

    ledger = open_ledger(desk)
    others = [currency for currency in currencies(ledger, start, end) if currency != card.firm.currency]
    if others:
        complain(f"Quotes in {' and '.join(others)} are left out: the rate card is in {card.firm.currency}.")
    return plans_from_ledger(ledger, card, start, end, assumed)


def _so_far(desk: "Desk", card: "RateCard", last: str | None, assumed: "Assumptions") -> list["SoFar"]:
    """What each kind has earned since it was bought, up to today or the end of the month `last` if that is named."""
    from quotebook.bookings.archive import open_ledger
    from quotebook.books.revenue import month_days
    from quotebook.books.so_far import so_far

    return so_far(open_ledger(desk), card, month_days(last, last)[1] if last else date.today(), assumed)


def write_payback_workbook(output: Path, card: "RateCard", plans: list["Plan"], earned: Sequence["SoFar"] = ()) -> None:
    """Write the payback workbook to a new file: what was earned so far, if anything is known of it, then the plans."""
    from quotebook.books.payback_workbook import write_payback
    from quotebook.files import atomically

    with atomically(output) as path, path.open("wb") as file:
        write_payback(file, card.firm, int(card.rates.minor_units), plans, earned)


PAYBACK_COLUMNS = {
    "Cost": "cost",
    "Net a month": "net_a_month",
    "Months": "months_to_pay_back",
    "Net present value": "net_present_value",
    "Return": "internal_rate_of_return",
    "Hires needed": "break_even_hires",
}
"""The table's headings, and the figure in each column."""


def say_payback(plans: list["Plan"], minor_units: int, local: "Local") -> None:
    """Print a row for each plan, with a dash for a figure that it does not have."""
    from quotebook.engine.payback import payback as work_out
    from quotebook.text_table import table

    rows = []
    for plan in plans:
        figures = work_out(plan, minor_units)
        shown = {name: local.amount(figure) for name, figure in figures.items() if figure is not None}
        if (rate := figures["internal_rate_of_return"]) is not None:
            shown["internal_rate_of_return"] = f"{local.amount(round(rate * 100, 1))} %"
        if (months := figures["months_to_pay_back"]) is not None:
            shown["months_to_pay_back"] = local.amount(round(months, 1))
        rows.append([plan.kind, *(shown.get(name, "-") for name in PAYBACK_COLUMNS.values())])
    for line in table(("Kind", *PAYBACK_COLUMNS), rows):
        say(line)
