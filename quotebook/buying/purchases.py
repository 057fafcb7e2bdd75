"""What each number of panels is worth: the season played through with one step more of a kind, and one more again.

A step is as many panels as the floor that is asked for most often takes. Each year of the panels' life is taken to be
like the season; figures of a purchase are beside buying none. Before tax.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple

import numpy

from quotebook.buying.demand import MILLIONTHS, Booking, usual_panels
from quotebook.buying.season import Counts, Played, Stocks, play
from quotebook.engine.model import RateCard
from quotebook.engine.money import in_major_units, in_minor_units, money, round6, round_up
from quotebook.engine.payback import LONGEST_LIFE, internal_rate_of_return, net_present_value, years_to_pay_back
from quotebook.engine.stock import owned


@dataclass(frozen=True)
class Assumed:
    """What the owner assumes of money, and how far is looked."""

    crew_cost: Decimal
    """One crew member, per hour."""
    discount_rate: Decimal
    """What the money could earn elsewhere, per year."""
    resale_share: Decimal
    """Resale value at the end of the life, as a share of the price."""
    steps: int
    """Steps beyond what is owned."""


class Worth(NamedTuple):
    """What a purchase is worth. None where it never pays back, or nothing is bought."""

    net_present_value: Decimal
    internal_rate_of_return: Decimal | None
    months_to_pay_back: Decimal | None


@dataclass(frozen=True)
class Kind:
    """One kind of panel to buy more of."""

    code: str
    owned: int
    price: Decimal
    """For one panel."""
    life_years: int
    step: int
    """Panels bought at a time."""


@dataclass(frozen=True)
class Step:
    """The season with so many panels of one kind, and of the others as many as are owned."""

    owned: int
    bought: int
    cost: Decimal
    served: int
    refused: int
    short_of_other_than_panels: int
    """Of those refused, the ones that lacked edging or sheets, and not panels."""
    earned: Decimal
    crew_paid: Decimal
    crew_hours: Decimal
    added: int
    """Hires that the last step added."""
    more: int
    """Hires more than if none were bought."""
    gain: Decimal
    """What a year leaves more than if none were bought."""
    worth: Worth
    last_step: Worth
    """Of the last step alone."""


@dataclass(frozen=True)
class KindSteps:
    """Every step of one kind, the first of which buys none."""

    kind: Kind
    steps: tuple[Step, ...]

    @property
    def best(self) -> int:
        """The step of the greatest net present value: from it on another step no longer pays."""
        return max(range(len(self.steps)), key=lambda place: (self.steps[place].worth.net_present_value, -place))


def kinds_to_buy(card: RateCard, season: Sequence[Booking], codes: Sequence[str]) -> list[Kind]:
    """The kinds with these codes and the steps in which they are bought."""
    return [
        Kind(
            code=code,
            owned=int(holding.owned),
            price=holding.purchase_price,
            life_years=min(int(round_up(holding.life_years)), LONGEST_LIFE),
            step=usual_panels(season, code),
        )
        for code in codes
        for holding in [card.holdings[code]]
    ]


def stocks_of(card: RateCard, purchases: Sequence[Mapping[str, int]]) -> Stocks:
    """What is owned, with each of several purchases: panels bought by kind."""
    counts = owned(card)
    items = tuple(item for item in counts if item.what != "carts")
    columns = [
        [counts[item] + (bought.get(item.code, 0) if item.what == "panels" else 0) for item in items]
        for bought in purchases
    ]
    return Stocks(items, numpy.array(columns, dtype=numpy.int64).T.reshape(len(items), len(purchases)))


def purchases_by_step(kinds: Sequence[Kind], steps: int) -> list[dict[str, int]]:
    """For each kind every number of panels, from none on: one kind after another."""
    return [{kind.code: kind.step * count} for kind in kinds for count in range(steps + 1)]


def steps_of_kinds(
    card: RateCard, season: Sequence[Booking], kinds: Sequence[Kind], assumed: Assumed
) -> list[KindSteps]:
    """Play the season with every step of each kind."""
    played = play(season, stocks_of(card, purchases_by_step(kinds, assumed.steps)))
    size = assumed.steps + 1
    return [
        KindSteps(kind, _steps(kind, played, place * size, assumed, int(card.rates.minor_units)))
        for place, kind in enumerate(kinds)
    ]


def paid_to_crew(hours: Counts, crew_cost: Decimal, minor_units: int) -> Counts:
    """What the crew is paid for each of several sums of hours (millionths), in minor units."""
    paid = [money(Decimal(each).scaleb(-MILLIONTHS) * crew_cost, minor_units) for each in hours.ravel().tolist()]
    return numpy.array([in_minor_units(each, minor_units) for each in paid], dtype=numpy.int64).reshape(hours.shape)


def _steps(kind: Kind, played: Played, start: int, assumed: Assumed, minor_units: int) -> tuple[Step, ...]:
    found: list[Step] = []
    crew_paid = paid_to_crew(played.crew_hours, assumed.crew_cost, minor_units)
    net = played.earned - crew_paid
    for count in range(assumed.steps + 1):
        column, before = start + count, start + max(0, count - 1)
        bought = kind.step * count
        gain = major(net - net[start], column, minor_units)
        last_gain = major(net - net[before], column, minor_units)
        found.append(
            Step(
                owned=kind.owned + bought,
                bought=bought,
                cost=money(bought * kind.price, minor_units),
                served=int(played.served[column]),
                refused=int(played.refused[column]),
                short_of_other_than_panels=int(played.short_of_other_than_panels[column]),
                earned=major(played.earned, column, minor_units),
                crew_paid=major(crew_paid, column, minor_units),
                crew_hours=major(played.crew_hours, column, MILLIONTHS),
                added=int(played.served[column] - played.served[before]),
                more=int(played.served[column] - played.served[start]),
                gain=gain,
                worth=worth(kind, bought, gain, assumed, minor_units),
                last_step=worth(kind, kind.step if count else 0, last_gain, assumed, minor_units),
            )
        )
    return tuple(found)


def major(amounts: Counts, place: int, minor_units: int) -> Decimal:
    """One of several amounts of minor units, in the unit itself; of other counts too."""
    return in_major_units(int(amounts[place]), minor_units)


def worth(kind: Kind, panels: int, gain: Decimal, assumed: Assumed, minor_units: int) -> Worth:
    """What it is worth to buy so many panels that leave `gain` more in every year of their life."""
    cost = money(panels * kind.price, minor_units)
    flows = [gain] * kind.life_years
    flows[-1] += money(cost * assumed.resale_share, minor_units)
    value = money(net_present_value(assumed.discount_rate, flows) - cost, minor_units)
    years = years_to_pay_back(cost, flows) if panels else None
    if years is None:
        return Worth(value, None, None)
    rate = internal_rate_of_return([-cost, *flows])
    return Worth(value, None if rate is None else round6(rate), round6(12 * years))
