"""The command issue: the size of a room, and a list that says each caution once."""

import openpyxl
import pytest
from click.testing import CliRunner

from quotebook import desk as desks
from quotebook.cli import main

CLEAR_WAY = "leaves no clear way of 3 ft all round it"


@pytest.fixture
def desk(tmp_path, monkeypatch):
    """A new desk as the current folder."""
    made = desks.init(tmp_path / "desk")
    monkeypatch.chdir(made.folder)
    return made


def issue(*arguments, status=0):
    result = CliRunner().invoke(main, ["issue", *arguments])
    assert result.exit_code == status, result.output
    return result.output


ASK = ("--date", "2027-06-12", "--surface", "hard indoors", "--floor", "OAK-44:16x20:edging")


@pytest.mark.parametrize(("room", "warned"), [("22x26", True), ("30x40", False)])
def test_the_room_is_on_the_quote_and_held_against_the_floor(desk, room, warned):
    """16 x 20 ft with edging of half a foot all round and 3 ft on each side needs 23 x 27 ft."""
    said = issue(*ASK, "--room", room)
    assert (CLEAR_WAY in " ".join(said.split())) == warned
    book = openpyxl.load_workbook(desk.issued_path("Q0001", 1))
    sides = []
    for name in ("room_width", "room_length"):
        [(sheet, cell)] = book.defined_names[name].destinations
        sides.append(book[sheet][cell].value)
    assert sides == [int(side) for side in room.split("x")]


@pytest.mark.parametrize("room", ["22", "22 by 26", "-1x20"])
def test_a_room_that_is_none_gets_a_sentence(desk, room):
    assert "--room" in issue(*ASK, "--room", room, status=2)


def test_a_list_says_each_caution_once_with_its_quotes(desk):
    rows = [f"{client},2027-06-{12 + 7 * week},grass,OAK-44:16x20,200" for week, client in enumerate("AB")]
    rows.append("C,2027-06-12,hard indoors,MAPLE-33:12x12,10")
    (desk.folder / "list.csv").write_text("\n".join(["client,date,surface,floor,guests", *rows]))
    lines = issue("--requests", "list.csv").splitlines()
    assert [line.split()[0] for line in lines[:3]] == ["Q0001", "Q0002", "Q0003"]
    notes = lines[3:]
    assert len({note.partition(" (Q0")[0] for note in notes}) == len(notes)
    assert [note for note in notes if "More dancers" in note and note.endswith("(Q0001, Q0002)")]
