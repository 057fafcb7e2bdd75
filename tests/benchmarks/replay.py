"""XlsxWriter on its own: every call that the writing of one quote made on it, made once more.

The yardstick for writing quotes: the very same cells, formats, names, validations and conditional
formats, with nothing computed.
"""

from typing import BinaryIO, NamedTuple
from unittest.mock import patch

import xlsxwriter

from quotebook.drawing import styles
from quotebook.drawing.plain_workbook import SheetOfSeenCells

BOOK = 0
"""The number of the workbook among what calls are made on."""


class Call(NamedTuple):
    on: int
    """The number of what it was made on: the workbook, a sheet, a format."""
    method: str
    positional: list
    named: dict
    made: int | None
    """The number of what it gave back, where that is called in its turn."""


class Number(int):
    """Stands in a call for what has that number."""


class Recorded:
    """Stands before something of XlsxWriter's: passes every call on, and writes it down."""

    def __init__(self, calls: list[Call], real: object, numbers: list[int], number: int):
        self._calls, self._real, self._numbers, self._number = calls, real, numbers, number

    def __getattr__(self, name: str):
        found = getattr(self._real, name)
        return self._passing_on(name, found) if callable(found) else found

    def _passing_on(self, name: str, method):
        def call(*positional, **named):
            result, made = method(*_real(positional), **_real(named)), None
            if any(kind.__module__.startswith("xlsxwriter.") for kind in type(result).__mro__):
                self._numbers.append(made := len(self._numbers))
                result = Recorded(self._calls, result, self._numbers, made)
            self._calls.append(Call(self._number, name, _numbered(positional), _numbered(named), made))
            return result

        return call


def _real(value):
    """Arguments with the real thing in place of what stands before it."""
    return value._real if isinstance(value, Recorded) else _within(_real, value)


def _numbered(value):
    return Number(value._number) if isinstance(value, Recorded) else _within(_numbered, value)


def _within(change, value):
    if isinstance(value, dict):
        return {name: change(each) for name, each in value.items()}
    return [change(each) for each in value] if isinstance(value, (list, tuple)) else value


def record(write) -> tuple[list[Call], dict]:
    """The calls that `write` makes on a workbook of XlsxWriter's, and the options it makes that with."""
    calls, options, make = [], {}, styles.PlainWorkbook

    def recorded(file, given):
        options.update(given)
        return Recorded(calls, make(file, given), [BOOK], BOOK)

    with patch.object(styles, "PlainWorkbook", recorded):
        write()
    return calls, options


class SameCells(xlsxwriter.Workbook):
    """XlsxWriter's workbook, without the cells that ours leaves out where one cell covers them."""

    worksheet_class = SheetOfSeenCells


def replay(file: BinaryIO, calls: list[Call], options: dict) -> None:
    """Writes the same workbook once more."""
    there = {BOOK: SameCells(file, options)}
    for on, method, positional, named, made in calls:
        given = [there[each] if type(each) is Number else each for each in positional]
        given = [_found(there, each) if type(each) is dict else each for each in given]
        result = getattr(there[on], method)(*given, **_found(there, named))
        if made is not None:
            there[made] = result


def _found(there: dict, named: dict) -> dict:
    return {name: there[each] if type(each) is Number else each for name, each in named.items()}
