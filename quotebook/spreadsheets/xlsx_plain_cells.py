"""The quick way through the cells of a sheet: only the forms in which programs write them, each read once.

A block of cells is cut at its values. What stands between two values is an end of a cell, perhaps an end of a row and
blank cells, and the beginning of the next cell with its formula: the same in all quotes of one layout, so it is read by
a pattern once and then known by the whole of it (`xlsx_plain_steps`). Both take only what the careful way
(`xlsx_sheet`) reads to the same cells without a word. Anything else, however slight, goes the careful way: `split` or
`cells_in` gives None. `tests/spreadsheets/test_plain_cells.py` holds both ways together.
"""

from collections.abc import Callable, Collection, Iterator, Mapping
from typing import NamedTuple

from quotebook.errors import Unreadable
from quotebook.spreadsheets.appearance import Place
from quotebook.spreadsheets.cells import Cell, StoredValue
from quotebook.spreadsheets.xlsx_plain_steps import ANY_ROW, PlainCell, PlainSteps
from quotebook.spreadsheets.xlsx_plain_text import LONGEST, has_only_texts, plain_value

OPENING, CLOSING = b"<sheetData>", b"</sheetData>"

BEGINNING = PlainCell((0, 0), "0", None, None)
"""A blank cell in place of the one that would end before a block."""

ValueOf = Mapping[str | None, Callable[[str], StoredValue]]
"""What turns the text of a cell into its value, by the type that the cell gives."""


class PlainCells(NamedTuple):
    """The cells of a block that hold something, and what is seen of them and of its rows."""

    cells: dict[Place, Cell]
    styles: list[str]
    """The numbers of the cells' styles, in the same order."""
    in_runs: list[tuple[str, str, Place]]
    """The cells whose text is written in several runs: number of the text, of the style, and place."""
    hidden: set[int]
    """The rows that are hidden or too low to be read."""


def split(data: bytes) -> tuple[bytes, str] | None:
    """A sheet's part without its cells, and its cells; None where they do not stand in one plain block."""
    start, opening, rest = data.partition(OPENING)
    inside, closing, end = rest.rpartition(CLOSING)
    if not opening or not closing or len(inside) > LONGEST or not has_only_texts(inside):
        return None
    return start + OPENING + CLOSING + end, inside.decode()


def cells_in(inside: str, steps: PlainSteps, value_of: ValueOf, runs: Collection[str]) -> PlainCells | None:
    """The cells of a block, and what is seen of them and of its rows; None where anything in it is not plain.

    `steps` are those of the part, and `runs` has the numbers of the shared texts that are in several runs.
    """
    if "_x" in inside:  # it may be an escape
        return None
    hidden: set[int] = set()
    places: list[Place] = []
    contents: list[tuple[StoredValue, str | None]] = []
    styles: list[str] = []
    in_runs: list[tuple[str, str, Place]] = []
    try:
        for (at, style, kind, formula), text in _written(inside, steps, hidden):
            value = value_of[kind](text) if text is not None and (text or kind == "str") else None
            if value is not None or formula is not None:
                places.append(at)
                contents.append((value, formula))
                styles.append(style)
            if runs and kind == "s" and text and text in runs:
                in_runs.append((text, style, at))
    except (ValueError, LookupError, Unreadable):  # the careful way says what is wrong, and where
        return None
    return PlainCells(dict(zip(places, map(Cell._make, contents), strict=True)), styles, in_runs, hidden)


def _written(inside: str, steps: PlainSteps, hidden: set[int]) -> Iterator[tuple[PlainCell, str | None]]:
    """Each cell that is not blank, with its value as a text, None where it has none. Adds rows to `hidden`.

    Raises ValueError where anything is not plain, and where rows or cells are not in their order.
    """
    row, here = 0, (0, 0)
    opened: PlainCell | None = BEGINNING
    for piece in f"</v></c>{inside}".split("<v>"):
        text, end, between = piece.partition("</v>")
        if opened is None or not end or "<" in text:
            raise ValueError("a value without a cell, or without an end")
        yield opened, plain_value(text) if "&" in text else text
        before, row_behind, first, last, hides, whole, opened = steps.of(between)
        if (before != row and (before != ANY_ROW or not row)) or first <= here:
            raise ValueError("a cell in another row than it says, or something twice")
        row, here = row_behind, last
        if hides:
            hidden.update(hides)
        if whole:
            yield from whole
    if row or opened:
        raise ValueError("a row or a cell without an end")
