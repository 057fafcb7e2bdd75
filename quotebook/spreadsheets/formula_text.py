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


def renamed(formula: str, names: Mapping[str, str]) -> str:
    """One of our own formulas with other names, or what else a name stands for; texts in it stay as they are."""
    return _LITERAL_OR_NAME.sub(lambda found: names.get(found[0], found[0]), formula)


_NAME = re.compile(r"\b[a-z_][a-z_0-9]*\b")
_LITERAL = re.compile(r'"[^"]*"')
_LITERAL_OR_NAME = re.compile(f"{_LITERAL.pattern}|{_NAME.pattern}")
