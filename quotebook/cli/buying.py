"""Commands for what to buy and what to charge: two floors, a season with more panels, and other prices."""

from collections.abc import Callable, Iterable
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO, TypeVar

import click

from quotebook.cli.advice import sides
from quotebook.cli.options import FILE, desk_option, json_option, number, number_between, say, say_json

if TYPE_CHECKING:
    from quotebook.buying.demand import Asked
    from quotebook.buying.price_ladder import Costs
    from quotebook.desk import Desk
    from quotebook.engine.model import RateCard

Found = TypeVar("Found")
AMOUNT, PERCENT, STEP = number_between(0, 1_000_000), number_between(0, 100), number_between(1, 19)

crew_cost_option = click.option(
    "--crew-cost",
    type=AMOUNT,
    metavar="MONEY",
    help="What one crew member costs you per hour.  [default: the card's rate]",
)
trip_cost_option = click.option(
    "--trip-cost", type=AMOUNT, metavar="MONEY", help="What a trip costs you.  [default: the card's charge]"
)
discount_rate_option = click.option(
    "--discount-rate", type=PERCENT, default="8", show_default=True, metavar="PERCENT",
    help="What your money could earn elsewhere, per year.",
)  # fmt: skip
season_option = click.option(
    "--season", type=click.IntRange(1901, 2999), metavar="YEAR", help="The season.  [default: this year]"
)
requests_option = click.option(
    "--requests", "requests_file", type=FILE, metavar="FILE", help="This list's requests instead of the ledger's."
)
output_option = click.option(
    "-o", "output", type=FILE, metavar="FILE", help="Also write a workbook with live figures and a chart."
)
resale_option = click.option(
    "--resale", type=PERCENT, default="0", metavar="PERCENT", help="Resale value after the life, of the price."
)


@click.command("break-even", epilog="Example: quotebook break-even OAK-44 WHITE-23 --surface grass -o break-even.xlsx")
@desk_option
@click.option("--surface", required=True, help="grass, paving, 'hard indoors'...")
@click.option("--floor", type=sides, default="16x20", show_default=True, metavar="WxL", help="The floor's size.")
@crew_cost_option
@trip_cost_option
@discount_rate_option
@resale_option
@json_option
@output_option
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

    if surface not in SURFACES:
        raise click.UsageError(f"--surface {surface}: allowed are {', '.join(SURFACES)}")
    card = desk.card()
    terms = Terms(
        *_costs(card, crew_cost, trip_cost),
        discount_rate=discount_rate / 100,
        resale_share=resale / 100,
    )
    comparison = compare_on(card, (one, other), surface, floor, terms)
    _give(comparison, output, write_break_even, to_json if as_json else None, say_break_even)


@click.command(epilog="Example: quotebook buy --season 2027 --budget 10000 -o buy.xlsx")
@desk_option
@season_option
@requests_option
@click.option("--typical", is_flag=True, help="Play the card's typical year instead of the ledger.")
@click.option("--agreed-only", is_flag=True, help="Leave out requests that were not agreed.")
@click.option("--growth", type=number_between(-90, 900), default="0", metavar="PERCENT", help="So many more requests.")
@click.option("--budget", type=number, metavar="MONEY", help="Also find the best purchase for this much.")
@click.option("--kind", "kinds", multiple=True, metavar="CODE", help="Serve and buy only these kinds, in this order.")
@click.option("--steps", type=click.IntRange(1, 100), default=12, show_default=True, help="Steps beyond what you own.")
@crew_cost_option
@discount_rate_option
@resale_option
@click.option("--redraws", type=click.IntRange(0, 10_000), default=200, show_default=True, help="Redrawn seasons.")
@click.option("--seed", type=click.IntRange(0), default=1, show_default=True, help="Of the redrawn seasons.")
@json_option
@output_option
def buy(
    desk: "Desk",
    season: int | None,
    requests_file: Path | None,
    typical: bool,
    agreed_only: bool,
    growth: Decimal,
    budget: Decimal | None,
    kinds: tuple[str, ...],
    steps: int,
    crew_cost: Decimal | None,
    discount_rate: Decimal,
    resale: Decimal,
    redraws: int,
    seed: int,
    as_json: bool,
    output: Path | None,
) -> None:
    """Say how many panels of each kind to own, by playing a season through.

    Requests are served in the order in which they came, by what is free, with
    more and more panels: what each step earns, costs and pays back.
    """
    from quotebook.buying.answer import Question, codes_to_play, work_out
    from quotebook.buying.buy_workbook import write_buy
    from quotebook.buying.demand import grown
    from quotebook.buying.purchases import Assumed
    from quotebook.buying.report import say_answer, to_json

    if budget is not None and budget <= 0:
        raise click.UsageError(f"--budget {budget}: allowed is an amount above 0")
    card = desk.card()
    codes = codes_to_play(card, kinds)
    asked = _season(desk, card, season, requests_file, typical, agreed_only)
    assumed = Assumed(
        crew_cost=_costs(card, crew_cost).crew_cost,
        discount_rate=discount_rate / 100,
        resale_share=resale / 100,
        steps=steps,
    )
    question = Question(_name(season, requests_file), codes, len(kinds) > 1, assumed, budget, redraws, seed)
    answer = work_out(card, grown(asked, growth / 100), question)
    _give(answer, output, write_buy, to_json if as_json else None, say_answer)


@click.command(epilog="Example: quotebook charge --season 2027 --sold-out 5 -o charge.xlsx")
@desk_option
@season_option
@requests_option
@click.option("--kind", "kinds", multiple=True, metavar="CODE", help="Only these kinds.  [default: all you own]")
@click.option("--step", type=STEP, default="5", show_default=True, metavar="PERCENT", help="Between two prices.")
@click.option(
    "--sold-out",
    type=PERCENT,
    default="10",
    show_default=True,
    metavar="PERCENT",
    help="Name kinds, months and weekdays sold out on more of their days.",
)
@crew_cost_option
@trip_cost_option
@json_option
@output_option
def charge(
    desk: "Desk",
    season: int | None,
    requests_file: Path | None,
    kinds: tuple[str, ...],
    step: Decimal,
    sold_out: Decimal,
    crew_cost: Decimal | None,
    trip_cost: Decimal | None,
    as_json: bool,
    output: Path | None,
) -> None:
    """Show what bears on each kind's price: how much was out, what was refused, and other prices.

    By month and by weekday; and for prices above and below today's how many hires may be lost
    before less is left. Which price to ask is yours to decide.
    """
    from quotebook.buying.charge import ChargeTerms, charges, codes_to_charge
    from quotebook.buying.charge_report import say_charges, to_json
    from quotebook.buying.charge_workbook import write_charges

    card = desk.card()
    codes = codes_to_charge(card, kinds)
    asked = _season(desk, card, season, requests_file, typical=False, agreed_only=False)
    year = season if season or requests_file else date.today().year
    costs = _costs(card, crew_cost, trip_cost)
    terms = ChargeTerms(_name(season, requests_file), year, step / 100, sold_out / 100, costs)
    _give(charges(card, asked, codes, terms), output, write_charges, to_json if as_json else None, say_charges)


def _give(
    found: Found,
    output: Path | None,
    write: Callable[[BinaryIO, Found], object],
    to_json: Callable[[Found], dict[str, object]] | None,
    say_in_words: Callable[[Found], Iterable[str]],
) -> None:
    """Write an answer's workbook where `output` names one, and print it: as JSON, or in words without `to_json`."""
    from quotebook.files import atomically

    if output:
        with atomically(output) as path, path.open("wb") as file:
            write(file, found)
    if to_json:
        say_json(to_json(found))
    else:
        say("\n".join(say_in_words(found)))


def _costs(card: "RateCard", crew_cost: Decimal | None, trip_cost: Decimal | None = None) -> "Costs":
    """What a crew member and a trip cost the firm: as the owner says, or as clients pay for them, without tax."""
    from quotebook.buying.price_ladder import Costs
    from quotebook.engine.before_tax import base_charge_before_tax, hourly_rate_before_tax

    return Costs(
        crew_cost=hourly_rate_before_tax(card.rates) if crew_cost is None else crew_cost,
        trip_cost=base_charge_before_tax(card.rates) if trip_cost is None else trip_cost,
    )


def _name(season: int | None, requests_file: Path | None) -> str:
    """What a season is called in sentences: its year, or the list where no year is named."""
    return str(season or (requests_file.name if requests_file else date.today().year))


def _season(
    desk: "Desk", card: "RateCard", year: int | None, file: Path | None, typical: bool, agreed_only: bool
) -> list["Asked"]:
    """The requests to play. Raises Misuse if there are none."""
    from quotebook.bookings.archive import open_ledger
    from quotebook.buying.demand import LOST
    from quotebook.buying.sources import requests_of_desk, requests_of_list, requests_of_typical_year
    from quotebook.errors import Misuse

    if file and typical:
        raise click.UsageError("--requests and --typical: name one of them")
    if file:
        return requests_of_list(file, card, year)
    year = year or date.today().year
    if typical:
        return requests_of_typical_year(card, year)
    asked = requests_of_desk(desk, open_ledger(desk), card, year)
    if agreed_only and not (asked := [each for each in asked if each.outcome != LOST]):
        raise Misuse(f"{year}: no request of that season was agreed. Play the others too: leave out --agreed-only.")
    return asked
