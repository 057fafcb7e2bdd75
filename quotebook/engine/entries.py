"""What may be entered, in a new request and in a returned workbook alike, and what counts of it in the price.

An entry arrives as it was found: Decimal, date, bool, text, or None for blank.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from quotebook.engine.model import LINES, NOT_HERE, OPTIONS, SURFACES, Rates, same_text
from quotebook.engine.money import ZERO

LONGEST_TEXT = 200
"""Characters in a client's, an event's or a venue's name."""

FIRST_DAY, LAST_DAY = date(1900, 3, 1), date(2999, 12, 31)
"""The days on which an event can be. Before the first, programs number the days differently (ECMA-376 18.17.4.1)."""


@dataclass(frozen=True)
class Problem:
    """An entry that cannot be used."""

    name: str
    found: object
    allowed: str


def problems(rates: Rates, entries: Mapping[str, object]) -> list[Problem]:
    """Every entry of a request that cannot be used as it stands, in the order of the sheet.

    `entries` maps the names of inputs (`days`, `width_2`) to what was found there; names that are
    missing count as blank. A floor line is blank when all of its panel, width and length are. Of a line whose option
    is not picked only its letter is looked at.
    """
    found = []
    for name, (usable, allowed) in _QUOTE_RULES.items():
        if not usable(entries.get(name), rates):
            found.append(Problem(name, entries.get(name), allowed.format(most=rates.largest_entry)))
    found.extend(_option_problems(entries))
    for line in range(1, LINES + 1):
        if not _left_out(entries, line):
            found.extend(_line_problems(rates, entries, line))
    return found


def options_in(entries: Mapping[str, object]) -> list[str]:
    """The letters of the options that floor lines belong to, each once, in their order."""
    letters = (entries.get(f"option_{line}") for line in range(1, LINES + 1))
    return sorted({letter for letter in letters if isinstance(letter, str) and letter})


def _option_problems(entries: Mapping[str, object]) -> Iterable[Problem]:
    """A pick that is no option of the quote, and letters that are none."""
    options, picked = options_in(entries), entries.get("picked")
    if options and not (isinstance(picked, str) and any(same_text(option, picked) for option in options)):
        yield Problem("picked", picked, " or ".join(options))
    for line in range(1, LINES + 1):
        letter = entries.get(f"option_{line}")
        if letter not in (None, "") and not _is_option(letter):
            allowed = f"{', '.join(OPTIONS)}, or nothing where the floor belongs to every option"
            yield Problem(f"option_{line}", letter, allowed)


def _is_option(letter: object) -> bool:
    return isinstance(letter, str) and any(same_text(letter, option) for option in OPTIONS)


def _left_out(entries: Mapping[str, object], line: int) -> bool:
    """Whether a line belongs to an option that is not picked."""
    letter, picked = entries.get(f"option_{line}"), entries.get("picked")
    return _is_option(letter) and isinstance(picked, str) and not same_text(str(letter), picked)


def _line_problems(rates: Rates, entries: Mapping[str, object], line: int) -> Iterable[Problem]:
    panel, width, length = (entries.get(f"{name}_{line}") for name in ("panel", "width", "length"))
    if not (isinstance(entries.get(f"edging_wanted_{line}"), bool) or entries.get(f"edging_wanted_{line}") is None):
        yield Problem(f"edging_wanted_{line}", entries[f"edging_wanted_{line}"], "yes or no")
    if panel in (None, "") and width is None and length is None:
        return
    kind = rates.kind(panel) if isinstance(panel, str) else None
    surface = entries.get("surface")
    if kind is None:
        yield Problem(f"panel_{line}", panel, "one of " + ", ".join(kind.panel for kind in rates.kinds))
    elif surface in SURFACES and kind.laying(surface) == NOT_HERE:
        allowed = [kind.panel for kind in rates.kinds if kind.laying(surface) != NOT_HERE]
        yield Problem(f"panel_{line}", panel, f"a panel that can go on {surface}: " + (", ".join(allowed) or "none"))
    for name, side in ((f"width_{line}", width), (f"length_{line}", length)):
        if not (isinstance(side, Decimal) and 0 < side <= rates.longest_side):
            yield Problem(name, side, f"a number above 0, at most {rates.longest_side}")


def days_counted(days: Decimal, largest_entry: Decimal) -> Decimal:
    """The days that are priced: as entered, if that is a whole number from 1 to the largest entry."""
    return days if 1 <= days <= largest_entry and is_whole(days) else ZERO


def miles_counted(miles: Decimal, largest_entry: Decimal) -> Decimal:
    """The miles or km, one way, that are priced: as entered, if that is above 0 and not too many."""
    return miles if 0 < miles <= largest_entry else ZERO


def flights_counted(flights: Decimal, largest_entry: Decimal) -> Decimal:
    """The flights of stairs that are priced: as entered, if that is a whole number above 0."""
    return flights if 0 < flights <= largest_entry and is_whole(flights) else ZERO


def guests_counted(guests: Decimal, largest_entry: Decimal) -> Decimal:
    """The guests that dancers are reckoned from: as entered, if that is a whole number above 0."""
    return guests if 0 < guests <= largest_entry and is_whole(guests) else ZERO


FIGURES = (days_counted, miles_counted, flights_counted, guests_counted)


def is_whole(entry: Decimal) -> bool:
    return entry == entry.to_integral_value()


def _text(entry: object, rates: Rates) -> bool:
    return entry is None or (isinstance(entry, str) and len(entry) <= LONGEST_TEXT)


def _days(entry: object, rates: Rates) -> bool:
    return isinstance(entry, Decimal) and is_whole(entry) and 1 <= entry <= rates.largest_entry


def _count(entry: object, rates: Rates) -> bool:
    return entry is None or (isinstance(entry, Decimal) and is_whole(entry) and 0 <= entry <= rates.largest_entry)


def _distance(entry: object, rates: Rates) -> bool:
    return entry is None or (isinstance(entry, Decimal) and 0 <= entry <= rates.largest_entry)


def _surface(entry: object, rates: Rates) -> bool:
    return entry in SURFACES


def _yes_no(entry: object, rates: Rates) -> bool:
    return entry is None or isinstance(entry, bool)


def usable_day(entry: object) -> date | None:
    """A day that a quote may be for, from FIRST_DAY to LAST_DAY; None for anything else."""
    return entry if isinstance(entry, date) and FIRST_DAY <= entry <= LAST_DAY else None


def _date(entry: object, rates: Rates) -> bool:
    return usable_day(entry) is not None


_QUOTE_RULES: dict[str, tuple[Callable[[object, Rates], bool], str]] = {
    "client": (_text, f"text of at most {LONGEST_TEXT} characters"),
    "event": (_text, f"text of at most {LONGEST_TEXT} characters"),
    "venue": (_text, f"text of at most {LONGEST_TEXT} characters"),
    "event_date": (_date, f"a date from {FIRST_DAY} to {LAST_DAY}"),
    "days": (_days, "a whole number from 1 to {most}"),
    "surface": (_surface, "one of " + ", ".join(SURFACES)),
    "miles": (_distance, "a number from 0 to {most}"),
    "flights": (_count, "a whole number from 0 to {most}"),
    "guests": (_count, "a whole number from 0 to {most}"),
    "after_hours": (_yes_no, "yes or no"),
    "waiver_taken": (_yes_no, "yes or no"),
    "raised": (_yes_no, "yes or no"),
    "room_width": (_distance, "a number from 0 to {most}"),
    "room_length": (_distance, "a number from 0 to {most}"),
}
