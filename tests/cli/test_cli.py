"""The commands as typed: their help, their examples, their statuses, and one sentence for whatever goes wrong."""

import json
import os
import re
import shlex
import shutil
import subprocess
import sys
from datetime import date
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner
from extent import some

from quotebook.bookings import corrections, decisions
from quotebook.cli import main
from quotebook.contract.stamp import unseal
from quotebook.demonstration import demo
from quotebook.desk import Desk

SCREEN = 30
COMMANDS = [sys.executable, "-c", "from quotebook.cli import main; main(prog_name='quotebook')"]


@pytest.fixture(scope="module")
def scenario(tmp_path_factory):
    """A desk with what four clients sent back in it: agrees, changed, disputed, disputed."""
    folder = tmp_path_factory.mktemp("cli")
    demo.run(folder, date.today())
    shutil.move(folder / "returned", folder / "desk")
    return folder / "desk"


@pytest.fixture
def at_desk(scenario, tmp_path, monkeypatch):
    """The same desk, a fresh copy, as the current folder."""
    shutil.copytree(scenario, tmp_path / "desk")
    monkeypatch.chdir(tmp_path / "desk")
    return tmp_path / "desk"


def run(*arguments: str):
    """The result of a command: its `exit_code`, `stdout` and `stderr`. An exception is a failure here."""
    result = CliRunner().invoke(main, arguments, env={"COLUMNS": "80"})
    if result.exception and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result


def example_of(command) -> str:
    """The line behind `Example:` in a command's help."""
    return command.epilog.replace("\b", "").partition("Example:")[2].strip()


# Help


@pytest.mark.parametrize("name", ["", *main.commands])
def test_help_is_one_screen(name):
    shown = run(*name.split(), "--help").stdout.splitlines()
    lines = SCREEN if name else len(main.commands) + 10  # the list of commands has a line for each
    assert len(shown) <= lines and max(map(len, shown)) <= 80


@pytest.mark.parametrize("name", main.commands)
def test_every_command_says_what_it_does_and_shows_an_example(name):
    command = main.commands[name]
    assert command.help and example_of(command).startswith(f"quotebook {name} ")
    assert all(parameter.help for parameter in command.params if parameter.param_type_name == "option")


EXPECTED = {"check": 1}
"""Statuses of examples other than 0: two of the four clients' files are disputed."""


def call_it_otherwise(card, old, new):
    """Another code for a kind on a rate card, as its owner types it."""
    book = openpyxl.load_workbook(card)
    sheet, _ = next(iter(book.defined_names["kinds_panel"].destinations))
    (cell,) = [cell for row in book[sheet].iter_rows() for cell in row if cell.value == old]
    cell.value = new
    book.save(card)


AGREED = ["agree", "returned/Q0001-accepted.xlsx", "--sure"]
DELIVERED = [AGREED, ["deliver", "Q0001"]]
COUNTED = [*DELIVERED, ["count-back", "Q0001", "--lost", "OAK-44:3"]]
BEFORE = {
    "cancel": [AGREED], "deliver": [AGREED], "count-back": DELIVERED, "undo": [AGREED], "repaired": COUNTED,
    "bill": [AGREED],
}  # fmt: skip
"""What must have happened before an example."""


class EventDay(date):
    """The day of the example's event."""

    @classmethod
    def today(cls):
        return date(2027, 6, 12)


@pytest.mark.parametrize("name", some(main.commands, main.commands.keys() - {"demo"}))  # it is played by test_demo.py
def test_every_example_runs_as_written(at_desk, name, monkeypatch):
    if name in BEFORE:
        for module in (decisions, corrections):
            monkeypatch.setattr(module, "date", EventDay)
    if name == "rename":
        call_it_otherwise(Path("rate_card.xlsx"), "OAK-44", "OAK-44-NEW")
    for command in BEFORE.get(name, ()):
        assert (done := run(*command)).exit_code == 0, done.output
    result = run(*shlex.split(example_of(main.commands[name]))[1:])
    assert result.exit_code == EXPECTED.get(name, 0), result.output
    assert result.stdout


HEAVY = {"openpyxl", "xlsxwriter", "pandas", "numpy", "sqlalchemy", "babel", "icalendar", "email", "concurrent.futures"}


@pytest.mark.parametrize(
    ("arguments", "needs"),
    [(["check", "--help"], set()), (["check", "returned/Q0001-accepted.xlsx"], {"lxml", "sqlite3"})],
)
def test_help_and_the_check_of_a_file_import_nothing_heavy_that_they_do_not_need(at_desk, arguments, needs):
    code = (
        f"import sys\nfrom quotebook.cli import main\ntry: main({arguments})\nexcept SystemExit: pass\n"
        f"print(sorted({HEAVY | {'lxml', 'sqlite3'}} & sys.modules.keys()))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == str(sorted(needs))
    assert ("the client says yes" in done.stdout) == bool(needs)


# Statuses


ISSUE = ["issue", "--date", "2027-06-12", "--surface", "grass", "--floor", "OAK-44:16x20"]
STATUSES = {
    "nothing changed": (["check", "returned/Q0001-accepted.xlsx"], 0),
    "changed as a client may": (["check", "returned/Q0002-larger.xlsx"], 0),
    "disputed": (["check", "returned/Q0003-cheaper-labour.xlsx"], 1),
    "disputed and not accepted": (["reissue", "returned/Q0003-cheaper-labour.xlsx"], 1),
    "disputed and accepted": (
        ["reissue", "returned/Q0003-cheaper-labour.xlsx", "--accept", "rate-changed:hourly_rate"], 0
    ),
    "no such option": (["check", "--nonsense", "returned"], 2),
    "no file named": (["check"], 2),
    "no desk": (["check", "--desk", "returned", "returned"], 2),
    "no such file": (["check", "gone.xlsx"], 3),
    "one of several cannot be read": (["check", "returned", "gone.xlsx"], 3),
    "no workbook to send": (["send", "gone.xlsx", "--to", "a@b.example"], 3),
    "nobody to send it to": (["send", "issued/Q0001-r1.xlsx"], 2),
    "sending what was changed": (["send", "returned/Q0002-larger.xlsx", "--to", "a@b.example"], 2),
    "a desk made twice": (["init", "."], 2),
    "no floor": (["issue", "--surface", "grass", "--date", "2027-06-12"], 2),
    "a floor of no form": (["issue", "--surface", "grass", "--date", "2027-06-12", "--floor", "16x20"], 2),
    "an entry out of range": ([*ISSUE, "--days", "0"], 2),
    "a date of another form": (["issue", "--date", "12/06/2027", "--floor", "OAK-44:16x20"], 2),
    "no mail address": ([*ISSUE, "--email", "a\nBcc: b@c.example"], 2),
    "a list and a floor": (["issue", "--requests", "list.csv", "--floor", "OAK-44:16x20"], 2),
    "no such list": (["issue", "--requests", "list.csv"], 3),
    "no processes": (["check", "--jobs", "0", "returned"], 2),
}  # fmt: skip


@pytest.mark.parametrize(("arguments", "status"), STATUSES.values(), ids=STATUSES)
def test_the_status_says_how_it_went(at_desk, arguments, status):
    result = run(*arguments)
    assert result.exit_code == status, result.output
    assert "Traceback" not in result.output
    if status >= 2:
        assert result.stderr or "unreadable" in result.stdout


@pytest.mark.parametrize(
    "case", [name for name, (_, status) in STATUSES.items() if status >= 2 and name != "an entry out of range"]
)
def test_what_goes_wrong_is_one_sentence(at_desk, case):
    complaint = run(*STATUSES[case][0]).stderr.strip().splitlines()
    assert (
        len([line for line in complaint if not line.startswith(("Usage:", "Try "))]) <= 2
    )  # click leaves a line between


# Issuing


def test_a_key_that_others_can_read_is_pointed_out_with_the_first_quote(at_desk):
    (at_desk / "signing.key").chmod(0o644)
    assert "Run chmod 600" in run(*ISSUE).stderr
    (at_desk / "signing.key").chmod(0o600)
    assert run(*ISSUE).stderr == ""


def test_a_quote_holds_six_floors(at_desk):
    six = ["--floor", "WHITE-23:4x6:bare"] * 5
    assert run(*ISSUE, *six).exit_code == 0
    refused = run(*ISSUE, *six, "--floor", "WHITE-23:4x6:bare")
    assert refused.exit_code == 2 and "up to 6 floors; 7 were given" in refused.stderr


def test_the_quotes_of_a_list_go_to_one_folder_as_well(at_desk):
    (at_desk / "list.csv").write_text(
        "client,event_date,days,surface,floor_1\nA,2027-06-12,1,grass,OAK-44:16x20\nB,2027-06-13,1,grass,OAK-44:16x16\n"
    )
    assert run("issue", "--requests", "list.csv", "-o", "to/send").exit_code == 0
    for name in ("Q0005-r1.xlsx", "Q0006-r1.xlsx"):
        assert (at_desk / "to" / "send" / name).read_bytes() == (at_desk / "issued" / name).read_bytes()


def test_a_list_charges_no_tax_to_a_client_who_is_exempt(at_desk):
    """As catching up with the request book does."""
    (at_desk / "list.csv").write_text(
        "client,event_date,days,surface,tax_exempt,floor_1\n"
        'A,2027-06-12,1,grass,"school, certificate 7",OAK-44:16x20\nB,2027-06-13,1,grass,,OAK-44:16x20\n'
    )
    assert run("issue", "--requests", "list.csv").exit_code == 0
    desk = Desk(at_desk)
    taxes = [unseal(desk.issued_stamp(number, 1), desk.key()).results["tax"] for number in ("Q0005", "Q0006")]
    assert taxes[0] == 0 < taxes[1]


# Check


def test_json_holds_every_file_and_its_marked_copy_where_one_was_made(at_desk):
    printed = run("check", "--json", "returned").stdout
    assert printed == json.dumps(json.loads(printed), indent=2, ensure_ascii=False) + "\n"
    files = json.loads(printed)["files"]
    assert [file["verdict"] for file in files] == ["agrees", "changed", "disputed", "disputed"]
    assert "marked" not in files[0]
    files = json.loads(run("check", "--json", "--marked", "returned").stdout)["files"]
    assert [file["marked"] for file in files] == [file["file"].replace(".xlsx", ".checked.xlsx") for file in files]


def test_marked_copies_are_made_beside_the_files_and_never_over_another(at_desk):
    assert run("check", "--marked", "returned").exit_code == 1
    copies = sorted((at_desk / "returned").glob("*.checked.xlsx"))
    assert len(copies) == 4
    copies[0].write_text("notes of mine")
    again = run("check", "--marked", "returned")
    assert again.exit_code == 2 and again.stderr.count("--overwrite replaces it") == 4
    assert copies[0].read_text() == "notes of mine"
    assert run("check", "--marked", "--overwrite", "returned").exit_code == 1
    assert openpyxl.load_workbook(copies[0]).sheetnames[0] == "Findings"


def test_several_files_end_in_a_table_that_fits_80_columns(at_desk):
    whole, brief = (run("check", *option, "returned").stdout for option in ((), ("--brief",)))
    assert whole.endswith(f"\n\n{brief}")
    assert max(map(len, brief.splitlines())) <= 80
    assert brief.splitlines()[-1] == "4 files: 1 agrees, 1 changed, 2 disputed"
    one = run("check", "--brief", "returned/Q0001-accepted.xlsx").stdout
    heading, row, count = one.splitlines()
    assert heading.split() == brief.split("\n")[0].split() and "accepted.xlsx" in row and count == "1 file: 1 agrees"
    assert "File " not in run("check", "returned/Q0001-accepted.xlsx").stdout


# Issue, reissue, send


def test_addresses_of_requests_are_kept_for_send(at_desk):
    (at_desk / "list.csv").write_text(
        "client,event_date,days,surface,floor_1,email\n"
        "A,2027-06-12,1,grass,OAK-44:16x20,a@post.example\nB,2027-06-13,1,grass,OAK-44:16x16,\n"
    )
    assert run("issue", "--requests", "list.csv").exit_code == 0
    assert run(*ISSUE, "--email", "c@post.example").exit_code == 0
    sent = {number: run("send", f"issued/{number}-r1.xlsx") for number in ("Q0005", "Q0006", "Q0007")}
    assert {number: result.exit_code for number, result in sent.items()} == {"Q0005": 0, "Q0006": 2, "Q0007": 0}
    assert "To: a@post.example" in (at_desk / "issued" / "Q0005-r1.eml").read_text()
    assert "To: c@post.example" in (at_desk / "issued" / "Q0007-r1.eml").read_text()


def test_reissue_prints_totals_changes_and_the_clients_words(at_desk):
    shown = run("reissue", "returned/Q0002-larger.xlsx", "-o", "for-client.xlsx").stdout
    assert shown.startswith("Q0002 revision 2: ") and "Floor line 1: Width (ft): 14, now 16." in shown
    assert (at_desk / "for-client.xlsx").read_bytes() == (at_desk / "issued" / "Q0002-r2.xlsx").read_bytes()
    assert "Questions: Can you come before noon?" in run("reissue", "returned/Q0001-accepted.xlsx").stdout


def test_the_refusal_to_reissue_can_be_pasted_back(at_desk):
    refusal = run("reissue", "returned/Q0004-no-delivery.xlsx").stderr
    (accept,) = re.findall(r"--accept \S+", refusal)
    assert run("reissue", "returned/Q0004-no-delivery.xlsx", *shlex.split(accept)).exit_code == 0


# On a terminal


def on_terminal(*arguments, **environment) -> str:
    """What a command writes to a terminal, standard output and standard error together."""
    pty = pytest.importorskip("pty")
    ours, theirs = pty.openpty()
    settings = (
        {name: value for name, value in os.environ.items() if name != "NO_COLOR"} | {"TERM": "xterm"} | environment
    )
    running = subprocess.Popen([*COMMANDS, *arguments], stdout=theirs, stderr=theirs, stdin=theirs, env=settings)
    os.close(theirs)
    said = b""
    try:
        while chunk := os.read(ours, 4096):
            said += chunk
    except OSError:  # Linux: the other end has been closed
        pass
    running.wait(60)
    os.close(ours)
    return said.decode()


DISPUTED = ("check", "returned/Q0003*.xlsx")
COLOURS = re.compile(r"\x1b\[[0-9;]*m")


def test_verdicts_and_errors_are_in_colour_on_a_terminal_only(at_desk):
    assert COLOURS.search(on_terminal(*DISPUTED)) and COLOURS.search(on_terminal("reissue", "gone.xlsx"))
    assert not COLOURS.search(run(*DISPUTED).output) and not COLOURS.search(run("reissue", "gone.xlsx").output)


def test_no_color_is_honoured(at_desk):
    """no-color.org: set, and not empty."""
    assert not COLOURS.search(on_terminal(*DISPUTED, NO_COLOR="1"))
    assert not COLOURS.search(on_terminal("reissue", "gone.xlsx", NO_COLOR="1"))
    assert COLOURS.search(on_terminal(*DISPUTED, NO_COLOR=""))


def test_a_reader_that_leaves_early_causes_no_complaint(at_desk):
    running = subprocess.Popen([*COMMANDS, "check", "returned"], stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    running.stdout.close()
    complaint = running.stderr.read()
    running.stderr.close()
    running.wait(60)
    assert b"Traceback" not in complaint and b"quotebook:" not in complaint


def test_issue_prints_what_each_option_comes_to(at_desk):
    """The one that goes out as picked first of all, with its total; then one line for each."""
    entries = ("issue", "--date", "2027-06-20", "--surface", "grass", "--guests", "120")
    printed = run(*entries, "--floor", "B=WHITE-23:16x21", "--floor", "A=OAK-44:16x20:bare").stdout
    alone = {
        option: run(*entries, "--floor", floor).stdout.split()[1]
        for option, floor in (("A", "OAK-44:16x20:bare"), ("B", "WHITE-23:16x21"))
    }
    assert printed.split()[1] == alone["A"]
    assert f"option A, picked: {alone['A']}. Oak, large locking panel, 16 x 20 ft." in printed
    assert f"option B: {alone['B']}. White tiles in sections, 16 x 21 ft. Over a subfloor." in printed
    refused = run(*entries, "--floor", "A=OAK-44:16x20")
    assert refused.exit_code == 2 and "only option A was given; allowed: at least two" in refused.stderr
