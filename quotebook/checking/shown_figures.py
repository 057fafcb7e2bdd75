"""How the figures that a returned file shows stand to what its formulas make.

A file keeps the values that some program worked out last. They may be missing (a library saved the file),
all 0 (a program that writes formulas and works nothing out), stale (something was changed and nothing worked
out since), consistent, or mismatching: then some are wrong whatever happened.
"""

from collections.abc import Iterable, Iterator
from decimal import Decimal
from functools import cached_property
from typing import NamedTuple

from quotebook.checking.comparison import Comparison
from quotebook.checking.edits import Edit
from quotebook.checking.returned import ReturnedCell
from quotebook.checking.worked_out import WorkedOut
from quotebook.engine.money import ZERO
from quotebook.evaluation.agreement import agrees
from quotebook.evaluation.evaluation import Changes, Evaluation, FromCachedValues
from quotebook.evaluation.values import NotWorkedOut
from quotebook.spreadsheets.cells import Cell, CellAddress, Fault, StoredValue
from quotebook.spreadsheets.formula_text import all_dependents

MISSING, ZEROS, STALE, CONSISTENT, MISMATCHING = STATES = ("missing", "zero", "stale", "consistent", "mismatching")

MOST_WEIGHED = 8
"""Edits of which any few may have gone without being worked out; of more, all or none."""


class WrongCell(NamedTuple):
    """A cell that does not show what its own sheet makes it."""

    name: str
    """Its own name; of a cell without one, the name that its formula begins with."""
    found: ReturnedCell
    due: object
    effect: Decimal | None
    """What it adds to the total that the file shows."""


class StaleHypothesis(NamedTuple):
    """What may have been otherwise when the values were worked out last."""

    not_yet_made: frozenset[Edit] = frozenset()
    changed_again: frozenset[Edit] = frozenset()
    """Entries that had yet another value than they were issued with, or have now."""


class ShownFigures(WorkedOut):
    """One comparison, evaluated, and the values that its file carries held against that."""

    def __init__(self, comparison: Comparison):
        super().__init__(comparison)
        self._inconsistent: dict[StaleHypothesis, frozenset[CellAddress]] = {}

    @cached_property
    def _cached(self) -> dict[CellAddress, StoredValue]:
        """What the file shows in each formula's cell."""
        return {address: self.returned.at(*address).value for address in self.formula_cells}

    @cached_property
    def never_calculated(self) -> str:
        """MISSING or ZEROS where most of the cells that should show something else show that."""
        if self._most_are_filled:
            return ""
        due = [address for address, value in self.values.items() if _is_something(value)]
        values = [self._cached[address] for address in due]
        if 2 * sum(value is None for value in values) > len(values):
            return MISSING
        return ZEROS if 2 * sum(map(_is_nothing, values)) > len(values) else ""

    @property
    def _most_are_filled(self) -> bool:
        """Whether most cells must be filled that should be: those that are by what was proved at issue are more than
        those that are empty and might be due."""
        filled = might_be_due = 0
        for address, cached in self._cached.items():
            if _is_nothing(cached):
                might_be_due += address not in self.proved or _is_something(self.proved[address])
            elif address in self.proved:
                filled += _is_something(self.proved[address])
        return filled >= might_be_due

    @cached_property
    def state(self) -> str | None:
        """One of STATES, or None where the sheet's total is not worked out here."""
        if isinstance(self.total, NotWorkedOut):
            return None
        if self.wrong:
            return MISMATCHING
        return self.never_calculated or (MISSING if self.unfilled else STALE if self.stale_by else CONSISTENT)

    @cached_property
    def unfilled(self) -> list[str]:
        """Names of formulas without a value in a file that has the others'."""
        empty = (address for address in self.formula_cells if self._cached[address] is None)
        due = ((address, self.evaluation.cell(address)) for address in empty)
        return [self.formula_cells[address] for address, value in due if not isinstance(value, Fault) and value != ""]

    @cached_property
    def _differing(self) -> list[CellAddress]:
        """The cells that show something else than they come to."""
        return [address for address, value in self.values.items() if self._differs(address, value)]

    def _differs(self, address: CellAddress, value: object) -> bool:
        cached = self._cached[address]
        if isinstance(value, Fault) and self.returned.missing:
            return False  # it rests on a name that was lost, and shows what it was before: the name is told
        if self.never_calculated:
            return not (_is_nothing(cached) or agrees(cached, value) or agrees(cached, self._issued(address)))
        return not (cached is None or agrees(cached, value)) and not self._is_excused(address, cached)

    def _issued(self, address: CellAddress) -> object:
        return self.content.results.get(self.formula_cells[address], NotWorkedOut(""))

    def _is_excused(self, address: CellAddress, cached: object) -> bool:
        """Whether a cell differs for a reason that another finding tells.

        It counts rows or columns that somebody has moved, or it shows an error that some programs make of a
        text where a number belongs, and others do not.
        """
        formula = (self.returned.at(*address).formula or "").upper()
        if self._has_moved and ("ROW(" in formula or "COLUMN(" in formula):
            return True
        return isinstance(cached, Fault) and any(
            read in self.comparison.texts_for_numbers for read in self.evaluation.read_by(address)
        )

    # What was not worked out since

    @cached_property
    def stale_by(self) -> frozenset[Edit]:
        """The edits after which nothing was worked out; not those that only texts and the status rest on."""
        stale, names = self._hypothesis.not_yet_made | self._hypothesis.changed_again, self.comparison.edited_names
        return frozenset(edit for edit in stale if self._carries_figures(names[edit]))

    def _carries_figures(self, name: str) -> bool:
        return name in self.content.formulas or bool(all_dependents(self.comparison.readers, {name}) - {"status"})

    @cached_property
    def _hypothesis(self) -> StaleHypothesis:
        """The one that leaves the fewest cells at odds with their own formulas."""
        none = grown = StaleHypothesis()
        if self._is_from_before:
            return StaleHypothesis(frozenset(self.comparison.edits))
        edits = [] if self.never_calculated or not self._differing else self.comparison.edits
        while len(edits) <= MOST_WEIGHED:
            further = min(self._further(grown, edits), key=self._weight, default=grown)
            if self._weight(further) >= self._weight(grown):
                break
            grown = further
        return min((none, StaleHypothesis(frozenset(edits)), grown), key=self._weight)

    @cached_property
    def _is_from_before(self) -> bool:
        """Whether the file shows its issue and comes to something else by now: nothing was worked out since, and so no
        entry was worked out with yet another value."""
        if self.never_calculated or not (self.comparison.edits and self._shows_the_issue):
            return False
        total = self.returned.cells.get("total")
        if (
            total
            and total.place in self.formula_cells
            and self._differs(total.place, self.evaluation.cell(total.place))
        ):
            return True
        return bool(self._differing)

    @property
    def _shows_the_issue(self) -> bool:
        """Whether each figure that has a formula shows what it was issued with."""
        found = ((name, self.returned.cells[name]) for name in self.content.formulas if name in self.returned.cells)
        return all(cell.formula is None or agrees(cell.value, self.content.results[name]) for name, cell in found)

    def _further(self, hypothesis: StaleHypothesis, edits: list[Edit]) -> Iterator[StaleHypothesis]:
        for edit in edits:
            if edit not in hypothesis.not_yet_made | hypothesis.changed_again:
                yield hypothesis._replace(not_yet_made=hypothesis.not_yet_made | {edit})
                if edit in self.comparison.entry_edits:
                    yield hypothesis._replace(changed_again=hypothesis.changed_again | {edit})

    def _weight(self, hypothesis: StaleHypothesis) -> int:
        """How much a hypothesis leaves unexplained; an entry of which nothing is known weighs half a cell."""
        return 2 * len(self._at_odds(hypothesis)) + len(hypothesis.changed_again)

    def _at_odds(self, hypothesis: StaleHypothesis) -> frozenset[CellAddress]:
        """The cells that do not show what their formulas make of what the cells that they read show."""
        if hypothesis not in self._inconsistent:
            known = FromCachedValues(self.returned.workbook, self.comparison.without(hypothesis.not_yet_made))
            cells = self._suspects - self._readers_of(hypothesis.changed_again)
            at_odds = (address for address in cells if self._is_at_odds(address, known.cell(address)))
            self._inconsistent[hypothesis] = frozenset(at_odds)
        return self._inconsistent[hypothesis]

    @cached_property
    def _suspects(self) -> set[CellAddress]:
        """The cells that can be at odds: those that read an edit, or show something else than they come to."""
        return {*self._differing, *self._readers_of(self.comparison.edits)} & self.formula_cells.keys()

    def _is_at_odds(self, address: CellAddress, local: object) -> bool:
        cached = self._cached[address]
        return cached is not None and not agrees(cached, local) and not self._is_excused(address, cached)

    def _readers_of(self, edits: Iterable[Edit]) -> set[CellAddress]:
        """The formulas that read what was edited themselves, and those that were edited."""
        changes = self.comparison.without(edits)
        return self.evaluation.direct_dependents(changes) | {*changes.cells}

    # What is wrong whatever was worked out

    @cached_property
    def wrong(self) -> list[WrongCell]:
        """The cells where something wrong begins: they do not follow from what they read, and are not right either."""
        if self._is_from_before and self._can_be_as_issued and self._repeats_are_of_the_issue:
            return []
        then = self._then
        wrong = self._differing
        if not self.never_calculated:
            if then is not self.evaluation:
                suspects = [address for address in self.formula_cells if address in self._suspects]
                wrong = [address for address in suspects if self._differs(address, then.cell(address))]
            at_odds = self._at_odds(self._hypothesis) if wrong else ()
            wrong = [address for address in wrong if address in at_odds]
        pinned = {address: Cell(self._cached[address], None) for address in wrong}
        return [
            WrongCell(
                self.formula_cells[address],
                self.returned.at(*address),
                then.cell(address),
                self._effect(address, pinned),
            )
            for address in wrong
        ]

    @property
    def _repeats_are_of_the_issue(self) -> bool:
        """Whether the cells without a figure of their own, which repeat others, show what these were at issue."""
        figures = {found.place for name, found in self.returned.cells.items() if name in self.content.results}
        repeats = (address for address in self.formula_cells if address not in figures)
        return not any(self._differs(address, self._as_issued.cell(address)) for address in repeats)

    @cached_property
    def _then(self) -> Evaluation:
        """The sheet as it was when its values were worked out last."""
        hypothesis = self._hypothesis
        if not hypothesis.not_yet_made and not hypothesis.changed_again:
            return self.evaluation
        kept = {
            address: Cell(self._cached[address], None)
            for address in self._readers_of(hypothesis.changed_again) & self.formula_cells.keys()
        }
        then = self._without(hypothesis.not_yet_made)
        return then.with_changes(Changes(kept)) if kept else then

    def _effect(self, address: CellAddress, pinned: dict[CellAddress, Cell]) -> Decimal | None:
        """What a wrong cell adds to the total that the file shows, if what rests on it goes by it."""
        total = self.returned.cells.get("total")
        if total and total.place not in pinned and agrees(total.value, self._total(self._then)):
            return ZERO
        others = {place: cell for place, cell in pinned.items() if place != address}
        known = self._proved(self.comparison.touched | {self.formula_cells[place] for place in pinned})
        there, without = (
            self._total(Evaluation(self.returned.workbook, self._then.changes | Changes(cells), known))
            for cells in (pinned, others)
        )
        return self._difference(there, without)

    @property
    def lag(self) -> Decimal | None:
        """What the file's total misses because nothing was worked out, where it shows one."""
        shown = self.comparison.shown_total
        if shown is None or not isinstance(self.total, Decimal):
            return None
        if self.never_calculated:
            return ZERO if shown else self._difference(ZERO, self.total)
        return self._difference(self._total(self._then), self.total)


def _is_something(value: object) -> bool:
    """Whether a cell that comes to this should show something."""
    return not (_is_nothing(value) or isinstance(value, Fault))


def _is_nothing(value: object) -> bool:
    """Whether a cell holds what programs put there that work nothing out."""
    return not value
