"""Decisions in cells: done as the single commands would do them, or told beside the decision, which then stays."""

from datetime import date
from decimal import Decimal as D

import openpyxl
import pytest
from owner import TODAY, WEDDING, answer, decide, files_of, new_desk, run, shown, tasks, type_requests

from quotebook.bookings.archive import open_ledger
from quotebook.checking.advice import NO_FLOOR
from quotebook.contract.stamp import unseal
from quotebook.desk_books.catching_up import say_caught_up
from quotebook.desk_books.deciding import pieces
from quotebook.errors import Misuse

BIG = WEDDING | {"Client": "Ines", "Width 1 (ft)": 28, "Length 1 (ft)": 28}
"""49 of the 60 panels: too many beside the 20 of the wedding on the same day."""


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    desk = new_desk(tmp_path_factory.mktemp("desk") / "desk")
    type_requests(desk, WEDDING, BIG, WEDDING | {"Client": "Bram", "Date": date(2027, 7, 3)})
    run(desk)
    answer(desk, "Q0001", {"accepted": "yes"})
    answer(desk, "Q0003", {"hourly_rate": D(12), "guests": D(90)})
    run(desk)
    return desk


def states(desk):
    return {quote.quote_number: quote.state for quote in open_ledger(desk).listed()}


def test_the_morning_shows_what_waits(desk):
    assert tasks(desk) == [("Answer", "Q0001"), ("Answer", "Q0003"), ("Too much wanted", "Q0001")]


@pytest.mark.parametrize(("day", "waits"), [(13, True), (14, True), (15, False), (10, True), (9, False)])
def test_too_much_is_wanted_where_holds_overlap(tmp_path, day, waits):
    """35 and 35 of 60. What goes out on the 12th is away from the 11th to the 13th, the day of cleaning."""
    desk = new_desk(tmp_path / "neighbours")
    floor = WEDDING | {"Width 1 (ft)": 28, "Length 1 (ft)": 20}
    type_requests(desk, floor, floor | {"Client": "Bram", "Date": date(2027, 6, day)})
    run(desk)
    first = "Q0001" if day > 12 else "Q0002"
    assert tasks(desk) == ([("Too much wanted", first)] if waits else [])


def test_agreed_delivered_counted_back_and_billed(desk):
    """In March the delivery of a June wedding is doubtful, and done only if it is meant so."""
    decide(desk, Q0001={"Decision": "Agree"})
    (outcome,) = run(desk).decided
    assert str(outcome).startswith("Q0001: agreed, held from 2027-06-11") and states(desk)["Q0001"] == "agreed"
    assert shown(desk, "Q0001")["Decision"] is None and shown(desk, "Q0001")["State"] == "agreed"
    decide(desk, Q0001={"Decision": "delivered"})
    assert 'write "delivered, sure"' in str(run(desk).decided[0])
    decide(desk, Q0001={"Decision": "delivered, sure"})
    assert str(run(desk).decided[0]) == "Q0001: delivered"
    after = date(2027, 6, 14)
    decide(desk, Q0001={"Decision": "counted back", "Lost": "OAK-44: 1", "Damaged": "2 corners of OAK-44"})
    (outcome,) = run(desk, after).decided
    assert "panels of OAK-44: 0 damaged, 1 lost" in str(outcome) and states(desk)["Q0001"] == "counted back"
    decide(desk, Q0001={"Decision": "bill"})
    assert str(run(desk, after).decided[0]).startswith("Q0001: billed as B0001: ")
    decide(desk, Q0001={"Decision": "bill"})
    assert "a bill is never changed" in str(run(desk, after).decided[0])


def test_declined_and_cancelled(desk):
    decide(desk, Q0002={"Decision": "decline", "Because": "too dear"}, Q0001={"Decision": "agree"})
    run(desk)
    decide(desk, Q0001={"Decision": "cancel"})
    run(desk)
    assert states(desk) == {"Q0001": "cancelled", "Q0002": "declined", "Q0003": "returned"}
    assert next(quote.because for quote in open_ledger(desk).listed_of(["Q0002"])) == "too dear"


def test_a_disputed_answer_needs_its_findings_accepted(desk):
    decide(desk, Q0003={"Decision": "reissue"})
    (outcome,) = run(desk).decided
    row = shown(desk, "Q0003")
    assert outcome.waits and row["Decision"] == "reissue" and "rate-changed:hourly_rate" in row["What became of it"]
    decide(desk, Q0003={"Accept findings": "all"})
    assert str(run(desk).decided[0]) == ("Q0003: reissued: Q0003-r2.xlsx: 961.77 USD; what was accepted is not in it")
    row = shown(desk, "Q0003")
    assert (row["Rev"], row["State"], row["Decision"], row["What became of it"]) == (2, "issued", None, None)


def test_what_was_accepted_is_said_not_to_count(desk):
    """The client set the crew's hour to 12. It is said however much else was decided in the same book."""
    decide(
        desk,
        Q0001={"Decision": "agree", "Paid": 100, "Paid on": TODAY},
        Q0002={"Decision": "decline"},
        Q0003={"Decision": "agree", "Accept findings": "all", "Because": "by telephone"},
    )
    said = "Q0003: agreed at the rates as issued: 961.77 USD, whatever was accepted; held from 2027-07-02 to 2027-07-04"
    assert next(say_caught_up(run(desk))) == f"Decisions: 4 done; {said}."


def test_a_payment_is_recorded_before_the_bill_of_its_row(desk):
    """The bill says 800.00 paid. One that cannot be recorded keeps the bill waiting: no bill is ever changed."""
    decide(desk, Q0001={"Decision": "agree"})
    run(desk)
    decide(desk, Q0001={"Decision": "bill", "Paid": 800, "Paid on": date(2027, 3, 2)})
    assert [each.waits for each in run(desk).decided] == [True, True]
    assert not open_ledger(desk).bills() and "clear its cells" in shown(desk, "Q0001")["What became of it"]
    decide(desk, Q0001={"Paid on": TODAY})
    paid, billed = run(desk).decided
    assert str(paid) == "Q0001: paid 800.00 on March 1, 2027"
    assert str(billed) == "Q0001: billed as B0001: 961.77, 161.77 of it still due"


def test_blanks_around_a_decision_are_nothing(desk):
    decide(desk, Q0002={"Decision": " decline "})
    run(desk)
    assert states(desk)["Q0002"] == "declined"


def test_an_answer_without_a_floor_is_neither_agreed_nor_reissued(desk):
    path = answer(desk, "Q0002", {"accepted": "yes"})
    places = unseal(desk.issued_stamp("Q0002", 1), desk.key()).places
    book = openpyxl.load_workbook(path)
    for name in ("panel_1", "width_1", "length_1"):
        sheet, row, column = places[name]
        book[sheet].cell(row, column).value = None
    book.save(path)
    run(desk)
    for decision in ("agree", "reissue"):
        decide(desk, Q0002={"Decision": decision})
        (outcome,) = run(desk).decided
        assert outcome.waits and states(desk)["Q0002"] == "returned"
        assert shown(desk, "Q0002")["What became of it"].endswith(NO_FLOOR)


def test_what_is_not_free_is_told_with_what_would_do(desk):
    decide(desk, Q0001={"Decision": "agree"}, Q0002={"Decision": "agree", "Because": "by telephone"})
    first, second = run(desk).decided
    assert not first.waits and second.waits
    said = shown(desk, "Q0002")["What became of it"]
    assert "not enough is free" in said and "Alternatives to floor 1:" in said


def test_a_decision_that_stays_changes_nothing_more(desk):
    decide(desk, Q0002={"Decision": "delivered", "Notes": "ring first"})
    run(desk)
    before = files_of(desk)
    again = run(desk)
    assert files_of(desk) == before and [each.waits for each in again.decided] == [True]
    assert shown(desk, "Q0002")["Notes"] == "ring first"


REFUSED = {
    "without a yes": ({"Decision": "agree"}, "say how under Because"),
    "another word": ({"Decision": "accept"}, "allowed: agree, reissue, decline, cancel, delivered, counted back, bill"),
    "a number": ({"Decision": 7}, "found 7"),
    "too early": ({"Decision": "counted back"}, "is not agreed"),
    "what does not go with it": ({"Decision": "agree", "Lost": "OAK-44: 1"}, "Lost does not go with"),
    "no decision": ({"Because": "too dear"}, "Decision: found nothing"),
    "no amount": ({"Paid": "fifty", "Paid on": TODAY}, 'found "fifty"'),
    "no day": ({"Paid": 50}, "Paid on: found nothing"),
    "a day to come": ({"Paid": 50, "Paid on": date(2027, 3, 2)}, "allowed: a day up to today"),
    "less than a cent": ({"Paid": 50.001, "Paid on": TODAY}, "2 decimal places"),
    "another purpose": ({"Paid": 50, "Paid on": TODAY, "Paid for": "cake"}, "deposit or balance"),
}  # fmt: skip


@pytest.mark.parametrize("what", REFUSED)
def test_what_cannot_be_done_is_told_beside_it(desk, what):
    entries, words = REFUSED[what]
    number = "Q0002" if what == "without a yes" else "Q0001"
    decide(desk, **{number: entries})
    before = states(desk)
    (outcome,) = run(desk).decided
    assert outcome.waits and words in str(outcome) and states(desk) == before
    row = shown(desk, number)
    assert words in row["What became of it"]
    assert {heading: row[heading] for heading in entries if heading != "Paid on"} == {
        heading: value for heading, value in entries.items() if heading != "Paid on"
    }


def test_a_payment_is_recorded_once(desk):
    decide(desk, Q0001={"Paid": 100.5, "Paid on": TODAY, "Decision": "agree"})
    old = (desk.folder / "desk_book.xlsx").read_bytes()
    assert [str(each).partition(",")[0] for each in run(desk).decided] == [
        "Q0001: agreed",
        "Q0001: paid 100.50 on March 1",
    ]
    assert shown(desk, "Q0001")["Paid so far"] == 100.5
    (desk.folder / "desk_book.xlsx").write_bytes(old)  # a program saved the earlier edition over the new one
    run(desk)
    assert shown(desk, "Q0001")["Paid so far"] == 100.5


def test_a_decision_about_an_earlier_answer_is_asked_again(desk):
    decide(desk, Q0001={"Decision": "agree"})
    kept = (desk.folder / "desk_book.xlsx").read_bytes()
    decide(desk, Q0001={"Decision": None})
    answer(desk, "Q0001", {"guests": D(170)}, "later.xlsx")
    run(desk)
    (desk.folder / "desk_book.xlsx").write_bytes(kept)
    (outcome,) = run(desk).decided
    assert outcome.waits and "another answer since" in str(outcome) and states(desk)["Q0001"] == "returned"


def test_a_dry_run_decides_nothing(desk):
    decide(desk, Q0001={"Decision": "agree", "Paid": 50, "Paid on": TODAY})
    before = files_of(desk)
    done = run(desk, dry_run=True)
    assert [str(each) for each in done.decided] == [
        "Q0001: agree: would be done",
        "Q0001: paid 50.00: would be recorded",
    ]
    assert files_of(desk) == before


@pytest.mark.parametrize("text", [
    "OAK-44: 2, corners/OAK-44: 1", "2 OAK-44; 1 corners of OAK-44", "OAK-44 = 2\n1 x corners of OAK-44",
    "2 panels of OAK-44, corners of OAK-44: 1",
])  # fmt: skip
def test_pieces_are_named_as_on_the_day_sheet_or_as_options(text):
    assert pieces(text, "lost") == [("OAK-44", 2), ("corners/OAK-44", 1)]


@pytest.mark.parametrize("text", ["two OAK-44", "OAK-44", "OAK-44: -1"])
def test_pieces_that_cannot_be_told(text):
    with pytest.raises(Misuse, match="Lost: found"):
        pieces(text, "lost")
