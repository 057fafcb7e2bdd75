"""Says what was out, what was lost and what other prices would leave, in words and as JSON."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from textwrap import wrap

from quotebook.buying.charge import Charges, KindCharge
from quotebook.buying.price_ladder import Rung
from quotebook.buying.use import Use, crowded
from quotebook.contract.local import Local, local_for
from quotebook.engine.money import plain, round6
from quotebook.text_table import WIDTH, table

USE_HEADINGS = ("days", "out", "sold out", "requests", "hires", "refused", "beyond")
LADDER_HEADINGS = ("Change", "A panel", "Left", "May be lost", "of the hires")


def say_charges(found: Charges) -> Iterator[str]:
    """Each kind: what is to be said of it, its months and weekdays, its ladder; then what it rests on."""
    terms, local = found.terms, local_for(found.card.firm)
    left_out = f" {found.left_out} of them for kinds that the card no longer has, left out." if found.left_out else ""
    yield from wrap(f"{terms.name}: {found.requests} requests.{left_out} {found.card.firm.currency}.", WIDTH)
    for each in found.kinds:
        yield ""
        yield from wrap(sentence(each, found), WIDTH)
        if each.use.season.requests:
            yield from table(("Month", *USE_HEADINGS), [*map(_use_row, _worth_showing(each.use.months))])
            yield from table(("Weekday", *USE_HEADINGS), [*map(_use_row, _worth_showing(each.use.weekdays))])
        if each.hires.count:
            yield from table(LADDER_HEADINGS, [_rung_row(rung, local) for rung in each.ladder], left=0)
    yield ""
    yield from wrap(say_what_it_rests_on(found), WIDTH)


def _worth_showing(uses: Sequence[Use]) -> list[Use]:
    return [use for use in uses if use.requests or use.panel_days]


def _use_row(use: Use) -> list[str]:
    counts = (use.requests, use.hires, use.refused, use.beyond)
    return [use.name, str(use.days), percent(use.share), str(use.sold_out), *map(str, counts)]


def _rung_row(rung: Rung, local: Local) -> list[str]:
    share = "-" if rung.share_to_lose is None else percent(rung.share_to_lose)
    count = "-" if rung.hires_to_lose is None else str(rung.hires_to_lose)
    return [f"{local.number(rung.change * 100)} %", local.amount(rung.price), local.amount(rung.left), count, share]


def percent(share: Decimal) -> str:
    """A share as whole percent."""
    return f"{share * 100:.0f} %"


def sentence(each: KindCharge, found: Charges) -> str:
    """How much of a kind was out, how many requests were lost for want of it, and where it was sold out too often."""
    use, season, terms = each.use, each.use.season, found.terms
    if not season.requests:
        return f"{use.kind}: nobody asked for it in {terms.name}."
    beyond = f" ({season.beyond} panels more than were left)" if season.beyond else ""
    said = (
        f"{use.kind}: {percent(season.share)} of its panel-days were out. Requests for it: {season.requests}; lost for "
        f"want of panels: {season.refused}{beyond}."
    )
    return f"{said} {_sold_out(each, found)}"


def _sold_out(each: KindCharge, found: Charges) -> str:
    """On how many days it was sold out, and whether that, or a month or a weekday, is more than the share asked for."""
    season, share = each.use.season, found.terms.sold_out_share
    days = f"on {season.sold_out} of {season.days} days ({percent(season.share_sold_out)})"
    often = crowded((*each.use.months, *each.use.weekdays), share)
    where = f"; more than that: {', '.join(f'{use.name} {use.sold_out} of {use.days}' for use in often)}"
    more = "more" if season.share_sold_out > share else "not more"
    return f"Sold out {days}, {more} than {plain(share * 100)} %{where if often else ''}."


def say_what_it_rests_on(found: Charges) -> str:
    """What the figures mean, and what they rest on."""
    costs, local = found.terms.costs, local_for(found.card.firm)
    return (
        "Out: on every day from the day before the event to the end of turnaround. Sold out: fewer panels were left "
        "than the floor asked for most often takes. Refused: lost, and could not have been had beside what was agreed "
        "(of a list: beside the rows above); beyond: the panels that those lacked. Left: what all hires with the kind "
        "bring at today's card, less crew and vehicle, without tax, waiver and the charge up to a minimum order. May "
        "be lost: so many of the hires, before less is left than at today's price; below 0, so many must be won. "
        f"A crew member costs {local.amount(costs.crew_cost)} an hour, a trip {local.amount(costs.trip_cost)}. The "
        "price is yours to decide."
    )


def to_json(found: Charges) -> dict[str, object]:
    """The answer as JSON: counts as numbers, money and shares as text, null where hires leave nothing."""
    terms = found.terms
    return {
        "season": terms.name,
        "currency": found.card.firm.currency,
        "requests": found.requests,
        "left_out": found.left_out,
        "step": plain(terms.step),
        "sold_out_share": plain(terms.sold_out_share),
        "crew_cost": plain(terms.costs.crew_cost),
        "trip_cost": plain(terms.costs.trip_cost),
        "kinds": [_kind_as_json(each, found) for each in found.kinds],
    }


def _kind_as_json(each: KindCharge, found: Charges) -> dict[str, object]:
    use, hires = each.use, each.hires
    return {
        "kind": use.kind,
        "owned": use.owned,
        "usual_floor": use.usual,
        "answer": sentence(each, found),
        "sold_out_too_often": use.season.share_sold_out > found.terms.sold_out_share,
        "season": _use_as_json(use.season),
        "months": [*map(_use_as_json, use.months)],
        "weekdays": [*map(_use_as_json, use.weekdays)],
        "hires": hires.count,
        "price": f"{hires.price:f}",
        "units": plain(hires.units),
        "other": f"{hires.other:f}",
        "crew_hours": plain(hires.crew_hours),
        "trips": int(hires.trips),
        "ladder": [
            {
                "change": plain(rung.change),
                "price": f"{rung.price:f}",
                "left": f"{rung.left:f}",
                "hires_to_lose": rung.hires_to_lose,
                "share_to_lose": None if rung.share_to_lose is None else plain(rung.share_to_lose),
            }
            for rung in each.ladder
        ],
    }


def _use_as_json(use: Use) -> dict[str, object]:
    return use._asdict() | {"share": plain(use.share), "share_sold_out": plain(round6(use.share_sold_out))}
