"""Which option of a quote counts, as `quotes` and `compare` say it: the one picked at issue until another is agreed."""

import json

import pytest
from click.testing import CliRunner

from quotebook import desk as desks
from quotebook.checking.check import issued_content
from quotebook.cli import main
from quotebook.demonstration.demo import retype
from quotebook.spreadsheets.reading import read_workbook

EVENT = ("--date", "2027-06-12", "--surface", "grass", "--guests", "120")


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    """Q0001 offers two options, A picked; Q0002 offers none."""
    desk = desks.init(tmp_path_factory.mktemp("options") / "desk")
    run(
        desk,
        "issue",
        *EVENT,
        "--floor",
        "A=OAK-44:16x20:edging",
        "--floor",
        "B=WHITE-23:16x21",
        "--floor",
        "OAK-34:6x8",
    )
    run(desk, "issue", *EVENT, "--floor", "OAK-44:16x20")
    return desk


@pytest.fixture(scope="module")
def other_picked(desk):
    """The workbook of Q0001 as a client sends it back who picked B."""
    path = desk.issued_path("Q0001", 1)
    content, _ = issued_content(read_workbook(path), desk)
    return retype(path, desk.folder.parent / "b.xlsx", content, {"picked": "B"})


def run(desk, command, *arguments, status=0):
    result = CliRunner().invoke(main, [command, *map(str, arguments), "--desk", str(desk.folder)])
    assert result.exit_code == status, result.output
    return result.output


def quote(desk, number="Q0001"):
    found = json.loads(run(desk, "quotes", "--json"))["quotes"]
    return next(each for each in found if each["quote_number"] == number)


def test_options_stand_side_by_side_with_every_floor(desk):
    said = run(desk, "compare", "Q0001")
    assert "Option A  Option B" in said and "Subfloor sheets" in said
    assert "A: OAK-44 16 x 20 ft, edging, OAK-34 6 x 8 ft, bare." in said
    assert "Option A is picked, as it was at issue. The ledger counts it until the quote is\nagreed." in said


def test_each_option_costs_in_words_and_json_what_its_quote_says(desk):
    found = json.loads(run(desk, "compare", "Q0001", "--json"))
    content, _ = issued_content(read_workbook(desk.issued_path("Q0001", 1)), desk)
    assert [(each["option"], each["total"], each["setup_hours"]) for each in found["options"]] == [
        (letter.upper(), str(content.results[f"total_{letter}"]), str(content.results[f"setup_hours_{letter}"]))
        for letter in "ab"
    ]
    assert found["picked"] == "A"
    totals = [f"{float(each['total']):,.2f}" for each in found["options"]]
    [total] = [line for line in run(desk, "compare", "Q0001").splitlines() if line.startswith("Total")]
    assert total.split()[2:] == totals


def test_the_list_names_the_option_and_says_until_when_it_counts(desk):
    said = run(desk, "quotes")
    assert "(A) of A, B" in said and said.endswith("which counts until the quote is agreed.\n")
    assert (quote(desk)["options"], quote(desk)["picked"]) == (["A", "B"], "A")
    assert (quote(desk, "Q0002")["options"], quote(desk, "Q0002")["picked"]) == ([], None)


def test_what_the_client_picked_counts_from_the_agreement_on(desk, other_picked):
    said = " ".join(run(desk, "compare", other_picked).split())
    assert "Option B is picked. The ledger counts option A, picked at issue, until the quote is agreed." in said
    before = quote(desk)
    run(desk, "agree", other_picked, "--said-yes", "by telephone")
    agreed = quote(desk)
    assert (agreed["picked"], agreed["state"]) == ("B", "agreed") and agreed["total"] != before["total"]
    said = run(desk, "quotes")
    assert " B of A, B" in said and "In brackets" not in said
    assert "Option B is agreed, and is what counts." in run(desk, "compare", "Q0001")
    run(desk, "undo", "Q0001", "--because", "a slip")
    assert quote(desk)["picked"] == "A"


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (("Q0002",), "Q0002: offers no options. To compare kinds of panel: --floor and --surface."),
        (("Q0001", "--surface", "grass"), "a quote says which floors it offers, for which event: name it alone"),
        (("--floor", "16x20"), "Missing option '--surface'."),
        (("--surface", "grass"), "Missing option '--floor'."),
    ],
)
def test_what_cannot_be_compared_gets_a_sentence(desk, arguments, sentence):
    assert sentence in run(desk, "compare", *arguments, status=2)
