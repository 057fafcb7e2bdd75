"""A returned workbook beside its issue: what each cell was, what it is now, and which of them differ."""

from collections.abc import Callable, Iterator
from decimal import Decimal
from functools import cached_property
from itertools import zip_longest
from typing import NamedTuple

from quotebook.checking.due import Due
from quotebook.checking.reckoning import COLUMNS, Edit, Reckoning
from quotebook.checking.returned import Returned, ReturnedCell, flat, same_formula, same_key, same_value
from quotebook.checking.shown import Shown
from quotebook.contract.stamp import Content
from quotebook.contract.values import Dictionary, entries_of, rates_of
from quotebook.contract.vocabulary import OWNER, TABLES
from quotebook.engine.entries import Problem, problems
from quotebook.engine.model import Rates
from quotebook.spreadsheets.cells import CellAddress, CellRange


class Row(NamedTuple):
    """A row of a table, by column; None where it was added, or is gone."""

    issued: dict[str, object] | None
    found: dict[str, ReturnedCell | list[ReturnedCell] | None] | None
    """None for a cell whose column is lost."""


class Change(NamedTuple):
    """A cell that is not as issued."""

    edit: Edit
    """What to put back for it to be so."""
    name: str
    found: ReturnedCell
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
        self.due = Due(self)
        self.shown = Shown(self)

    @cached_property
    def issued_rates(self) -> Rates:
        return rates_of(self.content.owner, self.content.tables, self.dictionary)

    @cached_property
    def problems(self) -> dict[str, Problem]:
        """Returned entries that cannot be used, by name."""
        entries = self.entries | {name: self.issued_entries[name] for name in self.displaced if name in self.entries}
        return {problem.name: problem for problem in problems(self.issued_rates, entries)}

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
    def edits(self) -> list[Edit]:
        """Everything that can be put back: entries, rates, formulas and names that are not as issued."""
        line = ["plan_line"] if self.values.get("plan_line") != self.content.inputs.get("plan_line") else []
        names = (*self.edited_formulas, *self.displaced, *self.doubled, *line)
        return list(dict.fromkeys((*(change.edit for change in self.changes), *names)))

    @property
    def changes(self) -> list[Change]:
        """Every entry and rate that is not as issued."""
        return self.changed_entries + self.changed_rates

    @cached_property
    def displaced(self) -> dict[str, CellRange]:
        """Names that lead elsewhere than to what they were issued for, with the area that they belong to.

        A table may have grown below its last row, all of its columns alike: that is a matter of its rows.
        """
        areas, sheet_now = self.returned.areas, self.returned.sheet_now
        elsewhere = {}
        for name, due in self.returned.due.items():
            area = areas[name]
            if area and area != due:
                belongs = due._replace(sheet=sheet_now(due.sheet))
                if area != belongs and not self._grown_alike(name, area, belongs):
                    elsewhere[name] = belongs
        return elsewhere

    def _grown_alike(self, name: str, area: CellRange, belongs: CellRange) -> bool:
        """Whether a column of a table only ends further down, and its table's others where it does."""
        if (
            name not in self.content.tables
            or area._replace(bottom=belongs.bottom) != belongs
            or area.bottom < belongs.bottom
        ):
            return False
        beside = next((names for names in COLUMNS.values() if name in names), (name,))
        return all(self.returned.areas[other] and self.returned.areas[other].bottom == area.bottom for other in beside)

    @cached_property
    def doubled(self) -> dict[str, list[str]]:
        """Names that stand for something else on some of the quote's sheets ("": in the whole workbook), with those."""
        returned = self.returned
        ours = {returned.sheet_now(sheet) for sheet in self.content.fixed} | {""}
        others = {
            name: [sheet for sheet, area in local if sheet in ours and area != returned.areas[name]]
            for name, local in returned.local_areas.items()
        }
        return {name: sheets for name, sheets in others.items() if sheets}

    @cached_property
    def changed_entries(self) -> list[Change]:
        return [
            Change(name, name, self.returned.cells[name], self.content.inputs[name])
            for name in self.entries
            if name in self.returned.cells and not self.same_entry(name)
        ]

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
        for name in sorted(self.content.tables.keys() - _IN_TABLES - {*self.returned.missing}):
            issued, found = [*flat(self.content.tables[name])], [*flat(self.returned.column(name))]
            if len(found) > len(issued):
                found = [cell for cell in found if cell.value is not None]
            known = (_by_turn,) if len(found) == len(issued) else (same_value, _by_turn)
            for was, cell in _paired(issued, found, *known):
                if cell is None or not same_value(was, cell):
                    yield Change(
                        name, name, cell or ReturnedCell(CellAddress(*self.returned.areas[name][:3]), None, None), was
                    )

    def _changed_rows(self, table: str) -> Iterator[Change]:
        key = next(iter(COLUMNS[table]))
        for index, (issued, found) in enumerate(self.rows[table]):
            if issued is None:
                yield Change((table, index), key, found[key] or next(filter(None, found.values())), None)
            elif found is None:
                sheet, row, column = self.content.places[key]
                gone = CellAddress(self.returned.sheet_now(sheet), row + index, column)
                yield Change((table, index), key, ReturnedCell(gone, None, None), issued[key])
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
        """The rows of a table in the order of the issue, each where it stands now.

        A row is known by all that is in it, else by its key (what is in its first column), else by its turn.
        """
        key, tables = names[0], self.content.tables
        issued = [dict(zip(names, row)) for row in zip(*(tables[name] for name in names))]
        if key in self.returned.missing:
            return [Row(was, {}) for was in issued]

        def same_code(was: dict, now: dict) -> bool:
            return bool(now[key]) and same_key(was[key], now[key].value)

        return [Row(*pair) for pair in _paired(issued, self.returned.table(names), _same_row, same_code, _by_turn)]


def _paired(issued: list, found: list, *known: Callable[[object, object], bool]) -> list[tuple]:
    """What was issued, each with what it is now; at the end what was added. None where there is no other side.

    `known` are the ways to know one by the other, the surest first.
    """
    left, pairs = list(found), {}
    for knows in known:
        for index, was in enumerate(issued):
            at = None if index in pairs else next((at for at, now in enumerate(left) if knows(was, now)), None)
            if at is not None:
                pairs[index] = left.pop(at)
    return [(was, pairs.get(index)) for index, was in enumerate(issued)] + [(None, now) for now in left]


def _by_turn(issued: object, found: object) -> bool:
    return True


def _same_row(issued: dict, found: dict) -> bool:
    cells = ((was, found[name]) for name, was in issued.items() if found[name] and not isinstance(was, list))
    return all(same_value(was, cell) for was, cell in cells)


_IN_TABLES = frozenset(name for columns in COLUMNS.values() for name in columns)
