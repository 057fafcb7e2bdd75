"""Whether what a cell shows is what is due there, as people who read a sheet would say."""

from decimal import Decimal

from quotebook.engine.money import round6
from quotebook.evaluation.values import NotWorkedOut
from quotebook.spreadsheets.cells import Fault


def agrees(value: object, due: object) -> bool:
    """Whether a cell shows what is due: a number at six places, a text line by line, any error for an error.

    Nothing disagrees with what is not worked out here; a blank is an empty text, and the 0 of a cell that shows one.
    """
    if value == due and isinstance(value, bool) == isinstance(due, bool):
        return True
    if isinstance(due, NotWorkedOut):
        return True
    if isinstance(due, Fault) or isinstance(value, Fault):
        return isinstance(due, Fault) and isinstance(value, Fault)
    if isinstance(due, bool) or isinstance(value, bool):
        return False
    if isinstance(due, Decimal) and isinstance(value, Decimal):
        return abs(value) < 10**15 and round6(value) == round6(due)
    if isinstance(due, Decimal):
        return due == 0 and value in (None, "")
    if isinstance(value, Decimal):
        return value == 0 and due in (None, "")
    return same_lines(str(value or ""), str(due or ""))


def same_lines(one: str, other: str) -> bool:
    """Whether two texts say the same line by line: spaces at the ends of a text or a line, and doubled, are nothing."""
    return one == other or _lines(one) == _lines(other)


def _lines(text: str) -> list[str]:
    return [" ".join(line.split()) for line in text.strip().splitlines()]
