"""The headings of a list of requests: which there are, what each is called in every language, and what one means.

A heading is recognized in any of the languages, by the name that its column has here (`event_date`), or by the option
of `issue` that says the same thing (`--date`); capitals, blanks, hyphens and a unit in brackets make no difference.
"""

import re
import tomllib
from functools import cache
from importlib.resources import files

from quotebook.contract.words import LANGUAGES, words_in
from quotebook.engine.model import LINES

FLOORS = tuple(f"floor_{line}" for line in range(1, LINES + 1))
SIZES = tuple(f"{name}_{line}" for line in range(1, LINES + 1) for name in ("width", "length", "edging_wanted"))
"""What says more about a floor, where its own column has only the code of its panels."""

COLUMNS = (
    "client", "event", "event_date", "days", "venue", "surface", "miles", "flights", "guests", "after_hours",
    "waiver_taken", "raised", "room_width", "room_length", "discount", *FLOORS, *SIZES, "email", "phone", "language",
    "event_start", "access_from", "access_until", "tax_exempt",
)  # fmt: skip
"""What a row can say, in the order of complaints. A column that is missing counts as empty."""

QUOTE_NUMBER, TOLD = OURS = ("quote_number", "told")
"""The columns that only quotebook fills in: the quote that a row became, and what there is to say of it."""
IF_CHANGED = "if_changed"
"""The column in which the owner says what to do with a row that was changed after it became a quote."""

OPTIONS = {"date": "event_date", "waiver": "waiver_taken", "floor": FLOORS[0]}
"""The options of `issue` that have other names than the columns for the same thing."""


@cache
def headings_in(language: str) -> dict[str, str]:
    """The heading of every column in a language, by the column's name."""
    with (files("quotebook.templates") / f"requests.{language}.toml").open("rb") as file:
        words: dict[str, dict[str, str]] = tomllib.load(file)
    of_floors = {
        f"{name}_{line}": heading.format(line=line)
        for line in range(1, LINES + 1)
        for name, heading in words["floors"].items()
    }
    return words["headings"] | of_floors


def meaning_of(heading: object) -> str | None:
    """The name of the column that a heading stands for; None where it is none of a list's."""
    return _meanings().get(_folded(heading)) if isinstance(heading, str) else None


@cache
def _meanings() -> dict[str, str]:
    names = (*COLUMNS, *OURS, IF_CHANGED)
    known = {_folded(name): name for name in names} | {_folded(option): name for option, name in OPTIONS.items()}
    return known | {_folded(text): name for language in LANGUAGES for name, text in headings_in(language).items()}


def unit_in_brackets(column: str, language: str, length_unit: str) -> str:
    """What the heading of a column ends with for a unit of length, `ft` or `m`: ` (km)`; empty where it has no unit."""
    of = _MEASURED.get(column.rstrip("0123456789").rstrip("_"))
    return f" ({words_in(language)['units'][length_unit][of]})" if of else ""


def unit_said(column: str, heading: str) -> str | None:
    """The unit of length, `ft` or `m`, that the heading of a column says in brackets, in whichever language."""
    said = re.findall(r"\((.*?)\)", heading)
    for language in LANGUAGES:
        for unit in words_in(language)["units"]:
            if any(f" ({text.strip().casefold()})" == unit_in_brackets(column, language, unit) for text in said):
                return str(unit)
    return None


_MEASURED = {
    "width": "length", "length": "length", "room_width": "length", "room_length": "length", "miles": "distance",
}  # fmt: skip
"""The columns that have a unit, without the number of a floor, and what they measure."""


def _folded(heading: str) -> str:
    """A heading without what makes no difference."""
    return re.sub(r"\(.*?\)|[\s_-]+", " ", heading).strip().casefold()
