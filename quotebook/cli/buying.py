"""Commands for what to buy: two floors held against each other, and a season played through with more panels."""

from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

import click

from quotebook.cli.advice import sides
from quotebook.cli.options import FILE, desk_option, json_option, number_between, say, say_json

if TYPE_CHECKING:
    from quotebook.desk import Desk

AMOUNT, PERCENT = number_between(0, 1_000_000), number_between(0, 100)

crew_cost_option = click.option(
    "--crew-cost", type=AMOUNT, metavar="MONEY", help="What one crew member costs you per hour.  [default: the card's rate]"
)
discount_rate_option = click.option(
    "--discount-rate", type=PERCENT, default="8", show_default=True, metavar="PERCENT",
    help="What your money could earn elsewhere, per year.",
)  # fmt: skip
resale_option = click.option(
    "--resale", type=PERCENT, default="0", metavar="PERCENT", help="Resale value after the life, of the price."
)


@click.command("break-even", epilog="Example: quotebook break-even OAK-44 WHITE-23 --surface grass -o break-even.xlsx")
@desk_option
@click.option("--surface", required=True, help="grass, paving, 'hard indoors'...")
@click.option("--floor", type=sides, default="16x20", show_default=True, metavar="WxL", help="The floor's size.")
@crew_cost_option
@click.option("--trip-cost", type=AMOUNT, metavar="MONEY", help="What a trip costs you.  [default: the card's charge]")
@discount_rate_option
@resale_option
@json_option
@click.option("-o", "output", type=FILE, metavar="FILE", help="Also write a workbook with live figures and a chart.")
@click.argument("one", metavar="CODE")
@click.argument("other", metavar="CODE")
def break_even(
    desk: "Desk",
    surface: str,
    floor: tuple[Decimal, Decimal],
    crew_cost: Decimal | None,
    trip_cost: Decimal | None,
    discount_rate: Decimal,
    resale: Decimal,
    as_json: bool,
    output: Path | None,
    one: str,
    other: str,
) -> None:
    """Say from how many hires a year the dearer of two floors is the cheaper to own.

    Buying is spread over each floor's life at your rate; laying it costs the
    crew's time and the trips. The same for carpet, if both may go there.
    """
    from quotebook.buying.break_even import Terms
    from quotebook.buying.break_even_report import compare_on, say_break_even, to_json
    from quotebook.buying.break_even_workbook import write_break_even
    from quotebook.engine.model import SURFACES
    from quotebook.files import atomically

    if surface not in SURFACES:
        raise click.UsageError(f"--surface {surface}: allowed are {', '.join(SURFACES)}")
    card = desk.card()
    terms = Terms(
        crew_cost=card.rates.hourly_rate if crew_cost is None else crew_cost,
        trip_cost=card.rates.base_charge if trip_cost is None else trip_cost,
        discount_rate=discount_rate / 100,
        resale_share=resale / 100,
    )
    comparison = compare_on(card, (one, other), surface, floor, terms)
    if output:
        with atomically(output) as path, path.open("wb") as file:
            write_break_even(file, comparison)
    if as_json:
        say_json(to_json(comparison))
    else:
        say("\n".join(say_break_even(comparison)))
