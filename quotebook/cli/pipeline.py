"""Commands for the list of quotes: decline one, and show how far each has come."""

from collections.abc import Iterable
from datetime import date
from typing import TYPE_CHECKING

import click

from quotebook.cli.options import desk_option, json_option, say, say_json, words

if TYPE_CHECKING:
    from quotebook.bookings.payments import Account
    from quotebook.contract.local import Local
    from quotebook.desk import Desk
    from quotebook.ledger.listing import ListedQuote

LONGEST_NAME = 22
"""Characters of a client's name in the table."""


@click.command(epilog='Example: quotebook decline Q0003 --because "too dear"')
@desk_option
@click.option("--because", type=words, default="", metavar="TEXT", help="Why, in a few words that you use again.")
@click.argument("number", metavar="QUOTE")
def decline(desk: "Desk", because: str, number: str) -> None:
    """Close a quote that its client does not want.

    A further revision opens it again. Reasons are counted by quotes --lost.
    """
    from quotebook.bookings import decisions, payments
    from quotebook.bookings.archive import open_ledger
    from quotebook.bookings.confirmations import say_event
    from quotebook.contract.local import local_for

    ledger, card = open_ledger(desk), desk.card()
    new = decisions.decline(desk, ledger, number, because)
    account = payments.account_of(payments.find_quote(ledger, number), card.payment_terms)
    quote, local = account.quote, local_for(card.firm)
    if quote.state != "declined":
        say(f"The later revision of {number} is declined; what is agreed stands.")
        return
    say(f"{number} {'is' if new else 'was already'} declined: {say_event(quote, local)}. {quote.because or NO_REASON}.")
    if account.to_give_back:
        amount = local.amount(account.to_give_back)
        say(f"  {amount} {quote.currency} was paid: give it back, and record it (pay --back).")


NO_REASON = "No reason given"


@click.command("quotes", epilog="Example: quotebook quotes --open --month 2027-06")
@desk_option
@click.option("--state", "states", multiple=True, metavar="STATE", help="Only these; repeatable: issued, agreed...")
@click.option("--open", "only_open", is_flag=True, help="Only quotes that are not decided yet.")
@click.option("--due", "only_due", is_flag=True, help="Only quotes that money is due for, or is to go back.")
@click.option("--month", metavar="YYYY-MM", help="Only events of this month.")
@click.option("--client", type=words, metavar="TEXT", help="Only clients with this in their name.")
@click.option("--lost", is_flag=True, help="Count the declined ones by year, kind of panel and reason.")
@json_option
def list_quotes(
    desk: "Desk",
    states: tuple[str, ...],
    only_open: bool,
    only_due: bool,
    month: str | None,
    client: str | None,
    lost: bool,
    as_json: bool,
) -> None:
    """List every issued quote, its state, and its money."""
    from quotebook.bookings.archive import open_ledger
    from quotebook.bookings.payments import accounts
    from quotebook.contract.local import local_for
    from quotebook.ledger import listing
    from quotebook.ledger.states import OPEN, STATES

    if unknown := [state for state in states if state not in STATES]:
        raise click.UsageError(f"--state {unknown[0]}: allowed are {', '.join(STATES)}")
    which = [listing.in_states(each) for each in (states, OPEN if only_open else ()) if each]
    which += [listing.open_on(date.max)] if only_due else []
    if month:
        from quotebook.books.revenue import month_days  # with pandas, for which nobody else waits

        which.append(listing.of_days(*month_days(month, month)))
    which += [listing.of_client(client)] if client else []
    card = desk.card()
    found = accounts(open_ledger(desk), card.payment_terms, *which)
    if only_due:
        found = [account for account in found if account.dues or account.to_give_back]
    if lost:
        _say_lost(found, as_json)
    elif as_json:
        say_json({"quotes": [_as_json(account) for account in found]})
    else:
        _say_quotes(found, local_for(card.firm))


OPTION_AT_ISSUE = "In brackets: the option picked at issue, which counts until the quote is agreed."


def _say_quotes(found: Iterable["Account"], local: "Local") -> None:
    from quotebook.text_table import table

    headings, rows = ("Quote", "State", "Event", "Client", "Option", "Due", "Total"), []
    for account in found:
        quote = account.quote
        due = account.dues[0] if account.dues else None
        money = (
            f"{local.amount(due.amount)} by {local.short_day(due.due_on)}" if due
            else f"{local.amount(account.to_give_back)} back" if account.to_give_back
            else ""
        )  # fmt: skip
        client = " ".join(quote.client.split())[:LONGEST_NAME]
        name = f"{quote.quote_number}-r{quote.revision}"
        total = f"{local.amount(account.total)} {quote.currency}"
        option = _option(quote)
        rows.append((name, quote.state, local.short_day(quote.event_date), client, option, money, total))
    with_options = any(row[4] for row in rows)
    columns = [place for place in range(len(headings)) if place != 4 or with_options]
    shown = [[row[place] for place in columns] for row in (headings, *rows)]
    for line in table(shown[0], shown[1:], left=4 + with_options):
        say(line)
    if any(row[4].startswith("(") for row in rows):
        say(OPTION_AT_ISSUE)


def _option(quote: "ListedQuote") -> str:
    """Which option of a quote counts, of which there are; in brackets while the client may still pick another."""
    from quotebook.ledger.states import BOOKED

    if not quote.options:
        return ""
    picked = quote.picked or "none"
    return f"{picked if quote.state in BOOKED else f'({picked})'} of {', '.join(quote.options)}"


def _as_json(account: "Account") -> dict[str, object]:
    quote = account.quote
    return {
        "quote_number": quote.quote_number,
        "revision": quote.revision,
        "state": quote.state,
        "issued_on": str(quote.issued_on),
        "client": " ".join(quote.client.split()),
        "event": " ".join(quote.event.split()),
        "event_date": str(quote.event_date),
        "panels": quote.panels,
        "options": [*quote.options],
        "picked": quote.picked or None,
        "total": str(account.total),
        "deposit": str(account.deposit),
        "paid": str(account.paid),
        "due": [{"for": due.towards, "amount": str(due.amount), "by": str(due.due_on)} for due in account.dues],
        "to_give_back": str(account.to_give_back),
        "currency": quote.currency,
        "because": quote.because,
    }


def _say_lost(found: Iterable["Account"], as_json: bool) -> None:
    from quotebook.bookings.lost import count_lost
    from quotebook.text_table import table

    counted = count_lost(account.quote for account in found)
    if as_json:
        say_json({"lost": [row._asdict() for row in counted]})
        return
    rows = [(str(row.season), row.panel, row.because or NO_REASON.lower(), str(row.quotes)) for row in counted]
    for line in table(("Season", "Kind", "Because", "Quotes"), rows, left=3):
        say(line)
