"""The demonstration: four answers and what is agreed of them; two years of an invented firm, and its books."""

import json
import re
import shutil
import zipfile
from datetime import date
from decimal import Decimal as D

import openpyxl
import pytest
from click.testing import CliRunner
from ledger_fixtures import contents

from quotebook.bookings.archive import desk_name
from quotebook.bookings.rebuilding import rebuild
from quotebook.checking.check import checked_quote
from quotebook.cli import main
from quotebook.demonstration.demo import EVENTS, ledger_in, retype
from quotebook.desk import Desk, init
from quotebook.ledger import Ledger
from quotebook.ledger.database import file_url
from quotebook.quoting.issuing import write_and_read


@pytest.fixture(scope="module")
def real_ledger(tmp_path_factory):
    """The ledger of real desks on a machine where somebody tries the demonstration."""
    url = tmp_path_factory.mktemp("real") / "real.sqlite"
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("QUOTEBOOK_LEDGER", file_url(url))
        yield url


@pytest.fixture(scope="module")
def played(real_ledger, tmp_path_factory):
    """The folder of the four events and the books, and what the command said."""
    folder = tmp_path_factory.mktemp("demo") / "try-it"
    return folder, run("demo", folder)


def run(*arguments):
    result = CliRunner().invoke(main, [str(argument) for argument in arguments])
    assert result.exit_code == 0, result.output
    return result.output


def states(desk, monkeypatch):
    monkeypatch.delenv("QUOTEBOOK_LEDGER")
    return [quote["state"] for quote in json.loads(run("quotes", "--desk", desk, "--json"))["quotes"]]


def test_what_is_not_disputed_is_agreed_and_held(played, monkeypatch):
    """20 of the 60 panels of OAK-44 are away from the eve of the first event to the day after it."""
    folder, said = played
    assert re.findall(r"Q\d+ revision 1, (\w+);", said) == ["agrees", "changed", "disputed", "disputed"]
    assert re.findall(r"(Q\d+) revision 1, .*: is agreed: ", said) == ["Q0001", "Q0002"]
    assert re.search(r"panels of OAK-44 +40 +40 +40\n", said)
    after_that = ["agreed", "agreed", "returned", "returned", "declined"]
    assert states(folder / "desk", monkeypatch) == ["agreed", "agreed", "returned", "returned", *after_that]


def test_the_books_of_the_demo_are_filled_and_leave_something_to_do(played, tmp_path, monkeypatch):
    """Played through the books: a decision that cannot be done stays, a row is told, an answer lies in the post."""
    desk = shutil.copytree(played[0] / "desk", tmp_path / "desk")
    monkeypatch.delenv("QUOTEBOOK_LEDGER")
    said = CliRunner().invoke(main, ["catch-up", "--desk", str(desk)])
    assert said.exit_code == 1 and "Post: Q0007-r1: changed, second thoughts.xlsx." in said.output
    assert "row 10: not issued" in said.output and "Q0008" in said.output
    today = openpyxl.load_workbook(desk / "desk_book.xlsx")["Today"]
    assert {row[1].value for row in today.iter_rows(min_row=5)} >= {
        "Answer",
        "Deposit",
        "Deliver",
        "Request",
        "Decision",
    }


def test_nothing_invented_comes_into_a_ledger_of_real_desks(played, real_ledger, tmp_path):
    run("demo", tmp_path / "season", "--season", "--quotes", "2")
    assert not real_ledger.exists()


def test_a_desk_that_is_there_is_left_alone(tmp_path):
    init(tmp_path / "desk")
    again = CliRunner().invoke(main, ["demo", str(tmp_path)])
    assert again.exit_code == 2 and "nothing was written" in again.stderr


@pytest.mark.slow
def test_two_years_have_books_that_reconcile_and_can_be_made_again(real_ledger, tmp_path):
    """Every month from spring to winter has earned something."""
    folder = tmp_path / "try-it"
    said = run("demo", folder, "--season")
    total, agreed = (
        re.search(r"both sum to USD ([\d.]+\d)", said),
        re.findall(r"^total .* ([\d.]+)$", said, re.MULTILINE),
    )
    assert [total[1]] == agreed
    months = dict(re.findall(r"^(2027-\d\d) .* ([\d.]+)$", said, re.MULTILINE))
    assert len(months) == 12 and all(D(months[f"2027-{month:02}"]) > 0 for month in range(4, 13))
    outcomes = {what: int(count) for count, what in re.findall(r"(\d+) ([a-z ]+)", said.splitlines()[0])}
    assert sum(outcomes.values()) == 240 and outcomes["counted back"] > 120
    assert "Charts" in openpyxl.load_workbook(folder / "revenue.xlsx").sheetnames
    assert len(openpyxl.load_workbook(folder / "payback.xlsx").worksheets[0]._charts) == 1
    desk = Desk(folder / "desk")
    again = Ledger(file_url(tmp_path / "again.sqlite"), desk_name(desk))
    rebuild(desk, again)
    assert contents(again) == contents(ledger_in(desk))


def test_an_answer_is_the_same_from_the_workbook_at_hand(tmp_path):
    """It shows what its own formulas come to, as what is typed will be read."""
    desk = init(tmp_path / "desk")
    written = write_and_read(desk, desk.card(), EVENTS[0], "Q0001", date(2027, 1, 4))
    typed = {"accepted": "yes", "miles": D("20.3"), "guests": D(170)}
    answers = [
        retype(written.path, tmp_path / f"{place}.xlsx", written.content, typed, workbook)
        for place, workbook in enumerate((None, written.workbook))
    ]
    assert parts_of(answers[0]) == parts_of(answers[1])
    report, comparison = checked_quote(answers[1], desk, date(2027, 1, 4))
    assert (report.verdict, report.state, report.sheet) == ("changed", "consistent", report.engine)
    assert comparison.returned.cells["miles"].value == D("20.3") and comparison.returned.cells["guests"].value == 170


def parts_of(path):
    with zipfile.ZipFile(path) as package:
        return {name: package.read(name) for name in package.namelist()}
