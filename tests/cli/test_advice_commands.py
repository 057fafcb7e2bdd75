"""The commands size, compare and mix, as an owner types them."""

import json
import shlex
from datetime import date
from decimal import Decimal as D
from itertools import product

import pytest
from click.testing import CliRunner
from extent import some

from quotebook import desk
from quotebook.bookings.archive import open_ledger
from quotebook.bookings.decisions import agree, issue_and_record
from quotebook.cli import main
from quotebook.engine.model import FloorLine, Request


@pytest.fixture(scope="module")
def any_desk(request, tmp_path_factory):
    return desk.init(tmp_path_factory.mktemp("desk") / "desk", request.param)


@pytest.fixture(scope="module")
def feet(tmp_path_factory):
    return desk.init(tmp_path_factory.mktemp("desk") / "desk")


def run(at, command):
    return CliRunner().invoke(main, [*shlex.split(command), "--desk", str(at.folder)])


def said(at, command):
    result = run(at, command)
    assert result.exit_code == 0, result.output
    return result.output


FEET, METRES = CARDS = ("rate_card.xlsx", "rate_card_metric.xlsx")
LONGEST = "size --guests 9999 --surface paving --ratio 3 --days 3 --miles 40 --flights 2"
COMMANDS = (
    "size --guests 120 --surface grass",
    LONGEST,
    "size --guests 120 --surface 'carpet indoors' --within 12.25x17.75 --edging",
    "size --guests 0 --surface grass",
    "compare --surface grass --floor 16.5x20.25 --days 14 --miles 400",
    "compare --surface 'hard indoors' --floor 60x60:bare",
)
EACH = [*product(CARDS, COMMANDS)]


@pytest.mark.parametrize(("any_desk", "command"), some(EACH, {*EACH} - {(METRES, LONGEST)}), indirect=["any_desk"])
def test_words_fit_80_columns(any_desk, command):
    assert max(map(len, said(any_desk, command).splitlines())) <= 80


def test_120_guests_on_grass(feet):
    """By hand: 48 dancers on 5 sq ft each are 240 sq ft; the fewest 4x4 panels within 1 : 1.5 are 16."""
    found = json.loads(said(feet, "size --guests 120 --surface grass --json"))
    assert (found["dancers"], found["area_needed"], found["assumed"]) == (
        48,
        "240",
        ["dancers_share", "area_per_dancer"],
    )
    large, *_, maple = found["kinds"]
    first = large["sizes"][0]
    assert (first["panels"], first["actual_width"], first["actual_length"], first["area_a_dancer"]) == (
        16,
        "16",
        "16",
        "5.333333",
    )
    assert first["hire"] == first["goods"] == "556.8"  # 16 at 34.80, edging off on grass
    assert (maple["why_not"], maple["sizes"]) == ("not_on_surface", [])


def test_assumptions_can_be_changed(feet):
    found = json.loads(said(feet, "size --guests 100 --surface paving --share 50 --area 6 --within 30x40 --json"))
    assert (found["dancers"], found["dancers_share"], found["area_needed"]) == (50, "0.5", "300")
    sides = [(D(size["actual_width"]), D(size["actual_length"])) for kind in found["kinds"] for size in kind["sizes"]]
    assert all(width <= 30 and length <= 40 and width * length >= 300 for width, length in sides)


def test_less_than_standing_space_is_suggested_to_nobody(feet):
    """4 sq ft for each of 48 dancers are less than 5 (IBC Table 1004.5): the sizes are for 240, and it says why."""
    asked = "size --guests 120 --surface grass --area 4"
    assert json.loads(said(feet, f"{asked} --json"))["area_needed"] == "240"
    told = " ".join(said(feet, asked).split())
    assert "On 4 sq ft each: More dancers are expected than there is standing space for (5 sq ft each)." in told
    assert "Source: IBC Table 1004.5." in told
    assert "standing space" not in said(feet, "size --guests 120 --surface grass --area 5")


def test_a_room_has_exits(feet):
    """29 CFR 1910.37(a)(3), from memory: exit routes are free and unobstructed."""
    asked = "size --guests 120 --surface paving"
    assert "Keep the exits, and the ways to them" in said(feet, f"{asked} --within 30x40")
    assert "exits" not in said(feet, asked)


def test_a_mix_with_guests(feet):
    """280 sq ft are standing space for 56: of 140 guests at 40 % 56 dance, of 141 57; 440 sq ft are it for 88."""
    assert "standing space" not in said(feet, "mix OAK-44+OAK-42:14x20 --guests 140")
    assert "More dancers are expected" in said(feet, "mix OAK-44+OAK-42:14x20 --guests 141")
    crowded = [json.loads(said(feet, f"mix OAK-44+OAK-42:14x20 --guests {n} --json"))["crowding"] for n in (140, 141)]
    assert crowded == [False, True]
    assert "Nearest sizes: 18 x 20," in said(feet, "mix OAK-44+OAK-42:17x21")
    assert "Nearest sizes: 20 x 22," in said(feet, "mix OAK-44+OAK-42:17x21 --guests 220")


def test_why_there_is_no_size(feet):
    assert "nobody dances" in said(feet, "size --guests 0 --surface grass")
    assert "OAK-44 (Oak, large locking panel): no floor of it has the area" in said(
        feet, "size --guests 300 --surface grass --within 10x10"
    )
    assert "MAPLE-33 (Maple, indoor panel): cannot go on grass." in said(feet, "size --guests 120 --surface grass")


def test_edging_as_the_card_has_it_or_as_asked(feet):
    """Pieces of 4 ft at 2.95 and corners at 1.75: 16 x 16 ft takes 16 and 4."""
    goods = {}
    for asked in ("grass", "grass --edging", "paving", "paving --bare"):
        found = json.loads(said(feet, f"size --guests 120 --surface {asked} --json"))
        goods[asked] = D(found["kinds"][0]["sizes"][0]["goods"]) - D("556.80")
    edging = 16 * D("2.95") + 4 * D("1.75")
    assert goods == {"grass": 0, "grass --edging": edging, "paving": edging, "paving --bare": 0}


def test_side_by_side(feet):
    """The shipped card on grass: the sheets under small sections take about four times the sections' own time.

    Common practice, no source; and 20 panels are laid by two people in about ten minutes.
    """
    found = json.loads(said(feet, "compare --surface grass --floor 16x20 --json"))
    kinds = {kind["panel"]: kind for kind in found["kinds"]}
    large, small = kinds["OAK-44"], kinds["WHITE-23"]
    assert D(large["minutes"]) / 2 == 10
    floor_minutes = D(small["minutes"]) - D(small["subfloor_minutes"])
    assert 3 < D(small["subfloor_minutes"]) / floor_minutes < 5
    assert "not_on_surface" in kinds["MAPLE-33"]["notes"]
    assert D(small["labour"]) > D(large["labour"])


def test_what_is_free_on_the_date_counts(tmp_path):
    """Of 60 panels 56 are agreed for 12 June 2027, away until the 13th: none of the 16 x 16 ft floors is left."""
    at = desk.init(tmp_path / "desk")
    asked = Request(
        event_date=date(2027, 6, 12), days=D(1), surface="grass", lines=(FloorLine("OAK-44", D(28), D(32)),)
    )
    path, _ = issue_and_record(at, open_ledger(at), at.card(), asked, next(at.numbers()), date(2027, 1, 4))
    agree(at, open_ledger(at), at.card(), path, said_yes="by telephone", today=date(2027, 1, 5))
    free = {}
    for on in ("", "--date 2027-06-12", "--date 2027-06-14", "--date 2027-06-10 --days 3"):
        large = json.loads(said(at, f"size --guests 120 --surface grass --json {on}"))["kinds"][0]
        free[on] = large["free"], large["sizes"][0]["enough_free"]
    assert free == {
        "": (60, True), "--date 2027-06-12": (4, False), "--date 2027-06-14": (4, False),
        "--date 2027-06-10 --days 3": (4, False),
    }  # fmt: skip
    sizes = said(at, "size --guests 120 --surface grass --date 2027-06-20")
    assert "60 panels free on June 20, 2027" in " ".join(sizes.split())
    compared = json.loads(said(at, "compare --surface grass --floor 16x20 --date 2027-06-12 --json"))["kinds"][0]
    assert "not_enough_free" in compared["notes"]
    dated = said(at, "compare --surface grass --floor 16x20 --date 2027-06-12")
    assert "More panels than are free on June 12, 2027." in dated
    assert "More panels than you own." in said(at, "compare --surface grass --floor 28x40")


def test_words_and_json_say_the_same_total(feet):
    command = "compare --surface grass --floor 16x20 --miles 20"
    [line] = [line for line in said(feet, command).splitlines() if line.startswith("Total")]
    found = json.loads(said(feet, f"{command} --json"))
    totals = [D(kind["total"]) for kind in found["kinds"] if "not_on_surface" not in kind["notes"]]
    assert [D(amount.replace(",", "")) for amount in line.split()[2:]] == totals


def test_a_mix_and_its_plan(feet):
    """14 x 20 ft: 280 sq ft of sixteens and eights, 15 large and 5 half panels in a strip on the right."""
    found = json.loads(said(feet, "mix OAK-44+OAK-42:14x20 --json"))
    assert found["counts"] == {"OAK-44": 15, "OAK-42": 5}
    text = said(feet, "mix OAK-44+OAK-42:14x20")
    assert "OAK-44      15    12 x 20" in text and "OAK-42       5     2 x 20" in text
    assert "|   1   |   2   |   3   | 20|" in text


def test_a_plan_too_wide_for_a_terminal_is_left_to_the_day_sheet(feet):
    text = said(feet, "mix OAK-44+OAK-42:150x20")
    assert "The plan is too wide to draw here. The day sheet shows it." in text
    assert max(map(len, text.splitlines())) <= 80


def test_a_mix_that_cannot_be_made(feet):
    """18 x 22 ft is 396 sq ft, no sum of sixteens and eights."""
    assert "Nearest sizes: 20 x 22, 18 x 24, 18 x 20, 16 x 22." in said(feet, "mix OAK-44+OAK-42:18x22")
    assert json.loads(said(feet, "mix OAK-44+OAK-42:18x22 --json"))["placements"] == []


REFUSED = {
    "size --guests 120.5 --surface grass": "guests: found 120.5; allowed: a whole number",
    "size --guests 120 --surface lava": 'surface: found "lava"; allowed: one of grass',
    "size --guests 120 --surface grass --share 130": "130 is not from 0 to 100",
    "size --guests 120 --surface grass --area 0": "--area is 0; allowed",
    "size --guests 120 --surface grass --ratio 0.5": "--ratio is 0.5; allowed: a number from 1",
    "size --guests 120 --surface grass --within 30": "'30' is not a size: write it as 30x40",
    "size --guests 120 --surface grass --within 0x40": "'0x40' is not a size",
    "compare --surface grass --floor 16by20": "is not a floor",
    "compare --surface grass --floor 16x20 --days 0": "days: found 0; allowed: a whole number from 1",
    "mix OAK-44:18x22": "is not a mix of panels; allowed: CODE+CODE:WIDTHxLENGTH",
    "mix OAK-44+ELM-44:18x22": "ELM-44: not on the rate card; it has OAK-44",
    "mix OAK-44+WHITE-23:18x22": "OAK-44 has oak, WHITE-23 has none",
    "mix WHITE-23+MAPLE-33:18x22": "do not lock together",
    "mix OAK-44+OAK-42:0x22": "each side must be above 0",
    "mix OAK-44+OAK-34+OAK-42:900x900": "Ask for a smaller floor",
}


@pytest.mark.parametrize("command", REFUSED)
def test_what_cannot_be_asked_is_refused_in_a_sentence(feet, command):
    result = run(feet, command)
    assert result.exit_code == 2
    assert REFUSED[command] in result.output
    assert "Traceback" not in result.output
