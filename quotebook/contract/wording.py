"""A cell's value as a person reads it."""

from decimal import Decimal

from quotebook.contract.values import day_of, is_day
from quotebook.contract.vocabulary import DATES
from quotebook.engine.money import plain
from quotebook.spreadsheets.cells import Fault


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
