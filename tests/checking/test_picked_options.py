"""A quote that offers options comes back: what its client picked, and what that is worth, holds and costs."""

from dataclasses import replace
from datetime import date
from decimal import Decimal as D

import hands
import pytest
import worked_example
from edits import Book
from extent import some
from soffice import Job

from quotebook import desk as desks
from quotebook.bookings.archive import open_ledger, record_of_file
from quotebook.bookings.decisions import agree, issue_and_record
from quotebook.bookings.jobs import job_of_file
from quotebook.checking.check import check_file, returned_quote
from quotebook.checking.explanation import explain
from quotebook.checking.issued import IssuedQuotes
from quotebook.checking.worked_out import WorkedOut
from quotebook.contract.words import LANGUAGES
from quotebook.quoting.issuing import issue
from quotebook.quoting.reissuing import Disputed, reissue
from quotebook.spreadsheets.cells import CellAddress

TODAY = date(2026, 5, 4)
OAK, SNAP, WHITE = worked_example.REQUEST.lines
OFFERED = replace(
    worked_example.REQUEST, lines=(replace(OAK, option="A"), replace(SNAP, option="B"), WHITE), picked="A"
)
TOTALS = {"A": D("3017.40"), "B": D("1714.54")}
"""By hand, in `tests/engine/test_options.py`."""


ADDED = {"panel_4": "4x4", "width_4": D(8), "length_4": D(8), "option_4": "C"}
"""A floor under a letter that was not offered."""
TYPED = [
    *({"picked": picked} for picked in ("B", "a", "b", "", "C", "both")),
    *({"option_2": option} for option in ("D", "")),
    {"width_2": ""}, {"total_b": D(1)}, {"hire_2_b": D(1)}, ADDED, ADDED | {"picked": "C"},
]  # fmt: skip
"""What is typed over the named cells of the quote, a file each; an empty text clears one."""


class Offer:
    """A desk where the floors of the worked example were offered as options A and B, with the white floor in both."""

    def __init__(self, folder):
        self.desk, self.folder = desks.init(folder / "desk"), folder
        self.card = replace(self.desk.card(), rates=worked_example.RATES)
        self.ledger = open_ledger(self.desk)
        self.path, self.content = issue_and_record(
            self.desk, self.ledger, self._card_with_stock(), OFFERED, "Q0001", TODAY
        )

    def _card_with_stock(self):
        holdings = {
            code: replace(next(iter(self.card.holdings.values())), owned=D(200)) for code in ("4x4", "2x3", "3x4")
        }
        sheets = {"ply": replace(next(iter(self.card.sheet_holdings.values())), owned=D(40))}
        self.card = replace(self.card, holdings=holdings, sheet_holdings=sheets, carts_owned=D(30))
        return self.card

    def typed(self, **typed):
        """The report on the file after somebody typed over some named cells in LibreOffice: one of TYPED."""
        return self.check(self.saved(**typed))

    def saved(self, **typed):
        return self.folder / f"{TYPED.index(typed)}.xlsx"

    def check(self, path):
        return check_file(path, self.desk, TODAY)


@pytest.fixture(scope="module")
def offer(tmp_path_factory, by_libreoffice):
    """The desk, with a file that came back for each of TYPED."""
    made = Offer(tmp_path_factory.mktemp("offer"))
    by_libreoffice([Job(made.path, made.saved(**typed), hands.steps(made.content.places, typed)) for typed in TYPED])
    return made


def test_the_quote_opens_with_the_first_option_and_shows_what_each_comes_to(offer):
    results = offer.content.results
    assert results["total"] == results["total_a"] == TOTALS["A"]
    assert results["total_b"] == TOTALS["B"]
    assert (results["option_said_a"], results["option_note_a"]) == ("Oak effect, 20 x 24 ft, edged. ", "")
    assert results["option_said_b"] == "Snap section, 10 x 12 ft. "
    # Room for 67 people to stand on 336 sq ft, and 48 dance.
    assert results["option_note_b"] == "Over a subfloor. "
    report = offer.check(offer.path)
    assert (report.verdict, report.picked, report.findings, report.engine) == ("agrees", "A", (), TOTALS["A"])


def test_another_option_picked_is_a_change_that_adds_up(offer):
    report = offer.typed(picked="B")
    (finding,) = report.findings
    assert (report.verdict, report.picked, report.state) == ("changed", "B", "consistent")
    assert (finding.kind, finding.name, finding.expected, finding.found) == ("input-changed", "picked", "A", "B")
    assert finding.effect == TOTALS["B"] - TOTALS["A"]
    assert report.sheet == report.engine == report.worked_out == TOTALS["B"]


def test_a_small_letter_is_the_same_pick(offer):
    assert offer.typed(picked="a").findings == ()
    assert offer.typed(picked="b").picked == "B"


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"picked": ""}, "blank cannot be used; it must be A or B."),
        ({"picked": "C"}, "C cannot be used; it must be A or B."),
        ({"picked": "both"}, "both cannot be used; it must be A or B."),
        (
            {"option_2": "D"},
            "D cannot be used; it must be A, B, C, or nothing where the floor belongs to every option.",
        ),
    ],
)
def test_a_pick_that_is_no_option_cannot_be_used(offer, typed, said):
    report = offer.typed(**typed)
    found = [finding for finding in report.findings if finding.kind == "input-invalid"]
    assert said in found[0].message
    assert report.verdict == "disputed" and report.state == "consistent"
    assert report.worked_out == report.engine
    with pytest.raises(Disputed, match="cannot be priced"):
        agree(offer.desk, offer.ledger, offer.card, offer.saved(**typed), said_yes="by telephone", today=TODAY)


def test_a_floor_taken_into_every_option(offer):
    """With no letter the snap sections come with the oak too: all three floors, as the worked example has them."""
    report = offer.typed(option_2="")
    (finding,) = report.findings
    assert (finding.kind, finding.name) == ("input-changed", "option_2")
    assert report.sheet == report.engine == worked_example.FIGURES.total


def test_what_is_left_out_may_be_anything(offer):
    """Snap sections of no size: option A is as it was, and B is no offer in the table."""
    path = offer.saved(width_2="")
    report = offer.check(path)
    (finding,) = report.findings
    assert (finding.kind, finding.name, report.verdict) == ("input-changed", "width_2", "changed")
    assert report.sheet == report.engine == TOTALS["A"]
    sheet = WorkedOut(returned_quote(path, offer.desk))
    values = {name: sheet.evaluation.cell(sheet.returned.cells[name].place) for name in ("cannot_b", "option_note_b")}
    assert values == {
        "cannot_b": 1,
        "option_note_b": "Give a width and a length that can be laid: the line is not priced. ",
    }


def test_an_option_is_explained_by_its_own_figures(offer):
    sheet = WorkedOut(returned_quote(offer.path, offer.desk))
    step = explain(sheet, "total_b", 0)[0]
    assert (step.label, step.value) == ("Total, option B", "1714.54")
    assert "1251.86" not in step.in_numbers and "1317.75" in step.in_numbers


@pytest.mark.parametrize(("name", "kind"), [("total_b", "formula-replaced"), ("hire_2_b", "formula-replaced")])
def test_a_figure_of_an_option_that_is_not_picked_is_the_firms_too(offer, name, kind):
    report = offer.typed(**{name: D(1)})
    assert [finding.kind for finding in report.findings] == [kind]
    assert report.verdict == "disputed"
    assert f"option B ({name})" in report.findings[0].message


def test_a_false_figure_of_an_option_is_found(offer):
    """The value that the file shows for an option, where its formula is as it was."""
    book = Book(offer.path).edit()
    book.cache(CellAddress(*offer.content.places["total_b"]), D(1))
    report = offer.check(book.save(offer.folder / "false.xlsx"))
    assert "arithmetic-differs" in {finding.kind for finding in report.findings}


@pytest.fixture(scope="module")
def accepted(offer, by_libreoffice):
    """What LibreOffice saves after a client picked B and accepted, in both formats."""
    typed = {"picked": "B", "accepted": "yes", "accepted_by": "A. Client"}
    files = {form: offer.folder / f"accepted.{form}" for form in ("xlsx", "ods")}
    by_libreoffice([Job(offer.path, file, hands.steps(offer.content.places, typed)) for file in files.values()])
    return files


@pytest.mark.parametrize("form", ["xlsx", "ods"])
def test_picked_and_accepted_in_libreoffice(offer, accepted, form):
    report = offer.check(accepted[form])
    assert [(finding.kind, finding.name) for finding in report.findings] == [("input-changed", "picked")]
    assert (report.answer, report.picked, report.state, report.remainder) == ("yes", "B", "consistent", 0)
    assert report.sheet == report.worked_out == report.engine == TOTALS["B"]


def test_only_what_was_picked_is_held_and_laid(accepted, offer):
    done = agree(offer.desk, offer.ledger, offer.card, accepted["xlsx"], today=TODAY)
    assert [(line.line, line.panel, line.panels, line.sheets) for line in done.quote.lines] == [
        (2, "2x3", 20, 6), (3, "3x4", 18, 0),
    ]  # fmt: skip
    assert done.quote.total == TOTALS["B"] * 100
    held = offer.ledger.held_items(worked_example.REQUEST.event_date)
    assert {item.code for item in held if item.what == "panels"} == {"2x3", "3x4"}
    job = job_of_file(offer.desk, accepted["xlsx"])
    assert [line.panel for line in job.request.lines] == ["", "2x3", "3x4", "", "", ""]
    assert job.loads


def test_an_open_quote_is_recorded_with_what_is_picked(offer):
    record = record_of_file(offer.desk, offer.path, offer.card.firm)
    assert [(line.line, line.panel, line.panels) for line in record.lines] == [(1, "4x4", 30), (3, "3x4", 18)]
    assert record.total == TOTALS["A"] * 100


def test_a_third_option_of_the_client_s_own(offer):
    """A floor on a spare line under a letter that was not offered counts once it is picked."""
    report = offer.typed(**ADDED)
    assert (report.verdict, report.sheet, report.engine) == ("changed", TOTALS["A"], TOTALS["A"])
    picked = offer.typed(**ADDED, picked="C")
    assert (picked.verdict, picked.picked, picked.state) == ("changed", "C", "consistent")
    assert picked.sheet == picked.engine not in TOTALS.values()


@pytest.mark.parametrize("language", some(LANGUAGES, ["fr"]))
def test_a_quote_in_every_language_is_proved_and_comes_back_clean(offer, language):
    number = f"Q1{LANGUAGES.index(language):03}"
    path, _ = issue(offer.desk, offer.card.in_language(language), OFFERED.with_pick("B"), number, TODAY)
    report = check_file(path, offer.desk, TODAY, IssuedQuotes(offer.desk))
    assert (report.verdict, report.findings, report.picked, report.sheet) == ("agrees", (), "B", TOTALS["B"])


def test_the_next_revision_offers_them_again_with_the_client_s_pick(offer, accepted, monkeypatch):
    monkeypatch.setattr(type(offer.desk), "card", lambda desk: offer.card)
    done = reissue(offer.desk, accepted["xlsx"], today=TODAY, rates_now=lambda *_: offer.card.rates)
    assert done.changes[1:] == ("Option you pick: A, now B.", "Total: 3,017.40, now 1,714.54 USD.")
    assert (done.content.inputs["picked"], done.content.results["total_a"]) == ("B", TOTALS["A"])
