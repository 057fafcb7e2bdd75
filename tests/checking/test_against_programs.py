"""Where the check says nothing about a cell, no program shows anything else there than was issued.

Quotes are mutated in all the ways of `tests/mutations.py`; those that the check lets pass are shown to LibreOffice and
Gnumeric, as loaded and worked out again. `python tests/differential.py 2000` counts them by kind.
"""

from dataclasses import replace

import pytest
from differential import ROUND, TODAY, Mutant, mutants, show, sources

from quotebook.checking.check import check_file
from quotebook.checking.findings import Finding
from quotebook.checking.kinds import Kind

MUTANTS, BY_GNUMERIC = 90, 4
"""Each kind of each source, and a few once more. Gnumeric takes half a second for each: of the short run it is shown a
few, of the long one all.
"""
LONG = 20_000


@pytest.fixture(scope="module")
def quotes(soffice, gnumeric, tmp_path_factory):
    return sources(tmp_path_factory.mktemp("quotes"))


def held(quotes, count, seed, by_gnumeric, folder):
    made = mutants(quotes, count, seed, folder)
    passing = [each for each in made if each.passes]
    show(passing, quotes, by_gnumeric)
    assert {(each.kind, each.seed, str(each.overlooked())) for each in passing if each.overlooked()} == set()
    return made, passing


def test_no_mutant_is_overlooked(quotes, tmp_path):
    made, passing = held(quotes, MUTANTS, 0, BY_GNUMERIC, tmp_path)
    assert {each.kind for each in made} == {kind for quote in quotes for kind in quote.kinds}
    assert MUTANTS / 20 < len(passing) < MUTANTS / 2  # some are harmless, and most are not
    assert sum("LibreOffice" in each.differing for each in passing) > len(passing) / 2


def test_what_a_program_shows_is_held_against_what_the_check_says(quotes, tmp_path):
    """Were it silent about a cell in which a program shows another figure, this would be told."""
    quote, place = quotes[0], ("Quote", 1, 1)
    report = check_file(quote.path, quote.desk, TODAY)
    shown = {"LibreOffice": [{place: "5"}, {place: "5"}]}
    each = Mutant(replace(quote, shown=shown), "none", 0, quote.path, report)
    each.seen("LibreOffice", [{place: "5"}, {place: "6"}])
    assert each.overlooked() == {"LibreOffice": [(1, place, "5", "6")]}
    told = replace(report, findings=(Finding(Kind.STAMP_SHOWN, "", "", "Quote", "A1"),))
    assert (
        replace(each, report=told).overlooked()
        == replace(each, report=replace(report, verdict="disputed")).overlooked()
        == {}
    )


@pytest.mark.slow
@pytest.mark.parametrize("first", range(0, LONG, ROUND))
def test_no_mutant_is_overlooked_at_length(quotes, tmp_path, first):
    held(quotes, ROUND, 1_000 + first, ROUND, tmp_path)
