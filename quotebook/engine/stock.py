"""What is free on which day, and what else fits where a request does not.

Counts are pieces, days are calendar days. Whatever a floor line needs is held for the whole of its
hold: from the day before set-up, which is on the first day of the event, to the end of turnaround.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import accumulate, groupby
from typing import NamedTuple, SupportsInt

from quotebook.engine.figures import Figures
from quotebook.engine.model import NOT_HERE, FloorLine, RateCard, Rates, Request
from quotebook.engine.price import price

STOCKED = ("panels", "slot_pieces", "tongue_pieces", "corners", "sheets", "carts")
"""Line figures that are counts of something kept in stock."""


class Item(NamedTuple):
    """One thing that is kept."""

    what: str
    """One of STOCKED."""
    code: str
    """The panel's; for sheets the subfloor's; empty for carts, which take any kind."""

    @property
    def key(self) -> tuple[str, str]:
        """The same for a code in capitals and in small letters."""
        return self.what, self.code.casefold()

    def __str__(self) -> str:
        return self.what.replace("_", " ") + (f" of {self.code}" if self.code else "")


class Hold(NamedTuple):
    """So many of an item away on every day from `held_from` to `held_to`, both included."""

    item: Item
    pieces: int
    held_from: date
    held_to: date


class Shortage(NamedTuple):
    """On `day`, `short` too few of an item."""

    item: Item
    day: date
    short: int


class ShortagePeriod(NamedTuple):
    """From `first` to `last` the same number of an item is short."""

    item: Item
    short: int
    first: date
    last: date

    def said(self, day: Callable[[date], str]) -> str:
        """What is short and when, with days as `day` writes them."""
        days = f"on {day(self.first)}" if self.first == self.last else f"from {day(self.first)} to {day(self.last)}"
        return f"{self.short} {self.item} {days}"


def held_days(event_date: date, days: int, turnaround_days: int) -> tuple[date, date]:
    """First and last day on which an event's panels are away (common practice, no source)."""
    return event_date - timedelta(1), event_date + timedelta(days - 1 + turnaround_days)


def items_of_line(panel: str, subfloor_kind: str, counts: Mapping[str, SupportsInt]) -> Counter[Item]:
    """What a line takes out of stock; `counts` has as many as it takes of each of STOCKED."""
    codes = dict.fromkeys(STOCKED, panel) | {"sheets": subfloor_kind, "carts": ""}
    return Counter({Item(what, code): int(counts[what]) for what, code in codes.items() if counts[what]})


def owned(card: RateCard) -> dict[Item, int]:
    """All that the rate card counts."""
    counts = {}
    for code, holding in card.holdings.items():
        counts[Item("panels", code)] = holding.owned
        counts[Item("slot_pieces", code)] = holding.edging_owned_slot
        counts[Item("tongue_pieces", code)] = holding.edging_owned_tongue
        counts[Item("corners", code)] = holding.corners_owned
    counts |= {Item("sheets", code): holding.owned for code, holding in card.sheet_holdings.items()}
    counts[Item("carts", "")] = card.carts_owned
    return {item: int(count) for item, count in counts.items()}


def needs_by_line(rates: Rates, request: Request, figures: Figures) -> list[Counter[Item]]:
    """What each floor line of a priced request takes, by the card's own codes; nothing for one that is not priced."""
    found = []
    for floor, line in zip(request.every_line, figures.lines, strict=True):
        kind = rates.listed_kind(floor.panel) if line.counted else None
        found.append(items_of_line(kind.panel, kind.subfloor_kind, vars(line)) if kind else Counter())
    return found


def needs(rates: Rates, request: Request, figures: Figures) -> Counter[Item]:
    """What all the floor lines of a priced request take together."""
    return sum(needs_by_line(rates, request, figures), Counter())


def free(owned: Mapping[Item, int], holds: Iterable[Hold], first: date, last: date) -> dict[Item, list[int]]:
    """How many of each owned item are free on each day from `first` to `last`.

    Something lost is a hold that never ends. Items that are not in `owned` are not counted; capitals in
    their codes make no difference. A count below zero means that more is promised than is owned. Linear
    in holds and in days.
    """
    days = (last - first).days + 1
    changes = {item: [0] * (days + 1) for item in owned}
    by_key = {item.key: change for item, change in changes.items()}
    for item, pieces, held_from, held_to in holds:
        change = by_key.get(item.key)
        if change and held_from <= last and held_to >= first:
            change[max(0, (held_from - first).days)] -= pieces
            change[min(days, (held_to - first).days + 1)] += pieces
    return {item: [owned[item] + change for change in accumulate(by_day[:days])] for item, by_day in changes.items()}


def least_free(free_by_day: Mapping[Item, list[int]]) -> dict[Item, int]:
    """What is free of each item on every one of the days."""
    return {item: min(by_day) for item, by_day in free_by_day.items()}


def shortages(needed: Mapping[Item, int], free_by_day: Mapping[Item, list[int]], first: date) -> list[Shortage]:
    """Every item and day where less is free than is needed. Items that are not counted are never short."""
    by_key = {item.key: (item, by_day) for item, by_day in free_by_day.items()}
    return [
        Shortage(item, first + timedelta(day), count - left)
        for needed_item, count in needed.items()
        for item, by_day in [by_key.get(needed_item.key, (needed_item, []))]
        for day, left in enumerate(by_day)
        if left < count
    ]


def not_among(items: Iterable[Item], owned: Mapping[Item, int]) -> list[Item]:
    """Items that are not owned under their code, in capitals or in small letters."""
    keys = {item.key for item in owned}
    return [item for item in items if item.key not in keys]


def shortage_periods(shortages: Iterable[Shortage]) -> list[ShortagePeriod]:
    """Shortages with those of days in a row put together, by item and day."""
    found = []
    in_a_row = groupby(
        enumerate(sorted(shortages)), lambda each: (each[1].item, each[1].short, each[1].day - timedelta(each[0]))
    )
    for (item, short, _), days in in_a_row:
        each = [shortage.day for _, shortage in days]
        found.append(ShortagePeriod(item, short, each[0], each[-1]))
    return found


def fits(rates: Rates, request: Request, least: Mapping[Item, int]) -> bool:
    """Whether everything that the request takes is free; `least` is what `least_free` gave for its days."""
    needed = needs(rates, request, price(rates, request))
    return all(count <= least.get(item, count) for item, count in needed.items())


@dataclass(frozen=True)
class Alternatives:
    """Floors that fit in place of one floor line: the same size of other kinds, and the largest of its own."""

    other_kinds: tuple[FloorLine, ...]
    smaller: FloorLine | None


def alternatives(
    rates: Rates, request: Request, figures: Figures, line: int, least: Mapping[Item, int]
) -> Alternatives:
    """What would do in place of floor line `line` (from 1) of a priced request, with the other lines as they are."""

    def would_fit(floor: FloorLine) -> bool:
        lines = (*request.lines[: line - 1], floor, *request.lines[line:])
        return fits(rates, replace(request, lines=lines), least)

    asked = request.lines[line - 1]
    here = [kind for kind in rates.kinds if kind.laying(request.surface) != NOT_HERE]
    others = [replace(asked, panel=kind.panel) for kind in here if kind is not rates.kind(asked.panel)]
    sizes = _smaller_sizes(rates, request, figures, line, least)
    return Alternatives(tuple(filter(would_fit, others)), next(filter(would_fit, sizes), None))


def _smaller_sizes(
    rates: Rates, request: Request, figures: Figures, line: int, least: Mapping[Item, int]
) -> list[FloorLine]:
    """Whole-panel sizes within the asked one that its kind's free panels could make, largest first.

    Among sizes of equally many panels the nearer to square comes first.
    """
    asked, own, kind = request.lines[line - 1], figures.line(line), rates.kind(request.lines[line - 1].panel)
    across, along = int(own.across), int(own.along)
    if kind is None or not across:
        return []
    width, length = own.actual_width / across, own.actual_length / along
    most = min(across * along - 1, least.get(Item("panels", kind.panel), across * along))
    grids = [(i, j) for i in range(1, across + 1) for j in range(1, along + 1) if i * j <= most]
    grids.sort(key=lambda grid: (-grid[0] * grid[1], abs(grid[0] * width - grid[1] * length)))
    return [replace(asked, width=i * width, length=j * length) for i, j in grids]
