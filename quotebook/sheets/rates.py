"""The rates that a client may see: all that the price rests on, and nothing else of the owner's."""

from dataclasses import fields
from decimal import Decimal

from quotebook.engine.model import SURFACES
from quotebook.engine.suggestion import MOST_A_SIDE

from .front import set_up_page
from .look import share_kind
from .values import table_cells, to_cell
from .vocabulary import SCALAR_RATES, TABLES, WORDS

ON_FRONT = ("waiver_share", "tax_rate", "deposit_share")
"""Rates whose home is the first sheet."""
LABEL, VALUE = 1, 3
LAST = LABEL + len(fields(TABLES["kinds"])) + len(SURFACES) - 2
"""The last column of the widest table, that of panels."""


def write_rates(pen, draft) -> None:
    for column, width in enumerate((1.5, 13, 26, *(9.5,) * 17, 1.5)):
        pen.sheet.set_column(column, column, width, pen.look("plain"))
    pen.text(0, LABEL, draft.text("rates_title"), "page_title")
    row = _scalars(pen, draft, 2)
    cells = table_cells(draft.issue.rates, draft.dictionary)
    for table in TABLES:
        row = _table(pen, draft, row + 1, table, cells)
    row = _words(pen, draft, row + 1)
    _counts(pen, draft, LAST + 3)
    set_up_page(pen, draft, row, LAST + 1, landscape=True)


def _scalars(pen, draft, row: int) -> int:
    """Single figures, in two columns side by side."""
    pen.text(row, LABEL, draft.text("charges"), "heading", to=LAST)
    names = [name for name in SCALAR_RATES if name not in ON_FRONT]
    half = (len(names) + 1) // 2
    for number, name in enumerate(names):
        at, column = row + 1 + number % half, LABEL if number < half else 6
        value = getattr(draft.issue.rates, name)
        pen.text(at, column, draft.label(name), "label", to=column + (1 if column == LABEL else 5))
        kind = share_kind(value) if name.endswith("_share") else ""
        pen.owner(name, at, VALUE if column == LABEL else 12, to_cell(value, draft.dictionary), kind=kind)
    return row + 1 + half


def _table(pen, draft, row: int, table: str, cells: dict) -> int:
    """A table's heading, column headings and columns."""
    pen.text(row, LABEL, draft.text(f"{table}_table"), "heading", to=LAST)
    pen.sheet.set_row(row + 1, 40)
    column = LABEL
    for field in fields(TABLES[table]):
        name = f"{table}_{field.name}"
        if field.name == "layings":
            column = _layings(pen, row + 1, column, cells[name], draft)
            continue
        pen.text(row + 1, column, draft.label(field.name), "column")
        pen.column(name, row + 2, column, cells[name])
        column += 1
    if table == "kinds":
        pen.anchor("kinds_heading", row + 1, LABEL)
    return row + 2 + max(1, len(getattr(draft.issue.rates, table)))


def _layings(pen, row: int, column: int, layings: list, draft) -> int:
    """A column for each surface, under its word; the cell before them is where columns are counted from."""
    pen.anchor("surfaces_heading", row, column - 1)
    words = [draft.dictionary.surfaces[surface] for surface in SURFACES]
    pen.block("surfaces", row, column, [words], len(SURFACES), "column")
    pen.block("kinds_layings", row + 1, column, layings, len(SURFACES))
    return column + len(SURFACES)


def _counts(pen, draft, column: int) -> None:
    """Beside the page: the numbers of panels on a side among which a size is suggested, down and across."""
    counts = [Decimal(count) for count in range(1, MOST_A_SIDE + 1)]
    pen.text(1, column, draft.text("counts"), "quiet")
    pen.column("counts_across", 3, column, counts, "quiet")
    pen.block("counts_along", 2, column + 1, [counts], MOST_A_SIDE, "quiet")


def _words(pen, draft, row: int) -> int:
    pen.text(row, LABEL, draft.text("words_table"), "heading", to=LAST)
    for offset, name in enumerate(WORDS, 1):
        pen.text(row + offset, LABEL, draft.label(name), "label", to=2)
        pen.owner(name, row + offset, VALUE, draft.word_cells[name])
    return row + len(WORDS) + 1
