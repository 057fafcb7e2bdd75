"""Rows become quotes: once each, all or nothing, told beside the row, whatever happens to the book meanwhile."""

import csv
import io
from datetime import date

import openpyxl
import pytest
from owner import TODAY, WEDDING, files_of, new_desk, run, told, type_requests

from quotebook.contract.stamp import unseal
from quotebook.desk import Desk
from quotebook.desk_books.kept_requests import keep_request, kept_request
from quotebook.desk_books.places import request_book
from quotebook.quoting.mail import kept_address
from quotebook.rate_card.renewing import renew

ORCHARD = WEDDING | {"Client": "Tamsin Crake", "Mail": None, "Date": date(2027, 6, 19), "Guests": 60}


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    desk = new_desk(tmp_path_factory.mktemp("desk") / "desk")
    type_requests(desk, WEDDING, ORCHARD | {"Ground": "sand"}, ORCHARD | {"Event": "Dance"})
    run(desk)
    return desk


def inputs(desk, number, revision=1):
    return unseal(desk.issued_stamp(number, revision), desk.key()).inputs


def test_a_row_that_can_be_priced_is_issued_and_one_that_cannot_is_told(desk):
    assert [number for number, _ in told(desk)] == ["Q0001", None, "Q0002"]
    sentences = [sentence for _, sentence in told(desk)]
    assert sentences[0].startswith("Issued: ") and "USD" in sentences[0]
    assert "Ground" in sentences[1] and 'found "sand"' in sentences[1]
    assert inputs(desk, "Q0001")["guests"] == 120 and kept_address(desk, "Q0001") == "a@marsh.example"


def test_a_second_run_changes_nothing(desk):
    run(desk)
    before = files_of(desk)
    again = run(desk)
    assert files_of(desk) == before and len(again.waiting) == 1 and not [*again.returned, *again.decided, *again.book]


def test_a_dry_run_changes_nothing(desk):
    type_requests(desk, {"Ground": "grass"}, first=6)
    before = files_of(desk)
    done = run(desk, dry_run=True)
    assert files_of(desk) == before and [str(each) for each in done.issued] == [
        "row 6: would be issued to Tamsin Crake"
    ]


def test_a_corrected_row_is_issued(desk):
    type_requests(desk, {"Ground": "grass"}, first=6)
    run(desk)
    assert [number for number, _ in told(desk)] == ["Q0001", "Q0003", "Q0002"]


def test_what_the_owner_typed_and_how_it_looks_is_left_alone(desk):
    book = openpyxl.load_workbook(request_book(desk))
    sheet = book["Requests"]
    sheet["AN4"], sheet["AN5"], sheet["AN5"].number_format = "Seen by", 0.5, "0.00%"
    sheet.column_dimensions["AN"].width = 33
    book.create_sheet("My notes")["B2"] = "=1+1"
    book.save(request_book(desk))
    type_requests(desk, WEDDING | {"Client": "New"}, first=8)
    typed = cells(request_book(desk))
    run(desk)
    after = cells(request_book(desk))
    changed = {place for place in typed | after if typed.get(place) != after.get(place)}
    assert changed == {("Requests", "B8"), ("Requests", "C8"), ("Choices", "G6"), ("Choices", "G7")}
    sheet = openpyxl.load_workbook(request_book(desk))["Requests"]
    assert sheet["AN5"].number_format == "0.00%" and sheet.column_dimensions["AN"].width == 33


def cells(path):
    book = openpyxl.load_workbook(path)
    return {(sheet.title, cell.coordinate): cell.value for sheet in book for row in sheet for cell in row if cell.value}


def test_a_row_whose_number_was_lost_is_known_again(desk):
    """The book was open while it was issued, and saved over what had been written into it."""
    type_requests(desk, {"Quote": None, "What became of it": None})
    done = run(desk)
    assert not [each for each in done.issued if not each.waits]
    assert told(desk)[0][0] == "Q0001"


def test_sorted_rows_keep_their_quotes(desk):
    type_requests(desk, ORCHARD | {"Event": "Dance", "Quote": "Q0002"}, ORCHARD | {"Ground": "sand", "Quote": None},
                  WEDDING | {"Quote": "Q0001"})  # fmt: skip
    done = run(desk)
    assert not [each for each in done.issued if not each.waits]


def test_a_copied_row_is_told_until_its_number_is_cleared(desk):
    type_requests(desk, WEDDING | {"Quote": "Q0001"}, first=8)
    assert "Q0001 is row 5 already" in str(run(desk).issued[-1])
    type_requests(desk, {"Quote": None}, first=8)
    assert str(run(desk).issued[-1]) == "row 8: issued as Q0003"


def test_a_number_that_no_quote_has_is_told(desk):
    type_requests(desk, WEDDING | {"Quote": "Q0777"}, first=8)
    assert "No quote Q0777 was issued here" in told_after(desk)[3]


def told_after(desk):
    run(desk)
    return [sentence for _, sentence in told(desk)]


def test_a_changed_row_is_asked_about(desk):
    type_requests(desk, {"Guests": 140})
    assert told_after(desk)[0] == "This row was Q0001 and has changed (Guests 120, now 140): new or reissue?"
    assert desk.latest_revision("Q0001") == 1


def test_a_changed_row_is_reissued_when_the_owner_says_so(desk):
    type_requests(desk, {"Guests": 140, "If changed": "reissue"})
    assert told_after(desk)[0].startswith("Revision 2, issued: ")
    assert inputs(desk, "Q0001", 2)["guests"] == 140 and kept_request(desk, "Q0001")["guests"] == "140"
    before = files_of(desk)
    run(desk)
    assert files_of(desk) == before


def test_a_changed_row_is_another_quote_when_the_owner_says_so(desk):
    type_requests(desk, {"Guests": 140, "If changed": "New"})
    run(desk)
    assert told(desk)[0][0] == "Q0003" and desk.latest_revision("Q0001") == 1
    assert kept_request(desk, "Q0001")["guests"] == "120"


@pytest.mark.parametrize("lock", ["~$requests.xlsx", ".~lock.requests.xlsx#"])
def test_a_book_that_is_open_is_told_and_left_alone(desk, lock):
    type_requests(desk, {"Ground": "grass"}, first=6)
    (desk.folder / lock).touch()
    before = request_book(desk).read_bytes()
    done = run(desk)
    assert f"remove {lock}" in str(done.issued[0]) and done.waiting
    assert request_book(desk).read_bytes() == before and not desk.latest_revision("Q0003")


@pytest.mark.parametrize("delimiter", [",", ";"])
def test_a_list_in_csv_is_told_in_columns_of_its_own(desk, delimiter):
    path = desk.folder / "requests.csv"
    text = io.StringIO()
    writer = csv.writer(text, delimiter=delimiter, lineterminator="\r\n")
    writer.writerows([
        ["--date", "SURFACE", "Floor", "client", "seen by"], ["2027-07-01", "grass", "OAK-44:8x8", "Quill, Mere", "J."],
        ["2027-07-01", "sand", "OAK-44:8x8", "Other", ""],
    ])  # fmt: skip
    path.write_bytes(b"\xef\xbb\xbf" + text.getvalue().encode())
    run(desk)
    head, first, second = csv.reader(io.StringIO(path.read_text("utf-8-sig")), delimiter=delimiter)
    assert head[5:] == ["Quote", "What became of it"] and first[3:6] == ["Quill, Mere", "J.", "Q0003"]
    assert second[5] == "" and 'found "sand"' in second[6]
    assert path.read_bytes().startswith(b"\xef\xbb\xbf") and b"\r\n" in path.read_bytes()
    before = files_of(desk)
    run(desk)
    assert files_of(desk) == before


def test_a_quote_in_the_clients_language_and_without_tax(desk):
    type_requests(desk, WEDDING | {"Language": "fr", "Tax exempt because": "school, certificate 7"}, first=8)
    run(desk, TODAY)
    content = unseal(desk.issued_stamp("Q0003", 1), desk.key())
    assert content.owner["word_yes"] == "oui" and content.results["tax"] == 0


def test_a_row_kept_for_a_number_that_this_desk_did_not_use_is_no_quotes(tmp_path):
    """It is written before the quote; then the number went to another desk of the same ledger."""
    desk = new_desk(tmp_path / "desk")
    keep_request(desk, "Q0001", {"access_from": "16:30"})
    assert kept_request(desk, "Q0001") is None
    desk.issued_path("Q0001", 1).touch()
    assert kept_request(desk, "Q0001") == {"access_from": "16:30"}


def in_metres(desk: Desk) -> None:
    """Convert the desk's card, as `update-card --unit m` does."""
    renew(desk.rate_card_path, desk.folder / "in feet.xlsx", "ft", "m")
    desk.note_unit("m")


def test_a_book_in_another_unit_than_the_card_is_refused_and_a_fresh_one_is_in_the_cards(desk):
    in_metres(desk)
    type_requests(desk, {"Ground": "grass"}, first=6)
    assert told_after(desk)[1] == (
        'Not issued: cell N4: found "Width 1 (ft)"; allowed: "Width 1 (m)", since the rate card is in m. '
        "Rename this file: catching up makes a book in m. Copy into it the rows that are no quotes yet, converted."
    )
    assert not desk.latest_revision("Q0003") and told(desk)[0][1].startswith("Issued: ")
    request_book(desk).rename(desk.folder / "in feet requests.xlsx")
    run(desk)
    type_requests(desk, {"Client": "New", "Date": date(2027, 6, 12), "Ground": "grass", "Floor 1": "OAK-44",
                         "Width 1 (m)": 4.9, "Length 1 (m)": 6.1})  # fmt: skip
    assert str(run(desk).issued[-1]) == "row 5: issued as Q0003"


@pytest.mark.parametrize(("answer", "said"), [("reissue", 'allowed: "Width 1 (m)"'), ("new", 'allowed: "Width 1 (m)"')])
def test_a_changed_row_of_a_book_in_another_unit_is_refused(desk, answer, said):
    in_metres(desk)
    type_requests(desk, {"Guests": 140, "If changed": answer})
    assert said in told_after(desk)[0] and desk.latest_revision("Q0001") == 1 and not desk.latest_revision("Q0003")


def test_a_quote_in_another_unit_than_the_card_has_no_further_revision(desk):
    """Also where the headings of its row say no unit, or were corrected."""
    in_metres(desk)
    book = openpyxl.load_workbook(request_book(desk))
    for cell in book["Requests"][4]:
        cell.value = str(cell.value).partition(" (")[0]
    book.save(request_book(desk))
    type_requests(desk, {"Guests": 140, "If changed": "reissue"})
    assert "Q0001 was issued in ft, and the rate card is in m" in told_after(desk)[0]
    assert desk.latest_revision("Q0001") == 1
