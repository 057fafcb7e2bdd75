"""The book that a program reads: what it asks for its cells and names, and what it is given."""

from collections.abc import Callable
from enum import Enum
from typing import Final, Protocol

from quotebook.evaluation.values import Array, Scalar
from quotebook.spreadsheets.cells import CellAddress, CellRange, Fault


class LookUp(Enum):
    """In place of a value: what a name means has to be looked up for the sheet on which it stands."""

    LOOK_UP = "look up"


LOOK_UP: Final = LookUp.LOOK_UP


class Book(Protocol):
    """What a program reads."""

    day_zero_later: int
    """By how many days its serial numbers count from a later day zero than that of 1900."""

    def spend(self, steps: int) -> bool:
        """Counts steps of work; whether there are any left."""

    def value(self, address: CellAddress) -> Scalar:
        """What a cell comes to."""

    def grid(self, cells: CellRange) -> Array | Fault:
        """Every cell of a range in its place."""

    def filled(self, cells: CellRange) -> Array | Fault:
        """The cells of a range that are not blank, one after another."""

    def named(self, name: str, sheet: str) -> CellRange | Scalar:
        """What a name stands for in the formulas of a sheet: its cells, or one value."""

    def value_named(self, name: str) -> Scalar | LookUp:
        """What the one cell comes to that a name stands for on every sheet; LOOK_UP where it is no such name."""

    def sheet_called(self, name: str) -> str | None:
        """A sheet by its name, whatever its case."""


Value = Scalar | Array
Run = Callable[[Book, CellAddress], Scalar]
"""Works something out to one value, in the formula of the cell that is given."""
Reader = Callable[[Book, CellAddress], Value]
"""Works something out to one value or to many."""
