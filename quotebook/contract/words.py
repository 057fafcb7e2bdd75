"""The words of a client's workbook, in the language that the rate card names."""

import tomllib
from collections.abc import Iterable, Iterator
from decimal import Decimal
from functools import cache
from importlib.resources import files
from typing import Any

from quotebook.contract.values import joined
from quotebook.engine.cautions import CrewCaution

LANGUAGES = ("en", "es", "fr")


@cache
def words_in(language: str) -> dict[str, dict[str, Any]]:
    """The sections of `templates/words.LANGUAGE.toml`: `words`, `sheets`, `labels`, `explained` and so on."""
    with (files("quotebook.templates") / f"words.{language}.toml").open("rb") as file:
        return tomllib.load(file)


def crew_sentences(found: Iterable[CrewCaution], language: str, length_unit: str) -> Iterator[str]:
    """Cautions for a crew as sentences, with their numbers in the firm's units."""
    words = words_in(language)
    units = words["units"][length_unit]
    for caution in found:
        said = {name: joined(value) if isinstance(value, Decimal) else value for name, value in caution.numbers.items()}
        yield words["crew_cautions"][caution.key].format(
            unit=units["weight"], thickness_unit=units["thickness"], **said
        )
