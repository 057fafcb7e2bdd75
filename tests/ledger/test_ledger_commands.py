"""The commands that record, on SQLite and PostgreSQL: after crashes, changes of the card, and with two desks."""

import json
import re
import subprocess
import sys
from datetime import date
from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner
from ledger_fixtures import address_of, contents

from quotebook.bookings.archive import desk_name, open_ledger
from quotebook.bookings.rebuilding import rebuild
from quotebook.checking.issued import issued_content
from quotebook.cli import main
from quotebook.demonstration import season
from quotebook.demonstration.demo import ledger_in, retype
from quotebook.desk import init
from quotebook.engine.model import Request
from quotebook.errors import Misuse
from quotebook.ledger import Ledger
from quotebook.ledger.database import file_url
from quotebook.quoting.issuing import issue as write
from quotebook.quoting.requests import parse_floor
from quotebook.spreadsheets.reading import read_workbook

OWNED = 60
"""Panels of OAK-44 on the shipped card."""
DAY = "2027-08-07"
ALL_BUT_FOUR = "OAK-44:28x32:bare"
"""7 x 8 panels."""


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.slow)])
def url(request, tmp_path):
    """On a server too what `on_a_server` marks, and with --slow all: what a ledger does there is held by the tests of
    the ledger itself.
    """
    yield from address_of(request.param, tmp_path)


on_a_server = pytest.mark.parametrize("url", ["sqlite", "postgresql"], indirect=True)


@pytest.fixture
def desk(url, tmp_path, monkeypatch):
    """A new desk as the current folder, with its ledger at `url`."""
    made = init(tmp_path / "desk")
    Ledger(url)
    monkeypatch.setenv("QUOTEBOOK_LEDGER", url)
    monkeypatch.chdir(made.folder)
    return made


def run(*arguments, status=0):
    """What a command writes, standard error included."""
    result = CliRunner().invoke(main, [str(argument) for argument in arguments])
    assert result.exit_code == status, result.output
    return result.output


def run_json(*arguments):
    return json.loads(CliRunner().invoke(main, [*map(str, arguments), "--json"]).stdout)


def issue(floor=ALL_BUT_FOUR, day=DAY, **options):
    """Issues a quote by the command; its number."""
    named = [word for name, value in options.items() for word in (f"--{name}", value)]
    return run("issue", "--date", day, "--surface", "grass", "--floor", floor, *named).split()[0]


def answer(desk, number, **typed):
    """The file that comes back from a client who typed these, and says yes."""
    path = desk.issued_path(number, 1)
    content, _ = issued_content(read_workbook(path), desk)
    return retype(path, Path(f"{number}.xlsx"), content, {"accepted": "yes"} | typed)


def listed(number):
    (quote,) = [quote for quote in run_json("quotes")["quotes"] if quote["quote_number"] == number]
    return quote


def free(day=DAY, kind="OAK-44"):
    (row,) = run_json("stock", "--from", day, "--kind", kind)["rows"]
    return row["free"]


def change_card(desk, **entries):
    """Other entries on the rate card, as its owner types them."""
    book = openpyxl.load_workbook(desk.rate_card_path)
    for name, value in entries.items():
        sheet, cell = next(iter(book.defined_names[name].destinations))
        book[sheet][cell.replace("$", "")].value = value
    book.save(desk.rate_card_path)


# The life of a quote


@on_a_server
def test_a_life_is_told_by_the_list_and_the_stock(desk):
    number = issue(client="Avelie Marsh")
    assert listed(number)["state"] == "issued" and free() == OWNED
    back = answer(desk, number, width_1=24)
    run("check", back)
    assert listed(number)["state"] == "returned" and free() == OWNED
    run("agree", back)
    assert listed(number)["state"] == "agreed" and free() == OWNED - 6 * 8
    run("deliver", number, "--sure")
    assert listed(number)["state"] == "delivered"
    run("count-back", number, "--damaged", "OAK-44:1", "--lost", "OAK-44:2", "--sure")
    assert listed(number)["state"] == "counted back"
    assert (free(), free("2027-09-30")) == (OWNED - 6 * 8, OWNED - 3)


def test_the_list_shows_what_was_agreed_not_what_was_issued(desk):
    number = issue()
    issued = listed(number)["total"]
    said = run("agree", answer(desk, number, width_1=24))
    total = re.search(r"is agreed: ([\d,.]+) USD", said)[1].replace(",", "")
    assert total != issued and listed(number)["total"] == total
    run("cancel", number)
    assert listed(number) == listed(number) | {"state": "cancelled", "total": issued}


def test_a_revision_does_not_stand_in_its_own_way(desk):
    """56 of 60 are held by the quote itself: its next revision may have them again."""
    number = issue()
    run("agree", answer(desk, number))
    run("reissue", f"{number}.xlsx")
    run("agree", desk.issued_path(number, 2), "--said-yes", "by telephone")
    assert (listed(number)["revision"], free()) == (2, 4)


@pytest.mark.parametrize(("floor", "short"), [("OAK-44:16x20:bare", "16 panels of OAK-44"), ("OAK-44:8x8:bare", None)])
def test_issue_says_what_is_short_when_and_what_would_do(desk, floor, short):
    """4 panels are left from the eve to the end of turnaround; 20 and 4 are asked for."""
    run("agree", answer(desk, issue()))
    said = run("issue", "--date", DAY, "--surface", "grass", "--floor", floor)
    assert ("Short:" in said) == bool(short)
    if short:
        assert f"Short: {short} from 6 August 2027 to 8 August 2027." in said
        (instead,) = re.findall(r"Alternatives to floor 1: (.+)\.\n", said)
        for would_do in instead.split(", "):
            assert "Short:" not in run("issue", "--date", DAY, "--surface", "grass", "--floor", would_do)


@on_a_server
def test_the_last_panels_go_to_one_of_two_commands(desk):
    numbers = [issue(), issue()]
    command = [sys.executable, "-c", "from quotebook.cli import main; main()", "agree", "--said-yes", "ok"]
    both = [subprocess.Popen([*command, desk.issued_path(number, 1)], stderr=subprocess.PIPE) for number in numbers]
    said = [process.communicate(timeout=60)[1].decode() for process in both]
    assert sorted(process.returncode for process in both) == [0, 2], said
    assert "52 panels of OAK-44 from 6 August 2027 to 8 August 2027" in "".join(said)
    assert free() == 4


# What comes back


def test_a_check_records_each_file_once(desk):
    number = issue()
    back = answer(desk, number, hourly_rate=12)
    for _ in range(2):
        run("check", back, status=1)
    events = open_ledger(desk).history(number)
    assert [(event["event"], event.get("verdict"), event.get("findings")) for event in events] == [
        ("issued", None, None), ("returned", "disputed", 1),
    ]  # fmt: skip


def test_a_check_without_a_ledger_makes_none(desk, monkeypatch):
    back = answer(desk, issue())
    other = desk.folder.parent / "other"
    other.mkdir()
    for path in (desk.rate_card_path, desk.key_path):
        (other / path.name).write_bytes(path.read_bytes())
    (other / "issued").mkdir()
    monkeypatch.delenv("QUOTEBOOK_LEDGER")
    run("check", "--desk", other, back)
    assert sorted(path.name for path in other.iterdir()) == ["issued", "rate_card.xlsx", "signing.key"]


def test_a_check_goes_on_where_nothing_can_be_recorded(desk, monkeypatch):
    back = answer(desk, issue())
    monkeypatch.setenv("QUOTEBOOK_LEDGER", "sqlite:////proc/no/ledger.sqlite")
    said = run("check", back)
    assert "agrees" in said
    assert "were checked, but the verdicts are not in the ledger" in said and "its ledger is missing" in said


# Crashes, and what is lost


def test_a_quote_that_a_crash_left_unrecorded_is_recorded_when_it_comes_back(desk):
    issue()
    card = desk.card()
    request = Request(event_date=date(2027, 8, 14), days=Decimal(1), surface="grass",
                      lines=(parse_floor("OAK-44:16x20:bare", card, "grass"),))  # fmt: skip
    write(desk, card, request, next(desk.numbers()), date.today())
    run("agree", answer(desk, "Q0002"))
    assert listed("Q0002")["state"] == "agreed" and free("2027-08-14") == OWNED - 20


@on_a_server
def test_a_ledger_that_has_gone_is_not_begun_anew(desk, tmp_path, monkeypatch):
    run("agree", answer(desk, issue()))
    before = contents(open_ledger(desk))
    elsewhere = file_url(tmp_path / "gone.sqlite")
    monkeypatch.setenv("QUOTEBOOK_LEDGER", elsewhere)
    for command in (["quotes"], ["stock", "--from", DAY], ["agree", "Q0001.xlsx"]):
        assert "its ledger is missing" in run(*command, status=2)
    assert "but the verdicts are not in the ledger" in run("check", "Q0001.xlsx")
    run("rebuild")
    assert contents(Ledger(elsewhere)) == before and free() == 4


@on_a_server
def test_a_ledger_is_made_again_of_what_the_commands_left(desk, tmp_path):
    """Every command that records, and a card that has changed since."""
    first, second, third, fourth = (issue(f"OAK-44:{8 + 4 * n}x12:bare") for n in range(4))
    run("agree", answer(desk, first, days=2))
    run("deliver", first, "--sure")
    run("count-back", first, "--lost", "OAK-44:1", "--damaged", "carts:1", "--sure")
    run("agree", answer(desk, second))
    run("cancel", second)
    run("check", answer(desk, third, hourly_rate=12), status=1)
    run("reissue", f"{third}.xlsx", "--accept", "rate-changed:hourly_rate")
    run("agree", desk.issued_path(third, 2), "--said-yes", "by telephone")
    run("agree", answer(desk, fourth, delivery=0), "--accept", "formula-replaced:delivery")
    change_card(desk, turnaround_days=5, currency="EUR")
    run("rebuild", "--to", tmp_path / "again?.sqlite")
    assert contents(Ledger(file_url(tmp_path / "again?.sqlite"))) == contents(open_ledger(desk))


def test_a_season_is_made_again_of_what_its_desk_keeps(tmp_path):
    made, lived = season.run(tmp_path, quotes=6)
    assert len(list(lived)) == 6
    again = Ledger(file_url(tmp_path / "again.sqlite"), desk_name(made))
    rebuild(made, again)
    assert contents(again) == contents(ledger_in(made))


@on_a_server
def test_a_backup_is_the_ledger(desk, url, tmp_path):
    run("agree", answer(desk, issue()))
    if url.startswith("sqlite"):
        run("backup", tmp_path / "copy.sqlite")
        assert contents(Ledger(file_url(tmp_path / "copy.sqlite"))) == contents(open_ledger(desk))
    else:
        assert "pg_dump" in run("backup", tmp_path / "copy.sqlite", status=2)


# Several desks


@on_a_server
def test_two_desks_of_one_ledger_use_no_number_twice_and_hold_no_panel_twice(desk):
    other = init(desk.folder.parent / "other")
    other.key_path.write_bytes(desk.key_path.read_bytes())
    first = issue()
    second = run("issue", "--desk", other.folder, "--date", DAY, "--surface", "grass", "--floor", ALL_BUT_FOUR).split()[
        0
    ]
    assert (first, second) == ("Q0001", "Q0002")
    run("agree", "--desk", other.folder, other.issued_path(second, 1), "--said-yes", "by telephone")
    assert "Short: 52 panels of OAK-44" in run("agree", answer(desk, first), status=2)
    run("cancel", second)
    run("agree", f"{first}.xlsx")


@on_a_server
def test_a_number_that_another_desk_took_meanwhile_goes_to_nobody_else(desk, monkeypatch):
    other = init(desk.folder.parent / "other")
    other.key_path.write_bytes(desk.key_path.read_bytes())
    ask = ["--date", DAY, "--surface", "grass", "--floor", "OAK-44:8x8:bare"]
    run("issue", "--desk", other.folder, *ask)
    monkeypatch.setattr(Ledger, "issued", lambda *asked: None)
    assert run("issue", *ask).split()[0] == "Q0002"
    assert not desk.issued_path("Q0001", 1).exists() and desk.issued_path("Q0002", 1).exists()


def write_requests(path, count):
    rows = [f"Client {number},{DAY},1,grass,OAK-44:4x4:bare" for number in range(1, count + 1)]
    path.write_text("\n".join(["client,event_date,days,surface,floor_1", *rows]))


def test_a_list_that_is_stopped_says_what_was_issued_before(desk, monkeypatch):
    """The server goes away at the third of three."""
    write_requests(desk.folder / "three.csv", 3)
    record, calls = Ledger.record, []

    def gone(ledger, event, owned=None):
        calls.append(event)
        if len(calls) == 3:
            raise Misuse("the connection to the ledger was lost")
        return record(ledger, event, owned)

    monkeypatch.setattr(Ledger, "record", gone)
    said = run("issue", "--requests", "three.csv", status=2)
    assert re.findall(r"^Q\d+", said, re.MULTILINE) == ["Q0001", "Q0002"]
    assert "stopped after 2 of 3 requests: Q0001 to Q0002 are issued and recorded." in said
    assert "the connection to the ledger was lost" in said


def test_a_copy_that_is_there_already_is_said_before_anything_is_issued(desk):
    (desk.folder / "out").mkdir()
    for output, floor in (("there.xlsx", "OAK-44:4x4:bare"), ("out/Q0001-r1.xlsx", None)):
        Path(output).write_text("somebody's")
        if floor:
            said = run("issue", "--date", DAY, "--surface", "grass", "--floor", floor, "-o", output, status=2)
        else:
            write_requests(desk.folder / "two.csv", 2)
            said = run("issue", "--requests", "two.csv", "-o", "out", status=2)
        assert "exists already and was left as it is" in said and Path(output).read_text() == "somebody's"
    assert run_json("quotes") == {"quotes": []} and not list(desk.issued.glob("*.xlsx"))


# The card changes meanwhile


def test_currencies_are_never_mixed(desk):
    """A quote in dollars, agreed when the card is in euros already, stays in dollars."""
    in_dollars = issue(day="2027-06-12")
    change_card(desk, currency="EUR")
    run("agree", answer(desk, in_dollars))
    assert "is in USD, the rate card is now in EUR" in run("reissue", f"{in_dollars}.xlsx", status=2)
    in_euros = issue(day="2027-06-19")
    run("agree", answer(desk, in_euros))
    months = ["--from", "2027-06", "--to", "2027-06"]
    assert "are in EUR and USD, which are never added up: choose one (--currency" in run("revenue", *months, status=2)
    for currency, number in (("USD", in_dollars), ("EUR", in_euros)):
        found = run_json("revenue", *months, "--currency", currency)
        assert found["reconciled"] is True and found["total"] == listed(number)["total"]
        assert listed(number)["currency"] == currency
    assert "Quotes in USD are left out: the rate card is in EUR." in run("payback", *months)


def test_what_the_card_no_longer_counts_is_not_agreed(desk):
    number = issue()
    book = openpyxl.load_workbook(desk.rate_card_path)
    sheet, _ = next(iter(book.defined_names["kinds_panel"].destinations))
    (cell,) = [cell for row in book[sheet].iter_rows() for cell in row if cell.value == "OAK-44"]
    cell.value = "ELM-44"
    book.save(desk.rate_card_path)
    said = run("agree", answer(desk, number), status=2)
    assert "panels of OAK-44 are no longer on the rate card" in said
    assert listed(number)["state"] == "issued"


# Tables and workbooks


def test_json_stays_json_beside_a_workbook(desk):
    run("agree", answer(desk, issue()))
    for command in (
        ["stock", "--from", DAY], ["revenue", "--from", "2027-08"], ["payback", "--from", "2027-01", "--to", "2027-12"],
    ):  # fmt: skip
        said = CliRunner().invoke(main, [*command, "--json", "-o", f"{command[0]}.xlsx"])
        assert said.exit_code == 0 and json.loads(said.stdout)
        assert openpyxl.load_workbook(f"{command[0]}.xlsx").sheetnames


def test_the_json_of_revenue_adds_up(desk):
    """The goods of its rows and the charges of its months are the total, which is that of the agreed quotes."""
    for day in ("2027-06-12", "2027-07-03"):
        run("agree", answer(desk, issue(day=day)))
    found = run_json("revenue", "--from", "2027-01", "--to", "2027-12")

    def cents(text):
        return int(text.replace(".", ""))

    goods = sum(cents(row[name]) for row in found["rows"] for name in ("hire", "edging", "subfloor"))
    charges = sum(cents(value) for row in found["charges"] for name, value in row.items() if name != "month")
    agreed = sum(cents(quote["total"]) for quote in run_json("quotes")["quotes"])
    assert goods + charges == cents(found["total"]) == agreed
    assert found["reconciled"] is True
    assert [(row["month"], row["kind"], row["panels"]) for row in found["rows"]] == [
        ("2027-06", "OAK-44", 56), ("2027-07", "OAK-44", 56),
    ]  # fmt: skip


@pytest.mark.parametrize(
    "command",
    [
        ["payback", "--discount-rate", "-100"], ["payback", "--tax", "101"], ["payback", "--plan", "OAK-44:-1:20"],
        ["payback", "--plan", "OAK-44:NaN:20"], ["payback", "--plan", "ELM:1:20"], ["payback", "--to", "June"],
        ["revenue", "--from", "0001-01"], ["revenue", "--from", "9999-12"], ["revenue", "--from", "2027-13"],
        ["revenue", "--from", "2027-05", "--to", "2027-01"], ["stock", "--from", "2027-01-01", "--to", "2099-01-01"],
        ["issue", "--date", "9999-12-31", "--surface", "grass", "--floor", "OAK-44:8x8"],
        ["count-back", "Q0001", "--lost", "OAK-44:-1"], ["count-back", "Q0001", "--lost", "OAK-44"],
        ["backup", "/no/folder/copy.sqlite"], ["deliver", "../Q0001"], ["cancel", ""],
    ],
)  # fmt: skip
def test_what_is_out_of_all_bounds_is_one_sentence(tmp_path, monkeypatch, command):
    monkeypatch.delenv("QUOTEBOOK_LEDGER", raising=False)
    monkeypatch.chdir(init(tmp_path / "desk").folder)
    said = run(*command, status=2)
    assert said and "Traceback" not in said


def test_a_desk_is_named_as_its_owner_likes(tmp_path, monkeypatch):
    """Signs that mean something in an address are only signs in a folder's name."""
    monkeypatch.delenv("QUOTEBOOK_LEDGER", raising=False)
    made = init(tmp_path / "floors? #1 & 100%20")
    monkeypatch.chdir(made.folder)
    issue()
    assert (made.folder / "ledger.sqlite").exists() and listed("Q0001")["state"] == "issued"
