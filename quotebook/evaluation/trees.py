"""A formula's text as a tree (ECMA-376 part 1, 18.17; OpenFormula section 5), in the spelling of .xlsx.

`NotAFormula` is raised for what is no formula, and says which part of it cannot be worked out.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from quotebook.evaluation.values import A_LINK, Array, NotWorkedOut, Scalar
from quotebook.spreadsheets.cells import LAST_COLUMN, LAST_ROW, Fault, position_of

LONGEST_FORMULA = 8_192
"""Characters ("Excel specifications and limits")."""
MOST_NESTED = 64
"""Brackets and functions within each other (the same list)."""
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
    | (?P<cells>    \$?[A-Z]{1,3}\$?[0-9]{1,7}(?![\w.(?\\!]) | \$?[A-Z]{1,3}:\$?[A-Z]{1,3}(?![\w.(?\\!]) | \$?[0-9]{1,7}:\$?[0-9]{1,7}(?![\w.]) )
    | (?P<number>   (?:[0-9]{1,40}(?:\.[0-9]{0,40})?|\.[0-9]{1,40})(?:E[+-]?[0-9]{1,3})?(?![\w.]) )
    | (?P<function> (?:[^\W\d]|\\)[\w.\\?]*(?=\s*\() )
    | (?P<name>     (?:[^\W\d]|\\)[\w.\\?]* )
    | (?P<sign>     <>|<=|>=|[-+*/^&=<>%(),;:{}] )
    """,
    re.VERBOSE | re.IGNORECASE,
)
BINDING = {"=": 1, "<>": 1, "<": 1, "<=": 1, ">": 1, ">=": 1, "&": 2, "+": 3, "-": 3, "*": 4, "/": 4, "^": 5}
"""How closely the operators bind, all of them from the left; a minus in front binds closer, and a percent sign closest."""
PREFIXES = re.compile(r"^(?:_XLFN\.|_XLWS\.|COM\.MICROSOFT\.|ORG\.GNUMERIC\.|ORG\.LIBREOFFICE\.)+")
"""What programs put before the name of a function that is newer than the file format."""
UNREADABLE = NotWorkedOut("text that is no formula")


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
    start, before = 0, ""
    while start < len(formula):
        match = TOKEN.match(formula, start)
        if not match:
            raise NotAFormula(A_LINK if formula[start] in "[|" or "[" in formula else UNREADABLE)
        kind, start = match.lastgroup or "", match.end()
        if kind == "sheet" and "[" in match[0]:
            raise NotAFormula(A_LINK)
        if kind != "space":
            if before == "space" and kind in ("cells", "sheet", "name"):
                yield "between", " "
            yield kind, match[0]
            before = kind
        else:
            before = "space" if before in ("cells", "name") else ""
    yield "end", ""


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
            raise NotAFormula(NotWorkedOut(f"more than {MOST_NESTED} brackets within each other"))
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
        read = _OPERANDS.get(kind)
        if read is None:
            raise NotAFormula(UNREADABLE)
        return Call(_function(text), self.arguments()) if kind == "function" else self.ranged(read(text), None)

    def signed(self, sign: str) -> Tree:
        """A sign in front of an operand, which binds closer than a power does (-2^2 is 4), but not than a percent sign."""
        inner = self.expression(BINDING["^"])
        if sign == "-" and isinstance(inner, Constant) and isinstance(inner.value, float):
            return Constant(-inner.value)
        return Call("-", (inner,)) if sign == "-" else inner

    def on_sheet(self, written: str) -> Tree:
        sheet = written[1:-1].replace("''", "'") if written.startswith("'") else written
        kind, text = self.advance()
        if kind == "name":
            return Name(text.lower(), sheet)
        if kind == "error":
            return Constant(Fault(text))
        if kind != "cells":
            raise NotAFormula(UNREADABLE)
        return self.ranged(_cells(text), sheet)

    def ranged(self, first: Tree, sheet: str | None) -> Tree:
        """An operand, with the other end of its range where there is one: `A1:B2`, `Sheet!A1:Sheet!B2`."""
        if isinstance(first, Cells):
            if self.kind == "sign" and self.text == ":":
                self.advance()
                if self.kind == "sheet":
                    self.advance()
                kind, text = self.advance()
                last = _cells(text) if kind == "cells" else None
                if last is None:
                    raise NotAFormula(UNREADABLE)
                return _range(sheet, first, last)
            return Cells(sheet, first.top, first.left, first.bottom, first.right)
        return first

    def arguments(self) -> tuple[Tree, ...]:
        self.must_be("(")
        found: list[Tree] = []
        while not (self.kind == "sign" and self.text == ")" and not found):
            left_out = self.kind == "sign" and self.text in (",", ")")
            found.append(Constant(None) if left_out else self.expression(0))
            if self.kind == "sign" and self.text == ")":
                break
            self.must_be(",")
        self.must_be(")")
        return tuple(found)

    def array(self) -> Array:
        """Constants in braces: `,` between those of a row, `;` between rows."""
        rows: list[list[Scalar]] = [[]]
        while True:
            value = self.operand()
            if not isinstance(value, Constant) or isinstance(value.value, Array):
                raise NotAFormula(UNREADABLE)
            rows[-1].append(value.value)
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


def _function(text: str) -> str:
    return PREFIXES.sub("", text.upper())


def _cells(text: str) -> Cells:
    """`B4`, a column `C:C` or a row `3:3`."""
    text = text.replace("$", "").upper()
    first, colon, last = text.partition(":")
    try:
        if not colon:
            row, column = position_of(text)
            return Cells(None, row, column, row, column)
        if first.isdigit():
            return _range(
                None,
                Cells(None, int(first), 1, int(first), 1),
                Cells(None, int(last), LAST_COLUMN, int(last), LAST_COLUMN),
            )
        left, right = position_of(f"{first}1")[1], position_of(f"{last}1")[1]
    except ValueError:
        raise NotAFormula(Fault("#NAME?")) from None
    return _range(None, Cells(None, 1, left, 1, left), Cells(None, LAST_ROW, right, LAST_ROW, right))


def _range(sheet: str | None, first: Cells, last: Cells) -> Cells:
    return Cells(
        sheet,
        min(first.top, last.top),
        min(first.left, last.left),
        max(first.bottom, last.bottom),
        max(first.right, last.right),
    )


_OPERANDS = {
    "text": lambda text: Constant(text[1:-1].replace('""', '"')),
    "error": lambda text: Constant(Fault(text.upper())),
    "number": lambda text: Constant(float(text)),
    "cells": _cells,
    "name": lambda text: (
        Constant(text.upper() == "TRUE") if text.upper() in ("TRUE", "FALSE") else Name(text.lower(), None)
    ),
    "function": lambda text: Name(text, None),
}
"""What each kind of token is by itself."""
