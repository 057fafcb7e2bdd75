"""A season played by the books alone, decisions typed by a program that is not ours, beside an account kept by hand."""

from datetime import date, timedelta
from decimal import Decimal as D
from random import Random

import openpyxl
import pytest
from owner import TODAY, answer, decide, new_desk, quotes_sheet, run, type_requests

from quotebook.bookings.archive import open_ledger
from quotebook.desk_books.places import desk_book

KINDS = (("OAK-34", "paving", 12), ("MAPLE-33", "hard indoors", 9), ("OAK-44", "grass", 12))


def total_in(desk, number) -> D:
    """The total that the client's workbook shows, in cents, read by openpyxl from the file itself."""
    book = openpyxl.load_workbook(desk.issued_path(number, 1), data_only=True)
    sheet, cell = book.defined_names["total"].attr_text.replace("$", "").split("!")
    return round(D(str(book[sheet.strip("'")][cell].value)), 2)


def play(desk, quotes: int, seed: int):
    """Play it; returns the account: by quote the total, the state, what was paid, the kind and the day of the event."""
    chance, account = Random(seed), {}
    rows = []
    for place in range(quotes):
        kind, ground, side = chance.choice(KINDS)
        day = TODAY + timedelta(14 + 11 * place)
        rows.append({
            "Client": f"Client {place}", "Event": "Dance", "Date": day, "Ground": ground, "Floor 1": kind,
            "Width 1 (ft)": side, "Length 1 (ft)": side, "Guests": 40, "Distance (miles)": chance.randrange(3, 40),
            "Damage waiver": chance.choice(("yes", "no")),
        })  # fmt: skip
        account[f"Q{place + 1:04}"] = {"state": "issued", "paid": D(0), "kind": kind, "day": day}
    type_requests(desk, *rows)
    run(desk)
    for number, entry in account.items():
        entry["total"] = total_in(desk, number)
        if chance.random() < 0.8:
            answer(desk, number, {"accepted": "yes"})
            entry["state"] = "returned"
    run(desk)
    decisions = {}
    for number, entry in account.items():
        if entry["state"] == "returned":
            part = (entry["total"] * D(chance.randrange(10, 100)) / 100).quantize(D("0.01"))
            decisions[number] = {"Decision": "agree", "Paid": float(part), "Paid on": TODAY}
            entry |= {"state": "agreed", "paid": part}
        else:
            decisions[number] = {"Decision": "decline", "Because": "too dear"}
            entry["state"] = "declined"
    decide(desk, **decisions)
    run(desk)
    return account


def finish(desk, account):
    """A month later: the first is delivered, counted back and billed, the second is cancelled, the rest is paid."""
    booked = [number for number, entry in account.items() if entry["state"] == "agreed"]
    first, second, *others = booked
    later = account[first]["day"] + timedelta(2)
    decide(desk, **{first: {"Decision": "delivered"}, second: {"Decision": "cancel"}})
    account[second]["state"] = "cancelled"
    run(desk, later)
    decide(desk, **{first: {"Decision": "counted back"}})
    account[first]["state"] = "counted back"
    run(desk, later)
    decisions = {first: {"Decision": "bill"}}
    for number in others:
        rest = account[number]["total"] - account[number]["paid"]
        decisions[number] = {"Paid": float(rest), "Paid on": later, "Paid for": "balance"}
        account[number]["paid"] += rest
    decide(desk, **decisions)
    run(desk, later)


def must_agree(desk, account):
    """Every figure of the desk book that is money, to the cent, against the account."""
    book = openpyxl.load_workbook(desk_book(desk), data_only=True)
    sheet, columns, rows = quotes_sheet(book)
    booked = {number: entry for number, entry in account.items() if entry["state"] in ("agreed", "counted back")}

    def cents(value):
        return round(D(str(value or 0)), 2)

    for number, entry in account.items():
        shown = {heading: sheet.cell(rows[number], column).value for heading, column in columns.items()}
        assert (shown["State"], cents(shown["Total"]), cents(shown["Paid so far"])) == (
            entry["state"], entry["total"], entry["paid"],
        ), number  # fmt: skip
        due = entry["total"] - entry["paid"] if number in booked else D(0)
        assert cents(shown["Still due"]) == due
    assert cents(sheet.cell(4, columns["Total"]).value) == sum(entry["total"] for entry in account.values())
    money = book["Money"]
    last = next(row for row in range(5, money.max_row + 1) if money.cell(row, 2).value == "All")
    assert cents(money.cell(last, 5).value) == sum(entry["paid"] for entry in account.values())
    assert cents(money.cell(last, 3).value) == sum(entry["total"] - entry["paid"] for entry in booked.values())
    season = book["Season"]
    heads = {cell.value: cell.column for cell in season[4] if cell.value}
    for month in range(1, 13):
        expected = sum(
            entry["total"] for entry in booked.values() if (entry["day"].year, entry["day"].month) == (2027, month)
        )
        assert cents(season.cell(4 + month, heads["Total"]).value) == expected, month


def played(folder, quotes, seed):
    desk = new_desk(folder / "desk")
    account = play(desk, quotes, seed)
    must_agree(desk, account)
    finish(desk, account)
    must_agree(desk, account)
    held = {quote.quote_number: quote.state for quote in open_ledger(desk).listed()}
    assert held == {number: entry["state"] for number, entry in account.items()}


def test_a_season_by_the_books_alone(tmp_path):
    played(tmp_path, 6, seed=3)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(4))
def test_more_seasons_by_the_books_alone(tmp_path, seed):
    played(tmp_path, 25, seed)
    assert date(2027, 3, 1) == TODAY
