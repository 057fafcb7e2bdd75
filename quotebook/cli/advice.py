"""Commands for choosing a floor: how big, of which kind, of which panels together."""

import re
from datetime import date
from decimal import Decimal

import click

from quotebook.cli.options import DAY, NUMBER, desk_option, json_option, say, say_json


class Sides(click.ParamType):
    """Two sides above 0 as WxL."""

    name = "WxL"

    def convert(self, value, param, context):
        if isinstance(value, tuple):
            return value
        match = re.fullmatch(r"(\d{1,6}(?:\.\d{1,4})?)[x×](\d{1,6}(?:\.\d{1,4})?)", value, re.ASCII)
        sides = tuple(map(Decimal, match.groups())) if match else ()
        if not sides or 0 in sides:
            self.fail(f"{value!r} is no size: write it as 30x40", param, context)
        return sides


def event_options(command):
    """What size and compare ask about an event."""
    for option in reversed(
        (
            click.option("--surface", required=True, help="grass, paving, 'hard indoors'..."),
            click.option("--date", "event_date", type=DAY, help="For what is free then; else all that is owned."),
            click.option("--days", type=NUMBER, default="1", show_default=True, help="Days of hire."),
            click.option("--miles", type=NUMBER, help="One way, in the card's miles or km."),
            click.option("--flights", type=NUMBER, help="Flights of stairs."),
        )
    ):
        command = option(command)
    return command


@click.command(epilog="\b\nExample:\n  quotebook size --guests 120 --surface grass --within 30x40")
@desk_option
@click.option("--guests", type=NUMBER, required=True, help="Guests.")
@click.option("--share", type=NUMBER, metavar="PERCENT", help="Who dance at once, instead of the card's share.")
@click.option("--area", type=NUMBER, metavar="AREA", help="Of a dancer, sq ft or m2, instead of the card's.")
@event_options
@click.option("--within", type=Sides(), help="The space for the floor, either way round.")
@click.option("--ratio", type=NUMBER, metavar="R", help="Longer side over shorter, at most.  [default: 1.5]")
@click.option("--edging/--bare", "edging", default=None, help="Instead of the card's habit on that ground.")
@json_option
def size(desk, as_json, event_date, **asked):
    """Say which floors serve so many guests, best first, in each kind of panel."""
    from quotebook.engine.advice import sizes
    from quotebook.quoting.advising import say_sizes, sizes_as_json

    card = desk.card()
    wish = _wish(card, **asked)
    found = sizes(_rates_on(desk, card, event_date, wish.days), wish)
    if as_json:
        say_json(sizes_as_json(wish, found))
    else:
        say("\n".join(say_sizes(card, wish, found, event_date)))


def _rates_on(desk, card, event_date, days):
    """The card's rates, with what is free from a date on where one was given."""
    from quotebook.bookings.archive import ledger_of
    from quotebook.bookings.availability import rates_for
    from quotebook.engine.model import Request

    return rates_for(ledger_of(desk), card, Request(event_date=event_date, days=days)) if event_date else card.rates


def _wish(card, guests, share, area, within, ratio, edging, surface, **event):
    from quotebook.engine.advice import Wish
    from quotebook.engine.money import ZERO
    from quotebook.engine.suggestion import LONGEST_RATIO

    _must_be_usable(card, {"guests": guests, "surface": surface, **event})
    for name, value, least, most in (
        ("--share", share, 0, 100),
        ("--area", area, Decimal("0.01"), 1000),
        ("--ratio", ratio, 1, 100),
    ):
        if value is not None and not least <= value <= most:
            raise click.UsageError(f"{name} is {value}; allowed: a number from {least} to {most}")
    return Wish(
        guests=guests,
        surface=surface,
        days=event["days"],
        miles=event["miles"] or ZERO,
        flights=event["flights"] or ZERO,
        dancers_share=card.rates.dancers_share if share is None else share / 100,
        area_per_dancer=area or card.rates.area_per_dancer,
        within=within,
        longest_ratio=ratio or LONGEST_RATIO,
        edging_wanted=card.firm.edging_on(surface) if edging is None else edging,
    )


def _must_be_usable(card, entries):
    """Raises InvalidInput for what no request may have either; a date is not asked for."""
    from quotebook.engine.entries import problems
    from quotebook.errors import InvalidInput
    from quotebook.spreadsheets.filled_in import describe

    found = problems(card.rates, entries | {"event_date": date.today()})
    if found:
        complaints = [
            f"{problem.name}: found {describe(problem.found)}; allowed: {problem.allowed}" for problem in found
        ]
        raise InvalidInput("There is no advice on this event:", complaints)


@click.command(epilog="\b\nExample:\n  quotebook compare --surface grass --floor 16x20 --miles 20")
@desk_option
@click.option("--floor", required=True, metavar="WxL[:edging|:bare]", help="Its size.")
@event_options
@click.option("--guests", type=NUMBER, help="Guests.")
@click.option("--after-hours/--no-after-hours", help="Collect after hours.")
@click.option("--waiver/--no-waiver", "waiver_taken", help="Damage waiver.")
@click.option("--discount", type=NUMBER, default="0", metavar="PERCENT", help="Discount on the goods.")
@json_option
def compare(desk, as_json, floor, discount, **entries):
    """Lay one floor in each kind of panel, side by side: what it costs, weighs and takes."""
    from quotebook.engine.compare import choices
    from quotebook.quoting.advising import choices_as_json, say_choices

    card = desk.card()
    on = entries["event_date"]
    request = _request(card, floor, entries | {"discount_share": discount / 100, "event_date": on or date.today()})
    found = choices(_rates_on(desk, card, on, request.days), request)
    if as_json:
        say_json(choices_as_json(request.surface, found))
    else:
        say("\n".join(say_choices(card, request.surface, found)))


def _request(card, floor, entries):
    """The request for that floor of some kind that can go there, since a request names one."""
    from quotebook.engine.model import NOT_HERE
    from quotebook.quoting.requests import floor_entries, parse_floor, valid_request

    surface = entries["surface"]
    kind = next((kind for kind in card.rates.kinds if kind.laying(surface) != NOT_HERE), card.rates.kinds[0])
    if not floor.endswith((":edging", ":bare")):
        floor += ":edging" if card.firm.edging_on(surface) else ":bare"
    return valid_request(card, entries | floor_entries(1, parse_floor(f"{kind.panel}:{floor}", card, surface)))


@click.command(epilog="\b\nExample:\n  quotebook mix OAK-44+OAK-42:14x20")
@desk_option
@json_option
@click.argument("floor", metavar="CODE+CODE:WxL")
def mix(desk, as_json, floor):
    """Make a floor of exactly that size of panels that lock together, of the fewest.

    The codes are of one system on the card. It prints how many of each, and
    the plan with the panels numbered in the order of laying. To quote such a
    floor give it to issue: --floor CODE+CODE:WxL.
    """
    from quotebook.quoting.mixing import mix_as_json, parse_mix, say_mix

    card = desk.card()
    asked = parse_mix(floor, card)
    if as_json:
        say_json(mix_as_json(asked))
    else:
        say("\n".join(say_mix(card, asked)))
