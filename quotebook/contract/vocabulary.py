"""The names in a client's workbook: which there are, what each holds, and who may change it.

A name here is a defined name of the workbook and the engine's word for the same thing. Those of a
floor line are written with a `#` for the line's number: `width_#` is `width_1` to `width_6`.
"""

from dataclasses import fields

from quotebook.engine.figures import LINE_FIGURES, QUOTE_FIGURES
from quotebook.engine.model import LINES, DayFactor, PanelKind, Rates, Subfloor


def on_line(name: str, line: int) -> str:
    """A line's name with its number: `width_#` on line 2 is `width_2`."""
    return name.replace("#", str(line))


def on_every_line(*names: str) -> tuple[str, ...]:
    """Some names with the number of each floor line: all of line 1, then all of line 2."""
    return tuple(on_line(name, line) for line in range(1, LINES + 1) for name in names)


def stem_of(name: str) -> str:
    """A line's name without its number: `width_2` is `width`; any other name as it is."""
    stem, _, number = name.rpartition("_")
    return stem if number.isdigit() else name


QUOTE_INPUTS = {
    "client": "text", "event": "text", "event_date": "date", "venue": "text", "days": "whole",
    "surface": "surface", "miles": "number", "flights": "whole", "guests": "whole",
    "after_hours": "yes_no", "waiver_taken": "yes_no", "raised": "yes_no",
    "room_width": "number", "room_length": "number", "picked": "option",
}  # fmt: skip
"""What the client may change for the whole quote, and what each holds."""

LINE_INPUTS = {
    "panel_#": "text", "width_#": "number", "length_#": "number", "edging_wanted_#": "yes_no", "option_#": "option",
}  # fmt: skip
"""What the client may change on a floor line."""

OPTION_INPUTS = ("picked", *on_every_line("option_#"))
"""The inputs that only a quote with options has."""

INPUTS = QUOTE_INPUTS | {
    on_line(name, line): kind for line in range(1, LINES + 1) for name, kind in LINE_INPUTS.items()
}  # fmt: skip
"""Every input of a request, by its defined name."""

REPLIES = {
    "accepted": "yes_no",
    "accepted_by": "text",
    "accepted_on": "date",
    "questions": "text",
    "plan_line": "whole",
}
"""Cells for the client's answer, and the line that the floor plan draws. No price rests on them."""

ACCEPTED = "accepted"
"""The reply that accepts a quote, or does not."""

TABLES = {"kinds": PanelKind, "subfloors": Subfloor, "day_factors": DayFactor}
"""Tables of the rates sheet: field of Rates, and the record of a row.

A column is one range with a name made of both: `kinds_rate` is the hire rate of every kind, top to
bottom. `kinds_layings` is a block, a column for each surface, under the headings `surfaces`.
"""

TABLE_COLUMNS = {table: tuple(f"{table}_{field.name}" for field in fields(record)) for table, record in TABLES.items()}
"""The columns of each table by their names; the first tells the rows apart."""

COLUMNS = frozenset(name for columns in TABLE_COLUMNS.values() for name in columns)
"""The columns of all tables."""

HEADINGS = "surfaces"
"""The one name in the tables that stands for headings, side by side, and not for a column."""

LEAST_ROWS = 2
"""Rows that a table has on the sheet of rates, if need be blank ones."""

SCALAR_RATES = tuple(field.name for field in fields(Rates) if field.name not in TABLES)
"""Single figures of the rates, each in a cell of its own."""

WORDS = ("word_yes", "word_no", "word_direct", "word_over_subfloor", "word_not_here")
"""The words that inputs and tables use, in the workbook's language."""

PAPERS = {
    "quote_number": "text",
    "revision": "whole",
    "issued_on": "date",
    "valid_until": "date",
    "discount_share": "share",
}
"""What the owner set for this quote alone."""

JOINED = ("joined_width_#", "joined_length_#")
"""What the owner set on a floor line, where one floor is laid of several kinds of panel."""

JOINED_AT = ("joined_right_#", "joined_beyond_#")
"""Where the blocks of such a floor lie, which the owner set too. Only a quote that has one holds these."""

OWNER = (*PAPERS, *SCALAR_RATES, *WORDS, *on_every_line(*JOINED, *JOINED_AT))
"""Single cells that are the owner's."""


FIGURES = (*on_every_line(*(f"{name}_#" for name in LINE_FIGURES)), *QUOTE_FIGURES)
"""Every figure that workbook and engine both work out, by its name."""

DUE_DAYS = ("event_day", "deposit_due", "balance_due")
"""Days that a workbook works out; 0 where there is none."""

DATES = frozenset(name for name, kind in (QUOTE_INPUTS | REPLIES | PAPERS).items() if kind == "date") | {*DUE_DAYS}
"""Names whose cells hold the serial number of a day."""
