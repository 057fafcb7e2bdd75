"""The addresses and names in a formula: where they lead in a book, and how what stands there is read.

Where a formula means one value, a range is the cell of it in the formula's own row or column (OpenFormula 3.3,
implicit intersection).
"""

from collections.abc import Callable
from typing import TypeVar

from quotebook.evaluation.book import LOOK_UP, Book, Reader, Run, Value
from quotebook.evaluation.trees import Cells, Name
from quotebook.evaluation.values import NO_REFERENCE, NOT_A_VALUE, Array, Scalar
from quotebook.spreadsheets.cells import CellAddress, CellRange

Reference = Cells | Name
Meaning = CellRange | Scalar
Found = TypeVar("Found", bound=Value)


def meaning_of(reference: Reference) -> Callable[[Book, CellAddress], Meaning]:
    """Where a name or an address leads: to cells, or to the one value that a name stands for."""
    if isinstance(reference, Name):
        name, scope = reference.name, reference.sheet

        def named(book: Book, here: CellAddress) -> Meaning:
            sheet = here.sheet if scope is None else book.sheet_called(scope)
            return NO_REFERENCE if sheet is None else book.named(name, sheet)

        return named
    sheet, top, left = reference.sheet, reference.top, reference.left
    bottom, right = reference.bottom, reference.right

    def addressed(book: Book, here: CellAddress) -> Meaning:
        title = here.sheet if sheet is None else book.sheet_called(sheet)
        return NO_REFERENCE if title is None else CellRange(title, top, left, bottom, right)

    return addressed


def one_cell(reference: Reference) -> Run:
    """The one value that an address or a name means."""
    meaning = meaning_of(reference)
    return _by_name(reference, lambda book, here: _one_of(meaning(book, here), book, here))


def every_cell(reference: Reference) -> Reader:
    """The values of all cells in their places; of a single one, its value."""
    meaning = meaning_of(reference)

    def grid(book: Book, here: CellAddress) -> Value:
        cells = meaning(book, here)
        if not isinstance(cells, CellRange):
            return cells
        found = book.grid(cells)
        return found.cells[0] if isinstance(found, Array) and len(found.cells) == 1 else found

    return _by_name(reference, grid)


def filled_cells(reference: Reference) -> Reader:
    """What is in the cells that are not blank; of a single number that a name stands for, the number."""
    meaning, name = meaning_of(reference), _name_alone(reference)

    def filled(book: Book, here: CellAddress) -> Value:
        value = book.value_named(name) if name else LOOK_UP
        if type(value) is float:  # which counts the same in a cell and by itself
            return value
        cells = meaning(book, here)
        return book.filled(cells) if isinstance(cells, CellRange) else cells

    return filled


def _by_name(
    reference: Reference, otherwise: Callable[[Book, CellAddress], Found]
) -> Callable[[Book, CellAddress], Found | Scalar]:
    """The value of the one cell that a name means on every sheet, as most do; else what `otherwise` reads."""
    name = _name_alone(reference)
    if name is None:
        return otherwise

    return lambda book, here: otherwise(book, here) if (value := book.value_named(name)) is LOOK_UP else value


def _name_alone(reference: Reference) -> str | None:
    """A name that is written without a sheet."""
    return reference.name if isinstance(reference, Name) and reference.sheet is None else None


def _one_of(cells: Meaning, book: Book, here: CellAddress) -> Scalar:
    """The value of one cell; of a range that in the formula's own row or column."""
    if not isinstance(cells, CellRange):
        return cells
    sheet, top, left, bottom, right = cells
    if top == bottom and left == right:
        return book.value(CellAddress(sheet, top, left))
    if left == right and top <= here.row <= bottom:
        return book.value(CellAddress(sheet, here.row, left))
    if top == bottom and left <= here.column <= right:
        return book.value(CellAddress(sheet, top, here.column))
    return NOT_A_VALUE
