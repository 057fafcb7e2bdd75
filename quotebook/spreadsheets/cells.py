"""The cells and names of a workbook as its file stores them, whichever program wrote it.

`reading.read_workbook` returns these types for .xlsx and .ods alike. Each cell that is in the file has the
formula and the value that a program last calculated for it. Nothing is calculated here. Dates stay serial
numbers, because only the format of a cell makes a number a date, and anyone may change a format.
"""

import re
import unicodedata
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from functools import lru_cache
from pathlib import Path
from typing import NamedTuple, TypeVar

from quotebook.engine.money import number
from quotebook.spreadsheets.appearance import Area, SheetAppearance

LAST_ROW, LAST_COLUMN = 1_048_576, 16_384
"""The last row and column that a sheet can have ("Excel specifications and limits")."""

NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
NOT_FINITE = ("INF", "-INF", "NaN")
"""How a file spells a number (xsd:double). Programs differ over anything else, such as digits of other scripts."""
ISO_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}(?:T[0-9]{2}:[0-9]{2}:[0-9]{2}(?:\.[0-9]{1,9})?Z?)?")
"""How a file spells a date, or a date with a time (xsd:date, xsd:dateTime)."""


@dataclass(frozen=True, slots=True)
class Fault:
    """An error in place of a value: `#REF!`, or a number that is not finite."""

    text: str


StoredValue = Decimal | str | bool | Fault | None
"""What a cell of a file can hold besides a formula. A number that was typed as text is a str."""


class Cell(NamedTuple):
    """One cell: its value, and its formula as text without the `=`, or None.

    A formula whose value is None has lost its cached result.
    """

    value: StoredValue
    formula: str | None

    @property
    def content(self) -> StoredValue:
        """What somebody entered: the formula with its `=`, or else the value."""
        return self.value if self.formula is None else f"={self.formula}"


class CellAddress(NamedTuple):
    """A cell by its sheet, row and column; rows and columns count from 1."""

    sheet: str
    row: int
    column: int

    @property
    def cell(self) -> str:
        """The address within the sheet: `D9`."""
        letters, column = "", self.column
        while column:
            column, letter = divmod(column - 1, 26)
            letters = chr(65 + letter) + letters
        return f"{letters}{self.row}"


class CellRange(NamedTuple):
    """A cell or a rectangle of cells; rows and columns count from 1, and both ends belong to it."""

    sheet: str
    top: int
    left: int
    bottom: int
    right: int

    def holds(self, address: "CellAddress") -> bool:
        """Whether a cell belongs to it."""
        return (
            address.sheet == self.sheet
            and self.top <= address.row <= self.bottom
            and self.left <= address.column <= self.right
        )

    def only_cell(self) -> "CellAddress | None":
        """Its one cell, where it has no more."""
        alone = self.top == self.bottom and self.left == self.right
        return CellAddress(self.sheet, self.top, self.left) if alone else None


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet of a workbook."""

    name: str
    visibility: str
    """"visible", "hidden" or "veryHidden"."""
    cells: dict[tuple[int, int], Cell]
    """By (row, column), from 1, in the order of the file; blank cells are left out."""
    appearance: SheetAppearance = field(default_factory=SheetAppearance, compare=False)


class LocalName(NamedTuple):
    """A defined name that belongs to one sheet.

    `sheet` is "" for a second definition of a workbook-level name, and for a sheet that does not exist.
    """

    sheet: str
    name: str
    target: str


class Unknown(NamedTuple):
    """Something in a file that the reader does not know, and that a program may read."""

    what: str
    part: str
    sheet: str
    cell: str
    """Where it stands first; "" where it is in no cell, or in none that can be told."""
    times: int = 1


@dataclass(frozen=True, slots=True)
class Workbook:
    """A workbook as its file stores it."""

    path: Path
    sheets: tuple[Sheet, ...]
    names: dict[str, str]
    """Targets of the workbook-level defined names; keys in lower case, because programs ignore case in names."""
    local_names: tuple[LocalName, ...]
    observations: tuple[tuple[str, str], ...]
    """What the file holds besides cells, as (kind, part): macros, external links, embedded objects."""
    date_1904: bool
    """Whether serial numbers count from 1904."""
    unknown: tuple[Unknown, ...] = ()
    """What the file holds besides that no quote can hold."""

    def resolve(self, name: str) -> CellRange | None:
        """The one cell or range that a workbook-level name points to; None where it points to anything else."""
        titles = {sheet.name.lower(): sheet.name for sheet in self.sheets}
        return target_range(self.names.get(name.lower(), ""), titles)


def look_of(name: str) -> str:
    """What a name looks like to programs that ignore case: the same for names that any of them takes for one."""
    return name.lower() if name.isascii() else unicodedata.normalize("NFKC", name).upper().casefold()


REFERENCE = re.compile(r"\$?([A-Za-z]{1,3})\$?([0-9]{1,7})")


@lru_cache(maxsize=16_384)
def position_of(reference: str) -> tuple[int, int]:
    """(row, column) of `B4` or `$B$4`. Raises ValueError where there is no such cell."""
    match = REFERENCE.fullmatch(reference)
    if not match:
        raise ValueError(f"no cell: {reference!r}")
    column = 0
    for letter in match[1].upper():
        column = column * 26 + ord(letter) - 64
    return existing_position(int(match[2]), column)


AS_WRITTEN = r"[A-Z]{1,3}[1-9][0-9]{0,6}"
"""The pattern of a cell's place as programs write it."""
RANGE_AS_WRITTEN = re.compile(rf"({AS_WRITTEN})(?::({AS_WRITTEN}))?")


def area_of(reference: str) -> Area | None:
    """The first row and column of `B4:D9`, or `B4`, and the last; None for what no program writes so."""
    match = RANGE_AS_WRITTEN.fullmatch(reference)
    if match is None:
        return None
    try:
        (top, left), (bottom, right) = position_of(match[1]), position_of(match[2] or match[1])
    except ValueError:
        return None
    return (top, left, bottom, right) if top <= bottom and left <= right else None


def existing_position(row: int, column: int) -> tuple[int, int]:
    """(row, column) unchanged. Raises ValueError where no sheet has such a cell."""
    if not (1 <= row <= LAST_ROW and 1 <= column <= LAST_COLUMN):
        raise ValueError(f"no cell: row {row}, column {column}")
    return row, column


TARGET = re.compile(
    r"=?(?P<sheet>'(?:[^']|'')+'|[^'!\[\]:,;()]+)!(?P<first>\$[A-Za-z]+\$[0-9]+)"
    r"(?::(?:(?P=sheet)!)?(?P<last>\$[A-Za-z]+\$[0-9]+))?"
)
"""Every `$` is required: without it a name points somewhere else from each cell that reads it."""


RELATIVE = re.compile(
    r"(?<![A-Za-z0-9_.$])\$?[A-Za-z]{1,3}[0-9]{1,7}(?![\w.(])|(?<![A-Za-z0-9_.$])[A-Za-z]{1,3}\$[0-9]{1,7}(?![\w.(])"
)
"""An address without some `$`."""

LONGEST_TARGET = 200
"""Characters; a sheet's name has at most 31."""

Found = TypeVar("Found", CellAddress, CellRange)


def target_range(target: str, titles: dict[str, str]) -> CellRange | None:
    """The cell or range that a name's target is; None where it is several, a constant, a formula, relative or lost.

    `titles` maps the name of each sheet in lower case to the name itself.
    """
    return _on_its_sheet(_parse_target(target) if len(target) <= LONGEST_TARGET else None, titles)


def target_cell(target: str, titles: dict[str, str]) -> CellAddress | None:
    """The one cell that a name's target is; None for more cells than one, and for all that is no range."""
    return _on_its_sheet(_parse_one_cell(target) if len(target) <= LONGEST_TARGET else None, titles)


def _on_its_sheet(found: Found | None, titles: dict[str, str]) -> Found | None:
    """A cell or a range with the sheet's name as the workbook spells it; None where the workbook has no such sheet."""
    title = titles.get(found.sheet.lower()) if found else None
    if found is None or title is None:
        return None
    return found if title == found.sheet else found._replace(sheet=title)


@lru_cache(maxsize=4_096)
def _parse_one_cell(target: str) -> CellAddress | None:
    found = _parse_target(target)
    return found.only_cell() if found else None


@lru_cache(maxsize=4_096)
def _parse_target(target: str) -> CellRange | None:
    """The range in a target, with the sheet's name as the target spells it, whether that sheet exists or not."""
    match = TARGET.fullmatch(target.strip())
    if not match:
        return None
    sheet, first, last = match.groups()
    try:
        (top, left), (bottom, right) = position_of(first), position_of(last or first)
    except ValueError:
        return None
    if sheet.startswith("'"):
        sheet = sheet[1:-1].replace("''", "'")
    return CellRange(sheet, min(top, bottom), min(left, right), max(top, bottom), max(left, right))


@lru_cache(maxsize=4_096)
def number_or_fault(text: str) -> Decimal | Fault:
    """A number as a file spells it (xsd:double). Raises ValueError for any other text."""
    if text in NOT_FINITE:
        return Fault(text)
    if len(text) > 2_000 or not NUMBER.fullmatch(text):
        raise ValueError(f"not a number: {text[:60]!r}")
    value = float(text)
    return number(text) if value - value == 0 else Fault(text)


def parse_count(text: str) -> int:
    """A count or position as a file spells it. Raises ValueError for any other text."""
    if not (text.isascii() and text.isdecimal()) or len(text) > 9:
        raise ValueError(f"not a whole number: {text[:60]!r}")
    return int(text)


def serial_of_iso_date(text: str, date_1904: bool) -> Decimal:
    """An ISO 8601 date, with or without a time, as days since day zero. Raises ValueError for any other text."""
    if not ISO_DATE.fullmatch(text):
        raise ValueError(f"not a date: {text[:60]!r}")
    moment = datetime.fromisoformat(text).replace(tzinfo=None)
    return number((moment - datetime.combine(day_zero(date_1904), time())) / timedelta(days=1))


def day_zero(date_1904: bool) -> date:
    """The day whose serial number is 0.

    Serial numbers from 1900 count a 29 February 1900 that never was, so for them this holds from 1 March 1900 on.
    """
    return date(1904, 1, 1) if date_1904 else date(1899, 12, 30)
