"""Commands that correct what was recorded: undo, repaired, recount, rename."""

from datetime import date
from typing import TYPE_CHECKING

import click

from quotebook.cli.bookings import item_count
from quotebook.cli.options import day, desk_option, say, words

if TYPE_CHECKING:
    from quotebook.desk import Desk

on_option = click.option("--on", type=day, metavar="YYYY-MM-DD", help="The day.  [default: today]")


@click.command(epilog='Example: quotebook undo Q0001 --because "The wrong quote was cancelled"')
@desk_option
@click.option("--because", type=words, required=True, metavar="TEXT", help="Why, for whoever reads the history.")
@click.argument("number", metavar="QUOTE")
def undo(desk: "Desk", because: str, number: str) -> None:
    """Take back the last thing recorded of a quote.

    That is its agreement, cancellation, delivery, count or payment, or that it
    was declined. Nothing is erased: the history has both, and the reason.
    """
    from quotebook.bookings import corrections
    from quotebook.bookings.archive import open_ledger
    from quotebook.bookings.confirmations import say_taken_back
    from quotebook.contract.local import local_for

    ledger, card = open_ledger(desk), desk.card()
    say(say_taken_back(corrections.undo(desk, ledger, card, number, because), local_for(card.firm)))


@click.command(epilog="Example: quotebook repaired OAK-44:2")
@desk_option
@on_option
@click.argument("pieces", type=item_count, metavar="CODE:N")
def repaired(desk: "Desk", on: date | None, pieces: tuple[str, int]) -> None:
    """Record that missing panels were repaired or replaced.

    They can be hired out from that day on. Items are named as for count-back.
    """
    from quotebook.bookings import corrections
    from quotebook.bookings.archive import open_ledger
    from quotebook.bookings.confirmations import say_there
    from quotebook.bookings.decisions import item_named
    from quotebook.contract.local import local_for

    (name, count), card = pieces, desk.card()
    there = corrections.repaired(desk, open_ledger(desk), card, item_named(card, name), count, on)
    say(say_there(there, local_for(card.firm)))


@click.command(epilog="Example: quotebook recount OAK-44:57")
@desk_option
@on_option
@click.argument("pieces", type=item_count, metavar="CODE:N")
def recount(desk: "Desk", on: date | None, pieces: tuple[str, int]) -> None:
    """Record how many of something you have, with those out on hire.

    What was lost before that day counts no more: it was not there to be counted.
    """
    from quotebook.bookings import corrections
    from quotebook.bookings.archive import open_ledger
    from quotebook.bookings.confirmations import say_there
    from quotebook.bookings.decisions import item_named
    from quotebook.contract.local import local_for

    (name, count), card = pieces, desk.card()
    there = corrections.recount(desk, open_ledger(desk), card, item_named(card, name), count, on)
    say(say_there(there, local_for(card.firm)))


@click.command(epilog="Example: quotebook rename OAK-44 OAK-44-NEW")
@desk_option
@click.argument("old")
@click.argument("new")
def rename(desk: "Desk", old: str, new: str) -> None:
    """Say which code a kind of panel, or a subfloor, has on the rate card now.

    Everything recorded under the old code counts for the new one.
    """
    from quotebook.bookings import corrections
    from quotebook.bookings.archive import open_ledger

    spelled = corrections.rename(desk, open_ledger(desk), desk.card(), old, new)
    say(f"{old} is {spelled} now, and so is all that was recorded of it.")
