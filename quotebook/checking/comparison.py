"""A returned workbook beside its issue: what each cell was, what it is now, and which of them differ."""

from collections.abc import Iterable
from decimal import Decimal
from functools import cached_property

from quotebook.checking.as_signed import figures_as_signed
from quotebook.checking.deleted_lines import DeletedLines, LostRow
from quotebook.checking.edits import CellEdit, Edit, NameEdit, Restorer, RowEdit
from quotebook.checking.kinds import Kind
from quotebook.checking.names_now import Displaced, displaced, doubled
from quotebook.checking.returned import (
    Returned,
    as_text,
    same_key,
    same_said,
)
from quotebook.checking.returned_rates import Change, ReturnedRates, changed_cell
from quotebook.contract.stamp import Content
from quotebook.contract.stamped import entry_names
from quotebook.contract.values import (
    CellValue,
    Dictionary,
    entries_of,
    rates_of,
    request_of,
    side_by_side,
)
from quotebook.contract.vocabulary import DATES, INPUTS, JOINED, OPTION_INPUTS, on_every_line, on_line
from quotebook.engine.entries import Problem, problems
from quotebook.engine.figures import Figures
from quotebook.engine.model import RULES, Rates, Request
from quotebook.engine.price import price
from quotebook.evaluation.evaluation import Changes
from quotebook.spreadsheets.cells import Cell, CellAddress, Fault
from quotebook.spreadsheets.formula_text import readers_of


class Comparison:
    """What was issued and what came back."""

    def __init__(self, content: Content, returned: Returned):
        self.content, self.returned = content, returned
        self.dictionary = Dictionary(content.owner, side_by_side(content.tables["surfaces"][0]))
        self.values = returned.values() | self._said_texts()
        names = entry_names(content)
        self.entries = entries_of(names, self.values, self.dictionary)
        self.issued_entries = entries_of(names, content.inputs, self.dictionary)

    @cached_property
    def rates(self) -> ReturnedRates:
        """The owner's cells beside what they were issued with."""
        return ReturnedRates(self.returned, self.computed, self.displaced)

    @cached_property
    def displaced(self) -> dict[str, Displaced]:
        """Names that lead elsewhere than to what they were issued for."""
        return displaced(self.returned)

    @cached_property
    def doubled(self) -> dict[str, list[str]]:
        """Names that stand for something else on some of the quote's sheets ("": in the whole workbook), with those."""
        return doubled(self.returned)

    @cached_property
    def changed_rates(self) -> list[Change]:
        """The owner's cells that are not as issued: single ones, headings, and those of tables."""
        return self.rates.changes()

    @property
    def is_of_other_rules(self) -> bool:
        """Whether another version issued the quote, by other rules than today's."""
        return self.content.rules != RULES

    @cached_property
    def computed(self) -> set[str]:
        """The names that formulas compute with. Days are among them: a day in digits is not what a person reads."""
        return {*DATES, *self.readers}

    @cached_property
    def readers(self) -> dict[str, list[str]]:
        """For each name that formulas compute with, the formulas that read it themselves, by name."""
        return readers_of(self.content.formulas)

    def _said_texts(self) -> dict[str, CellValue]:
        """The texts that nothing computes with, spaces at their ends aside; a number there is its digits."""
        said = {name for name, kind in INPUTS.items() if kind == "text" and name not in self.computed}
        return {
            name: as_text(found.value).strip() or None
            for name, found in self.returned.cells.items()
            if name in said and isinstance(found.value, (Decimal, str))
        }

    @cached_property
    def issued_rates(self) -> Rates:
        return rates_of(self.content.owner, self.content.tables, self.dictionary)

    @cached_property
    def expected(self) -> Figures:
        """Every figure as it should be: the returned entries at the issued rates, by the rules of the issue.

        The engine knows today's rules; what another version issued goes by the formulas that were signed in it.
        """
        if self.is_of_other_rules:
            return figures_as_signed(self.content, self.returned.issued, self.values, self.dictionary)
        return price(self.issued_rates, self.request)

    @cached_property
    def request(self) -> Request:
        """The request that the returned entries make, with every one that cannot be used left out."""
        return request_of(self.entries, self.content.owner)

    @property
    def picked(self) -> str | None:
        """The option that is picked, by its letter; None without options, or where none of them is."""
        request = self.request
        return request.picked if request.options and not request.needs_pick else None

    @property
    def has_floor(self) -> bool:
        """Whether any floor line counts in the price: a quote without one is no offer."""
        return any(line.counted for line in self.expected.lines)

    @property
    def lost_floors(self) -> bool:
        """Whether an entry that says which floor it is was lost from the file: a next revision has it as issued."""
        return not set(self.returned.missing).isdisjoint(on_every_line("panel_#", "width_#", "length_#"))

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

    @cached_property
    def edits(self) -> list[Edit]:
        """Everything that can be put back: entries, rates, formulas and names that are not as issued."""
        formulas = [self.formula_edit(name) for name in self.edited_formulas]
        names = [NameEdit(name) for name in (*self.returned.missing, *self.displaced, *self.doubled)]
        return list(dict.fromkeys((*(change.edit for change in self.changes), *self._replies, *formulas, *names)))

    @cached_property
    def _replies(self) -> dict[Edit, str]:
        """The client's answers, and the choice of the line that the floor plan draws, each with its name.

        They are no findings, yet the status and figures of the plan rest on them.
        """
        names = self.content.inputs.keys() - self.entries.keys()
        cells = {name: found for name in names if (found := self.returned.cells.get(name))}
        return {
            CellEdit(found.place, Cell(self.content.inputs[name], None)): name
            for name, found in sorted(cells.items())
            if found.formula is not None or found.value != self.content.inputs[name]
        }

    @cached_property
    def edited_names(self) -> dict[Edit, str]:
        """Each edit with the name of what was edited."""
        names: dict[Edit, str] = {change.edit: change.name for change in self.changes}
        names |= self._replies | {self.formula_edit(name): name for name in self.edited_formulas}
        return {edit: edit.name if isinstance(edit, NameEdit) else names[edit] for edit in self.edits}

    @cached_property
    def touched(self) -> set[str]:
        """The names whose cells, rows or meanings some edit has changed."""
        tables = {edit.table for edit in self.edits if isinstance(edit, RowEdit)}
        return {*self.edited_names.values(), *(name for table in tables for name in self.rates.table_columns[table])}

    def without(self, edits: Iterable[Edit]) -> Changes:
        """What is otherwise in the workbook with some edits put back."""
        return Restorer(self.returned, self.rates.rows).without(edits)

    def formula_edit(self, name: str) -> CellEdit:
        """The edit of a formula that was altered or replaced."""
        return CellEdit(self.returned.cells[name].place, Cell(self.content.results[name], self.content.formulas[name]))

    @property
    def changes(self) -> list[Change]:
        """Every entry and rate that is not as issued."""
        return self.changed_entries + self.changed_rates

    @cached_property
    def entry_edits(self) -> set[Edit]:
        return {change.edit for change in self.changed_entries}

    @cached_property
    def texts_for_numbers(self) -> set[CellAddress]:
        """The cells of entries and rates that hold a text, a truth or an error where a number belongs."""
        unlike = (change for change in self.changes if isinstance(change.found.value, (str, bool, Fault)))
        return {change.found.place for change in unlike if not isinstance(change.issued, str)}

    @cached_property
    def deleted(self) -> DeletedLines:
        """The rows and columns that somebody has deleted."""
        lost = (LostRow(*change.lost[:2], change.name, change.edit) for change in self.changed_rates if change.lost)
        return DeletedLines(self.returned, lost)

    @cached_property
    def mixed_sizes(self) -> set[str]:
        """The entries that make the size of a floor laid of several kinds of panel, on all of its lines that count."""
        return self._mixed_sizes(left_out=False)

    @cached_property
    def mixed_sizes_left_out(self) -> set[str]:
        """The entries that make the size of such floors in options that are not picked, on which no price rests."""
        return self._mixed_sizes(left_out=True)

    def _mixed_sizes(self, left_out: bool) -> set[str]:
        request, owner = self.request, self.content.owner
        lines = [
            number
            for number, line in enumerate(request.every_line, 1)
            if request.leaves_out(line) == left_out and any(owner.get(on_line(name, number)) for name in JOINED)
        ]
        return {on_line(name, line) for line in lines for name in ("panel_#", "width_#", "length_#")}

    @cached_property
    def changed_entries(self) -> list[Change]:
        cells = self.returned.cells
        changed = [name for name in self.entries if name in cells and not self.same_entry(name)]
        return [
            changed_cell(name, cells[name], self.content.inputs[name]) for name in changed if name not in self.displaced
        ]

    def same_entry(self, name: str) -> bool:
        """Whether an entry that can be found is as issued, and no formula."""
        found, issued, now = self.returned.cells[name], self.issued_entries[name], self.entries[name]
        if found.formula is not None or isinstance(found.value, (bool, Fault)):
            return False
        if name not in self.computed:
            return issued == now or same_said(issued, found)
        is_code = name.startswith("panel_") or name in OPTION_INPUTS
        return same_key(issued, now) if is_code else issued == now

    @cached_property
    def edited_formulas(self) -> dict[str, Kind]:
        """Formulas that are not as issued: `formula-replaced` or `formula-altered` by name."""
        names = (name for name in self.content.formulas if name not in self.displaced)
        return {name: kind for name in names if (kind := self._formula_edit(name))}

    def _formula_edit(self, name: str) -> Kind | None:
        found, issued = self.returned.cells.get(name), self.content.formulas[name]
        if found is None or found.formula == issued:
            return None
        if found.formula is None:
            return Kind.FORMULA_REPLACED
        return None if self.returned.same_formula(found.formula, issued, found.place.sheet) else Kind.FORMULA_ALTERED
