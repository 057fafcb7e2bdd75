"""A formula's text as a tree (ECMA-376 part 1, 18.17; OpenFormula section 5), in the spelling of .xlsx.

`NotAFormula` is raised for what is no formula, and says which part of it cannot be worked out.
"""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from math import isfinite

from quotebook.evaluation.values import A_LINK, NO_NAME, Array, NotWorkedOut, Scalar
from quotebook.spreadsheets.cells import LAST_COLUMN, LAST_ROW, Fault, existing_position, position_of

LONGEST_FORMULA = 8_192
"""Characters ("Excel specifications and limits")."""
MOST_NESTED = 100
"""Expressions within each other; the same list allows 64 functions, and few people write more than ten."""
REMEMBERED = 4_000
"""Characters of a formula whose tree is kept: the formulas of a desk's quotes are mostly the same texts."""


class NotAFormula(Exception):
    """`reason` is what a cell with that formula comes to."""

    def __init__(self, reason: Fault):
        super().__init__(reason.text)
        self.reason = reason


@dataclass(frozen=True, slots=True)
class Constant:
    value: Scalar | Array


@dataclass(frozen=True, slots=True)
class Cells:
    """A cell or a range by its address; `sheet` is None for the formula's own."""

    sheet: str | None
    top: int
    left: int
    bottom: int
    right: int


@dataclass(frozen=True, slots=True)
class Name:
    """A defined name, in lower case."""

    name: str
    sheet: str | None


@dataclass(frozen=True, slots=True)
class Operation:
    sign: str
    left: "Tree"
    right: "Tree"


@dataclass(frozen=True, slots=True)
class Call:
    """A function by its name in capitals; an argument that was left out is a blank constant."""

    function: str
    arguments: tuple["Tree", ...]


Tree = Constant | Cells | Name | Operation | Call

TOKEN = re.compile(
    r"""
      (?P<space>    [ \t\r\n]+ )
    | (?P<text>     "[^"]*+(?:""[^"]*+)*+" )
    | (?P<error>    \#(?:REF!|VALUE!|DIV/0!|N/A|NAME\?|NUM!|NULL!) )
    | (?P<sheet>    (?:'[^']*+(?:''[^']*+)*+'|[^\W\d][\w.]*)! )
    | (?P<cells>    \$?[A-Z]{1,3}\$?[0-9]{1,7}(?![\w.(?\\!])
                  | \$?[A-Z]{1,3}:\$?[A-Z]{1,3}(?![\w.(?\\!])
                  | \$?[0-9]{1,7}:\$?[0-9]{1,7}(?![\w.]) )
    | (?P<number>   (?:[0-9]{1,40}(?:\.[0-9]{0,40})?|\.[0-9]{1,40})(?:E[+-]?[0-9]{1,3})?(?![\w.]) )
    | (?P<function> (?:[^\W\d]|\\)[\w.\\?]*(?=\s*\() )
    | (?P<name>     (?:[^\W\d]|\\)[\w.\\?]* )
    | (?P<sign>     <>|<=|>=|[-+*/^&=<>%(),;:{}] )
    """,
    re.VERBOSE | re.IGNORECASE,
)
BINDING = {"=": 1, "<>": 1, "<": 1, "<=": 1, ">": 1, ">=": 1, "&": 2, "+": 3, "-": 3, "*": 4, "/": 4, "^": 5}
"""How closely operators bind, all of them from the left; a minus in front binds closer, a percent sign closest."""
PREFIXES = re.compile(r"^(?:_XLFN\.|_XLWS\.|COM\.MICROSOFT\.|ORG\.GNUMERIC\.|ORG\.LIBREOFFICE\.)+")
"""What programs put before the name of a function that is newer than the file format."""
UNREADABLE = NotWorkedOut("text that is no formula")
OVER_SHEETS = NotWorkedOut("cells of several sheets at once")


def tree_of(formula: str) -> Tree:
    """The tree of a formula without its leading `=`. Raises NotAFormula."""
    return (_remembered if len(formula) <= REMEMBERED else _parsed)(formula)


@lru_cache(maxsize=1_024)
def _remembered(formula: str) -> Tree:
    return _parsed(formula)


def _parsed(formula: str) -> Tree:
    if len(formula) > LONGEST_FORMULA:
        raise NotAFormula(NotWorkedOut(f"a formula of more than {LONGEST_FORMULA:,} characters"))
    reader = _Reader(_tokens(formula))
    tree = reader.expression(0)
    reader.must_be("")
    return tree


def _tokens(formula: str) -> Iterator[tuple[str, str]]:
    """Kind and text of each piece; a space is only told where it is the intersection of two ranges."""
    start, before, spaced = 0, "", False
    while start < len(formula):
        match = TOKEN.match(formula, start)
        if not match:
            raise NotAFormula(_unreadable(formula[start], before))
        kind, start = match.lastgroup or "", match.end()
        if kind == "space":
            spaced = True
            continue
        if spaced and before in ("cells", "name") and kind in ("cells", "sheet", "name"):
            yield "between", " "
        yield kind, match[0]
        before, spaced = kind, False
    yield "end", ""


def _unreadable(sign: str, before: str) -> Fault:
    """What a piece that is no token is part of."""
    if sign != "[":
        return UNREADABLE
    return NotWorkedOut("a column of a table") if before == "name" else A_LINK


class _Reader:
    """Reads tokens from the left (a Pratt parser)."""

    def __init__(self, tokens: Iterator[tuple[str, str]]):
        self.tokens, self.depth = tokens, 0
        self.kind, self.text = next(tokens)

    def advance(self) -> tuple[str, str]:
        read = self.kind, self.text
        self.kind, self.text = next(self.tokens, ("end", ""))
        return read

    def must_be(self, sign: str) -> None:
        if self.text != sign or self.kind not in ("sign", "end"):
            raise NotAFormula(NotWorkedOut("an intersection of ranges") if self.kind == "between" else UNREADABLE)
        self.advance()

    def expression(self, binding: int) -> Tree:
        """An operand and every operator behind it that binds closer than `binding`."""
        self.depth += 1
        if self.depth > MOST_NESTED:
            raise NotAFormula(NotWorkedOut(f"more than {MOST_NESTED} expressions within each other"))
        left = self.operand()
        while self.kind == "sign" and (self.text == "%" or BINDING.get(self.text, 0) > binding):
            _, sign = self.advance()
            if sign == "%":
                left = Operation("/", left, Constant(100.0))
            else:
                left = Operation(sign, left, self.expression(BINDING[sign]))
        self.depth -= 1
        return left

    def operand(self) -> Tree:
        kind, text = self.advance()
        if kind == "sign" and text in "+-":
            return self.signed(text)
        if kind == "sign" and text == "(":
            inner = self.expression(0)
            self.must_be(")")
            return inner
        if kind == "sign" and text == "{":
            return Constant(self.array())
        if kind == "sheet":
            return self.on_sheet(text[:-1])
        if kind == "function":
            return _call(_function(text), self.arguments())
        read = _OPERANDS.get(kind)
        if read is None:
            raise NotAFormula(UNREADABLE)
        return self.ranged(read(text), None)

    def signed(self, sign: str) -> Tree:
        """Signs before an operand, which bind closer than a power (-2^2 is 4), but not than a percent sign."""
        minuses = int(sign == "-")
        while self.kind == "sign" and self.text in "+-":
            minuses += self.advance()[1] == "-"
        inner = self.expression(BINDING["^"])
        if isinstance(inner, Constant) and isinstance(inner.value, float):
            return Constant(-inner.value if minuses % 2 else inner.value)
        for _ in range(min(minuses, 2 - minuses % 2)):
            inner = Call("-", (inner,))
        return inner

    def on_sheet(self, written: str) -> Tree:
        sheet = _sheet(written)
        kind, text = self.advance()
        if kind == "name":
            return Name(text.lower(), sheet)
        if kind == "error":
            return Constant(Fault(text.upper()))
        if kind != "cells":
            raise NotAFormula(UNREADABLE)
        found = _cells(text)
        return Name(found.name, sheet) if isinstance(found, Name) else self.ranged(found, sheet)

    def ranged(self, first: Tree, sheet: str | None) -> Tree:
        """An operand, with the other end of its range where there is one: `A1:B2`, `Sheet!A1:Sheet!B2`."""
        if isinstance(first, Cells):
            if self.kind == "sign" and self.text == ":":
                self.advance()
                if self.kind == "sheet" and _sheet(self.advance()[1][:-1]).lower() != (sheet or "").lower():
                    raise NotAFormula(OVER_SHEETS)
                kind, text = self.advance()
                last = _cells(text) if kind == "cells" else None
                if not isinstance(last, Cells):
                    raise NotAFormula(UNREADABLE)
                return _range(sheet, first, last)
            return Cells(sheet, first.top, first.left, first.bottom, first.right)
        return first

    def arguments(self) -> tuple[Tree, ...]:
        self.must_be("(")
        found: list[Tree] = []
        while not (self.kind == "sign" and self.text == ")" and not found):
            left_out = self.kind == "sign" and self.text in (",", ";", ")")
            found.append(Constant(None) if left_out else self.expression(0))
            if self.kind == "sign" and self.text == ")":
                break
            self.must_be(self.text if self.text == ";" else ",")
        self.must_be(")")
        return tuple(found)

    def array(self) -> Array:
        """Constants in braces: `,` between those of a row, `;` between rows."""
        rows: list[list[Scalar]] = [[]]
        while True:
            rows[-1].append(self.constant())
            _, sign = self.advance()
            if sign == ";":
                rows.append([])
            elif sign == "}":
                break
            elif sign != ",":
                raise NotAFormula(UNREADABLE)
        if len({len(row) for row in rows}) > 1:
            raise NotAFormula(UNREADABLE)
        return Array(len(rows), len(rows[0]), [value for row in rows for value in row])

    def constant(self) -> Scalar:
        kind, text = self.advance()
        minus = kind == "sign" and text == "-"
        if minus or (kind == "sign" and text == "+"):
            kind, text = self.advance()
        read = _OPERANDS[kind](text) if kind in ("text", "error", "number", "name") else None
        if not isinstance(read, Constant) or isinstance(read.value, Array):
            raise NotAFormula(UNREADABLE)
        return -read.value if minus and isinstance(read.value, float) else read.value


def _call(function: str, arguments: tuple[Tree, ...]) -> Tree:
    """A function; TRUE() and FALSE(), as some programs write them, are constants."""
    if function in ("TRUE", "FALSE") and not arguments:
        return Constant(function == "TRUE")
    return Call(function, arguments)


def _function(text: str) -> str:
    return PREFIXES.sub("", text.upper())


def _sheet(written: str) -> str:
    """A sheet's name without its quotes. Raises NotAFormula for several sheets at once."""
    name = written[1:-1].replace("''", "'") if written.startswith("'") else written
    if ":" in name:  # which no name of a sheet may hold
        raise NotAFormula(OVER_SHEETS)
    return name


def _cells(text: str) -> Cells | Name:
    """`B4`, a column `C:C` or a row `3:3`; letters and digits beyond the last cell of a sheet are a name."""
    first, colon, last = text.replace("$", "").upper().partition(":")
    try:
        if not colon:
            row, column = position_of(first)
            return Cells(None, row, column, row, column)
        if first.isdigit():
            top, bottom = existing_position(int(first), 1)[0], existing_position(int(last), 1)[0]
            return _range(None, Cells(None, top, 1, top, 1), Cells(None, bottom, LAST_COLUMN, bottom, LAST_COLUMN))
        left, right = position_of(f"{first}1")[1], position_of(f"{last}1")[1]
    except ValueError:
        if colon or "$" in text:
            raise NotAFormula(NO_NAME) from None
        return Name(text.lower(), None)
    return _range(None, Cells(None, 1, left, 1, left), Cells(None, LAST_ROW, right, LAST_ROW, right))


def _range(sheet: str | None, first: Cells, last: Cells) -> Cells:
    return Cells(
        sheet,
        min(first.top, last.top),
        min(first.left, last.left),
        max(first.bottom, last.bottom),
        max(first.right, last.right),
    )


def _number(text: str) -> Constant:
    value = float(text)
    if not isfinite(value):
        raise NotAFormula(UNREADABLE)
    return Constant(value)


_OPERANDS: dict[str, Callable[[str], Tree]] = {
    "text": lambda text: Constant(text[1:-1].replace('""', '"')),
    "error": lambda text: Constant(Fault(text.upper())),
    "number": _number,
    "cells": _cells,
    "name": lambda text: (
        Constant(text.upper() == "TRUE") if text.upper() in ("TRUE", "FALSE") else Name(text.lower(), None)
    ),
}
"""What each kind of token is by itself."""
