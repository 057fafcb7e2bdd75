"""Amounts and days as each country writes them: the Unicode consortium's locale data, and examples that people know."""

from datetime import date
from decimal import Decimal as D

import pytest
from babel import Locale
from hypothesis import given
from hypothesis import strategies as st

from quotebook.contract.local import local_of, locale_of, say_amount, say_day
from quotebook.contract.wording import worldwide


@pytest.mark.parametrize(
    ("language", "country", "amount", "places", "said"),
    [
        ("en", "US", "841.20", 2, "841.20"),
        ("en", "", "44337.6", 2, "44,337.60"),
        ("es", "MX", "44337.6", 2, "44,337.60"),
        ("es", "ES", "44337.6", 2, "44.337,60"),
        ("es", "", "44337.6", 2, "44.337,60"),
        ("fr", "FR", "44337.6", 2, "44\u202f337,60"),
        ("en", "US", "1200", 0, "1,200"),
        ("en", "US", "7.5", 3, "7.500"),
        ("en", "ZZ", "1234.5", 2, "1,234.50"),  # no country of that code: the language's own
    ],
)
def test_an_amount_has_all_its_digits_and_the_country_s_signs(language, country, amount, places, said):
    assert say_amount(D(amount), places, locale_of(language, country)) == said


@pytest.mark.parametrize(
    ("language", "country", "said"),
    [
        ("en", "US", "June 12, 2027"), ("en", "GB", "12 June 2027"), ("es", "MX", "12 de junio de 2027"),
        ("fr", "FR", "12 juin 2027"),
    ],
)  # fmt: skip
def test_a_day_names_its_month(language, country, said):
    assert say_day(date(2027, 6, 12), locale_of(language, country)) == said


@given(st.dates())
def test_a_day_where_no_country_is_known_is_as_the_world_s_english_has_it(day):
    assert worldwide(day) == say_day(day, Locale.parse("en_001"))


REPORTS = {
    # language, country: an amount, a number, a day in a sentence and in a table
    ("en", "US"): ("44,337.60", "1,195", "June 2, 2027", "Jun 2, 2027"),
    ("en", "GB"): ("44,337.60", "1,195", "2 June 2027", "2 Jun 2027"),
    ("es", "MX"): ("44,337.60", "1,195", "2 June 2027", "2 Jun 2027"),
    ("fr", "FR"): ("44\u202f337,60", "1\u202f195", "2 June 2027", "2 Jun 2027"),
    ("en", ""): ("44,337.60", "1,195", "June 2, 2027", "Jun 2, 2027"),
}


@pytest.mark.parametrize("country", REPORTS, ids="_".join)
def test_a_report_in_english_has_the_firm_s_own_signs(country):
    local, day = local_of(*country), date(2027, 6, 2)
    written = local.amount(D("44337.60")), local.number(D("1195.0")), local.day(day), local.short_day(day)
    assert written == REPORTS[country]


def test_an_amount_in_a_report_keeps_its_places_and_a_number_only_those_that_say_something():
    local = local_of("en", "US")
    assert [local.amount(D(each)) for each in ("0.00", "-1061.90", "1E+3", "5")] == ["0.00", "-1,061.90", "1,000", "5"]
    assert [local.number(D(each)) for each in ("0.750", "0.00", "-2.50")] == ["0.75", "0", "-2.5"]
