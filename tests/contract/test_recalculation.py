"""Two arithmetics: the workbook's formulas, recalculated by spreadsheet engines, against the Python engine.

Cached values are poisoned before each recalculation, so that no engine can hand back what we wrote.
"""

import shutil
from dataclasses import replace
from decimal import Decimal as D
from io import BytesIO

import oracle
import pytest
import random_quotes
import worked_example
from extent import extent
from hypothesis import HealthCheck, Phase, assume, given, settings
from hypothesis import strategies as st

from quotebook.client.workbook import Issue, write_quote
from quotebook.engine.money import MINOR_UNITS, number, round6
from quotebook.engine.price import price

KEY = b"a key for tests"


def write(path, rates, request):
    """A client's workbook with its cached values poisoned; what its stamp signs."""
    file = BytesIO()
    content = write_quote(
        file, Issue(worked_example.PAPERS, worked_example.FIRM, rates, request, terms=("Pay in time.",)), KEY
    )
    path.write_bytes(oracle.poisoned(file.getvalue()))
    return content


def differences(content, recalculated):
    """Every named figure on which a spreadsheet engine and ours do not agree, to six places."""
    return {
        name: (expected, recalculated[name], content.formulas[name])
        for name, expected in content.results.items()
        if not agrees(expected, recalculated[name])
    }


def agrees(expected, value):
    if isinstance(expected, str):
        return (value or "") == expected
    return isinstance(value, (int, float)) and round6(number(value)) == round6(expected)


@st.composite
def near_ties(draw):
    """Quotes on which some rounding falls on half a minor unit, or a millionth beside it."""
    rates, request = draw(st.tuples(random_quotes.rates, random_quotes.requests))
    figures = price(rates, request).by_name()
    share, base = draw(
        st.sampled_from(
            (("tax_rate", "taxable"), ("deposit_share", "total"), ("waiver_share", "goods"), ("rate", "panels_1"))
        )
    )
    assume(figures[base] > 0)
    unit = MINOR_UNITS[int(rates.minor_units)]
    tie = unit * (draw(st.integers(0, int(figures[base] / unit) if share != "rate" else 90_000)) + D("0.5"))
    nudge = draw(st.sampled_from((D(0), D("0.0000001"), D("-0.0000001"), D("0.000001"), D("-0.000001"))))
    value = round((tie + nudge) / figures[base], draw(st.integers(4, 9)))
    if share == "rate":
        kinds = tuple(replace(kind, rate=value) for kind in rates.kinds)
        return replace(rates, kinds=kinds), request
    return replace(rates, **{share: value}), request


any_quote = st.one_of(st.tuples(random_quotes.rates, random_quotes.requests), near_ties())


def check_with_ironcalc(folder, rates, request):
    path = folder / "quote.xlsx"
    content = write(path, rates, request)
    assert differences(content, oracle.recalculated_by_ironcalc(oracle.with_addresses(path), content.places)) == {}


@given(any_quote)
@settings(max_examples=extent(30, 80), deadline=None, suppress_health_check=list(HealthCheck))
def test_ironcalc_agrees_on_every_figure(tmp_path_factory, quote):
    check_with_ironcalc(tmp_path_factory.getbasetemp(), *quote)


@pytest.mark.slow
@given(any_quote)
@settings(max_examples=10_000, deadline=None, suppress_health_check=list(HealthCheck))
def test_ironcalc_agrees_on_every_figure_at_length(tmp_path_factory, quote):
    check_with_ironcalc(tmp_path_factory.getbasetemp(), *quote)


any_options = st.tuples(random_quotes.rates, random_quotes.requests_with_options)


@given(any_options)
@settings(max_examples=extent(4, 40), deadline=None, suppress_health_check=list(HealthCheck))
def test_ironcalc_agrees_on_every_figure_of_every_option(tmp_path_factory, quote):
    check_with_ironcalc(tmp_path_factory.getbasetemp(), *quote)


def test_ironcalc_agrees_on_the_worked_example(tmp_path):
    """Here by the names that the formulas say."""
    content = write(tmp_path / "quote.xlsx", worked_example.RATES, worked_example.REQUEST)
    assert differences(content, oracle.recalculated_by_ironcalc(tmp_path / "quote.xlsx", content.places)) == {}


def check_with(convert, folder, count, quotes=any_quote):
    """Holds `count` quotes that nobody chose and the worked example against a program that converts files."""
    written = []

    @given(quotes)
    @settings(max_examples=count, deadline=None, database=None, derandomize=True, phases=[Phase.generate])
    def write_one(quote):
        path = folder / f"quote{len(written)}.xlsx"
        written.append((path, write(path, *quote)))

    write_one()
    path = folder / "worked.xlsx"
    written.append((path, write(path, worked_example.RATES, worked_example.REQUEST)))
    assert len(written) >= count * 0.9
    converted = convert([path for path, _ in written], folder / "recalculated")
    for (_, content), path in zip(written, converted, strict=True):
        assert differences(content, oracle.values_in(path, content.places)) == {}


def test_libreoffice_agrees_on_every_figure(tmp_path, soffice):
    check_with(soffice.convert, tmp_path, extent(8, 60))


def test_libreoffice_agrees_on_every_figure_of_every_option(tmp_path, soffice):
    check_with(soffice.convert, tmp_path, extent(2, 20), any_options)


def test_gnumeric_agrees_on_every_figure_of_every_option(tmp_path, gnumeric):
    check_with(gnumeric.convert, tmp_path, extent(2, 20), any_options)


def test_gnumeric_agrees_on_every_figure(tmp_path, gnumeric):
    check_with(gnumeric.convert, tmp_path, extent(6, 60))


BREAKS = (
    ("panels_1*rate_1*days_factor", "panels_1*rate_1"),
    ("taxable*tax_rate/IF(prices_with_tax=word_yes,1+tax_rate,1)", "taxable*tax_rate*1.01"),
    ("goods-discount+minimum_order_charge", "goods+discount+minimum_order_charge"),
)


def test_every_program_catches_a_formula_broken_on_purpose(tmp_path, soffice, gnumeric):
    whole = tmp_path / "whole.xlsx"
    content = write(whole, worked_example.RATES, worked_example.REQUEST)
    broken = []
    for right, wrong in BREAKS:
        broken.append(tmp_path / f"broken{len(broken)}.xlsx")
        shutil.copy(whole, broken[-1])
        oracle.rewrite(broken[-1], lambda xml, right=right, wrong=wrong: xml.replace(right, wrong))
        assert broken[-1].read_bytes() != whole.read_bytes()
        with_addresses = oracle.with_addresses(broken[-1])
        assert differences(content, oracle.recalculated_by_ironcalc(with_addresses, content.places)), right
    for program in (soffice, gnumeric):
        for converted, (right, _) in zip(program.convert(broken, tmp_path / program.__name__), BREAKS, strict=True):
            assert differences(content, oracle.values_in(converted, content.places)), (program, right)
