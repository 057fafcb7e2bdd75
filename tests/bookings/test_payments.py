"""What clients pay, and quotes that come to nothing, by the commands."""

import json
import shutil
from datetime import date, timedelta

import pytest
from click.testing import CliRunner

from quotebook.bookings.archive import desk_name, open_ledger
from quotebook.bookings.rebuilding import rebuild
from quotebook.checking.check import issued_content
from quotebook.cli import main
from quotebook.contract.local import local_of
from quotebook.demonstration.demo import retype
from quotebook.desk import Desk, init
from quotebook.ledger import Ledger
from quotebook.ledger.database import file_url
from quotebook.spreadsheets.reading import read_workbook

DAY = "2027-06-12"


def run(*arguments, status=0):
    result = CliRunner().invoke(main, [str(argument) for argument in arguments])
    assert result.exit_code == status, result.output
    return result.output


def issue(client="Avelie Marsh", floor="OAK-44:16x20:edging", day=DAY):
    ask = ["--client", client, "--date", day, "--surface", "grass", "--floor", floor]
    return run("issue", *ask).split()[0]


def listed(*filters):
    result = CliRunner().invoke(main, ["quotes", *filters, "--json"])
    return {quote["quote_number"]: quote for quote in json.loads(result.stdout)["quotes"]}


@pytest.fixture(scope="module")
def with_a_quote(tmp_path_factory):
    made = init(tmp_path_factory.mktemp("issued") / "desk")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(made.folder)
        patch.delenv("QUOTEBOOK_LEDGER", raising=False)
        issue()
    return made.folder


@pytest.fixture
def desk(with_a_quote, tmp_path, monkeypatch):
    """A desk as the current folder, with one quote of 823.97 and a deposit of 288.39 in it."""
    made = Desk(shutil.copytree(with_a_quote, tmp_path / "desk"))
    monkeypatch.chdir(made.folder)
    monkeypatch.delenv("QUOTEBOOK_LEDGER", raising=False)
    return made


def answer(desk, number, **typed):
    """The file that comes back from a client who typed these."""
    path = desk.issued_path(number, 1)
    content, _ = issued_content(read_workbook(path), desk)
    return retype(path, desk.folder.parent / f"{number}.xlsx", content, typed)


def test_a_deposit_a_balance_and_money_back(desk):
    run("agree", "Q0001", "--said-yes", "by phone")
    quote = listed()["Q0001"]
    total, deposit = quote["total"], quote["deposit"]
    by = str(date.today() + timedelta(7))
    assert quote["due"][0] == {"for": "deposit", "amount": deposit, "by": by}
    assert quote["due"][1]["by"] == DAY
    said = run("pay", "Q0001", deposit)
    today = local_of("en", "US").day(date.today())
    assert f"Q0001: {deposit} USD came in on {today}." in said and "(balance)" in said
    assert "(deposit)" not in said
    rest = quote["due"][1]["amount"]
    assert "Due by" not in run("pay", "Q0001", rest)
    quote = listed()["Q0001"]
    assert (quote["paid"], quote["due"], quote["to_give_back"]) == (total, [], "0.00")
    assert "To be given back: 20.00 USD" in run("pay", "Q0001", "20")
    assert list(listed("--due")) == ["Q0001"]
    run("pay", "Q0001", "20.00", "--back")
    assert listed("--due") == {} and listed()["Q0001"]["paid"] == total


def test_the_same_payment_is_recorded_once_unless_there_were_two(desk):
    run("pay", "Q0001", "100", "--on", "2026-05-03")
    assert "as was recorded already" in run("pay", "Q0001", "100.00", "--on", "2026-05-03")
    assert "as was recorded already" in run("pay", "Q0001", "100", "--on", "2026-05-03", "--for", "deposit")
    assert listed()["Q0001"]["paid"] == "100.00"
    run("pay", "Q0001", "100", "--on", "2026-05-03", "--again")
    run("pay", "Q0001", "100", "--on", "2026-05-03", "--for", "balance")
    run("pay", "Q0001", "100", "--on", "2026-05-04")
    assert listed()["Q0001"]["paid"] == "400.00"


@pytest.mark.parametrize(("arguments", "said"), [
    (["Q0001", "0"], "above 0"),
    (["Q0001", "-5"], "No such option"),
    (["Q0001", "1.001"], "at most 2 decimal places"),
    (["Q0009", "5"], "no quote of that number was issued here"),
    (["Q0001", "5", "--back"], "more would go back than came in"),
    (["Q0001", "5", "--on", "2999-01-01"], "still to come"),
])  # fmt: skip
def test_what_is_no_payment(desk, arguments, said):
    assert said in run("pay", *arguments, status=2)
    assert listed()["Q0001"]["paid"] == "0.00"


def test_a_cancelled_quote_says_what_goes_back_of_its_deposit(desk):
    """The shipped card keeps half of a deposit unless it is cancelled 14 days before."""
    soon = str(date.today() + timedelta(5))
    number = issue(day=soon)
    run("agree", number, "--said-yes", "by phone")
    deposit = listed()[number]["deposit"]
    run("pay", number, deposit)
    run("cancel", number)
    back = listed()[number]["to_give_back"]
    assert 0 <= float(deposit) / 2 - float(back) < 0.01
    run("agree", "Q0001", "--said-yes", "by phone")
    run("pay", "Q0001", listed()["Q0001"]["deposit"])
    run("cancel", "Q0001")
    assert listed()["Q0001"]["to_give_back"] == listed()["Q0001"]["deposit"]


def test_a_quote_is_declined_and_opened_again(desk):
    said = run("decline", "Q0001", "--because", "  too   dear. ")
    assert said == "Q0001 is declined: Avelie Marsh, June 12, 2027. too dear.\n"
    assert "was already declined" in run("decline", "Q0001", "--because", "too dear.")
    assert listed("--open") == {} and listed()["Q0001"]["because"] == "too dear"
    run("decline", "Q0001", "--because", "another firm")
    assert listed("--state", "declined")["Q0001"]["because"] == "another firm"
    run("check", answer(desk, "Q0001", guests=80))
    assert listed()["Q0001"]["state"] == "declined"
    run("reissue", "Q0001")
    assert listed("--open")["Q0001"] | {"state": "issued", "revision": 2, "because": ""} == listed()["Q0001"]


def test_an_agreed_quote_is_cancelled_not_declined(desk):
    run("agree", "Q0001", "--said-yes", "by phone")
    assert "cancel it instead" in run("decline", "Q0001", status=2)
    run("reissue", "Q0001")
    assert "what is agreed stands" in run("decline", "Q0001")
    assert (listed()["Q0001"]["state"], listed()["Q0001"]["revision"]) == ("agreed", 1)


def test_a_look_at_the_desks_own_copy_is_no_answer(desk):
    run("check", "issued/Q0001-r1.xlsx")
    assert listed()["Q0001"]["state"] == "issued"
    run("check", answer(desk, "Q0001", guests=80))
    assert listed()["Q0001"]["state"] == "returned"


def test_a_number_finds_what_the_client_sent_last(desk):
    back = answer(desk, "Q0001", width_1=20)
    run("check", back)
    back.unlink()
    assert "width" in run("reissue", "Q0001").lower()
    assert "Q0001 revision 2, Avelie Marsh, June 12, 2027: is agreed" in run("agree", "Q0001", "--said-yes", "by phone")
    assert "Q0001-r2.eml" in run("send", "Q0001", "--to", "avelie@marsh.example")
    assert "neither a file nor the number" in run("agree", "Q0009", status=2)


def test_lost_quotes_are_counted_by_season_kind_and_reason(desk):
    for client, floor, day, because in (
        ("B", "OAK-44:12x12:edging", DAY, "Too dear"), ("C", "OAK-44:12x16:edging", DAY, "too dear."),
        ("D", "WHITE-23:12x12:edging", DAY, ""), ("E", "OAK-44:12x12:edging", "2028-06-10", "date taken"),
    ):  # fmt: skip
        run("decline", issue(client, floor, day), "--because", because)
    assert [line.split() for line in run("quotes", "--lost").splitlines()[1:]] == [
        ["2027", "OAK-44", "Too", "dear", "2"],
        ["2027", "WHITE-23", "no", "reason", "given", "1"],
        ["2028", "OAK-44", "date", "taken", "1"],
    ]
    assert len(listed("--month", "2028-06")) == 1 and len(listed("--client", "avelie")) == 1


def test_the_ledger_made_again_has_every_payment_and_decline(desk):
    run("pay", "Q0001", "100", "--on", "2026-05-03")
    run("pay", "Q0001", "100", "--on", "2026-05-03", "--again")
    run("pay", "Q0001", "30.5", "--on", "2026-05-04", "--back")
    run("decline", issue("B"), "--because", "too dear")
    again = Ledger(file_url(desk.folder / "again.sqlite"), desk_name(desk))
    rebuild(desk, again)
    assert again.payments() == open_ledger(desk).payments() and len(again.payments()) == 3
    assert again.listed() == open_ledger(desk).listed()
