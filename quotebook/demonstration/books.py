"""Fills the books of an invented desk as its owner would: rows typed, answers dropped into the post, decisions made."""

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from decimal import Decimal

from quotebook.contract.stamp import unseal
from quotebook.demonstration.demo import ledger_in, retype
from quotebook.desk import Desk
from quotebook.desk_books import quotes_sheet
from quotebook.desk_books.catching_up import catch_up
from quotebook.desk_books.filled_cells import fill_cells
from quotebook.desk_books.places import desk_book, post_folder, request_book
from quotebook.desk_books.request_book import HEAD, SHEET, shown_columns
from quotebook.desk_books.setting_up import set_up
from quotebook.spreadsheets.reading import read_workbook

D = Decimal

Typed = Mapping[str, Decimal | str]

REQUESTS: tuple[tuple[int, Mapping[str, str]], ...] = (
    (6, {"client": "Ines Holloway", "email": "ines@holloway.example", "event": "Birthday dance", "surface": "paving",
         "venue": "Yard of the old mill", "floor_1": "OAK-34", "width_1": "12", "length_1": "16", "guests": "90",
         "access_from": "13:00", "event_start": "18:30", "miles": "8", "waiver_taken": "yes"}),
    (9, {"client": "Works Choir", "event": "Summer concert", "surface": "hard indoors", "venue": "Works hall",
         "floor_1": "MAPLE-33", "width_1": "12", "length_1": "12", "guests": "70", "miles": "4", "flights": "1",
         "tax_exempt": "charity, certificate 118"}),
    (24, {"client": "Bram and Odile", "email": "odile@post.example", "event": "Wedding supper", "surface": "grass",
          "venue": "The Dell", "floor_1": "OAK-44+OAK-42", "width_1": "14", "length_1": "20", "guests": "110",
          "miles": "19.5", "discount": "5%"}),
    (24, {"client": "Rivermeet Rowing", "event": "Club ball", "surface": "grass", "venue": "Boathouse meadow",
          "floor_1": "OAK-44", "width_1": "24", "length_1": "28", "guests": "200", "miles": "11", "days": "2"}),
    (40, {"client": "Corn Exchange Trust", "event": "Tea dance", "surface": "hard indoors", "floor_1": "OAK-34:12x12",
          "guests": "60", "miles": "3", "language": "fr"}),
    (52, {"client": "Saltfleet School", "event": "Leavers' dance", "surface": "sand", "floor_1": "OAK-44",
          "width_1": "16", "length_1": "16", "guests": "140", "miles": "6"}),
)  # fmt: skip
"""Rows of the request book, each with the days from now to its event; the last has a ground that there is not."""

ANSWERS: Mapping[int, Typed] = {
    0: {"accepted": "yes", "accepted_by": "Ines Holloway", "questions": "Is there a ramp for a wheelchair?"},
    1: {"accepted": "yes", "accepted_by": "M. Sedge, Works Choir"},
    2: {"guests": D(130), "questions": "Could we pay the deposit in two parts?"},
    3: {"hourly_rate": D(12), "accepted": "yes"},
}
"""What clients send back, by the place of their row."""

DECISIONS: Sequence[Mapping[int, Mapping[str, str]]] = (
    {0: {"decision": "agree"}, 1: {"decision": "agree"}, 4: {"decision": "decline", "because": "too dear"}},
    {0: {"paid": "150", "paid_on": "", "towards": "deposit"}, 3: {"decision": "agree", "notes": "ask who changed it"}},
)
"""What the owner decides on two mornings, by the place of the row; the last cannot be done, and stays."""


def fill_books(desk: Desk, today: date) -> None:
    """Play some days in the middle of a season through the books, and leave something to do."""
    set_up(desk)
    ledger = ledger_in(desk)
    first = _next_number(desk)
    _type_requests(desk, today)
    catch_up(desk, today, ledger=ledger)
    numbers = [f"Q{first + place:04}" for place in range(len(REQUESTS) - 1)]
    for place, typed in ANSWERS.items():
        _answer(desk, numbers[place], typed, f"{REQUESTS[place][1]['client']}.xlsx")
    catch_up(desk, today, ledger=ledger)
    for morning in DECISIONS:
        _decide(desk, {numbers[place]: entries for place, entries in morning.items()}, today)
        catch_up(desk, today, ledger=ledger)
    _answer(desk, numbers[2], {"accepted": "yes", "guests": D(130)}, "second thoughts.xlsx")


def _next_number(desk: Desk) -> int:
    """The number, without its letter, that the next quote gets."""
    return max((int(path.name[2:]) for path in desk.issued.glob(".Q*")), default=0) + 1


def _type_requests(desk: Desk, today: date) -> None:
    columns = {name: column for column, name in enumerate(shown_columns(), 2)}
    cells = {}
    for row, (days, request) in enumerate(REQUESTS, HEAD + 2):
        for name, text in ({**request, "event_date": str(today + timedelta(days))}).items():
            cells[row, columns[name]] = text
    fill_cells(request_book(desk), SHEET, cells)


def _answer(desk: Desk, number: str, typed: Typed, name: str) -> None:
    """Put what a client sends back into the post."""
    content = unseal(desk.issued_stamp(number, 1) or (), desk.key())
    retype(desk.issued_path(number, 1), post_folder(desk) / name, content, typed)


def _decide(desk: Desk, by_quote: Mapping[str, Mapping[str, str]], today: date) -> None:
    """Type decisions into the tinted cells of the desk book; a payment is of today."""
    sheet = next(sheet for sheet in read_workbook(desk_book(desk)).sheets if sheet.name == quotes_sheet.SHEET)
    head = quotes_sheet.HEAD + 1
    columns = {str(cell.value): column for (row, column), cell in sheet.cells.items() if row == head}
    rows = {str(cell.value): row for (row, column), cell in sheet.cells.items() if column == 2}
    cells = {}
    for number, entries in by_quote.items():
        for name, text in entries.items():
            cells[rows[number], columns[quotes_sheet.DECISION_COLUMNS[name]]] = text or str(today)
    fill_cells(desk_book(desk), quotes_sheet.SHEET, cells)
