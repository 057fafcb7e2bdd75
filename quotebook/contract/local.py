"""Amounts, numbers and days as a reader's country writes them, by the Unicode consortium's data (CLDR, by babel).

For mails, bills, and every sentence that a person reads. A workbook leaves it to the spreadsheet program of whoever
opens it. A value that is quoted as it stands in a cell (by the check, explain, and messages on what was found in one),
is made for programs (JSON, CSV) or is typed again (a day of an option) has a point, no thousands and ISO 8601 days.
"""

from datetime import date
from decimal import Decimal
from functools import cache
from typing import NamedTuple

from babel import Locale, UnknownLocaleError
from babel.dates import format_date
from babel.numbers import format_decimal

from quotebook.engine.model import Firm
from quotebook.engine.money import plain


@cache
def locale_of(language: str, country: str) -> Locale:
    """The locale of a language in a country, by their codes (ISO 639, ISO 3166); the language's own without one."""
    try:
        return Locale.parse(f"{language}_{country}") if country else Locale.parse(language)
    except UnknownLocaleError:
        return Locale.parse(language)


def say_amount(amount: Decimal, minor_units: int | Decimal, locale: Locale) -> str:
    """An amount of money with all of its decimal places, however many are 0: `1,061.90`; the currency is not said."""
    places = int(minor_units)
    return format_decimal(amount, "#,##0" + ("." + "0" * places if places else ""), locale=locale)


def say_day(day: date, locale: Locale) -> str:
    """A day with the name of its month, so that no country misreads it: `June 12, 2027`, `12 de junio de 2027`."""
    return format_date(day, "long", locale=locale)


class Local(NamedTuple):
    """How reports in English write for one firm: its country's numbers, and days with English names of months."""

    numbers: Locale
    days: Locale

    def amount(self, amount: Decimal) -> str:
        """An amount with the decimal places that it has: `1,061.90`."""
        return say_amount(amount, _places(amount), self.numbers)

    def number(self, number: Decimal) -> str:
        """A number that is no money, without zeros that say nothing: `2.5`."""
        return self.amount(Decimal(plain(number)))

    def day(self, day: date) -> str:
        """A day in a sentence: `June 12, 2027`."""
        return say_day(day, self.days)

    def short_day(self, day: date) -> str:
        """A day in a table: `Jun 12, 2027`."""
        return format_date(day, "medium", locale=self.days)


def _places(amount: Decimal) -> int:
    exponent = amount.as_tuple().exponent
    return max(0, -exponent) if isinstance(exponent, int) else 0


@cache
def local_of(language: str, country: str) -> Local:
    """How reports write for a country: days by its own English, or else by the world's."""
    days = locale_of("en", country)
    world = Locale.parse("en_001")
    return Local(locale_of(language, country), days if days.territory or not country else world)


def local_for(firm: Firm) -> Local:
    """How reports write for a firm."""
    return local_of(firm.language, firm.region)
