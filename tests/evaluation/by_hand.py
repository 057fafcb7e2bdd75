"""One formula over a few cells, worked out in this process without a file."""

from decimal import Decimal
from pathlib import Path

from quotebook.evaluation.evaluation import Evaluation
from quotebook.spreadsheets.cells import Cell, CellAddress, LocalName, Sheet, Workbook, position_of

HERE = CellAddress("Sheet", 5, 8)
"""Where the formula stands: H5."""


def workbook(cells=None, names=None, *, others=None, local=(), date_1904=False) -> Workbook:
    """A workbook with one sheet, `Sheet`, of those cells by address, and with further sheets like it."""
    sheets = {"Sheet": cells or {}, **(others or {})}
    read = {name: {position_of(at): _cell(value) for at, value in on.items()} for name, on in sheets.items()}
    return Workbook(
        path=Path("by hand"),
        sheets=tuple(Sheet(name, "visible", on) for name, on in read.items()),
        names={name.lower(): target for name, target in (names or {}).items()},
        local_names=tuple(LocalName(*name) for name in local),
        observations=(),
        date_1904=date_1904,
    )


def _cell(value) -> Cell:
    if isinstance(value, str) and value.startswith("="):
        return Cell(None, value[1:])
    return Cell(Decimal(str(value)) if type(value) in (int, float) else value, None)


def answer(formula, cells=None, names=None, **more):
    """What a formula in H5 comes to; an error is its text, a number a float."""
    found = Evaluation(workbook({**(cells or {}), "H5": f"={formula}"}, names, **more)).cell(HERE)
    if hasattr(found, "text"):
        return found.text
    return float(found) if isinstance(found, Decimal) else found
