"""The checks: plain functions from a returned sheet, compared and worked out, to findings.

`CHECKS` is the table of contents.
"""

from quotebook.checking.check_appearance import seen_as_issued
from quotebook.checking.check_cells import (
    find_doubled_names,
    formulas_as_issued,
    lines_present,
    names_in_place,
    names_present,
    rates_as_issued,
)
from quotebook.checking.check_contents import nothing_unknown, stamp_in_its_place
from quotebook.checking.check_entries import entries_usable, replies_typed
from quotebook.checking.check_figures import arithmetic_holds, figures_worked_out
from quotebook.checking.check_sheets import nothing_foreign, rest_as_issued, sheets_as_issued

CHECKS = (
    lines_present,
    names_present,
    names_in_place,
    find_doubled_names,
    entries_usable,
    replies_typed,
    rates_as_issued,
    formulas_as_issued,
    rest_as_issued,
    sheets_as_issued,
    figures_worked_out,
    arithmetic_holds,
    nothing_foreign,
    nothing_unknown,
    stamp_in_its_place,
    seen_as_issued,
)
