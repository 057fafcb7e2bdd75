"""What clients send back, dropped into a folder: checked, recorded, moved; what cannot be read stays and is told."""

import os
import shutil
from datetime import UTC, datetime
from decimal import Decimal as D
from email.message import EmailMessage
from email.utils import format_datetime

import pytest
from owner import WEDDING, answer, files_of, new_desk, run, shown, type_requests

from quotebook.bookings.archive import open_ledger
from quotebook.desk_books.places import post_folder


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    desk = new_desk(tmp_path_factory.mktemp("desk") / "desk")
    type_requests(desk, WEDDING, WEDDING | {"Client": "Ines", "Event": "Dance"})
    run(desk)
    return desk


def in_post(desk):
    return sorted(path.name for path in post_folder(desk).iterdir() if path.is_file())


def done(desk):
    return sorted(path.name for path in (post_folder(desk) / "done").iterdir())


def states(desk):
    return {quote.quote_number: quote.state for quote in open_ledger(desk).listed()}


def test_an_answer_is_checked_recorded_and_moved(desk):
    answer(desk, "Q0001", {"accepted": "yes", "questions": "Before noon?"})
    (outcome,) = run(desk).returned
    assert str(outcome) == "Q0001-r1: agrees, Q0001 answered.xlsx" and not outcome.waits
    assert in_post(desk) == [] and done(desk) == ["Q0001 answered.xlsx"]
    assert states(desk) == {"Q0001": "returned", "Q0002": "issued"}
    row = shown(desk, "Q0001")
    assert (row["Answer"], row["Questions"]) == ("agrees, accepted", "Before noon?")


def test_what_was_changed_is_told_with_its_worth_and_marked(desk):
    answer(desk, "Q0001", {"hourly_rate": D(12)})
    run(desk)
    assert done(desk) == ["Q0001 answered.checked.xlsx", "Q0001 answered.xlsx"]
    row = shown(desk, "Q0001")
    assert row["Answer"] == "disputed" and "too little)" in row["Findings"]


def test_a_second_run_changes_nothing(desk):
    answer(desk, "Q0001", {"guests": D(130)})
    run(desk)
    before = files_of(desk)
    again = run(desk)
    assert files_of(desk) == before and not [*again.returned, *again.book]


def test_a_dry_run_moves_nothing(desk):
    answer(desk, "Q0001", {"guests": D(130)})
    before = files_of(desk)
    assert [str(each) for each in run(desk, dry_run=True).returned] == ["Q0001-r1: changed, Q0001 answered.xlsx"]
    assert files_of(desk) == before


def test_a_folder_in_the_post_is_told_and_stays(desk):
    path = answer(desk, "Q0001", {"accepted": "yes"})
    folder = post_folder(desk) / "Lea"
    folder.mkdir()
    shutil.move(path, folder / path.name)
    (outcome,) = run(desk).returned
    assert outcome.waits and outcome.where == "Lea"
    assert "found a folder; allowed: files. Move its files into the post itself." in str(outcome)
    assert [each.name for each in folder.iterdir()] == [path.name] and states(desk)["Q0001"] == "issued"


@pytest.mark.parametrize("junk", [b"", b"hello", b"PK\x03\x04 not a zip"])
def test_what_cannot_be_read_stays_and_is_told(desk, junk):
    (post_folder(desk) / "offer.xlsx").write_bytes(junk)
    answer(desk, "Q0001", {"accepted": "yes"})
    outcomes = {each.where: each for each in run(desk).returned}
    assert in_post(desk) == ["offer.xlsx"] and outcomes["offer.xlsx"].waits and "Q0001-r1" in outcomes


def test_another_desks_quote_stays(desk, tmp_path):
    other = new_desk(tmp_path / "other")
    type_requests(other, WEDDING | {"Client": "Stranger"})
    run(other)
    shutil.copy(other.issued_path("Q0001", 1), post_folder(desk) / "strange.xlsx")
    (outcome,) = run(desk).returned
    assert outcome.waits or "disputed" in str(outcome)


def message(desk, name, number, typed, sent: datetime, subject="Our answer"):
    """A mail with a workbook attached."""
    workbook = answer(desk, number, typed, name="attached.xlsx")
    mail = EmailMessage()
    mail["Subject"], mail["Date"] = subject, format_datetime(sent)
    mail.set_content("See the workbook.")
    mail.add_attachment(workbook.read_bytes(), maintype="application", filename="quote.xlsx",
                        subtype="vnd.openxmlformats-officedocument.spreadsheetml.sheet")  # fmt: skip
    (post_folder(desk) / name).write_bytes(mail.as_bytes())
    workbook.unlink()


def test_of_several_answers_the_one_that_was_sent_last_counts(desk):
    """Whatever order the files lie in: both are kept and counted, the later one is shown."""
    message(desk, "a.eml", "Q0001", {"guests": D(150)}, datetime(2027, 3, 2, 12, tzinfo=UTC))
    message(desk, "b.eml", "Q0001", {"guests": D(130), "questions": "Sooner"}, datetime(2027, 3, 1, 9, tzinfo=UTC))
    assert len(run(desk).returned) == 2
    row = shown(desk, "Q0001")
    assert row["Answer"] == "2 answers, the latest: changed"
    assert row["Questions"] is None and "150" in row["Findings"]


def test_a_message_without_a_workbook_stays(desk):
    mail = EmailMessage()
    mail.set_content("We will think about it.")
    (post_folder(desk) / "think.eml").write_bytes(mail.as_bytes())
    (outcome,) = run(desk).returned
    assert outcome.waits and in_post(desk) == ["think.eml"]


def test_a_workbook_that_is_still_open_stays(desk):
    answer(desk, "Q0001", {"accepted": "yes"})
    (post_folder(desk) / "~$Q0001 answered.xlsx").touch()
    (outcome,) = run(desk).returned
    assert outcome.waits and "Q0001 answered.xlsx" in in_post(desk) and states(desk)["Q0001"] == "issued"


def test_two_files_of_one_name_are_both_kept(desk):
    answer(desk, "Q0001", {"guests": D(130)}, "answer.xlsx")
    run(desk)
    answer(desk, "Q0002", {"guests": D(130)}, "answer.xlsx")
    run(desk)
    assert {"answer.xlsx", "answer-2.xlsx"} <= set(done(desk))


def test_the_time_of_the_file_counts_where_it_says_nothing_else(desk):
    early = answer(desk, "Q0001", {"guests": D(130)}, "early.ods")
    os.utime(early, (1, 1))
    assert in_post(desk) == ["early.ods"]
    run(desk)
    assert states(desk)["Q0001"] == "returned"
