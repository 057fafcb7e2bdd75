"""What a returned sheet comes to by its own formulas, and what its edits are worth."""

from collections.abc import Collection
from decimal import Decimal
from functools import cached_property

from quotebook.checking.comparison import Comparison
from quotebook.checking.edits import CellEdit, Edit
from quotebook.contract.labels import Labels
from quotebook.contract.stamped import minor_units_of
from quotebook.contract.values import CellValue
from quotebook.engine.money import money
from quotebook.evaluation.evaluation import Evaluation
from quotebook.evaluation.values import NotWorkedOut
from quotebook.spreadsheets.cells import CellAddress, CellRange, Fault
from quotebook.spreadsheets.formula_text import all_dependents, names_in


class WorkedOut:
    """One comparison, evaluated."""

    def __init__(self, comparison: Comparison):
        self.comparison, self.returned, self.content = comparison, comparison.returned, comparison.content

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
        return Evaluation(self.returned.workbook, known=self.proved)

    @cached_property
    def proved(self) -> dict[CellAddress, CellValue]:
        """The figures that rest on no edit, as they were proved to be when the quote was issued."""
        return self._proved(self.comparison.touched)

    @cached_property
    def _has_moved(self) -> bool:
        """Whether rows or columns are elsewhere than they were."""
        return any(moved.any_elsewhere for moved in self.returned.moved.values())

    def _proved(self, but: Collection[str]) -> dict[CellAddress, CellValue]:
        """The figures as proved at issue without some names and what rests on them; none where rows have moved."""
        if self._has_moved:
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
        return not self._has_moved and all(isinstance(edit, CellEdit) for edit in self.comparison.edits)

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
