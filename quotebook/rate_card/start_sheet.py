"""The first sheet of the rate card: how an owner makes the card their own."""

from xlsxwriter.worksheet import Worksheet

from quotebook.rate_card.layout import SHEETS
from quotebook.rate_card.styles import Formats, text_height, write_title

START_WIDTHS = (4, 27, 80)

STEPS = (
    ("This is your rate card.",
     "Every price, load and time in your quotes comes from it. Nothing else needs setting up."),
    ("It starts with an invented firm.",
     "Go through the sheets in the order below and replace its figures with your own."),
    ("Change the tinted cells only.",
     "Choose one, and a note says what it means. Its unit is beside it, or at the head of its column."),
    ("Fill every cell of a row.",
     "Only cells whose note says so may stay empty. Rows left wholly empty do not count."),
    ("Save it, and ask for a quote.",
     "The card is read each time. You are told about every cell that cannot be used, and what is allowed in it."),
)  # fmt: skip

COLOURS = (
    ("text", "Tinted", "Yours to fill in. All other cells are labels, units and notes."),
    ("needed", "Red", "Still empty, and must be filled."),
)

HINTS = (
    "Rows may be added, sorted and moved, columns moved, sheets renamed. Keep headings, and all of Firm and Delivery.",
    "Do not sort Firm and Delivery: each of their cells belongs to its label.",
    "An entry may be a formula: its result is used, to at most six decimal places, once the file is saved.",
    "Enter percentages as 8% or 0.08, and dates as your spreadsheet program expects them.",
    "Person-minutes are minutes of work for one person: two people do ten person-minutes in five.",
    "Prices paid, what you own and whatever else is marked private never enter a client's quote.",
    "Keep this card in its folder with the other files there, and keep a copy of the whole folder.",
)


def write_start(sheet: Worksheet, formats: Formats) -> None:
    """Writes the whole sheet: the steps, links to the other sheets, the colours, and hints."""
    write_title(sheet, formats, "Start here", "How to make this rate card your own.")
    for column, width in enumerate(START_WIDTHS, 1):
        sheet.set_column(column, column, width)
    for step, (what, more) in enumerate(STEPS, 1):
        _start_line(sheet, formats, step + 2, more, step)
        sheet.write(step + 2, 2, what, formats["strong"])
    first = _start_section(sheet, formats, len(STEPS) + 4, "The sheets")
    for row, layout in enumerate(SHEETS, first):
        _start_line(sheet, formats, row, layout.purpose)
        sheet.write_url(row, 2, f"internal:'{layout.title}'!B1", formats["link"], layout.title)
    first = _start_section(sheet, formats, first + len(SHEETS) + 1, "What the colours say")
    for row, (style, what, more) in enumerate(COLOURS, first):
        _start_line(sheet, formats, row, more)
        sheet.write(row, 2, what, formats[style])
    first = _start_section(sheet, formats, first + len(COLOURS) + 1, "Good to know")
    for row, hint in enumerate(HINTS, first):
        sheet.set_row(row, text_height(hint, sum(START_WIDTHS[1:])))
        sheet.merge_range(row, 2, row, 3, hint, formats["wrapped"])


def _start_line(sheet: Worksheet, formats: Formats, row: int, text: str, step: int | None = None) -> None:
    """Writes a row's text, and its number if it is a step."""
    sheet.set_row(row, text_height(text, START_WIDTHS[2]) + (5 if step else 0))
    sheet.write(row, 1, step, formats["step"])
    sheet.write(row, 3, text, formats["wrapped"])


def _start_section(sheet: Worksheet, formats: Formats, row: int, heading: str) -> int:
    """Writes a heading and returns the row below it."""
    sheet.set_row(row, 32)
    for column in (1, 2, 3):
        sheet.write(row, column, heading if column == 1 else None, formats["section"])
    return row + 1
