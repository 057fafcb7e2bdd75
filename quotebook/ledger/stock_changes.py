"""What became of the stock itself: what is missing from it and since when, and kinds that have another code by now.

Plain functions over the details of events. What the rate card says is owned was bought and not sold;
nothing that was lost is taken off there. The ledger takes losses off, and only once: from the day
of a count on, what was lost before that day counts no more, because it was not there to be counted.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from itertools import pairwise
from typing import NamedTuple

from quotebook.engine.stock import Hold, Item
from quotebook.ledger.events import Details

Rename = Details
"""The details of an event `renamed`."""


class _Change(NamedTuple):
    day: date
    order: int
    """Among the changes of a day: what was lost comes first, then events as they were recorded."""
    pieces: int
    """So many more are missing from that day on; below zero, so many fewer."""
    counted: bool
    """Whether `pieces` is all that is missing, whatever was before."""


def missing_holds(losses: Iterable[tuple[Item, date, int]], events: Sequence[Details]) -> list[Hold]:
    """What is missing from the stock, as holds that end where a later count takes their place, if any does.

    `losses` has the item, the first day on which it is missing, and the number of pieces; `events` are
    the stock's own, in order.
    """
    renames = [event for event in events if event["event"] == "renamed"]
    changes: dict[Item, list[_Change]] = {}
    spelled: dict[tuple[str, str], Item] = {}

    def add(item: Item, change: _Change) -> None:
        changes.setdefault(spelled.setdefault(item.key, item), []).append(change)

    for item, day, pieces in losses:
        add(item, _Change(day, -1, pieces, counted=False))
    for order, event in enumerate(events):
        if event["event"] in ("repaired", "recounted"):
            counted = event["event"] == "recounted"
            [item] = renamed({Item(*event["item"]): 1}, renames, event)
            add(item, _Change(date.fromisoformat(event["day"]), order, _more_missing(event), counted))
    return [hold for item, of_item in changes.items() for hold in _holds(item, sorted(of_item))]


def still_held(losses: Iterable[tuple[Item, date, int]], events: Sequence[Details], item: Item, day: date) -> int:
    """How many pieces of an item are lost already on a day, and held with their quote until later.

    `losses` has what was counted back by then: the item, the first day on which it is missing, and the number. What
    was repaired meanwhile is there from that first day on, and is not among them.
    """
    gone = Counter[date]()
    for lost, gone_from, pieces in losses:
        if lost.key == item.key and gone_from > day:
            gone[gone_from] += pieces
    for repaired, pieces, there_from in repairs(events):
        if repaired.key == item.key and there_from in gone:
            gone[there_from] -= pieces
    return sum(max(0, pieces) for pieces in gone.values())


def _more_missing(event: Details) -> int:
    """How many more pieces are missing by a repair, which is below zero, or are missing in all by a count."""
    if event["event"] == "repaired":
        return -int(event["pieces"])
    return int(event["owned"] - event["counted"] - event.get("still_held", 0))


def _holds(item: Item, changes: Sequence[_Change]) -> Iterable[Hold]:
    """Each change as a hold, from its day to the day before the next count."""
    counts = [place for place, change in enumerate(changes) if change.counted]
    for start, end in pairwise([0, *counts, len(changes)]):
        last = changes[end].day - timedelta(1) if end < len(changes) else date.max
        for change in changes[start:end]:
            if change.pieces and change.day <= last:
                yield Hold(item, change.pieces, change.day, last)


def repairs(events: Sequence[Details]) -> list[tuple[Item, int, date]]:
    """What came back repaired or replaced, by the codes of now: the item, the pieces, and from which day on."""
    renames = [event for event in events if event["event"] == "renamed"]
    found = []
    for event in events:
        if event["event"] == "repaired":
            [item] = renamed({Item(*event["item"]): 1}, renames, event)
            found.append((item, event["pieces"], date.fromisoformat(event["day"])))
    return found


def renamed(items: Mapping[Item, int], renames: Sequence[Rename], since: Details) -> Counter[Item]:
    """Counts of items by the codes of now; `since` is the event by whose codes they are given."""
    later = [rename for rename in renames if order_of(rename) > order_of(since)]
    counts: Counter[Item] = Counter()
    for item, pieces in items.items():
        for rename in later:
            if item.code.casefold() == rename["old"].casefold():
                item = item._replace(code=rename["new"])
        counts[item] += pieces
    return counts


def order_of(event: Details) -> tuple[int, str, int]:
    """The place of an event among all, by which they are ordered."""
    return event.get("clock", 0), event.get("desk", ""), event.get("sequence", 0)
