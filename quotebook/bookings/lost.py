"""Counts why quotes were lost, by season and kind of panel."""

from collections import Counter
from collections.abc import Iterable
from typing import NamedTuple

from quotebook.ledger.listing import ListedQuote


class Lost(NamedTuple):
    """Declined quotes of one season, with one kind of panel and one reason."""

    season: int
    """The year of the event."""
    panel: str
    because: str
    """As the owner wrote it first, capitals aside; empty where no reason was given."""
    quotes: int


def count_lost(quotes: Iterable[ListedQuote]) -> list[Lost]:
    """How many declined quotes there are of each season, kind and reason, the most frequent reason first.

    A quote with several kinds counts once for each of them.
    """
    counts: Counter[tuple[int, str, str]] = Counter()
    spelled: dict[str, str] = {}
    for quote in quotes:
        if quote.state == "declined":
            reason = quote.because.casefold()
            spelled.setdefault(reason, quote.because)
            counts.update((quote.event_date.year, panel, reason) for panel in quote.panels)
    rows = [Lost(season, panel, spelled[reason], count) for (season, panel, reason), count in counts.items()]
    return sorted(rows, key=lambda row: (row.season, row.panel, -row.quotes, row.because))
