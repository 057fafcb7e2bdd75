"""Rows and columns of an issued sheet that somebody has deleted, each as one thing with all that was on it."""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from quotebook.checking.edits import Edit, NameEdit
from quotebook.checking.kinds import Kind
from quotebook.checking.moved import NOT_MOVED, Lines
from quotebook.checking.returned import NOTHING, Returned
from quotebook.spreadsheets.cells import CellAddress

AXES = {Kind.ROW_DELETED: 0, Kind.COLUMN_DELETED: 1}


class LostRow(NamedTuple):
    """A row that a table or a list has lost: its sheet and number as issued, and the edit that puts it back."""

    sheet: str
    row: int
    name: str
    edit: Edit


@dataclass
class DeletedLine:
    """One row or column that is gone."""

    sheet: str
    """As issued, like `number`."""
    kind: Kind
    number: int
    names: list[str] = field(default_factory=list)
    edits: list[Edit] = field(default_factory=list)
    texts: list[object] = field(default_factory=list)

    @property
    def label(self) -> str:
        """What people call it: `row 6`, `column D`."""
        return f"row {self.number}" if self.kind is Kind.ROW_DELETED else f"column {self.cell.rstrip('1')}"

    @property
    def cell(self) -> str:
        """The address of its first cell."""
        place = (self.number, 1) if self.kind is Kind.ROW_DELETED else (1, self.number)
        return CellAddress(self.sheet, *place).cell


Place = tuple[int, int]


class DeletedLines:
    """All rows and columns that are gone."""

    def __init__(self, returned: Returned, lost_rows: Iterable[LostRow]):
        self.returned = returned
        self._by_place: dict[tuple[str, Kind, int], DeletedLine] = {}
        for sheet in returned.sheets_now:
            if returned.moved[sheet] is not NOT_MOVED:
                self._by_place |= {(sheet, line.kind, line.number): line for line in self._on(sheet)}
        self._add_rows_of_tables(list(lost_rows))

    def _add_rows_of_tables(self, lost_rows: list[LostRow]) -> None:
        """What tables and lists have lost belongs to the rows that are gone; where several have, their row is."""
        rows = Counter((lost.sheet, lost.row) for lost in lost_rows)
        for lost in lost_rows:
            key = lost.sheet, Kind.ROW_DELETED, lost.row
            if rows[lost.sheet, lost.row] > 1:
                self._by_place.setdefault(key, DeletedLine(*key))
            if line := self._by_place.get(key):
                line.names.append(lost.name)
                line.edits.append(lost.edit)

    def __iter__(self) -> Iterator[DeletedLine]:
        yield from (line for line in self._by_place.values() if line.names or line.texts)

    def has(self, sheet: str, row: int, column: int) -> bool:
        """Whether an issued cell was on a row or column that is gone."""
        places = (sheet, Kind.ROW_DELETED, row), (sheet, Kind.COLUMN_DELETED, column)
        return any(place in self._by_place for place in places)

    def _on(self, sheet: str) -> Iterator[DeletedLine]:
        """The lines of a sheet that are gone. Where rows and columns both may be, it is the fewer of them."""
        content, moved, tables = self.returned.content, self.returned.moved[sheet], self.returned.content.tables
        named = {name: (at[1], at[2]) for name, at in content.places.items() if at[0] == sheet and name not in tables}
        texts = self.returned.unnamed_cells[sheet]
        ways = []
        for kind, lines in ((Kind.ROW_DELETED, moved.rows), (Kind.COLUMN_DELETED, moved.columns)):
            axis = AXES[kind]
            held: dict[int, set[Place]] = {}
            for place in (*named.values(), *texts):
                held.setdefault(place[axis], set()).add(place)
            ways.append({
                number: kind
                for number in range(1, max(held, default=0) + 1)
                if self._is_gone(sheet, lines, number, held.get(number, set()), set(named.values()))
            })  # fmt: skip
        rows, columns = ways
        if rows and columns:
            rows, columns = (rows, {}) if len(rows) <= len(columns) else ({}, columns)
        for number, kind in (rows | columns).items():
            lost = [name for name, place in named.items() if place[AXES[kind]] == number]
            said = [text for place, text in texts.items() if place[AXES[kind]] == number]
            yield DeletedLine(sheet, kind, number, lost, [NameEdit(name) for name in lost], said)

    def _is_gone(self, sheet: str, lines: Lines, number: int, held: set[Place], named: set[Place]) -> bool:
        """Whether nothing of a line is left, and what is behind it has moved up; behind the last line is nothing."""
        if not held:
            return lines.of(number) is None
        if any(self._is_there(sheet, place) for place in held):
            return False
        shift, after = lines.shift(number), lines.shift_after(number)
        return len(held) > 1 and bool(held & named) if after is None else after < shift

    def _is_there(self, sheet: str, place: Place) -> bool:
        """Whether a cell still has its name, or still holds something where it should be."""
        returned, title = self.returned, self.returned.sheets_now[sheet]
        at = returned.moved[sheet].place(*place)
        content = returned.sheets[title].cells.get(at, NOTHING).content if at else None
        if place in returned.unnamed_cells[sheet]:
            return content == returned.unnamed_cells[sheet][place]
        return self._name_at[sheet, *place] not in returned.missing

    @cached_property
    def _name_at(self) -> dict[tuple[str, int, int], str]:
        content = self.returned.content
        return {(at[0], at[1], at[2]): name for name, at in content.places.items() if name not in content.tables}
