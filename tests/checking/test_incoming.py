"""What is named to be checked: files, folders, patterns, messages; many at once, and none stops the rest."""

import json
import os
import shutil
import signal
import subprocess
import sys
import time
from datetime import date
from email.message import EmailMessage
from pathlib import Path

import handmade
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from quotebook.checking import attachments
from quotebook.checking.attachments import attached_workbooks
from quotebook.checking.batch import CHUNK, FILES_A_PROCESS, check_all
from quotebook.checking.check import check_file
from quotebook.checking.incoming import incoming, marked_copies
from quotebook.checking.summary import line_of, summary
from quotebook.cli import main
from quotebook.demonstration import demo
from quotebook.errors import Misuse, Unreadable

TODAY = date(2026, 11, 2)
SHEET = ("application", "vnd.openxmlformats-officedocument.spreadsheetml.sheet")


@pytest.fixture(scope="module")
def returned(tmp_path_factory):
    """A desk, and what four clients sent back: agrees, changed, disputed, disputed."""
    return demo.run(tmp_path_factory.mktemp("incoming"), TODAY)


def message(*attached: tuple[str, bytes]) -> EmailMessage:
    mail = EmailMessage()
    mail["From"], mail["To"], mail["Subject"] = "client@post.example", "hello@quillmere.example", "Re: Quote"
    mail.set_content("Here it is.\n\nFrom: somebody else")
    for name, data in attached:
        mail.add_attachment(data, *SHEET, filename=name)
    return mail


def shown(names, scratch):
    return [one.shown for one in incoming(names, scratch)]


# Files, folders and patterns


@pytest.fixture
def folder(tmp_path):
    """A folder as an owner's is: returned files among everything else."""
    place = tmp_path / "in"
    (place / "june").mkdir(parents=True), (place / ".trash").mkdir(), (place / "__MACOSX").mkdir()
    for name in (
        "b.xlsx", "A.XLSX", "c.ods", "d.pdf", "notes.txt", "photo.jpg", "~$b.xlsx", ".hidden.xlsx", "b.checked.xlsx",
        "june/e.csv", "june/f.xls", ".trash/g.xlsx", "__MACOSX/b.xlsx", "quote",
        "june/g.xltx", "june/h.fods", "june/i.zip",
    ):  # fmt: skip
        (place / name).write_text("")
    return place


TAKEN = [
    "A.XLSX",
    "b.xlsx",
    "c.ods",
    "d.pdf",
    "quote",
    *(f"june/{name}" for name in ("e.csv", "f.xls", "g.xltx", "h.fods", "i.zip")),
]


def test_a_folder_gives_its_workbooks_and_what_clients_send_in_their_place(folder, tmp_path):
    assert shown([folder], tmp_path) == [str(folder / name) for name in TAKEN]


def test_a_pattern_is_worked_out_where_the_shell_does_not(folder, tmp_path):
    assert shown([folder / "b.x*"], tmp_path) == [str(folder / "b.xlsx")]
    assert shown([folder / "**" / "*.?ls"], tmp_path) == [str(folder / "june" / "f.xls")]
    assert shown([f"{folder}/ju*"], tmp_path) == [str(folder / name) for name in TAKEN[5:]]


def test_a_name_with_brackets_is_a_name_first(tmp_path):
    (tmp_path / "quote [1].xlsx").write_text("")
    assert shown([tmp_path / "quote [1].xlsx"], tmp_path) == [str(tmp_path / "quote [1].xlsx")]


def test_a_file_named_twice_is_checked_once(folder, tmp_path):
    assert shown([folder / "b.xlsx", folder, folder / "*.ods"], tmp_path) == [
        str(folder / name) for name in ("b.xlsx", "A.XLSX", *TAKEN[2:])
    ]


def test_what_is_named_outright_is_taken_whatever_it_is_called(folder, tmp_path):
    assert shown([folder / "notes.txt", folder / ".hidden.xlsx"], tmp_path) == [
        str(folder / "notes.txt"), str(folder / ".hidden.xlsx")
    ]  # fmt: skip


def test_lock_files_are_left_out_even_if_named(folder, tmp_path):
    assert shown([folder / "~$b.xlsx", folder / "b.xlsx"], tmp_path) == [str(folder / "b.xlsx")]
    with pytest.raises(Misuse, match="nothing to check"):
        incoming([folder / "~$b.xlsx"], tmp_path)


def test_a_marked_copy_is_never_passed_over_in_silence(folder, tmp_path):
    (named,) = incoming([folder / "b.checked.xlsx"], tmp_path)
    assert named.trouble.startswith(f"{folder / 'b.checked.xlsx'}: is a marked copy that the check wrote")
    assert marked_copies([folder]) == [folder / "b.checked.xlsx"]
    (folder / "mail.eml").write_bytes(message(("b.checked.xlsx", b"PK")).as_bytes())
    (tmp_path / "scratch").mkdir()
    (attached,) = incoming([folder / "mail.eml"], tmp_path / "scratch")
    assert "mail.eml: b.checked.xlsx: is a marked copy" in attached.trouble


def test_the_command_says_which_marked_copies_it_left_out(returned, tmp_path):
    desk, files = returned
    for name in ("a.xlsx", "a.checked.xlsx", "b.checked.xlsx"):
        shutil.copy(files[0], tmp_path / name)
    done = CliRunner().invoke(main, ["check", "--desk", str(desk.folder), "--brief", str(tmp_path)])
    assert done.exit_code < 2  # the quote may have run out by the day of the test
    first = tmp_path / "a.checked.xlsx"
    assert done.stderr == f"quotebook: left out as marked copies that the check wrote: {first} and 1 more\n"


OTHERS = {
    "quote": (b"PK\3\4", "is cut short or damaged"),
    "quote.fods": (b"<?xml version='1.0'?><office:document>", "is a workbook in one XML file"),
    "notes": (b"Here it is.", "is plain text or CSV"),
}


@pytest.mark.parametrize(("name", "data", "says"), [(name, *rest) for name, rest in OTHERS.items()], ids=OTHERS)
def test_what_is_sent_in_place_of_a_workbook_has_its_own_sentence(returned, tmp_path, name, data, says):
    (tmp_path / "in").mkdir(), (tmp_path / "scratch").mkdir()
    (tmp_path / "in" / name).write_bytes(data)
    mail = message()
    mail.add_attachment(data, "application", "octet-stream", filename=name)
    (tmp_path / "mail.eml").write_bytes(mail.as_bytes())
    reports = check_all(incoming([tmp_path / "in", tmp_path / "mail.eml"], tmp_path / "scratch"), returned[0], TODAY)
    assert [says in report.findings[0].message for report in reports] == [True, True]


def test_a_zip_and_a_template_have_their_own_sentences(returned, tmp_path):
    workbook = handmade.parts("")
    template = workbook | {
        "[Content_Types].xml": workbook["[Content_Types].xml"].replace("sheet.main+xml", "template.main+xml")
    }
    handmade.pack(tmp_path / "a.zip", {"quote.xlsx": b"PK"})
    handmade.pack(tmp_path / "b.xltx", template)
    zipped, made = check_all(incoming([tmp_path], tmp_path), returned[0], TODAY)
    assert "is a zip, but not a workbook; if the workbook is inside, unpack it first" in zipped.findings[0].message
    assert "is a template for workbooks (.xltx); open it" in made.findings[0].message


def test_what_is_not_there_is_reported_and_stops_nothing(returned, tmp_path):
    desk, files = returned
    named = [tmp_path / "*.xlsx", tmp_path / "gone.xlsx", files[0]]
    reports = list(check_all(incoming(named, tmp_path), desk, TODAY))
    assert [report.verdict for report in reports] == ["unreadable", "unreadable", "agrees"]
    assert "no file is called so" in reports[0].findings[0].message
    assert "there is no such file" in reports[1].findings[0].message


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="root may look into every folder")
def test_a_folder_that_may_not_be_looked_into_is_reported(folder, tmp_path):
    (folder / "june").chmod(0)
    assert [one.trouble for one in incoming([folder], tmp_path) if one.trouble]


# Messages


def test_every_workbook_in_a_message_is_checked_under_its_name(returned, tmp_path):
    desk, files = returned
    mail = message(("first.xlsx", files[0].read_bytes()), ("second.xlsx", files[2].read_bytes()))
    mail.add_attachment(b"%PDF", "application", "pdf", filename="terms.pdf")
    (tmp_path / "mail.eml").write_bytes(mail.as_bytes())
    (tmp_path / "scratch").mkdir()
    reports = list(check_all(incoming([tmp_path / "mail.eml"], tmp_path / "scratch"), desk, TODAY))
    assert [report.file for report in reports] == [f"{tmp_path}/mail.eml: {name}.xlsx" for name in ("first", "second")]
    assert [report.findings for report in reports] == [
        check_file(files[number], desk, TODAY).findings for number in (0, 2)
    ]


def test_a_damaged_attachment_is_reported_by_the_name_that_a_person_knows(returned, tmp_path):
    (tmp_path / "mail.eml").write_bytes(message(("quote.xlsx", b"hello")).as_bytes())
    (tmp_path / "scratch").mkdir()
    (report,) = check_all(incoming([tmp_path / "mail.eml"], tmp_path / "scratch"), returned[0], TODAY)
    assert report.findings[0].message.startswith(f"{tmp_path}/mail.eml: quote.xlsx: is plain text")


def test_a_workbook_in_a_message_that_was_passed_on_is_found(returned, tmp_path):
    outer = EmailMessage()
    outer.set_content("See below.")
    outer.add_attachment(message(("quote.xlsx", returned[1][0].read_bytes())))
    (tmp_path / "mail.eml").write_bytes(outer.as_bytes())
    assert attached_workbooks(tmp_path / "mail.eml") == [("quote.xlsx", returned[1][0].read_bytes())]


NAMES = {
    "../../etc/quote.xlsx": "quote.xlsx",
    "C:\\Users\\a\\quote.xlsx": "quote.xlsx",
    "quote\x1b[31m.xlsx": "quote_[31m.xlsx",
    "\u202equote.xlsx": "_quote.xlsx",
    "Tanzfläche für Ölbäume.xlsx": "Tanzfläche für Ölbäume.xlsx",
    "a" * 300 + ".xlsx": "a" * 95 + ".xlsx",
    "quote": "quote.xlsx",
    "...": "attachment.xlsx",
    "Q?.ods": "Q_.ods",
}


@pytest.mark.parametrize(("name", "safe"), NAMES.items(), ids=range(len(NAMES)))
def test_the_name_of_an_attachment_is_made_safe(tmp_path, name, safe):
    (tmp_path / "mail.eml").write_bytes(message((name, b"data")).as_bytes())
    assert attached_workbooks(tmp_path / "mail.eml") == [(safe, b"data")]


def test_two_attachments_of_one_name_are_told_apart(tmp_path):
    (tmp_path / "mail.eml").write_bytes(message(("quote.xlsx", b"1"), ("quote.xlsx", b"2")).as_bytes())
    (tmp_path / "scratch").mkdir()
    files = incoming([tmp_path / "mail.eml"], tmp_path / "scratch")
    assert [one.path.read_bytes() for one in files] == [b"1", b"2"]
    assert [one.beside.name for one in files] == ["mail-quote.xlsx", "mail-quote-2.xlsx"]


def test_a_message_without_a_workbook_says_what_was_attached(tmp_path):
    mail = message()
    mail.add_attachment(b"%PDF", "application", "pdf", filename="quote.pdf")
    (tmp_path / "mail.eml").write_bytes(mail.as_bytes())
    with pytest.raises(Unreadable, match=r"no workbook attached \(attached: quote\.pdf\); ask for the workbook itself"):
        attached_workbooks(tmp_path / "mail.eml")


HOSTILE = {
    "empty": (b"", "no workbook attached"),
    "not a message": (b"\x00\xff" * 5000, "no workbook attached"),
    "nested without end": (
        b"".join(b"Content-Type: multipart/mixed; boundary=b%d\n\n--b%d\n" % (n, n) for n in range(900)),
        "damaged as a message|no workbook attached",
    ),
    "messages in messages": (b"Content-Type: message/rfc822\n\n" * 3000, "damaged as a message"),
    "comments in comments": (b"Content-Type: text/plain " + b"(" * 3000 + b"\n\nx", "damaged as a message"),
    "a header without end": (b"Content-Type: text/plain" + b"; a=b" * 20_000 + b"\n\nx", "larger than a message"),
    "a header of many lines": (b"Content-Type: text/plain" + b";\n a=b" * 20_000 + b"\n\nx", "larger than a message"),
    "parts without end": (
        b"Content-Type: multipart/mixed; boundary=b\n\n" + b"--b\n\nx\n" * 50_000, "larger than a message"
    ),
    "lines without end": (b"\n" * 2_000_000, "larger than a message"),
    "too large": (b"x" * (attachments.MAIL_BYTES + 1), "larger than a message"),
}  # fmt: skip


@pytest.mark.parametrize(("data", "says"), HOSTILE.values(), ids=HOSTILE)
def test_a_hostile_message_is_one_sentence_and_soon(tmp_path, data, says):
    (tmp_path / "mail.eml").write_bytes(data)
    begun = time.process_time()
    with pytest.raises(Unreadable, match=says) as refusal:
        attached_workbooks(tmp_path / "mail.eml")
    assert "\n" not in str(refusal.value)
    assert time.process_time() - begun < 10


MAIL = message(("quote.xlsx", b"some bytes of a workbook"), ("größe.xlsx", b"more")).as_bytes()


@settings(max_examples=50)
@given(
    st.lists(st.tuples(st.integers(0, len(MAIL)), st.binary(max_size=6), st.integers(0, 12)), min_size=1, max_size=6)
)
def test_a_damaged_message_gives_workbooks_or_a_sentence(tmp_path_factory, edits):
    data = MAIL
    for at, new, gone in edits:
        data = data[:at] + new + data[at + gone :]
    path = tmp_path_factory.getbasetemp() / "damaged.eml"
    path.write_bytes(data)
    try:
        assert attached_workbooks(path)
    except Unreadable as error:
        assert "\n" not in str(error)


# Many at once


@pytest.fixture(scope="module")
def many(returned, tmp_path_factory):
    """More files than one process takes, a damaged one among them."""
    folder = tmp_path_factory.mktemp("many")
    for number in range(FILES_A_PROCESS * 2 + CHUNK // 2):
        shutil.copy(returned[1][number % 4], folder / f"{number:03}.xlsx")
    (folder / "017.xlsx").write_bytes(returned[1][0].read_bytes()[:5000])
    return folder


@pytest.fixture(scope="module")
def reports(returned, many, tmp_path_factory):
    """What one process reports of them."""
    return list(check_all(incoming([many], tmp_path_factory.mktemp("alone")), returned[0], TODAY, jobs=1))


def test_several_processes_report_as_one_does_and_in_order(returned, many, reports, tmp_path):
    files = incoming([many], tmp_path)
    several = list(check_all(files, returned[0], TODAY, jobs=2))
    assert several == reports
    assert [report.file for report in several] == [one.shown for one in files]
    assert [report.verdict for report in several].count("unreadable") == 1


# The table


def test_the_table_has_a_line_for_each_file_within_80_columns(returned, reports, tmp_path):
    missing = check_all(incoming([tmp_path / ("long " * 30 + ".xlsx")], tmp_path), returned[0], TODAY)
    reports = [*reports, *missing]
    lines = list(summary([*map(line_of, reports)]))
    assert len(lines) == 1 + len(reports) + 1
    assert max(map(len, lines)) <= 80
    assert lines[-1] == f"{len(reports)} files: 7 agrees, 6 changed, 14 disputed, 2 unreadable"


def test_files_of_one_folder_are_named_without_it(returned, tmp_path):
    desk, files = returned
    paths = [shutil.copy(files[0], tmp_path), shutil.copy(files[1], tmp_path / "larger.xlsx")]
    lines = list(summary([line_of(check_file(path, desk, TODAY)) for path in paths]))
    assert lines[1].startswith("…-accepted.xlsx  Q0001-r1  agrees") and lines[2].startswith("larger.xlsx  ")


# Interrupted


@pytest.mark.skipif(os.name != "posix", reason="Ctrl-C is a signal on POSIX")
def test_an_interruption_leaves_no_half_written_file_and_says_so(returned, tmp_path):
    desk, files = returned
    for number in range(400):
        (tmp_path / f"{number:03}.xlsx").write_bytes(files[number % 4].read_bytes())
    (tmp_path / "tmp").mkdir()
    heard = "import signal; signal.signal(signal.SIGINT, signal.default_int_handler)"  # whatever a shell has it ignore
    command = [sys.executable, "-c", f"{heard}; from quotebook.cli import main; main()"]
    running = subprocess.Popen(
        [*command, "check", "--desk", str(desk.folder), "--marked", "--jobs", "1", str(tmp_path)],
        stderr=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env=os.environ | {"TMPDIR": str(tmp_path / "tmp")},
    )  # fmt: skip
    while not any((tmp_path / "tmp").iterdir()):  # made when the check begins
        time.sleep(0.1)
    time.sleep(0.5)
    running.send_signal(signal.SIGINT)
    _, complaint = running.communicate(timeout=60)
    assert running.returncode == 130, complaint
    assert complaint == "quotebook: stopped. No file is half written, and what was said to be done is done.\n"
    assert list((tmp_path / "tmp").iterdir()) == []
    assert not [path for path in tmp_path.iterdir() if path.name.startswith(".")]


def test_a_message_without_a_workbook_comes_back_with_its_trouble(tmp_path):
    message = tmp_path / "mail.eml"
    message.write_text("Subject: yes\n\nWe take it.\n")
    [one] = incoming([message], tmp_path)
    assert (one.path, one.shown, one.beside) == (message, str(message), message)
    assert one.trouble.startswith(f"{message}: ")


def test_a_bad_file_never_stops_the_rest(returned, tmp_path):
    desk, files = returned
    for path in files:
        shutil.copy(path, tmp_path)
    (tmp_path / "A.xlsx").write_bytes(b"PK\3\4")
    (tmp_path / "B.eml").write_bytes(message(("quote.xlsx", files[1].read_bytes())).as_bytes())
    (tmp_path / "Z.pdf").write_bytes(b"%PDF-1.7")
    command = [sys.executable, "-c", "from quotebook.cli import main; main()", "check", "--json", "--marked"]
    done = subprocess.run(
        [*command, "--desk", str(desk.folder), str(tmp_path)], capture_output=True, text=True, timeout=60, check=False
    )
    assert (done.returncode, done.stderr) == (3, "")
    found = {Path(file["file"]).name: (file["verdict"], file["marked"]) for file in json.loads(done.stdout)["files"]}
    assert [verdict for verdict, _ in found.values()].count("unreadable") == 2 and len(found) == 7
    for name in ("Q0001-accepted", "Q0002-larger", "Q0003-cheaper-labour", "Q0004-no-delivery", "B-quote"):
        assert (tmp_path / f"{name}.checked.xlsx").exists()
