"""The cells and names of a workbook, as they stand in its file, whichever program wrote it.

`reading.read_workbook` gives the same shapes for .xlsx and .ods: the value that a program last worked
out and the formula, side by side, of the cells that are there. Nothing is computed, and dates stay the
serial numbers that they are, since a cell's format is anyone's to change.
"""

import re
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from functools import lru_cache
from pathlib import Path
from typing import NamedTuple

from quotebook.engine.money import number

LAST_ROW, LAST_COLUMN = 1_048_576, 16_384
"""Of a sheet ("Excel specifications and limits")."""


@dataclass(frozen=True, slots=True)
class Fault:
    """An error in place of a value: `#REF!`, or a number that is not finite."""

    text: str


class Cell(NamedTuple):
    """`value` is a Decimal, str, bool, Fault or None; `formula` is text without the `=`, or None.

    A formula without a value has lost its cached result; a number typed as text is a str.
    """

    value: Decimal | str | bool | Fault | None
    formula: str | None

    @property
    def content(self) -> Decimal | str | bool | Fault | None:
        """What somebody put there: the formula, with its `=`, or else the value."""
        return self.value if self.formula is None else f"={self.formula}"


class CellAddress(NamedTuple):
    """Where a cell is, by sheet, row and column from 1."""

    sheet: str
    row: int
    column: int

    @property
    def cell(self) -> str:
        """Its address: `D9`."""
        letters, column = "", self.column
        while column:
            column, letter = divmod(column - 1, 26)
            letters = chr(65 + letter) + letters
        return f"{letters}{self.row}"


class CellRange(NamedTuple):
    """A cell or range; rows and columns count from 1, both ends belong to it."""

    sheet: str
    top: int
    left: int
    bottom: int
    right: int


@dataclass(frozen=True, slots=True)
class Sheet:
    """`cells` by (row, column), from 1, in the order met, without blanks."""

    name: str
    visibility: str
    """"visible", "hidden" or "veryHidden"."""
    cells: dict[tuple[int, int], Cell]


class LocalName(NamedTuple):
    """A name that belongs to one sheet; `sheet` is "" for a second one of the workbook's, or where there is no such sheet."""

    sheet: str
    name: str
    target: str


@dataclass(frozen=True, slots=True)
class Workbook:
    path: Path
    sheets: tuple[Sheet, ...]
    names: dict[str, str]
    """Targets of the workbook-level defined names; keys in lower case, as programs take names so."""
    local_names: tuple[LocalName, ...]
    observations: tuple[tuple[str, str], ...]
    """What the file holds beside cells, as (kind, part): macros, external links, embedded objects."""
    date_1904: bool

    def resolve(self, name: str) -> CellRange | None:
        """The one cell or range that a workbook-level name stands for; None where it is anything else."""
        return area(self.names.get(name.lower(), ""), {sheet.name.lower(): sheet.name for sheet in self.sheets})


PLACE = re.compile(r"\$?([A-Za-z]{1,3})\$?([0-9]{1,7})")


@lru_cache(maxsize=16_384)
def place(reference: str) -> tuple[int, int]:
    """(row, column) of `B4` or `$B$4`. Raises ValueError for what is no cell."""
    match = PLACE.fullmatch(reference)
    if not match:
        raise ValueError(f"no cell: {reference!r}")
    column = 0
    for letter in match[1].upper():
        column = column * 26 + ord(letter) - 64
    return within(int(match[2]), column)


def within(row: int, column: int) -> tuple[int, int]:
    """(row, column), where a sheet has such a cell. Raises ValueError."""
    if not (1 <= row <= LAST_ROW and 1 <= column <= LAST_COLUMN):
        raise ValueError(f"no cell: row {row}, column {column}")
    return row, column


TARGET = re.compile(
    r"=?(?P<sheet>'(?:[^']|'')+'|[^'!\[\]:,;()]+)!(?P<first>\$[A-Za-z]+\$[0-9]+)"
    r"(?::(?:(?P=sheet)!)?(?P<last>\$[A-Za-z]+\$[0-9]+))?"
)
"""With every `$`: without, a name leads somewhere else from each cell that reads it."""


RELATIVE = re.compile(
    r"(?<![A-Za-z0-9_.$])\$?[A-Za-z]{1,3}[0-9]{1,7}(?![\w.(])|(?<![A-Za-z0-9_.$])[A-Za-z]{1,3}\$[0-9]{1,7}(?![\w.(])"
)
"""An address without some `$`."""

LONGEST_TARGET = 200
"""Characters; a sheet's name has at most 31."""


def area(target: str, sheets: dict[str, str]) -> CellRange | None:
    """The cell or range in a name's target; None where it is several, a constant, a formula, relative or lost.

    `sheets` holds the names of the sheets by themselves in lower case.
    """
    found = _parsed(target) if len(target) <= LONGEST_TARGET else None
    title = found and sheets.get(found.sheet.lower())
    return None if title is None else found if title == found.sheet else found._replace(sheet=title)


@lru_cache(maxsize=4_096)
def _parsed(target: str) -> CellRange | None:
    """The same with the sheet's name as it is written there, whether there is such a sheet or not."""
    match = TARGET.fullmatch(target.strip())
    if not match:
        return None
    sheet, first, last = match.groups()
    try:
        (top, left), (bottom, right) = place(first), place(last or first)
    except ValueError:
        return None
    if sheet.startswith("'"):
        sheet = sheet[1:-1].replace("''", "'")
    return CellRange(sheet, min(top, bottom), min(left, right), max(top, bottom), max(left, right))


@lru_cache(maxsize=4_096)
def number_or_fault(text: str) -> Decimal | Fault:
    """A number as written in a file (xsd:double). Raises ValueError for what is none."""
    try:
        if len(text) > 2_000 or "_" in text:
            raise ValueError
        value = float(text)
    except ValueError:
        raise ValueError(f"not a number: {text[:60]!r}") from None
    return number(text) if value - value == 0 else Fault(text.strip())


def whole(text: str) -> int:
    """A count or position as written in a file. Raises ValueError for what is none."""
    if not text.isdecimal() or len(text) > 9:
        raise ValueError(f"not a whole number: {text[:60]!r}")
    return int(text)


def serial_of(text: str, date_1904: bool) -> Decimal:
    """An ISO 8601 date, with or without a time, as days since day zero. Raises ValueError."""
    moment = datetime.fromisoformat(text).replace(tzinfo=None)
    return number((moment - datetime.combine(day_zero(date_1904), time())) / timedelta(days=1))


def day_zero(date_1904: bool) -> date:
    """Where serial numbers begin; of those from 1900 this holds since March of that year."""
    return date(1904, 1, 1) if date_1904 else date(1899, 12, 30)
