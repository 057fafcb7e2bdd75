"""Commands for choosing a floor: how big, of which kind, of which kinds together."""

import re
from collections.abc import Callable, Mapping
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, TypeVar

import click

from quotebook.cli.options import (
    day,
    desk_option,
    json_option,
    number,
    percentage,
    returned_workbook,
    say,
    say_json,
    share_between_0_and_1,
)

if TYPE_CHECKING:
    from quotebook.desk import Desk
    from quotebook.engine.model import RateCard, Rates, Request
    from quotebook.ledger.listing import ListedQuote

Command = TypeVar("Command", bound=Callable[..., None])

_SIDE = r"(\d{1,6}(?:\.\d{1,4})?)"
SIDES = re.compile(f"{_SIDE}[x\N{MULTIPLICATION SIGN}]{_SIDE}", re.ASCII)


def sides(text: str) -> tuple[Decimal, Decimal]:
    """The two sides in an option's value, written 30x40 and above 0. Raises click.BadParameter."""
    match = SIDES.fullmatch(text)
    width, length = map(Decimal, match.groups()) if match else (Decimal(0), Decimal(0))
    if not (width and length):
        raise click.BadParameter(f"{text!r} is not a size: write it as 30x40")
    return width, length


def event_options(command: Command) -> Command:
    """Give a command the options about an event that `size` and `compare` share."""
    for option in reversed(
        (
            click.option("--surface", help="grass, paving, 'hard indoors'..."),
            click.option(
                "--date", "event_date", type=day, metavar="YYYY-MM-DD", help="Count only panels free on this date."
            ),
            click.option("--days", type=number, default="1", show_default=True, help="Days of hire."),
            click.option("--miles", type=number, help="Distance one way, in the card's miles or km."),
            click.option("--flights", type=number, help="Flights of stairs."),
        )
    ):
        command = option(command)
    return command


@click.command(epilog="\b\nExample:\n  quotebook size --guests 120 --surface grass --within 30x40")
@desk_option
@click.option("--guests", type=number, required=True, help="Number of guests.")
@click.option(
    "--share", type=share_between_0_and_1, metavar="PERCENT", help="Guests dancing at once.  [default: the card's]"
)
@click.option("--area", type=number, metavar="AREA", help="Sq ft or m2 per dancer.  [default: the card's]")
@event_options
@click.option("--within", type=sides, metavar="WxL", help="The space for the floor, either way round.")
@click.option("--ratio", type=number, metavar="R", help="Longer side over shorter, at most.  [default: 1.5]")
@click.option("--edging/--bare", "edging", default=None, help="Override the card's default for that ground.")
@json_option
def size(
    desk: "Desk",
    guests: Decimal,
    share: Decimal | None,
    area: Decimal | None,
    surface: str | None,
    event_date: date | None,
    days: Decimal,
    miles: Decimal | None,
    flights: Decimal | None,
    within: tuple[Decimal, Decimal] | None,
    ratio: Decimal | None,
    edging: bool | None,
    as_json: bool,
) -> None:
    """List the sizes that are big enough, best first, in each kind of panel."""
    from quotebook.engine.advice import Wish, sizes
    from quotebook.engine.money import ZERO
    from quotebook.engine.suggestion import LONGEST_RATIO
    from quotebook.quoting.advising import say_sizes, sizes_as_json

    surface = _must_be_given(surface, "--surface")
    card = desk.card()
    entries = {"guests": guests, "surface": surface, "days": days, "miles": miles, "flights": flights}
    _must_be_usable(card, entries, {"--area": area, "--ratio": ratio})
    wish = Wish(
        guests=guests,
        surface=surface,
        days=days,
        miles=miles or ZERO,
        flights=flights or ZERO,
        dancers_share=card.rates.dancers_share if share is None else share,
        area_per_dancer=area or card.rates.area_per_dancer,
        crowding_area=card.rates.crowding_area,
        within=within,
        longest_ratio=ratio or LONGEST_RATIO,
        edging_wanted=card.firm.edging_on(surface) if edging is None else edging,
    )
    found = sizes(_rates_on(desk, card, event_date, days), wish)
    if as_json:
        say_json(sizes_as_json(wish, found))
    else:
        say("\n".join(say_sizes(card, wish, found, event_date)))


LIMITS = {
    "--area": (Decimal("0.01"), Decimal(1000)),
    "--ratio": (Decimal(1), Decimal(100)),
}
"""The least and the most of each assumption."""


def _must_be_usable(card: "RateCard", entries: Mapping[str, object], assumptions: Mapping[str, Decimal | None]) -> None:
    """Raises InvalidInput for entries that no request may have, and click.UsageError for an assumption off limits."""
    from quotebook.engine.entries import problems
    from quotebook.errors import InvalidInput
    from quotebook.spreadsheets.filled_in import describe

    found = problems(card.rates, {**entries, "event_date": date.today()})  # any date: none is needed for advice
    if found:
        complaints = [
            f"{problem.name}: found {describe(problem.found)}; allowed: {problem.allowed}" for problem in found
        ]
        raise InvalidInput("There is no advice on this event:", complaints)
    for name, value in assumptions.items():
        least, most = LIMITS[name]
        if value is not None and not least <= value <= most:
            raise click.UsageError(f"{name} is {value}; allowed: a number from {least} to {most}")


def _rates_on(desk: "Desk", card: "RateCard", event_date: date | None, days: Decimal) -> "Rates":
    """The card's rates, with the panels that are free from a date on, or all that are owned if there is no date."""
    from quotebook.bookings.archive import open_ledger
    from quotebook.bookings.availability import rates_for
    from quotebook.engine.model import Request

    if event_date is None:
        return card.rates
    return rates_for(open_ledger(desk), card, Request(event_date=event_date, days=days))


def _must_be_given(value: str | None, option: str) -> str:
    """The value of an option. Raises click.UsageError if it was left out."""
    if value is None:
        raise click.UsageError(f"Missing option {option!r}.")
    return value


@click.command(epilog="\b\nExample:\n  quotebook compare --surface grass --floor 16x20 --miles 20")
@desk_option
@click.option("--floor", metavar="WxL[:edging|:bare]", help="The floor's size.")
@event_options
@click.option("--guests", type=number, help="Number of guests.")
@click.option("--after-hours", is_flag=True, help="Collect after hours.")
@click.option("--waiver/--no-waiver", "waiver_taken", help="Damage waiver.")
@click.option("--discount", type=percentage, default="0", metavar="PERCENT", help="Discount on the goods.")
@json_option
@click.argument("named", metavar="[FILE|QUOTE]", required=False)
def compare(
    desk: "Desk",
    floor: str | None,
    surface: str | None,
    event_date: date | None,
    days: Decimal,
    discount: Decimal,
    as_json: bool,
    named: str | None,
    **entries: Decimal | bool | None,
) -> None:
    """Compare one floor in each kind of panel: its price, weight and set-up time.

    With a QUOTE, or a FILE that came back, its options are compared instead.
    """
    from quotebook.engine.compare import choices
    from quotebook.quoting.advising import choices_as_json, say_choices

    if named:
        if floor or surface or event_date or any(entries.values()):
            raise click.UsageError("a quote says which floors it offers, for which event: name it alone")
        _compare_options(desk, named, as_json)
        return
    floor, surface = _must_be_given(floor, "--floor"), _must_be_given(surface, "--surface")
    card = desk.card()
    asked = {
        **entries,
        "surface": surface,
        "event_date": event_date or date.today(),
        "days": days,
        "discount_share": discount,
    }
    request = _request(card, floor, surface, asked)
    found = choices(_rates_on(desk, card, event_date, days), request)
    if as_json:
        say_json(choices_as_json(request.surface, found))
    else:
        say("\n".join(say_choices(card, request.surface, found, event_date)))


def _compare_options(desk: "Desk", named: str, as_json: bool) -> None:
    """Print the options of a quote side by side. Raises Misuse for a quote without options."""
    from quotebook.bookings.archive import open_ledger
    from quotebook.bookings.finding import answered_file
    from quotebook.checking.check import returned_quote
    from quotebook.contract.local import local_for
    from quotebook.contract.stamped import papers_of
    from quotebook.errors import Misuse
    from quotebook.quoting.offered import offered_as_json, options_priced, say_offered

    ledger, card = open_ledger(desk), desk.card()
    with returned_workbook(answered_file(desk, ledger, named)) as path:
        comparison = returned_quote(path, desk)
        found = options_priced(comparison)
        if not found:
            raise Misuse(f"{named}: offers no options. To compare kinds of panel: --floor and --surface.")
    papers = papers_of(comparison.content)
    listed = ledger.listed_of([papers.quote_number])
    quote = next((each for each in listed if each.revision == papers.revision), None)
    if as_json:
        say_json(offered_as_json(found, comparison.picked or ""))
    else:
        which = _picked(comparison.picked, quote)
        currency = quote.currency if quote else card.firm.currency
        said = say_offered(found, which, currency, comparison.content.unit, local_for(card.firm))
        say("\n".join(said))


def _picked(in_file: str | None, quote: "ListedQuote | None") -> str:
    """Which option is picked, and which one the ledger counts."""
    from quotebook.ledger.states import BOOKED

    if quote is None:
        return f"Option {in_file or 'none'} is picked. A later revision took its place."
    if quote.state in BOOKED:
        return f"Option {quote.picked} is agreed, and is what counts."
    if in_file is None:
        return f"No option is picked. The ledger counts option {quote.picked}, picked at issue, until one is agreed."
    if in_file != quote.picked:
        return (
            f"Option {in_file} is picked. The ledger counts option {quote.picked}, picked at issue, until the quote is "
            "agreed."
        )
    return f"Option {in_file} is picked, as it was at issue. The ledger counts it until the quote is agreed."


def _request(card: "RateCard", floor: str, surface: str, entries: Mapping[str, object]) -> "Request":
    """The request for that floor in the first kind that can go on `surface`, since a request has to name one."""
    from quotebook.engine.model import NOT_HERE
    from quotebook.quoting.requests import floor_entries, parse_floor, valid_request

    kind = next((kind for kind in card.rates.kinds if kind.laying(surface) != NOT_HERE), card.rates.kinds[0])
    if not floor.endswith((":edging", ":bare")):
        floor += ":edging" if card.firm.edging_on(surface) else ":bare"
    line = parse_floor(f"{kind.panel}:{floor}", card, surface)
    return valid_request(card, {**entries, **floor_entries(1, line)})


@click.command(epilog="\b\nExample:\n  quotebook mix OAK-44+OAK-42:14x20")
@desk_option
@click.option("--guests", type=number, default="0", help="Number of guests, for the caution on crowding.")
@json_option
@click.argument("floor", metavar="CODE+CODE:WxL")
def mix(desk: "Desk", guests: Decimal, as_json: bool, floor: str) -> None:
    """Fill a floor of exactly that size with the fewest panels that lock together.

    The codes must be of one system on the card. The command prints the number
    of panels of each kind, and a plan with the panels numbered in laying order.
    To quote the floor: quotebook issue --floor CODE+CODE:WxL.
    """
    from quotebook.quoting.mixing import mix_as_json, parse_mix, say_mix

    card = desk.card()
    asked = parse_mix(floor, card)
    if as_json:
        say_json(mix_as_json(card, asked, guests))
    else:
        say("\n".join(say_mix(card, asked, guests)))
