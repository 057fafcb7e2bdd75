"""Drafts for what is due, by the command."""

from datetime import date, timedelta
from email import message_from_bytes, policy

import pytest
from click.testing import CliRunner

from quotebook.cli import main
from quotebook.desk import init


def run(*arguments, status=0):
    result = CliRunner().invoke(main, [str(argument) for argument in arguments])
    assert result.exit_code == status, result.output
    return result.output


@pytest.fixture
def desk(tmp_path, monkeypatch):
    """A desk as the current folder, with Q0001 agreed for a client with an address, and Q0002 for one without."""
    made = init(tmp_path / "desk")
    monkeypatch.chdir(made.folder)
    monkeypatch.delenv("QUOTEBOOK_LEDGER", raising=False)
    ask = ["--date", "2027-06-12", "--surface", "grass", "--floor", "OAK-44:12x12:edging"]
    run("issue", "--client", "Avelie Marsh", "--event", "Supper", "--email", "avelie@marsh.example", *ask)
    run("issue", "--client", "B", *ask)
    for number in ("Q0001", "Q0002"):
        run("agree", number, "--said-yes", "by phone")
    return made


def test_nothing_is_due_yet(desk):
    assert run("remind").startswith("Nothing is due on")


def test_a_draft_for_each_deposit_that_is_due_and_once_a_day(desk):
    day = date.today() + timedelta(10)
    said = run("remind", "--on", day)
    path = desk.folder / "reminders" / f"Q0001-deposit-{day}.eml"
    message = message_from_bytes(path.read_bytes(), policy=policy.default)
    assert message["To"] == "avelie@marsh.example" and message["X-Unsent"] == "1" and "Q0001" in message["Subject"]
    body = message.get_content()
    assert "Dear Avelie Marsh," in body
    assert "Supper" in body and "USD" in body
    assert "Q0002-address.txt" in said
    assert "was written already" in run("remind", "--on", day)
    assert len(list((desk.folder / "reminders").iterdir())) == 1


def test_what_is_paid_is_not_asked_for_and_a_bill_is(desk):
    run("pay", "Q0001", "5000")
    run("bill", "Q0002")
    day = date.today() + timedelta(14)
    said = run("remind", "--on", day)
    assert "Q0001" not in said and "(bill)" in said and "(deposit)" not in said


def test_a_reminder_is_in_the_language_of_its_quote(desk):
    ask = ["--date", "2027-06-19", "--surface", "grass", "--floor", "OAK-44:12x12:edging"]
    run("issue", "--client", "Tomasa", "--email", "tomasa@vega.example", "--language", "es", *ask)
    run("agree", "Q0003", "--said-yes", "by phone")
    day = date.today() + timedelta(10)
    run("remind", "--on", day)
    subjects = {}
    for number in ("Q0001", "Q0003"):
        path = desk.folder / "reminders" / f"{number}-deposit-{day}.eml"
        subjects[number] = message_from_bytes(path.read_bytes(), policy=policy.default)["Subject"]
    assert "June 12, 2027" in subjects["Q0001"] and "19 de junio de 2027" in subjects["Q0003"]
