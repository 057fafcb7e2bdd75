"""A floor of several kinds on a quote: its lines come to what the whole floor comes to."""

from collections import Counter
from dataclasses import replace
from datetime import date
from decimal import Decimal as D
from importlib.resources import files
from math import ceil

import pytest
from extent import extent
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from quotebook import desk as desks
from quotebook.checking.check import check_file
from quotebook.demonstration.demo import retype
from quotebook.engine.mix import blocks, mix
from quotebook.engine.model import FloorLine, Request
from quotebook.engine.price import price
from quotebook.errors import Misuse
from quotebook.quoting.issuing import issue
from quotebook.quoting.mixing import fill_floor, floor_lines, parse_mix
from quotebook.quoting.reissuing import Disputed, reissue
from quotebook.rate_card.reader import read_rate_card

CARD = read_rate_card(files("quotebook.templates") / "rate_card.xlsx")


def test_14_by_20_by_hand():
    """12 x 20 ft of 4x4 and a strip of 2 x 20 of 4x2 turned; the first carries what the strip adds."""
    assert floor_lines("OAK-44+OAK-42:14x20:edging", CARD, "grass") == (
        FloorLine("OAK-44", D(12), D(20), True, D(2), D(0), joined_right=D(2)),
        FloorLine("OAK-42", D(2), D(20), True, D(-2), D(-20)),
    )


@pytest.mark.parametrize(
    ("text", "surface", "lines"),
    [
        ("OAK-44:18x22", "grass", (FloorLine("OAK-44", D(18), D(22), False),)),
        ("OAK-44+OAK-42:16x16", "paving", (FloorLine("OAK-44", D(16), D(16), True),)),
        ("oak-42 + OAK-44:16x16:bare", "paving", (FloorLine("OAK-44", D(16), D(16), False),)),
    ],
)
def test_a_floor_of_one_kind_is_one_line(text, surface, lines):
    assert floor_lines(text, CARD, surface) == lines


codes = st.sampled_from(["OAK-44+OAK-42", "OAK-44+OAK-34", "OAK-34+OAK-42", "OAK-44+OAK-34+OAK-42"])


@settings(max_examples=extent(15, 300))
@given(codes, st.integers(4, 30), st.integers(4, 30), st.booleans())
def test_the_lines_come_to_the_whole_floor(codes, width, length, edged):
    """Panels of each kind as the mix counts them, none more; edging round the outside alone; the area asked for."""
    text = f"{codes}:{width}x{length}:{'edging' if edged else 'bare'}"
    kinds = [CARD.rates.kind(code) for code in codes.split("+")]
    counts = mix(kinds, D(width), D(length)).counts
    assume(counts)
    lines = floor_lines(text, CARD, "grass")
    figures = price(CARD.rates, Request(days=D(1), surface="grass", lines=lines))
    priced = Counter()
    for number, line in enumerate(lines, 1):
        priced[line.panel] += int(figures.line(number).panels)
    assert priced == counts
    assert figures.area == width * length
    pieces = sum(figures.line(number).edging_pieces for number in range(1, len(lines) + 1))
    corners = sum(figures.line(number).corners for number in range(1, len(lines) + 1))
    assert (pieces, corners) == ((2 * (ceil(width / 4) + ceil(length / 4)), 4) if edged else (0, 0))


def test_a_subfloor_goes_under_the_whole_floor():
    """14 x 20 ft over sheets of 4x8: 5 by 2 of them, however the panels divide it."""
    over = tuple(replace(kind, layings=("over subfloor",) * 4, subfloor_kind="PLY-48") for kind in CARD.rates.kinds)
    card = replace(CARD, rates=replace(CARD.rates, kinds=over))
    lines = floor_lines("OAK-44+OAK-42:14x20", card, "grass")
    figures = price(card.rates, Request(days=D(1), surface="grass", lines=lines))
    assert (figures.line(1).sheets, figures.line(2).sheets) == (10, 0)


REFUSED = {
    "OAK-44+OAK-42:18x22": "Nearest sizes: 20 x 22",
    "OAK-44+WHITE-23:18x22": "do not lock together",
    "OAK-44+OAK-42": "is not a mix",
}


@pytest.mark.parametrize("text", REFUSED)
def test_what_cannot_be_made_is_refused(text):
    with pytest.raises(Misuse, match=REFUSED[text]):
        floor_lines(text, CARD, "grass")


def test_kinds_that_one_ground_does_not_take_alike_are_refused():
    half = replace(CARD.rates.kind("OAK-42"), layings=("over subfloor",) * 4, subfloor_kind="PLY-48")
    kinds = tuple(half if kind.panel == "OAK-42" else kind for kind in CARD.rates.kinds)
    with pytest.raises(Misuse, match="not laid in one way on grass"):
        floor_lines("OAK-44+OAK-42:14x20", replace(CARD, rates=replace(CARD.rates, kinds=kinds)), "grass")


def test_a_code_given_twice_counts_once():
    assert [kind.panel for kind in parse_mix("OAK-44+oak-44+OAK-42:4x6", CARD).kinds] == ["OAK-44", "OAK-42"]


@pytest.fixture
def issued(tmp_path):
    """A desk and a quote of one floor of two kinds."""
    desk = desks.init(tmp_path / "desk")
    request = Request(
        client="A",
        event_date=date.today(),
        days=D(1),
        surface="paving",
        lines=floor_lines("OAK-44+OAK-42:14x20", CARD, "paving"),
    )
    path, content = issue(desk, CARD, request, next(desk.numbers()), date.today())
    return desk, path, content


def test_the_workbook_comes_back_and_keeps_its_floor(issued, tmp_path):
    """Issued, answered with another number of days, checked and reissued: still one floor, edged once."""
    desk, path, content = issued
    assert content.owner["joined_width_1"] == 2
    returned = retype(path, tmp_path / "returned.xlsx", content, {"days": D(2)})
    assert check_file(returned, desk).verdict == "changed"
    again = reissue(desk, returned).content
    assert {name: value for name, value in again.owner.items() if name.startswith("joined_")} == {
        name: value for name, value in content.owner.items() if name.startswith("joined_")
    }
    assert again.results["edging_pieces_1"] == 18 and again.results["edging_pieces_2"] == 0


def test_a_client_who_changes_one_block_is_told_apart(issued, tmp_path):
    """The sheet prices it; the check tells it as one floor that was changed, and no reissue takes it."""
    desk, path, content = issued
    returned = retype(path, tmp_path / "returned.xlsx", content, {"length_1": D(24)})
    [finding] = check_file(returned, desk).findings
    assert (finding.kind, finding.name, finding.disputes) == ("part-changed", "length_1", True)
    assert "Length, line 1 (length_1) 20 ft, now 24 ft" in finding.message
    for accept in ([], ["part-changed:length_1"]):
        with pytest.raises(Disputed, match="Floor lines 1, 2 are one floor laid of several kinds"):
            reissue(desk, returned, accept)


def test_both_parts_changed_are_said_in_one_sentence(issued, tmp_path):
    desk, path, content = issued
    returned = retype(path, tmp_path / "returned.xlsx", content, {"length_1": D(24), "length_2": D(24)})
    [said] = [each.message for each in check_file(returned, desk).findings if each.kind == "part-changed"]
    assert "a part of it was changed by itself: Length, line 1 (length_1) 20 ft, now 24 ft; Length, line 2" in said


def test_what_joins_lines_is_not_the_clients_to_change(issued, tmp_path):
    desk, path, content = issued
    report = check_file(retype(path, tmp_path / "returned.xlsx", content, {"joined_width_1": D(-12)}), desk)
    [finding] = [finding for finding in report.findings if finding.kind == "rate-changed"]
    assert (report.verdict, finding.name) == ("disputed", "joined_width_1")
    assert finding.effect < 0  # no edging is paid for


NEAR_LEFT = ("OAK-44+OAK-42:14x20", "OAK-44+OAK-34:8x10", "OAK-44+OAK-34:10x8", "OAK-44+OAK-34:12x10")
"""In all but the first the larger block is the other one."""


@pytest.mark.parametrize("floor", NEAR_LEFT)
def test_the_first_line_is_the_block_at_the_near_left_as_the_crew_s_plan_has_it(floor):
    first, _ = floor_lines(floor, CARD, "paving")
    asked = parse_mix(floor, CARD)
    found = blocks(fill_floor(asked.kinds, asked.width, asked.length).placements)
    [near] = [block for block in found if not (block.x or block.y)]
    assert (first.panel, first.width, first.length) == (near.panel, near.width, near.length)


@pytest.fixture
def offered(tmp_path):
    """A desk and a quote of two options, of which the second, which is not picked, is one floor of two kinds."""
    desk = desks.init(tmp_path / "desk")
    lines = [
        line for floor in ("A=OAK-44:16x20", "B=OAK-44+OAK-42:14x20") for line in floor_lines(floor, CARD, "paving")
    ]
    request = Request(
        client="A", event_date=date.today(), days=D(1), surface="paving", lines=tuple(lines), picked="A"
    )  # fmt: skip
    path, content = issue(desk, CARD, request, next(desk.numbers()), date.today())
    return desk, path, content


def test_a_part_that_is_changed_in_an_option_not_picked_holds_nobody_up(offered, tmp_path):
    """No price rests on it. A further revision offers the floor as it was."""
    desk, path, content = offered
    changes = {"length_2": D(24), "days": D(2)}
    returned = retype(path, tmp_path / "returned.xlsx", content, changes)
    report = check_file(returned, desk)
    assert (report.verdict, {finding.kind for finding in report.findings}) == ("changed", {"input-changed"})
    again = reissue(desk, returned).content
    assert (again.inputs["length_2"], again.inputs["days"]) == (D(20), D(2))


def test_a_part_that_is_changed_in_the_option_picked_does(offered, tmp_path):
    desk, path, content = offered
    returned = retype(path, tmp_path / "returned.xlsx", content, {"length_2": D(24), "picked": "B"})
    kinds = {finding.kind: finding for finding in check_file(returned, desk).findings}
    assert kinds.keys() == {"input-changed", "part-changed"}
    assert "Floor lines 2, 3 are one floor" in kinds["part-changed"].message
    with pytest.raises(Disputed, match="one floor laid of several kinds"):
        reissue(desk, returned)
