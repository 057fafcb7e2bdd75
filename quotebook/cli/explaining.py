"""The command that says how a figure came about."""

from typing import TYPE_CHECKING

import click

from quotebook.cli.options import desk_option, json_option, say, say_json
from quotebook.errors import Misuse

if TYPE_CHECKING:
    from quotebook.desk import Desk


@click.command(epilog="Example: quotebook explain Q0001 labour --depth 1")
@desk_option
@json_option
@click.option(
    "--depth", type=click.IntRange(0), metavar="N", help="Stop after so many steps down.  [default: at the end]"
)
@click.argument("quote", metavar="FILE|NUMBER")
@click.argument("figure", default="total")
def explain(desk: "Desk", as_json: bool, depth: int | None, quote: str, figure: str) -> None:
    """Say how a figure of a quote came about, down to entries and rates.

    FILE is a returned workbook; NUMBER, such as Q0003, the quote as it was
    issued last. FIGURE is a name such as labour or hire_2; without it, the
    total. Where the file and the issue part is marked.
    """
    from quotebook.bookings.finding import issued_file
    from quotebook.checking.check import returned_quote
    from quotebook.checking.explanation import explain as steps_to
    from quotebook.checking.explanation import in_words
    from quotebook.checking.worked_out import WorkedOut

    path = issued_file(desk, quote)
    sheet = WorkedOut(returned_quote(path, desk))
    try:
        steps = steps_to(sheet, figure, depth)
    except KeyError:
        raise Misuse(
            f"{path}: {figure} is no figure, entry or rate of a quote. Names are those that check prints."
        ) from None
    if as_json:
        say_json({"file": str(path), "figure": figure, "steps": [vars(step) for step in steps]})
        return
    for line in in_words(steps):
        say(line)
