"""The rates that a client may see: all that the price rests on, and nothing else of the owner's."""

from dataclasses import fields
from decimal import Decimal

from quotebook.client.quote_sheet import set_up_page
from quotebook.contract.values import CellValue, table_cells, to_cell
from quotebook.contract.vocabulary import SCALAR_RATES, TABLES, WORDS
from quotebook.drawing import text_size as measure
from quotebook.drawing.styles import INDENT, share_kind
from quotebook.engine.model import SURFACES
from quotebook.engine.suggestion import MOST_A_SIDE

ON_FRONT = ("waiver_share", "tax_rate", "deposit_share")
"""Rates whose home is the first sheet."""
MONEY = (
    "hourly_rate", "base_charge", "rate_per_mile", "kinds_rate", "kinds_piece_rate", "kinds_corner_rate",
    "subfloors_sheet_rate",
)  # fmt: skip
TEXTS = ("kinds_panel_name", "subfloors_subfloor_name")
"""Columns of text that may be long."""
LABEL, VALUE = 1, 3
SECOND_LABEL, SECOND_VALUE = 6, 12
"""The right half of the single figures."""
LAST = LABEL + len(fields(TABLES["kinds"])) + len(SURFACES) - 2
"""The last column of the widest table, that of panels."""
LEAST, CODE, NAME = 8, 14, 28
"""Widths in digits: of any column at least, of the codes, and of the names beside them."""


def write_rates(pen, draft) -> None:
    cells = table_cells(draft.issue.rates, draft.dictionary)
    pen.columns((1.5, *_widths(draft, cells), 1.5, 1.5, *(4,) * (MOST_A_SIDE + 1)))
    pen.sheet.set_row(0, 24)
    pen.text(0, LABEL, draft.text("rates_title"), "page_title")
    row = _scalars(pen, draft, 2)
    for table in TABLES:
        row = _table(pen, draft, row + 1, table, cells)
    row = _words(pen, draft, row + 1)
    _counts(pen, draft, LAST + 3)
    set_up_page(pen, draft, row, LAST + 1, landscape=True)


def _widths(draft, cells: dict[str, list]) -> list[float]:
    """Of the columns of tables: every code, number and single word has room; names and headings wrap."""
    rooms = [measure.pixels([LEAST])] * LAST
    rooms[:2] = measure.pixels([CODE]), measure.pixels([NAME])
    gap = 2 * INDENT
    for table in TABLES:
        for at, (name, heading) in enumerate(_headings(draft, table)):
            words = [measure.text_width(word, 9, bold=True) for word in heading.split()]
            values = [] if name in TEXTS else [measure.text_width(text) for text in _unbroken(cells, name)]
            rooms[at] = max(rooms[at], *(gap + width for width in (*words, *values)))
    return [measure.digits(room) for room in rooms]


def _headings(draft, table: str) -> list[tuple[str, str]]:
    """The columns of a table from left to right: their names, and what stands above them."""
    columns = []
    for field in fields(TABLES[table]):
        surfaces = field.name == "layings"
        headings = draft.dictionary.surfaces.values() if surfaces else [draft.label(field.name)]
        columns += [(f"{table}_{field.name}", heading) for heading in headings]
    return columns


def _unbroken(cells: dict[str, list], name: str) -> list[str]:
    """What must stay on one line in a column: its numbers and codes, its layings."""
    texts = [text for row in cells[name] for text in (row if isinstance(row, list) else [row])]
    return [str(text) for text in texts if text is not None]


def _scalars(pen, draft, row: int) -> int:
    """Single figures, in two columns side by side."""
    pen.text(row, LABEL, draft.text("charges"), "heading", to=LAST)
    names = [name for name in SCALAR_RATES if name not in ON_FRONT]
    half = (len(names) + 1) // 2
    for number, name in enumerate(names):
        at = row + 1 + number % half
        label, column = (LABEL, VALUE) if number < half else (SECOND_LABEL, SECOND_VALUE)
        value = getattr(draft.issue.rates, name)
        kind = share_kind(value) if name.endswith("_share") else _money_kind(draft, name, [value])
        pen.text(at, label, draft.label(name), "field", to=column - 1)
        pen.fit(at, column, "", "fact")
        pen.owner(name, at, column, to_cell(value, draft.dictionary), "fact_right", kind)
    return row + 1 + half


def _money_kind(draft, name: str, values: list[CellValue]) -> str:
    """Shows a rate as money, unless it has more places than the currency."""
    minor_units = int(draft.issue.rates.minor_units)
    whole = all(value is None or value == round(value, minor_units) for value in values) if name in MONEY else False
    return "money" if whole else ""


def _table(pen, draft, row: int, table: str, cells: dict) -> int:
    """A table's heading, column headings and columns."""
    pen.text(row, LABEL, draft.text(f"{table}_table"), "heading", to=LAST)
    for column, (_, heading) in enumerate(_headings(draft, table), LABEL):
        pen.fit(row + 1, column, heading, "column_number")
    column = LABEL
    for field in fields(TABLES[table]):
        name = f"{table}_{field.name}"
        if field.name == "layings":
            column = _layings(pen, row + 1, column, cells[name], draft)
            continue
        number = column > LABEL + 1 and TABLES[table].__annotations__[field.name] is not str
        pen.text(row + 1, column, draft.label(field.name), "column_number" if number else "column")
        _column(pen, draft, name, row + 2, column, cells[name], "fact_number" if number else "fact_wrapped")
        column += 1
    if table == "kinds":
        pen.anchor("kinds_heading", row + 1, LABEL)
    return row + 2 + max(1, len(getattr(draft.issue.rates, table)))


def _column(pen, draft, name: str, row: int, column: int, values: list, style: str) -> None:
    pen.column(name, row, column, values, style, _money_kind(draft, name, values))
    for offset, value in enumerate(values):
        pen.fit(row + offset, column, value if isinstance(value, str) else "", style)


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
        pen.text(row + offset, LABEL, draft.label(name), "field", to=VALUE - 1)
        pen.owner(name, row + offset, VALUE, draft.word_cells[name])
        pen.fit(row + offset, VALUE, "", "fact")
    return row + len(WORDS) + 1
