"""What to charge: for each kind how much of it was out, what was lost for want of it, and its price ladder.

Figures only: the price is the owner's to decide.
"""

from calendar import monthrange
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from quotebook.buying.demand import Asked, listed_codes
from quotebook.buying.price_ladder import Costs, Hires, Rung, hires_of_kind, price_ladder
from quotebook.buying.use import KindUse, outcomes, use_of_kind
from quotebook.engine.model import RateCard
from quotebook.errors import Misuse


@dataclass(frozen=True)
class ChargeTerms:
    """What the owner asks, and what a hire costs."""

    name: str
    """Of the season, such as `2027`, as it stands in sentences."""
    year: int | None
    """None for all that a list has."""
    step: Decimal
    """Between the prices of the ladder, as a share of today's."""
    sold_out_share: Decimal
    """It is said of a kind that was sold out on more than this share of days."""
    costs: Costs


@dataclass(frozen=True)
class KindCharge:
    """One kind: how much of it was out, and what its hires would leave at other prices."""

    use: KindUse
    hires: Hires
    ladder: tuple[Rung, ...]


@dataclass(frozen=True)
class Charges:
    """The answer."""

    card: RateCard
    terms: ChargeTerms
    requests: int
    left_out: int
    """Requests for kinds that the card no longer has."""
    kinds: tuple[KindCharge, ...]


def codes_to_charge(card: RateCard, named: Sequence[str]) -> tuple[str, ...]:
    """The kinds named, spelled as the card does, or all that are owned. Raises Misuse for one that is not."""
    codes = listed_codes(card, named) or tuple(code for code, holding in card.holdings.items() if holding.owned)
    for code in codes:
        if not card.holdings[code].owned:
            raise Misuse(f"{code}: none is owned, so none was out. quotebook buy says what owning some would bring.")
    if not codes:
        raise Misuse("The rate card has no panel that is owned. Enter how many you own, on sheet Panels.")
    return codes


def charges(card: RateCard, season: Sequence[Asked], codes: Sequence[str], terms: ChargeTerms) -> Charges:
    """How much of each kind was out in a season that is not empty, what was lost, and the ladder of its price."""
    known = [asked for asked in season if not asked.kinds_gone]
    priced = outcomes(card, known)
    first, last = _time(season, terms.year)
    minor_units = int(card.rates.minor_units)
    kinds = []
    for code in codes:
        hires = hires_of_kind(card, priced, code)
        ladder = price_ladder(hires, terms.step, terms.costs, minor_units)
        use = use_of_kind(card, priced, code, terms.name, first, last)
        kinds.append(KindCharge(use, hires, tuple(ladder)))
    return Charges(card, terms, len(season), len(season) - len(known), tuple(kinds))


def _time(season: Sequence[Asked], year: int | None) -> tuple[date, date]:
    """The year, or whole months from the first event to the last."""
    if year is not None:
        return date(year, 1, 1), date(year, 12, 31)
    days = [asked.day for asked in season]
    last = max(days)
    return min(days).replace(day=1), last.replace(day=monthrange(last.year, last.month)[1])
