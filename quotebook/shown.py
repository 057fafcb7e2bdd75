"""The figures that a returned file shows, beside those that it should show, and the state they are in.

A file keeps the values that some program worked out last. They may be missing (a library saved the
file), all 0 (a program that writes formulas and works nothing out), stale (something was changed and
nothing worked out since), consistent, or mismatching: then some are wrong whatever happened.
"""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

from .engine.money import ZERO, six
from .sheets.cells import Fault
from .sheets.formula_text import names_in
from .sheets.results import results_of
from .sheets.returned import Found, same_formula, same_key
from .sheets.vocabulary import FIGURES, on_every_line

if TYPE_CHECKING:
    from .comparison import Comparison
    from .reckoning import Edit

MISSING, ZEROS, STALE, CONSISTENT, MISMATCHING = STATES = ("missing", "zero", "stale", "consistent", "mismatching")

MOST_WEIGHED = 12
"""Edits of which any few may have gone without being worked out; of more, all or none."""


class Wrong(NamedTuple):
    """A figure that is not what its own sheet makes it."""

    name: str
    """Of the cell; of one that only shows another's figure, that one's."""
    found: Found
    due: object
    effect: Decimal | None
    """What it alone adds to the total in the file."""


class Shown:
    """The cached values of one comparison."""

    def __init__(self, comparison: "Comparison"):
        self.comparison, self.returned, self.content = comparison, comparison.returned, comparison.content
        self._due: dict[frozenset, dict | None] = {}

    @cached_property
    def unworked(self) -> str:
        """MISSING or ZEROS where most of the figures that should be something else are that."""
        engine = self.comparison.reckoning.engine
        due = [self.returned.cells.get(name) for name, figure in engine.items() if figure not in (0, "")]
        values = [found.value for found in due if found and found.formula is not None]
        if 2 * values.count(None) > len(values):
            return MISSING
        return ZEROS if 2 * sum(value in (None, "", 0) for value in values) > len(values) else ""

    @cached_property
    def state(self) -> str | None:
        """One of STATES; None where the engine cannot price what is in the sheet."""
        if self.due() is None:
            return None
        if self.wrong:
            return MISMATCHING
        return self.unworked or (MISSING if self.unfilled else STALE if self.stale_by else CONSISTENT)

    def due(self, back: frozenset["Edit"] = frozenset()) -> dict[str, object] | None:
        """What every formula with a name should show, by name, with some edits put back; None where there is no price."""
        if back not in self._due:
            self._due[back] = self._all_due(back, {})
        return self._due[back]

    def _all_due(self, back: frozenset["Edit"], hold: Mapping[str, object]) -> dict[str, object] | None:
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
        rows, columns = self.content.tables["kinds_panel"], self.content.tables["surfaces"][0]
        panels = zip(on_every_line("kind_row_#"), on_every_line("panel_#"))
        found = {name: _position(rows, self._entry(panel, back)) for name, panel in panels}
        return found | {"surface_column": _position(columns, self._entry("surface", back))}

    def _entry(self, name: str, back: frozenset["Edit"]) -> object:
        return self.content.inputs[name] if name in back else self.comparison.values.get(name)

    @cached_property
    def _compared(self) -> list[str]:
        """Names of the formulas whose figures can be held against the engine's, each after those that it rests on."""
        reckoning, cells = self.comparison.reckoning, self.returned.cells
        taken = reckoning.taken()
        errors = {name for name in self.content.formulas if name in cells and isinstance(cells[name].value, Fault)}
        errors |= {name for name in taken if reckoning.usable(name) is None}
        beyond = taken | reckoning.resting_on(errors) | (reckoning.resting_on(taken) - _FIGURES) | self._misplaced()
        return [name for name in self.due() or () if name in self.content.formulas and name in cells and name not in beyond]

    def _misplaced(self) -> set[str]:
        """Figures that count rows or columns from a cell to another, where those are not in the places they were issued in."""
        areas, issued = self.returned.areas, self.returned.issued
        in_place = {name for name, area in areas.items() if area and area[1:] == issued[name][1:]}
        return {name for ends, names in _COUNTED.items() if not in_place.issuperset(ends) for name in names}

    @cached_property
    def unfilled(self) -> list[str]:
        """Formulas without a value in a file that has the others'."""
        return [name for name in self._compared if self._is_unfilled(name, self.due())]

    def _is_unfilled(self, name: str, due: Mapping) -> bool:
        return self.returned.cells[name].value is None and due[name] != ""

    def _wrong_names(self, due: Mapping | None) -> list[str]:
        """Names of the figures that are not as due, but for those that nobody has worked out."""
        if due is None:
            return self._compared
        wrong = [name for name in self._compared if not agrees(self.returned.cells[name].value, due[name])]
        if self.unworked:
            return [name for name in wrong if name in _FIGURES and self.returned.cells[name].value not in (None, "", 0)]
        return [name for name in wrong if not self._is_unfilled(name, due)]

    @cached_property
    def stale_by(self) -> frozenset["Edit"]:
        """The edits after which nothing was worked out: those without which the fewest figures are wrong."""

        def weight(back: frozenset) -> int:
            due = self.due(back)
            return len(self._wrong_names(due)) + (len(self._wrong_mirrors(due)) if due else 0)

        none = grown = frozenset()
        if self.unworked or not weight(none):
            return none
        edits = self.comparison.edits
        while len(edits) <= MOST_WEIGHED and len(grown) < len(edits):
            further = min((grown | {edit} for edit in edits if edit not in grown), key=weight)
            if weight(further) >= weight(grown):
                break
            grown = further
        return min((none, frozenset(edits), grown), key=weight)

    @property
    def lag(self) -> Decimal | None:
        """What the file's total misses because nothing was worked out, where it shows one."""
        due, total, money = self.due(), self.comparison.shown_total, self.comparison.reckoning.money
        if due is None or total is None:
            return None
        if self.unworked:
            return ZERO if total else money(-due["total"])
        if "total" in self.comparison.reckoning.taken():
            return ZERO
        return money(self.due(self.stale_by)["total"] - due["total"])

    @cached_property
    def wrong(self) -> list[Wrong]:
        """The figures that are wrong whatever was worked out: each where it begins, if what rests on it followed."""
        if self.due() is None:
            return []
        return [*self._wrong_figures(), *self._wrong_mirrors(self.due(self.stale_by))]

    def _wrong_figures(self) -> Iterator[Wrong]:
        due, held = self.due(self.stale_by), {}
        for name in self._wrong_names(due):
            found = self.returned.cells[name]
            if agrees(found.value, due[name]):
                continue
            before, effect = due, ZERO if name in _FIGURES else None
            followed = self._followed(name, due, held)
            if followed:
                due, held = followed, held | {name: self.comparison.reckoning.usable(name)}
                effect = due["total"] - before["total"]
            elif name == "total":
                effect = found.value - due["total"] if isinstance(found.value, Decimal) else None
            yield Wrong(name, found, before[name], effect and self.comparison.reckoning.money(effect))

    def _followed(self, name: str, due: Mapping, held: Mapping) -> dict | None:
        """What is due with a wrong figure taken as it is, where that puts others right."""
        value = self.comparison.reckoning.usable(name)
        if name not in _FIGURES or value is None:
            return None
        followed = self._all_due(self.stale_by, {**held, name: value})
        fewer = followed and len(self._wrong_names(followed)) < len(self._wrong_names(due)) - 1
        return followed if fewer else None

    def _wrong_mirrors(self, due: Mapping) -> list[Wrong]:
        """Cells that only show figures whose home is elsewhere, and show neither what is there nor what is due there."""
        wrong, cells = [], self.returned.cells
        for found, names in self.mirrors:
            there, right = _joined([cells[n].value for n in names]), _joined([due.get(n, cells[n].value) for n in names])
            if not (found.value is None or self.unworked or agrees(found.value, right) or agrees(found.value, there)):
                wrong.append(Wrong(names[0], found, right, None))
        return wrong

    @cached_property
    def _comparable(self) -> frozenset[str]:
        return frozenset(self._compared)

    def cells_due(self) -> Iterator[tuple[Found, object]]:
        """Every formula's cell with what it should show: what a program would put there."""
        due, cells = self.due() or {}, self.returned.cells
        for name in self._compared:
            yield cells[name], due[name]
        for found, names in self.mirrors:
            yield found, _joined([due[name] if name in self._comparable else cells[name].value for name in names])

    @cached_property
    def mirrors(self) -> list[tuple[Found, list[str]]]:
        """The cells that show what is in others, their formulas intact, with those others' names."""
        mirrors = []
        for sheet, cells in self.returned.fixed.items():
            for place, said in cells.items():
                found = self.returned.now(sheet, *place) if isinstance(said, str) and said.startswith("=") else None
                if found and found.formula and same_formula(found.formula, said[1:]):
                    mirrors.append((found, names_in(said)))
        return [(found, names) for found, names in mirrors if self.returned.cells.keys() >= {*names}]


def agrees(value: object, due: object) -> bool:
    """Whether a figure is as due: a number at six places, a text but for its spaces, an error the same."""
    if value == due:
        return not isinstance(value, bool)
    if isinstance(due, Decimal):
        return isinstance(value, Decimal) and abs(value) < 10**15 and six(value) == six(due)
    if isinstance(due, Fault) or isinstance(value, Fault):
        return value == due
    return " ".join(str(value or "").split()) == " ".join(str(due or "").split())


def _joined(values: list) -> object:
    """What a cell shows that shows several others: those that say something, one after another."""
    return values[0] if len(values) == 1 else " ".join(str(value) for value in values if value)


def _position(cells: list, entry: object) -> Decimal:
    """The place of an entry among cells, from 1; 0 where it is not there."""
    return Decimal(next((at for at, cell in enumerate(cells, 1) if entry is not None and same_key(cell, entry)), 0))


_FIGURES = frozenset(FIGURES)
_COUNTED = {
    ("plan_origin",): ("plan_last_row", "plan_last_column"),
    ("kinds_heading", "kinds_panel"): on_every_line("kind_row_#"),
    ("surfaces_heading", "surfaces"): ("surface_column",),
}
"""Figures that count rows or columns, and from which cell to which."""
