"""What stands between two values of a sheet, in the forms in which programs write it.

The pattern is made from the rules of `xlsx_sheet_table`, and takes nothing that is not in exactly one of these forms.
"""

import re
from collections.abc import Iterator, Mapping
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

from quotebook.spreadsheets.appearance import Place
from quotebook.spreadsheets.cells import position_of
from quotebook.spreadsheets.grammar import Rule
from quotebook.spreadsheets.package import LIMITS
from quotebook.spreadsheets.remembered import Bounded
from quotebook.spreadsheets.xlsx_appearance import hides_row
from quotebook.spreadsheets.xlsx_plain_text import plain_value

LITERAL = re.compile(r'"[^"]*"')
ATTRIBUTE = re.compile(r' ([\w:]+)="([^"]*)"')
BLANK = re.compile(r'<c r="([^"]*)"')

LONGEST_FORMULA = LIMITS["characters in one text"]
MOST_STEPS = 16_384
MOST_CHARACTERS = 2_000_000
"""Those of all steps that are kept: about a dozen layouts of quotes."""
LONGEST_STEP = 20_000

SPACE = r"[ \n\t]*+"
HEAD = rf"""
    <c\ r="([A-Z]{{1,3}}[1-9][0-9]{{0,6}})"(?:\ s="([0-9]++)")?(?:\ t="(n|s|str|b|e)")?>{SPACE}
    (?:<f(?:\ (?:aca|ca)="(?:true|false|0|1)")?(?:\ xml:space="preserve")?>([^<]++)</f>{SPACE})?"""
"""The beginning of a cell that has a value: place, style, type and formula."""
OPENED = re.compile(HEAD, re.VERBOSE)


class PlainCell(NamedTuple):
    """A cell, without its value."""

    at: Place
    style: str
    kind: str | None
    """The type that it gives."""
    formula: str | None


class Step(NamedTuple):
    """What stands between two values."""

    row_before: int
    """The row in which it begins: 0 for none, and ANY_ROW for any."""
    row_behind: int
    """The row in which it ends; 0 for none."""
    first: Place
    """The first cell in it, or the column 0 of the first row that begins in it."""
    last: Place
    hidden: tuple[int, ...]
    """The rows that begin in it and are hidden."""
    whole: tuple[tuple[PlainCell, str | None], ...]
    """The cells in it that are not blank and have no value that the block was cut at, each with its text."""
    opened: PlainCell | None
    """The cell to which the value behind it belongs."""


ANY_ROW = -1
END = (1 << 30, 0)
"""Behind every place."""


class PlainSteps:
    """The steps of parts that declare the same prefixes, each read once and then known by the whole of it.

    At most MOST_STEPS of them are kept, of LONGEST_STEP characters and MOST_CHARACTERS in all.
    """

    def __init__(self, row_attributes: str):
        """The attributes that a row may have besides its number are given as alternatives of a pattern."""
        self._known: Bounded[str, Step] = Bounded()
        self._whole = re.compile(
            rf"""((?:
              {HEAD}(?:<v(?:/>|\ xml:space="preserve">([^<]*+)</v>){SPACE})?</c>
            | <c\ r="([A-Z]{{1,3}}[1-9][0-9]{{0,6}})"(?:\ s="([0-9]++)")?\ t="inlineStr">
              <is><t(?:\ xml:space="preserve")?>([^<]++)</t></is></c>
            | (?:<c\ r="[A-Z]{{1,3}}[1-9][0-9]{{0,6}}"(?:\ s="[0-9]++")?(?:/>|></c>){SPACE})+
            | <row\ r="([1-9][0-9]{{0,6}})"((?:\ (?:{row_attributes})="[^"<&]*+")*+)(/?)>
            | (</row>)
            ){SPACE})""",
            re.VERBOSE,
        )

    def of(self, written: str) -> Step:
        """What is written between two values. Raises ValueError where it is not plain."""
        step = self._known.get(written)
        if step is None:
            step = _Reader().step(self._whole, written)
            if len(written) <= LONGEST_STEP:
                self._known.keep(written, step, len(written), most=MOST_STEPS, most_in_all=MOST_CHARACTERS)
        return step


@lru_cache(maxsize=4)
def _steps(row_attributes: str) -> PlainSteps:
    return PlainSteps(row_attributes)


def steps_of(rules: Mapping[str, Rule], main: str, prefixes: Mapping[str | None, str]) -> PlainSteps:
    """The steps of a part: `rules` and `main` are the table's, and `prefixes` those that it declares at its root."""
    by_namespace = {namespace: prefix for prefix, namespace in prefixes.items() if prefix}
    names = (_written(name, by_namespace) for name in sorted(rules[f"{main}row"].attributes - {"r"}))
    return _steps("|".join(filter(None, names)))


def _written(name: str, by_namespace: Mapping[str, str]) -> str:
    """An attribute as the part would write it; "" where it has no prefix for it."""
    namespace, _, local = name.rpartition("}")
    prefix = by_namespace.get(namespace[1:])
    return local if not namespace else f"{prefix}:{local}" if prefix else ""


class _Reader:
    """Reads one step, token by token. Raises ValueError where it is not plain."""

    def __init__(self) -> None:
        self._before: int | None = None
        self._row: int | None = None
        """The row that is open, 0 for none, and None for the one in which the step begins."""
        self._places: list[Place] = []
        self._hidden: list[int] = []

    def step(self, whole: "re.Pattern[str]", written: str) -> Step:
        """The step that is written so; `whole` is the pattern of what may be whole in it."""
        cell_end, _, behind = written.partition("</c>")
        start = behind.rfind("<c ")
        head = OPENED.fullmatch(behind, start) if start >= 0 else None
        rest = (behind[:start] if head else behind).strip(" \n\t")
        tokens = whole.findall(rest)
        if cell_end.strip(" \n\t") or len(behind) == len(written) or sum(len(each[0]) for each in tokens) < len(rest):
            raise ValueError("something between the cells")
        cells = tuple(cell for token in tokens for cell in self._cells(*token))
        opened = self._cell(*(each or "" for each in head.groups())) if head else None
        if any(one >= other for one, other in pairwise(self._places)):
            raise ValueError("cells in another order than their own, or something twice")
        first, last = (self._places[0], self._places[-1]) if self._places else (END, END)
        before = self._before or 0
        return Step(before, before if self._row is None else self._row, first, last, tuple(self._hidden), cells, opened)

    def _cells(
        self, written: str, place: str, style: str, kind: str, formula: str, text: str, inline_place: str,
        inline_style: str, inline: str, number: str, attributes: str, empty: str, end: str,
    ) -> Iterator[tuple[PlainCell, str | None]]:  # fmt: skip
        """The cell in a token that holds something; goes through those with rows and blank cells, too."""
        if place:
            yield self._cell(place, style, kind, formula), plain_value(text) if "<v" in written else None
        elif inline_place:
            yield self._cell(inline_place, inline_style, "str", ""), plain_value(inline)
        elif number:
            self._begin_row(int(number), attributes, is_empty=bool(empty))
        elif end:
            self._end_row()
        else:
            for blank in BLANK.findall(written):
                self._stand_at(position_of(blank))

    def _cell(self, place: str, style: str, kind: str, formula: str) -> PlainCell:
        at = position_of(place)
        self._stand_at(at)
        return PlainCell(at, style or "0", kind or None, plain_formula(formula) if formula else None)

    def _stand_at(self, at: Place) -> None:
        if self._row is None and self._before is None:
            self._before = at[0]
        if at[0] != (self._before if self._row is None else self._row):
            raise ValueError("a cell in another row than it says, or in none")
        self._places.append(at)

    def _begin_row(self, number: int, attributes: str, *, is_empty: bool) -> None:
        self._before = self._before or 0
        if self._row or (self._row is None and self._before):
            raise ValueError("a row in a row")
        self._row = 0 if is_empty else number
        self._places.append((number, 0))
        if _hides(attributes):
            self._hidden.append(number)

    def _end_row(self) -> None:
        if self._row is None and self._before is None:
            self._before = ANY_ROW
        if self._row == 0:
            raise ValueError("an end of no row")
        self._row = 0


@lru_cache(maxsize=2_048)
def plain_formula(written: str) -> str:
    """A formula with its entities replaced; kept, since most formulas of a quote are in every quote of its desk.

    Raises ValueError where it may be an escape or an odd spelling, and where it is none, or too long.
    """
    formula = plain_value(written)
    if len(written) > LONGEST_FORMULA or formula.startswith("=") or not formula.strip(" \n\t"):
        raise ValueError("a formula that is no plain one")
    if ";" in formula and ";" in LITERAL.sub("", formula):
        raise ValueError("a formula with a separator that not every program knows")
    return formula


@lru_cache(maxsize=256)
def _hides(attributes: str) -> bool:
    """Whether a row with these attributes, as they are written, is hidden; most rows of a sheet have the same.

    Raises ValueError where an attribute is there twice.
    """
    found = ATTRIBUTE.findall(attributes)
    by_name = dict(found)
    if len(by_name) < len(found):
        raise ValueError("an attribute twice")
    return hides_row(by_name.get("hidden"), by_name.get("ht"))
