"""The next revision: the client's entries, the owner's rates, and what has changed on its face."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal as D

import openpyxl
import pytest

from quotebook.checking.check import check_file
from quotebook.client.terms_sheet import terms_written
from quotebook.contract.local import local_for
from quotebook.demonstration import demo
from quotebook.desk import Desk, init
from quotebook.engine.model import FloorLine, Request
from quotebook.engine.price import price
from quotebook.errors import InvalidInput, Misuse, Unreadable
from quotebook.quoting.issuing import issue
from quotebook.quoting.reissuing import Disputed, reissue
from quotebook.spreadsheets.reading import read_workbook

TODAY = date(2026, 11, 2)
TENT, BALL, CEILIDH, ORCHARD = demo.EVENTS


@pytest.fixture
def desk(tmp_path):
    return init(tmp_path / "desk")


@pytest.fixture
def sent_back(desk, tmp_path):
    """Issues a request and returns its workbook with some cells typed over: `sent_back(BALL, width_1=D(16))`."""

    def send(request: Request, **typed):
        path, content = issue(desk, desk.card(), request, next(desk.numbers()), TODAY)
        return demo.retype(path, tmp_path / f"back-{path.name}", content, typed)

    return send


def texts_on(path, sheet="Quote"):
    found = next(each for each in read_workbook(path).sheets if each.name == sheet)
    return [cell.value for cell in found.cells.values() if isinstance(cell.value, str)]


def issued_files(desk):
    return sorted(path.name for path in desk.issued.glob("*.xlsx"))


# What a client may change


def test_entries_are_taken_over_and_priced_at_the_owners_rates(desk, sent_back):
    done = reissue(desk, sent_back(BALL, width_1=D(16), guests=D(170)), today=TODAY)
    floors = (replace(BALL.lines[0], width=D(16)), *BALL.lines[1:])
    expected = price(desk.card().rates, replace(BALL, guests=D(170), lines=floors)).total
    assert done.content.results["total"] == expected
    assert (done.path.name, done.content.owner["revision"]) == ("Q0001-r2.xlsx", D(2))
    assert done.before == price(desk.card().rates, BALL).total


def test_its_face_says_what_changed(desk, sent_back):
    done = reissue(desk, sent_back(BALL, width_1=D(16), guests=D(170), client="Hotel Saltfleet & Co"), today=TODAY)
    before, after = (f"{total:.2f}" for total in (done.before, done.content.results["total"]))
    assert done.changes == (
        "Changed since revision 1:",
        "Client: Hotel Saltfleet, now Hotel Saltfleet & Co.",
        "Guests: 150, now 170.",
        "Floor line 1: Width (ft): 14, now 16.",
        f"Total: {before}, now {after} USD.",
    )
    assert set(done.changes) <= set(texts_on(done.path))


def test_the_revision_is_a_clean_issue_of_its_own(desk, sent_back):
    back = sent_back(BALL, width_1=D(16))
    before = (back.read_bytes(), desk.issued_path("Q0001", 1).read_bytes())
    done = reissue(desk, back, today=TODAY)
    assert check_file(done.path, desk, TODAY).findings == ()
    assert (back.read_bytes(), desk.issued_path("Q0001", 1).read_bytes()) == before
    assert done.content.owner["issued_on"] == (TODAY - date(1899, 12, 30)).days


def test_a_floor_added_and_a_floor_taken_away(desk, sent_back, tmp_path):
    book = openpyxl.load_workbook(
        sent_back(BALL, surface="hard indoors", panel_3="OAK-34", width_3=D(6), length_3=D(8))
    )
    for name in ("panel_2", "width_2", "length_2", "edging_wanted_2"):
        sheet, cell = next(book.defined_names[name].destinations)
        book[sheet][cell.replace("$", "")] = None
    book.save(tmp_path / "back.xlsx")
    done = reissue(desk, tmp_path / "back.xlsx", today=TODAY)
    floors = (BALL.lines[0], FloorLine(), FloorLine("OAK-34", D(6), D(8)))
    expected = price(desk.card().rates, replace(BALL, surface="hard indoors", lines=floors)).total
    assert done.content.results["total"] == expected
    assert (
        "Floor line 3: Panel: blank, now OAK-34; Width (ft): blank, now 6; Length (ft): blank, now 8." in done.changes
    )


def test_a_quote_in_which_nothing_changed_says_so(desk, sent_back):
    done = reissue(desk, sent_back(TENT, accepted="yes", questions="Can you come before noon?"), today=TODAY)
    assert done.changes == ("Entries and total are those of revision 1.",)
    assert set(done.changes) <= set(texts_on(done.path))


def test_a_change_that_costs_nothing_says_no_total(desk, sent_back):
    done = reissue(desk, sent_back(TENT, client="Somebody Else"), today=TODAY)
    assert done.changes == ("Changed since revision 1:", f"Client: {TENT.client}, now Somebody Else.")


def test_an_answer_is_handed_over_and_not_carried_on(desk, sent_back):
    done = reissue(desk, sent_back(TENT, accepted="yes", questions="Can you come before noon?"), today=TODAY)
    assert dict(done.replies) == {"accepted": "yes", "questions": "Can you come before noon?"}
    assert "Can you come before noon?" not in texts_on(done.path)
    assert done.content.inputs["accepted"] is None


def test_a_revision_can_be_revised(desk, sent_back, tmp_path):
    second = reissue(desk, sent_back(TENT, guests=D(100)), today=TODAY)
    back = demo.retype(second.path, tmp_path / "again.xlsx", second.content, {"guests": D(90)})
    third = reissue(desk, back, today=TODAY)
    assert third.path.name == "Q0001-r3.xlsx"
    assert third.changes[:2] == ("Changed since revision 2:", "Guests: 100, now 90.")


# What is the owner's


def test_the_discount_stays_as_issued_unless_another_is_given(desk, sent_back):
    back = sent_back(CEILIDH, guests=D(90))
    same = reissue(desk, back, today=TODAY)
    assert same.content.owner["discount_share"] == D("0.05") and not any("Discount" in line for line in same.changes)
    desk.issued_path("Q0001", 2).unlink()
    other = reissue(desk, back, today=TODAY, discount_share=D("0.1"))
    assert other.content.results["total"] == price(desk.card().rates, replace(CEILIDH, discount_share=D("0.1"))).total
    assert "Discount on goods: 5 %, now 10 %." in other.changes


def dearer(monkeypatch, card):
    """From now on the card charges more for a trip, has another tax and other terms."""
    rates = replace(card.rates, base_charge=card.rates.base_charge + 50, tax_rate=card.rates.tax_rate + D("0.01"))
    changed = replace(card, rates=rates, terms=("Pay at once.",))
    monkeypatch.setattr(Desk, "card", lambda desk: changed)
    return changed


def test_a_promised_price_stands_while_the_quote_is_valid(desk, sent_back, monkeypatch):
    back, card = sent_back(TENT), desk.card()
    dearer(monkeypatch, card)
    last_day = TODAY + timedelta(int(card.firm.valid_days))
    done = reissue(desk, back, today=last_day)
    assert done.content.results["total"] == done.before
    assert terms_written(done.content) == card.terms
    said = local_for(card.firm).day(last_day)
    assert done.rates_said == f"At the rates, taxes and terms of revision 1, which stand until {said}."
    assert "Our own rates have changed since then." not in done.changes


@pytest.mark.parametrize(("days", "new_rates", "accept"), [(0, True, []), (1, False, ["expired:valid_until"])])
def test_rates_are_those_of_the_card_when_told_or_too_late_and_the_face_says_so(
    desk, sent_back, monkeypatch, days, new_rates, accept
):
    back, card = sent_back(TENT), desk.card()
    changed = dearer(monkeypatch, card)
    today = TODAY + ((days and timedelta(int(card.firm.valid_days) + days)) or timedelta(0))
    done = reissue(desk, back, accept, today, new_rates=new_rates)
    assert done.content.results["total"] == price(changed.rates, TENT).total != done.before
    assert terms_written(done.content) == ("Pay at once.",)
    assert "At the rate card's rates, taxes and terms of now" in done.rates_said
    assert "Our own rates have changed since then." in done.changes


def test_a_client_who_is_exempt_from_tax_stays_so(desk, sent_back, monkeypatch):
    card = desk.card()
    monkeypatch.setattr(Desk, "card", lambda desk: replace(card, rates=card.rates.without_tax()))
    back = sent_back(TENT)
    monkeypatch.setattr(Desk, "card", lambda desk: card)
    for new_rates in (False, True):
        done = reissue(desk, back, today=TODAY, new_rates=new_rates)
        assert done.content.results["tax"] == 0
        done.path.unlink()
    assert done.rates_said.endswith("It stays without tax.")


def test_panels_that_others_hired_meanwhile_are_no_change_of_rates(desk, sent_back, monkeypatch):
    back, card = sent_back(TENT), desk.card()
    kinds = tuple(replace(kind, free=kind.free - 1) for kind in card.rates.kinds)
    monkeypatch.setattr(Desk, "card", lambda desk: replace(card, rates=replace(card.rates, kinds=kinds)))
    assert "Our own rates have changed since then." not in reissue(desk, back, today=TODAY).changes


def test_a_panel_that_is_no_longer_on_the_card_is_said(desk, sent_back, monkeypatch):
    back, card = sent_back(TENT), desk.card()
    kinds = tuple(kind for kind in card.rates.kinds if kind.panel != "OAK-44")
    monkeypatch.setattr(Desk, "card", lambda desk: replace(card, rates=replace(card.rates, kinds=kinds)))
    with pytest.raises(InvalidInput, match='panel_1: found "OAK-44"'):
        reissue(desk, back, today=TODAY)
    assert issued_files(desk) == ["Q0001-r1.xlsx"]


# What is disputed


def test_a_disputed_file_is_refused_with_each_finding_by_its_name(desk, sent_back):
    back = sent_back(ORCHARD, hourly_rate=D(12), delivery=D(0), days=D(3))
    with pytest.raises(Disputed) as refusal:
        reissue(desk, back, today=TODAY)
    assert refusal.value.status == 1
    assert [line.split()[:2] for line in refusal.value.complaints] == [
        ["--accept", "rate-changed:hourly_rate"], ["--accept", "formula-replaced:delivery"]
    ]  # fmt: skip
    assert issued_files(desk) == ["Q0001-r1.xlsx"]


def test_every_disputed_finding_has_to_be_accepted(desk, sent_back):
    back = sent_back(ORCHARD, hourly_rate=D(12), delivery=D(0))
    with pytest.raises(Disputed, match="formula-replaced:delivery"):
        reissue(desk, back, ["rate-changed:hourly_rate"], TODAY)


def test_accepting_never_changes_a_rate_or_a_formula(desk, sent_back):
    back = sent_back(ORCHARD, hourly_rate=D(12), delivery=D(0), days=D(3))
    done = reissue(desk, back, ["rate-changed:hourly_rate", "formula-replaced:delivery"], TODAY)
    assert done.content.owner["hourly_rate"] == desk.card().rates.hourly_rate
    assert done.content.results["total"] == price(desk.card().rates, replace(ORCHARD, days=D(3))).total
    assert {finding.name for finding in done.accepted} == {"hourly_rate", "delivery"}
    assert check_file(done.path, desk, TODAY).findings == ()


def test_a_name_that_no_finding_has_is_refused(desk, sent_back):
    back = sent_back(ORCHARD, hourly_rate=D(12))
    for name in ("rate-changed:crew", "input-changed:days", "hourly_rate"):
        with pytest.raises(Misuse, match=f"--accept {name}: .* has no finding of that name"):
            reissue(desk, back, ["rate-changed:hourly_rate", name], TODAY)


@pytest.mark.parametrize(
    ("name", "value"), [("days", D("1.5")), ("width_1", "16'"), ("surface", "moon"), ("width_1", D(-4))]
)
def test_an_entry_that_cannot_be_used_cannot_be_accepted(desk, sent_back, name, value):
    back = sent_back(TENT, **{name: value})
    for accept in ([], [f"input-invalid:{name}"]):
        with pytest.raises(Disputed, match="Ask the client to correct them"):
            reissue(desk, back, accept, TODAY)


def test_a_lost_entry_stays_as_issued(desk, sent_back, tmp_path):
    book = openpyxl.load_workbook(sent_back(TENT, guests=D(90)))
    del book.defined_names["width_1"]
    book.save(tmp_path / "lost.xlsx")
    done = reissue(desk, tmp_path / "lost.xlsx", ["name-missing:width_1"], TODAY)
    assert done.content.inputs["width_1"] == TENT.lines[0].width and done.content.inputs["guests"] == 90


def test_without_its_stamp_the_copy_kept_here_serves(desk, sent_back, tmp_path):
    book = openpyxl.load_workbook(sent_back(TENT, guests=D(90)))
    del book["stamp"]
    book.save(tmp_path / "bare.xlsx")
    done = reissue(desk, tmp_path / "bare.xlsx", ["stamp-missing"], TODAY)
    assert "Guests: 120, now 90." in done.changes
    desk.issued_path("Q0001", 1).unlink(), done.path.unlink()
    with pytest.raises(Misuse, match="There is no copy here"):
        reissue(desk, tmp_path / "bare.xlsx", ["stamp-missing"], TODAY)


def test_an_expired_quote_is_reissued_once_that_is_accepted(desk, sent_back):
    back, later = sent_back(TENT), TODAY + timedelta(days=60)
    with pytest.raises(Disputed, match="expired:valid_until"):
        reissue(desk, back, today=later)
    done = reissue(desk, back, ["expired:valid_until"], later)
    assert check_file(done.path, desk, later).findings == ()


# What cannot be reissued


def test_an_older_revision_is_refused_whatever_is_accepted(desk, sent_back):
    back = sent_back(TENT, guests=D(90))
    reissue(desk, back, today=TODAY)
    for accept in ([], ["older-revision:revision"]):
        with pytest.raises(Misuse, match="Revision 2 of Q0001 has been issued since"):
            reissue(desk, back, accept, TODAY)
    assert issued_files(desk) == ["Q0001-r1.xlsx", "Q0001-r2.xlsx"]


def test_what_is_no_workbook_or_no_quote_is_said(desk, tmp_path):
    (tmp_path / "text.xlsx").write_text("hello")
    openpyxl.Workbook().save(tmp_path / "other.xlsx")
    for name in ("text.xlsx", "other.xlsx", "missing.xlsx"):
        with pytest.raises(Unreadable, match=name):
            reissue(desk, tmp_path / name, today=TODAY)


# In the firm's language


def test_a_french_quote_says_it_in_french(tmp_path):
    desk = init(tmp_path / "desk", "rate_card_metric.xlsx")
    kind = desk.card().rates.kinds[0]
    surface = "hard indoors"
    request = replace(TENT, surface=surface, waiver_taken=True, lines=(FloorLine(kind.panel, D(4), D(5)),))
    path, content = issue(desk, desk.card(), request, next(desk.numbers()), TODAY)
    words = content.tables["surfaces"][0]
    back = demo.retype(
        path, tmp_path / "back.xlsx", content, {"surface": words[1], "waiver_taken": content.owner["word_no"]}
    )
    done = reissue(desk, back, today=TODAY)
    assert done.changes[0].startswith("Modifié depuis la révision 1")
    assert any(words[2] in line and words[1] in line for line in done.changes)
    assert any("oui" in line and "non" in line for line in done.changes)


# A long text


def test_a_long_or_wild_text_stays_one_short_line(desk, sent_back):
    wild = "=cmd|' /C calc'!A0\n" + "x" * 150
    done = reissue(desk, sent_back(TENT, client=wild), today=TODAY)
    assert done.changes[1] == f"Client: Avelie Marsh, now {' '.join(wild.split())[:39]}…."
    assert done.content.inputs["client"] == wild
    assert not [
        cell for cell in read_workbook(done.path).sheets[0].cells.values() if cell.formula and "cmd" in cell.formula
    ]
