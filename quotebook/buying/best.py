"""The best purchase within a budget: so many steps of each kind together, played through in one season.

Kinds last for different times, so a purchase is judged by what a year leaves when the panels are paid for in equal
yearly amounts over their own lives (`engine.payback.payment`). Where there are few enough purchases all of them are
played, and the answer is exact. Otherwise it is looked for: from nothing bought on, the best of all that change one
or two kinds is taken, until none is better; that may miss the best.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import combinations, product

from quotebook.buying.demand import Booking
from quotebook.buying.purchases import Assumed, Kind, paid_to_crew, stocks_of
from quotebook.buying.season import play
from quotebook.engine.model import RateCard
from quotebook.engine.money import ZERO, in_major_units, money
from quotebook.engine.payback import payment

MOST_WORK = 4_000_000
"""Requests times purchases that are all played: some seconds."""
FURTHEST = 3
"""Steps by which two kinds are changed at a time while the best is looked for."""

Counts = tuple[int, ...]
"""Steps bought of each kind."""


@dataclass(frozen=True)
class Purchase:
    """The best purchase found. Money is in the card's currency."""

    counts: Counts
    bought: dict[str, int]
    """Panels by kind; kinds of which none are bought are left out."""
    cost: Decimal
    served: int
    added: int
    """Hires that it adds."""
    gain: Decimal
    """What a year leaves more than if none were bought."""
    left_a_year: Decimal
    """Of that, what is left when the panels are paid for."""
    exact: bool
    """Whether every purchase within the budget was played."""
    played: int
    """How many were."""


class Search:
    """Plays purchases of one season, and remembers what they came to."""

    def __init__(self, card: RateCard, season: Sequence[Booking], kinds: Sequence[Kind], assumed: Assumed) -> None:
        self.card, self.season, self.kinds, self.assumed = card, season, kinds, assumed
        self.minor_units = int(card.rates.minor_units)
        self.known: dict[Counts, tuple[int, int]] = {}
        """Hires served, and what is left of the season when the crew is paid, in minor units."""
        self.play_all([(0,) * len(kinds)])

    def play_all(self, purchases: Iterable[Counts]) -> None:
        """Play those that were not played yet."""
        new = [counts for counts in purchases if counts not in self.known]
        if new:
            played = play(self.season, stocks_of(self.card, [self.bought(counts) for counts in new]))
            net = played.earned - paid_to_crew(played.crew_hours, self.assumed.crew_cost, self.minor_units)
            self.known |= zip(new, zip(played.served.tolist(), net.tolist(), strict=True), strict=True)

    def bought(self, counts: Counts) -> dict[str, int]:
        return {kind.code: kind.step * count for kind, count in zip(self.kinds, counts, strict=True) if count}

    def cost(self, counts: Counts) -> Decimal:
        return sum((self.cost_of_kind(kind, count) for kind, count in zip(self.kinds, counts, strict=True)), ZERO)

    def cost_of_kind(self, kind: Kind, count: int) -> Decimal:
        return money(kind.step * count * kind.price, self.minor_units)

    def paid_a_year(self, counts: Counts) -> Decimal:
        """The equal yearly amounts that pay for the panels, over the life of each kind."""
        return sum((self._paid_a_year(kind, count) for kind, count in zip(self.kinds, counts, strict=True)), ZERO)

    def _paid_a_year(self, kind: Kind, count: int) -> Decimal:
        cost, years = self.cost_of_kind(kind, count), Decimal(kind.life_years)
        resale = money(cost * self.assumed.resale_share, self.minor_units)
        return money(payment(self.assumed.discount_rate, years, cost, resale), self.minor_units)

    def gain(self, counts: Counts) -> Decimal:
        """What a year leaves more than if none were bought."""
        none = (0,) * len(self.kinds)
        return in_major_units(self.known[counts][1] - self.known[none][1], self.minor_units)

    def merit(self, counts: Counts) -> tuple[Decimal, Decimal, Counts]:
        """What is left a year, by which purchases are ranked; of equal ones the one that costs less comes first."""
        return self.gain(counts) - self.paid_a_year(counts), -self.cost(counts), tuple(-count for count in counts)


def best_purchase(
    card: RateCard, season: Sequence[Booking], kinds: Sequence[Kind], assumed: Assumed, budget: Decimal
) -> Purchase:
    """The purchase of at most `assumed.steps` steps of each kind, within the budget, that leaves most a year."""
    search = Search(card, season, kinds, assumed)
    affordable = [
        next((count for count in range(assumed.steps, 0, -1) if search.cost_of_kind(kind, count) <= budget), 0)
        for kind in kinds
    ]
    size = 1
    for most in affordable:
        size *= most + 1
    exact = size * max(1, len(season)) <= MOST_WORK
    if exact:
        search.play_all(
            counts for counts in product(*(range(most + 1) for most in affordable)) if search.cost(counts) <= budget
        )
    else:
        _climb(search, affordable, budget)
    best = max(search.known, key=search.merit)
    none = (0,) * len(kinds)
    return Purchase(
        counts=best,
        bought=search.bought(best),
        cost=search.cost(best),
        served=search.known[best][0],
        added=search.known[best][0] - search.known[none][0],
        gain=search.gain(best),
        left_a_year=search.merit(best)[0],
        exact=exact,
        played=len(search.known),
    )


def _climb(search: Search, affordable: Sequence[int], budget: Decimal) -> None:
    """Go to the best of what is near, again and again, until nothing near is better."""
    here = (0,) * len(affordable)
    while True:
        near = [counts for counts in {*_near(here, affordable)} if search.cost(counts) <= budget]
        search.play_all(near)
        best = max([here, *near], key=search.merit)
        if best == here:
            return
        here = best


def _near(here: Counts, affordable: Sequence[int]) -> Iterator[Counts]:
    """Purchases that buy another number of one kind, or of two kinds up to FURTHEST steps more or less."""
    for place, most in enumerate(affordable):
        yield from ((*here[:place], count, *here[place + 1 :]) for count in range(most + 1))
    changes = [change for change in range(-FURTHEST, FURTHEST + 1) if change]
    for one, other in combinations(range(len(here)), 2):
        for change, other_change in product(changes, repeat=2):
            counts = [*here]
            counts[one] += change
            counts[other] += other_change
            if all(0 <= count <= most for count, most in zip(counts, affordable, strict=True)):
                yield tuple(counts)
