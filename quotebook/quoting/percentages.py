"""Percentages as people write them, read in one way everywhere: 10 % is `10%`, 0.1 in a sheet, `10` as an option."""

import re
from decimal import Decimal

from quotebook.engine.money import number, plain
from quotebook.errors import Misuse
from quotebook.spreadsheets.filled_in import Percentage

NUMBER = re.compile(r"-?\d{1,15}(\.\d{1,15})?", re.ASCII)


def share_in_sheet(value: object) -> object:
    """The share of one that a cell of a list holds; the value itself where it is none.

    Raises Misuse for a number of 1 or more without its sign: a sheet shows 10 % as 0.1, and 10 may be meant as either.
    """
    if isinstance(value, Percentage):
        return Decimal(value)
    if isinstance(value, str):
        signed = value.endswith("%")
        if not NUMBER.fullmatch(digits := value.removesuffix("%").strip()):
            return value
        value = number(digits)
        if signed:
            return value / 100
    if isinstance(value, Decimal) and value >= 1:
        raise Misuse(f"found {plain(value)}; allowed: {plain(value)}% or {plain(value / 100)}")
    return value


def share_in_option(text: str) -> Decimal:
    """The share of one in an option's value, written `10` or `10%`. Raises Misuse.

    A number between 0 and 1 without its sign is asked about, because a sheet would mean a hundred times as much by it.
    """
    digits = text.removesuffix("%").strip()
    if not NUMBER.fullmatch(digits):
        raise Misuse(f'"{text}" is not a percentage: write 10 or 10%')
    percent = number(digits)
    if 0 < percent < 1 and digits == text.strip():
        raise Misuse(
            f"{text} may be {plain(percent)} % or {plain(percent * 100)} %: write {plain(percent)}% or "
            f"{plain(percent * 100)}%"
        )
    return percent / 100
