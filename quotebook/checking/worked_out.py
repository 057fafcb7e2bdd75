"""What a returned sheet comes to by its own formulas, and how the values that the file carries stand to that.

A file keeps the values that some program worked out last. They may be missing (a library saved the file),
all 0 (a program that writes formulas and works nothing out), stale (something was changed and nothing worked
out since), consistent, or mismatching: then some are wrong whatever happened.
"""

from collections.abc import Collection, Iterable, Iterator
from decimal import Decimal
from functools import cached_property
from typing import NamedTuple

from quotebook.checking.comparison import Comparison
from quotebook.checking.edits import CellEdit, Edit
from quotebook.checking.moved import NOT_MOVED
from quotebook.checking.returned import ReturnedCell
from quotebook.contract.labels import Labels
from quotebook.contract.stamped import minor_units_of
from quotebook.contract.values import CellValue
from quotebook.engine.money import ZERO, money
from quotebook.evaluation.agreement import agrees
from quotebook.evaluation.evaluation import Changes, Evaluation, FromCachedValues
from quotebook.evaluation.values import NotWorkedOut
from quotebook.spreadsheets.cells import Cell, CellAddress, CellRange, Fault, StoredValue
from quotebook.spreadsheets.formula_text import all_dependents, names_in

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


class WorkedOut:
    """One comparison, evaluated."""

    def __init__(self, comparison: Comparison):
        self.comparison, self.returned, self.content = comparison, comparison.returned, comparison.content
        self._inconsistent: dict[StaleHypothesis, frozenset[CellAddress]] = {}

    @cached_property
    def labels(self) -> Labels:
        """What the sheet calls its names."""
        return Labels(self.content)

    def subject(self, name: str, place: CellAddress) -> str:
        """What a finding is about: `Labour (labour), Quote L30`."""
        return f"{self.labels.named(name)}, {place.sheet} {place.cell}"

    # The sheet as it works out

    @cached_property
    def evaluation(self) -> Evaluation:
        """The workbook as it came back. What rests on no edit is as it was proved to be when it was issued."""
        return Evaluation(self.returned.workbook, known=self._proved(self.comparison.touched))

    @cached_property
    def _may_have_moved(self) -> bool:
        """Whether somebody may have inserted or deleted rows or columns: names, texts or formulas are not as issued."""
        return any(moved is not NOT_MOVED for moved in self.returned.moved.values())

    @cached_property
    def _has_moved(self) -> bool:
        """Whether rows or columns are elsewhere than they were."""
        return any(moved.any_elsewhere for moved in self.returned.moved.values())

    def _proved(self, but: Collection[str]) -> dict[CellAddress, CellValue]:
        """The figures as proved at issue without some names and what rests on them; none where rows may have moved."""
        if self._may_have_moved:
            return {}
        cells, beyond = self.returned.cells, {*but, *all_dependents(self.comparison.readers, but)}
        return {cells[name].place: value for name, value in self.content.results.items() if name not in beyond}

    @cached_property
    def total(self) -> object:
        """What the sheet makes its total: a Decimal, or what stands in its place."""
        return self._total(self.evaluation)

    def _total(self, evaluation: Evaluation) -> object:
        where = evaluation.named("total", "")
        if isinstance(where, CellRange):
            return evaluation.cell(CellAddress(where.sheet, where.top, where.left))
        return where

    def effect_of(self, *edits: Edit) -> Decimal | None:
        """What edits add to the sheet's total: the total with them, less the total with them alone put back."""
        there = self.total
        return self._difference(there, self._total(self._without({*edits})))

    def _without(self, edits: Collection[Edit]) -> Evaluation:
        """The workbook with some edits put back."""
        if len(edits) == len(self.comparison.edits) and self._can_be_as_issued:
            return self._as_issued
        return self.evaluation.with_changes(self.comparison.without(edits))

    @property
    def _can_be_as_issued(self) -> bool:
        """Whether putting every edit back makes the figures those that were proved at issue, each in its cell."""
        return not self._may_have_moved and all(isinstance(edit, CellEdit) for edit in self.comparison.edits)

    @cached_property
    def _as_issued(self) -> Evaluation:
        """The workbook with every edit put back, its figures as proved at issue and not worked out again."""
        return Evaluation(self.returned.workbook, self.comparison.without(self.comparison.edits), self._proved(()))

    def _difference(self, there: object, back: object) -> Decimal | None:
        if isinstance(there, Decimal) and isinstance(back, Decimal) and abs(there - back) < 10**15:
            return money(there - back, minor_units_of(self.content))
        return None

    def why_without_worth(self) -> str:
        """Why no edit of this sheet has a worth: what stands in place of its total. Nothing where it is a number."""
        if isinstance(self.total, Decimal):
            return ""
        if isinstance(self.total, NotWorkedOut):
            return f"its total rests on {self.total.text}, which is not worked out here"
        return f"its total is {self.total.text}" if isinstance(self.total, Fault) else "it has no total"

    # The values in the file

    @cached_property
    def formula_cells(self) -> dict[CellAddress, str]:
        """The cells of issued formulas that still hold one, each with its name or else the first that it reads."""
        cells = self.returned.cells
        found = {cells[name].place: name for name in self.content.formulas if name in cells and cells[name].formula}
        for sheet, held in self.returned.unnamed_cells.items():
            for place, said in held.items():
                if isinstance(said, str) and said.startswith("="):
                    now = self.returned.now(sheet, *place)
                    if now and now.formula and self.returned.same_formula(now.formula, said[1:], now.place.sheet):
                        found.setdefault(now.place, next(iter(names_in(said)), ""))
        return found

    @cached_property
    def values(self) -> dict[CellAddress, object]:
        """What each formula's cell comes to."""
        return {address: self.evaluation.cell(address) for address in self.formula_cells}

    @cached_property
    def _cached(self) -> dict[CellAddress, StoredValue]:
        """What the file shows in each formula's cell."""
        return {address: self.returned.at(*address).value for address in self.formula_cells}

    @cached_property
    def never_calculated(self) -> str:
        """MISSING or ZEROS where most of the cells that should show something else show that."""
        due = [address for address, value in self.values.items() if _is_something(value)]
        values = [self._cached[address] for address in due]
        if 2 * sum(value is None for value in values) > len(values):
            return MISSING
        return ZEROS if 2 * sum(map(_is_nothing, values)) > len(values) else ""

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
        empty = [address for address in self.formula_cells if self._cached[address] is None]
        due = (
            address for address in empty if not isinstance(self.values[address], Fault) and self.values[address] != ""
        )
        return [self.formula_cells[address] for address in due]

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
        edits = [] if self.never_calculated or not self._differing else self.comparison.edits
        if edits and self._shows_the_issue:
            return StaleHypothesis(frozenset(edits))
        while len(edits) <= MOST_WEIGHED:
            further = min(self._further(grown, edits), key=self._weight, default=grown)
            if self._weight(further) >= self._weight(grown):
                break
            grown = further
        return min((none, StaleHypothesis(frozenset(edits)), grown), key=self._weight)

    @property
    def _shows_the_issue(self) -> bool:
        """Whether each figure that has a formula shows what it was issued with: nothing was worked out since."""
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
