"""A returned workbook beside its issue: what each cell was, what it is now, and which of them differ."""

from collections.abc import Iterator
from decimal import Decimal
from functools import cached_property
from itertools import zip_longest
from typing import NamedTuple

from .engine.entries import Problem, problems
from .engine.model import Rates
from .reckoning import COLUMNS, Edit, Reckoning
from .sheets.cells import Area
from .sheets.returned import Found, Place, Returned, flat, same_formula, same_key, same_value
from .sheets.stamp import Content
from .sheets.values import Dictionary, entries_of, rates_of
from .sheets.vocabulary import OWNER, TABLES
from .shown import Shown


class Row(NamedTuple):
    """A row of a table, by column; None where it was added, or is gone."""

    issued: dict[str, object] | None
    found: dict[str, Found | list[Found] | None] | None
    """None for a cell whose column is lost."""


class Change(NamedTuple):
    """A cell that is not as issued."""

    edit: Edit
    """What to put back for it to be so."""
    name: str
    found: Found
    issued: object


class Comparison:
    """What was issued and what came back. `reckoning` says what that comes to, `shown` what the file says it does."""

    def __init__(self, content: Content, returned: Returned):
        self.content, self.returned = content, returned
        self.dictionary = Dictionary(content.owner, content.tables["surfaces"][0])
        self.values = returned.values()
        self.entries = entries_of(self.values, self.dictionary)
        self.issued_entries = entries_of(content.inputs, self.dictionary)
        self.rows = {table: self._rows([*names]) for table, names in COLUMNS.items()}
        self.reckoning = Reckoning(self)
        self.shown = Shown(self)

    @cached_property
    def issued_rates(self) -> Rates:
        return rates_of(self.content.owner, self.content.tables, self.dictionary)

    @cached_property
    def problems(self) -> dict[str, Problem]:
        """Returned entries that cannot be used, by name."""
        return {problem.name: problem for problem in problems(self.issued_rates, self.entries)}

    @cached_property
    def issued_problems(self) -> set[str]:
        """Entries that could not be used when the quote was issued."""
        return {problem.name for problem in problems(self.issued_rates, self.issued_entries)}

    @property
    def shown_total(self) -> Decimal | None:
        """The total that the file shows, where it shows a number."""
        found = self.returned.cells.get("total")
        return found.value if found and isinstance(found.value, Decimal) else None

    @property
    def changes(self) -> list[Change]:
        """Every entry and rate that is not as issued."""
        return self.changed_entries + self.changed_rates

    @cached_property
    def displaced(self) -> dict[str, Area]:
        """Names that lead elsewhere than to what they were issued for, with the area that they belong to."""
        due = {name: self.returned.due_area(name) for name, area in self.returned.areas.items() if area}
        return {name: at for name, at in due.items() if at and _corner(at) != _corner(self.returned.areas[name])}

    @cached_property
    def changed_entries(self) -> list[Change]:
        return [
            Change(name, name, self.returned.cells[name], self.content.inputs[name])
            for name in self.entries if name in self.returned.cells and not self.same_entry(name)
        ]  # fmt: skip

    def same_entry(self, name: str) -> bool:
        """Whether an entry that can be found is as issued, and no formula."""
        found, issued, now = self.returned.cells[name], self.issued_entries[name], self.entries[name]
        if found.formula is not None or self.values[name] != (None if found.value == "" else found.value):
            return False
        return same_key(issued, now) if name.startswith("panel_") else issued == now

    @cached_property
    def changed_rates(self) -> list[Change]:
        """The owner's cells that are not as issued: single ones, headings, and those of tables."""
        changed = [*self._changed_cells(), *self._changed_lists()]
        for table in TABLES:
            changed += self._changed_rows(table)
        return changed

    def _changed_cells(self) -> Iterator[Change]:
        for name in OWNER:
            found, issued = self.returned.cells.get(name), self.content.owner[name]
            if found and not same_value(issued, found):
                yield Change(name, name, found, issued)

    def _changed_lists(self) -> Iterator[Change]:
        """The words over the columns of surfaces, and what else is in a range of its own."""
        for name in [name for name in self.content.tables if name not in _IN_TABLES and name not in self.returned.missing]:
            issued, found = [*flat(self.content.tables[name])], [*flat(self.returned.column(name))]
            if len(found) != len(issued):
                found = [cell for cell in found if cell.value is not None]
            gone = Found(Place(*self.returned.areas[name][:3]), None, None)
            for was, now in zip_longest(issued, found):
                if not same_value(was, now or gone):
                    yield Change(name, name, now or gone, was)

    def _changed_rows(self, table: str) -> Iterator[Change]:
        key = next(iter(COLUMNS[table]))
        for index, (issued, found) in enumerate(self.rows[table]):
            if issued is None:
                yield Change((table, index), key, found[key] or next(filter(None, found.values())), None)
            elif found is None:
                sheet, row, column = self.content.places[key]
                gone = Place(self.returned.sheet_now(sheet), row + index, column)
                yield Change((table, index), key, Found(gone, None, None), issued[key])
            else:
                yield from self._changed_in_row(table, index, issued, found)

    def _changed_in_row(self, table: str, index: int, issued: dict, found: dict) -> Iterator[Change]:
        for name, was in issued.items():
            now = found.get(name)
            block = isinstance(was, list)
            for each, cell in zip_longest(was, now or []) if block else [(was, now)]:
                if cell and not same_value(each, cell):
                    yield Change((table, index, name), name, cell, each)

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
        return None if same_formula(found.formula, issued) else "formula-altered"

    def _rows(self, names: list[str]) -> list[Row]:
        """The rows of a table in the order of the issue, each known by its key wherever it stands now, or by its turn."""
        key, tables = names[0], self.content.tables
        issued = [dict(zip(names, row)) for row in zip(*(tables[name] for name in names))]
        if key in self.returned.missing:
            return [Row(was, {}) for was in issued]
        left = self.returned.table(names)
        rows = []
        for was in issued:
            now = next((row for row in left if row[key] and same_key(was[key], row[key].value)), None)
            rows.append(Row(was, now))
            if now:
                left.remove(now)
        for turn, row in enumerate(rows):
            if left and row.found is None:
                rows[turn] = Row(row.issued, left.pop(0))
        return rows + [Row(None, now) for now in left]


def _corner(area: Area) -> tuple:
    """What tells areas apart: where a column ends is a matter of its rows."""
    return area.sheet, area.top, area.left, area.right


_IN_TABLES = frozenset(name for columns in COLUMNS.values() for name in columns)
