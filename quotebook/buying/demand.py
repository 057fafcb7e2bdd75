"""What a season asks for: requests in the order in which they came, and how each kind of panel could serve them.

Money is in whole minor units, days are numbers of the calendar (`date.toordinal`).
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from itertools import repeat
from typing import NamedTuple

from quotebook.engine.before_tax import goods_before_tax, labour_before_tax
from quotebook.engine.model import NOT_HERE, FloorLine, RateCard, Request
from quotebook.engine.money import ZERO, in_minor_units, money, round_up
from quotebook.engine.price import price
from quotebook.engine.stock import Item, held_days, needs
from quotebook.errors import Misuse
from quotebook.progress import watched

AGREED, LOST, LISTED, TYPICAL = "agreed", "lost", "listed", "typical"
"""What became of a request, or where it is from."""

PLAYED = ("panels", "slot_pieces", "tongue_pieces", "corners", "sheets")
"""What is counted while a season is played: carts are not, since they are cheap and every kind shares them."""

MILLIONTHS = 6
"""Decimal places of an hour that are counted."""


@dataclass(frozen=True)
class Asked:
    """One request of a season; it has a date and days."""

    name: str
    """The quote's number, or the row's."""
    request: Request
    outcome: str
    why: str = ""
    """Why it was lost, as far as the ledger knows."""
    kinds_gone: bool = False
    """Whether it asked for a kind that the card no longer has, for which its first kind stands now."""

    @property
    def day(self) -> date:
        """The first day of the event. Raises ValueError for a request without a date."""
        if self.request.event_date is None:
            raise ValueError(f"{self.name} has no date")
        return self.request.event_date


class Service(NamedTuple):
    """One way to serve a request."""

    kind: str
    """The code of the panel, or codes with `+` between them where its floors are laid in several."""
    needs: tuple[tuple[Item, int], ...]
    """Panels first."""
    earned: int
    """Hire, edging and subfloor after discount, and labour; delivery, waiver and tax are left out, even where prices
    have their tax in them."""
    crew_hours: int
    """Millionths of the person-hours that the crew is paid for, so that sums of them are exact."""
    leaves: int
    """What is left of what it earned when the crew is paid: by this the kinds are ranked."""

    @property
    def panels(self) -> int:
        return sum(pieces for item, pieces in self.needs if item.what == "panels")


class Booking(NamedTuple):
    """A request that is ready to be played."""

    name: str
    first: int
    """The first and the last day on which its panels are away."""
    last: int
    services: tuple[Service, ...]
    """Ways to serve it, the one to try first at the head; none where no kind may go on its ground."""


def listed_codes(card: RateCard, named: Sequence[str]) -> tuple[str, ...]:
    """The kinds named, each once and spelled as the card does. Raises Misuse for one that is not on the card."""
    for code in named:
        if card.rates.kind(code) is None:
            raise Misuse(f"{code}: is not on the rate card, which has {', '.join(card.holdings)}.")
    return tuple(dict.fromkeys(card.rates.listed_kind(code).panel for code in named))


def bookings(
    card: RateCard, season: Sequence[Asked], codes: Sequence[str], crew_cost: Decimal, preferred: bool
) -> list[Booking]:
    """The bookings of a season, to be served in kinds `codes` only.

    The kinds are tried in the order of `codes` where that is the owner's preference, else the one that leaves most
    first. `crew_cost` is what one crew member costs per hour.
    """
    known: dict[Request, tuple[Service, ...]] = {}
    found = []
    for asked in watched(season, "Pricing the season"):
        request = replace(asked.request, client="", event="", venue="", event_date=None)
        if request not in known:
            services = _services(card, request, codes, crew_cost)
            known[request] = tuple(services if preferred else sorted(services, key=lambda each: -each.leaves))
        days = int(request.days or 1)
        first, last = held_days(asked.day, days, int(card.firm.turnaround_days))
        found.append(Booking(asked.name, first.toordinal(), last.toordinal(), known[request]))
    return found


def _services(card: RateCard, request: Request, codes: Sequence[str], crew_cost: Decimal) -> list[Service]:
    """A request in each kind that may go on its ground; first as it was asked for, if that is in several kinds."""
    floors = _whole_floors(card, request)
    asked_in = {line.panel for line in request.lines}
    found = []
    if len(asked_in) > 1 and asked_in <= {*codes}:
        found.append(_service(card, request, "+".join(sorted(asked_in)), crew_cost))
    for code in codes:
        kind = card.rates.listed_kind(code)
        if kind.laying(request.surface) != NOT_HERE:
            lines = tuple(replace(floor, panel=code) for floor in floors)
            found.append(_service(card, replace(request, lines=lines), code, crew_cost))
    return found


def _whole_floors(card: RateCard, request: Request) -> list[FloorLine]:
    """The floors of a request: one that is laid of several kinds, line by line, is one floor of its whole size."""
    if not any(line.joined_width or line.joined_length for line in request.lines):
        return [*request.lines]
    figures = price(card.rates, request)
    return [
        replace(line, width=own.floor_width, length=own.floor_length, joined_width=ZERO, joined_length=ZERO)
        for line, own in zip(request.lines, figures.lines, strict=False)  # blank lines of the sheet are left out
        if own.floor_width and own.floor_length
    ]


def _service(card: RateCard, request: Request, kind: str, crew_cost: Decimal) -> Service:
    figures = price(card.rates, request)
    minor_units = int(card.rates.minor_units)
    hours = (figures.setup_hours + figures.strike_hours) * card.rates.crew
    earned = goods_before_tax(card.rates, figures) + labour_before_tax(card.rates, figures)
    taken = needs(card.rates, request, figures)
    return Service(
        kind=kind,
        needs=tuple((item, taken[item]) for what in PLAYED for item in taken if item.what == what),
        earned=in_minor_units(earned, minor_units),
        crew_hours=int(hours.scaleb(MILLIONTHS)),
        leaves=in_minor_units(earned - money(hours * crew_cost, minor_units), minor_units),
    )


def usual_panels(season: Sequence[Booking], code: str) -> int:
    """The panels of the floor that is asked for most often in a kind; the smaller of two. 1 where nothing is asked."""
    counts: dict[int, int] = {}
    for booking in season:
        for service in booking.services:
            if service.kind == code:
                counts[service.panels] = counts.get(service.panels, 0) + 1
    return min(counts, key=lambda panels: (-counts[panels], panels), default=1) or 1


def grown(season: Sequence[Asked], growth: Decimal) -> list[Asked]:
    """The season with so many more requests, as a share: some come twice, evenly spread; if less, some not at all."""
    count = int(round_up(len(season) * abs(growth))) if growth else 0
    picked = {(2 * place + 1) * len(season) // (2 * count) for place in range(min(count, len(season)))}
    if growth < 0:
        return [asked for place, asked in enumerate(season) if place not in picked]
    whole, rest = divmod(count, len(season)) if season else (0, 0)
    extra = {(2 * place + 1) * len(season) // (2 * rest) for place in range(rest)}
    return [each for place, asked in enumerate(season) for each in repeat(asked, 1 + whole + (place in extra))]


def typical_season(card: RateCard, year: int) -> Iterator[Asked]:
    """The card's typical floors in a year: those of a month on its Saturdays in turn, in the order of their days.

    Edging is fitted as the card has it for the ground. Each floor stands for a kind only until it is served.
    """
    any_kind = card.rates.kinds[0].panel
    found = []
    for floor in card.typical_floors:
        line = FloorLine(any_kind, floor.width, floor.length, card.firm.edging_on(floor.surface))
        request = Request(days=floor.days, surface=floor.surface, lines=(line,))
        for month, count in enumerate(floor.requests, 1):
            saturdays = _saturdays(year, month)
            found += [replace(request, event_date=saturdays[each % len(saturdays)]) for each in range(int(count))]
    ordered = sorted(found, key=lambda request: request.event_date or date.min)
    return (Asked(f"typical {number}", request, TYPICAL) for number, request in enumerate(ordered, 1))


def _saturdays(year: int, month: int) -> list[date]:
    first = date(year, month, 1).toordinal()
    days = map(date.fromordinal, range(first, first + 31))
    return [day for day in days if day.month == month and day.isoweekday() == 6]
