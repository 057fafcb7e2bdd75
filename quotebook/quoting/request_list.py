"""Reads a list of requests as rows, by their headings: a request book, any other workbook with headings, or CSV."""

import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from difflib import get_close_matches
from pathlib import Path

from quotebook.contract.words import LANGUAGES
from quotebook.engine.money import plain
from quotebook.errors import InvalidInput
from quotebook.quoting.lists import Cell, read_list
from quotebook.quoting.request_headings import COLUMNS, headings_in, meaning_of, unit_in_brackets, unit_said
from quotebook.quoting.requests import found_and_allowed

MOST_ABOVE = 20
"""The headings are looked for in so many rows."""


@dataclass(frozen=True)
class RequestRow:
    """One row of a list: its cells by the names of their columns, without those that are the owner's own."""

    cells: Mapping[str, Cell]

    @property
    def row(self) -> int:
        """The number of the row in its file or sheet."""
        return next(iter(self.cells.values())).row

    def value(self, name: str) -> object:
        """What is in a column; None if it is blank or missing."""
        return self.cells[name].value if name in self.cells else None

    def texts(self) -> dict[str, str]:
        """What the owner asks for in this row, as text by column: two rows that ask for one thing have equal texts."""
        found = ((name, self.value(name)) for name in COLUMNS)
        return {name: as_text(value) for name, value in found if value is not None}


@dataclass(frozen=True)
class RequestList:
    """The rows of a list that ask for something, and its headings by the names of their columns."""

    headings: Mapping[str, Cell]
    rows: Sequence[RequestRow]
    head: Cell
    """The first cell of the row of headings."""
    width: int
    """The last column that has anything in it."""

    def must_be_in(self, length_unit: str, language: str, what_to_do: str) -> None:
        """Raises InvalidInput for a heading that says the other unit of length than the card's, `ft` or `m`."""
        for name, cell in self.headings.items():
            said = unit_said(name, str(cell.value))
            if said and said != length_unit:
                heading = headings_in(language)[name] + unit_in_brackets(name, language, length_unit)
                allowed = f'"{heading}", since the rate card is in {length_unit}. {what_to_do}'
                raise InvalidInput(
                    "This list is in another unit than the rate card:",
                    [f"{cell.where}: {found_and_allowed(cell.value, allowed)}"],
                )


def heading_of(path: str | os.PathLike[str]) -> str:
    return f"{path}: no quote was issued from this list. Correct these entries first:"


def read_request_list(path: str | os.PathLike[str]) -> RequestList:
    """The headings and the rows of a list, .csv or .xlsx. Raises InvalidInput for headings that cannot be used."""
    rows = read_list(path)
    top = max(range(min(MOST_ABOVE, len(rows))), key=lambda at: sum(map(_is_known, rows[at])), default=0)
    cells = rows[top] if rows else []
    complaints = list(_heading_complaints(cells))
    if rows and not any(map(_is_known, cells)):
        complaints.append(
            f"{Path(path).name}: {found_and_allowed(None, 'headings, such as ' + ', '.join(COLUMNS[:6]))}"
        )
    below = rows[top + 1 :]
    if Path(path).suffix.lower() == ".csv":
        complaints += _entries_without_heading(cells, below)
    if complaints:
        raise InvalidInput(heading_of(path), complaints)
    names = {place: name for place, cell in enumerate(cells) if (name := meaning_of(cell.value))}
    found = (RequestRow({name: row[place] for place, name in names.items()}) for row in below)
    return RequestList(
        {name: cells[place] for place, name in names.items()},
        [row for row in found if row.texts()],
        next((cell for cell in cells if cell.value is not None), Cell("", None, 1, 1)),
        max((cell.column for cell in cells), default=0),
    )


def _is_known(heading: Cell) -> bool:
    return meaning_of(heading.value) is not None


def _heading_complaints(cells: Sequence[Cell]) -> Iterator[str]:
    """A column that stands twice, and one of the owner's own whose heading looks like one that is missing."""
    meanings = [meaning_of(cell.value) for cell in cells]
    known = {text: name for language in LANGUAGES for name, text in headings_in(language).items()}
    known |= {name: name for name in COLUMNS}
    for cell, name in zip(cells, meanings, strict=True):
        if name is not None and meanings.count(name) > 1:
            yield f"{cell.where}: {found_and_allowed(cell.value, 'each heading once')}"
        elif name is None and isinstance(cell.value, str):
            near = get_close_matches(cell.value, [text for text, each in known.items() if each not in meanings], 1, 0.8)
            for text in near:
                allowed = f"the heading {text}, or another word for your own"
                yield f"{cell.where}: {found_and_allowed(cell.value, allowed)}"


def _entries_without_heading(cells: Sequence[Cell], below: Iterable[Sequence[Cell]]) -> Iterator[str]:
    """In CSV an entry too many is a comma inside a text, which moves every entry behind it to a wrong column."""
    bare = [place for place, cell in enumerate(cells) if cell.value is None]
    for row in below:
        for place in bare:
            if row[place].value is not None:
                yield f"{row[place].where}: {found_and_allowed(row[place].value, 'no more entries than headings')}"


def as_text(value: object) -> str:
    """A value as text, in one way however a program stored it."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return plain(value) if isinstance(value, Decimal) else " ".join(str(value).split())
