"""The command that shows the whole job on invented events."""

from collections import Counter
from datetime import date
from pathlib import Path

import click

from quotebook.cli.options import FILE, progress, say


@click.command(epilog="Example: quotebook demo try-it")
@click.option("--season", is_flag=True, help="Two years of some hundred quotes instead, and their books.")
@click.option("--quotes", type=click.IntRange(1, 5000), help="So many in the season.  [default: 240]")
@click.argument("folder", metavar="DIR", type=FILE)
def demo(season, quotes, folder: Path):
    """Run the whole job on invented events, and leave the files to open."""
    if season:
        _two_years(folder, quotes)
    else:
        _four_events(folder)


def _four_events(folder: Path):
    from quotebook.bookings.availability import free_by_day
    from quotebook.bookings.decisions import agree
    from quotebook.bookings.receiving import record_returned
    from quotebook.checking.check import check_file
    from quotebook.cli.bookings import say_agreed, say_stock
    from quotebook.cli.checking import say_report
    from quotebook.demonstration import demo as scenario

    desk, returned = scenario.run(folder, date.today())
    card, ledger, agreed = desk.card(), scenario.ledger_in(desk), []
    say(f"The desk is {desk.folder}; its quotes are in {desk.issued}.")
    say(f"Four clients answered, and their workbooks are in {returned[0].parent}. What the check says:")
    for file in returned:
        report = check_file(file, desk)
        record_returned(desk, ledger, file, report)
        say("")
        say_report(report)
        if report.verdict in ("agrees", "changed"):
            agreed.append(agree(desk, ledger, card, file))
    say("\nWhat is not disputed is agreed:")
    for each in agreed:
        say_agreed(each)
    first = agreed[0].quote.held_from
    say("\nWhat is free around the first of them:")
    by_day = free_by_day(ledger, card, first, agreed[0].quote.held_to)
    say_stock({item: each for item, each in by_day.items() if item.what == "panels"}, first)


def _two_years(folder: Path, quotes: int | None):
    from quotebook.books.payback_plans import Assumptions, plans_from_ledger
    from quotebook.books.revenue import revenue
    from quotebook.cli.accounts import say_payback, say_revenue, write_payback_workbook, write_revenue_workbook
    from quotebook.demonstration import season
    from quotebook.demonstration.demo import ledger_in

    quotes = quotes or season.QUOTES
    desk, lived = season.run(folder, quotes)
    with progress([None] * quotes, "Two years") as bar:
        became = Counter(what for what, _ in zip(lived, bar))
    say(", ".join(f"{count} {what}" for what, count in became.most_common()))
    card, ledger = desk.card(), ledger_in(desk)
    first, last = (date(year, month, day) for year, (month, day) in zip(season.YEARS, ((1, 1), (12, 31))))
    last_year = first.replace(year=last.year), last
    say_revenue(revenue(ledger, *last_year))
    plans = plans_from_ledger(ledger, card, first, last, Assumptions())
    say_payback(plans, int(card.rates.minor_units))
    write_revenue_workbook(folder / "revenue.xlsx", ledger, card, *last_year)
    write_payback_workbook(folder / "payback.xlsx", card, plans)
    say(f"{folder / 'revenue.xlsx'} and {folder / 'payback.xlsx'} have these figures live, with charts.")
