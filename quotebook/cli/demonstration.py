"""The command that shows the whole job on invented events."""

from collections import Counter
from datetime import date
from pathlib import Path

import click

from quotebook.cli.options import FILE, say, sparing
from quotebook.progress import watched


@click.command(epilog="Example: quotebook demo try-it")
@click.option("--season", is_flag=True, help="Play two years of quotes instead, and write their books.")
@click.option("--quotes", type=click.IntRange(1, 5000), help="Number of quotes in the two years.  [default: 240]")
@click.argument("folder", metavar="DIR", type=FILE)
def demo(season: bool, quotes: int | None, folder: Path) -> None:
    """Run the whole job on invented events, and leave the files for you to open."""
    if season:
        _two_years(folder, quotes)
    else:
        _four_events(folder)


def _four_events(folder: Path) -> None:
    from quotebook.bookings.availability import free_by_day
    from quotebook.bookings.confirmations import say_agreed
    from quotebook.bookings.decisions import agree
    from quotebook.bookings.receiving import record_returned
    from quotebook.checking.answer import Answer
    from quotebook.checking.check import check_file
    from quotebook.checking.issued import issued_quotes
    from quotebook.cli.bookings import say_stock
    from quotebook.cli.checking import say_report
    from quotebook.contract.local import local_for
    from quotebook.demonstration import demo as scenario
    from quotebook.demonstration.books import fill_books
    from quotebook.desk_books.places import desk_book, post_folder, request_book

    desk, returned = scenario.run(folder, date.today())
    card, ledger, agreed = desk.card(), scenario.ledger_in(desk), []
    say(f"The desk is {desk.folder}; its quotes are in {desk.issued}.")
    say(f"Four clients answered, and their workbooks are in {returned[0].parent}. The check says:")
    for file in returned:
        report = check_file(file, desk, issued=issued_quotes(desk, ledger))
        record_returned(desk, ledger, file, report)
        say("")
        say_report(report)
        if report.verdict in ("agrees", "changed") and report.answer == Answer.YES:
            agreed.append(agree(desk, ledger, card, file, sure=True))
    say("\nThe quotes that clients have accepted and that are not disputed are agreed:")
    for agreement in agreed:
        say("\n".join(say_agreed(agreement, ledger, local_for(card.firm))))
    first, last = agreed[0].quote.held_from, agreed[0].quote.held_to
    say("\nThe panels that are free around the first of them:")
    by_day = free_by_day(ledger, card, first, last)
    say_stock({item: counts for item, counts in by_day.items() if item.what == "panels"}, first, local_for(card.firm))
    fill_books(desk, date.today())
    say(f"\nSome days of the season went through the books: open {desk_book(desk)} first, then {request_book(desk)}.")
    say(f"An answer lies in {post_folder(desk)}: quotebook catch-up --desk {desk.folder} takes it in.")


def _two_years(folder: Path, quotes: int | None) -> None:
    from quotebook.books.payback_plans import Assumptions, plans_from_ledger
    from quotebook.books.revenue import revenue
    from quotebook.cli.accounts import say_payback, say_revenue, write_payback_workbook, write_revenue_workbook
    from quotebook.contract.local import local_for
    from quotebook.demonstration import season
    from quotebook.demonstration.demo import ledger_in

    quotes = quotes or season.QUOTES
    desk, outcomes = season.run(folder, quotes)
    counts = Counter(watched(sparing(outcomes), "Playing two years", quotes))
    say(", ".join(f"{count} {outcome}" for outcome, count in counts.most_common()))
    card, ledger = desk.card(), ledger_in(desk)
    first_year, last_year = season.YEARS
    last_months = date(last_year, 1, 1), date(last_year, 12, 31)
    say_revenue(revenue(ledger, *last_months), local_for(card.firm))
    plans = plans_from_ledger(ledger, card, date(first_year, 1, 1), date(last_year, 12, 31), Assumptions())
    say_payback(plans, int(card.rates.minor_units), local_for(card.firm))
    write_revenue_workbook(folder / "revenue.xlsx", ledger, card, *last_months)
    write_payback_workbook(folder / "payback.xlsx", card, plans)
    say(f"{folder / 'revenue.xlsx'} and {folder / 'payback.xlsx'} have these figures live, with charts.")
