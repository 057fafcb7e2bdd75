"""Formulas as texts: the names in those that we write ourselves, what rests on them, their spelling, and their move."""

import re
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from openpyxl.formula.translate import Translator


@lru_cache(maxsize=2_048)
def names_in(formula: str) -> tuple[str, ...]:
    """The defined names in one of our own formulas, each once.

    Our formulas spell names in lower case and functions in capitals. Results are cached, because most formulas of a
    quote are in every quote of its desk.
    """
    return tuple(dict.fromkeys(_NAME.findall(_LITERAL.sub("", formula))))


def is_oddly_spelled(formula: str) -> bool:
    """Whether programs read a formula of .xlsx in different ways.

    So with a sign of equality before it, with another separator of arguments, with a prefix that a program adds itself.
    """
    outside = _LITERAL.sub("", formula)
    return outside.startswith("=") or "_xlfn." in outside or (";" in outside and "{" not in outside)


@lru_cache(maxsize=2_048)
def words_with_capitals(formula: str) -> tuple[str, ...]:
    """The words in a formula that have capital letters and are no functions, each once; cached as `names_in` is."""
    words = _WORD.findall(_LITERAL.sub("", formula))
    return tuple(dict.fromkeys(word for word in words if word != word.lower()))


def readers_of(formulas: Mapping[str, str]) -> dict[str, list[str]]:
    """For each name that formulas read, those that read it themselves; `formulas` are by name, and so are these."""
    readers: dict[str, list[str]] = {}
    for name, formula in formulas.items():
        for read in names_in(formula):
            readers.setdefault(read, []).append(name)
    return readers


def all_dependents(readers: Mapping[str, Iterable[str]], names: Iterable[str]) -> set[str]:
    """The formulas, by name, that read one of `names`, directly or through others; `readers` are as `readers_of` has
    them."""
    reached: set[str] = set()
    new = [*names]
    while new:
        found = [name for name in readers.get(new.pop(), ()) if name not in reached]
        reached.update(found)
        new += found
    return reached


def moved_formula(formula: str, rows: int, columns: int) -> str:
    """A formula moved by so many rows and columns. Raises ValueError where that is not possible."""
    from openpyxl.formula.tokenizer import TokenizerError
    from openpyxl.formula.translate import TranslatorError

    try:
        moved: str = _translator(formula).translate_formula(row_delta=rows, col_delta=columns)
    except (TokenizerError, TranslatorError):
        raise ValueError("a shared formula that cannot be moved") from None
    return moved.removeprefix("=")


@lru_cache(maxsize=8)
def _translator(formula: str) -> "Translator":
    """A translator of one formula, cached because a shared formula is moved to many cells in a row."""
    from openpyxl.formula.translate import Translator

    return Translator(f"={formula}", "A1")


def renamed(formula: str, names: Mapping[str, str]) -> str:
    """One of our own formulas with other names, or what else a name stands for; texts in it stay as they are."""
    return _LITERAL_OR_NAME.sub(lambda found: names.get(found[0], found[0]), formula)


_NAME = re.compile(r"\b[a-z_][a-z_0-9]*\b")
_WORD = re.compile(r"\b[^\W\d][\w.]*\b(?!\s*[(!])")
_LITERAL = re.compile(r'"[^"]*"')
_LITERAL_OR_NAME = re.compile(f"{_LITERAL.pattern}|{_NAME.pattern}")
