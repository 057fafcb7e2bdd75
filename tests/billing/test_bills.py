"""Bills and credit notes by the commands: what they charge, their numbers, and that none is ever changed."""

import json
from datetime import date, timedelta
from decimal import Decimal as D

import openpyxl
import pytest
from click.testing import CliRunner

from quotebook.bookings.archive import open_ledger
from quotebook.cli import main
from quotebook.desk import init
from quotebook.ledger import recording

FLOOR = "OAK-44:16x20:edging"


def run(*arguments, status=0):
    result = CliRunner().invoke(main, [str(argument) for argument in arguments])
    assert result.exit_code == status, result.output
    return result.output


def listed(number="Q0001"):
    result = CliRunner().invoke(main, ["quotes", "--json"])
    return next(each for each in json.loads(result.stdout)["quotes"] if each["quote_number"] == number)


def issue_and_agree(*more, day="2027-06-12", client="Avelie Marsh"):
    ask = ["--client", client, "--date", day, "--surface", "grass", "--miles", 20, "--floor", FLOOR, *more]
    number = run("issue", *ask).split()[0]
    run("agree", number, "--said-yes", "by phone")
    return number


@pytest.fixture
def desk(tmp_path, monkeypatch):
    """A new desk as the current folder."""
    made = init(tmp_path / "desk")
    monkeypatch.chdir(made.folder)
    monkeypatch.delenv("QUOTEBOOK_LEDGER", raising=False)
    return made


def figures(desk, number):
    """The named figures of a bill as its file has them."""
    book = openpyxl.load_workbook(desk.folder / "bills" / f"{number}.xlsx", data_only=True)
    cells = {name: next(iter(book.defined_names[name].destinations)) for name in book.defined_names}
    return {name: book[sheet][cell.replace("$", "")].value for name, (sheet, cell) in cells.items()}


def test_a_bill_without_changes_comes_to_what_was_agreed(desk):
    issue_and_agree("--discount", 5)
    total = listed()["total"]
    run("pay", "Q0001", "100")
    said = run("bill", "Q0001")
    due = D(total) - 100
    assert said.splitlines()[0] == f"B0001 for Q0001: {D(total):,} USD: bills/B0001.xlsx"
    by = date.today() + timedelta(14)
    assert f"due by {by:%B} {by.day}, {by.year}: {due:,} USD" in said
    assert D(str(figures(desk, "B0001")["due"])) == due
    assert listed()["due"] == [{"for": "bill", "amount": str(due), "by": str(date.today() + timedelta(14))}]


def test_losses_are_charged_less_what_the_waiver_covers(desk):
    """Two panels of 288 damaged: covered whole by the waiver. One lost and two corners of 11: not covered."""
    for waiver, charged in (("--waiver", 288 + 22), ("--no-waiver", 3 * 288 + 22)):
        number = issue_and_agree(waiver)
        total = D(listed(number)["total"])
        run("deliver", number, "--sure")
        run("count-back", number, "--sure", "--damaged", "OAK-44:2", "--lost", "OAK-44:1", "--lost", "corners/OAK-44:2")
        run("bill", number)
        assert D(listed(number)["total"]) - total == charged


def test_what_was_agreed_on_the_day_is_taxed_as_it_is_said(desk):
    """7.25 % is charged on goods and not on labour: 67.20 and -20 x 1.0725."""
    issue_and_agree()
    total = D(listed()["total"])
    run("bill", "Q0001", "--add", "An hour more: of waiting:67.20", "--add", "Late start:-20:goods")
    assert D(listed()["total"]) - total == D("67.20") - D("21.45")


def test_bills_are_numbered_without_gaps_and_never_changed(desk):
    for client in ("One", "Other"):
        issue_and_agree(client=client, day="2027-06-12" if client == "One" else "2027-07-10")
    run("bill", "Q0001")
    kept = (desk.folder / "bills" / "B0001.xlsx").read_bytes()
    assert "was billed as B0001" in run("bill", "Q0001", status=2)
    assert "has no bill that stands" in run("bill", "Q0002", "--credit", status=2)
    assert "B0002 for Q0002" in run("bill", "Q0002")
    said = run("bill", "Q0001", "--credit", "--because", "one panel was found")
    assert said.startswith("B0003 for Q0001: -")
    assert "B0004 for Q0001" in run("bill", "Q0001")
    assert (desk.folder / "bills" / "B0001.xlsx").read_bytes() == kept
    assert [bill.bill_number for bill in open_ledger(desk).bills()] == ["B0001", "B0002", "B0003", "B0004"]
    totals = {bill.bill_number: bill.total for bill in open_ledger(desk).bills()}
    assert totals["B0003"] == -totals["B0001"]


def test_what_is_kept_of_a_deposit_is_billed_and_the_rest_goes_back(desk):
    """Half is kept by the shipped card, five days before the event."""
    issue_and_agree(day=str(date.today() + timedelta(5)))
    run("pay", "Q0001", listed()["deposit"])
    assert "To be given back" in run("cancel", "Q0001")
    back = listed()["to_give_back"]
    said = run("bill", "Q0001")
    assert f"give {back} USD back" in said and listed()["to_give_back"] == back
    run("pay", "Q0001", back, "--back")
    assert listed()["to_give_back"] == "0.00" and listed()["due"] == []


def test_nothing_is_billed_of_a_quote_that_nobody_agreed(desk):
    run("issue", "--date", "2027-06-12", "--surface", "grass", "--floor", FLOOR)
    assert "there is nothing to bill" in run("bill", "Q0001", status=2)
    assert not (desk.folder / "bills").exists()


def test_a_bill_is_in_the_language_of_its_quote(desk):
    """Its words, the month's name in its days, and the credit note that takes it back."""
    issue_and_agree("--language", "es")
    run("pay", "Q0001", "100", "--on", "2026-03-09")
    run("bill", "Q0001")
    run("bill", "Q0001", "--credit")
    bill, note = (openpyxl.load_workbook(desk.folder / "bills" / f"{number}.xlsx") for number in ("B0001", "B0002"))
    said = [cell.value for row in bill["Factura"].iter_rows() for cell in row if isinstance(cell.value, str)]
    assert "Pagado el 9 de marzo de 2026, anticipo" in said
    assert any("12 de junio de 2027" in text for text in said)
    days = {cell.number_format for row in bill["Factura"].iter_rows() for cell in row if getattr(cell, "is_date", 0)}
    assert days and all("mmmm" in shown and "$-C0A" in shown for shown in days)
    said = [str(cell.value) for sheet in note for row in sheet.iter_rows() for cell in row]
    assert any("B0001" in text and " de 20" in text for text in said)


def refused_for_its_bill(*arguments):
    said = run(*arguments, status=2)
    assert "found bill B0001, which rests on what would change" in " ".join(said.split())
    assert "quotebook bill Q0001 --credit" in said


def test_nothing_that_a_bill_rests_on_is_taken_back_or_counted_anew(desk):
    """Once it is taken back, everything can be corrected. What it does not rest on can be at any time."""
    issue_and_agree()
    run("deliver", "Q0001", "--sure")
    run("count-back", "Q0001", "--sure", "--lost", "OAK-44:1")
    run("pay", "Q0001", "100")
    run("bill", "Q0001")
    run("undo", "Q0001", "--because", "it was the other account")
    refused_for_its_bill("undo", "Q0001", "--because", "not yet back")
    refused_for_its_bill("count-back", "Q0001", "--sure")
    run("count-back", "Q0001", "--sure", "--lost", "OAK-44:1")
    run("bill", "Q0001", "--credit")
    run("count-back", "Q0001", "--sure")
    run("bill", "Q0001")


def test_what_is_billed_is_not_cancelled_or_agreed_otherwise(desk):
    issue_and_agree()
    run("reissue", "Q0001")
    run("bill", "Q0001")
    refused_for_its_bill("cancel", "Q0001")
    refused_for_its_bill("agree", "issued/Q0001-r2.xlsx", "--said-yes", "by phone")
    refused_for_its_bill("undo", "Q0001", "--because", "another client")
    run("deliver", "Q0001", "--sure")
    run("count-back", "Q0001", "--sure", "--lost", "OAK-44:1")
    assert listed()["state"] == "counted back"


def test_a_cancellation_that_was_billed_stands(desk):
    issue_and_agree(day=str(date.today() + timedelta(5)))
    run("pay", "Q0001", listed()["deposit"])
    run("cancel", "Q0001")
    run("bill", "Q0001")
    refused_for_its_bill("undo", "Q0001", "--because", "the client is back")
    run("bill", "Q0001", "--credit")
    run("undo", "Q0001", "--because", "the client is back")
    assert listed()["state"] == "agreed"


def test_a_history_in_which_nobody_asked_for_the_bill_is_told_as_before(desk):
    """An earlier version took the agreement back, and left the bill."""
    issue_and_agree()
    run("bill", "Q0001")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(recording, "must_leave_bill", lambda *life: None)
        run("undo", "Q0001", "--because", "another client")
    (desk.folder / "ledger.sqlite").unlink()
    run("rebuild")
    assert (listed()["state"], listed()["due"][0]["for"]) == ("returned", "bill")


def test_no_bill_comes_to_less_than_nothing(desk):
    issue_and_agree()
    total = D(listed()["total"])
    refused = " ".join(run("bill", "Q0001", "--add", f"Rebate:-{total + 1}", status=2).split())
    assert "found a bill of -1.00 USD; allowed: 0 or more" in refused and "--credit" in refused
    assert not open_ledger(desk).bills()
    run("bill", "Q0001", "--add", f"Rebate:-{total}")
