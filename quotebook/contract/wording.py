"""A cell's value as a person reads it, and a day where no country is known."""

from datetime import date
from decimal import Decimal

from quotebook.contract.values import day_of, is_day
from quotebook.contract.vocabulary import DATES
from quotebook.engine.money import plain
from quotebook.spreadsheets.cells import Fault

MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip


def shown(name: str, value: object) -> str | None:
    """A cell's value in words: dates as dates, numbers without noise; None for blank."""
    if value is None or value == "":
        return None
    if isinstance(value, Fault):
        return value.text
    if isinstance(value, bool):
        return str(value).upper()
    if isinstance(value, Decimal):
        return str(day_of(value)) if name in DATES and is_day(value) else plain(value)
    return str(value)


def quoted(value: object) -> str:
    """A value inside a sentence."""
    text = shown("", value)
    return "blank" if text is None else f"“{text if len(text) <= 60 else text[:57] + '...'}”"


def worldwide(day: date) -> str:
    """A day in a sentence in English where no firm is known, such as a refusal of the ledger: `12 June 2027`.

    As the Unicode consortium's data have it for the English of the world (`en_001`), which `contract.local` would load.
    """
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"
