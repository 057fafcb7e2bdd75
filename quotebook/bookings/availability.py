"""Tells what is free: what the card says is owned, less what the ledger says is away."""

import csv
import io
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta

from quotebook.contract.wording import worldwide
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
    not_among,
    owned,
    shortage_periods,
    shortages,
)
from quotebook.errors import Misuse
from quotebook.ledger import Ledger
from quotebook.spreadsheets.csv_text import safe_text

FreeByDay = dict[Item, list[int]]
"""How many of each item are free on each of some days in a row."""


def free_by_day(ledger: Ledger, card: RateCard, first: date, last: date, excluding: str = "") -> FreeByDay:
    """How many of each item on the card are free on each day; what quote `excluding` holds counts as free."""
    return free(owned(card), ledger.holds(first, last, excluding), first, last)


def rates_for(ledger: Ledger, card: RateCard, request: Request, excluding: str = "") -> Rates:
    """The card's rates, with the number of panels of each kind free on all the days that the request would hold.

    If the request has no days yet, every panel owned counts as free. If more panels are promised than
    are owned, none is free.
    """
    held = _held(card, request)
    if held is None:
        return card.rates
    least = least_free(free_by_day(ledger, card, *held, excluding))
    kinds = [replace(kind, free=max(ZERO, ZERO + least[Item("panels", kind.panel)])) for kind in card.rates.kinds]
    return replace(card.rates, kinds=tuple(kinds))


def must_know_kinds(ledger: Ledger, card: RateCard, today: date | None = None) -> None:
    """Raises Misuse if something is held, today or later, of a kind that the card no longer has.

    Nothing is promised then: a new code on the card might be that kind under another name, and its
    panels would be promised twice.
    """
    counted = owned(card)
    if gone := not_among(ledger.held_items(today or date.today()), counted):
        raise Misuse(
            f"{gone[0]} are held for agreed quotes, and the rate card no longer has that code. Nothing is promised "
            f"until you put it back, or say which kind it is now: quotebook rename {gone[0].code} NEW"
        )


@dataclass(frozen=True)
class Fit:
    """Whether a request fits: what is short on which days, and the alternatives to each line that needs some of it."""

    shortages: tuple[Shortage, ...]
    alternatives: dict[int, Alternatives]
    """The alternatives to each floor line that is short, by its number from 1."""


def fit(ledger: Ledger, card: RateCard, request: Request, figures: Figures, excluding: str = "") -> Fit:
    """Whether everything that a request takes is free on all its days. A request without days always fits.

    `figures` are the request's at the card's rates.
    """
    held = _held(card, request)
    if held is None:
        return Fit((), {})
    request = request.as_picked()
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
    """What is short and the alternatives, as lines of text; no line if everything fits."""
    if found.shortages:
        periods = (period.said(worldwide) for period in shortage_periods(found.shortages))
        yield f"Short: {'; '.join(periods)}."
    yield from say_alternatives(found)


def say_alternatives(found: Fit) -> Iterator[str]:
    """The alternatives to each floor that does not fit, in the form that `issue --floor` takes."""
    for line, alternatives_to_line in found.alternatives.items():
        smaller = alternatives_to_line.smaller
        floors = (*alternatives_to_line.other_kinds, *([smaller] if smaller else ()))
        named = ", ".join(map(_as_option, floors)) or "nothing else that is free"
        yield f"Alternatives to floor {line}: {named}."


def _as_option(floor: FloorLine) -> str:
    edging = "edging" if floor.edging_wanted else "bare"
    return f"{floor.panel}:{plain(floor.width or ZERO)}x{plain(floor.length or ZERO)}:{edging}"


def to_json(by_day: FreeByDay, first: date) -> dict[str, object]:
    """What is free as JSON: a row for each item and day, from the day `first` on."""
    return {
        "rows": [
            {"day": str(first + timedelta(day)), "what": item.what, "kind": item.code, "free": left}
            for item, each in by_day.items()
            for day, left in enumerate(each)
        ]
    }


def to_csv(by_day: FreeByDay, first: date) -> str:
    """What is free as CSV: a row for each day, a column for each item, and no text that a spreadsheet would run."""
    written = io.StringIO(newline="")
    writer = csv.writer(written)
    writer.writerow(["day", *(safe_text(str(item)) for item in by_day)])
    for day, left in enumerate(zip(*by_day.values(), strict=True)):
        writer.writerow([first + timedelta(day), *left])
    return written.getvalue()
