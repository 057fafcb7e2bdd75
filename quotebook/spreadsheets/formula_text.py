"""Normalises formulas: what programs spell differently and mean alike becomes the same text."""

import re
from collections.abc import Callable, Iterable, Mapping
from decimal import Decimal
from functools import lru_cache

TOKEN = re.compile(
    r"""
      (?P<literal>   "[^"]*+(?:""[^"]*+)*+" )
    | (?P<sheet>     '[^']*+(?:''[^']*+)*+' )
    | (?P<truth>     (?:true|false) \s* \( \s* \) )
    | (?P<number>    (?<![\w.$\\?])(?:[0-9]{1,40}(?:\.[0-9]{0,40})?|\.[0-9]{1,40})(?:e[+-]?[0-9]{1,3})?(?![\w.$\\?(!]) )
    | (?P<future>    (?:_xlfn\.|_xlws\.|com\.microsoft\.)+(?=[\w.]+\s*\() )
    | (?P<word>      \$*+[\w.\\?][\w.$\\?]* )
    | (?P<intersect> (?<=[\w.?"')\]}]) \s+ (?=\$*[\w.?"'\[{]) | (?<=\)) \s+ (?=\() )
    | (?P<space>     \s+ )
    | (?P<sign>      . )
    """,
    re.VERBOSE | re.IGNORECASE | re.DOTALL,
)
"""The tokens of a formula. A space between two operands is the intersection of two ranges. `future` is the prefix of
a function that is newer than the file format; nothing else has it."""

SYNTAX_PREFIX = re.compile(r"\s*(?:of|oooc|msoxl):(?==)", re.IGNORECASE)


def normalise(formula: str) -> str:
    """`formula` without anything that makes no difference to its result.

    Removed are spaces, `$`, quotes that a sheet's name does not need, prefixes of the syntax and of functions, a
    leading `=` or `+`, brackets around the whole formula and the brackets of `TRUE()`. Letters become lower case,
    numbers get one spelling, and `;` between arguments becomes `,`. Text in double quotes stays unchanged.
    """
    tokens: list[str] = []
    braces = 0
    for match in TOKEN.finditer(SYNTAX_PREFIX.sub("", formula, count=1)):
        kind, text = match.lastgroup or "sign", match[0]
        braces += (text == "{") - (text == "}")
        tokens.append("," if text == ";" and not braces else NORMALISERS[kind](text))
    return "".join(_without_outer_brackets([token for token in tokens if token]))


def _normalise_sheet(text: str) -> str:
    """A quoted sheet name in lower case, without quotes that it does not need."""
    name = text[1:-1].lower()
    return name if re.fullmatch(r"[\w.]+", name) else f"'{name}'"


def _normalise_word(text: str) -> str:
    """A name, function or reference in lower case without `$`; the number of a row (`$1`) as numbers are spelled."""
    word = text.replace("$", "").lower()
    return str(Decimal(word).normalize()) if re.fullmatch(r"\d{1,40}\.?\d{0,40}|\.\d{1,40}", word, re.ASCII) else word


NORMALISERS: dict[str, Callable[[str], str]] = {
    "literal": str,
    "sheet": _normalise_sheet,
    "truth": lambda text: text.partition("(")[0].strip().lower(),
    "number": lambda text: str(Decimal(text).normalize()),
    "future": lambda text: "",
    "word": _normalise_word,
    "intersect": lambda text: " ",
    "space": lambda text: "",
    "sign": lambda text: text.replace("$", ""),
}
"""How a token of each kind is spelled in a normalised formula."""


def _without_outer_brackets(tokens: list[str]) -> list[str]:
    """The tokens without a leading sign that has no effect and without brackets around all of them."""
    closing: dict[int, int] = {}
    opened: list[int] = []
    for index, token in enumerate(tokens):
        if token == "(":
            opened.append(index)
        elif token == ")" and opened:
            closing[opened.pop()] = index
    first, last = 0, len(tokens) - 1
    while first <= last:
        if closing.get(first) == last:
            last -= 1
        elif tokens[first] not in ("=", "+"):
            break
        first += 1
    return tokens[first : last + 1]


@lru_cache(maxsize=2_048)
def names_in(formula: str) -> tuple[str, ...]:
    """The defined names in one of our own formulas, each once.

    Our formulas spell names in lower case and functions in capitals. Results are cached, because most formulas of a
    quote are in every quote of its desk.
    """
    return tuple(dict.fromkeys(_NAME.findall(_LITERAL.sub("", formula))))


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
_LITERAL = re.compile(r'"[^"]*"')
