"""Functions of dates, which are serial numbers: DATE, YEAR and MONTH."""

import math
from collections.abc import Callable
from datetime import date, timedelta

from quotebook.evaluation.arguments import of_one
from quotebook.evaluation.values import NOT_A_NUMBER, Scalar
from quotebook.spreadsheets.cells import Fault, day_zero

FROM_1904 = 1_462
"""Days by which the serial numbers of a workbook that counts from 1904 are smaller."""
FALSE_LEAP_DAY = 60
"""The serial number of a 29 February 1900 that never was (ECMA-376 18.17.4.1)."""
AFTER_LAST_DAY = 2_958_466
"""The serial number of 1 January 10000, which no date reaches."""


def date_of(year: float, month: float, day: float, day_zero_later: int = 0) -> float | Fault:
    """DATE: a serial number; months and days beyond their ends run on, and years up to 1899 count from 1900."""
    years, months = int(year), int(month) - 1
    if 0 <= years < 1900:
        years += 1900
    years, months = years + months // 12, months % 12
    if not 1900 <= years <= 9999 or abs(day) > AFTER_LAST_DAY:
        return NOT_A_NUMBER
    first = (date(years, months + 1, 1) - day_zero(False)).days
    serial = first - (first < FALSE_LEAP_DAY) + int(day) - 1 - day_zero_later
    return float(serial) if 0 <= serial < AFTER_LAST_DAY - day_zero_later else NOT_A_NUMBER


def part_of_day(part: Callable[[date], int]) -> Callable[..., Scalar]:
    """MONTH and YEAR of a serial number; 0 is in January 1900, and 60 the 29 February of that year that never was."""

    def function(serial: float, day_zero_later: int = 0) -> float | Fault:
        day = math.floor(serial) + day_zero_later
        if not 0 <= day < AFTER_LAST_DAY:
            return NOT_A_NUMBER
        return float(part(day_zero(False) + timedelta(days=day if day > FALSE_LEAP_DAY else max(2, min(day + 1, 60)))))

    return of_one(function)
