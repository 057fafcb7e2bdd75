"""How sure the figures are: the season is drawn again many times, and played with every step each time.

In a redrawn season each request comes as often as chance has it, once on average (a Poisson number, so that a season
may have more requests than the one played, or fewer), each time moved by whole weeks, since a wedding stays on its
day of the week. Requests keep the order in which they came. What is assumed: the next season's requests are like these.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import repeat
from typing import NamedTuple

import numpy
from numpy.random import Generator, default_rng
from numpy.typing import NDArray

from quotebook.buying.demand import MILLIONTHS, Booking
from quotebook.buying.purchases import Assumed, Kind, Worth, paid_to_crew, purchases_by_step, stocks_of, worth
from quotebook.buying.season import Counts, play
from quotebook.engine.model import RateCard
from quotebook.engine.money import in_major_units
from quotebook.progress import watched

MOST_WEEKS = 2
"""By how many weeks a request is moved at most, back or on."""
DRAWN_AGAIN = 200

WORST, MIDDLE, BEST = "worst_tenth", "middle", "best_tenth"
"""A tenth of the redrawn seasons were worse, half were, or nine tenths were."""
DREADED = ("refused", "crew_paid", "crew_hours", "months_to_pay_back")
"""Figures of which more is worse."""


class Band(NamedTuple):
    """One figure of one step over the redrawn seasons; None where a purchase never pays back."""

    worst_tenth: Decimal | None
    middle: Decimal | None
    best_tenth: Decimal | None


@dataclass(frozen=True)
class Redrawn:
    """The bands of every figure, by its name: of each step of one kind."""

    steps: tuple[dict[str, Band], ...]


def draw(season: Sequence[Booking], chance: Generator) -> list[Booking]:
    """The season drawn again."""
    times = chance.poisson(1, len(season)).tolist()
    drawn = [booking for booking, count in zip(season, times, strict=True) for booking in repeat(booking, count)]
    days = (7 * chance.integers(-MOST_WEEKS, MOST_WEEKS + 1, len(drawn))).tolist()
    return [
        Booking(booking.name, booking.first + moved, booking.last + moved, booking.services)
        for booking, moved in zip(drawn, days, strict=True)
    ]


def redrawn(
    card: RateCard, season: Sequence[Booking], kinds: Sequence[Kind], assumed: Assumed, times: int, seed: int
) -> list[Redrawn]:
    """The bands of each kind's steps over so many redrawn seasons; equal seeds give equal bands."""
    chance = default_rng(seed)
    stocks = stocks_of(card, purchases_by_step(kinds, assumed.steps))
    each = [play(draw(season, chance), stocks) for _ in watched(range(times), "Drawing the season again")]
    figures = {
        name: numpy.stack([getattr(played, name) for played in each])
        for name in ("served", "refused", "earned", "crew_hours")
    }
    size, minor_units = assumed.steps + 1, int(card.rates.minor_units)
    figures["crew_paid"] = paid_to_crew(figures["crew_hours"], assumed.crew_cost, minor_units)
    figures["net"] = figures["earned"] - figures["crew_paid"]
    found = []
    for place, kind in enumerate(kinds):
        columns = {name: counts[:, place * size : (place + 1) * size] for name, counts in figures.items()}
        bands = tuple(_bands(kind, step, columns, assumed, minor_units) for step in range(size))
        found.append(Redrawn(bands))
    return found


def _bands(kind: Kind, step: int, columns: dict[str, Counts], assumed: Assumed, minor_units: int) -> dict[str, Band]:
    """The bands of one step. Worth follows from the gain, which is the more the better for each of its figures."""
    places = {"served": 0, "refused": 0, "earned": minor_units, "crew_paid": minor_units, "crew_hours": MILLIONTHS}
    counted = {name: _tenths(columns[name][:, step], each) for name, each in places.items()}
    gains = _tenths(columns["net"][:, step] - columns["net"][:, 0], minor_units)
    worths = [worth(kind, kind.step * step, gain, assumed, minor_units) for gain in gains]
    bands = {name: Band(*(each[::-1] if name in DREADED else each)) for name, each in counted.items()}
    bands["gain"] = Band(*gains)
    return bands | {name: Band(*(getattr(each, name) for each in worths)) for name in Worth._fields}


def _tenths(counts: NDArray[numpy.int64], places: int) -> list[Decimal]:
    """The values that a tenth, a half and nine tenths of `counts` are below, each one of them."""
    ordered = numpy.sort(counts)
    last = len(ordered) - 1
    picked = (last // 10, last // 2, last - last // 10)
    return [in_major_units(int(ordered[place]), places) for place in picked]
