"""The check: a clean round trip is clean, and each kind of edit gives the one finding that says what it is and costs.

The quote is the worked example, 3,669.21 in all; what each edit does to that total is worked out by hand
beside it. IronCalc makes the edits that change a figure, and works the workbook out again.
"""

import gc
import json
import subprocess
import sys
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal as D

import hands
import jsonschema
import pytest
import worked_example
from click.testing import CliRunner
from edits import Book
from extent import some
from hypothesis import given, settings
from hypothesis import strategies as st
from test_appearance import PLACES

from quotebook import desk as desks
from quotebook.bookings.archive import open_ledger
from quotebook.bookings.decisions import issue_and_record, reissue_and_record
from quotebook.checking import report as reports
from quotebook.checking.check import check_file
from quotebook.checking.findings import AGREES, CHANGED, DISPUTED, KINDS, UNREADABLE, VERDICTS, Finding, verdict_of
from quotebook.checking.issued import issued_quotes
from quotebook.checking.shown_figures import STATES
from quotebook.cli import main
from quotebook.client import workbook as quote
from quotebook.contract.stamp import stamp_texts
from quotebook.demonstration.demo import EVENTS
from quotebook.engine.model import OPTIONS, RULES
from quotebook.errors import Misuse
from quotebook.ledger import Ledger
from quotebook.ledger.database import file_url
from quotebook.quoting.issuing import issue
from quotebook.spreadsheets.cells import CellAddress
from quotebook.spreadsheets.reading import read_workbook

TODAY = date(2026, 6, 1)
TOTAL = D("3669.21")


class Quote:
    """A desk where the worked example was issued as Q0001, and another quote as Q0002."""

    def __init__(self, folder):
        self.folder, self.desk = folder, desks.init(folder / "desk")
        self.card = replace(self.desk.card(), rates=worked_example.RATES)
        self.path, self.content = issue(self.desk, self.card, worked_example.REQUEST, "Q0001", TODAY)
        self.other, _ = issue(self.desk, self.card, replace(worked_example.REQUEST, client="B. Client"), "Q0002", TODAY)
        self.places = {name: CellAddress(*place) for name, place in self.content.places.items()}
        self.book, self.back = Book(self.path), folder / "back.xlsx"
        self.client: hands.IronCalc | None = None
        """Somebody who has the quote open."""

    def typed(self, *typed):
        """The report on the file after somebody typed over some named cells and had it worked out."""
        self.client = self.client or hands.IronCalc(self.path, self.content.places)
        for name, value, *down in typed:
            self.client.type(name, value, *down)
        try:
            return self.check(self.client.save(self.back))
        finally:
            self.client = self.client if self.client.put_back() else None

    def edited(self, edit):
        """The report on the file after an edit of its XML."""
        changed = self.book.edit()
        edit(changed)
        return self.check(changed.save(self.back))

    def check(self, path, today=TODAY):
        return check_file(path, self.desk, today)


@pytest.fixture(scope="module")
def issued(tmp_path_factory):
    return Quote(tmp_path_factory.mktemp("check"))


def test_the_quote_is_the_one_worked_out_by_hand(issued):
    report = issued.check(issued.path)
    assert (report.verdict, report.state, report.findings) == (AGREES, "consistent", ())
    assert report.issued == report.sheet == report.engine == TOTAL == worked_example.FIGURES.total
    assert (report.quote, report.revision, report.remainder) == ("Q0001", 1, 0)


@pytest.mark.parametrize("event", EVENTS, ids=lambda event: event.event)
@pytest.mark.parametrize("template", ["rate_card.xlsx", "rate_card_metric.xlsx"])
def test_round_trip_is_clean(tmp_path, event, template):
    desk = desks.init(tmp_path / "desk", template)
    path, content = issue(desk, desk.card(), event, "Q0001", TODAY)
    report = check_file(path, desk, TODAY)
    assert (report.verdict, report.findings, report.sheet) == (AGREES, (), content.results["total"])


# What one edit is worth. With the discount, goods are 2,926.09; they and delivery are taxed at 6.875 %.

WORTH = {
    "no waiver": ("waiver_taken", "no", "input-changed", "yes", "no", "-234.09"),
    "collected by day": ("after_hours", "no", "input-changed", "yes", "no", "-31.40"),
    # 2,926.09 x 10 % = 292.61, not 234.09.
    "a dearer waiver": ("waiver_share", D("0.10"), "rate-changed", "0.08", "0.1", "58.52"),
    # Labour 2.5 h x 2 x 30 = 150, not 157; after hours 1 h x 2 x 30 x 0.5 = 30, not 31.40.
    "cheaper labour": ("hourly_rate", D(30), "rate-changed", "31.4", "30", "-8.40"),
    # Discount 308.01, goods less that 2,772.09, waiver 221.77, tax (2,772.09 + 111.78) x 6.875 % = 198.27.
    "more discount": ("discount_share", D("0.10"), "rate-changed", "0.05", "0.1", "-176.90"),
    # 30 panels x 30 x 1.5 = 1,350, not 1,642.50; goods 2,787.60, less discount 2,648.22, waiver 211.86, tax 189.75.
    "a cheaper panel": ("kinds_rate", D(30), "rate-changed", "36.5", "30", "-319.20"),
    # Without its 111.78, tax is 2,926.09 x 6.875 % = 201.17, not 208.85.
    "no delivery": ("delivery", D(0), "formula-replaced", None, "0", "-119.46"),
    "labour for nothing": ("labour", D(0), "formula-replaced", None, "0", "-157.00"),
    "the total typed in": ("total", D("3669.21"), "formula-replaced", None, "3669.21", "0"),
    "100 off the total": (
        "total", "=goods-discount+waiver+delivery+labour+after_hours_charge+tax-100",
        "formula-altered", None, None, "-100.00",
    ),
    "delivery not taxed": (
        "tax", "=ROUND(ROUND((goods-discount)*tax_rate,6),minor_units)", "formula-altered", None, None, "-7.68",
    ),
}  # fmt: skip
"""Which cell, what is typed there, the kind of finding, what was expected and found, and the effect."""


AT_LENGTH = ("collected by day", "a dearer waiver", "more discount", "labour for nothing", "delivery not taxed")
"""Edits of which another of the same kind is in the normal run."""


@pytest.mark.parametrize("what", some(WORTH, WORTH.keys() - AT_LENGTH))
def test_what_an_edit_is_worth(issued, what):
    name, value, kind, expected, found, effect = WORTH[what]
    report = issued.typed((name, value))
    [finding] = report.findings
    place = issued.places[name]
    assert (finding.kind, finding.name, finding.sheet, finding.cell) == (kind, name, place.sheet, place.cell)
    if kind.startswith("formula"):
        expected = f"={issued.content.formulas[name]}"
        found = found or finding.found
    assert (finding.expected, finding.found, finding.effect) == (expected, found, D(effect))
    assert (report.issued, report.sheet, report.remainder) == (TOTAL, TOTAL + D(effect), 0)
    assert report.verdict == (CHANGED if kind == "input-changed" else DISPUTED)
    assert report.engine == (report.sheet if kind == "input-changed" else TOTAL)


@pytest.mark.parametrize(
    ("typed", "found", "sheet", "kinds"),
    [
        # What every program passes over: goods, discount and waiver fall to nothing, tax to 111.78 x 6.875 % = 7.68.
        (D(-2), "-2", "307.86", ["input-invalid"]),
        # IronCalc makes an error of a text among numbers, where the file format passes over it (OpenFormula, SUM).
        ("two", "two", None, ["input-invalid"]),
        # It takes a number stored as text for the number that it is: so its figures are those of the number.
        ("'2", "2", "3669.21", ["input-invalid", "not-recalculated"]),
    ],
)
def test_what_an_entry_that_cannot_be_used_is_worth(issued, typed, found, sheet, kinds):
    report = issued.typed(("days", typed))
    assert [finding.kind for finding in report.findings] == kinds
    finding = report.findings[0]
    assert (finding.name, finding.expected, finding.found) == ("days", "2", found)
    assert (finding.effect, report.sheet) == (D("-3361.35"), sheet and D(sheet))
    assert (report.verdict, report.engine, report.worked_out) == (DISPUTED, D("307.86"), D("307.86"))


def test_a_name_pointed_at_another_rate_is_worth_the_difference(issued):
    """Tax at the waiver's 8 %: 3,037.87 x 8 % = 243.03, not 208.85."""
    place = issued.places["waiver_share"]
    target = f"{place.sheet}!$K${place.row}"

    def edit(hand):
        hand.model.update_defined_name("tax_rate", None, "tax_rate", None, target)

    report = issued.check(hands.by_ironcalc(issued.path, issued.back, issued.content.places, edit))
    [finding] = report.findings
    assert (finding.kind, finding.name, finding.effect) == ("name-redirected", "tax_rate", D("34.18"))
    assert (finding.expected, finding.found) == (issued.places["tax_rate"].cell, place.cell)
    assert (report.sheet, report.remainder) == (TOTAL + D("34.18"), 0)


def test_the_largest_effect_comes_first(issued):
    report = issued.typed(("after_hours", "no"), ("delivery", D(0)), ("client", "Somebody else"))
    lines = list(reports.in_words(report))
    found = [line.split(":")[0].strip(" -") for line in lines if line.startswith("  - ")]
    assert found == ["formula-replaced", "input-changed", "input-changed"]
    assert "(-119.46, too little)" in " ".join(lines) and "(-31.40, less)" in " ".join(lines)


def test_rewording_a_code_changes_what_is_looked_up(issued):
    """A panel's code, the key of its row, changed: a floor line that names it finds nothing any more."""
    report = issued.typed(("kinds_panel", "4x4 oak"))
    assert [(f.kind, f.name) for f in report.findings] == [("rate-changed", "kinds_panel")]
    assert (report.state, report.remainder) == ("consistent", 0)


# Several edits at once

EDITS = {
    "days": st.integers(1, 6).map(D),
    "miles": st.decimals(0, 90, places=1),
    "waiver_taken": st.sampled_from(("yes", "no")),
    "width_1": st.integers(4, 60).map(D),
    "length_3": st.decimals(3, 40, places=1),
    "hourly_rate": st.integers(0, 90).map(D),
    "tax_rate": st.decimals(0, "0.2", places=3),
    "kinds_rate": st.decimals(0, 90, places=2),
    "discount_share": st.just(D("0.3")),
    "day_factors_hire_factor": st.decimals(0, 3, places=1),
    "delivery": st.integers(0, 300).map(D),
    "hire_2": st.decimals(0, 900, places=2),
    "panels_1": st.integers(0, 90).map(D),
    "total": st.just("=goods*2"),
    "tax": st.just("=taxable*tax_rate"),
    "goods": st.just("=hire_1+hire_2"),
}
several = st.sets(st.sampled_from(sorted(EDITS)), min_size=2, max_size=4).flatmap(
    lambda names: st.fixed_dictionaries({name: EDITS[name] for name in sorted(names)})
)


def _check_several(issued, typed):
    """Effects are differences between workbooks that IronCalc worked out: with all edits, and with all but one."""
    report = issued.typed(*typed.items())
    effects = {finding.name: finding.effect for finding in report.findings}
    assert sum(effects.values()) + report.remainder == report.sheet - report.issued
    altered = {finding.name for finding in report.findings if finding.kind == "formula-altered"}
    for name, effect in effects.items() if not altered else ():
        without = issued.typed(*((other, value) for other, value in typed.items() if other != name))
        assert effect == report.sheet - without.sheet


@given(several)
@settings(max_examples=2)
def test_effects_of_several_edits(issued, typed):
    _check_several(issued, typed)


@pytest.mark.slow
@given(several)
@settings(max_examples=300)
def test_effects_of_several_edits_at_length(issued, typed):
    _check_several(issued, typed)


# The other kinds, each by an edit of the file


def _at(name, row=0):
    return lambda issued: issued.places[name]._replace(row=issued.places[name].row + row)


FIRST_TERM = CellAddress("Terms and cautions", 3, 3)

OTHERS = {
    "name-missing": (lambda i, e: e.forget("tax"), _at("tax")),
    "input-formula": (lambda i, e: e.formula(i.places["width_1"], "9*2"), _at("width_1")),
    "name-doubled": (lambda i, e: e.double("total", "Quote", "Quote!$B$99"), None),
    "sheet-missing": (lambda i, e: e.delete("Rates"), None),
    "sheet-renamed": (lambda i, e: e.rename("Rates", "Our rates"), None),
    "sheet-hidden": (lambda i, e: e.show("Rates", "hidden"), None),
    "sheet-added": (lambda i, e: e.add("Notes"), None),
    "text-changed": (lambda i, e: e.put(FIRST_TERM, "Pay whenever you like."), lambda i: FIRST_TERM),
    "cell-added": (lambda i, e: e.put(_at("total", 200)(i), "Less 200"), _at("total", 200)),
    "stamp-missing": (lambda i, e: e.delete("stamp"), None),
    "stamp-broken": (lambda i, e: e.put(CellAddress("stamp", 2, 1), "0" * 64), None),
    "foreign-part": (lambda i, e: e.parts.update({"xl/vbaProject.bin": b"?"}), None),
    "unknown-content": (lambda i, e: e.cell(i.places["total"]).set("odd", "1"), _at("total")),
    "stamp-shown": (lambda i, e: e.show("stamp", "visible"), None),
    "arithmetic-differs": (lambda i, e: e.cache(i.places["total"], D(3600)), _at("total")),
    "not-recalculated": (lambda i, e: e.cache(i.places["tax"], None), _at("total")),
}  # fmt: skip
"""An edit of each, and at which cell it is found."""


@pytest.mark.parametrize("kind", OTHERS)
def test_other_kinds(issued, kind):
    edit, place = OTHERS[kind]
    report = issued.edited(lambda hand: edit(issued, hand))
    [finding] = report.findings
    assert finding.kind == kind
    if place:
        assert (finding.sheet, finding.cell) == (place(issued).sheet, place(issued).cell)
    assert report.verdict == verdict_of([finding])
    if kind == "stamp-broken":  # nothing then says what was issued
        assert (report.quote, report.revision, report.issued, report.engine) == ("Q0001", None, None, None)
    else:
        assert (report.quote, report.revision, report.issued, report.engine) == ("Q0001", 1, TOTAL, TOTAL)


def test_a_check_leaves_nothing_to_a_search_for_garbage(issued):
    """Parsed parts are large and few: a long list of files would fill the memory before Python looked for them."""
    path = issued.book.edit().put(issued.places["width_1"], D(20)).save(issued.back)
    known = issued_quotes(issued.desk)
    gc.collect()
    gc.disable()
    try:
        check_file(path, issued.desk, TODAY, known)
        assert gc.collect() == 0
    finally:
        gc.enable()


def test_a_text_is_told_with_what_it_was_and_what_it_is(issued):
    [told] = issued.edited(lambda hand: hand.put(FIRST_TERM, "Pay whenever you like.")).findings
    terms = {(row, column): said for row, column, said in issued.content.fixed[FIRST_TERM.sheet]}
    assert (told.expected, told.found) == (terms[FIRST_TERM[1:]], "Pay whenever you like.")


def test_a_row_and_a_column_of_one_table_that_are_both_lost_are_both_told(issued):
    """With the row put back its cell in the lost column is blank."""
    rate = issued.places["kinds_rate"]

    def edit(hand):
        hand.remove(rate.sheet, row=rate.row + 1)
        hand.forget("kinds_rate")

    report = issued.edited(edit)
    assert {"name-missing", "row-deleted"} <= {finding.kind for finding in report.findings}
    assert (report.verdict, report.engine) == (DISPUTED, TOTAL)


def test_a_figure_shown_again_may_be_read_from_its_cell(issued):
    """Programs that know no names write cells in their place, and on the cell's own sheet without the sheet's name."""
    total = issued.places["total"]
    again = next((row, column) for row, column, said in issued.content.fixed[total.sheet] if said == "=total")
    place = CellAddress(total.sheet, *again)
    assert issued.edited(lambda hand: hand.formula(place, total.cell)).findings == ()
    [told] = issued.edited(lambda hand: hand.formula(place, issued.places["deposit_due"].cell)).findings
    assert (told.kind, told.sheet, told.cell) == ("text-changed", place.sheet, place.cell)


def test_a_total_that_does_not_add_up_is_worth_what_it_is_wrong_by(issued):
    report = issued.edited(lambda hand: hand.cache(issued.places["total"], D(3600)))
    assert report.findings[0].effect == D("-69.21") and (report.sheet, report.remainder) == (3600, 0)
    assert (report.findings[0].expected, report.findings[0].found) == ("3669.21", "3600")


def test_what_is_put_back_is_as_it_was(issued):
    """Without that, one test here would find what another has typed."""
    every = [(name, D(3)) for name in ("days", "miles", "hourly_rate", "event_date")]
    assert len(issued.typed(*every, ("waiver_taken", "no"), ("panel_1", "none"), ("width_2", None)).findings) > 5
    assert issued.typed().findings == ()


def test_expired(issued):
    last = TODAY + timedelta(days=int(issued.card.firm.valid_days))
    assert issued.check(issued.path, last).verdict == AGREES
    today = last + timedelta(days=1)
    report = issued.check(issued.path, today)
    place = issued.places["valid_until"]
    said = f"The quote stood until {last:%-d %B %Y}: reissue it if its prices still hold."
    expired = Finding("expired", said, "valid_until", place.sheet, place.cell, str(last), str(today))
    assert (report.verdict, report.findings) == (DISPUTED, (expired,))


def test_an_older_revision(tmp_path):
    made = Quote(tmp_path)
    later, _ = issue(made.desk, made.card, worked_example.REQUEST, "Q0001", TODAY, revision=2)
    assert made.check(later).verdict == AGREES
    report = made.check(made.path)
    assert [(f.kind, f.expected, f.found) for f in report.findings] == [("older-revision", "2", "1")]
    assert (report.verdict, report.revision) == (DISPUTED, 1)


def test_issued_under_other_rules(tmp_path, monkeypatch):
    monkeypatch.setattr(quote, "RULES", "0")
    made = Quote(tmp_path)
    report = made.check(made.path)
    assert [(f.kind, f.expected, f.found) for f in report.findings] == [("other-rules", "0", RULES)]
    assert report.verdict == AGREES


def test_a_workbook_that_is_no_quote(issued, tmp_path):
    import openpyxl

    openpyxl.Workbook().save(tmp_path / "budget.xlsx")
    report = issued.check(tmp_path / "budget.xlsx")
    assert [finding.kind for finding in report.findings] == ["not-a-quote"]
    assert (report.verdict, report.quote, report.engine) == (UNREADABLE, None, None)


def test_a_file_that_cannot_be_read(issued, tmp_path):
    (tmp_path / "quote.xlsx").write_bytes(b"%PDF-1.7")
    report = issued.check(tmp_path / "quote.xlsx")
    assert [finding.kind for finding in report.findings] == ["unreadable"] and report.verdict == UNREADABLE


def test_every_kind_has_a_case_here():
    here = {kind for _, _, kind, *_ in WORTH.values()} | OTHERS.keys()
    here |= {
        "input-invalid",
        "name-redirected",
        "expired",
        "older-revision",
        "other-rules",
        "not-a-quote",
        "unreadable",
        "unknown-quote",
        "part-changed",  # tests/quoting/test_mixing.py
        "row-deleted",  # test_every_edit.py
        "column-deleted",
    }
    here |= PLACES.keys()
    assert here == KINDS


# Whose stamp


def test_a_number_changed_to_another_quotes_is_a_number_changed(issued):
    report = issued.edited(lambda hand: hand.put(issued.places["quote_number"], "Q0002"))
    assert [(f.kind, f.name, f.found) for f in report.findings] == [("rate-changed", "quote_number", "Q0002")]
    assert report.quote == "Q0001"


def test_a_stamp_of_another_quote_is_told_from_that(issued):
    def exchange(hand):
        for row, text in enumerate(stamp_texts(read_workbook(issued.other)), 2):
            hand.put(CellAddress("stamp", row, 1), text)

    report = issued.edited(exchange)
    assert [finding.kind for finding in report.findings] == ["stamp-broken"]
    assert "Q0002" in report.findings[0].message and (report.quote, report.revision) == ("Q0001", None)


def test_a_stamp_of_another_revision(tmp_path):
    made = Quote(tmp_path)
    issue(made.desk, made.card, replace(worked_example.REQUEST, days=D(4)), "Q0001", TODAY, revision=2)
    later = Book(made.desk.issued_path("Q0001", 2)).edit()
    for row, text in enumerate(stamp_texts(read_workbook(made.path)), 2):
        later.put(CellAddress("stamp", row, 1), text)
    report = made.check(later.save(made.back))
    assert [finding.kind for finding in report.findings] == ["stamp-broken"] and report.revision is None


def test_without_its_stamp_it_is_checked_against_the_copy_kept(issued):
    def both(hand):
        hand.delete("stamp")
        hand.put(issued.places["hourly_rate"], D(1))

    kinds = [finding.kind for finding in issued.edited(both).findings]
    assert kinds == ["stamp-missing", "rate-changed", "not-recalculated"]


def test_a_namesake_without_a_stamp_is_not_held_against_the_copy_kept(issued, tmp_path):
    """Another desk has a Q0001 too, of another day."""
    other = desks.init(tmp_path / "desk")
    path, _ = issue(other, other.card(), EVENTS[0], "Q0001", TODAY + timedelta(days=1))
    report = issued.check(Book(path).edit().delete("stamp").save(tmp_path / "back.xlsx"))
    assert [finding.kind for finding in report.findings] == ["stamp-missing"]
    assert (report.verdict, report.revision) == (DISPUTED, None)


def test_with_a_broken_stamp_nothing_else_is_said(issued):
    def both(hand):
        hand.put(CellAddress("stamp", 3, 1), "?")
        hand.put(issued.places["hourly_rate"], D(1))

    assert [finding.kind for finding in issued.edited(both).findings] == ["stamp-broken"]


def test_a_quote_that_the_ledger_does_not_have_or_has_otherwise(tmp_path):
    """A second desk with the first one's key has a ledger of its own."""
    made = Quote(tmp_path)
    other = desks.init(tmp_path / "other")
    other.key_path.write_bytes(made.desk.key_path.read_bytes())
    issue_and_record(other, open_ledger(other), other.card(), EVENTS[0], "Q0001", TODAY)
    namesake, unknown = check_file(made.path, other, TODAY), check_file(made.other, other, TODAY)
    for report in (namesake, unknown):
        assert [finding.kind for finding in report.findings] == ["unknown-quote"]
        assert (report.verdict, report.revision, report.engine) == (DISPUTED, None, None)
    assert "another quote, for Avelie Marsh" in namesake.findings[0].message
    assert "is not in this ledger" in unknown.findings[0].message


def test_the_latest_revision_is_asked_of_the_ledger(tmp_path, monkeypatch):
    """Two desks share one ledger and one key: a revision that the second wrote supersedes the first desk's file."""
    monkeypatch.setenv("QUOTEBOOK_LEDGER", file_url(tmp_path / "shared.sqlite"))
    Ledger(file_url(tmp_path / "shared.sqlite"))
    one, two = desks.init(tmp_path / "one"), desks.init(tmp_path / "two")
    two.key_path.write_bytes(one.key_path.read_bytes())
    path, _ = issue_and_record(one, open_ledger(one), one.card(), EVENTS[0], "Q0001", date.today())
    reissue_and_record(two, open_ledger(two), path)
    assert [(f.kind, f.expected) for f in check_file(path, one).findings] == [("older-revision", "2")]


# The client's answer


@pytest.mark.parametrize(
    ("said", "answer"),
    [
        ("yes", "yes"), (" Yes ", "yes"), ("no", "no"), (None, "none"), ("  ", "none"),
        ("yes, if it is dry", "unclear"), ("sí", "unclear"), ("not yet", "unclear"), (D(1), "unclear"),
        (True, "unclear"),
    ],
)  # fmt: skip
def test_only_a_plain_yes_is_a_yes(issued, said, answer):
    report = issued.edited(lambda hand: hand.put(issued.places["accepted"], said))
    assert (report.answer, report.findings) == (answer, ())
    assert reports.ANSWERS[report.answer] in next(reports.in_words(report))


def test_a_yes_in_the_quotes_own_language(tmp_path):
    desk = desks.init(tmp_path / "desk", "rate_card_metric.xlsx")
    path, content = issue(desk, desk.card(), EVENTS[0], "Q0001", TODAY)
    for said, answer in (("oui", "yes"), ("non", "no"), ("yes", "unclear")):
        back = Book(path).edit().put(CellAddress(*content.places["accepted"]), said).save(tmp_path / "back.xlsx")
        assert check_file(back, desk, TODAY).answer == answer


def test_an_answer_that_a_formula_makes_is_nobodys(issued):
    def formula(hand):
        hand.put(issued.places["accepted"], "yes").formula(issued.places["accepted"], '"yes"')
        hand.put(issued.places["questions"], "Later?").formula(issued.places["questions"], "total")

    report = issued.edited(formula)
    assert [(f.kind, f.name, f.disputes) for f in report.findings] == [
        ("input-formula", "accepted", True), ("input-formula", "questions", False),
    ]  # fmt: skip
    assert (report.answer, report.verdict, report.replies) == ("unclear", DISPUTED, ())


def test_a_formula_in_an_entry_counts_only_for_what_the_file_shows(issued):
    """18 ft as issued: 9*2 is that; 9*3 beside a shown 18 is 27 as soon as somebody opens the file."""
    width = issued.places["width_1"]
    found = {
        formula: [*issued.edited(lambda hand, f=formula: hand.formula(width, f)).findings]
        for formula in ("9*2", "9*3", "18+RAND()*0")
    }
    assert {formula: (findings[0].kind, findings[0].name) for formula, findings in found.items()} == {
        "9*2": ("input-formula", "width_1"), "9*3": ("input-invalid", "width_1"),
        "18+RAND()*0": ("input-invalid", "width_1"),
    }  # fmt: skip


def test_without_stamp_and_copy_there_is_no_telling(tmp_path):
    made = Quote(tmp_path)
    made.path.unlink()
    report = made.edited(lambda hand: hand.delete("stamp"))
    assert [finding.kind for finding in report.findings] == ["stamp-missing"]
    assert (report.verdict, report.quote, report.issued, report.sheet) == (DISPUTED, "Q0001", None, TOTAL)


def test_a_quote_of_another_desk(issued, tmp_path):
    made = Quote(tmp_path)
    report = issued.check(made.desk.issued_path("Q0001", 1))
    assert [finding.kind for finding in report.findings] == ["stamp-broken"]


def test_without_its_key_a_desk_checks_nothing(tmp_path):
    made = Quote(tmp_path)
    made.desk.key_path.unlink()
    with pytest.raises(Misuse, match=r"signing\.key"):
        made.check(made.path)


# States of the figures in the file


def _forget(issued, hand, names):
    for name in names:
        hand.cache(issued.places[name], None)


def _forget_everything(issued, hand):
    """As a program that works nothing out leaves a file: the cells that repeat a figure have no value either."""
    _forget(issued, hand, _all(issued))
    for sheet, cells in issued.content.fixed.items():
        for row, column, said in cells:
            if isinstance(said, str) and said.startswith("="):
                hand.cache(CellAddress(sheet, row, column), None)


def _zero(issued, hand, names):
    for name in names:
        hand.cache(issued.places[name], D(0))


def _all(issued):
    return issued.content.formulas


WIDER = D(26)
"""For the first floor, 18 ft as issued: 7 x 6 panels and not 30."""

MIXTURES = {
    "missing": (lambda i, e: _forget(i, e, _all(i)), "missing", ["not-recalculated"]),
    "a few missing": (lambda i, e: _forget(i, e, ["hire_1", "tax", "total"]), "missing", ["not-recalculated"]),
    "all 0": (lambda i, e: _zero(i, e, _all(i)), "zero", ["not-recalculated"]),
    "stale": (lambda i, e: e.put(i.places["width_1"], WIDER), "stale", ["input-changed", "not-recalculated"]),
    "stale by a rate": (
        lambda i, e: e.put(i.places["hourly_rate"], D(5)),
        "stale",
        ["rate-changed", "not-recalculated"],
    ),
    "an entry that no figure rests on": (lambda i, e: e.put(i.places["client"], "B"), "consistent", ["input-changed"]),
    "mismatching": (lambda i, e: e.cache(i.places["total"], D(1)), "mismatching", ["arithmetic-differs"]),
    "missing, and changed": (
        lambda i, e: (_forget_everything(i, e), e.put(i.places["width_1"], WIDER)),
        "missing",
        ["input-changed", "not-recalculated"],
    ),
    "0, and a total typed over": (
        lambda i, e: (_zero(i, e, _all(i)), e.put(i.places["total"], D(9))),
        "zero",
        ["formula-replaced", "not-recalculated"],
    ),
    "0, and a total put there": (
        lambda i, e: (_zero(i, e, _all(i)), e.cache(i.places["total"], D(9))),
        "mismatching",
        ["not-recalculated", "arithmetic-differs"],
    ),
    "stale, and a total put there": (
        lambda i, e: (e.put(i.places["width_1"], WIDER), e.cache(i.places["total"], D(9))),
        "mismatching",
        ["input-changed", "not-recalculated", "arithmetic-differs"],
    ),
    "stale, and some missing": (
        lambda i, e: (e.put(i.places["width_1"], WIDER), _forget(i, e, ["tax", "deposit"])),
        "missing",
        ["input-changed", "not-recalculated"],
    ),
    "missing, and a formula altered": (
        lambda i, e: (_forget(i, e, _all(i)), e.formula(i.places["tax"], "taxable*0")),
        "missing",
        ["formula-altered", "not-recalculated"],
    ),
}


@pytest.mark.parametrize("what", MIXTURES)
def test_states_are_told_apart(issued, what):
    edit, state, kinds = MIXTURES[what]
    report = issued.edited(lambda hand: edit(issued, hand))
    assert (report.state, [finding.kind for finding in report.findings]) == (state, kinds)
    if report.sheet is not None:
        effects = sum(finding.effect or 0 for finding in report.findings)
        assert effects + report.remainder == report.sheet - report.issued and report.remainder == 0


def test_a_wrong_figure_that_others_go_by_is_named_alone(issued):
    """As if a program could not round: hire_1 is 0.004 out, and everything after it goes by that."""
    wrong = {"hire_1": "1642.504", "goods": "3080.104", "taxable": "3037.874", "total": "3669.214"}
    wrong |= {"deposit": "1467.69", "balance": "2201.524"}

    def put(hand):
        for name, value in wrong.items():
            hand.cache(issued.places[name], D(value))

    report = issued.edited(put)
    assert [(finding.kind, finding.name) for finding in report.findings] == [("arithmetic-differs", "hire_1")]


# What is printed

FINDING = {
    "type": "object",
    "properties": {
        "kind": {"enum": sorted(KINDS)},
        "message": {"type": "string", "pattern": r"^\S.*\S$"},
        "name": {"type": "string"},
        "sheet": {"type": "string"},
        "cell": {"type": "string", "pattern": "^([A-Z]{1,3}[0-9]+)?$"},
        "expected": {"type": ["string", "null"]},
        "found": {"type": ["string", "null"]},
        "effect": {"type": ["string", "null"], "pattern": r"^-?[0-9]+(\.[0-9]+)?$"},
    },
    "required": ["kind", "message", "name", "sheet", "cell", "expected", "found", "effect"],
    "additionalProperties": False,
}
MONEY = {"type": ["string", "null"], "pattern": r"^-?[0-9]+(\.[0-9]{2,3})?$"}
FILE = {
    "type": "object",
    "properties": {
        "file": {"type": "string"}, "quote": {"type": ["string", "null"]}, "revision": {"type": ["integer", "null"]},
        "verdict": {"enum": list(VERDICTS)}, "answer": {"enum": ["yes", "no", "none", "unclear", None]},
        "picked": {"enum": [*OPTIONS, None]},
        "findings": {"type": "array", "items": FINDING},
        "totals": {
            "type": "object",
            "properties": {"issued": MONEY, "sheet": MONEY, "engine": MONEY, "worked_out": MONEY},
            "required": ["issued", "sheet", "engine", "worked_out"], "additionalProperties": False,
        },
        "state": {"enum": [*STATES, None]}, "remainder": MONEY, "replies": {"type": "object"},
    },
    "required": [
        "file", "quote", "revision", "verdict", "answer", "picked", "findings", "totals", "state", "remainder",
        "replies",
    ],
    "additionalProperties": False,
}  # fmt: skip
SCHEMA = {
    "type": "object", "properties": {"files": {"type": "array", "items": FILE}},
    "required": ["files"], "additionalProperties": False,
}  # fmt: skip


@pytest.fixture(scope="module")
def answers(tmp_path_factory):
    """A desk at today's date, and a file for each verdict."""
    made = Quote(tmp_path_factory.mktemp("answers"))
    made.path, made.content = issue(made.desk, made.card, worked_example.REQUEST, "Q0003", date.today())
    book, files = Book(made.path), {AGREES: made.path}
    for verdict, edit in {
        CHANGED: lambda hand: hand.put(made.places["client"], "Somebody else"),
        DISPUTED: lambda hand: hand.put(made.places["hourly_rate"], D(1)),
    }.items():
        changed = book.edit()
        edit(changed)
        files[verdict] = changed.save(made.folder / f"{verdict}.xlsx")
    files[UNREADABLE] = made.folder / "nothing.xlsx"
    files[UNREADABLE].write_bytes(b"")
    return made.desk, files


def run(desk, *arguments):
    return CliRunner().invoke(main, ["check", "--desk", str(desk.folder), *map(str, arguments)])


def test_json_is_as_promised(answers):
    desk, files = answers
    printed = json.loads(run(desk, "--json", *files.values()).stdout)
    jsonschema.validate(printed, SCHEMA)
    assert [entry["verdict"] for entry in printed["files"]] == list(files)
    [disputed] = [entry for entry in printed["files"] if entry["verdict"] == DISPUTED]
    assert (
        disputed["totals"]["issued"] == "3669.21" and disputed["findings"][0]["effect"] == "-182.40"
    )  # 2.5 h x 2 x 30.40, and 1 h x 2 x 30.40 x 0.5


@pytest.mark.parametrize(
    ("verdicts", "status"),
    [((AGREES, CHANGED), 0), ((AGREES, DISPUTED), 1), ((CHANGED, DISPUTED, UNREADABLE), 3), ((UNREADABLE,), 3)],
)
def test_exit_status(answers, verdicts, status):
    desk, files = answers
    assert run(desk, *(files[verdict] for verdict in verdicts)).exit_code == status


def test_exit_status_of_misuse(answers, tmp_path):
    desk, files = answers
    assert run(desk).exit_code == 2
    assert CliRunner().invoke(main, ["check", "--desk", str(tmp_path), str(files[AGREES])]).exit_code == 2


def test_a_whole_process(answers):
    desk, files = answers
    command = [
        sys.executable,
        "-c",
        "from quotebook.cli import main; main()",
        "check",
        "--desk",
        desk.folder,
        files[DISPUTED],
    ]
    done = subprocess.run(command, check=False, capture_output=True, text=True)
    assert (
        done.returncode == 1
        and "(hourly_rate), Rates D6: 31.40 USD when issued, now 1.00 USD" in " ".join(done.stdout.split())
        and done.stderr == ""
    )


def test_a_file_is_left_as_it_came(answers):
    desk, files = answers
    before = {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in files.values()}
    run(desk, *files.values())
    assert {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in files.values()} == before
    assert len(list(files[CHANGED].parent.glob("*.xlsx"))) == 3
