"""The owner's folder: made once, never overwritten, its numbers never given out twice."""

import errno
import os
import re
import stat
from concurrent.futures import ProcessPoolExecutor
from itertools import islice
from multiprocessing import get_context
from pathlib import Path

import pytest

from quotebook.desk import Desk, init
from quotebook.errors import Misuse
from quotebook.files import atomically


@pytest.fixture
def desk(tmp_path):
    return init(tmp_path / "desk")


def names_in(folder):
    return sorted(path.name for path in folder.iterdir())


# Making a desk


def test_a_new_desk_works_at_once(desk):
    assert names_in(desk.folder) == ["issued", "rate_card.xlsx", "signing.key"]
    assert desk.card().firm.firm == "Quillmere Floor Hire"
    assert desk.issued.is_dir()


def test_the_metric_card_is_to_be_had_too(tmp_path):
    assert init(tmp_path / "desk", "rate_card_metric.xlsx").card().firm.length_unit == "m"


@pytest.mark.parametrize("there", ["rate_card.xlsx", "signing.key", "issued"])
def test_what_is_there_is_never_overwritten_and_nothing_is_added(tmp_path, there):
    (tmp_path / there).write_text("mine")
    with pytest.raises(Misuse, match=re.escape(there)):
        init(tmp_path)
    assert names_in(tmp_path) == [there]
    assert (tmp_path / there).read_text() == "mine"


def test_a_folder_that_cannot_be_made_is_one_sentence(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(Misuse, match="cannot be made a desk"):
        init(tmp_path / "file" / "desk")


# The key


def test_the_key_is_32_random_bytes_that_only_its_owner_can_read(desk, tmp_path):
    assert len(desk.key()) == 32
    assert desk.key() != init(tmp_path / "other").key()
    assert stat.S_IMODE(desk.key_path.stat().st_mode) == 0o600
    assert desk.key_caution() == ""


@pytest.mark.skipif(os.name != "posix", reason="file modes are POSIX's")
@pytest.mark.parametrize("mode", [0o640, 0o604, 0o666])
def test_a_key_that_others_can_read_is_pointed_out(desk, mode):
    desk.key_path.chmod(mode)
    assert "chmod 600" in desk.key_caution()


@pytest.mark.parametrize("text", ["", "abcd", "z" * 64, "é" * 64])
def test_what_is_no_key_is_refused(desk, text):
    desk.key_path.write_text(text, "utf-8")
    with pytest.raises(Misuse, match=r"signing\.key"):
        desk.key()


@pytest.mark.parametrize("action", [Desk.key, Desk.card, lambda desk: next(desk.numbers())])
def test_a_folder_that_is_no_desk_says_how_to_make_one(tmp_path, action):
    with pytest.raises(Misuse, match="quotebook init"):
        action(Desk(tmp_path))


def test_a_desk_with_a_part_missing_says_which(desk):
    desk.key_path.unlink()
    with pytest.raises(Misuse, match=r"the desk has lost signing\.key"):
        desk.key()


# Quote numbers


def test_numbers_count_up_and_are_never_given_twice(desk):
    assert [next(desk.numbers()) for _ in range(3)] == ["Q0001", "Q0002", "Q0003"]
    assert list(islice(desk.numbers(), 2)) == ["Q0004", "Q0005"]


def test_numbers_go_on_from_the_quotes_that_are_there(desk):
    for name in ("Q0007-r1.xlsx", "Q0007-r2.xlsx", "notes.txt", "Q9.xlsx", "Q0041-r1.checked.xlsx"):
        (desk.issued / name).write_text("")
    assert next(desk.numbers()) == "Q0008"


def test_a_folder_that_takes_no_quote_is_said(desk, monkeypatch):
    def full(*_):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(Path, "open", full)
    with pytest.raises(Misuse, match="issued: a quote cannot be written there: No space left on device"):
        next(desk.numbers())


def test_numbers_outgrow_four_digits(desk):
    (desk.issued / "Q9999-r1.xlsx").write_text("")
    assert next(desk.numbers()) == "Q10000"
    assert next(desk.numbers()) == "Q10001"


def test_a_quotes_place_carries_its_number_and_revision(desk):
    assert desk.issued_path("Q0012", 3) == desk.folder / "issued" / "Q0012-r3.xlsx"


def take_numbers(folder, count):
    return list(islice(Desk(folder).numbers(), count // 2)) + [next(Desk(folder).numbers()) for _ in range(count // 2)]


def test_processes_at_once_never_take_the_same_number(desk):
    with ProcessPoolExecutor(4, mp_context=get_context("spawn")) as pool:
        taken = [number for each in pool.map(take_numbers, [desk.folder] * 4, [50] * 4) for number in each]
    assert len(set(taken)) == 200


# Writing


def test_a_file_appears_whole_or_not_at_all(tmp_path):
    path = tmp_path / "quote.xlsx"
    with atomically(path) as temporary:
        temporary.write_text("half")
        assert not path.exists() and temporary.parent == tmp_path and temporary.suffix == ".xlsx"
        temporary.write_text("whole")
    assert path.read_text() == "whole"
    assert names_in(tmp_path) == ["quote.xlsx"]


@pytest.mark.parametrize("interruption", [KeyboardInterrupt, ValueError, SystemExit])
@pytest.mark.parametrize("overwrite", [False, True])
def test_an_interrupted_write_leaves_everything_as_it_was(tmp_path, interruption, overwrite):
    path = tmp_path / "quote.xlsx"
    if overwrite:
        path.write_text("before")
    before = names_in(tmp_path)
    with pytest.raises(interruption), atomically(path, overwrite) as temporary:
        temporary.write_text("half")
        raise interruption
    assert names_in(tmp_path) == before
    assert not overwrite or path.read_text() == "before"


def test_an_existing_file_is_left_unless_told_otherwise(tmp_path):
    path = tmp_path / "quote.xlsx"
    path.write_text("before")
    with pytest.raises(Misuse, match="exists already"), atomically(path):
        pytest.fail("nothing should be written")
    assert path.read_text() == "before"
    with atomically(path, overwrite=True) as temporary:
        temporary.write_text("after")
    assert path.read_text() == "after"


def test_a_file_that_came_into_being_meanwhile_is_left_too(tmp_path):
    path = tmp_path / "quote.xlsx"
    with pytest.raises(Misuse, match="exists already"), atomically(path) as temporary:
        temporary.write_text("ours")
        path.write_text("theirs")
    assert path.read_text() == "theirs"
    assert names_in(tmp_path) == ["quote.xlsx"]


def test_a_file_system_without_links_is_written_to_as_well(tmp_path, monkeypatch):
    def no_links(*paths):
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", no_links)
    with atomically(tmp_path / "quote.xlsx") as temporary:
        temporary.write_text("whole")
    assert names_in(tmp_path) == ["quote.xlsx"]


def test_a_folder_that_is_not_there_is_one_sentence(tmp_path):
    with pytest.raises(Misuse, match="cannot be written: No such file or directory"), atomically(tmp_path / "a" / "b"):
        pytest.fail("nothing should be written")


def test_a_new_file_is_as_readable_as_any_other(tmp_path):
    (tmp_path / "other").write_text("")
    with atomically(tmp_path / "quote") as temporary:
        temporary.write_text("")
    assert (tmp_path / "quote").stat().st_mode == (tmp_path / "other").stat().st_mode
