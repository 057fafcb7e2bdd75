"""Commands for the month's end: revenue and payback, and the safety of the ledger."""

from datetime import date

import click

from quotebook.cli.options import FILE, Number, complain, desk_option, json_option, say, say_json


class Planned(click.ParamType):
    """A panel's code, hires a month, panels a hire, and the rate of one where it is not the card's."""

    name = "CODE:HIRES:PANELS[:RATE]"

    def convert(self, value, param, context):
        if isinstance(value, tuple):
            return value
        code, *numbers = value.split(":")
        if len(numbers) not in (2, 3):
            self.fail(f"{value!r}: write CODE:HIRES:PANELS, and :RATE behind it or not", param, context)
        hires, panels, *rate = (AMOUNT.convert(number, param, context) for number in numbers)
        return code, hires, panels, rate[0] if rate else None


AMOUNT, PERCENT = Number(0, 1_000_000), Number(0, 100)


@click.command(epilog="Example: quotebook revenue --from 2027-01 --to 2027-12 -o revenue.xlsx")
@desk_option
@click.option("--from", "first", required=True, metavar="YYYY-MM", help="The first month.")
@click.option("--to", "last", metavar="YYYY-MM", help="The last month.  [default: the first]")
@click.option("--spread", is_flag=True, help="Spread delivery, labour, waiver and tax over the kinds.")
@click.option("--currency", metavar="CODE", help="Only this one, where quotes are in several.")
@click.option("--csv", "csv_file", type=FILE, metavar="FILE", help="Also the table as CSV.")
@json_option
@click.option("-o", "output", type=FILE, metavar="FILE", help="Also a workbook with live totals and charts.")
def revenue(desk, first, last, spread, currency, csv_file, as_json, output):
    """Show what each kind of panel earned, month by month.

    A month is that of the event. Hire, edging and subfloor are net of discount
    and go with the panel; what was cancelled is left out.
    """
    from quotebook.bookings import archive as keeping
    from quotebook.books import revenue as figures
    from quotebook.files import atomically

    days = figures.month_days(first, last or first)
    ledger = keeping.ledger_of(desk)
    found = figures.revenue(ledger, *days, spread, currency)
    if csv_file:
        with atomically(csv_file) as path:
            path.write_text(figures.to_csv(found), "utf-8-sig", newline="")
    if output:
        write_revenue_workbook(output, ledger, desk.card(), *days, currency)
    if as_json:
        say_json(figures.to_json(found))
    else:
        say_revenue(found)


def write_revenue_workbook(output, ledger, card, first, last, currency=None):
    from quotebook.books.revenue_workbook import write_revenue
    from quotebook.books.sources import books
    from quotebook.files import atomically

    with atomically(output) as path, open(path, "wb") as file:
        write_revenue(file, books(ledger, card, first, last, currency))


def say_revenue(found):
    """The table, and whether it sums to the quotes."""
    from quotebook.books import revenue as figures
    from quotebook.text_table import table

    frame = figures.table(found)
    frame.loc["total"] = frame.sum()
    rows = [[month, *(figures.shown(found, amount) for amount in amounts)] for month, *amounts in frame.itertuples()]
    for line in table(["Month", *map(str, frame.columns)], rows):
        say(line)
    say(figures.statement(found))


@click.command(epilog="Example: quotebook payback --plan OAK-44:6:20 -o payback.xlsx")
@desk_option
@click.option("--from", "first", metavar="YYYY-MM", help="Earnings from this month.  [default: a year]")
@click.option("--to", "last", metavar="YYYY-MM", help="To this month.  [default: now]")
@click.option(
    "--plan",
    "plans",
    type=Planned(),
    multiple=True,
    help="Instead of the ledger: hires a month, panels a hire, at the card's rate or this one.",
)
@click.option("--crew-cost", type=AMOUNT, metavar="MONEY", help="An hour of one person.  [default: the card's rate]")
@click.option("--discount-rate", type=PERCENT, default="8", show_default=True, metavar="PERCENT", help="A year.")
@click.option("--tax", "tax_share", type=PERCENT, default="0", metavar="PERCENT", help="On what is earned.")
@click.option("--depreciation", metavar="TABLE", help="straight line, 5-year table or 7-year table.")
@click.option("--resale", type=PERCENT, default="0", metavar="PERCENT", help="Of the price, at the end of life.")
@json_option
@click.option("-o", "output", type=FILE, metavar="FILE", help="Also a workbook with live figures and charts.")
def payback(desk, first, last, plans, crew_cost, discount_rate, tax_share, depreciation, resale, as_json, output):
    """Show whether each kind of panel has paid for itself."""
    from quotebook.books import payback_plans as planning
    from quotebook.engine.payback import DEPRECIATIONS, STRAIGHT_LINE

    if depreciation not in (None, *DEPRECIATIONS):
        raise click.UsageError(f"--depreciation {depreciation}: allowed are {', '.join(DEPRECIATIONS)}")
    card = desk.card()
    assumed = planning.Assumptions(
        crew_cost, discount_rate / 100, tax_share / 100, depreciation or STRAIGHT_LINE, resale / 100
    )
    made = [planning.plan_by_hand(card, *plan, assumed) for plan in plans]
    made = made or _from_ledger(desk, card, first, last, assumed)
    units = int(card.rates.minor_units)
    if output:
        write_payback_workbook(output, card, made)
    if as_json:
        say_json({"currency": card.firm.currency, "plans": [planning.to_json(plan, units) for plan in made]})
    else:
        say_payback(made, units)


def _from_ledger(desk, card, first, last, assumed):
    from quotebook.bookings import archive as keeping
    from quotebook.books.payback_plans import plans_from_ledger
    from quotebook.books.revenue import currencies, month_days

    last = last or f"{date.today():%Y-%m}"
    end = month_days(first or last, last)[1]
    start = month_days(first, last)[0] if first else date(end.year - (end.month < 12), end.month % 12 + 1, 1)
    ledger, days = keeping.ledger_of(desk), (start, end)
    others = [currency for currency in currencies(ledger, *days) if currency != card.firm.currency]
    if others:
        complain(f"Quotes in {' and '.join(others)} are left out: the rate card is in {card.firm.currency}.")
    return plans_from_ledger(ledger, card, *days, assumed)


def write_payback_workbook(output, card, plans):
    from quotebook.books.payback_workbook import write_payback
    from quotebook.files import atomically

    with atomically(output) as path, open(path, "wb") as file:
        write_payback(file, card.firm, int(card.rates.minor_units), plans)


def say_payback(plans, minor_units):
    """A row a plan; a dash where there is no such figure."""
    from quotebook.engine.payback import payback as worked_out
    from quotebook.text_table import table

    names = (
        "cost",
        "net_a_month",
        "months_to_pay_back",
        "net_present_value",
        "internal_rate_of_return",
        "break_even_hires",
    )
    rows = []
    for plan in plans:
        figures = worked_out(plan, minor_units)
        rate = figures["internal_rate_of_return"]
        shown = figures | {"internal_rate_of_return": None if rate is None else f"{rate * 100:.1f} %"}
        if shown["months_to_pay_back"] is not None:
            shown["months_to_pay_back"] = f"{shown['months_to_pay_back']:.1f}"
        rows.append([plan.kind, *("-" if shown[name] is None else str(shown[name]) for name in names)])
    headings = ("Kind", "Cost", "Net a month", "Months", "Worth now", "Return", "Hires needed")
    for line in table(headings, rows):
        say(line)


@click.command(epilog="Example: quotebook rebuild --to again.sqlite")
@desk_option
@click.option("--to", "target", type=FILE, metavar="FILE", help="A new file, beside the ledger that is there.")
def rebuild(desk, target):
    """Make the ledger again from the desk's workbooks and slips."""
    from quotebook.bookings import archive as keeping
    from quotebook.ledger import Ledger
    from quotebook.ledger.database import file_url, ledger_url

    desk.key()
    ledger = Ledger(file_url(target) if target else ledger_url(desk.folder))
    say(f"{keeping.rebuild(desk, ledger)} events are in the ledger {ledger.database.name}.")


@click.command(epilog="Example: quotebook backup ledger-copy.sqlite")
@desk_option
@click.argument("file", type=FILE)
def backup(desk, file):
    """Copy the ledger as it is now, while others go on writing."""
    from quotebook.bookings import archive as keeping

    keeping.ledger_of(desk).backup(file)
    say(f"{file}: a copy of the ledger. Keep the desk's whole folder as well.")
