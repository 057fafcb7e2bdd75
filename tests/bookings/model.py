"""The ledger as a child would keep it: for each quote a pile of what it was, for each kind a list of what went missing.

Nothing is shared with the program. A kind is a number here, whatever the card calls it; what is free on
a day is counted piece by piece on that day; and taking something back is looking at the pile below.
"""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import timedelta


@dataclass(frozen=True)
class Floor:
    kind: int
    pieces: int
    held_from: object
    held_to: object


@dataclass(frozen=True)
class Quote:
    offers: Mapping
    """The floor that each revision offers."""
    returned: frozenset = frozenset()
    """The revisions of which a file came back."""
    agreed: int = 0
    """The revision that was agreed last; 0 if none was."""
    file: str = ""
    """The digest of what was agreed, and `floor` the floor in it."""
    floor: Floor | None = None
    delivered: bool = False
    counted: bool = False
    lost: int = 0
    counted_on: object = None
    """The day on which that was said."""
    cancelled: bool = False
    words: Mapping = field(default_factory=dict)
    """What was decided last about each revision, in a word."""
    reason: str = ""

    @property
    def holds(self):
        return self.agreed and not self.cancelled

    @property
    def last(self):
        return max(self.offers)

    def word(self, revision):
        return self.words.get(revision) or ("returned" if revision in self.returned else "issued")

    def shown(self):
        """The revisions that a list shows: what is agreed, and what the client has still to answer."""
        last = self.last
        if self.holds:
            waits = last > self.agreed and self.word(last) in ("issued", "returned")
            return (self.agreed, last) if waits else (self.agreed,)
        gave_way = self.word(last) == "agreed"
        return (self.agreed if gave_way else last,)


@dataclass
class Model:
    owned: list
    quotes: dict = field(default_factory=dict)
    """For each number the pile of what the quote was: the last is what it is. Only decisions add to it."""
    changes: list = field(default_factory=list)
    """(kind, day, +pieces back) or (kind, day, "counted", missing then), in the order of recording."""
    renames: list = field(default_factory=list)
    """(kind, old code, new code)."""

    def quote(self, number):
        return self.quotes[number][-1]

    def offers(self, number):
        """The revisions of a quote that were issued."""
        return self.quote(number).offers if number in self.quotes else {}

    def decide(self, number, revision, word, **what):
        was = self.quote(number)
        self.quotes[number].append(replace(was, words={**was.words, revision: word}, **what))

    def copy(self):
        piles = {number: list(pile) for number, pile in self.quotes.items()}
        return Model(self.owned, piles, list(self.changes), list(self.renames))

    def offer(self, number, revision, floor):
        self.quotes.setdefault(number, [Quote({})])
        self.amend(number, lambda quote: replace(quote, offers={**quote.offers, revision: floor}))

    def come_back(self, number, revision):
        self.amend(number, lambda quote: replace(quote, returned=quote.returned | {revision}))

    def amend(self, number, change):
        """What is no decision stays when decisions are taken back."""
        self.quotes[number] = [change(quote) for quote in self.quotes[number]]

    def missing(self, kind, day):
        """Of a kind, on a day: each change in its turn, the losses of a day before the rest of that day."""
        turns = [
            (quote.floor.held_to + timedelta(1), -1, "lost", quote.lost)
            for quote in (pile[-1] for pile in self.quotes.values())
            if quote.holds and quote.floor.kind == kind and quote.lost
        ]
        turns += [(when, order, what, n) for order, (each, when, what, n) in enumerate(self.changes) if each == kind]
        gone = 0
        for when, _, what, n in sorted(turns):
            if when <= day:
                gone = n if what == "counted" else gone - n if what == "repaired" else gone + n
        return gone

    def lost_but_held(self, kind, day):
        """Said to be lost by the end of a day, and away until later with the floor of which it was: not repaired."""
        gone = Counter()
        for quote in (pile[-1] for pile in self.quotes.values()):
            if (
                quote.holds
                and quote.lost
                and quote.floor.kind == kind
                and quote.counted_on <= day <= quote.floor.held_to
            ):
                gone[quote.floor.held_to + timedelta(1)] += quote.lost
        for each, when, what, n in self.changes:
            if each == kind and what == "repaired" and when in gone:
                gone[when] -= n
        return sum(n for n in gone.values() if n > 0)

    def free(self, kind, day, without=None):
        away = sum(
            pile[-1].floor.pieces for number, pile in self.quotes.items()
            if number != without and pile[-1].holds and pile[-1].floor.kind == kind
            and pile[-1].floor.held_from <= day <= pile[-1].floor.held_to
        )  # fmt: skip
        return self.owned[kind] - self.missing(kind, day) - away

    def fits(self, number, floor):
        days = (floor.held_to - floor.held_from).days + 1
        return all(
            self.free(floor.kind, floor.held_from + timedelta(day), without=number) >= floor.pieces
            for day in range(days)
        )
