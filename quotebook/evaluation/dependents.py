"""Which formulas rest on a change, by what each of them has read."""

from collections import defaultdict
from collections.abc import Collection, Mapping

from quotebook.spreadsheets.cells import CellAddress, CellRange

MOST_RANGES = 300
"""Ranges that are looked through for what rests on a change; of more, everything does."""

Read = CellAddress | CellRange | str
"""What a formula reads: a cell, a range, or a name in lower case."""


class Dependents:
    """The formulas that read the cells, ranges and names in `reads`, which may grow by formulas that are new in it.

    Whoever has read a name has read the one cell that `cells_named` has for it, where it has one.
    """

    def __init__(self, reads: Mapping[CellAddress, list[Read]], cells_named: Mapping[str, CellAddress | None]):
        self._reads, self._cells_named = reads, cells_named
        self._indexed = -1
        self._index: tuple[Mapping[Read, list[CellAddress]], dict[CellRange, list[CellAddress]]]

    def read_by(self, reader: CellAddress) -> dict[Read, None]:
        """What a formula has read, each once: a name, and the one cell that it means."""
        found = dict.fromkeys(self._reads.get(reader, ()))
        cells = [self._cells_named.get(read) for read in found if isinstance(read, str)]
        return found | dict.fromkeys(cell for cell in cells if cell is not None)

    def direct(self, cells: Collection[CellAddress], names: Collection[str]) -> set[CellAddress]:
        """The formulas that read one of some cells or names themselves."""
        by_read, by_range = self._readers()
        changed: list[Read] = [*cells, *names]
        found = {reader for each in changed for reader in by_read.get(each, ())}
        for area, readers in by_range.items():
            if any(area.holds(address) for address in cells):
                found.update(readers)
        return found

    def all(self, cells: Collection[CellAddress], names: Collection[str]) -> set[CellAddress]:
        """The cells themselves, and the formulas that rest on them or on the names, directly or through others."""
        by_read, by_range = self._readers()
        by_range = dict(by_range)
        reached: set[CellAddress] = set(cells)
        if len(by_range) > MOST_RANGES:
            return reached | self._reads.keys()
        new: list[CellAddress] = [*cells, *self.direct(cells, names)]
        while new:
            address = new.pop()
            reached.add(address)
            readers = set(by_read.get(address, ()))
            for area in [area for area in by_range if area.holds(address)]:
                readers.update(by_range.pop(area))
            new += readers - reached
            reached |= readers
        return reached

    def _readers(self) -> tuple[Mapping[Read, list[CellAddress]], dict[CellRange, list[CellAddress]]]:
        """The formulas that read each cell, range or name, and of these the ranges alone."""
        if self._indexed == len(self._reads):
            return self._index
        by_read: dict[Read, list[CellAddress]] = defaultdict(list)
        for reader in self._reads:
            for read in self.read_by(reader):
                by_read[read].append(reader)
        self._indexed = len(self._reads)
        self._index = by_read, {read: readers for read, readers in by_read.items() if isinstance(read, CellRange)}
        return self._index
