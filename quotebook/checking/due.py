"""What every formula of a returned workbook should show: the engine's figures, in the workbook's own words."""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from functools import cached_property
from typing import TYPE_CHECKING

from quotebook.checking.returned import ReturnedCell, same_formula, same_key
from quotebook.contract.results import results_of
from quotebook.contract.vocabulary import FIGURES, on_every_line
from quotebook.engine.money import round6
from quotebook.spreadsheets.cells import Fault
from quotebook.spreadsheets.formula_text import names_in

if TYPE_CHECKING:
    from quotebook.checking.comparison import Comparison
    from quotebook.checking.reckoning import Edit

COUNTED = {
    ("plan_origin",): ("plan_last_row", "plan_last_column"),
    ("kinds_heading", "kinds_panel"): on_every_line("kind_row_#"),
    ("surfaces_heading", "surfaces"): ("surface_column",),
}
"""Figures that count rows or columns, and the names that they count between."""


class Due:
    """What is due in the cells of one comparison."""

    def __init__(self, comparison: "Comparison"):
        self.comparison, self.returned, self.content = comparison, comparison.returned, comparison.content
        self._known: dict[frozenset, dict | None] = {}

    def figures(self, back: frozenset["Edit"] = frozenset()) -> dict[str, object] | None:
        """What each named formula should show, by name, with some edits put back; None where that has no price."""
        if back not in self._known:
            self._known[back] = self.holding(back, {})
        return self._known[back]

    def holding(self, back: frozenset["Edit"], hold: Mapping[str, object]) -> dict[str, object] | None:
        """The same with figures held at a value."""
        reckoning, content = self.comparison.reckoning, self.content
        figures = reckoning.priced(back, hold) if back or hold else reckoning.as_returned
        if figures is None:
            return None
        (rates, request), line = reckoning.terms(back), self._entry("plan_line", back)
        try:
            due = results_of(rates, request, figures, self.comparison.dictionary, line, content.words, content.unit)
        except (ArithmeticError, LookupError, TypeError):
            return None
        return due | self._lookups(back)

    def _lookups(self, back: frozenset["Edit"]) -> dict[str, Decimal]:
        """Where each line's panel and the ground stand in the tables."""
        codes, words = self.content.tables["kinds_panel"], self.content.tables["surfaces"][0]
        if not any(edit[0] == "kinds" for edit in back):
            codes = [found.value for found in self.returned.column("kinds_panel")]
        lines = zip(on_every_line("kind_row_#"), on_every_line("panel_#"))
        found = {name: _position(codes, self._entry(panel, back)) for name, panel in lines}
        return found | {"surface_column": _position(words, self._entry("surface", back))}

    def _entry(self, name: str, back: frozenset["Edit"]) -> object:
        return self.content.inputs[name] if name in back else self.comparison.values.get(name)

    @cached_property
    def comparable(self) -> list[str]:
        """Names of the formulas whose cells can be held against what is due, each after those that it rests on."""
        reckoning, cells, formulas = self.comparison.reckoning, self.returned.cells, self.content.formulas
        taken = reckoning.taken()
        errors = {name for name in formulas if name in cells and isinstance(cells[name].value, Fault)}
        errors |= {name for name in taken if reckoning.usable(name) is None}
        beyond = taken | reckoning.resting_on(errors) | (reckoning.resting_on(taken) - _FIGURES) | self._misplaced()
        return [name for name in self.figures() or () if name in formulas and name in cells and name not in beyond]

    def _misplaced(self) -> set[str]:
        """Figures that count rows or columns, where what they count between is not where it was issued."""
        areas, issued = self.returned.areas, self.returned.issued
        moved = {name for name, area in areas.items() if area is None or area[1:] != issued[name][1:]}
        return {name for ends, names in COUNTED.items() if not moved.isdisjoint(ends) for name in names}

    @cached_property
    def mirrors(self) -> list[tuple[ReturnedCell, tuple[str, ...]]]:
        """The cells that show what is in others, their formulas intact, with those others' names."""
        mirrors = []
        for sheet, cells in self.returned.fixed.items():
            for place, said in cells.items():
                found = self.returned.now(sheet, *place) if isinstance(said, str) and said.startswith("=") else None
                if found and found.formula and same_formula(found.formula, said[1:]):
                    mirrors.append((found, names_in(said)))
        return [(found, names) for found, names in mirrors if self.returned.cells.keys() >= {*names}]

    def cells(self) -> Iterator[tuple[ReturnedCell, object]]:
        """Every formula's cell with what is due in it: what a program would put there."""
        due, cells = self.figures() or {}, self.returned.cells
        for name in self.comparable:
            yield cells[name], due[name]
        for found, names in self.mirrors:
            yield found, joined([due.get(name, cells[name].value) for name in names])


def agrees(value: object, due: object) -> bool:
    """Whether a cell shows what is due: a number at six places, a text but for its spaces, an error the same."""
    if value == due:
        return not isinstance(value, bool)
    if isinstance(due, Decimal):
        return isinstance(value, Decimal) and abs(value) < 10**15 and round6(value) == round6(due)
    if isinstance(due, Fault) or isinstance(value, Fault):
        return False
    return " ".join(str(value or "").split()) == " ".join(str(due or "").split())


def joined(values: list) -> object:
    """What a cell shows that shows several others: those that say something, one after another."""
    return values[0] if len(values) == 1 else " ".join(str(value) for value in values if value)


def _position(cells: list, entry: object) -> Decimal:
    """The place of an entry among cells, from 1; 0 where it is not there."""
    return Decimal(next((at for at, cell in enumerate(cells, 1) if entry is not None and same_key(cell, entry)), 0))


_FIGURES = frozenset(FIGURES)
