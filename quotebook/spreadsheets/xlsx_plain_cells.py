"""The quick way through the cells of a sheet: one pattern that knows exactly the forms that programs write.

The pattern is made from the rules of `xlsx_sheet_table`, and takes only what the careful way (`xlsx_sheet`) reads to
the same cells without a word. Anything else, however slight, goes the careful way: `split` or `rows_of` gives None.
`tests/spreadsheets/test_plain_cells.py` holds both ways together.
"""

import re
from collections.abc import Mapping
from functools import cache, lru_cache
from typing import NamedTuple

from quotebook.spreadsheets.cells import position_of
from quotebook.spreadsheets.grammar import Rule
from quotebook.spreadsheets.package import LIMITS
from quotebook.spreadsheets.xlsx_appearance import hides_row

LONGEST = 2_000_000
"""Characters of the cells of one sheet that are read this way: what is longer than any quote's is no haste."""

OPENING, CLOSING = b"<sheetData>", b"</sheetData>"
NO_TEXT = bytes(code for code in range(0x20) if code not in b"\t\n")
NO_SIGNS = (b"\xef\xbf\xbe", b"\xef\xbf\xbf", b"]]>")
"""What no text in XML may hold (XML 1.0, 2.2 and 2.4), and a carriage return, which a parser replaces."""
ENTITIES = {"amp": "&", "lt": "<", "gt": ">", "quot": '"', "apos": "'"}
ENTITY = re.compile(r"&(?:(amp|lt|gt|quot|apos)|#([0-9]{1,6}));")
LITERAL = re.compile(r'"[^"]*"')
PLACE = re.compile(r'<c r="([^"]*)"')
ATTRIBUTE = re.compile(r' ([\w:]+)="([^"]*)"')

LONGEST_FORMULA = LIMITS["characters in one text"]

PlainCell = tuple[tuple[int, int], str, str, str, str | None]
"""A cell: its row and column, the number of its style, its type and its formula ("" for none), and its value, each as
it is written."""


class PlainRows(NamedTuple):
    """The cells of a block, and the rows that are hidden or too low to be read."""

    cells: list[PlainCell]
    hidden: set[int]


def split(data: bytes) -> tuple[bytes, str] | None:
    """A sheet's part without its cells, and its cells; None where they do not stand in one plain block."""
    start, opening, rest = data.partition(OPENING)
    inside, closing, end = rest.rpartition(CLOSING)
    if not opening or not closing or len(inside) > LONGEST or not has_only_texts(inside):
        return None
    return start + OPENING + CLOSING + end, inside.decode()


def has_only_texts(data: bytes) -> bool:
    """Whether a piece of a part has no sign that no text in XML may hold, and none that a parser replaces."""
    return not any(sign in data for sign in NO_SIGNS) and len(data.translate(None, NO_TEXT)) == len(data)


def plain_text(data: bytes) -> str:
    """What a text of a part says. Raises ValueError where it is no plain one."""
    if not has_only_texts(data):
        raise ValueError("signs that no text may hold")
    return _text(data.decode())


def rows_of(inside: str, rules: Mapping[str, Rule], main: str, prefixes: Mapping[str | None, str]) -> PlainRows | None:
    """The cells of a block that hold something, and what is seen of its rows; None where anything in it is not plain.

    `rules` and `main` are the table's; `prefixes` are those that the part declares at its root.
    """
    try:
        return _rows(inside, _pattern(*_attributes(rules, main, prefixes)))
    except ValueError:
        return None


def _attributes(rules: Mapping[str, Rule], main: str, prefixes: Mapping[str | None, str]) -> tuple[str, str]:
    """The attributes that a row and a formula may have, as alternatives of a pattern."""
    by_namespace = {namespace: prefix for prefix, namespace in prefixes.items() if prefix}
    row = [_written(name, by_namespace) for name in sorted(rules[f"{main}row"].attributes - {"r"})]
    return "|".join(filter(None, row)), "aca|ca"


def _written(name: str, by_namespace: Mapping[str, str]) -> str:
    """An attribute as the part would write it; "" where it has no prefix for it."""
    namespace, _, local = name.rpartition("}")
    prefix = by_namespace.get(namespace[1:])
    return local if not namespace else f"{prefix}:{local}" if prefix else ""


@cache
def _pattern(row: str, formula: str) -> "re.Pattern[str]":
    """The pattern of one step through a block: a run of blank cells, a cell, the beginning of a row, or its end."""
    return re.compile(
        rf"""([ \n\t]*(?:
          (?:<c\ r="[A-Z]{{1,3}}[1-9][0-9]{{0,6}}"(?:\ s="[0-9]+")?(?:/>|></c>)[ \n\t]*)+
        | <c\ r="([A-Z]{{1,3}}[1-9][0-9]{{0,6}})"(?:\ s="([0-9]+)")?(?:\ t="(n|s|str|b|e)")?>[ \n\t]*
            (?:<f(?:\ (?:{formula})="(?:true|false|0|1)")?(?:\ xml:space="preserve")?>([^<]*)</f>[ \n\t]*)?
            (?:<v(?:/>|(?:\ xml:space="preserve")?>([^<]*)</v>)[ \n\t]*)?
          </c>
        | <row\ r="([1-9][0-9]{{0,6}})"((?:\ (?:{row})="[^"<&]*")*)(/?)>
        | (</row>)
        )[ \n\t]*)""",
        re.VERBOSE,
    )


def _rows(inside: str, pattern: "re.Pattern[str]") -> PlainRows:
    """Each cell that holds something, and the hidden rows. Raises ValueError for whatever is not plain."""
    steps = pattern.findall(inside)
    if len("".join([step[0] for step in steps])) < len(inside.strip(" \n\t")):
        raise ValueError("something between the cells")
    cells: list[PlainCell] = []
    rows: list[tuple[str, bool]] = []
    row = 0
    for written, place, style, kind, formula, value, number, attributes, empty, end in steps:
        if place:
            at = position_of(place)
            value = _text(value)
            if at[0] != row or "_x" in value:
                raise ValueError("a cell in another row than it says, or a value that is no plain one")
            formula = _formula(formula) if "<f" in written else ""
            cells.append((at, style, kind, formula, value if value or "<v" in written else None))
        elif bool(number) == bool(row):
            raise ValueError("a row in a row, or a cell without one")
        elif number:
            rows.append((number, _hides(attributes)))
            row = 0 if empty else int(number)
        elif end:
            row = 0
    places = PLACE.findall(inside)
    if row or len({*map(position_of, places)}) < len(places) or len(dict(rows)) < len(rows):
        raise ValueError("a row without an end, or something twice")
    return PlainRows(cells, {int(number) for number, is_hidden in rows if is_hidden})


@lru_cache(maxsize=2_048)
def _formula(written: str) -> str:
    """A formula with its entities replaced; kept, since most formulas of a quote are in every quote of its desk.

    Raises ValueError where it may be an escape or an odd spelling, and where it is none, or too long.
    """
    formula = _text(written)
    if "_x" in formula or len(written) > LONGEST_FORMULA or formula.startswith("=") or not formula.strip(" \n\t"):
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


def _text(text: str) -> str:
    """A text with its entities replaced. Raises ValueError for any that is not one of the five, or a plain number."""
    if "&" not in text:
        return text
    if text.count("&") != len(ENTITY.findall(text)):
        raise ValueError("an entity that is not plain")
    return ENTITY.sub(lambda match: ENTITIES[match[1]] if match[1] else _sign(int(match[2])), text)


def _sign(number: int) -> str:
    """The sign of a number in Unicode that a text in XML may hold (XML 1.0, 2.2). Raises ValueError for any other."""
    if not (0x20 <= number < 0xD800 or 0xE000 <= number < 0xFFFE or number in (9, 10)):
        raise ValueError("no sign of a plain text")
    return chr(number)
