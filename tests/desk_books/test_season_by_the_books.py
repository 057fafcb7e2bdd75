"""A season played by the books alone, decisions typed by a program that is not ours, beside an account kept by hand."""

from datetime import date, timedelta
from decimal import Decimal as D
from random import Random

import openpyxl
import pytest
from owner import TODAY, answer, decide, new_desk, quotes_sheet, run, type_requests

from quotebook.bookings.archive import open_ledger
from quotebook.books.takings import billed, paid
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
        waiver = rows[-1]["Damage waiver"] == "yes"
        account[f"Q{place + 1:04}"] = {"state": "issued", "paid": D(0), "kind": kind, "day": day, "waiver": waiver}
    type_requests(desk, *rows)
    run(desk)
    for number, entry in account.items():
        entry["total"] = entry["agreed"] = total_in(desk, number)
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
    """A month later: the first is delivered, counted back and billed, the second is cancelled, the rest is paid.

    Of the first a panel is lost and two are damaged, and its bill is paid on the next day.
    """
    booked = [number for number, entry in account.items() if entry["state"] == "agreed"]
    first, second, *others = booked
    later = account[first]["day"] + timedelta(2)
    decide(desk, **{first: {"Decision": "delivered"}, second: {"Decision": "cancel"}})
    account[second]["state"] = "cancelled"
    run(desk, later)
    kind = account[first]["kind"]
    decide(desk, **{first: {"Decision": "counted back", "Lost": f"{kind}: 1", "Damaged": f"{kind}: 2"}})
    account[first]["state"] = "counted back"
    run(desk, later)
    decisions = {first: {"Decision": "bill"}}
    for number in others:
        rest = account[number]["total"] - account[number]["paid"]
        decisions[number] = {"Paid": float(rest), "Paid on": later, "Paid for": "balance"}
        account[number]["paid"] += rest
    decide(desk, **decisions)
    run(desk, later)
    account[first]["total"] += replaced(desk, kind, 1 if account[first]["waiver"] else 3)
    must_agree(desk, account)
    must_be_billed(desk, account, first)
    rest = account[first]["total"] - account[first]["paid"]
    decide(desk, **{first: {"Paid": float(rest), "Paid on": later + timedelta(1)}})
    account[first]["paid"] += rest
    run(desk, later + timedelta(1))


def replaced(desk, kind, count) -> D:
    """What so many lost panels cost a client, who is not taxed on them: the card's waiver covers damage, not loss."""
    book = openpyxl.load_workbook(desk.rate_card_path, data_only=True)
    places = {name: place.attr_text.replace("$", "") for name, place in book.defined_names.items()}
    sheet = book["Panels"]
    column, prices = (sheet[places[f"kinds_{name}"].split("!")[1]].column for name in ("panel", "replacement_price"))
    price = next(row[prices - 1].value for row in sheet.iter_rows() if row[column - 1].value == kind)
    return count * D(str(price))


def must_be_billed(desk, account, number):
    """The bill's own file, the bookkeeper's list and what was billed by month say the same, to the cent."""
    entry = account[number]
    book = openpyxl.load_workbook(desk.folder / "bills" / "B0001.xlsx", data_only=True)
    shown = {}
    for name in ("total", "paid", "due"):
        sheet, cell = book.defined_names[name].attr_text.replace("$", "").split("!")
        shown[name] = round(D(str(book[sheet.strip("'")][cell].value)), 2)
    assert shown == {"total": entry["total"], "paid": entry["paid"], "due": entry["total"] - entry["paid"]}
    ledger = open_ledger(desk)
    [bill] = ledger.bills()
    assert (bill.quote_number, D(bill.total) / 100) == (number, entry["total"])
    year = date(2027, 1, 1), date(2027, 12, 31)
    assert D(billed(ledger, *year).total) / 100 == entry["total"]
    assert D(paid(ledger, *year).total) / 100 == sum(each["paid"] for each in account.values())


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
            entry["agreed"] for entry in booked.values() if (entry["day"].year, entry["day"].month) == (2027, month)
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
    played(tmp_path, 4, seed=3)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(4))
def test_more_seasons_by_the_books_alone(tmp_path, seed):
    played(tmp_path, 25, seed)
    assert date(2027, 3, 1) == TODAY
