"""The words of a client's workbook, in the language that the rate card names."""

import tomllib
from functools import cache
from importlib.resources import files

LANGUAGES = ("en", "es", "fr")


@cache
def words_in(language: str) -> dict[str, dict]:
    """The sections of `templates/words.LANGUAGE.toml`: `words`, `sheets`, `labels`, `explained` and so on."""
    with (files("quotebook.templates") / f"words.{language}.toml").open("rb") as file:
        return tomllib.load(file)
