"""What is free, from what the card says is owned and what the ledger says is away."""

import csv
import io
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta

from quotebook.engine.entries import days_counted
from quotebook.engine.figures import Figures
from quotebook.engine.model import FloorLine, RateCard, Rates, Request
from quotebook.engine.money import ZERO, plain
from quotebook.engine.stock import (
    Alternatives,
    Item,
    Shortage,
    alternatives,
    free,
    held_days,
    least_free,
    needs_by_line,
    owned,
    shortage_periods,
    shortages,
)
from quotebook.ledger import Ledger
from quotebook.spreadsheets.csv_text import safe_text

FreeByDay = dict[Item, list[int]]


def free_by_day(ledger: Ledger, card: RateCard, first: date, last: date, excluding: str = "") -> FreeByDay:
    """How many of everything the card counts are free on each day, without what quote `excluding` holds."""
    return free(owned(card), ledger.holds(first, last, excluding), first, last)


def rates_for(ledger: Ledger, card: RateCard, request: Request, excluding: str = "") -> Rates:
    """The card's rates, each kind with what is free of it on all the days that the request would hold.

    As on the card where the request has no days yet. Where more is promised than owned, none is free.
    """
    held = _held(card, request)
    if held is None:
        return card.rates
    least = least_free(free_by_day(ledger, card, *held, excluding))
    kinds = [replace(kind, free=max(ZERO, ZERO + least[Item("panels", kind.panel)])) for kind in card.rates.kinds]
    return replace(card.rates, kinds=tuple(kinds))


@dataclass(frozen=True)
class Fit:
    """Whether a request can be had: what is short on which days, and what would do for each line that takes of it."""

    shortages: tuple[Shortage, ...]
    alternatives: dict[int, Alternatives]
    """By floor line, from 1."""


def fit(ledger: Ledger, card: RateCard, request: Request, figures: Figures, excluding: str = "") -> Fit:
    """Whether everything that a request takes is free on all its days. A request without days fits.

    `figures` are the request's at the card's rates.
    """
    held = _held(card, request)
    if held is None:
        return Fit((), {})
    by_line = needs_by_line(card.rates, request, figures)
    by_day = free_by_day(ledger, card, *held, excluding)
    short = shortages(sum(by_line, Counter()), by_day, held[0])
    items = {shortage.item for shortage in short}
    least = least_free(by_day)
    lines = [line for line, needed in enumerate(by_line, 1) if items & needed.keys()]
    return Fit(tuple(short), {line: alternatives(card.rates, request, figures, line, least) for line in lines})


def _held(card: RateCard, request: Request) -> tuple[date, date] | None:
    days = days_counted(request.days or ZERO, card.rates.largest_entry)
    if request.event_date is None or not days:
        return None
    return held_days(request.event_date, int(days), int(card.firm.turnaround_days))


def say_fit(found: Fit) -> Iterator[str]:
    """What is short, and what would do instead; nothing where all of it fits."""
    if found.shortages:
        yield f"Short: {'; '.join(map(str, shortage_periods(found.shortages)))}."
    yield from say_instead(found)


def say_instead(found: Fit) -> Iterator[str]:
    """What would do in place of each floor that does not fit, in the form that `issue --floor` takes."""
    for line, would_do in found.alternatives.items():
        floors = (*would_do.other_kinds, *([would_do.smaller] if would_do.smaller else ()))
        named = ", ".join(map(_as_asked, floors)) or "nothing else that is free"
        yield f"Instead of floor {line} would do: {named}."


def _as_asked(floor: FloorLine) -> str:
    edging = "edging" if floor.edging_wanted else "bare"
    return f"{floor.panel}:{plain(floor.width)}x{plain(floor.length)}:{edging}"


def to_json(by_day: FreeByDay, first: date) -> dict:
    """As JSON: a row for each item and day."""
    return {
        "rows": [
            {"day": str(first + timedelta(day)), "what": item.what, "kind": item.code, "free": left}
            for item, each in by_day.items()
            for day, left in enumerate(each)
        ]
    }


def to_csv(by_day: FreeByDay, first: date) -> str:
    """As CSV: days down, items across, and no cell that a spreadsheet runs."""
    written = io.StringIO(newline="")
    writer = csv.writer(written)
    writer.writerow(["day", *(safe_text(str(item)) for item in by_day)])
    for day, left in enumerate(zip(*by_day.values(), strict=True)):
        writer.writerow([first + timedelta(day), *left])
    return written.getvalue()
