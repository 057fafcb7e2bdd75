"""Where the rows and columns of an issued sheet are now, after somebody inserted or deleted some.

Names and labels are the evidence: programs move both along with their cells. An edit may also have
pointed a name elsewhere or typed over a label, so evidence is weighed: of all readings in which the
order of the lines is kept, the one that the most of it speaks for is taken. ("Line" is a row or a
column here.)
"""

from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable, Mapping
from typing import NamedTuple

from quotebook.evaluation.sameness import same_formula
from quotebook.spreadsheets.cells import Cell, CellRange

Pair = tuple[int, int]
"""A row and a column; or a line as issued, and where something says that it is now."""


class Lines(NamedTuple):
    """The rows, or the columns, of which there is evidence: as issued, and now. Both ascend."""

    issued: tuple[int, ...]
    now: tuple[int, ...]

    def of(self, line: int) -> int | None:
        """Where a line is now: as far from the one before it as it was; None where another one is there by now."""
        found, after = line + self.shift(line), bisect_right(self.issued, line)
        between = after == len(self.now) or found < self.now[after]
        return found if between else None

    def shift(self, line: int) -> int:
        """How far the last line with evidence up to this one has moved."""
        last = bisect_right(self.issued, line) - 1
        return self.now[last] - self.issued[last] if last >= 0 else 0

    def shift_after(self, line: int) -> int | None:
        """How far the first line with evidence after this one has moved; None where there is none."""
        after = bisect_right(self.issued, line)
        return self.now[after] - self.issued[after] if after < len(self.issued) else None

    def span(self, first: int, last: int) -> Pair | None:
        """Where lines from `first` to `last` are now, without those at the ends that are gone."""
        found = [now for line in range(first, last + 1) if (now := self.of(line)) is not None]
        return (found[0], found[-1]) if found else None


UNMOVED = Lines((), ())


class Moved(NamedTuple):
    """The rows and the columns of one sheet."""

    rows: Lines = UNMOVED
    columns: Lines = UNMOVED

    @property
    def any_elsewhere(self) -> bool:
        """Whether any line is elsewhere than it was: then what counts rows or columns may come to another number."""
        return self.rows.issued != self.rows.now or self.columns.issued != self.columns.now

    def place(self, row: int, column: int) -> tuple[int, int] | None:
        """Where an issued cell is now; None where its row or column was deleted."""
        if self is NOT_MOVED:
            return row, column
        row_now, column_now = self.rows.of(row), self.columns.of(column)
        return None if row_now is None or column_now is None else (row_now, column_now)

    def area(self, issued: CellRange) -> CellRange | None:
        """Where an issued range is now, without deleted rows and columns at its ends; None where all were deleted."""
        if self is NOT_MOVED:
            return issued
        rows, columns = self.rows.span(issued.top, issued.bottom), self.columns.span(issued.left, issued.right)
        return CellRange(issued.sheet, rows[0], columns[0], rows[1], columns[1]) if rows and columns else None


NOT_MOVED = Moved()
"""Every name is where it was, and so is every label, and every formula without a name."""


def moved(
    named: Iterable[tuple[CellRange, CellRange]], held: Mapping[Pair, object], cells: Mapping[Pair, Cell]
) -> Moved:
    """How the lines of a sheet have moved.

    `named` are the areas of its names, as issued and now; `held` the texts and formulas that it held when it
    was issued, `cells` all that it holds now. NOT_MOVED where none of this has changed but the spelling of formulas,
    and what stands in cells whose names are in place: it says nothing of where they are.
    """
    named = list(named)
    if all(issued[1:] == now[1:] for issued, now in named):
        in_place = {now[1:3] for _, now in named}
        if all(
            place in in_place or (place in cells and _says_still(cells[place], said)) for place, said in held.items()
        ):
            return NOT_MOVED
    rows: Counter[Pair] = Counter()
    columns: Counter[Pair] = Counter()
    for issued, now in named:
        if now[1:3] == now[3:] and issued[1:3] != issued[3:]:
            continue  # a range that has become one cell says nothing of its ends
        rows.update({(issued.top, now.top), (issued.bottom, now.bottom)})
        columns.update({(issued.left, now.left), (issued.right, now.right)})
    once = _places_of_what_is_there_once(held)
    once_now = _places_of_what_is_there_once({place: cell.content for place, cell in cells.items()})
    for said in once.keys() & once_now.keys():
        rows[once[said][0], once_now[said][0]] += 1
        columns[once[said][1], once_now[said][1]] += 1
    return Moved(_in_order(rows), _in_order(columns))


def _says_still(cell: Cell, said: object) -> bool:
    """Whether a cell holds what was issued there; a formula may be spelled in another way."""
    if cell.content == said:
        return True
    return cell.formula is not None and isinstance(said, str) and same_formula(cell.formula, said.removeprefix("="))


def _places_of_what_is_there_once(said: Mapping[Pair, object]) -> dict[object, Pair]:
    often = Counter(said.values())
    return {what: place for place, what in said.items() if often[what] == 1}


def _in_order(evidence: Counter[Pair]) -> Lines:
    """The pairs with the most evidence in which both lines ascend.

    Lines seldom move by themselves: a pair that has moved otherwise than the one before it counts for
    half of one less. Of two equal readings it is the one that moves less.
    """
    best: list[tuple[float, int, tuple[Pair, ...]]] = []
    for line, now in sorted(evidence):
        before: list[tuple[float, int, tuple[Pair, ...]]] = [(0 - (line != now) / 2, 0, ())]
        for weight, still, chain in best:
            last, last_now = chain[-1]
            if last < line and last_now < now:
                before.append((weight - (now - line != last_now - last) / 2, still, chain))
        weight, still, chain = max(before)
        best.append((weight + evidence[line, now], still - abs(now - line), (*chain, (line, now))))
    chain = max(best, default=(0, 0, ()))[2]
    return Lines(*zip(*chain, strict=True)) if chain else UNMOVED
