"""The commands buy and break-even, as an owner types them."""

import csv
import json
import shlex
from datetime import date, timedelta
from decimal import Decimal as D

import openpyxl
import pytest
from click.testing import CliRunner

from quotebook import desk
from quotebook.bookings.archive import open_ledger
from quotebook.bookings.decisions import agree, cancel, issue_and_record
from quotebook.cli import main
from quotebook.engine.model import FloorLine, Request


@pytest.fixture(scope="module")
def feet(tmp_path_factory):
    """A desk with a list of twelve requests: 16 x 20 ft on grass, two a Saturday, the second of them on hard ground."""
    at = desk.init(tmp_path_factory.mktemp("desk") / "desk")
    with (at.folder / "list.csv").open("w", newline="") as file:
        rows = csv.writer(file)
        rows.writerow(["event_date", "days", "surface", "floor_1"])
        for week in range(6):
            day = date(2027, 6, 5) + timedelta(7 * week)
            rows.writerow([day, 1, "grass", "OAK-44:20x32"])
            rows.writerow([day, 1, "hard indoors", "OAK-44:16x20:bare"])
    return at


def run(at, command):
    return CliRunner().invoke(main, [*shlex.split(command), "--desk", str(at.folder)])


def said(at, command):
    result = run(at, command)
    assert result.exit_code == 0, result.output
    return result.output


def test_steps_of_one_kind_by_hand(feet):
    """60 panels serve the 40 of each Saturday's first floor, and the 20 of its second: all twelve.

    Twice the list asks for 40, 40, 20 and 20 each Saturday: 60 serve the first and the third, 80 the first two, 100
    the first three.
    """
    found = json.loads(said(feet, f"buy --requests {feet.folder}/list.csv --kind OAK-44 --redraws 0 --steps 3 --json"))
    [kind] = found["kinds"]
    assert kind["kind"] == "OAK-44"
    assert [(step["owned"], step["bought"]) for step in kind["steps"]] == [(60, 0), (80, 20), (100, 40), (120, 60)]
    first = kind["steps"][0]
    assert (first["served"], first["refused"]) == (12, 0)
    labour = 6 * (D("0.5") + D("0.5")) * 2 * D("33.60") * 2  # both floors are set up and struck in half an hour each
    assert D(first["earned"]) == 6 * 60 * D("34.80") + labour
    assert D(first["crew_paid"]) == labour
    assert (first["internal_rate_of_return"], first["months_to_pay_back"]) == (None, None)
    more = json.loads(
        said(feet, f"buy --requests {feet.folder}/list.csv --kind OAK-44 --growth 100 --redraws 0 --steps 3 --json")
    )["kinds"][0]["steps"]
    assert [step["served"] for step in more] == [12, 12, 18, 24]
    assert [step["served"] + step["refused"] for step in more] == [24] * 4


def test_in_words_and_repeatable(feet):
    command = f"buy --requests {feet.folder}/list.csv --growth 60 --redraws 20 --budget 12000 --steps 4"
    words = said(feet, command)
    assert words == said(feet, command)
    assert max(map(len, words.splitlines())) <= 80
    assert "19 requests" in words or "20 requests" in words
    assert "Exact: all" in words and "Next season's" in words


def test_the_typical_year_of_the_card(feet):
    found = json.loads(said(feet, "buy --typical --season 2027 --kind OAK-44 --kind WHITE-23 --redraws 0 --json"))
    assert len(found["requests"]) == 53
    assert [kind["kind"] for kind in found["kinds"]] == ["OAK-44", "WHITE-23"]
    assert found["kinds"][1]["steps"][0]["served"] == found["kinds"][0]["steps"][0]["served"]


def test_the_desk_s_own_requests(tmp_path):
    """Two are agreed and one of those is cancelled, one is not answered: all three of them are played, or only one."""
    at = desk.init(tmp_path / "desk")
    card, ledger = at.card(), open_ledger(at)
    numbers = at.numbers()
    for week, outcome in enumerate(("agreed", "cancelled", "issued")):
        asked = Request(
            event_date=date(2027, 6, 5) + timedelta(7 * week), days=D(1), surface="grass",
            lines=(FloorLine("OAK-44", D(16), D(20)),),
        )  # fmt: skip
        number = next(numbers)
        path, _ = issue_and_record(at, ledger, card, asked, number, date(2027, 1, 4))
        if outcome != "issued":
            agree(at, ledger, card, path, today=date(2027, 1, 5), said_yes="by telephone")
        if outcome == "cancelled":
            cancel(at, ledger, number)
    found = json.loads(said(at, "buy --season 2027 --redraws 0 --json"))
    assert [(each["name"], each["outcome"], each["why"]) for each in found["requests"]] == [
        ("Q0001", "agreed", ""), ("Q0002", "lost", "cancelled"), ("Q0003", "lost", "no answer recorded"),
    ]  # fmt: skip
    assert found["requests"][0] | {"name": ""} == {
        "name": "", "day": "2027-06-05", "surface": "grass", "days": 1, "floors": ["16x20"],
        "outcome": "agreed", "why": "",
    }  # fmt: skip
    only = json.loads(said(at, "buy --season 2027 --agreed-only --redraws 0 --json"))
    assert [each["name"] for each in only["requests"]] == ["Q0001"]
    assert "ledger has no request for that season" in run(at, "buy --season 2026").output


def test_what_to_charge_by_hand(feet):
    """Twice the list: 40 and 20 of 60 panels each Saturday, so sold out from Friday on; the doubles are not free."""
    found = json.loads(said(feet, f"charge --requests {feet.folder}/list.csv --kind oak-44 --crew-cost 20 --json"))
    [kind] = found["kinds"]
    assert (kind["kind"], kind["owned"], kind["hires"], kind["trips"]) == ("OAK-44", 60, 12, 12)
    assert kind["season"]["name"] == "list.csv" and kind["season"]["refused"] == 0
    assert D(kind["units"]) == 6 * 60 and D(kind["price"]) == D("34.80")
    today, raised = kind["ladder"][5], kind["ladder"][6]
    assert D(today["left"]) == 360 * D("34.80") + D(kind["other"]) - 20 * D(kind["crew_hours"]) - 12 * 78
    assert D(raised["left"]) - D(today["left"]) == 360 * (D("36.54") - D("34.80"))
    assert "Saturday 6 of " in kind["answer"]


def test_what_to_charge_in_words(feet):
    words = said(feet, f"charge --requests {feet.folder}/list.csv --step 10 --sold-out 0 -o {feet.folder}/charge.xlsx")
    assert max(map(len, words.splitlines())) <= 80
    assert "OAK-42: nobody asked for it in list.csv." in words and " 50 %" in words
    assert (feet.folder / "charge.xlsx").exists()


REFUSED = {
    "buy --season 2031": "2031: the ledger has no request for that season.",
    "buy --requests {desk}/list.csv --season 2031": "has no request of 2031",
    "buy --typical --budget 0": "--budget 0: allowed is an amount above 0",
    "buy --typical --kind NONE-1": "NONE-1: is not on the rate card",
    "buy --typical --requests {desk}/list.csv": "name one of them",
    "charge --season 2031": "2031: the ledger has no request for that season.",
    "charge --kind NONE-1": "NONE-1: is not on the rate card",
    "charge --requests {desk}/list.csv --step 0": "0 is not from 1 to 19",
    "charge --requests {desk}/list.csv --season 2031": "has no request of 2031",
    "break-even OAK-44 MAPLE-33 --surface grass": "MAPLE-33: cannot go on grass",
    "break-even OAK-44 WHITE-23 --surface lava": "--surface lava: allowed are grass",
}


@pytest.mark.parametrize("command", REFUSED)
def test_what_cannot_be_done_gets_a_sentence(feet, command):
    result = run(feet, command.replace("{desk}", str(feet.folder)))
    assert result.exit_code == 2 and REFUSED[command] in result.output


def test_a_kind_without_a_price_gets_a_sentence(tmp_path):
    """Where it is named, and where all kinds of the card are meant."""
    at = desk.init(tmp_path / "desk")
    card = openpyxl.load_workbook(at.folder / "rate_card.xlsx")
    [row] = [row for row in card["Panels"].iter_rows() if row[1].value == "OAK-34"]
    [(_, place)] = card.defined_names["kinds_purchase_price"].destinations
    card["Panels"].cell(row[1].row, card["Panels"][place.replace("$", "")].column).value = 0
    card.save(at.folder / "rate_card.xlsx")
    for command in ("buy --typical", "buy --typical --kind OAK-34", "break-even OAK-34 WHITE-23 --surface grass"):
        result = run(at, command)
        assert result.exit_code == 2
        assert "OAK-34: has no price on the rate card. Enter what a panel costs, on sheet Panels" in result.output
    assert "OAK-44" in said(at, "buy --typical --season 2027 --kind OAK-44 --redraws 0")


def test_break_even_in_words_and_json(feet):
    words = said(feet, "break-even OAK-44 WHITE-23 --surface grass")
    assert max(map(len, words.splitlines())) <= 80
    assert "OAK-44 is the cheaper to own at any number of hires." in words
    found = json.loads(said(feet, "break-even OAK-44 WHITE-23 --surface grass --floor 20x20 --crew-cost 20 --json"))
    assert found["grounds"][0]["kinds"][0]["panels"] == 25 and found["crew_cost"] == "20"
