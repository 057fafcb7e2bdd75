"""The first sheet of the rate card: how an owner makes it his own."""

from quotebook.rate_card.layout import SHEETS
from quotebook.rate_card.styles import height, write_title

START_WIDTHS = (4, 27, 80)

STEPS = (
    ("This is your rate card.",
     "Every price, load and time in your quotes comes from it. Nothing else needs setting up."),
    ("An invented firm fills it.",
     "Go through the sheets in the order below and put your own figures in place of the ones you find."),
    ("Change the tinted cells only.",
     "Choose one, and a note says what it means. The unit stands beside it, or at the head of its column."),
    ("Fill every cell of a row.",
     "Only cells whose note says so may stay empty. Rows left wholly empty do not count."),
    ("Save it, and ask for a quote.",
     "The card is read afresh each time. Where it cannot be used, you are told each such cell, and what is allowed."),
)  # fmt: skip

COLOURS = (
    ("text", "Tinted", "Yours to fill in. All other cells are labels, units and notes."),
    ("needed", "Red", "Still empty, and must be filled."),
)

HINTS = (
    "Rows may be added, sorted and moved, columns moved, sheets renamed. Keep headings, and all of Firm and Delivery.",
    "A formula may stand where a figure goes: its result counts, to six decimals at most, once the file is saved.",
    "Enter percentages as 8% or 0.08, and dates as your spreadsheet program takes them.",
    "Person-minutes are minutes of work for one person: two people do ten person-minutes in five.",
    "Prices paid, what you own and whatever else is marked private never enter a client's quote.",
    "Keep this card in its folder beside the other files there, and keep a copy of the whole folder.",
)


def write_start(sheet, look: dict) -> None:
    write_title(sheet, look, "Start here", "How to make this rate card your own.")
    for column, width in enumerate(START_WIDTHS, 1):
        sheet.set_column(column, column, width)
    for step, (what, more) in enumerate(STEPS, 1):
        _start_line(sheet, look, step + 2, more, step)
        sheet.write(step + 2, 2, what, look["strong"])
    first = _start_section(sheet, look, len(STEPS) + 4, "The sheets")
    for row, layout in enumerate(SHEETS, first):
        _start_line(sheet, look, row, layout.purpose)
        sheet.write_url(row, 2, f"internal:'{layout.title}'!B1", look["link"], layout.title)
    first = _start_section(sheet, look, first + len(SHEETS) + 1, "What the colours say")
    for row, (style, what, more) in enumerate(COLOURS, first):
        _start_line(sheet, look, row, more)
        sheet.write(row, 2, what, look[style])
    first = _start_section(sheet, look, first + len(COLOURS) + 1, "Good to know")
    for row, hint in enumerate(HINTS, first):
        sheet.set_row(row, height(hint, sum(START_WIDTHS[1:])))
        sheet.merge_range(row, 2, row, 3, hint, look["wrapped"])


def _start_line(sheet, look: dict, row: int, text: str, step: int | None = None) -> None:
    sheet.set_row(row, height(text, START_WIDTHS[2]) + (5 if step else 0))
    sheet.write(row, 1, step, look["step"])
    sheet.write(row, 3, text, look["wrapped"])


def _start_section(sheet, look: dict, row: int, heading: str) -> int:
    """The row below a heading."""
    sheet.set_row(row, 32)
    for column in (1, 2, 3):
        sheet.write(row, column, heading if column == 1 else None, look["section"])
    return row + 1
