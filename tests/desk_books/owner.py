"""An owner who works in the books alone: types rows and decisions with openpyxl, a program that is not ours."""

from datetime import date
from pathlib import Path

import openpyxl

from quotebook import desk as desks
from quotebook.contract.stamp import unseal
from quotebook.demonstration.demo import retype
from quotebook.desk import Desk
from quotebook.desk_books.catching_up import CaughtUp, catch_up
from quotebook.desk_books.places import desk_book, post_folder, request_book
from quotebook.desk_books.setting_up import set_up

TODAY = date(2027, 3, 1)
WEDDING = {
    "Client": "Avelie Marsh", "Mail": "a@marsh.example", "Event": "Wedding supper", "Date": date(2027, 6, 12),
    "Ground": "grass", "Floor 1": "OAK-44", "Width 1 (ft)": 16, "Length 1 (ft)": 20, "Edging 1": "yes", "Guests": 120,
}  # fmt: skip
HEADINGS = 4
"""The row of the headings of requests."""


def new_desk(folder: Path) -> Desk:
    desk = desks.init(folder)
    set_up(desk)
    return desk


def headings(sheet, row: int) -> dict:
    return {cell.value: cell.column for cell in sheet[row] if cell.value is not None}


def type_requests(desk: Desk, *rows: dict, first: int = HEADINGS + 1) -> None:
    """Type rows into the request book, from a row on; None empties a cell."""
    book = openpyxl.load_workbook(request_book(desk))
    sheet = book["Requests"]
    columns = headings(sheet, HEADINGS)
    for number, row in enumerate(rows, first):
        for heading, value in row.items():
            sheet.cell(number, columns[heading]).value = value
    book.save(request_book(desk))


def told(desk: Desk) -> list[tuple]:
    """The number and the sentence beside each row of the request book that asks for something."""
    sheet = openpyxl.load_workbook(request_book(desk))["Requests"]
    columns = headings(sheet, HEADINGS)
    rows = sheet.iter_rows(min_row=HEADINGS + 1, values_only=True)
    return [
        (row[columns["Quote"] - 1], row[columns["What became of it"] - 1]) for row in rows if row[columns["Client"] - 1]
    ]


def answer(desk: Desk, number: str, typed: dict, name: str = "", revision: int = 1) -> Path:
    """What a client sends back, dropped into the post folder."""
    texts = desk.issued_stamp(number, revision)
    target = post_folder(desk) / (name or f"{number} answered.xlsx")
    return retype(desk.issued_path(number, revision), target, unseal(texts, desk.key()), typed)


QUOTES_HEAD = 5


def quotes_sheet(book):
    sheet = book["Quotes"]
    columns = headings(sheet, QUOTES_HEAD)
    rows = {sheet.cell(row, columns["Quote"]).value: row for row in range(QUOTES_HEAD + 1, sheet.max_row + 1)}
    return sheet, columns, rows


def decide(desk: Desk, **by_quote: dict) -> None:
    """Type into the tinted cells of the desk book: for each quote what goes under which heading."""
    book = openpyxl.load_workbook(desk_book(desk))
    sheet, columns, rows = quotes_sheet(book)
    for number, entries in by_quote.items():
        for heading, value in entries.items():
            sheet.cell(rows[number], columns[heading]).value = value
    book.save(desk_book(desk))


def shown(desk: Desk, number: str) -> dict:
    """A quote's row in the desk book, by heading."""
    sheet, columns, rows = quotes_sheet(openpyxl.load_workbook(desk_book(desk)))
    return {heading: sheet.cell(rows[number], column).value for heading, column in columns.items()}


def tasks(desk: Desk) -> list[tuple]:
    """What the sheet Today says: what waits, and of which quote."""
    sheet = openpyxl.load_workbook(desk_book(desk))["Today"]
    rows = sheet.iter_rows(min_row=5, min_col=2, values_only=True)
    return [(row[0], row[2]) for row in rows if row[2]]


def run(desk: Desk, today: date = TODAY, dry_run: bool = False) -> CaughtUp:
    return catch_up(desk, today, dry_run)


def files_of(desk: Desk) -> dict[str, bytes]:
    """Every file of a desk with its bytes."""
    return {
        str(path.relative_to(desk.folder)): path.read_bytes()
        for path in sorted(desk.folder.rglob("*"))
        if path.is_file()
    }
