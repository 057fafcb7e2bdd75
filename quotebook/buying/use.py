"""How much of each kind of panel was out in a season, by month and by weekday, and what was lost for want of it.

A panel is out on every day on which it cannot be hired to another: from the day before the event to the end of
turnaround. Agreed hires are out as they were agreed. Requests of a list are taken to be hires in the order of its
rows while the panels that they ask for are free. A request that was lost was lost for want of panels if it could not
have been had beside all that was agreed. Only panels are counted here, in the kind that was asked for.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from itertools import groupby
from typing import NamedTuple

from quotebook.buying.demand import AGREED, LOST, Asked
from quotebook.engine.figures import Figures
from quotebook.engine.model import RateCard, Request
from quotebook.engine.money import ZERO, round6
from quotebook.engine.price import price
from quotebook.engine.stock import held_days, needs
from quotebook.progress import watched

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


class Priced(NamedTuple):
    """A request at the prices of today's card, and what became of it."""

    request: Request
    figures: Figures
    day: date
    """The first day of the event."""
    days_out: range
    """Numbers of the days (`date.toordinal`) on which its panels are out."""
    panels: Mapping[str, int]
    """Panels by kind."""
    served: bool
    beyond: Mapping[str, int]
    """For each kind, how many panels it wanted beyond what was there; empty where they would have been free."""


class Use(NamedTuple):
    """One kind on some days of the season."""

    name: str
    """Of the days: a month as `2027-06`, a weekday, or the season."""
    days: int
    panel_days: int
    """Panels out, summed over the days."""
    share: Decimal
    """Of the panel-days owned."""
    sold_out: int
    """Days on which fewer panels were left than the floor that is asked for most often takes."""
    requests: int
    """Requests for the kind, by the first day of the event; so are the next three."""
    hires: int
    refused: int
    """Requests that were lost for want of panels of this kind."""
    beyond: int
    """Panels that those wanted beyond what was there."""

    @property
    def share_sold_out(self) -> Decimal:
        """The share of the days on which the kind was sold out."""
        return Decimal(self.sold_out) / self.days if self.days else ZERO


@dataclass(frozen=True)
class KindUse:
    """One kind over the season, by month and by weekday."""

    kind: str
    owned: int
    usual: int
    """Panels of the floor that is asked for most often, at most as many as are owned."""
    season: Use
    months: tuple[Use, ...]
    weekdays: tuple[Use, ...]


def outcomes(card: RateCard, season: Sequence[Asked]) -> list[Priced]:
    """Each request of a season with its price today, and whether it was a hire or was lost for want of panels."""
    known: dict[tuple[object, ...], Figures] = {}
    out: Counter[tuple[str, int]] = Counter()
    found = {}
    agreed_first = sorted(enumerate(season), key=lambda pair: pair[1].outcome != AGREED)
    for place, asked in watched(agreed_first, "Pricing the season"):
        request = asked.request
        key = (request.days, request.surface, request.miles, request.flights, request.after_hours,
               request.discount_share, request.lines)  # fmt: skip
        if key not in known:
            known[key] = price(card.rates, request)
        taken = needs(card.rates, request, known[key])
        panels = {item.code: pieces for item, pieces in taken.items() if item.what == "panels"}
        first, last = held_days(asked.day, int(request.days or 1), int(card.firm.turnaround_days))
        days = range(first.toordinal(), last.toordinal() + 1)
        beyond = {} if asked.outcome == AGREED else _beyond(card, out, panels, days)
        served = asked.outcome == AGREED or (asked.outcome != LOST and not beyond)
        if served:
            out.update({(code, day): pieces for code, pieces in panels.items() for day in days})
        found[place] = Priced(request, known[key], asked.day, days, panels, served, beyond)
    return [found[place] for place in range(len(season))]


def _beyond(
    card: RateCard, out: Mapping[tuple[str, int], int], panels: Mapping[str, int], days: range
) -> dict[str, int]:
    """For each kind, by how many panels too few were left on the worst of the days."""
    short = {
        code: pieces + max(out[code, day] for day in days) - int(card.holdings[code].owned)
        for code, pieces in panels.items()
    }
    return {code: pieces for code, pieces in short.items() if pieces > 0}


def use_of_kind(card: RateCard, season: Sequence[Priced], code: str, name: str, first: date, last: date) -> KindUse:
    """How much of one kind was out from `first` to `last`; `name` is what that time is called."""
    owned = int(card.holdings[code].owned)
    asked = [each for each in season if each.panels.get(code)]
    usual = min(usual_floor(each.panels[code] for each in asked), owned)
    out: Counter[int] = Counter()
    for each in asked:
        if each.served:
            out.update(dict.fromkeys(each.days_out, each.panels[code]))
    days = [first + timedelta(place) for place in range((last - first).days + 1)]

    def counted(group: str, mine: Sequence[date]) -> Use:
        there = {*mine}
        wanted = [each for each in asked if each.day in there]
        panel_days = sum(out[day.toordinal()] for day in mine)
        refused = [each.beyond[code] for each in wanted if each.beyond.get(code)]
        return Use(
            name=group,
            days=len(mine),
            panel_days=panel_days,
            share=round6(Decimal(panel_days) / (owned * len(mine))) if owned and mine else ZERO,
            sold_out=sum(owned - out[day.toordinal()] < usual for day in mine),
            requests=len(wanted),
            hires=sum(each.served for each in wanted),
            refused=len(refused),
            beyond=sum(refused),
        )

    weekdays = {name: [day for day in days if day.weekday() == place] for place, name in enumerate(WEEKDAYS)}
    return KindUse(
        kind=code,
        owned=owned,
        usual=usual,
        season=counted(name, days),
        months=tuple(counted(f"{month[0]:%Y-%m}", month) for month in by_month(days)),
        weekdays=tuple(counted(weekday, mine) for weekday, mine in weekdays.items()),
    )


def usual_floor(panels: Iterable[int]) -> int:
    """The number that occurs most often, the smaller of two; 0 for none."""
    counts = Counter(panels)
    return min(counts, key=lambda each: (-counts[each], each), default=0)


def by_month(days: Iterable[date]) -> list[list[date]]:
    """Days that are in order, month by month."""
    return [[*mine] for _, mine in groupby(days, lambda day: (day.year, day.month))]


def crowded(uses: Iterable[Use], share: Decimal) -> list[Use]:
    """The groups of days on more than that share of which a kind was sold out."""
    return [use for use in uses if use.share_sold_out > share]
