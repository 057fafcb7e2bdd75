"""Whatever a check advises is a command that succeeds, and where none would, none is advised: finding by finding."""

import json
import shlex
import shutil
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal as D
from pathlib import Path

import pytest
from click.testing import CliRunner
from edits import Book
from extent import extent, some
from test_appearance import ADDED

from quotebook.bookings.archive import open_ledger
from quotebook.bookings.decisions import issue_and_record, reissue_and_record
from quotebook.checking.advice import NO_FLOOR
from quotebook.checking.findings import KINDS
from quotebook.cli import main
from quotebook.contract.stamp import Content
from quotebook.demonstration.demo import EVENTS
from quotebook.desk import Desk, init
from quotebook.quoting.issuing import issue
from quotebook.quoting.mixing import floor_lines
from quotebook.spreadsheets.cells import CellAddress

EVENT = replace(EVENTS[0], event_date=date.today() + timedelta(days=200))


class Issued:
    """A desk where one quote was issued and recorded, today if no other day is said."""

    def __init__(self, folder: Path, request, on: date | None = None):
        self.desk = init(folder / "desk")
        card = self.desk.card()
        self.path, self.content = issue_and_record(
            self.desk, open_ledger(self.desk), card, request(card), "Q0001", on or date.today()
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
    "name-redirected": (lambda hand, c: hand.point("delivery", "Quote!$B$60"), ["reissue"]),
    "column-deleted": (lambda hand, c: hand.remove("Quote", column=4), ["reissue"]),
    "sheet-added": (lambda hand, c: hand.add("Another"), ["reissue", "agree"]),
    "sheet-hidden": (lambda hand, c: hand.show("Rates", "hidden"), ["reissue", "agree"]),
    "stamp-shown": (lambda hand, c: hand.show("stamp", "visible"), ["reissue", "agree"]),
    "unknown-content": (lambda hand, c: hand.cell(at(c, "total")).set("odd", "1"), ["reissue"]),
    "stamp-missing": (lambda hand, c: hand.delete("stamp"), ["reissue"]),
    "foreign-part": (lambda hand, c: hand.parts.update({"xl/vbaProject.bin": b"?"}), ["reissue"]),
    "two at once": (lambda hand, c: hand.put(at(c, "delivery"), D(0)).put(TERM, "No."), ["reissue"]),
}  # fmt: skip


IN_EVERY_FORM = ("nothing", "rate-changed", "row-deleted")
"""What the normal run has told as JSON, in a marked copy and in steps too; with --slow it is every kind of finding."""

AT_LENGTH = (
    "input-formula", "formula-altered", "cell-added", "name-doubled", "name-redirected", "sheet-renamed",
    "sheet-hidden", "column-deleted", "stamp-shown", "name-missing", "unknown-content", "stamp-missing", "foreign-part",
    "not-recalculated", "sheet-missing", "neither",
)  # fmt: skip
"""With --slow: others are accepted by a name, a cell, a sheet and the kind alone in the normal run."""


@pytest.mark.parametrize("what", some(WITH_ADVICE, WITH_ADVICE.keys() - AT_LENGTH))
def test_what_is_advised_succeeds(issued, at_desk, what, tmp_path):
    edit, names = WITH_ADVICE[what]
    _, back = at_desk(issued, edit, "the client's.xlsx")
    in_every_form = extent(what in IN_EVERY_FORM, True)
    assert [name for name, *_ in walked(back, what if what in KINDS else None, tmp_path, in_every_form)] == names


def walked(back: Path, kind: str | None, scratch: Path, in_every_form: bool = True) -> list[list[str]]:
    """The commands that are advised on a file, each of which succeeds at a copy of the desk; the file is told of in
    words, and in every form as JSON, in a marked copy and in steps."""
    said = run("check", back, *(["--marked"] if in_every_form else []))
    assert said.exit_code in (0, 1) and (kind is None or f"- {kind}:" in said.output)
    if in_every_form:
        assert back.with_suffix(f".checked{back.suffix}").exists()
        [told] = json.loads(run("check", "--json", back).output)["files"]
        assert kind is None or kind in {finding["kind"] for finding in told["findings"]}
        assert run("explain", back, "--depth", 1).exit_code == 0
    commands = advised(said.output)
    shutil.copytree(Path.cwd(), scratch / "as it was")
    for command in commands:
        shutil.rmtree(scratch / "as it is", ignore_errors=True)
        shutil.copytree(scratch / "as it was", scratch / "as it is")
        done = run(*command, "--desk", scratch / "as it is")
        assert done.exit_code == 0, (command, done.output)
    return commands


@pytest.fixture(scope="module")
def expired(tmp_path_factory):
    """A quote that stood until some days ago."""
    return Issued(tmp_path_factory.mktemp("expired"), lambda card: EVENT, date.today() - timedelta(days=100))


def test_a_quote_that_stood_until_yesterday_is_reissued(expired, at_desk, tmp_path):
    _, back = at_desk(expired, say("yes"))
    assert [name for name, *_ in walked(back, "expired", tmp_path)] == ["reissue"]


def test_a_quote_of_earlier_rules_is_agreed_or_reissued(tmp_path, monkeypatch):
    shutil.copytree(Path(__file__).parent.parent / "witnesses" / "rules-1", tmp_path / "desk")
    monkeypatch.chdir(tmp_path / "desk")
    back = shutil.copy("issued/Q0001-r1.xlsx", "back.xlsx")
    assert [name for name, *_ in walked(Path(back), "other-rules", tmp_path)] == ["reissue", "agree"]


@pytest.mark.parametrize("kind", some(ADDED, ("lines-hidden", "page-changed", "sheet-doubled")))
def test_what_is_seen_is_shown_once_more_before_a_yes_counts(issued, at_desk, kind):
    def both(hand, content):
        hand.put(at(content, "accepted"), "yes")
        ADDED[kind](hand)

    _, back = at_desk(issued, both)
    [command] = advised(run("check", back).output)
    assert kind in {
        finding["kind"] for finding in json.loads(run("check", "--json", back).output)["files"][0]["findings"]
    }
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


def test_on_a_quote_that_is_not_in_the_ledger_nothing_is_advised(issued, at_desk, tmp_path):
    """One that another desk of the owner's has issued, under their one key."""
    at_desk(issued, say("yes"))
    elsewhere = init(tmp_path / "elsewhere")
    shutil.copy("signing.key", elsewhere.key_path)
    path, _ = issue(elsewhere, elsewhere.card(), EVENT, "Q0009", date.today())
    said = run("check", path)
    assert said.exit_code == 1 and "- unknown-quote:" in said.output and advised(said.output) == []


ELSEWHERE = {
    "part-changed", "older-revision", "expired", "other-rules", "unknown-quote", "not-a-quote", "unreadable",
}  # fmt: skip
"""Kinds of finding that have a test of their own here."""


def test_every_kind_of_finding_is_walked_through_here():
    assert {*WITH_ADVICE, *WITHOUT_ADVICE, *ADDED, *ELSEWHERE} >= KINDS


def test_a_part_of_a_mixed_floor_is_neither_reissued_nor_agreed(mixed, at_desk):
    _, back = at_desk(mixed, lambda hand, c: hand.put(at(c, "length_1"), D(24)).put(at(c, "accepted"), "yes"))
    said = run("check", back)
    assert "- part-changed:" in said.output and advised(said.output) == []
    for command in ("reissue", "agree"):
        refused = run(command, back, "--accept", "part-changed:length_1")
        assert refused.exit_code == 1 and "Issue the whole floor anew" in " ".join(refused.output.split())


@pytest.mark.parametrize("other", [{}, {"hourly_rate": D(12)}], ids=["changed", "disputed"])
def test_a_quote_without_a_floor_is_neither_reissued_nor_agreed(issued, at_desk, other):
    def emptied(hand, content):
        for name in ("panel", "width", "length"):
            hand.put(at(content, f"{name}_1"), None)
        for name, value in {"accepted": "yes", **other}.items():
            hand.put(at(content, name), value)

    _, back = at_desk(issued, emptied)
    said = run("check", back)
    assert advised(said.output) == [] and NO_FLOOR in " ".join(said.output.split())
    for command in ("reissue", "agree"):
        refused = run(command, back, *(["--accept", "rate-changed:hourly_rate"] if other else []))
        assert refused.exit_code == 1 and NO_FLOOR in " ".join(refused.output.split())


def test_an_older_revision_is_neither_reissued_nor_agreed(issued, at_desk):
    desk, back = at_desk(issued, say("yes"))
    reissue_and_record(desk, open_ledger(desk), back)
    said = run("check", back)
    assert "- older-revision: Revision 2 of Q0001 has been issued since: ask the client" in said.output
    assert advised(said.output) == []
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
