"""Ctrl-C ends a command wherever it comes."""

import signal
import sys
import time

import pytest
from click.testing import CliRunner

from quotebook.cli import main


@pytest.fixture
def interruptions():
    """SIGINT as it is outside of a test's worker, which lets it pass."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


@pytest.mark.usefixtures("interruptions")
def test_an_interruption_that_comes_while_something_is_disposed_of_is_not_lost(tmp_path, monkeypatch):
    class Interrupted:
        def __del__(self):
            raise KeyboardInterrupt

    def create(*_given, **_named):
        Interrupted()
        for _ in range(100):  # the interruption comes between two of these
            time.sleep(0.1)
        pytest.fail("went on")

    monkeypatch.setattr(sys, "unraisablehook", sys.unraisablehook)  # the command sets its own
    monkeypatch.setattr("quotebook.desk.init", create)
    done = CliRunner().invoke(main, ["init", str(tmp_path / "desk")])
    assert (done.exit_code, done.stderr) == (
        130,
        "quotebook: stopped. No file is half written, and what was said to be done is done.\n",
    )
