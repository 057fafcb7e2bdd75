"""The progress bar: on a terminal, after a second, and gone when the work is done."""

import io
import os
from contextlib import suppress
from threading import Thread
from types import SimpleNamespace

import pytest

from quotebook import desk as desks
from quotebook import progress
from quotebook.cli import main

CLOCK = "quotebook.progress.monotonic"


@pytest.fixture
def terminal(monkeypatch):
    """Standard error on a terminal; gives a function that ends it and tells what was written there.

    A thread reads, since a terminal that nobody reads holds whoever writes more than it can keep.
    """
    master, slave = os.openpty()
    stream, seen = os.fdopen(slave, "w"), []

    def read():
        with suppress(OSError):  # Linux says so of a terminal that is closed at its other end
            while part := os.read(master, 4096):
                seen.append(part)

    reader = Thread(target=read, daemon=True)
    reader.start()
    monkeypatch.setattr(progress, "sys", SimpleNamespace(stderr=stream))

    def written():
        stream.close()
        reader.join()
        return b"".join(seen).decode()

    yield written
    written()
    os.close(master)


def ticking(monkeypatch, seconds):
    """A clock that is so many seconds further at every look."""
    moments = iter(range(10_000))
    monkeypatch.setattr(CLOCK, lambda: next(moments) * seconds)


def test_a_terminal_sees_how_far_it_is_and_then_nothing_of_it(terminal, monkeypatch):
    """Each item takes half a second: two are done after one second, and the other two take one more."""
    ticking(monkeypatch, 0.5)
    assert list(progress.watched("abcd", "Checking")) == [*"abcd"]
    shown = terminal()
    assert "Checking [#######-----------------------] 1 of 4, 3 s left" in shown
    assert "3 of 4" in shown and shown.endswith(progress.CLEAR)


def test_quick_work_shows_nothing(terminal, monkeypatch):
    ticking(monkeypatch, 0.01)
    assert list(progress.watched(range(20), "Checking")) == [*range(20)]
    assert terminal() == ""


def test_what_is_stopped_leaves_no_bar_behind(terminal, monkeypatch):
    ticking(monkeypatch, 2)
    with pytest.raises(KeyboardInterrupt):
        for each in progress.watched([1, 2, 3], "Issuing"):
            if each == 3:
                raise KeyboardInterrupt
    assert terminal().endswith(progress.CLEAR)


@pytest.mark.parametrize("stream", [io.StringIO(), None], ids=["a file", "closed"])
def test_nothing_is_shown_where_nobody_reads_a_terminal(monkeypatch, stream):
    ticking(monkeypatch, 5)
    monkeypatch.setattr(progress, "sys", SimpleNamespace(stderr=stream))
    assert list(progress.watched(iter("ab"), "Checking", 2)) == ["a", "b"]
    progress.clear()
    assert stream is None or stream.getvalue() == ""


COMMANDS = {
    "issue": (["issue", "--requests", "june.csv"], "Issuing ["),
    "check": (["check", "issued"], "Checking ["),
    "rebuild": (["rebuild", "--to", "again.sqlite"], "Re-creating the ledger ["),
    "buy": (["buy", "--requests", "june.csv", "--redraws", "5"], "Drawing the season again ["),
    "charge": (["charge", "--requests", "june.csv"], "Pricing the season ["),
    "catch-up": (["catch-up"], "Taking the requests ["),
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A desk with a list of three requests, in its requests and beside them, of which two are issued."""
    desk = desks.init(tmp_path_factory.mktemp("progress") / "desk")
    rows = [f"Client {day},2027-06-{day},grass,OAK-44:16x20" for day in (12, 19, 26)]
    text = "\n".join(["client,event_date,surface,floor", *rows])
    for name in ("june.csv", "requests.csv"):
        (desk.folder / name).write_text(text, "utf-8")
    main(["issue", "--requests", str(desk.folder / "june.csv"), "--desk", str(desk.folder)], standalone_mode=False)
    return desk.folder


@pytest.mark.parametrize("command", COMMANDS)
def test_commands_that_take_long_show_it(folder, terminal, monkeypatch, command):
    """As if every item took ten seconds."""
    arguments, bar = COMMANDS[command]
    monkeypatch.chdir(folder)
    ticking(monkeypatch, 10)
    with pytest.raises(SystemExit):
        main(arguments)
    assert bar in terminal()
