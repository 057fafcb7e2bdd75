"""A formula with the values of what it reads in place of the names, for people who want to follow it.

What only guards the arithmetic is left out: rounding in one place twice, SUM around a single cell, the answers of
IF that were not asked for, addends of 0. What is looked up in a table is written as its value.
"""

from collections.abc import Callable

from quotebook.evaluation.trees import BINDING, Call, Cells, Constant, Name, Operation, Tree
from quotebook.evaluation.values import Array

SIGNS = {"*": " x ", "^": "^"}
"""Operators that people write otherwise than formulas do."""
LOOKING_UP = ("INDEX", "MATCH", "SUMPRODUCT", "SUMIFS", "COUNTIFS", "LARGE", "SMALL", "ROW", "COLUMN")
ATOM = 9
"""How closely a number binds."""


class Writer:
    """Writes trees. `say` gives the value of a name, an address or a whole part of a formula as a person reads it."""

    def __init__(self, say: Callable[[Tree], str], holds: Callable[[Tree], bool]):
        self.say, self.holds = say, holds
        self.reads: list[Name] = []
        """The names that what was written rests on, in the order met."""

    def write(self, tree: Tree) -> str:
        return self._written(tree)[0]

    def _written(self, tree: Tree) -> tuple[str, int]:
        """The text, and how closely its outermost operator binds."""
        if isinstance(tree, Constant):
            return ("{...}" if isinstance(tree.value, Array) else self.say(tree)), ATOM
        if isinstance(tree, (Name, Cells)):
            self._note(tree)
            return self.say(tree), ATOM
        if isinstance(tree, Operation):
            return self._operation(tree)
        return self._call(tree)

    def _operation(self, tree: Operation) -> tuple[str, int]:
        binding = BINDING[tree.sign]
        if tree.sign in ("+", "-") and self._is_nothing(tree.right):
            self._note(tree.right)
            return self._written(tree.left)
        if tree.sign == "+" and self._is_nothing(tree.left):
            self._note(tree.left)
            return self._written(tree.right)
        left, right = self._bracketed(tree.left, binding), self._bracketed(tree.right, binding + 1)
        return f"{left}{SIGNS.get(tree.sign, f' {tree.sign} ')}{right}", binding

    def _is_nothing(self, tree: Tree) -> bool:
        return not self.say(tree).strip("0.")

    def _bracketed(self, tree: Tree, binding: int) -> str:
        text, inner = self._written(tree)
        return text if inner >= binding else f"({text})"

    def _call(self, tree: Call) -> tuple[str, int]:
        name, arguments = tree.function, tree.arguments
        if name == "ROUND" and arguments:
            return self._written(arguments[0])
        if name == "ROUNDUP" and arguments:
            return f"{self._bracketed(arguments[0], ATOM)} rounded up", 0
        if name == "IF" and len(arguments) > 1:
            self._note(arguments[0])
            answer = arguments[1] if self.holds(arguments[0]) else (*arguments, Constant(0.0))[2]
            return self._written(answer)
        if name == "SUM":
            return self._sum(arguments)
        if name in ("MAX", "MIN") and len(arguments) > 1:
            listed = " and ".join(self.write(argument) for argument in arguments)
            return f"the {'larger' if name == 'MAX' else 'smaller'} of {listed}", 0
        if name in LOOKING_UP:
            self._note(tree)
            return self.say(tree), ATOM
        return f"{name}({', '.join(self.write(argument) for argument in arguments)})", ATOM

    def _sum(self, arguments: tuple[Tree, ...]) -> tuple[str, int]:
        for argument in arguments:
            self._note(argument)
        counting = [argument for argument in arguments if not self._is_nothing(argument)] or list(arguments[:1])
        texts = [self._bracketed(argument, BINDING["+"]) for argument in counting]
        return " + ".join(texts), ATOM if len(texts) == 1 else BINDING["+"]

    def _note(self, tree: Tree) -> None:
        """Keeps the names in a part."""
        if isinstance(tree, Name) and tree not in self.reads:
            self.reads.append(tree)
        for part in (
            tree.arguments if isinstance(tree, Call) else (tree.left, tree.right) if isinstance(tree, Operation) else ()
        ):
            self._note(part)
