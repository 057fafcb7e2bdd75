"""What a sheet shows or hides besides the contents of its cells: nothing is worked out from it, but people see it.

Only what is out of the ordinary is noted, as the readers of both formats come by it. Number formats, colours, headers
and rules for formats are read from .xlsx alone.
"""

import re
from dataclasses import dataclass, field
from functools import lru_cache

Place = tuple[int, int]
"""A row and a column, from 1."""

Area = tuple[int, int, int, int]
"""The first row and column of a rectangle of cells, and the last."""

MOST_HIDDEN = 1_000
"""Rows or columns beside each other of which it is noted that they are hidden."""


@dataclass(slots=True)
class SheetAppearance:
    """What is out of the ordinary on one sheet."""

    hidden_rows: set[int] = field(default_factory=set)
    hidden_columns: set[int] = field(default_factory=set)
    comments: dict[str, str] = field(default_factory=dict)
    """By the address of the cell."""
    page_texts: list[str] = field(default_factory=list)
    """Headers and footers, with the codes of the format."""
    print_area: str = ""
    """As a formula; empty where everything is printed."""
    pictures: list[Place] = field(default_factory=list)
    """Where pictures, shapes and charts begin."""
    rules: int = 0
    """Conditional formats; the same for several ranges is one, as where Gnumeric writes it for each range anew."""
    hiding_rules: int = 0
    """Those that put another text in place of a number, or take away what is seen."""
    formats: dict[Place, str] = field(default_factory=dict)
    """Number formats with words in them, or that hide a number or show a part of it, by the cells that have them."""
    covered: list[Area] = field(default_factory=list)
    """Cells that are merged: only the first of them is seen."""
    unseen: set[Place] = field(default_factory=set)
    """Cells whose text is too small to be read, or has the colour of what is behind it."""


QUOTED = re.compile(r'"([^"]*)"|\\(.)|\[\$([^\]-]*)[^\]]*\]')
"""What a number format shows as it is: a text in quotes, one sign, a currency."""
THOUSANDS_LEFT_OUT = re.compile(r"[0#?],+(?![0#?])")


@lru_cache(maxsize=256)
def is_odd(code: str) -> bool:
    """Whether a number format has words or digits of its own, hides numbers, or shows thousands of them.

    A blank in place of 0 is no such thing: quotes have that themselves.
    """
    said = "".join("".join(part or "" for part in match) for match in QUOTED.findall(code))
    bare = re.sub(r"\[[^\]]*\]", "", QUOTED.sub("", code))
    first, *others = bare.split(";")
    hides = bool(code) and (not first.strip() or (len(others) > 0 and not others[0].strip()))
    return any(sign.isalnum() for sign in said) or hides or bool(THOUSANDS_LEFT_OUT.search(bare))
