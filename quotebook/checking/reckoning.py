"""What a returned workbook comes to by the engine, with any of its edits put back.

A sheet that was edited still works its other cells out, so the engine has to price what is there: a
returned rate counts as it is, and a figure whose formula was edited is held at the value in its cell.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import fields, replace
from decimal import Decimal
from functools import cached_property
from operator import attrgetter
from typing import TYPE_CHECKING

from quotebook.checking.returned import ReturnedCell
from quotebook.contract.values import rates_of, request_of
from quotebook.contract.vocabulary import FIGURES, INPUTS, TABLES, WORDS
from quotebook.engine.figures import Figures
from quotebook.engine.model import Rates, Request
from quotebook.engine.money import MINOR_UNITS, ZERO, money
from quotebook.engine.price import price
from quotebook.spreadsheets.cells import Fault
from quotebook.spreadsheets.formula_text import names_in

if TYPE_CHECKING:
    from quotebook.checking.comparison import Comparison

Edit = str | tuple[str, int] | tuple[str, int, str]
"""What can be put back: the name of an entry, rate or formula; a table and which of its rows; or of that one column."""

COLUMNS = {table: {f"{table}_{field.name}": field.type for field in fields(record)} for table, record in TABLES.items()}
"""The columns of each table by their names, with what a cell holds; the first tells the rows apart."""


class Reckoning:
    """The engine's side of a comparison."""

    def __init__(self, comparison: "Comparison"):
        self.comparison, self.content, self.returned = comparison, comparison.content, comparison.returned
        self._terms: dict[frozenset, tuple[Rates, Request]] = {}

    @cached_property
    def engine(self) -> Figures:
        """Every figure of the returned entries, at the issued rates and by the engine alone."""
        return price(self.comparison.issued_rates, request_of(self.comparison.entries, self.content.owner))

    @cached_property
    def as_returned(self) -> Figures | None:
        """Every figure that the sheet should show, its edited rates and formulas taken as they are."""
        return self.priced() if self.comparison.changed_rates or self.taken() else self.engine

    def priced(self, put_back: Iterable[Edit] = (), hold: Mapping[str, object] | None = None) -> Figures | None:
        """The same with some edits put back, or with more figures held at a value.

        None where that has no price at all, such as with a vehicle that carries 0.
        """
        back = frozenset(put_back)
        try:
            return price(*self.terms(back), self._held(back) | (hold or {}))
        except (ArithmeticError, LookupError, TypeError):
            return None

    def effect_of(self, edit: Edit) -> Decimal | None:
        """What an edit adds to the sheet's total: with it, less with it put back.

        An altered formula that rests on it is put back for both, since its value would be another without
        the edit, and only a spreadsheet program could say which.
        """
        through = frozenset(self._altered_after(edit))
        there, back = self.priced(through) if through else self.as_returned, self.priced({*through, edit})
        return self.money(there.total - back.total) if there and back else None

    def _altered_after(self, edit: Edit) -> set[str]:
        """The altered formulas that rest on an edit."""
        kinds = self.comparison.edited_formulas
        altered = {name for name, kind in kinds.items() if kind == "formula-altered" and name != edit}
        if not altered:
            return altered
        names = {edit} if isinstance(edit, str) else COLUMNS[edit[0]].keys() if len(edit) == 2 else {edit[2]}
        return altered & self.resting_on(names)

    def money(self, amount: Decimal) -> Decimal | None:
        """To the currency's minor units; None for what no spreadsheet shows to the cent."""
        return None if abs(amount) >= 10**15 else money(amount, self.content.owner["minor_units"])

    def terms(self, back: frozenset[Edit]) -> tuple[Rates, Request]:
        """The rates that formulas find in the sheet, and the request; what cannot be read counts as issued."""
        if back not in self._terms:
            owner = self._owner(back)
            self._terms[back] = self._rates(owner, back), self._request(owner, back)
        return self._terms[back]

    def _request(self, owner: dict, back: frozenset[Edit]) -> Request:
        issued = self.comparison.issued_entries
        entries = self.comparison.entries | {name: issued[name] for name in back & issued.keys()}
        return request_of(entries, owner)

    def _rates(self, owner: dict, back: frozenset[Edit]) -> Rates:
        if not self.comparison.changed_rates:
            return self.comparison.issued_rates
        columns = {}
        for table, names in COLUMNS.items():
            rows = list(self._rows(table, back))
            columns |= {name: [row[name] for row in rows] for name in names}
        rates = rates_of(owner, columns, self.comparison.dictionary)
        return replace(rates, day_factors=tuple(sorted(rates.day_factors, key=attrgetter("hire_days"))))

    def _owner(self, back: frozenset[Edit]) -> dict[str, object]:
        values = self.comparison.values
        return {
            name: issued if name in back or not self._clear(name, issued) else values[name]
            for name, issued in self.content.owner.items()
        }

    def _rows(self, table: str, back: frozenset[Edit]) -> Iterator[dict[str, object]]:
        """The rows of a table as plain values."""
        for index, (issued, found) in enumerate(self.comparison.rows[table]):
            if (table, index) in back:
                found = {} if issued else None
            if found is not None:
                kept = {name for name in issued or () if found.get(name) is None or back & {name, (table, index, name)}}
                yield {name: issued[name] if name in kept else _plain(found.get(name)) for name in COLUMNS[table]}

    def taken(self, back: frozenset[Edit] = frozenset()) -> set[str]:
        """Names of formulas whose cells count as they are, since the engine cannot tell what they should hold.

        Their own formula was edited, or reads what the engine cannot take as a sheet does. Where the
        engine has no figure of that name, what reads it is taken.
        """
        edited = {name: kind for name, kind in self.comparison.edited_formulas.items() if name not in back}
        if self.comparison.shown.unworked:
            return {name for name, kind in edited.items() if kind == "formula-replaced"}
        taken, new = set(), edited.keys() | self.readers(self._unclear(back))
        while new:
            taken |= new
            new = self.readers(new - _FIGURES) - taken
        return taken

    def is_priced(self, name: str) -> bool:
        """Whether a formula's edit has a price: some figure of the engine is taken for it."""
        return bool(self._held(frozenset()).keys() & (self.readers({name}) | {name}))

    def _held(self, back: frozenset[Edit]) -> dict[str, object]:
        """Figures that are taken from their cells, with their values there."""
        values = {name: self.usable(name) for name in self.taken(back) & _FIGURES}
        return {name: value for name, value in values.items() if value is not None}

    def usable(self, name: str) -> Decimal | str | None:
        """A figure's value in its cell, as the engine would have it; None where formulas cannot go on from there."""
        found = self.returned.cells.get(name)
        if found is None or isinstance(found.value, (Fault, bool)):
            return None
        if name.startswith(("laying_", "subfloor_kind_")):
            text = found.value if isinstance(found.value, str) else ""
            return self.comparison.dictionary.meaning(text, self.comparison.dictionary.layings)
        if found.value is None and found.formula is None:
            return ZERO
        return found.value if isinstance(found.value, Decimal) else None

    def _unclear(self, back: frozenset[Edit]) -> set[str]:
        """Names that do not lead to what the engine could take as a sheet does."""
        content, comparison = self.content, self.comparison
        names = {name for name in content.anchors if name in comparison.displaced}
        names |= {*self.returned.missing} | comparison.doubled.keys()
        names |= {name for name, issued in (content.owner | content.inputs).items() if not self._clear(name, issued)}
        names |= {change.edit for change in comparison.changed_rates if change.edit in content.tables}
        for table, columns in COLUMNS.items():
            if not _is_clear(list(self._rows(table, back)), columns):
                names |= columns.keys()
        return names - back

    def _clear(self, name: str, issued: object) -> bool:
        """Whether a cell holds a number for a number, a word as issued, an entry that all programs take alike."""
        found = self.returned.cells.get(name)
        if found is None or isinstance(found.value, Fault):
            return False
        if name in self.content.inputs:
            return INPUTS.get(name) not in ("number", "whole") or not isinstance(found.value, str) or found.value == ""
        if name == "minor_units":
            return found.value in MINOR_UNITS
        if name in WORDS:
            return self.comparison.dictionary.meaning(found.value, {name: issued}) == name
        return not isinstance(issued, Decimal) or isinstance(found.value, (Decimal, type(None)))

    @cached_property
    def reads(self) -> dict[str, set[str]]:
        """The names in each formula as issued."""
        return {name: set(names_in(formula)) for name, formula in self.content.formulas.items()}

    def readers(self, names: Iterable[str]) -> set[str]:
        """The formulas that read one of `names` themselves."""
        names = set(names)
        return {name for name, reads in self.reads.items() if not reads.isdisjoint(names)} if names else set()

    def resting_on(self, names: Iterable[str]) -> set[str]:
        """The formulas that read one of `names`, directly or through others."""
        reached, new = set(), set(names)
        while new:
            new = self.readers(new) - reached
            reached |= new
        return reached


def _is_clear(rows: list[dict], columns: Mapping[str, type]) -> bool:
    """Whether each row of a table is known by its first column alone, and each cell holds what belongs there."""
    keys = [row[next(iter(columns))] for row in rows]
    keys = [key.lower() if isinstance(key, str) else key for key in keys]
    fitting = all(_fits(kind, row[name]) for row in rows for name, kind in columns.items())
    return fitting and None not in keys and len({*keys}) == len(keys)


def _fits(kind: type, value: object) -> bool:
    if isinstance(value, list):
        return all(_fits(str, each) for each in value)
    return value is None or isinstance(value, Decimal if kind is Decimal else str)


def _plain(found: ReturnedCell | list | None) -> object:
    """A table's cell as its value."""
    return [_plain(one) for one in found] if isinstance(found, list) else found and found.value


_FIGURES = frozenset(FIGURES)
