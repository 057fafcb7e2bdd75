"""What to buy for a season: every step of every kind, how sure that is, the best purchase and the busiest days."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from quotebook.buying.best import Purchase, best_purchase
from quotebook.buying.busy import BusyDay, busiest_days
from quotebook.buying.demand import Asked, Booking, bookings, listed_codes
from quotebook.buying.purchases import Assumed, KindSteps, kinds_to_buy, purchases_by_step, steps_of_kinds, stocks_of
from quotebook.buying.redraws import Redrawn, redrawn
from quotebook.buying.season import play
from quotebook.engine.model import RateCard
from quotebook.errors import Misuse


@dataclass(frozen=True)
class Question:
    """What the owner asks."""

    name: str
    """Of the season, such as `2027`, as it stands in sentences."""
    codes: tuple[str, ...]
    """The kinds that may serve requests, and of which more may be bought."""
    preferred: bool
    """Whether the order of the kinds is the owner's preference; if not, the one that leaves most is tried first."""
    assumed: Assumed
    budget: Decimal | None = None
    redraws: int = 0
    seed: int = 1


@dataclass(frozen=True)
class Answer:
    """The season worked out."""

    card: RateCard
    question: Question
    season: tuple[Asked, ...]
    """As it was played, growth included."""
    booked: tuple[Booking, ...]
    kinds: tuple[KindSteps, ...]
    redrawn: tuple[Redrawn, ...]
    """Of each kind; empty if nothing was drawn again."""
    purchase: Purchase | None
    """The best within the budget; None without one."""
    busiest: tuple[BusyDay, ...]
    choices: tuple[int, ...]
    """For each request with what is owned, the place of the service it got, or -1."""


def codes_to_play(card: RateCard, named: Sequence[str]) -> tuple[str, ...]:
    """The kinds named, spelled as the card does, or all of them. Raises Misuse for one not on the card or unpriced."""
    codes = listed_codes(card, named or [*card.holdings])
    for code in codes:
        if not card.holdings[code].purchase_price:
            raise Misuse(
                f"{code}: has no price on the rate card. Enter what a panel costs, on sheet Panels, or name the kinds "
                "to play (--kind)."
            )
    return codes


def work_out(card: RateCard, season: Sequence[Asked], question: Question) -> Answer:
    """Play the season with every step of each kind, and draw it again as often as is asked for."""
    assumed, codes = question.assumed, question.codes
    booked = bookings(card, season, codes, assumed.crew_cost, question.preferred)
    kinds = kinds_to_buy(card, booked, codes)
    today = play(booked, stocks_of(card, purchases_by_step(kinds[:1], 0)))
    again = redrawn(card, booked, kinds, assumed, question.redraws, question.seed) if question.redraws else []
    return Answer(
        card=card,
        question=question,
        season=tuple(season),
        booked=tuple(booked),
        kinds=tuple(steps_of_kinds(card, booked, kinds, assumed)),
        redrawn=tuple(again),
        purchase=None if question.budget is None else best_purchase(card, booked, kinds, assumed, question.budget),
        busiest=tuple(busiest_days(booked, today, 0, codes)),
        choices=tuple(today.choices[:, 0].tolist()),
    )
