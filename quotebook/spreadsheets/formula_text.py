"""One spelling for a formula: what programs write differently and mean alike becomes the same text."""

import re
from collections.abc import Iterable, Mapping
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
"""The pieces of a formula. A space between two operands is the intersection of two ranges; `future` stands before
a function that is newer than the file format, and nowhere else."""

SYNTAX = re.compile(r"\s*(?:of|oooc|msoxl):(?==)", re.IGNORECASE)


def normalise(formula: str) -> str:
    """`formula` without what makes no difference to its result.

    Left out: spaces, `$`, quotes that a sheet's name does not need, prefixes of the syntax and of
    functions, a leading `=` or `+`, brackets around the whole, those of `TRUE()`. Lower case, numbers in
    one way of writing them, and `,` for `;` between arguments. Text in double quotes stays as it is.
    """
    spelled, braces = [], 0
    for match in TOKEN.finditer(SYNTAX.sub("", formula, count=1)):
        kind, text = match.lastgroup, match[0]
        braces += (text == "{") - (text == "}")
        spelled.append("," if text == ";" and not braces else SPELLING[kind](text))
    return "".join(_unwrapped([text for text in spelled if text]))


def _sheet(text: str) -> str:
    name = text[1:-1].lower()
    return name if re.fullmatch(r"[\w.]+", name) else f"'{name}'"


def _word(text: str) -> str:
    word = text.replace("$", "").lower()
    return str(Decimal(word).normalize()) if re.fullmatch(r"\d{1,40}\.?\d{0,40}|\.\d{1,40}", word, re.ASCII) else word


SPELLING = {
    "literal": str,
    "sheet": _sheet,
    "truth": lambda text: text.partition("(")[0].strip().lower(),
    "number": lambda text: str(Decimal(text).normalize()),
    "future": lambda text: "",
    "word": _word,
    "intersect": lambda text: " ",
    "space": lambda text: "",
    "sign": lambda text: text.replace("$", ""),
}
"""How each kind of piece is spelled."""


def _unwrapped(pieces: list[str]) -> list[str]:
    """The pieces without a leading sign that does nothing and without brackets around the whole."""
    closing, opened = {}, []
    for index, piece in enumerate(pieces):
        if piece == "(":
            opened.append(index)
        elif piece == ")" and opened:
            closing[opened.pop()] = index
    first, last = 0, len(pieces) - 1
    while first <= last:
        if closing.get(first) == last:
            last -= 1
        elif pieces[first] not in ("=", "+"):
            break
        first += 1
    return pieces[first : last + 1]


@lru_cache(maxsize=2_048)
def names_in(formula: str) -> tuple[str, ...]:
    """The defined names in one of our own formulas, each once: they are written in lower case, and functions are not.

    Remembered, since most of a quote's formulas are in every quote of its desk.
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
