"""Whatever a check advises is a command that succeeds, and where none would, none is advised: finding by finding."""

import shlex
import shutil
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal as D
from pathlib import Path

import pytest
from click.testing import CliRunner
from edits import Book
from test_appearance import ADDED

from quotebook.bookings.archive import open_ledger
from quotebook.bookings.decisions import issue_and_record, reissue_and_record
from quotebook.cli import main
from quotebook.contract.stamp import Content
from quotebook.demonstration.demo import EVENTS
from quotebook.desk import Desk, init
from quotebook.quoting.mixing import floor_lines
from quotebook.spreadsheets.cells import CellAddress

EVENT = replace(EVENTS[0], event_date=date.today() + timedelta(days=200))


class Issued:
    """A desk where one quote was issued and recorded today."""

    def __init__(self, folder: Path, request):
        self.desk = init(folder / "desk")
        card = self.desk.card()
        self.path, self.content = issue_and_record(
            self.desk, open_ledger(self.desk), card, request(card), "Q0001", date.today()
        )


def at(content: Content, name: str) -> CellAddress:
    return CellAddress(*content.places[name])


@pytest.fixture(scope="module")
def issued(tmp_path_factory):
    return Issued(tmp_path_factory.mktemp("issued"), lambda card: EVENT)


@pytest.fixture(scope="module")
def mixed(tmp_path_factory):
    """A quote of one floor of two kinds of panel."""
    return Issued(
        tmp_path_factory.mktemp("mixed"),
        lambda card: replace(EVENT, lines=floor_lines("OAK-44+OAK-34:15x20", card, "grass")),
    )


@pytest.fixture
def at_desk(tmp_path, monkeypatch):
    """Makes a copy of an issued quote's desk the current folder, with an edited file in it; the desk and the file."""
    monkeypatch.delenv("QUOTEBOOK_LEDGER", raising=False)

    def go(issued: Issued, edit, name="back.xlsx"):
        folder = tmp_path / "desk"
        shutil.copytree(issued.desk.folder, folder)
        hand = Book(issued.path).edit()
        edit(hand, issued.content)
        monkeypatch.chdir(folder)
        return Desk(Path()), hand.save(Path(name))

    return go


def run(*arguments):
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


def advised(report: str) -> list[list[str]]:
    """The commands in a report, as their words after the program's name."""
    return [shlex.split(line)[1:] for line in report.splitlines() if line.startswith("    quotebook ")]


def say(word):
    return lambda hand, content: hand.put(at(content, "accepted"), word)


def changed(name, value):
    return lambda hand, content: hand.put(at(content, name), value)


TERM = CellAddress("Terms and cautions", 3, 3)

WITH_ADVICE = {
    "nothing": (lambda hand, content: None, ["reissue", "agree"]),
    "a yes": (say("Yes "), ["agree"]),
    "a no": (say("no"), ["reissue"]),
    "neither": (say("perhaps"), ["reissue", "agree"]),
    "a formula for a yes": (lambda hand, c: hand.formula(at(c, "accepted"), '"yes"'), ["reissue"]),
    "input-changed": (changed("guests", D(90)), ["reissue", "agree"]),
    "input-formula": (lambda hand, c: hand.formula(at(c, "width_1"), "8*2"), ["reissue", "agree"]),
    "rate-changed": (changed("hourly_rate", D(12)), ["reissue"]),
    "formula-replaced": (changed("delivery", D(0)), ["reissue"]),
    "formula-altered": (lambda hand, c: hand.formula(at(c, "tax"), "taxable*0"), ["reissue"]),
    "text-changed": (lambda hand, c: hand.put(TERM, "Pay whenever you like."), ["reissue"]),
    "cell-added": (lambda hand, c: hand.put(CellAddress("Quote", 60, 3), "Less 200"), ["reissue"]),
    "name-missing": (lambda hand, c: hand.forget("width_1"), ["reissue"]),
    "name-doubled": (lambda hand, c: hand.double("total", "Quote", "Quote!$B$99"), ["reissue"]),
    "row-deleted": (lambda hand, c: hand.remove("Quote", row=at(c, "guests").row), ["reissue"]),
    "sheet-missing": (lambda hand, c: hand.delete("Rates"), ["reissue"]),
    "sheet-renamed": (lambda hand, c: hand.rename("Rates", "Your rates"), ["reissue", "agree"]),
    "arithmetic-differs": (lambda hand, c: hand.cache(at(c, "total"), D(1)), ["reissue"]),
    "not-recalculated": (lambda hand, c: hand.cache(at(c, "tax"), None), ["reissue", "agree"]),
    "stamp-missing": (lambda hand, c: hand.delete("stamp"), ["reissue"]),
    "foreign-part": (lambda hand, c: hand.parts.update({"xl/vbaProject.bin": b"?"}), ["reissue"]),
    "two at once": (lambda hand, c: hand.put(at(c, "delivery"), D(0)).put(TERM, "No."), ["reissue"]),
}  # fmt: skip


@pytest.mark.parametrize("what", WITH_ADVICE)
def test_what_is_advised_succeeds(issued, at_desk, what, tmp_path):
    edit, names = WITH_ADVICE[what]
    _, back = at_desk(issued, edit, "the client's.xlsx")
    commands = advised(run("check", back).output)
    assert [name for name, *_ in commands] == names
    shutil.copytree(Path.cwd(), tmp_path / "as it was")
    for command in commands:
        shutil.rmtree(tmp_path / "as it is", ignore_errors=True)
        shutil.copytree(tmp_path / "as it was", tmp_path / "as it is")
        done = run(*command, "--desk", tmp_path / "as it is")
        assert done.exit_code == 0, (command, done.output)


@pytest.mark.parametrize("kind", ADDED)
def test_what_is_seen_is_shown_once_more_before_a_yes_counts(issued, at_desk, kind):
    def both(hand, content):
        hand.put(at(content, "accepted"), "yes")
        ADDED[kind](hand)

    _, back = at_desk(issued, both)
    [command] = advised(run("check", back).output)
    refused = run("agree", back)
    assert refused.exit_code == 1 and f"--accept {kind}" in refused.output.replace("'", "")
    assert run(*command).exit_code == 0


def test_from_another_folder_the_desk_is_named(issued, at_desk, tmp_path, monkeypatch):
    _, back = at_desk(issued, say("yes"))
    back = back.absolute()
    monkeypatch.chdir("/")
    [command] = advised(run("check", "--desk", tmp_path / "desk", back).output)
    assert run(*command).exit_code == 0


WITHOUT_ADVICE = {
    "input-invalid": changed("guests", "lots"),
    "stamp-broken": lambda hand, content: hand.put(CellAddress("stamp", 2, 1), "0" * 64),
}


@pytest.mark.parametrize("kind", WITHOUT_ADVICE)
def test_where_nothing_would_succeed_nothing_is_advised(issued, at_desk, kind):
    _, back = at_desk(issued, WITHOUT_ADVICE[kind])
    said = run("check", back)
    assert said.exit_code == 1 and f"- {kind}:" in said.output and advised(said.output) == []
    for command in ("reissue", "agree"):
        assert run(command, back, "--accept", f"{kind}:guests").exit_code in (1, 2)


def test_a_part_of_a_mixed_floor_is_neither_reissued_nor_agreed(mixed, at_desk):
    _, back = at_desk(mixed, lambda hand, c: hand.put(at(c, "length_1"), D(24)).put(at(c, "accepted"), "yes"))
    said = run("check", back)
    assert "- part-changed:" in said.output and advised(said.output) == []
    for command in ("reissue", "agree"):
        refused = run(command, back, "--accept", "part-changed:length_1")
        assert refused.exit_code == 1 and "Issue the whole floor anew" in " ".join(refused.output.split())


def test_an_older_revision_is_neither_reissued_nor_agreed(issued, at_desk):
    desk, back = at_desk(issued, say("yes"))
    reissue_and_record(desk, open_ledger(desk), back)
    said = run("check", back)
    assert "- older-revision:" in said.output and advised(said.output) == []
    for command in ("reissue", "agree"):
        assert run(command, back, "--accept", "older-revision:revision").exit_code == 2


# The client's yes


def said_yes(desk) -> list[str]:
    """How the client said yes, of every agreement in the ledger."""
    return [event["said_yes"] for event in open_ledger(desk).history("Q0001") if event["event"] == "agreed"]


def test_a_yes_said_otherwise_is_kept_in_the_ledger_and_on_the_slip(issued, at_desk):
    desk, back = at_desk(issued, say("no"))
    refused = run("agree", back)
    assert refused.exit_code == 1 and "the client says no" in refused.output and "--said-yes" in refused.output
    assert run("agree", back, "--said-yes", "by telephone,  3 June").exit_code == 0
    assert said_yes(desk) == ["by telephone, 3 June"]
    (desk.folder / "ledger.sqlite").unlink()
    assert run("rebuild").exit_code == 0
    assert said_yes(desk) == ["by telephone, 3 June"]


# Messages


def mail(*attached: tuple[str, Path]):
    from test_incoming import message

    return message(*((name, path.read_bytes()) for name, path in attached)).as_bytes()


def test_reissue_and_agree_take_a_message_as_check_does(issued, at_desk):
    desk, back = at_desk(issued, say("yes"))
    Path("mail.eml").write_bytes(mail(("the quote.xlsx", back)))
    [command] = advised(run("check", "mail.eml").output)
    assert command == ["agree", "mail.eml: the quote.xlsx"]
    for name in (command[1], "mail.eml"):
        assert run("agree", name).exit_code == 0
    assert run("reissue", "mail.eml").exit_code == 0
    assert desk.issued_path("Q0001", 2).exists()


def test_of_several_workbooks_in_a_message_one_is_named(issued, at_desk):
    _, back = at_desk(issued, say("yes"))
    Path("mail.eml").write_bytes(mail(("one.xlsx", back), ("two.xlsx", issued.path)))
    refused = run("agree", "mail.eml")
    assert refused.exit_code == 2 and "mail.eml: one.xlsx; mail.eml: two.xlsx" in refused.output
    assert run("agree", "mail.eml: one.xlsx").exit_code == 0
    assert run("agree", "mail.eml: three.xlsx").exit_code == 2


def test_what_is_wrong_in_a_message_is_said_by_its_name(issued, at_desk):
    _, back = at_desk(issued, say("no"))
    Path("mail.eml").write_bytes(mail(("quote.xlsx", back)))
    refused = run("agree", "mail.eml")
    assert refused.exit_code == 1 and refused.output.startswith("quotebook: mail.eml: quote.xlsx: the client says no")


# Files that are no quote


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("gone.xlsx", None, "there is no such file; check the name"),
        ("old.xls", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + "Workbook".encode("utf-16-le"), "is an old .xls workbook"),
        ("rate_card.xlsx", ..., "This is a rate card and not a quote"),
    ],
)
def test_a_file_that_is_no_quote_gets_the_sentence_that_fits(issued, at_desk, name, content, said):
    at_desk(issued, say("yes"))
    if isinstance(content, bytes):
        Path(name).write_bytes(content)
    checked = run("check", name)
    assert checked.exit_code == 3 and said in " ".join(checked.output.split())
    assert "again" not in checked.output and advised(checked.output) == []


def test_a_second_marked_copy_says_what_replaces_it(issued, at_desk):
    _, back = at_desk(issued, say("yes"))
    assert run("check", back, "--marked").exit_code == 0
    refused = run("check", back, "--marked")
    assert refused.exit_code == 2 and "--overwrite replaces it" in refused.stderr
    assert run("check", back, "--marked", "--overwrite").exit_code == 0
