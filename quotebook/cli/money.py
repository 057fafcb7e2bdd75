"""Commands for the money after a quote is agreed: what came in, what is due."""

import re
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

import click

from quotebook.cli import options
from quotebook.cli.options import desk_option, number, say, words

if TYPE_CHECKING:
    from quotebook.bookings.payments import Account
    from quotebook.contract.local import Local
    from quotebook.desk import Desk


@click.command(epilog="Example: quotebook pay Q0001 350.00")
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
    from quotebook.contract.local import local_for
    from quotebook.engine.money import money

    if amount <= 0:
        raise click.UsageError("AMOUNT is above 0; for money that went back use --back")
    day = paid_on or date.today()
    if day > date.today():
        raise click.UsageError(f"--on {day} is still to come: record money on the day that it came")
    ledger, card = open_ledger(desk), desk.card()
    new = payments.pay(desk, ledger, quote, -amount if back else amount, day, towards or "", again)
    account = payments.account_of(payments.find_quote(ledger, quote), card.payment_terms)
    verb, known, local = (
        "went back" if back else "came in",
        "" if new else ", as was recorded already",
        local_for(card.firm),
    )
    came = local.amount(money(amount, account.quote.minor_units))
    say(f"{quote}: {came} {account.quote.currency} {verb} on {local.day(day)}{known}.")
    for sentence in say_account(account, local):
        say(f"  {sentence}")


def say_account(account: "Account", local: "Local") -> list[str]:
    """What is paid, what is due by when, and what is to be given back, a sentence each."""
    currency = account.quote.currency
    sentences = [f"Paid so far: {local.amount(account.paid)} of {local.amount(account.total)} {currency}."]
    sentences += [
        f"Due by {local.day(due.due_on)}: {local.amount(due.amount)} {currency} ({due.towards})."
        for due in account.dues
    ]
    if account.to_give_back:
        sentences.append(f"To be given back: {local.amount(account.to_give_back)} {currency}.")
    return sentences


AMOUNT = re.compile(r"[-+]?[0-9.,]*[0-9][0-9.,]*")
"""What may be meant as an amount; a word is none."""


def change_on_the_day(text: str) -> tuple[str, Decimal, str]:
    """The text, the amount and what it is taxed as in an option's value, TEXT:AMOUNT[:SERVICE].

    Raises click.BadParameter.
    """
    from quotebook.billing.items import SERVICES

    parts = text.rsplit(":", 2)
    service = parts.pop() if len(parts) > 1 and parts[-1] in SERVICES else "labour"
    said, _, amount = ":".join(parts).rpartition(":")
    if not said.strip() or not AMOUNT.fullmatch(amount.strip()):
        raise click.BadParameter(f"{text!r}: write TEXT:AMOUNT, or TEXT:AMOUNT:{'|'.join(SERVICES)}")
    return " ".join(said.split()), number(amount), service


@click.command(epilog="Example: quotebook bill Q0001")
@desk_option
@click.option(
    "--add",
    "changes",
    type=change_on_the_day,
    multiple=True,
    metavar="TEXT:AMOUNT[:TAXED-AS]",
    help="Agreed on the day, below 0 to take off; taxed as goods, delivery, labour (default) or waiver; repeatable.",
)
@click.option("--credit", is_flag=True, help="Take the quote's bill back by a credit note instead.")
@click.option("--because", type=words, default="", metavar="TEXT", help="Why, on the credit note.")
@click.option("-o", "output", type=options.FILE, metavar="FILE", help="Copy it to this file.")
@click.argument("quote", metavar="QUOTE")
def bill(
    desk: "Desk",
    changes: tuple[tuple[str, Decimal, str], ...],
    credit: bool,
    because: str,
    output: Path | None,
    quote: str,
) -> None:
    """Write the final bill of an agreed quote.

    It has what was agreed, what was changed on the day, and pieces that did not
    come back whole. A bill is never changed: a credit note takes it back. For a
    cancelled quote it bills what is kept of the deposit. Which words the law
    asks for on it, ask a tax adviser.
    """
    from quotebook.billing import billing
    from quotebook.billing.items import Change
    from quotebook.bookings.archive import open_ledger
    from quotebook.contract.local import local_for
    from quotebook.quoting.issuing import copy_to

    if (credit and changes) or (because and not credit):
        raise click.UsageError("--add goes with a bill, --because with --credit")
    ledger, card = open_ledger(desk), desk.card()
    if credit:
        written = billing.credit(desk, ledger, card, quote, date.today(), because)
    else:
        written = billing.bill(desk, ledger, card, quote, date.today(), [Change(*each) for each in changes])
    path = copy_to(output, written.path) if output else written.path
    paper, local = written.paper, local_for(card.firm)
    total, paid, due = (local.amount(getattr(paper.figures, name)) for name in ("total", "paid", "due"))
    say(f"{paper.bill_number} for {quote}: {total} {paper.currency}: {path}")
    if credit:
        say(f"  It takes the bill back in full. To bill {quote} anew: quotebook bill {quote}")
    elif paper.figures.due < 0:
        say(f"  Paid {paid}: give {local.amount(-paper.figures.due)} {paper.currency} back (pay --back).")
    else:
        say(f"  Paid {paid}; due by {local.day(paper.due_on)}: {due} {paper.currency}.")


@click.command(epilog="Example: quotebook bills --from 2026-01 --to 2027-12 --csv bills.csv")
@desk_option
@click.option("--from", "first", metavar="YYYY-MM", help="The first month.  [default: the first ever]")
@click.option("--to", "last", metavar="YYYY-MM", help="The last month.  [default: --from, or the last ever]")
@click.option("--csv", "bills_file", type=options.FILE, metavar="FILE", help="Write them as CSV, with their taxes.")
@click.option("--payments", "payments_file", type=options.FILE, metavar="FILE", help="Write the payments as CSV.")
def bills(
    desk: "Desk", first: str | None, last: str | None, bills_file: Path | None, payments_file: Path | None
) -> None:
    """List bills and credit notes, and write the bookkeeper's CSV files."""
    from quotebook.billing import registers
    from quotebook.bookings.archive import open_ledger
    from quotebook.books.revenue import month_days
    from quotebook.contract.local import local_for
    from quotebook.engine.money import in_major_units
    from quotebook.files import atomically
    from quotebook.spreadsheets.csv_text import csv_of
    from quotebook.text_table import table

    start = month_days(first, first)[0] if first else date.min
    end = month_days(last or first or "", last or first or "")[1] if last or first else date.max
    ledger = open_ledger(desk)
    for file, register in ((bills_file, registers.bills_register), (payments_file, registers.payments_register)):
        if file:
            with atomically(file) as path:
                path.write_text(csv_of(register(ledger, start, end)), "utf-8-sig", newline="")
    found = ledger.bills(start, end)
    quotes = ledger.listed_of({bill.quote_number for bill in found})
    places = {quote.quote_number: quote.minor_units for quote in quotes}
    local, rows = local_for(desk.card().firm), []
    for bill in found:
        kind = f"takes back {bill.corrects}" if bill.corrects else "bill"
        total = f"{local.amount(in_major_units(bill.total, places[bill.quote_number]))} {bill.currency}"
        rows.append((bill.bill_number, local.short_day(bill.billed_on), bill.quote_number, kind, total))
    for line in table(("Number", "Date", "Quote", "Kind", "Total"), rows, left=4):
        say(line)


@click.command(epilog="Example: quotebook remind --on 2027-05-20")
@desk_option
@click.option("--on", "day", type=options.day, metavar="YYYY-MM-DD", help="What is due on that day.  [default: today]")
def remind(desk: "Desk", day: date | None) -> None:
    """Write mail drafts for deposits, balances and bills that are due.

    Nothing is sent: open each draft in the folder reminders, read it, and send
    it yourself. A draft is written once a day.
    """
    from quotebook.billing.reminders import reminders, write_reminder
    from quotebook.bookings.archive import open_ledger
    from quotebook.bookings.payments import accounts
    from quotebook.contract.local import local_for
    from quotebook.ledger.listing import open_on
    from quotebook.quoting.mail import address_path

    card = desk.card()
    local = local_for(card.firm)
    owing = accounts(open_ledger(desk), card.payment_terms, open_on(date.max))
    found = reminders(desk, owing, day or date.today())
    if not found:
        say(f"Nothing is due on {local.day(day or date.today())}.")
    for reminder in found:
        quote, due = reminder.account.quote, reminder.due
        amount, due_on = local.amount(due.amount), local.day(due.due_on)
        what = f"{quote.quote_number}: {amount} {quote.currency} ({due.towards}) due on {due_on}"
        if not reminder.address:
            say(f"{what}: no address is known. Write it into {address_path(desk, quote.quote_number)}.")
        elif write_reminder(desk, reminder, card.firm):
            say(f"{what}: {reminder.path} is a draft to {reminder.address}.")
        else:
            say(f"{what}: {reminder.path} was written already.")
