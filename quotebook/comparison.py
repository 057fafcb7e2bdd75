"""A returned workbook beside its issue, both as the engine sees them.

Everything the check asks of the engine goes through here: the price of the returned entries at the
issued rates, the price that the sheet should show given every edit made to it, and what one edit
alone is worth.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import fields
from decimal import Decimal
from functools import cached_property

from .engine.entries import Problem, problems
from .engine.model import LINES, same_text
from .engine.price import price
from .sheets.formula_text import normalise
from .sheets.returned import Found, Returned
from .sheets.stamp import Content
from .sheets.values import Dictionary, entries_of, rates_of, request_of
from .sheets.vocabulary import FIGURES, TABLES

Edit = tuple[str, object]
"""A name and what to put there."""


class Comparison:
    """What was issued, what came back, and what each comes to."""

    def __init__(self, content: Content, returned: Returned):
        self.content, self.returned = content, returned
        self.dictionary = Dictionary(content.owner, content.tables["surfaces"][0])
        self.issued_entries = entries_of(content.inputs, self.dictionary)
        self.issued_rates = rates_of(content.owner, content.tables, self.dictionary)
        self.values = returned.values()
        self.entries = entries_of(self.values, self.dictionary)

    @cached_property
    def problems(self) -> list[Problem]:
        """Returned entries that cannot be used."""
        return problems(self.issued_rates, self.entries)

    @cached_property
    def engine(self) -> dict:
        """Every figure of the returned entries, at the issued rates and by the engine alone."""
        return price(self.issued_rates, request_of(self.entries, self.content.owner["discount_share"]))

    @cached_property
    def edited_formulas(self) -> dict[str, str]:
        """Formulas that are not as issued: `formula-replaced` or `formula-altered` by name."""
        return {name: kind for name in self.content.formulas if (kind := self._formula_edit(name))}

    def _formula_edit(self, name: str) -> str | None:
        found, issued = self.returned.cells.get(name), self.content.formulas[name]
        if found is None or found.formula == issued:
            return None
        if found.formula is None:
            return "formula-replaced"
        return None if normalise(found.formula) == normalise(issued) else "formula-altered"

    @cached_property
    def columns(self) -> dict[str, list]:
        """The returned tables as plain values, blank rows left out."""
        columns = {}
        for table, record in TABLES.items():
            names = [f"{table}_{field.name}" for field in fields(record)]
            rows = self.returned.table(names)
            for name in names:
                columns[name] = [_plain(row[name]) for row in rows]
        return columns

    @cached_property
    def held(self) -> dict[str, object]:
        """Figures that the sheet takes from edited cells instead of working them out, with their values there."""
        held = {}
        for name in self.edited_formulas:
            held |= self._held_by(name)
        return held

    def _held_by(self, name: str) -> dict[str, object]:
        """What an edited cell fixes: itself, or what is read through it where the engine has no such figure."""
        if name.startswith("kind_row_"):
            affected = [name.replace("kind_row", figure) for figure in ("laying", "subfloor_kind")]
        elif name == "surface_column":
            affected = [f"laying_{line}" for line in range(1, LINES + 1)]
        else:
            affected = [name] if name in _FIGURES else []
        found = {figure: self.returned.cells[figure].value for figure in affected if figure in self.returned.cells}
        return {figure: self._in_engine(figure, value) for figure, value in found.items() if value is not None}

    def _in_engine(self, figure: str, value: object) -> object:
        """A returned figure as the engine would have it: text for texts, a number for all else."""
        if figure.startswith("laying_"):
            return self.dictionary.meaning(value, self.dictionary.layings)
        if figure.startswith("subfloor_kind_"):
            return value if isinstance(value, str) else ""
        return value if isinstance(value, Decimal) else Decimal(0)

    @cached_property
    def as_returned(self) -> dict | None:
        """Every figure that the sheet should show, its edited rates and formulas taken as they are."""
        return self.priced()

    def priced(self, put_back: Iterable[str] = (), hold: Mapping[str, object] | None = None) -> dict | None:
        """The same with some names as issued, or with more figures held at a value.

        None where the returned rates cannot be priced at all, such as a vehicle that carries 0.
        """
        back = set(put_back)
        entries = self.entries | {name: self.issued_entries[name] for name in back & self.entries.keys()}
        owner = self.values | {name: self.content.owner[name] for name in back & self.content.owner.keys()}
        columns = self.columns | {name: self.content.tables[name] for name in back & self.columns.keys()}
        held = {name: value for name, value in self.held.items() if name not in back} | (hold or {})
        try:
            discount = owner["discount_share"] if isinstance(owner.get("discount_share"), Decimal) else Decimal(0)
            return price(rates_of(owner, columns, self.dictionary), request_of(entries, discount), held)
        except (ArithmeticError, LookupError, TypeError):
            return None

    def effect_of(self, name: str) -> Decimal | None:
        """What the edit at `name` alone adds to the sheet's total: with it, less with it put back."""
        there = self.as_returned
        held = self._held_by(name) if name in self.edited_formulas else {name: None}
        if not held:
            return None
        back = self.priced([name, *held])
        return there["total"] - back["total"] if there and back else None

    def effect_of_showing(self, name: str) -> Decimal | None:
        """What a wrong figure in the file would add to the total, if what rests on it followed."""
        value, there = self.returned.cells[name].value, self.as_returned
        if not (there and isinstance(value, Decimal) and abs(value) < 10**15):
            return None
        held = self.priced(hold={name: value})
        return held["total"] - there["total"] if held else None

    @property
    def shown_total(self) -> Decimal | None:
        """The total that the file shows, where it shows a number."""
        found = self.returned.cells.get("total")
        return found.value if found and isinstance(found.value, Decimal) else None

    def resting_on(self, names: Iterable[str]) -> set[str]:
        """Every formula that reads one of `names`, directly or through others."""
        reached, before = set(names), set()
        while reached != before:
            before = set(reached)
            reached |= {name for name, reads in self._precedents.items() if not reads.isdisjoint(before)}
        return reached

    @cached_property
    def _precedents(self) -> dict[str, set[str]]:
        return {name: set(_NAME.findall(formula)) for name, formula in self.content.formulas.items()}

    def same_entry(self, name: str) -> bool:
        issued, found = self.issued_entries[name], self.entries[name]
        if isinstance(issued, str) and isinstance(found, str) and name.startswith("panel_"):
            return same_text(issued, found)
        return issued == found


def _plain(found: Found | list | None) -> object:
    """A table's cell as its value; other than a number or a text is nothing."""
    if isinstance(found, list):
        return [_plain(one) for one in found]
    value = found.value if found else None
    return value if isinstance(value, (Decimal, str)) else None


_NAME = re.compile(r"[a-z_][a-z_0-9]*")
_FIGURES = frozenset(FIGURES)
