"""No traceback, and no status that means something else: odd input, output that cannot be written, and faults."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from types import SimpleNamespace

import pytest
from click.testing import CliRunner
from xlsxwriter.exceptions import FileCreateError

from quotebook.cli import main
from quotebook.desk import init
from quotebook.drawing.styles import new_workbook
from quotebook.ledger import Ledger
from quotebook.ledger.database import file_url

QUOTEBOOK = [sys.executable, "-c", "from quotebook.cli import main; main(prog_name='quotebook')"]
ISSUE = ["issue", "--date", "2027-06-12", "--surface", "grass", "--floor", "OAK-44:4x4:bare"]


@pytest.fixture
def desk(tmp_path, monkeypatch):
    monkeypatch.delenv("QUOTEBOOK_LEDGER", raising=False)
    made = init(tmp_path / "desk")
    monkeypatch.chdir(made.folder)
    return made


def run(*arguments):
    return CliRunner().invoke(main, arguments)


def test_a_fault_is_a_sentence_and_a_report_with_nothing_private(desk, monkeypatch):
    def fail(ledger, quote_number=None):
        secret = "Avelie Marsh, 1,061.92"
        raise RuntimeError(f"{secret} in /home/somebody/desk")

    monkeypatch.setattr(Ledger, "listed", fail)
    done = run("quotes")
    assert (
        done.exit_code == 4 and done.stderr.count("\n") == 1 and "a fault of the program, not of yours" in done.stderr
    )
    [report] = desk.folder.glob("quotebook-report-*.txt")
    written = report.read_text()
    assert "RuntimeError" in written and "quotebook/cli/pipeline.py, line" in written and "command quotes" in written
    assert "Avelie" not in written and "somebody" not in written and str(desk.folder) not in written


def write(name, content):
    Path(name).write_bytes(content)
    return name


HEADINGS = b"client,event_date,days,surface,floor_1\n"
ODD = {
    "the first day there is": (lambda: ["day", "0001-01-01"], 0, "Nothing is agreed for January 1, 1."),
    "the last day there is": (lambda: ["day", "9999-12-31"], 0, "Nothing is agreed for December 31, 9999."),
    "bytes that are no text": (lambda: [*ISSUE, "--client", "\udcff"], 2, "found the sign U+DCFF, which is no text"),
    "a NUL": (lambda: [*ISSUE, "--client", "A\0B"], 2, "found the sign U+0000, which is no text"),
    "bytes that are no text, said of a quote": (
        lambda: ["decline", "Q0001", "--because", "\udcff"], 2, "found the sign U+DCFF, which is no text",
    ),
    "a sign that prints nothing": (
        lambda: ["undo", "Q0001", "--because", "a\x01"], 2, "found the sign U+0001, which is no text",
    ),
    "full-width digits of an amount": (lambda: ["pay", "Q0001", "\uff11\uff12"], 2, "is not a number"),
    "a desk's name that is no text": (
        lambda: [*spoil_slips("desk.txt"), "quotes"], 3, "desk.txt: was changed, and is no desk's name",
    ),
    "a NUL in a list": (
        lambda: ["issue", "--requests", write("l.csv", HEADINGS + b"A\0B,2027-06-12,1,grass,OAK-44:4x4\n")],
        2, "l.csv, row 2, client: found the sign U+0000",
    ),
    "full-width digits": (lambda: ["stock", "--from", "\uff12\uff10\uff12\uff17-06-01"], 2, "is not a date"),
    "a month of one digit": (lambda: ["stock", "--from", "2027-6-1"], 2, "is not a date: write it as YYYY-MM-DD"),
    "a field without end": (
        lambda: ["issue", "--requests", write("l.csv", HEADINGS + b"A" * 200_000 + b",2027-06-12,1,,\n")],
        3, "l.csv: cannot be read as CSV: field larger than field limit",
    ),
    "no text in a list": (lambda: ["issue", "--requests", write("l.csv", b"\xff\xfe\n")], 3, "not a CSV file in UTF-8"),
    "a past event": (lambda: ["issue", "--date", "2020-06-12", *ISSUE[3:]], 2, "12 June 2020, which is past"),
    "a slip that is no text": (lambda: [*spoil_slips(), "quotes"], 3, "000001.json: the slip was changed"),
}  # fmt: skip


def spoil_slips(name="000001.json"):
    assert run(*ISSUE).exit_code == 0
    write(f"slips/{name}", b"\xff\xfe\xff")
    return []


@pytest.mark.parametrize("case", ODD)
def test_what_is_odd_is_a_sentence(desk, case):
    command, status, sentence = ODD[case]
    done = run(*command())
    assert (done.exit_code, sentence in done.output) == (status, True), done.output
    assert not list(desk.folder.glob("quotebook-report-*"))


@pytest.mark.parametrize("address", ["postgresql://h:abc/x", "postgresql://h:99999999/x"])
def test_a_port_that_is_none(desk, monkeypatch, address):
    monkeypatch.setenv("QUOTEBOOK_LEDGER", address)
    done = run("quotes")
    assert done.exit_code == 2 and done.stderr.startswith("quotebook: ")


@pytest.mark.parametrize("command", [["quotes"], ["stock", "--from", "2027-06-01"], ["cancel", "Q0001"], ["rebuild"]])
def test_outside_a_desk_no_ledger_is_made(tmp_path, monkeypatch, command):
    monkeypatch.delenv("QUOTEBOOK_LEDGER", raising=False)
    monkeypatch.chdir(tmp_path)
    done = run(*command)
    assert done.exit_code == 2 and "is not a desk yet" in done.stderr and list(tmp_path.iterdir()) == []


def test_a_workbook_that_cannot_be_written_is_said_as_any_file(tmp_path):
    """XlsxWriter has an exception of its own for it, which is no OSError."""
    assert not issubclass(FileCreateError, OSError)
    book = new_workbook(tmp_path / "no folder" / "book.xlsx")
    with pytest.raises(OSError, match="No such file"):
        book.close()


def elsewhere(shell, *arguments):
    """A command in a shell that redirects it, with what it wrote and its status."""
    return subprocess.run(
        ["sh", "-c", f'exec "$@" {shell}', "sh", *QUOTEBOOK, *arguments],
        capture_output=True, text=True, check=False, timeout=120,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("shell", "arguments", "status", "said"),
    [
        (">/dev/full", ["quotes"], 3, "quotebook: the output: No space left on device\n"),
        (">/dev/full 2>/dev/full", ["quotes"], 3, ""),
        ("2>&-", ["agree", "nothing.xlsx"], 3, ""),
        ("2>&-", ["nonsense"], 2, ""),
        (">&-", ["quotes"], 0, ""),
    ],
)
def test_output_that_cannot_be_written(desk, shell, arguments, status, said):
    done = elsewhere(shell, *arguments)
    assert (done.returncode, done.stderr) == (status, said)


def test_nobody_reads_on(desk):
    """As `quotebook stock ... | head -1` leaves it: ended by the signal for that, as a shell says it."""
    command = [*QUOTEBOOK, "stock", "--from", "2027-01-01", "--to", "2036-12-31", "--csv"]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    process.stdout.close()
    assert (process.wait(timeout=120), process.stderr.read()) == (128 + signal.SIGPIPE, b"")
    process.stderr.close()


def test_what_python_says_of_a_file_that_was_given_up_is_not_shown(capsys):
    """After Ctrl-C or on a full disk, a workbook that is half written is disposed of, and cannot be closed."""
    from quotebook.cli import _interrupt_again

    _interrupt_again(SimpleNamespace(exc_type=ValueError, exc_value=ValueError("seek of closed file")))
    assert capsys.readouterr().err == ""


WORKER = """
import os, time
from concurrent.futures import ProcessPoolExecutor
from quotebook.checking.batch import _follow_the_first
if __name__ == "__main__":
    pool = ProcessPoolExecutor(1, initializer=_follow_the_first)
    print(pool.submit(os.getpid).result(), flush=True)
    time.sleep(600)
"""


def test_who_checks_files_ends_with_the_process_that_started_it(tmp_path):
    """The first process is killed in a way that it cannot notice."""
    script = tmp_path / "first.py"
    script.write_text(WORKER)
    with subprocess.Popen([sys.executable, script], stdout=subprocess.PIPE) as first:
        worker = int(first.stdout.readline())
        first.kill()
    for _ in range(600):
        if not _lives(worker):
            return
        time.sleep(0.1)
    pytest.fail("the worker lives on")


def _lives(process):
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    status = Path(f"/proc/{process}/stat")
    return not status.exists() or status.read_text().rpartition(")")[2].split()[0] != "Z"


@pytest.mark.parametrize("has_slips", [True, False])
def test_a_mistyped_ledger_is_not_begun_nor_answered_from(desk, tmp_path, monkeypatch, has_slips):
    """An address with a typing error would make a new ledger, in which everything is free."""
    if has_slips:
        assert run(*ISSUE).exit_code == 0
    typo = tmp_path / "typo.sqlite"
    monkeypatch.setenv("QUOTEBOOK_LEDGER", file_url(typo))
    said = "its ledger is missing" if has_slips else "QUOTEBOOK_LEDGER names this file, and there is no ledger there"
    for command in (["stock", "--from", "2027-06-12"], ["quotes"], ISSUE, ["backup", "copy.sqlite"], ["catch-up"]):
        done = run(*command)
        assert done.exit_code == 2 and said in done.stderr, command
        assert not typo.exists()
    assert run("rebuild").exit_code == 0 and typo.exists()
    assert run("quotes").exit_code == 0


@pytest.mark.parametrize("address", ["sqlite://", "sqlite:///", "sqlite:///:memory:"])
def test_a_ledger_in_no_file_is_refused(desk, monkeypatch, address):
    monkeypatch.setenv("QUOTEBOOK_LEDGER", address)
    for command in (ISSUE, ["rebuild"]):
        done = run(*command)
        assert done.exit_code == 2 and "QUOTEBOOK_LEDGER" in done.stderr
