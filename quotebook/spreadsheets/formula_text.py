"""Formulas as texts: the names in those that we write ourselves, what rests on them, and how one is spelled."""

import re
from collections.abc import Iterable, Mapping
from functools import lru_cache


@lru_cache(maxsize=2_048)
def names_in(formula: str) -> tuple[str, ...]:
    """The defined names in one of our own formulas, each once.

    Our formulas spell names in lower case and functions in capitals. Results are cached, because most formulas of a
    quote are in every quote of its desk.
    """
    return tuple(dict.fromkeys(_NAME.findall(_LITERAL.sub("", formula))))


def is_oddly_spelled(formula: str) -> bool:
    """Whether programs read a formula of .xlsx, without its first `=`, in different ways.

    So with two signs of equality, with another separator of arguments, with a prefix that a program adds itself.
    """
    outside = _LITERAL.sub("", formula)
    return outside.startswith("=") or "_xlfn." in outside or (";" in outside and "{" not in outside)


@lru_cache(maxsize=2_048)
def words_with_capitals(formula: str) -> tuple[str, ...]:
    """The words in a formula that have capital letters and are no functions, each once; cached as `names_in` is."""
    words = _WORD.findall(_LITERAL.sub("", formula))
    return tuple(dict.fromkeys(word for word in words if word != word.lower()))


def all_dependents(formulas: Mapping[str, str], names: Iterable[str]) -> set[str]:
    """The formulas, by name, that read one of `names`, directly or through others."""
    readers: dict[str, list[str]] = {}
    for name, formula in formulas.items():
        for read in names_in(formula):
            readers.setdefault(read, []).append(name)
    reached: set[str] = set()
    new = [*names]
    while new:
        found = [name for name in readers.get(new.pop(), ()) if name not in reached]
        reached.update(found)
        new += found
    return reached


_NAME = re.compile(r"\b[a-z_][a-z_0-9]*\b")
_WORD = re.compile(r"\b[^\W\d][\w.]*\b(?!\s*[(!])")
_LITERAL = re.compile(r'"[^"]*"')
