"""Verdicts of a check are recorded some at once, and before anything is said of the files."""

import pickle
from dataclasses import replace
from types import SimpleNamespace

import pytest
from ledger_fixtures import CARD, floor, quote

from quotebook.bookings import archive, receiving
from quotebook.checking.incoming import Incoming
from quotebook.desk import Desk, init
from quotebook.errors import Misuse
from quotebook.ledger.events import Issued

FIGURES = quote(lines=floor())
REPORT = SimpleNamespace(quote="Q0001", revision=1, verdict="changed", findings=("wider",))


@pytest.fixture
def desk(tmp_path, monkeypatch):
    """A desk where Q0001 is issued."""
    monkeypatch.delenv("QUOTEBOOK_LEDGER", raising=False)
    monkeypatch.setattr(Desk, "card", lambda desk: CARD)
    monkeypatch.setattr(receiving, "AT_ONCE", 2)
    made = init(tmp_path / "desk")
    made.issued_path("Q0001", 1).write_bytes(pickle.dumps(FIGURES))
    issued = Issued(at=archive.now(), quote=FIGURES, sha256="ab" * 32)
    archive.record_event(made, archive.open_ledger(made), issued)
    return made


def answers(folder, *texts):
    """A file that came back for each text, and the report on it."""
    for text in texts:
        path = folder / f"{text}.xlsx"
        path.write_text(text)
        yield Incoming(str(path)), REPORT


def refuse(error):
    raise error


def history(desk):
    return [event["event"] for event in archive.open_ledger(desk).history()]


def test_verdicts_are_recorded_two_at_once_and_before_their_files_go_on(desk):
    files = receiving.recorded(desk, answers(desk.folder, "one", "two", "three"), refuse)
    seen = [(file.path.stem, history(desk).count("returned")) for file, _ in files]
    assert seen == [("one", 2), ("two", 2), ("three", 3)]
    assert archive.slip_path(desk, 4).exists() and not archive.slip_path(desk, 5).exists()
    kept = [archive.digest_of(text) for text in (b"one", b"two", b"three")]
    assert all(archive.returned_path(desk, digest).exists() for digest in kept)


def test_a_file_that_is_recorded_already_the_desks_own_copy_and_another_desks_quote_are_not_recorded(desk):
    own = Incoming(str(desk.issued_path("Q0001", 1)))
    another = SimpleNamespace(**vars(REPORT) | {"quote": "Q0009"}), SimpleNamespace(**vars(REPORT) | {"quote": None})
    [one] = answers(desk.folder, "one")
    checked = [one, one, (own, REPORT), *((one[0], report) for report in another)]
    assert [*receiving.recorded(desk, checked, refuse)] == checked
    assert history(desk) == ["issued", "returned"]


def test_a_quote_that_a_crash_left_unrecorded_is_recorded_before_the_verdict(desk, monkeypatch):
    lost = replace(FIGURES, quote_number="Q0002")
    desk.issued_path("Q0002", 1).write_bytes(pickle.dumps(lost))
    of_file = Issued(at=archive.now(), quote=lost, sha256="cd" * 32)
    monkeypatch.setattr(archive, "issued_of_file", lambda *_: of_file)
    [(file, _)] = answers(desk.folder, "one")
    [*_] = receiving.recorded(desk, [(file, SimpleNamespace(**vars(REPORT) | {"quote": "Q0002"}))], refuse)
    assert history(desk) == ["issued", "issued", "returned"]


def test_where_verdicts_cannot_be_recorded_that_is_said_once_and_the_files_go_on(desk):
    said = []
    files = receiving.recorded(desk, answers(desk.folder, "one", "two", "three", "four", "five"), said.append)
    seen = []
    for file, _ in files:
        seen.append(file.path.stem)
        if len(seen) == 2:
            (desk.folder / "ledger.sqlite").rename(desk.folder / "away")
    assert seen == ["one", "two", "three", "four", "five"]
    assert len(said) == 1 and isinstance(said[0], Misuse)
    (desk.folder / "ledger.sqlite").unlink(missing_ok=True)
    (desk.folder / "away").rename(desk.folder / "ledger.sqlite")
    assert history(desk) == ["issued", "returned", "returned"]


def test_a_desk_that_has_recorded_nothing_begins_no_ledger(tmp_path):
    desk = init(tmp_path / "new")
    assert len([*receiving.recorded(desk, answers(tmp_path, "one"), refuse)]) == 1
    assert not (desk.folder / "ledger.sqlite").exists() and not (desk.folder / "slips").exists()
