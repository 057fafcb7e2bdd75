"""Corrects what was recorded: takes back a quote's last event, and says what is really there and what it is called.

Nothing is erased. Each correction is an event of its own, with what it corrects and why.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from quotebook.bookings.archive import record_event
from quotebook.bookings.availability import must_know_kinds
from quotebook.contract.wording import worldwide
from quotebook.desk import Desk
from quotebook.engine.model import RateCard
from quotebook.engine.stock import Hold, Item, owned
from quotebook.errors import Misuse
from quotebook.ledger import Ledger
from quotebook.ledger.events import Details, Recounted, Renamed, Repaired, Undone, now
from quotebook.ledger.life import last_to_undo
from quotebook.ledger.listing import ListedQuote

EVER = "9999"
"""After every moment that an event has."""


@dataclass(frozen=True)
class TakenBack:
    """An event that was taken back."""

    event: Details
    now: ListedQuote
    """Where the quote stands now."""


def undo(desk: Desk, ledger: Ledger, card: RateCard, number: str, reason: str) -> TakenBack:
    """Take back the last thing recorded of a quote.

    Raises Misuse if there is nothing to take back, and `ledger.recording.NotEnough` if what the quote
    held before is no longer free.
    """
    last = last_to_undo(ledger.history(number))
    if last is None:
        raise Misuse(f"{number}: nothing was recorded of it that can be taken back.")
    if not reason.strip():
        raise Misuse("say why, for whoever reads the history: --because TEXT")
    must_know_kinds(ledger, card)
    of_quote = {"quote_number": number, "revision": last["revision"], "reason": reason.strip()}
    record_event(
        desk, ledger, Undone(at=now(), undone_event=last["event"], undone_at=last["at"], **of_quote), owned(card)
    )
    return TakenBack(last, ledger.listed_of([number])[0])


@dataclass(frozen=True)
class There:
    """How many pieces of an item there are from a day on, with those out on hire."""

    item: Item
    day: date
    owned: int
    missing: int
    """How many of those owned are missing on that day: lost, damaged, or not there when they were counted."""

    @property
    def there(self) -> int:
        return self.owned - self.missing


def there_on(ledger: Ledger, card: RateCard, item: Item, day: date) -> There:
    """How many pieces of an item there are on a day. The item is one on the card."""
    return There(item, day, owned(card)[item], _missing(ledger.missing(), item, day))


def _missing(missing: Iterable[Hold], item: Item, day: date) -> int:
    return sum(hold.pieces for hold in missing if hold.item.key == item.key and hold.held_from <= day <= hold.held_to)


def repaired(desk: Desk, ledger: Ledger, card: RateCard, item: Item, pieces: int, day: date | None = None) -> There:
    """Record that missing pieces were repaired or replaced, and are there from a day, or today, on.

    What is still held for the quote that it went out with is missing from the end of that hold on, and is
    there from then on. Raises Misuse if fewer are missing on that day and on every later one.
    """
    day, missing = day or date.today(), ledger.missing()
    days = (day, *sorted({hold.held_from for hold in missing if hold.held_from > day}))
    there_from = next((each for each in days if 0 < pieces <= _missing(missing, item, each)), None)
    if there_from is None:
        count = max(0, _missing(missing, item, day))
        raise Misuse(f"{item}: {count} are missing on {worldwide(day)}, and {pieces} cannot come back.")
    record_event(desk, ledger, Repaired(at=now(), item=item, pieces=pieces, day=there_from))
    return there_on(ledger, card, item, there_from)


def recount(desk: Desk, ledger: Ledger, card: RateCard, item: Item, counted: int, day: date | None = None) -> There:
    """Record how many pieces were there on a day, or today, with those out on hire.

    What was lost earlier counts no more, and what was counted back by then as lost is not taken off once more when its
    quote's hold ends. Raises Misuse for a day that is yet to come, and for more pieces than the card says are owned.
    """
    today, have = date.today(), owned(card)[item]
    day = day or today
    if day > today:
        raise Misuse(f"{item}: {worldwide(day)} is yet to come, and nobody has counted then.")
    if counted > have:
        raise Misuse(
            f"{item}: found {counted}; allowed: at most {have}, as many as the rate card says you own. "
            "Enter what you bought there first."
        )
    counted_before = EVER if day == today else str(day + timedelta(1))
    still_held = ledger.still_held(item, day, counted_before)
    event = Recounted(at=now(), item=item, counted=counted, owned=have, day=day, still_held=still_held)
    record_event(desk, ledger, event)
    return There(item, day, have, have - counted)


def rename(desk: Desk, ledger: Ledger, card: RateCard, old: str, new: str) -> str:
    """Record that the kind or subfloor recorded as `old` is now `new` on the card; returns that as the card spells it.

    Raises Misuse if `old` is still on the card, `new` is not, or nothing was ever recorded under `old`.
    """
    spelled = {item.code.casefold(): item.code for item in owned(card) if item.code}
    if old.casefold() in spelled:
        raise Misuse(f"{old} is still on the rate card, and a code stays with its kind. Take it off the card first.")
    if new.casefold() not in spelled:
        raise Misuse(f"{new} is not on the rate card; allowed: {', '.join(spelled.values())}.")
    if old.casefold() not in {code.casefold() for code in ledger.codes()}:
        raise Misuse(f"{old}: nothing was ever recorded under that code.")
    record_event(desk, ledger, Renamed(at=now(), old=old, new=spelled[new.casefold()]))
    return spelled[new.casefold()]
