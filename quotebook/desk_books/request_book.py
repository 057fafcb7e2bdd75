"""Writes the request book: a sheet with a row for each request, and a sheet of the words to choose from.

The headings are in the language of the card, everything else in English, as all of the owner's books. Choices are a
help while typing: whatever is typed is checked when the row is read.
"""

from collections.abc import Mapping, Sequence
from typing import BinaryIO

from xlsxwriter.utility import xl_range_abs

from quotebook.contract.words import LANGUAGES, words_in
from quotebook.drawing.owner_workbook import OwnerWorkbook
from quotebook.engine.model import RateCard
from quotebook.quoting.request_headings import IF_CHANGED, OURS, headings_in, unit_in_brackets

SHEET, CHOICES = "Requests", "Choices"

FLOORS_SHOWN = 3
"""The book has columns for so many floors; up to six are read."""
ROWS = 500
"""So many rows have their choices; rows below them are read too."""
HEAD = 3
"""The row of the headings, counted from 0."""

NEW, REISSUE, SURE = ANSWERS = ("new", "reissue", "sure")
"""What an owner may answer: about a row that was changed after it became a quote, and about one that is doubtful."""

WIDTHS = {
    "quote_number": 9, "told": 34, "if_changed": 10, "client": 22, "email": 24, "phone": 14, "language": 9,
    "event": 22, "event_date": 12, "venue": 24, "surface": 15, "tax_exempt": 20, "discount": 9,
}  # fmt: skip
USUAL_WIDTH, FLOOR_WIDTH = 9, 14

HINT = (
    "One row a request. The tinted cells are yours; quotebook fills in the first two when you catch up. A floor of "
    "several kinds that lock together is written OAK-44+OAK-42; floors of which the client picks one, A=OAK-44 and "
    "B=WHITE-23. Columns of your own are let be."
)


def write_request_book(file: BinaryIO, card: RateCard, clients: Sequence[str] = ()) -> None:
    """Write an empty request book with the card's own kinds of panel, and the clients known already, to choose from."""
    book = OwnerWorkbook(file, card.firm, 0, "Requests")
    book.styles.number_formats |= {"time": "hh:mm", "percent": "0.##%", "text": "@"}
    headings = headings_in(card.firm.language)
    columns = shown_columns()
    pen = book.sheet(SHEET, "Requests", HINT, tuple(_width(name) for name in columns))
    choices = choices_for(card, clients)
    ranges = _write_choices(book, choices)
    last = HEAD + ROWS
    for column, name in enumerate(columns, 1):
        text = headings[name] + unit_in_brackets(name, card.firm.language, card.firm.length_unit)
        pen.text(HEAD, column, text, "column")
        style = book.styles.format("quiet_wrapped" if name in OURS else "entry_wrapped", _kind(name))
        pen.sheet.set_column(column, column, _width(name), style)  # no blank cells: they would be read one by one
        for row in range(1 if column == 1 else 0, HEAD):
            pen.sheet.write_blank(row, column, None, book.styles.format("plain"))
        if name in ranges or _stem(name) in ranges:
            pen.sheet.data_validation(HEAD + 1, column, last, column, ranges.get(name) or ranges[_stem(name)])
    pen.text(0, 1, "Requests", "page_title")
    pen.text(1, 1, HINT, "quiet")
    pen.sheet.set_row(HEAD, 27)
    pen.sheet.freeze_panes(HEAD + 1, columns.index("client") + 2)
    pen.sheet.autofilter(HEAD, 1, last, len(columns))
    book.page(pen, pages_tall=0, repeat_row=HEAD)
    pen.sheet.print_area(0, 0, HEAD + 40, len(columns))
    book.close()


def shown_columns() -> tuple[str, ...]:
    """The columns of the book by their names, from left to right."""
    floors = (
        f"{name}_{floor}"
        for floor in range(1, FLOORS_SHOWN + 1)
        for name in ("floor", "width", "length", "edging_wanted")
    )
    return (
        *OURS, IF_CHANGED, "client", "email", "phone", "event", "event_date", "days", "venue", "surface", *floors,
        "guests", "miles", "flights", "event_start", "access_from", "access_until", "after_hours", "waiver_taken",
        "raised", "room_width", "room_length", "discount", "tax_exempt", "language",
    )  # fmt: skip


def choices_for(card: RateCard, clients: Sequence[str]) -> dict[str, Sequence[str]]:
    """The words to choose from, by the column that they are for."""
    words = words_in(card.firm.language)["words"]
    return {
        "floor": [kind.panel for kind in card.rates.kinds],
        "surface": words["surfaces"],
        "yes_no": (words["yes"], words["no"]),
        "language": LANGUAGES,
        "if_changed": ANSWERS,
        "client": clients,
    }


ROOM = {"floor": 40, "client": 1000}
"""How many more rows the choices have room for, where their number grows."""


def _write_choices(book: OwnerWorkbook, choices: Mapping[str, Sequence[str]]) -> dict[str, dict[str, object]]:
    """Write the sheet of choices; returns the data validation of each column that chooses from them."""
    pen = book.sheet(CHOICES, "Choices", "What the cells of the requests offer. quotebook keeps this sheet.", (24,) * 6)
    validations: dict[str, dict[str, object]] = {}
    for column, (name, words) in enumerate(choices.items(), 1):
        pen.text(HEAD, column, name.replace("_", " "), "column")
        for row, word in enumerate(words, HEAD + 1):
            pen.text(row, column, word, "fact")
        area = xl_range_abs(HEAD + 1, column, HEAD + max(ROOM.get(name, 0), len(words), 1), column)
        validations[name] = {"validate": "list", "source": f"='{CHOICES}'!{area}", "show_error": name not in ROOM}
    yes_no = validations.pop("yes_no")
    return validations | {"after_hours": yes_no, "waiver_taken": yes_no, "raised": yes_no, "edging_wanted": yes_no}


def choice_cells(card: RateCard, clients: Sequence[str]) -> dict[tuple[int, int], str]:
    """What the sheet of choices should hold where their number grows, by row and column from 1."""
    cells = {}
    for column, (name, words) in enumerate(choices_for(card, clients).items(), 2):
        if room := ROOM.get(name):
            for place, word in enumerate([*words, *[""] * room][:room], HEAD + 2):
                cells[place, column] = word
    return cells


def _stem(name: str) -> str:
    """The name of a floor's column without the floor's number."""
    return name.rstrip("0123456789").rstrip("_")


def _width(name: str) -> float:
    return WIDTHS.get(name, FLOOR_WIDTH if _stem(name) == "floor" else USUAL_WIDTH)


def _kind(name: str) -> str:
    """How a column shows what is typed into it; phone numbers and codes stay text."""
    if name == "event_date":
        return "date"
    if name in ("event_start", "access_from", "access_until"):
        return "time"
    return {"discount": "percent", "phone": "text"}.get(name, "")
