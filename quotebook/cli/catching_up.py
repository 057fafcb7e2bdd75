"""The command that takes in everything that is new at a desk, and shows what waits."""

from datetime import date
from typing import TYPE_CHECKING

import click

from quotebook.cli.options import desk_option, say, spare_what_is_loaded

if TYPE_CHECKING:
    from quotebook.desk import Desk

WAITING = 1
"""Exit status if something waits for the owner."""


@click.command("catch-up", epilog="Example: quotebook catch-up --dry-run")
@desk_option
@click.option("--dry-run", is_flag=True, help="Say what would be done, and do nothing.")
def catch_up(desk: "Desk", dry_run: bool) -> None:
    """Take in the decisions, the requests and the post, and write the desk book anew.

    Decisions are cells that you filled in desk_book.xlsx, requests are rows of
    requests.xlsx or requests.csv, the post is what lies in the folder post. What
    was taken in already is not taken in twice.
    """
    from quotebook.desk_books import catching_up

    spare_what_is_loaded()
    done = catching_up.catch_up(desk, date.today(), dry_run)
    for line in catching_up.say_caught_up(done):
        say(line)
    raise SystemExit(WAITING if done.waiting else 0)
