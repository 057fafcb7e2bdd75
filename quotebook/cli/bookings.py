"""Commands for bookings: agree, cancel, deliver, count back, and show what is free."""

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import click

from quotebook.cli.options import (
    FILE,
    asking,
    complain,
    day,
    desk_option,
    json_option,
    returned_workbook,
    say,
    say_json,
    sure_option,
    words,
)

if TYPE_CHECKING:
    from quotebook.contract.local import Local
    from quotebook.desk import Desk
    from quotebook.engine.model import RateCard
    from quotebook.engine.stock import Item

LONGEST = 3700
"""Days of stock in one table: a little over ten years."""


def item_count(text: str) -> tuple[str, int]:
    """The name and the number of pieces in an option's value, written CODE:N. Raises click.BadParameter."""
    name, _, count = text.rpartition(":")
    if not (name and count.isascii() and count.isdecimal() and len(count) < 7):
        raise click.BadParameter(f"{text!r}: write the code, a colon and how many, such as OAK-44:2")
    return name, int(count)


@click.command(epilog="Example: quotebook agree returned/Q0001-accepted.xlsx")
@desk_option
@click.option("--accept", multiple=True, metavar="FINDING:NAME", help="Accept this disputed finding; repeatable.")
@click.option(
    "--said-yes", type=words, default="", metavar="WORDS", help="The client said yes otherwise: how, in your words."
)
@sure_option
@click.argument("named", metavar="FILE|QUOTE")
def agree(desk: "Desk", accept: tuple[str, ...], said_yes: str, sure: bool, named: str) -> None:
    """Agree a returned quote, and hold its panels for the date.

    QUOTE is a number: then the last file that came back of it and was checked,
    or the quote as issued if none did; FILE may be a mail message (.eml) with
    the workbook attached. Panels are held from the day before the event until
    the end of turnaround. The client must have answered yes in the file, or
    have said it to you. A disputed file needs each finding accepted by name.
    """
    from quotebook.bookings import decisions
    from quotebook.bookings.archive import open_ledger
    from quotebook.bookings.availability import say_alternatives
    from quotebook.bookings.confirmations import say_agreed
    from quotebook.bookings.finding import answered_file
    from quotebook.contract.local import local_for
    from quotebook.ledger.recording import NotEnough

    ledger, card = open_ledger(desk), desk.card()
    with returned_workbook(answered_file(desk, ledger, named)) as path:
        try:
            agreement = asking(
                lambda sure: decisions.agree(desk, ledger, card, path, accept, said_yes, sure=sure), sure
            )
        except NotEnough as error:
            complain(f"quotebook: {error}")
            for line in say_alternatives(decisions.alternatives_for(desk, ledger, path, error.quote_number)):
                complain(f"  {line}")
            raise SystemExit(error.status) from None
    for line in say_agreed(agreement, ledger, local_for(card.firm)):
        say(line)


@click.command(epilog="Example: quotebook cancel Q0001")
@desk_option
@click.argument("number", metavar="QUOTE")
def cancel(desk: "Desk", number: str) -> None:
    """Cancel an agreed quote, and free its panels."""
    from quotebook.bookings import decisions
    from quotebook.bookings.archive import open_ledger
    from quotebook.bookings.confirmations import say_cancelled
    from quotebook.bookings.payments import account_of, find_quote
    from quotebook.cli.money import say_account
    from quotebook.contract.local import local_for

    ledger, card = open_ledger(desk), desk.card()
    local = local_for(card.firm)
    for line in say_cancelled(decisions.cancel(desk, ledger, number), ledger, local):
        say(line)
    account = account_of(find_quote(ledger, number), card.payment_terms)
    for sentence in say_account(account, local) if account.paid else ():
        say(f"  {sentence}")


@click.command(epilog="Example: quotebook deliver Q0001")
@desk_option
@sure_option
@click.argument("number", metavar="QUOTE")
def deliver(desk: "Desk", sure: bool, number: str) -> None:
    """Record that an agreed quote's floors went out."""
    from quotebook.bookings import decisions
    from quotebook.bookings.archive import open_ledger
    from quotebook.bookings.confirmations import say_delivered
    from quotebook.contract.local import local_for

    ledger = open_ledger(desk)
    delivered = asking(lambda sure: decisions.deliver(desk, ledger, number, sure=sure), sure)
    for line in say_delivered(delivered, ledger, local_for(desk.card().firm)):
        say(line)


@click.command("count-back", epilog="Example: quotebook count-back Q0001 --damaged OAK-44:1")
@desk_option
@click.option(
    "--damaged", type=item_count, multiple=True, metavar="CODE:N", help="Came back unfit for hire; repeatable."
)
@click.option("--lost", type=item_count, multiple=True, metavar="CODE:N", help="Did not come back; repeatable.")
@sure_option
@click.argument("number", metavar="QUOTE")
def count_back(
    desk: "Desk", damaged: tuple[tuple[str, int], ...], lost: tuple[tuple[str, int], ...], sure: bool, number: str
) -> None:
    """Record what came back, and what did not.

    A code alone means panels or subfloor sheets. For edging write
    corners/OAK-44:1, slot_pieces/OAK-44:2 or tongue_pieces/OAK-44:2. A later
    count takes the place of an earlier one.
    """
    from quotebook.bookings import decisions
    from quotebook.bookings.archive import open_ledger
    from quotebook.bookings.confirmations import say_counted_back
    from quotebook.contract.local import local_for

    ledger, card = open_ledger(desk), desk.card()
    losses = decisions.losses_of(card, damaged, lost)
    counted = asking(lambda sure: decisions.count_back(desk, ledger, number, losses, sure=sure), sure)
    for line in say_counted_back(counted, losses, local_for(card.firm)):
        say(line)


@click.command(epilog="Example: quotebook stock --from 2027-06-10 --to 2027-06-16")
@desk_option
@click.option("--from", "first", type=day, required=True, metavar="YYYY-MM-DD", help="The first day.")
@click.option("--to", "last", type=day, metavar="YYYY-MM-DD", help="The last day.  [default: the first]")
@click.option("--kind", "kinds", multiple=True, metavar="CODE", help="Show only this kind; repeatable.")
@click.option("--all", "everything", is_flag=True, help="Show edging, corners, sheets and carts too.")
@click.option("--csv", "as_csv", is_flag=True, help="Print CSV instead of a table.")
@json_option
@click.option("-o", "output", type=FILE, metavar="FILE", help="Also write a workbook calendar of everything.")
def stock(
    desk: "Desk",
    first: date,
    last: date | None,
    kinds: tuple[str, ...],
    everything: bool,
    as_csv: bool,
    as_json: bool,
    output: Path | None,
) -> None:
    """Show what is free on each day; panels in turnaround are not free."""
    from quotebook.bookings import availability
    from quotebook.bookings.archive import open_ledger
    from quotebook.bookings.stock_workbook import write_stock
    from quotebook.contract.local import local_for
    from quotebook.engine.stock import owned
    from quotebook.files import atomically

    last = last or first
    if not 0 <= (last - first).days <= LONGEST:
        raise click.UsageError("--to must be --from or later, by ten years at most")
    card = desk.card()
    codes = _codes_on_card(card, kinds)
    by_day = availability.free_by_day(open_ledger(desk), card, first, last)
    if output:
        with atomically(output) as path, path.open("wb") as file:
            write_stock(file, card.firm, owned(card), by_day, first)
    chosen = {
        item: counts
        for item, counts in by_day.items()
        if (item.what == "panels" or everything) and (item.code in codes or not kinds)
    }
    if as_json:
        say_json(availability.to_json(chosen, first))
    elif as_csv:
        click.echo(availability.to_csv(chosen, first), nl=False)
    else:
        say_stock(chosen, first, local_for(card.firm))


def _codes_on_card(card: "RateCard", codes: Sequence[str]) -> set[str]:
    """The kinds with these codes, as the card spells them. Raises click.UsageError for a code that it lacks."""
    kinds = {code: card.rates.kind(code) for code in codes}
    unknown = [code for code, kind in kinds.items() if kind is None]
    if unknown:
        raise click.UsageError(f"{unknown[0]} is not on the rate card: {', '.join(card.holdings)}")
    return {kind.panel for kind in kinds.values() if kind}


def say_stock(by_day: Mapping["Item", Sequence[int]], first: date, local: "Local") -> None:
    """Print a row for each item: a column for each day of up to a week, or the least free on any longer period."""
    from quotebook.text_table import table

    days = len(next(iter(by_day.values()), []))
    if days <= 7:
        headings = ["Free", *(f"{first + timedelta(day):%d %b}" for day in range(days))]
        rows = [[str(item), *map(str, counts)] for item, counts in by_day.items()]
    else:
        headings = ["Free", "least", "on"]
        rows = [
            [str(item), str(min(counts)), local.short_day(first + timedelta(counts.index(min(counts))))]
            for item, counts in by_day.items()
        ]
    for line in table(headings, rows):
        say(line)
