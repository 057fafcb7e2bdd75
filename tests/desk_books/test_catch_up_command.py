"""The command as typed or double-clicked: ten lines at most, a status, and one sentence for what waits."""

import os
import subprocess
import sys

import pytest
from click.testing import CliRunner
from owner import WEDDING, new_desk, type_requests

from quotebook.cli import main
from quotebook.desk_books.catching_up import LINES, CaughtUp, say_caught_up
from quotebook.desk_books.one_at_a_time import one_at_a_time
from quotebook.desk_books.outcome import Outcome
from quotebook.desk_books.setting_up import BATCH, COMMAND


def run(desk, *options):
    return CliRunner().invoke(main, ["catch-up", "--desk", str(desk.folder), *options])


def test_status_and_words(tmp_path):
    desk = new_desk(tmp_path / "desk")
    type_requests(desk, WEDDING)
    dry = run(desk, "--dry-run")
    assert dry.exit_code == 0 and "would be issued to Avelie Marsh" in dry.output and not desk.latest_revision("Q0001")
    done = run(desk)
    assert done.exit_code == 0 and "row 5: issued as Q0001" in done.output
    type_requests(desk, WEDDING | {"Ground": "sand"}, first=6)
    waiting = run(desk)
    assert waiting.exit_code == 1 and "1 waits for you:" in waiting.output
    listed = CliRunner().invoke(
        main, ["issue", "--desk", str(desk.folder), "--requests", str(desk.folder / "requests.xlsx")]
    )
    assert listed.exit_code == 2 and 'found "sand"' in listed.output


def test_a_second_one_waits_its_turn(tmp_path):
    desk = new_desk(tmp_path / "desk")
    with one_at_a_time(desk):
        second = run(desk)
    assert second.exit_code == 2 and "already" in second.output and run(desk).exit_code == 0


@pytest.mark.parametrize("count", [0, 1, 5, 6, 500])
def test_it_says_ten_lines_at_most(count):
    outcomes = tuple(Outcome(f"row {place}", "waits", waits=True) for place in range(count))
    lines = list(say_caught_up(CaughtUp(outcomes, outcomes, (), ())))
    assert len(lines) <= LINES


def test_a_card_that_cannot_be_used_stops_it(tmp_path):
    desk = new_desk(tmp_path / "desk")
    desk.rate_card_path.write_bytes(b"no workbook")
    assert run(desk).exit_code == 3


def test_init_leaves_what_an_owner_double_clicks(tmp_path):
    done = CliRunner().invoke(main, ["init", str(tmp_path / "desk")])
    assert done.exit_code == 0
    command, batch = tmp_path / "desk" / COMMAND, tmp_path / "desk" / BATCH
    assert os.access(command, os.X_OK) and b"\r\n" in batch.read_bytes() and b"catch-up" in batch.read_bytes()
    said = subprocess.run(["sh", command], input="\n", capture_output=True, text=True, cwd="/", check=False)
    assert "Requests: nothing new." in said.stdout and "Press Enter" in said.stdout, said.stderr
    assert sys.executable in command.read_text()
