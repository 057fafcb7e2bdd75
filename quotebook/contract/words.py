"""The words of a client's workbook, in the language that the rate card names, with published figures written in."""

import tomllib
from collections.abc import Iterable, Iterator
from decimal import Decimal
from fractions import Fraction
from functools import cache
from importlib.resources import files
from typing import Any

from quotebook.contract.note_formulas import LIVE_IN_CAUTIONS
from quotebook.contract.values import joined
from quotebook.engine import published
from quotebook.engine.crew import CrewCaution
from quotebook.engine.model import Firm
from quotebook.engine.published import SOURCES, USA, Measure

LANGUAGES = ("en", "es", "fr")


@cache
def words_in(language: str) -> dict[str, dict[str, Any]]:
    """The sections of `templates/words.LANGUAGE.toml`: `words`, `sheets`, `labels`, `explained` and so on."""
    with (files("quotebook.templates") / f"words.{language}.toml").open("rb") as file:
        return tomllib.load(file)


@cache
def published_figures(language: str, country: str) -> dict[str, str]:
    """The published figures that sentences name in braces, as a language writes them, for a country's papers."""
    words = words_in(language)["published"]
    hall_load = published.HALL_LOADS.get(country, published.HALL_LOADS[USA])
    return {
        "bevelled_edge": _measure(published.BEVELLED_EDGE, words),
        "bevel_slope": _slope(published.BEVEL_SLOPE),
        "ramp_slope": _slope(published.RAMP_SLOPE),
        "hall_load": _measure(hall_load, words),
        "thunder_minutes": joined(published.THUNDER_MINUTES),
        "reference_mass": _measure(published.REFERENCE_MASS, words),
        "tiedown_share": words[str(published.TIEDOWN_SHARE)],
        "direct_share": words[str(published.DIRECT_TIEDOWN)],
        "team_of_two": words[str(published.TEAM_SHARES[2])],
        "team_of_three": words[str(published.TEAM_SHARES[3])],
    }


def _measure(measure: Measure, words: dict[str, str]) -> str:
    """Both units, the customary one first: `1/2 in (13 mm)`. Inches are written as fractions."""
    inches = measure.customary_unit == "in"
    customary = str(Fraction(measure.customary)) if inches else joined(measure.customary)
    numbers = [number.replace(".", words["decimal"]) for number in (customary, joined(measure.metric))]
    units = [words.get(unit, unit) for unit in (measure.customary_unit, measure.metric_unit)]
    return f"{numbers[0]} {units[0]} ({numbers[1]} {units[1]})"


def _slope(slope: Fraction) -> str:
    return f"{slope.numerator}:{slope.denominator}"


def caution_sentences(firm: Firm) -> dict[str, str]:
    """The cautions for clients by key, in the firm's language, for its country; rates stay in braces, to be joined."""
    words = words_in(firm.language)
    units = words["units"][firm.length_unit]
    figures = published_figures(firm.language, firm.country)
    figures |= {"area_unit": units["area"], "length_unit": units["length"]}
    figures |= {name: "{" + name + "}" for name in LIVE_IN_CAUTIONS}
    return {key: sentence.format(**figures) for key, sentence in words["cautions"].items()}


def caution_source(key: str, firm: Firm) -> str:
    """Where a caution comes from: the clause of the firm's country, another's as an example, or common practice.

    Empty for a key that is no caution of this kind, such as an entry that is needed.
    """
    words, clauses = words_in(firm.language)["sources"], SOURCES.get(key)
    if clauses is None:
        return ""
    if firm.country in clauses:
        return str(words["clause"]).format(clause=clauses[firm.country])
    example = next(iter(clauses.values()), None)
    return str(words["example"]).format(clause=example) if example else str(words["practice"])


def crew_sentences(found: Iterable[CrewCaution], firm: Firm) -> Iterator[tuple[str, str]]:
    """Cautions for a crew as sentences, with their numbers in the firm's units, each with where it comes from."""
    for caution in found:
        yield _crew_sentence(caution, firm), caution_source(caution.key, firm)


def _crew_sentence(caution: CrewCaution, firm: Firm) -> str:
    words = words_in(firm.language)
    units = words["units"][firm.length_unit]
    said = {name: joined(value) if isinstance(value, Decimal) else value for name, value in caution.numbers.items()}
    said |= published_figures(firm.language, firm.country)
    said["parts"] = "; ".join(_crew_sentence(part, firm) for part in caution.parts)
    sentence: str = words["crew_cautions"][caution.key]
    return sentence.format(unit=units["weight"], thickness_unit=units["thickness"], **said)
