"""Commands for the money after a quote is agreed: what came in, what is due."""

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

import click

from quotebook.cli import options
from quotebook.cli.options import desk_option, number, say

if TYPE_CHECKING:
    from quotebook.bookings.payments import Account
    from quotebook.desk import Desk


@click.command(epilog="Example: quotebook pay Q0001 350.00 --on 2027-05-03")
@desk_option
@click.option("--on", "paid_on", type=options.day, metavar="YYYY-MM-DD", help="The day.  [default: today]")
@click.option(
    "--for",
    "towards",
    type=click.Choice(("deposit", "balance")),
    help="What it is for.  [default: the deposit until that is paid]",
)
@click.option("--back", is_flag=True, help="The money went back to the client.")
@click.option("--again", is_flag=True, help="A second payment of that amount on that day.")
@click.argument("quote", metavar="QUOTE")
@click.argument("amount", type=number)
def pay(
    desk: "Desk", paid_on: date | None, towards: str | None, back: bool, again: bool, quote: str, amount: Decimal
) -> None:
    """Record what a client paid, or what went back.

    The same payment is recorded once, however often it is entered.
    """
    from quotebook.bookings import payments
    from quotebook.bookings.archive import open_ledger

    if amount <= 0:
        raise click.UsageError("AMOUNT is above 0; for money that went back use --back")
    day = paid_on or date.today()
    if day > date.today():
        raise click.UsageError(f"--on {day} is still to come: record money on the day that it came")
    ledger = open_ledger(desk)
    new = payments.pay(desk, ledger, quote, -amount if back else amount, day, towards or "", again)
    account = payments.account_of(payments.find_quote(ledger, quote), desk.card().payment_terms)
    verb = "went back" if back else "came in"
    say(f"{quote}: {amount:,} {account.quote.currency} {verb} on {day}{'' if new else ', as was recorded already'}.")
    for sentence in say_account(account):
        say(f"  {sentence}")


def say_account(account: "Account") -> list[str]:
    """What is paid, what is due by when, and what is to be given back, a sentence each."""
    currency = account.quote.currency
    sentences = [f"Paid so far: {account.paid:,} of {account.total:,} {currency}."]
    sentences += [f"Due by {due.due_on}: {due.amount:,} {currency} ({due.towards})." for due in account.dues]
    if account.to_give_back:
        sentences.append(f"To be given back: {account.to_give_back:,} {currency}.")
    return sentences
