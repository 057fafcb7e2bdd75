"""From issue to count back by the commands: what each records, holds and frees."""

import csv
import io
import json
import shutil
from datetime import date
from importlib.resources import as_file, files
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner
from ledger_fixtures import contents

from quotebook.bookings.archive import open_ledger
from quotebook.cli import main
from quotebook.demonstration import demo, season
from quotebook.desk import Desk
from quotebook.rate_card.reader import read_rate_card

ACCEPTED, LARGER, CHEAPER = "Q0001-accepted.xlsx", "Q0002-larger.xlsx", "Q0003-cheaper-labour.xlsx"


@pytest.fixture(scope="module")
def lived(tmp_path_factory):
    folder = tmp_path_factory.mktemp("demo")
    demo.run(folder, date.today())
    return folder


@pytest.fixture
def returned(lived, tmp_path, monkeypatch):
    """The demo's desk as the current folder; the folder of what came back."""
    shutil.copytree(lived, tmp_path / "demo")
    monkeypatch.chdir(tmp_path / "demo" / "desk")
    monkeypatch.delenv("QUOTEBOOK_LEDGER", raising=False)
    return tmp_path / "demo" / "returned"


def run(*arguments, status=0):
    result = CliRunner().invoke(main, [str(argument) for argument in arguments])
    assert result.exit_code == status, result.output
    return result.output


def free(kind, day):
    rows = json.loads(run("stock", "--from", day, "--kind", kind, "--json"))["rows"]
    return {row["kind"]: row["free"] for row in rows}[kind]


def state(number):
    return {row["quote_number"]: row["state"] for row in json.loads(run("quotes", "--json"))["quotes"]}[number]


def test_agreed_panels_are_held_from_the_eve_to_the_end_of_turnaround(returned):
    """Q0001 takes 4 x 5 panels of OAK-44 on 12 June; the card says one day of turnaround."""
    owned = free("OAK-44", "2027-06-10")
    run("agree", returned / ACCEPTED)
    assert [free("OAK-44", f"2027-06-{day}") for day in (10, 11, 12, 13, 14)] == [owned, *[owned - 20] * 3, owned]
    assert state("Q0001") == "agreed"


def test_cancelling_frees_them_and_agreeing_again_holds_them(returned):
    owned = free("OAK-44", "2027-06-12")
    run("agree", returned / ACCEPTED)
    run("cancel", "Q0001")
    assert (free("OAK-44", "2027-06-12"), state("Q0001")) == (owned, "cancelled")
    run("agree", returned / ACCEPTED)
    assert (free("OAK-44", "2027-06-12"), state("Q0001")) == (owned - 20, "agreed")


def test_what_was_lost_leaves_the_stock(returned):
    owned = free("OAK-44", "2027-07-01")
    run("agree", returned / ACCEPTED)
    run("deliver", "Q0001", "--sure")
    counts = ["--lost", "OAK-44:2", "--damaged", "OAK-44:1", "--damaged", "corners/OAK-44:1"]
    said = run("count-back", "Q0001", *counts, "--sure")
    assert "panels of OAK-44: 1 damaged, 2 lost" in said
    assert (free("OAK-44", "2027-07-01"), state("Q0001")) == (owned - 3, "counted back")


def test_a_second_time_changes_nothing(returned):
    for _ in range(2):
        run("agree", returned / ACCEPTED)
    before = contents(open_ledger(Desk(returned.parent / "desk")))
    run("agree", returned / ACCEPTED)
    assert contents(open_ledger(Desk(returned.parent / "desk"))) == before


def test_a_disputed_file_is_agreed_by_name_at_the_issued_rates(returned):
    assert "--accept rate-changed:hourly_rate" in run("agree", returned / CHEAPER, status=1)
    assert state("Q0003") == "issued"
    issued = run("quotes").splitlines()[3].split()[-2]
    said = run("agree", returned / CHEAPER, "--accept", "rate-changed:hourly_rate", "--said-yes", "at the door")
    assert f"agreed: {issued} USD" in said


def test_what_would_do_is_said_where_panels_are_short(returned):
    """60 panels of OAK-44 are owned; two events of 48 on one day cannot both be had."""
    ask = ["--date", "2027-08-07", "--surface", "grass", "--floor", "OAK-44:24x32:bare"]
    for client in ("One", "Other"):
        run("issue", "--client", client, *ask)
    run("agree", "issued/Q0005-r1.xlsx", "--said-yes", "by telephone")
    said = run("agree", "issued/Q0006-r1.xlsx", "--said-yes", "by telephone", status=2)
    assert "36 panels of OAK-44 from 6 August 2027" in said and "Alternatives to floor 1:" in said
    assert state("Q0006") == "issued"  # an agreement that is refused changes nothing


def test_the_next_quote_knows_what_is_free(returned):
    """With 20 of 60 panels away, 48 more are too many: the client's sheet says so at once."""
    run("agree", returned / ACCEPTED)
    said = run("issue", "--date", "2027-06-12", "--surface", "grass", "--floor", "OAK-44:24x32:bare")
    assert "More panels than are free" in said


def test_stock_of_a_season_is_the_least_of_each_kind_and_its_first_day(returned):
    """Q0001 takes 20 of 60 panels of OAK-44 from 11 to 13 June: more than a week is told by its worst day."""
    run("agree", returned / ACCEPTED)
    said = run("stock", "--from", "2027-06-01", "--to", "2027-06-30", "--kind", "OAK-44")
    assert [line.split() for line in said.splitlines()] == [
        ["Free", "least", "on"], ["panels", "of", "OAK-44", "40", "Jun", "11,", "2027"],
    ]  # fmt: skip


def test_stock_as_csv_has_a_row_a_day_and_a_column_an_item(returned):
    run("agree", returned / ACCEPTED)
    said = run("stock", "--from", "2027-06-13", "--to", "2027-06-14", "--kind", "OAK-44", "--csv")
    assert said.splitlines() == ["day,panels of OAK-44", "2027-06-13,40", "2027-06-14,60"]


def test_a_quote_whose_stamp_was_broken_is_not_agreed_even_where_that_is_accepted(returned):
    """Nothing then says what was issued, so there is nothing to agree to."""
    path = returned / ACCEPTED
    book = openpyxl.load_workbook(path)
    (stamp,) = (sheet for sheet in book if sheet.sheet_state == "veryHidden")
    stamp["A2"] = "0" * 64
    book.save(path)
    issued = returned.parent / "desk" / "issued" / "Q0001-r1.xlsx"
    issued.rename(returned / "moved away.xlsx")
    refused = CliRunner().invoke(main, ["agree", str(path), "--accept", "stamp-broken"])
    assert refused.exit_code == 2 and "was altered, or another desk made it" in refused.output
    assert state("Q0001") == "issued"


def test_revenue_by_the_command_sums_to_the_agreed_quotes(returned):
    run("agree", returned / ACCEPTED)
    run("agree", returned / LARGER)
    found = json.loads(run("revenue", "--from", "2027-01", "--to", "2027-12", "--json"))
    totals = [row["total"] for row in json.loads(run("quotes", "--json"))["quotes"]]
    assert found["reconciled"] is True and found["quotes"] == 2 and len(totals) == 4
    assert {"month", "kind", "panels", "hire"} <= set(found["rows"][0])
    run("revenue", "--from", "2027-01", "--to", "2027-12", "--csv", "revenue.csv")
    rows = list(csv.reader(io.StringIO(Path("revenue.csv").read_text("utf-8-sig"))))
    assert rows[-1][0] == "total" and rows[-1][-1] == found["total"]


@pytest.mark.parametrize(
    ("command", "said"),
    [
        (["agree", "issued/Q0009-r1.xlsx"], "there is no such file"),
        (["deliver", "Q0001"], "Q0001 is not agreed"),
        (["cancel", "nothing"], "nothing is not agreed"),
        (["cancel", "Q0001"], "decline it instead (quotebook decline Q0001)"),
        (["count-back", "Q0001", "--lost", "ELM-9:1"], "ELM-9 is not on the rate card"),
        (["stock", "--from", "2027-06-10", "--to", "2027-06-01"], "--to must be --from or later"),
        (["stock", "--from", "2027-06-10", "--kind", "ELM-9"], "ELM-9 is not on the rate card"),
        (["revenue", "--from", "June"], "a month is written as its year and number"),
        (["payback", "--plan", "OAK-44:lots"], "write CODE:HIRES:PANELS"),
        (["payback", "--depreciation", "fast"], "allowed are straight line"),
        (["rebuild", "--to", "again.sqlite", "--anew"], "--to leaves the ledger as it is, --anew sets it aside"),
        (["undo", "Q0001", "--because", "x"], "nothing was recorded of it that can be taken back"),
        (["repaired", "OAK-44:1"], "0 are missing on "),
        (["repaired", "oak-44:1"], "panels of OAK-44: 0 are missing on "),
        (["bill", "Q0001", "--add", "Tea:20.50:food"], "write TEXT:AMOUNT, or TEXT:AMOUNT:goods|"),
        (["recount", "OAK-44:57", "--on", "2999-01-01"], "is yet to come"),
        (["rename", "OAK-44", "OAK-34"], "OAK-44 is still on the rate card"),
        (["rename", "ELM-9", "OAK-34"], "nothing was ever recorded under that code"),
    ],
)
def test_one_sentence_for_what_cannot_be_done(returned, command, said):
    result = CliRunner().invoke(main, command)
    assert result.exit_code in (2, 3) and said in result.output and "Traceback" not in result.output


def test_a_short_season_reconciles(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    said = run("demo", "season", "--season", "--quotes", "6")
    assert "Reconciled:" in said
    assert {path.name for path in (tmp_path / "season").iterdir()} >= {"desk", "revenue.xlsx", "payback.xlsx"}


def test_a_season_is_the_same_for_the_same_seed():
    with as_file(files("quotebook.templates") / "rate_card.xlsx") as path:
        card = read_rate_card(path)
    once, again = (list(season.requests(card, 40, seed=5)) for _ in range(2))
    assert once == again and once != list(season.requests(card, 40, seed=6))
