"""Amounts and days as a reader's country writes them, by the Unicode consortium's locale data (CLDR, by babel).

For mails, bills and reports. A workbook leaves it to the spreadsheet program of whoever opens it.
"""

from datetime import date
from decimal import Decimal
from functools import cache

from babel import Locale, UnknownLocaleError
from babel.dates import format_date
from babel.numbers import format_decimal


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
