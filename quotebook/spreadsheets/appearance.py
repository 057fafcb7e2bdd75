"""What a sheet shows or hides besides the contents of its cells: nothing is worked out from it, but people see it.

Only what is out of the ordinary is noted, as the readers of both formats come by it.
"""

import re
from dataclasses import dataclass, field
from functools import lru_cache
from typing import NamedTuple

from quotebook.spreadsheets.colours import BLACK, WHITE, can_be_read, colours_of_format

Place = tuple[int, int]
"""A row and a column, from 1."""

Area = tuple[int, int, int, int]
"""The first row and column of a rectangle of cells, and the last."""

MOST_HIDDEN = 1_000
"""Rows or columns beside each other of which it is noted that they are hidden."""
LEAST_HEIGHT = 3
"""Points of a row below which nobody reads what is there; the least of a quote's own is 3.75."""
LEAST_TEXT = 4
"""Points of a text below which nobody reads it; the least of a quote's own is 8."""
OF_SYMBOLS = ("wingdings", "webdings", "symbol", "opensymbol", "zapf dingbats", "marlett", "bookshelf symbol")
"""How the names of fonts begin that draw something else in place of letters and digits."""


def draws_symbols(font: str) -> bool:
    """Whether a font of this name draws something else in place of letters and digits."""
    return font.strip().lower().startswith(OF_SYMBOLS)


class CellLook(NamedTuple):
    """How a cell shows its content, as far as that can hide it or say something else."""

    text: str = BLACK
    behind: str = WHITE
    is_cut: bool = False
    """Too small, struck out, repeated, in signs that nobody reads, or hidden otherwise, whatever its colours."""
    code: str = ""
    """Its number format."""

    @property
    def is_unseen(self) -> bool:
        """Whether it cannot be seen, or not as it is."""
        colours = (self.text, *colours_of_format(self.code))
        return self.is_cut or not all(can_be_read(colour, self.behind) for colour in colours)


class FormatRule(NamedTuple):
    """A conditional format: the cells that it is for, and what it makes of their looks."""

    areas: tuple[Area, ...]
    text: str | None = None
    """Its colour for texts; None where it has none."""
    behind: str | None = None
    strikes: bool = False
    """Whether it strikes texts out."""
    hides: bool = False
    """Whether it hides what is in a cell, or shows something else, whatever the colours."""

    def hides_in(self, look: CellLook) -> bool:
        """Whether it hides what is in a cell of that look."""
        text, behind = (own if own is not None else other for own, other in zip(self[1:3], look[:2], strict=True))
        return self.hides or not can_be_read(text, behind)


@dataclass(slots=True)
class SheetAppearance:
    """What is out of the ordinary on one sheet."""

    hidden_rows: set[int] = field(default_factory=set)
    hidden_columns: set[int] = field(default_factory=set)
    comments: dict[str, str] = field(default_factory=dict)
    """By the address of the cell."""
    page_texts: list[str] = field(default_factory=list)
    """Headers and footers, with the codes of .xlsx."""
    printed: tuple[Area, ...] | None = None
    """What is printed; None where that is everything."""
    pictures: list[Place] = field(default_factory=list)
    """Where pictures, shapes and charts begin."""
    rules: list[FormatRule] = field(default_factory=list)
    looks: dict[Place, CellLook] = field(default_factory=dict)
    """How cells that hold something look, on a sheet with rules; those that are not there look as usual."""
    formats: dict[Place, str] = field(default_factory=dict)
    """Number formats with words in them, or that hide a number or a text or show a part of it, by the cells that have
    them."""
    covered: list[Area] = field(default_factory=list)
    """Cells that are merged: only the first of them is seen."""
    unseen: set[Place] = field(default_factory=set)
    """Cells whose text is too small to be read, or has the colour of what is behind it."""


def holds(area: Area, place: Place) -> bool:
    """Whether a cell is in a rectangle of them."""
    top, left, bottom, right = area
    return top <= place[0] <= bottom and left <= place[1] <= right


QUOTED = re.compile(r'"([^"]*)"|\\(.)|\[\$([^\]-]*)[^\]]*\]')
"""What a number format shows as it is: a text in quotes, one sign, a currency."""
THOUSANDS_LEFT_OUT = re.compile(r"[0#?],+(?![0#?])")
IN_BRACKETS = re.compile(r"\[[^\]]*\]")
ROOM = re.compile(r"_.")
"""The room that a sign would take (ECMA-376 part 1, 18.8.31)."""
OF_ITS_OWN = re.compile(r"(?<![/0-9])[1-9]|\*[A-Za-z0-9]|[^\W\d_ABDEGHMNPQRSWYabdeghmnpqrswy]")
"""Digits, but for what a fraction is of, such as sixteenths; a sign that fills the cell; and letters that stand for no
part of a day, a number or an era."""


@lru_cache(maxsize=256)
def is_odd(code: str) -> bool:
    """Whether a number format has words or digits of its own, hides numbers, or shows thousands of them, or the number
    below zero.

    A blank in place of 0 is no such thing: quotes have that themselves.
    """
    said = "".join("".join(part or "" for part in match) for match in QUOTED.findall(code))
    first, *others = _sections(code)
    hides = bool(code) and (not first.strip() or (len(others) > 0 and not others[0].strip()))
    own = first.lstrip().startswith("-") or OF_ITS_OWN.search(";".join((first, *others)))
    thousands = THOUSANDS_LEFT_OUT.search(";".join((first, *others)))
    return any(sign.isalnum() for sign in said) or hides or bool(own or thousands)


@lru_cache(maxsize=256)
def hides_texts(code: str) -> bool:
    """Whether a number format has a section for texts, the fourth, that does not show them."""
    sections = _sections(code)
    return len(sections) > 3 and "@" not in sections[3]


def _sections(code: str) -> list[str]:
    """The sections of a number format, without what it shows as it is and what stands in brackets."""
    bare = IN_BRACKETS.sub("", ROOM.sub("", QUOTED.sub("", code)))
    return re.sub("general|standard", "#", bare, flags=re.IGNORECASE).split(";")
