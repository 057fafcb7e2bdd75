"""Quotes that an earlier version issued (`tests/witnesses`): each is held against what was signed in it."""

import shutil
from decimal import Decimal as D
from pathlib import Path

import hands
import pytest
from click.testing import CliRunner
from edits import Book
from hypothesis import given, settings
from hypothesis import strategies as st

from quotebook.bookings.archive import open_ledger
from quotebook.bookings.decisions import agree, reissue_and_record
from quotebook.bookings.jobs import job_of_file
from quotebook.checking.check import check_file, returned_quote
from quotebook.checking.findings import AGREES, CHANGED, DISPUTED
from quotebook.cli import main
from quotebook.desk import Desk
from quotebook.engine import price as engine_price
from quotebook.engine.model import RULES
from quotebook.spreadsheets.cells import CellAddress

WITNESSES = Path(__file__).parent.parent / "witnesses" / "rules-1"
TOTALS = {"Q0001": D("1061.92"), "Q0002": D("5256.35"), "Q0003": D("2620.75")}
"""As their version issued them."""
WIDER = D("5229.47")
"""What that version made of the entries in `returned/Q0002-wider.xlsx`, and LibreOffice of its formulas."""


@pytest.fixture
def desk(tmp_path):
    folder = tmp_path / "desk"
    shutil.copytree(WITNESSES, folder)
    return Desk(folder)


def issued(desk, number):
    return desk.issued_path(number, 1)


@pytest.mark.parametrize("number", TOTALS)
def test_an_earlier_quote_is_as_it_was_issued(desk, number):
    report = check_file(issued(desk, number), desk)
    assert (report.verdict, report.state) == (AGREES, "consistent")
    assert report.issued == report.engine == report.worked_out == report.sheet == TOTALS[number]
    (finding,) = report.findings
    assert (finding.kind, finding.expected, finding.found) == ("other-rules", "1", RULES)
    assert "its own signed formulas" in finding.message


@pytest.mark.parametrize("number", TOTALS)
def test_every_figure_that_was_signed_is_found_again(desk, number):
    comparison = returned_quote(issued(desk, number), desk)
    signed, found = comparison.content.results, comparison.expected.by_name()
    layings = {name for name in found if name.startswith("laying_")}
    known = (found.keys() & signed.keys()) - layings
    assert len(known) > 300
    assert {name: found[name] for name in known} == {name: signed[name] for name in known}
    assert {comparison.dictionary.layings.get(found[name], "") for name in layings} == {
        signed[name] for name in layings
    }


def test_what_its_client_changed_goes_by_its_own_rules(desk, monkeypatch):
    monkeypatch.setattr(engine_price, "price", None)  # whatever today's engine makes of it
    report = check_file(desk.folder / "returned" / "Q0002-wider.xlsx", desk)
    assert (report.verdict, report.issued, report.engine, report.sheet) == (CHANGED, TOTALS["Q0002"], WIDER, WIDER)
    changed = {finding.name for finding in report.findings if finding.kind == "input-changed"}
    assert changed == {"width_1", "days", "after_hours"}


def test_an_earlier_quote_with_a_rate_cut_is_disputed(desk, tmp_path):
    places = returned_quote(issued(desk, "Q0001"), desk).content.places

    def cut(program):
        program.type("hourly_rate", D(12))

    back = hands.by_ironcalc(issued(desk, "Q0001"), tmp_path / "back.xlsx", places, cut)
    report = check_file(back, desk)
    assert (report.verdict, report.engine) == (DISPUTED, TOTALS["Q0001"])
    (finding,) = (finding for finding in report.findings if finding.disputes)
    assert (finding.reference, finding.effect) == ("rate-changed:hourly_rate", report.sheet - report.engine)


def test_an_earlier_quote_with_a_row_inserted_is_as_it_was_issued(desk, tmp_path):
    path = issued(desk, "Q0003")
    sheet = returned_quote(path, desk).content.places["total"][0]
    back = Book(path).edit().insert(sheet, row=8).save(tmp_path / "back.xlsx")
    assert check_file(back, desk).verdict == AGREES


ENTRIES = st.fixed_dictionaries(
    {
        "days": st.integers(0, 9), "flights": st.integers(0, 3), "guests": st.integers(0, 400),
        "miles": st.decimals(0, 90, places=1), "waiver_taken": st.sampled_from(["yes", "no"]),
        "width_1": st.decimals(0, 60, places=1), "length_1": st.decimals(1, 60, places=1),
        "surface": st.sampled_from(["grass", "paving", "hard indoors", "carpet indoors"]),
        "panel_2": st.sampled_from(["OAK-44", "OAK-34", "WHITE-23", "MAPLE-33", "none"]), "width_2": st.integers(1, 40),
        "length_2": st.integers(1, 40),
    }
)  # fmt: skip


@pytest.fixture(scope="module")
def in_ironcalc(tmp_path_factory):
    pytest.importorskip("ironcalc")
    desk = Desk(tmp_path_factory.mktemp("earlier") / "desk")
    shutil.copytree(WITNESSES, desk.folder)
    return desk, returned_quote(issued(desk, "Q0001"), desk).content.places


def _comes_to_the_same(in_ironcalc, entries):
    desk, places = in_ironcalc

    def edit(program):
        for name, value in entries.items():
            program.type(name, D(value) if isinstance(value, int) else value)

    back = hands.by_ironcalc(issued(desk, "Q0001"), desk.folder / "back.xlsx", places, edit)
    report = check_file(back, desk)
    assert report.engine == report.sheet


@settings(max_examples=2)
@given(ENTRIES)
def test_the_signed_formulas_come_to_what_another_program_makes_of_them(in_ironcalc, entries):
    _comes_to_the_same(in_ironcalc, entries)


@pytest.mark.slow
@settings(max_examples=200)
@given(ENTRIES)
def test_the_signed_formulas_come_to_what_another_program_makes_of_them_at_length(in_ironcalc, entries):
    _comes_to_the_same(in_ironcalc, entries)


def test_it_is_agreed_and_laid_by_its_own_figures(desk):
    agreed = agree(desk, open_ledger(desk), desk.card(), issued(desk, "Q0001"), said_yes="by telephone")
    assert (agreed.new, agreed.quote.total) == (True, int(TOTALS["Q0001"] * 100))
    assert job_of_file(desk, desk.folder / "returned" / "Q0002-wider.xlsx").figures.total == WIDER


def test_it_is_reissued_by_todays_rules(desk):
    done = reissue_and_record(desk, open_ledger(desk), issued(desk, "Q0001"))
    assert (done.before, done.content.rules) == (TOTALS["Q0001"], RULES)
    assert check_file(done.path, desk).findings == ()
    assert not any("rates" in sentence for sentence in done.changes)


@pytest.mark.parametrize("number", TOTALS)
def test_it_is_explained(desk, number):
    said = CliRunner().invoke(main, ["explain", "--desk", str(desk.folder), number, "--depth", "1"])
    assert said.exit_code == 0 and f"(total): {TOTALS[number]} = " in said.output


def test_a_stamp_that_signs_more_than_is_known_here_is_read(desk, tmp_path):
    from quotebook.contract import stamp

    content = returned_quote(issued(desk, "Q0001"), desk).content
    content.__dict__["of_a_later_version"] = {"unknown": 1}
    texts = stamp.seal(content, desk.key())
    assert stamp.unseal(texts[1:], desk.key()).places == content.places
    assert CellAddress(*content.places["total"])
