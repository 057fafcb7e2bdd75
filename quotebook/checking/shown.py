"""The figures that a returned file shows, held against what is due, and the state they are in.

A file keeps the values that some program worked out last. They may be missing (a library saved the
file), all 0 (a program that writes formulas and works nothing out), stale (something was changed and
nothing worked out since), consistent, or mismatching: then some are wrong whatever happened.
"""

from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

from quotebook.checking.due import agrees, joined
from quotebook.checking.returned import ReturnedCell
from quotebook.contract.vocabulary import FIGURES
from quotebook.engine.money import ZERO
from quotebook.spreadsheets.cells import Fault

if TYPE_CHECKING:
    from quotebook.checking.comparison import Comparison
    from quotebook.checking.reckoning import Edit

MISSING, ZEROS, STALE, CONSISTENT, MISMATCHING = STATES = ("missing", "zero", "stale", "consistent", "mismatching")

MOST_WEIGHED = 8
"""Edits of which any few may have gone without being worked out; of more, all or none."""


class Wrong(NamedTuple):
    """A figure that is not what its own sheet makes it."""

    name: str
    """Of the cell; of one that only shows another's figure, that one's."""
    found: ReturnedCell
    due: object
    effect: Decimal | None
    """What it alone adds to the total in the file."""


class Reading(NamedTuple):
    """What may have been otherwise when the figures were worked out last."""

    back: frozenset["Edit"] = frozenset()
    """Edits that were not made yet."""
    again: frozenset[str] = frozenset()
    """Changed entries that had yet another value."""


class Shown:
    """The cached values of one comparison."""

    def __init__(self, comparison: "Comparison"):
        self.comparison, self.returned, self.due = comparison, comparison.returned, comparison.due
        self._known: dict[Reading, tuple[dict | None, list[str], list[Wrong]]] = {}

    @cached_property
    def unworked(self) -> str:
        """MISSING or ZEROS where most of the figures that should be something else are that."""
        engine = self.comparison.reckoning.engine
        due = [self.returned.cells.get(name) for name, figure in engine.by_name().items() if figure not in (0, "")]
        values = [found.value for found in due if found and found.formula is not None]
        if 2 * values.count(None) > len(values):
            return MISSING
        return ZEROS if 2 * sum(map(_is_nothing, values)) > len(values) else ""

    @cached_property
    def state(self) -> str | None:
        """One of STATES; None where the engine cannot price what is in the sheet."""
        if self.due.figures() is None:
            return None
        if self.wrong:
            return MISMATCHING
        return self.unworked or (MISSING if self.unfilled else STALE if self.stale_by else CONSISTENT)

    @cached_property
    def unfilled(self) -> list[str]:
        """Formulas without a value in a file that has the others'."""
        due = self.due.figures()
        return [name for name in self.due.comparable if self._is_unfilled(name, due)]

    def _is_unfilled(self, name: str, due: Mapping) -> bool:
        return self.returned.cells[name].value is None and due[name] != ""

    def _differing(self, due: Mapping | None) -> list[str]:
        """Names of the figures that are not as due, but for those that nobody has worked out."""
        cells, names = self.returned.cells, self.due.comparable
        if due is None:
            return names
        names = [name for name in names if not agrees(cells[name].value, due[name])]
        if self.unworked:
            names = [name for name in names if not _is_nothing(cells[name].value)]
            return [name for name in names if name in _FIGURES or not self._is_as_issued(cells[name].value, [name])]
        return [name for name in names if not self._is_unfilled(name, due)]

    def _differing_mirrors(self, due: Mapping | None) -> list[Wrong]:
        """Cells that only show figures of other cells, and show neither what is there nor what is due there."""
        differing, cells = [], self.returned.cells
        for found, names in self.due.mirrors if due is not None else ():
            there, right = [cells[name].value for name in names], [due.get(name, cells[name].value) for name in names]
            if any(isinstance(value, Fault) for value in there) and isinstance(found.value, Fault):
                continue
            if self.unworked and (_is_nothing(found.value) or self._is_as_issued(found.value, names)):
                continue
            if not (found.value is None or agrees(found.value, joined(right)) or agrees(found.value, joined(there))):
                differing.append(Wrong(names[0], found, joined(right), None))
        return differing

    def _is_as_issued(self, value: object, names: Iterable[str]) -> bool:
        """Whether a cell still shows what was in cells of those names when the quote was issued."""
        return agrees(value, joined([self._issued.get(name) for name in names]))

    @cached_property
    def _issued(self) -> dict[str, object]:
        content = self.comparison.content
        return content.owner | content.inputs | content.results

    def _read(self, reading: Reading) -> tuple[dict | None, list[str], list[Wrong]]:
        """What is due by a reading, and what differs from that: figures, and cells that show them again."""
        if reading not in self._known:
            held, by_entry = self._held(reading), self.comparison.reckoning.readers(reading.again)
            due = self.due.holding(reading.back, held) if held else self.due.figures(reading.back)
            differing = [name for name in self._differing(due) if name not in by_entry]
            self._known[reading] = due, differing, self._differing_mirrors(due)
        return self._known[reading]

    def _held(self, reading: Reading) -> dict[str, object]:
        """The figures that are worked out from entries with yet another value, as they are in the file."""
        reckoning = self.comparison.reckoning
        values = {name: reckoning.usable(name) for name in reckoning.readers(reading.again) & _FIGURES}
        return {name: value for name, value in values.items() if value is not None}

    def _weight(self, reading: Reading) -> int:
        """How much a reading leaves unexplained; an entry of which nothing is known explains one figure less."""
        _, differing, mirrors = self._read(reading)
        return len(differing) + len(mirrors) + len(reading.again)

    @cached_property
    def _last(self) -> Reading:
        """The reading that leaves least unexplained."""
        none = grown = Reading()
        edits = [] if self.unworked or not self._weight(none) else self.comparison.edits
        while len(edits) <= MOST_WEIGHED:
            further = min(self._further(grown, edits), key=self._weight, default=grown)
            if self._weight(further) >= self._weight(grown):
                break
            grown = further
        return min((none, Reading(frozenset(edits)), grown), key=self._weight)

    def _further(self, reading: Reading, edits: list["Edit"]) -> Iterator[Reading]:
        for edit in edits:
            if edit not in reading.back | reading.again:
                yield reading._replace(back=reading.back | {edit})
                if edit in self.comparison.entries:
                    yield reading._replace(again=reading.again | {edit})

    @property
    def stale_by(self) -> frozenset["Edit"]:
        """The edits after which nothing was worked out."""
        return self._last.back | self._last.again

    @cached_property
    def wrong(self) -> list[Wrong]:
        """The figures that are wrong whatever was worked out: each where it begins, if what rests on it followed."""
        due, differing, mirrors = self._read(self._last)
        return [] if due is None else [*self._traced(due, differing), *mirrors]

    def _traced(self, due: dict, differing: list[str]) -> Iterator[Wrong]:
        held = self._held(self._last)
        for name in differing:
            found = self.returned.cells[name]
            if not agrees(found.value, due[name]):
                before, followed = due, self._followed(name, due, held)
                if followed:
                    due, held = followed, held | {name: self.comparison.reckoning.usable(name)}
                yield Wrong(name, found, before[name], self._effect(name, found, before, due))

    def _followed(self, name: str, due: Mapping, held: Mapping) -> dict | None:
        """What is due with a wrong figure taken as it is, where that puts others right."""
        value = self.comparison.reckoning.usable(name)
        if name not in _FIGURES or value is None:
            return None
        followed = self.due.holding(self._last.back, {**held, name: value})
        fewer = followed and len(self._differing(followed)) < len(self._differing(due)) - 1
        return followed if fewer else None

    def _effect(self, name: str, found: ReturnedCell, before: Mapping, after: Mapping) -> Decimal | None:
        money = self.comparison.reckoning.money
        if name not in _FIGURES:
            return None
        if name == "total" and after is before:
            return money(found.value - before["total"]) if isinstance(found.value, Decimal) else None
        return money(after["total"] - before["total"])

    @property
    def lag(self) -> Decimal | None:
        """What the file's total misses because nothing was worked out, where it shows one."""
        due, total, money = self.due.figures(), self.comparison.shown_total, self.comparison.reckoning.money
        if due is None or total is None:
            return None
        if self.unworked:
            return ZERO if total else money(-due["total"])
        if "total" in self.comparison.reckoning.taken():
            return ZERO
        return money(self._read(self._last)[0]["total"] - due["total"])


def _is_nothing(value: object) -> bool:
    """Whether a cell holds what programs put there that work nothing out."""
    return value in (None, "", 0)


_FIGURES = frozenset(FIGURES)
