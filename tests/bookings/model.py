"""The ledger as a child would keep it: for each quote a pile of what it was, for each kind a list of what went missing.

Nothing is shared with the program. A kind is a number here, whatever the card calls it; what is free on
a day is counted piece by piece on that day; and taking something back is looking at the pile below.
"""

from dataclasses import dataclass, field, replace
from datetime import timedelta


@dataclass(frozen=True)
class Quote:
    kind: int
    pieces: int
    held_from: object
    held_to: object
    revisions: int = 1
    agreed: int = 0
    """The revision that is agreed; 0 if none is."""
    delivered: bool = False
    counted: bool = False
    lost: int = 0
    cancelled: bool = False

    @property
    def holds(self):
        return self.agreed and not self.cancelled


@dataclass
class Model:
    owned: list
    quotes: dict = field(default_factory=dict)
    """For each number the pile of what the quote was: the last is what it is. Only decisions add to it."""
    changes: list = field(default_factory=list)
    """(kind, day, +pieces back) or (kind, day, "counted", missing then), in the order of recording."""

    def quote(self, number):
        return self.quotes[number][-1]

    def decide(self, number, **what):
        self.quotes[number].append(replace(self.quote(number), **what))

    def amend(self, number, **what):
        """What is no decision, and stays when decisions are taken back: another revision."""
        self.quotes[number] = [replace(quote, **what) for quote in self.quotes[number]]

    def missing(self, kind, day):
        """Of a kind, on a day: each change in its turn, the losses of a day before the rest of that day."""
        turns = [
            (quote.held_to + timedelta(1), -1, "lost", quote.lost)
            for quote in (pile[-1] for pile in self.quotes.values())
            if quote.kind == kind and quote.holds and quote.lost
        ]
        turns += [(when, order, what, n) for order, (each, when, what, n) in enumerate(self.changes) if each == kind]
        gone = 0
        for when, _, what, n in sorted(turns):
            if when <= day:
                gone = n if what == "counted" else gone - n if what == "repaired" else gone + n
        return gone

    def free(self, kind, day, without=None):
        away = sum(
            pile[-1].pieces for number, pile in self.quotes.items()
            if number != without and pile[-1].kind == kind and pile[-1].holds
            and pile[-1].held_from <= day <= pile[-1].held_to
        )  # fmt: skip
        return self.owned[kind] - self.missing(kind, day) - away

    def fits(self, number):
        quote = self.quote(number)
        days = (quote.held_to - quote.held_from).days + 1
        return all(
            self.free(quote.kind, quote.held_from + timedelta(day), without=number) >= quote.pieces
            for day in range(days)
        )
