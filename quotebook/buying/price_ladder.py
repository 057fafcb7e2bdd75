"""What the hires of a kind leave at prices around today's, and how many of them may be lost before it is less.

A hire is a request that was served with panels of the kind. It is lost as a whole, with all that it brings and all
that it costs, so a hire of two kinds is counted with both. Amounts are sums over the season's hires at the prices of
today's card, in its currency and without tax; the damage waiver and the charge up to a minimum order are left out.
How many may be lost is the break-even sales change of price setting: the part of the hires that, at the other price,
leaves as much as all of them do today.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal
from typing import NamedTuple

from quotebook.buying.use import Priced
from quotebook.engine.before_tax import tax_in_delivery, tax_in_goods, tax_in_labour
from quotebook.engine.model import RateCard
from quotebook.engine.money import ONE, ZERO, money, round6

RUNGS = tuple(range(-5, 6))
"""The prices shown, as numbers of steps up or down from today's."""


@dataclass(frozen=True)
class Hires:
    """A season's hires of one kind."""

    count: int
    price: Decimal
    """Today's, for one panel of a hire that is charged once."""
    units: Decimal
    """Panels times the factor of their days, less discount and tax: the price times this is what they bring."""
    other: Decimal
    """What these hires bring besides: edging, subfloor, panels of other kinds, labour, delivery."""
    crew_hours: Decimal
    """Person-hours."""
    trips: Decimal


class Costs(NamedTuple):
    """What a hire costs the firm."""

    crew_cost: Decimal
    """One crew member, per hour."""
    trip_cost: Decimal
    """One trip with the vehicle."""


class Rung(NamedTuple):
    """The season's hires at one price."""

    change: Decimal
    """Beside today's price, as a share of it."""
    price: Decimal
    left: Decimal
    """What all of them leave when crew and vehicle are paid."""
    share_to_lose: Decimal | None
    """Of the hires: less than 0 for those that must be won; None where they leave nothing."""
    hires_to_lose: int | None


def hires_of_kind(card: RateCard, season: Iterable[Priced], code: str) -> Hires:
    """The sums over a season's hires with panels of one kind."""
    rates, minor_units = card.rates, int(card.rates.minor_units)
    count, units, other, hours, trips = 0, ZERO, ZERO, ZERO, ZERO
    for each in season:
        if not (each.served and each.panels.get(code)):
            continue
        figures, kept = each.figures, 1 - each.request.discount_share
        count += 1
        for floor, line in zip(each.request.every_line, figures.lines, strict=True):
            part = kept / (1 + tax_in_goods(rates, reduced=bool(line.reduced_tax)))
            kind = rates.kind(floor.panel)
            own = kind is not None and kind.panel == code
            units += line.panels * figures.days_factor * part if own else ZERO
            other += (line.edging + line.subfloor + (ZERO if own else line.hire)) * part
        other += (figures.labour + figures.after_hours_charge) / (1 + tax_in_labour(rates))
        other += figures.delivery / (1 + tax_in_delivery(rates))
        hours += (figures.setup_hours + figures.strike_hours) * rates.crew
        trips += figures.trips
    return Hires(count, rates.listed_kind(code).rate, round6(units), money(other, minor_units), round6(hours), trips)


class Spent(NamedTuple):
    """What a season's hires cost the firm."""

    crew_paid: Decimal
    vehicle_paid: Decimal


def spent(hires: Hires, costs: Costs, minor_units: int) -> Spent:
    """What the hires cost, whatever the price."""
    crew, vehicle = hires.crew_hours * costs.crew_cost, hires.trips * costs.trip_cost
    return Spent(money(crew, minor_units), money(vehicle, minor_units))


def left(hires: Hires, price: Decimal, costs: Costs, minor_units: int) -> Decimal:
    """What the hires leave at a price when crew and vehicle are paid."""
    return money(hires.units * price, minor_units) + hires.other - sum(spent(hires, costs, minor_units))


def price_ladder(hires: Hires, step: Decimal, costs: Costs, minor_units: int) -> list[Rung]:
    """A rung for each of RUNGS, `step` apart as a share of today's price; prices are such as can be charged."""
    today = left(hires, hires.price, costs, minor_units)
    rungs = []
    for number in RUNGS:
        change = number * step
        price = money(hires.price * (1 + change), minor_units)
        then = left(hires, price, costs, minor_units)
        share, count = None, None
        if then > 0:
            share = min(ONE, round6(1 - today / then))
            to_lose = round6(hires.count * (1 - today / then)).to_integral_value(ROUND_FLOOR)
            count = min(hires.count, int(to_lose))
        rungs.append(Rung(change, price, then, share, count))
    return rungs
