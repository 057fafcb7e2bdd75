"""Whether two formulas mean the same, however two programs spell them.

They do where their trees are one: numbers are compared by value at the 15 digits that spreadsheets keep, names
with the cells that they stand for, functions without the prefix of a program; spaces, separators, letters' case
and redundant brackets are in no tree.
"""

import re
from collections.abc import Callable

from quotebook.engine.money import number
from quotebook.evaluation.trees import Call, Cells, Constant, Name, NotAFormula, Operation, Tree, tree_of
from quotebook.evaluation.values import Array, Scalar
from quotebook.spreadsheets.cells import CellRange

TRUTH = re.compile(r'("[^"]*")|\b(TRUE|FALSE)\(\)')
"""A text in a formula, or a truth as LibreOffice spells it: the one thing that it spells otherwise in a quote."""

Leads = Callable[[str], CellRange | None]
"""Where a workbook-level name leads; None for a name that leads to no one place."""


def same_formula(one: str, other: str, sheet: str = "", leads: Leads = lambda name: None) -> bool:
    """Whether two formulas of a cell on `sheet` mean the same. What cannot be read means only itself."""
    if one == other or TRUTH.sub(r"\1\2", one) == other:  # most are, and a tree costs a hundred times as much
        return True
    try:
        return _same_trees(tree_of(one.lstrip(" =\t\r\n")), tree_of(other.lstrip(" =\t\r\n")), sheet, leads)
    except NotAFormula:
        return False


def _same_trees(one: Tree, other: Tree, sheet: str, leads: Leads) -> bool:
    """Pair by pair, since the sum of very many terms is nested as deep as it is long."""
    pairs = [(one, other)]
    while pairs:
        left, right = pairs.pop()
        if isinstance(left, Operation) and isinstance(right, Operation) and left.sign == right.sign:
            pairs += [(left.left, right.left), (left.right, right.right)]
        elif isinstance(left, Call) and isinstance(right, Call):
            if left.function != right.function or len(left.arguments) != len(right.arguments):
                return False
            pairs += zip(left.arguments, right.arguments, strict=True)
        elif isinstance(left, Constant) and isinstance(right, Constant):
            if not _same_constants(left.value, right.value):
                return False
        elif left != right and not _same_places(left, right, sheet, leads):
            return False
    return True


def _same_constants(one: Scalar | Array, other: Scalar | Array) -> bool:
    if isinstance(one, Array) and isinstance(other, Array):
        same_size = (one.height, one.width) == (other.height, other.width)
        return same_size and all(map(_same_constants, one.cells, other.cells))
    if isinstance(one, float) and isinstance(other, float):
        return number(one) == number(other)
    return type(one) is type(other) and one == other


def _same_places(one: Tree, other: Tree, sheet: str, leads: Leads) -> bool:
    """Whether two operands are one place: a name and its cells, or an address with and without its own sheet."""
    found, again = _place(one, sheet, leads), _place(other, sheet, leads)
    return found is not None and found == again


def _place(tree: Tree, sheet: str, leads: Leads) -> CellRange | None:
    if isinstance(tree, Name) and tree.sheet is None:
        area = leads(tree.name)
        return area and area._replace(sheet=area.sheet.lower())
    if isinstance(tree, Cells):
        return CellRange((tree.sheet or sheet).lower(), tree.top, tree.left, tree.bottom, tree.right)
    return None
