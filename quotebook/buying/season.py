"""Plays a season through, for many stocks at once: which requests are served, and what that comes to.

Requests are served one after another in the order given. One is served by the first of its ways for which everything
is free on all the days that it would hold, and holds it from then on; if there is none it is refused for good.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy
from numpy.typing import NDArray

from quotebook.buying.demand import Booking, Service
from quotebook.engine.stock import Item
from quotebook.progress import watched

Counts = NDArray[numpy.int64]

AT_ONCE = 2_000
"""Stocks that are played together, so that what is free of each on each day takes some megabytes and no more."""


class Stocks(NamedTuple):
    """Several stocks side by side."""

    items: tuple[Item, ...]
    owned: Counts
    """A row for each item, a column for each stock."""


class Played(NamedTuple):
    """What a season comes to with each stock: an element for each. Money is in minor units."""

    served: Counts
    refused: Counts
    short_of_other_than_panels: Counts
    """Of those refused, the ones for which panels were free, and edging or sheets were not."""
    earned: Counts
    crew_hours: Counts
    """In millionths."""
    choices: NDArray[numpy.int8]
    """A row for each request, a column for each stock: the place of the service it got, or -1."""


def play(season: Sequence[Booking], stocks: Stocks) -> Played:
    """Play a season with each of the stocks. Items that a stock does not have are not counted."""
    parts = range(0, stocks.owned.shape[1], AT_ONCE)
    played = [_play(season, stocks.items, stocks.owned[:, start : start + AT_ONCE]) for start in parts]
    return Played(*(numpy.concatenate(each, axis=-1) for each in zip(*played, strict=True)))


def _play(season: Sequence[Booking], items: tuple[Item, ...], owned: Counts) -> Played:
    """What is away grows only on days on which something leaves, so that no other days need be looked at."""
    starts = numpy.array(sorted({booking.first for booking in season}), dtype=numpy.int64)
    free = numpy.repeat(owned.astype(numpy.int32)[:, numpy.newaxis, :], max(1, len(starts)), axis=1)
    rows = {item: row for row, item in enumerate(items)}
    choices = numpy.full((len(season), owned.shape[1]), -1, dtype=numpy.int8)
    short = numpy.zeros(owned.shape[1], dtype=numpy.int64)
    windows = numpy.searchsorted(starts, [(booking.first, booking.last + 1) for booking in season]).reshape(-1, 2)
    played = zip(season, choices, windows.tolist(), strict=True)
    ways: dict[int, list[Way]] = {}  # by identity, since bookings that are alike share their services
    for booking, choice, (start, end) in watched(played, "Playing the season", len(season)):
        key = id(booking.services)
        if key not in ways:
            ways[key] = [_way(service, rows) for service in booking.services]
        short += _serve(free[:, start:end], choice, ways[key])
    return _sums(season, choices, short)


class Way(NamedTuple):
    """What one service takes."""

    rows: NDArray[numpy.int64]
    """Of the items, those of panels first."""
    pieces: NDArray[numpy.int32]
    """Of each, in a shape that spreads over stocks."""
    panels: int
    """How many of the items are panels."""


def _way(service: Service, rows: dict[Item, int]) -> Way:
    taken = [(rows[item], pieces, item.what) for item, pieces in service.needs if item in rows]
    pieces = numpy.array([pieces for _, pieces, _ in taken], dtype=numpy.int32)
    panels = sum(what == "panels" for *_, what in taken)
    return Way(numpy.array([row for row, *_ in taken], dtype=numpy.int64), pieces[:, numpy.newaxis], panels)


def _serve(free: NDArray[numpy.int32], choice: NDArray[numpy.int8], ways: Sequence[Way]) -> NDArray[numpy.bool_] | bool:
    """Serve one request with every stock; `free` are its days. Returns where panels were free, and it was refused."""
    pending = choice < 0
    had_panels = numpy.zeros_like(pending)
    for place, (rows, pieces, panels) in enumerate(ways):
        enough = free[rows].min(axis=1) >= pieces
        fits = pending & enough.all(axis=0)
        had_panels |= enough[:panels].all(axis=0)
        if fits.any():
            free[rows] -= (pieces * fits)[:, numpy.newaxis, :]
            choice[fits] = place
            pending &= ~fits
            if not pending.any():
                return False
    return had_panels & pending


def _sums(season: Sequence[Booking], choices: NDArray[numpy.int8], short: Counts) -> Played:
    """Add up what was served. The sums are exact: they stay far below the whole numbers that a float can hold."""
    served = (choices >= 0).sum(axis=0, dtype=numpy.int64)
    sums = numpy.zeros((2, choices.shape[1]))
    for place in range(max((len(booking.services) for booking in season), default=0)):
        each = numpy.array([_earned_and_hours(booking.services[place : place + 1]) for booking in season])
        sums += each.astype(numpy.float64).T @ (choices == place)
    earned, hours = numpy.rint(sums).astype(numpy.int64)
    return Played(served, len(season) - served, short, earned, hours, choices)


def _earned_and_hours(services: Sequence[Service]) -> tuple[int, int]:
    for service in services:
        return service.earned, service.crew_hours
    return 0, 0
