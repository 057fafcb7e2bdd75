"""Which days were the busiest of a season, and what they would have needed."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from quotebook.buying.demand import Booking
from quotebook.buying.season import Played

BUSIEST = 10
"""Days that are shown."""


@dataclass(frozen=True)
class BusyDay:
    """One day of the season as it is played with what is owned."""

    day: date
    floors: int
    """Requests whose panels are away."""
    refused: int
    """Requests for that day that were refused."""
    out: dict[str, int]
    """Panels of each kind that are away."""
    needed: dict[str, int]
    """Panels of each kind that would be away if nothing were refused: a request that was refused counts for the first
    of its ways."""


def busiest_days(season: Sequence[Booking], played: Played, stock: int, codes: Sequence[str]) -> list[BusyDay]:
    """The days on which most was refused, then most was out, with the stock in column `stock`.

    Looked at are the days on which something leaves: on no other day can more be needed than on the one before.
    """
    starts = sorted({booking.first for booking in season})
    placed = {day: place for place, day in enumerate(starts)}
    out: list[Counter[str]] = [Counter() for _ in starts]
    refused: list[Counter[str]] = [Counter() for _ in starts]
    floors: Counter[int] = Counter()
    turned_away: Counter[int] = Counter()
    for booking, choice in zip(season, played.choices[:, stock].tolist(), strict=True):
        service = booking.services[max(0, choice)] if booking.services else None
        place = placed[booking.first]
        while place < len(starts) and starts[place] <= booking.last:
            (floors if choice >= 0 else turned_away)[place] += 1
            for item, pieces in service.needs if service else ():
                if item.what == "panels":
                    (out if choice >= 0 else refused)[place][item.code] += pieces
            place += 1
    found = [
        BusyDay(
            day=date.fromordinal(starts[place]),
            floors=floors[place],
            refused=turned_away[place],
            out={code: out[place][code] for code in codes},
            needed={code: out[place][code] + refused[place][code] for code in codes},
        )
        for place in range(len(starts))
    ]
    return sorted(found, key=lambda each: (-each.refused, -sum(each.needed.values()), each.day))[:BUSIEST]
