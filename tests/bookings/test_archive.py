"""A ledger made again from the workbooks and slips of a desk is equal to the one that was lost."""

import json
import re
import shutil
import sqlite3
import sys
from contextlib import closing
from dataclasses import replace
from datetime import date
from decimal import Decimal as D
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner
from ledger_fixtures import contents

from quotebook.bookings import archive
from quotebook.bookings.archive import (
    desk_name,
    keep_returned,
    keep_slips,
    record_event,
    record_issued,
    record_of_file,
    slip_path,
)
from quotebook.bookings.decisions import issue_and_record
from quotebook.bookings.rebuilding import rebuild, record_unrecorded
from quotebook.bookings.soundness import faults
from quotebook.checking.check import check_file
from quotebook.cli import main
from quotebook.desk import Desk, init
from quotebook.engine.model import FloorLine, Request
from quotebook.engine.price import price
from quotebook.engine.stock import Item, owned
from quotebook.errors import Misuse, Unreadable
from quotebook.ledger import Ledger
from quotebook.ledger.database import ledger_path, ledger_url
from quotebook.ledger.events import Agreed, Cancelled, CountedBack, Delivered, Loss, Returned, now
from quotebook.ledger.life import NumberTaken
from quotebook.ledger.slips import Place, write_slip
from quotebook.quoting.issuing import issue

TODAY = date(2027, 5, 3)


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    """A desk with four quotes: one only issued, one delivered and counted back, one cancelled, one agreed anew."""
    desk = init(tmp_path_factory.mktemp("keeping") / "desk")
    ledger, card = ledger_of(desk), desk.card()
    for number in ("Q0001", "Q0002", "Q0003", "Q0004"):
        issue_one(desk, ledger, number)
    for number in ("Q0002", "Q0003", "Q0004"):
        agree(desk, ledger, returned(desk, number, days=3))
    panel = card.rates.kinds[0].panel
    of_second = {"quote_number": "Q0002", "revision": 1}
    record_event(desk, ledger, Delivered(at=now(), **of_second))
    record_event(desk, ledger, CountedBack(at=now(), **of_second, losses=(Loss(Item("panels", panel), 1, 2),)))
    record_event(desk, ledger, Cancelled(at=now(), quote_number="Q0003", revision=1))
    agree(desk, ledger, returned(desk, "Q0004", days=2))
    return desk, ledger


def ledger_of(desk):
    return Ledger(ledger_url(desk.folder), desk_name(desk))


def issue_one(desk, ledger, number):
    card = desk.card()
    request = Request(
        client="A. Client", event_date=date(2027, 6, 12), days=D(1), surface="grass", guests=D(80),
        lines=(FloorLine(card.rates.kinds[0].panel, D(12), D(12), edging_wanted=True),),
    )  # fmt: skip
    path, _ = issue(desk, card, request, number, TODAY)
    record_issued(desk, ledger, path, card)
    return path


def returned(desk, number, **entries):
    """The issued workbook with entries changed by another program, as a client sends it back."""
    path = desk.folder / f"{number} from the client.xlsx"
    book = openpyxl.load_workbook(desk.issued_path(number, 1))
    for name, value in entries.items():
        sheet, address = next(iter(book.defined_names[name].destinations))
        book[sheet][address.replace("$", "")].value = value
    book.save(path)
    return path


def agree(desk, ledger, path):
    card, report = desk.card(), check_file(path, desk, TODAY)
    digest = keep_returned(desk, path)
    of_quote = {"quote_number": report.quote, "revision": report.revision}
    record_event(desk, ledger, Returned(
        at=now(), **of_quote, sha256=digest, verdict=report.verdict, findings=len(report.findings),
    ))  # fmt: skip
    record_event(
        desk, ledger, Agreed(at=now(), quote=record_of_file(desk, path, card.firm), sha256=digest), owned(card)
    )


def copy_of(desk, folder):
    shutil.copytree(desk.folder, folder)
    (folder / "ledger.sqlite").unlink()
    return replace(desk, folder=folder)


def test_a_record_is_what_the_engine_makes_of_the_entries(kept):
    """One day as issued; three as returned, at the rates of the issue."""
    desk, ledger = kept
    card = desk.card()
    standing = ledger.standing("Q0002").quote
    assert (ledger.issued("Q0002", 1).days, standing.days) == (1, 3)
    floor = FloorLine(card.rates.kinds[0].panel, D(12), D(12), edging_wanted=True)
    request = Request(days=D(3), surface="grass", guests=D(80), lines=(floor,))
    assert standing.total == price(card.rates, request).total * 10**standing.minor_units


def test_rebuilt_from_workbooks_and_slips_alone(kept, tmp_path):
    desk, ledger = kept
    copy = copy_of(desk, tmp_path / "desk")
    again = ledger_of(copy)
    assert rebuild(copy, again).events == len(ledger.history())
    assert contents(again) == contents(ledger)


def test_an_older_ledger_is_noticed_though_its_next_slip_is_missing(kept, tmp_path):
    """Nothing is promised from it, and the slip that is missing is named where it is brought up to date."""
    desk, ledger = kept
    copy = copy_of(desk, tmp_path / "desk")
    events, aside = ledger.last_line()[0], tmp_path / "aside"
    aside.mkdir()
    for sequence in (events - 1, events):
        slip_path(copy, sequence).rename(aside / f"{sequence}")
    rebuild(copy, ledger_of(copy))  # as an older copy would be
    (aside / f"{events}").rename(slip_path(copy, events))
    with pytest.raises(Misuse, match=f"it has {events - 2} of its events, and slip 0*{events}.json is there"):
        archive.open_ledger(copy)
    with pytest.raises(Unreadable, match=f"0*{events - 1}.json: this slip is missing"):
        rebuild(copy, ledger_of(copy))


def test_rebuilt_though_the_card_has_changed(kept, tmp_path, monkeypatch):
    """What is held is held for the turnaround of then."""
    desk, ledger = kept
    copy = copy_of(desk, tmp_path / "desk")
    card = desk.card()
    firm = replace(card.firm, turnaround_days=card.firm.turnaround_days + 4, currency="EUR")
    monkeypatch.setattr(Desk, "card", lambda desk: replace(card, firm=firm))
    again = ledger_of(copy)
    rebuild(copy, again)
    assert contents(again) == contents(ledger)


def test_rebuilt_row_for_row_whatever_the_clock_said(tmp_path, monkeypatch):
    """The clock is set forwards a year, back two, and forwards again between the events of one quote."""
    desk = init(tmp_path / "desk")
    ledger, moments = ledger_of(desk), iter(["2027-05-01", "2028-05-01", "2026-05-01", "2027-05-02", "2026-05-02"])

    def clock():
        return f"{next(moments)}T10:00:00.000000+00:00"

    for module in (archive, sys.modules[__name__]):
        monkeypatch.setattr(module, "now", clock)
    issue_one(desk, ledger, "Q0001")
    agree(desk, ledger, returned(desk, "Q0001", days=3))
    for kind in (Delivered, CountedBack):
        record_event(desk, ledger, kind(at=clock(), quote_number="Q0001", revision=1))
    copy = copy_of(desk, tmp_path / "copy")
    again = ledger_of(copy)
    rebuild(copy, again)
    assert contents(again) == contents(ledger)
    assert [event["event"] for event in again.history()] == [
        "issued",
        "returned",
        "agreed",
        "delivered",
        "counted back",
    ]


def test_quotes_without_slips_are_recorded_anew_if_they_are_as_signed(kept, tmp_path):
    desk, _ = kept
    copy = copy_of(desk, tmp_path / "desk")
    shutil.rmtree(copy.folder / "slips")
    edited = copy.issued_path("Q0004", 1)
    book = openpyxl.load_workbook(edited)
    sheet, address = next(iter(book.defined_names["hourly_rate"].destinations))
    book[sheet][address.replace("$", "")].value = 1
    book.save(edited)
    (copy.issued / "~$Q0001-r1.xlsx").write_text("a program's lock")
    (copy.issued / ".Q0009-r1.e49c.xlsx").write_text("half a workbook")
    again = ledger_of(copy)
    assert rebuild(copy, again).events == 0
    recorded, refusals = record_unrecorded(copy, again)
    assert [path.name for path in recorded] == ["Q0001-r1.xlsx", "Q0002-r1.xlsx", "Q0003-r1.xlsx"]
    assert len(refusals) == 1 and "Q0004-r1.xlsx: was changed after it was signed" in refusals[0]
    assert again.issued("Q0003", 1).total == kept[1].issued("Q0003", 1).total and again.standing("Q0003") is None


def test_slips_that_a_crash_left_out_are_made_up_for(kept, tmp_path):
    desk, ledger = kept
    copy = copy_of(desk, tmp_path / "desk")
    slips = {path.name: path.read_bytes() for path in (copy.folder / "slips").iterdir()}
    for sequence in (13, 14, 15):
        slip_path(copy, sequence).unlink()
    keep_slips(copy, ledger)
    assert {path.name: path.read_bytes() for path in (copy.folder / "slips").iterdir()} == slips


def altered(copy):
    path = slip_path(copy, 5)
    path.write_text(path.read_text().replace("Q0002", "Q0004"))
    return f"{path.name}: the slip was changed"


def missing(copy):
    slip_path(copy, 5).unlink()
    return "000005.json: this slip is missing"


def doubled(copy):
    slip_path(copy, 6).write_bytes(slip_path(copy, 5).read_bytes())
    return "000006.json: is not the slip that follows"


def not_text(copy):
    slip_path(copy, 5).write_bytes(b"\xff\xfe\n\xff")
    return "000005.json: the slip was changed"


def lost_workbook(copy):
    gone = next((copy.folder / "returned").iterdir())
    gone.unlink()
    return f"{gone.name}: this workbook is missing"


def edited_answer(copy):
    """A file that came back, edited since it was agreed: it would hold what nobody agreed."""
    path = next((copy.folder / "returned").iterdir())
    book = openpyxl.load_workbook(path)
    sheet, address = next(iter(book.defined_names["days"].destinations))
    book[sheet][address.replace("$", "")].value = 1
    book.save(path)
    return f"{path.name}: is not the workbook that its slip names"


def exchanged(copy):
    one, other = (copy.issued_path(number, 1) for number in ("Q0001", "Q0002"))
    one.write_bytes(other.read_bytes())
    return "Q0001-r1.xlsx: is not the workbook that its slip names"


@pytest.mark.parametrize(
    "spoil", [altered, missing, doubled, not_text, lost_workbook, edited_answer, exchanged], ids=lambda f: f.__name__
)
def test_what_is_not_as_it_was_signed_is_named_and_nothing_is_rebuilt(kept, tmp_path, spoil):
    desk, _ = kept
    copy = copy_of(desk, tmp_path / "desk")
    sentence = spoil(copy)
    again = ledger_of(copy)
    with pytest.raises(Unreadable, match=re.escape(sentence)):
        rebuild(copy, again)
    assert again.history() == []


@pytest.mark.parametrize(
    "spoil", [altered, missing, doubled, not_text, lost_workbook, edited_answer, exchanged], ids=lambda f: f.__name__
)
def test_it_is_named_beside_a_whole_ledger_by_who_looks(kept, tmp_path, spoil):
    copy = replace(kept[0], folder=tmp_path / "desk")
    shutil.copytree(kept[0].folder, copy.folder)
    ledger = archive.open_ledger(copy)
    assert not [*faults(copy, ledger)]
    sentence = spoil(copy).replace("is not the slip that follows", "is the slip of another event")
    [fault] = faults(copy, archive.open_ledger(copy))
    assert sentence in fault


def test_a_ledger_that_was_edited_is_named(kept, tmp_path):
    copy = replace(kept[0], folder=tmp_path / "desk")
    shutil.copytree(kept[0].folder, copy.folder)
    with closing(sqlite3.connect(ledger_path(copy.folder))) as file, file:
        file.execute("DROP TRIGGER history_kept_on_UPDATE")
        file.execute("UPDATE history SET line = replace(line, 'Q0002', 'Q0004') WHERE sequence = 5")
    found = [*faults(copy, archive.open_ledger(copy))]
    assert "000005.json: is the slip of another event" in found[0]
    assert "its event 6 does not follow the one before it" in found[1]


def test_commands_name_what_was_edited_and_write_again_what_is_missing(kept, tmp_path, monkeypatch):
    shutil.copytree(kept[0].folder, tmp_path / "desk")
    monkeypatch.chdir(tmp_path / "desk")

    def run(*arguments, status):
        result = CliRunner().invoke(main, arguments)
        assert result.exit_code == status, result.output
        return " ".join(result.output.split())

    assert "Every slip and workbook of the ledger's 15 events is there" in run("rebuild", "--look", status=0)
    slip = Path("slips/000005.json")
    before = slip.read_bytes()
    slip.write_bytes(before.replace(b"Q0002", b"Q0004"))
    for command in (["rebuild", "--look"], ["backup", "copy.sqlite"], ["rebuild"]):
        assert "000005.json: the slip was changed" in run(*command, status=3)
    slip.unlink()
    assert "this slip is missing" in run("rebuild", "--look", status=3)
    assert "000005.json was missing, and was written again" in run("rebuild", status=0)
    assert slip.read_bytes() == before
    run("rebuild", "--look", "--anew", status=2)


def test_strays_are_named_and_stay(kept, tmp_path):
    desk, ledger = kept
    copy = copy_of(desk, tmp_path / "desk")
    for name in ("000003 (1).json", "notes.txt", ".000009.json.1a2b", "~$000001.json"):
        (copy.folder / "slips" / name).write_text("{}")
    again = ledger_of(copy)
    assert [path.name for path in rebuild(copy, again).strays] == ["000003 (1).json", "notes.txt"]
    assert contents(again) == contents(ledger)


def test_slips_that_were_all_lost_are_written_again_from_the_ledger(kept, tmp_path):
    desk, _ = kept
    shutil.copytree(desk.folder, tmp_path / "desk")
    copy = replace(desk, folder=tmp_path / "desk")
    slips = {path.name: path.read_bytes() for path in (copy.folder / "slips").iterdir()}
    shutil.rmtree(copy.folder / "slips")
    keep_slips(copy, archive.open_ledger(copy))
    assert {path.name: path.read_bytes() for path in (copy.folder / "slips").iterdir()} == slips


def test_another_desks_ledger_is_refused_and_set_aside_by_one_command(kept, tmp_path):
    desk, ledger = kept
    copy = copy_of(desk, tmp_path / "desk")
    other = init(tmp_path / "other")
    issue_one(other, ledger_of(other), "Q0001")
    shutil.copyfile(other.folder / "ledger.sqlite", copy.folder / "ledger.sqlite")
    for refused in (archive.open_ledger, lambda desk: rebuild(desk, ledger_of(desk))):
        with pytest.raises(Misuse, match=r"is another desk's ledger\. .+ quotebook rebuild --anew"):
            refused(copy)
    done = CliRunner().invoke(main, ["rebuild", "--anew", "--desk", str(copy.folder)])
    assert done.exit_code == 0 and "ledger.aside-1.sqlite is the ledger that was there" in done.output
    assert contents(archive.open_ledger(copy)) == contents(ledger)


def before_numbers(desk, ledger):
    """The desk as an earlier program left it: its slips are named by moment, and have no place in a chain."""
    key = desk.key()
    shutil.rmtree(desk.folder / "slips")
    (desk.folder / "slips").mkdir()
    for details in ledger.history():
        plain = {name: value for name, value in details.items() if name not in Place._fields}
        if details["event"] == "issued":
            del plain["sha256"]
        moment = details["at"].replace("-", "").replace(":", "").replace("+0000", "Z")
        name = f"{details['quote_number']}-r{details['revision']}.{moment}.{details['event'].replace(' ', '-')}.json"
        (desk.folder / "slips" / name).write_text(write_slip(json.dumps(plain), key))


def test_slips_from_before_they_were_numbered_are_read(kept, tmp_path):
    desk, ledger = kept
    copy = copy_of(desk, tmp_path / "desk")
    before_numbers(copy, ledger)
    again = ledger_of(copy)
    rebuild(copy, again)
    issue_one(copy, again, "Q0005")
    assert again.listed()[:-1] == ledger.listed()
    once_more = Ledger(f"sqlite:///{tmp_path / 'once more.sqlite'}", again.desk)
    rebuild(copy, once_more)
    assert contents(once_more) == contents(again)


def test_what_is_not_enough_leaves_no_slip(kept):
    desk, ledger = kept
    path = returned(desk, "Q0001", days=1, width_1=200, length_1=200)
    before, history = sorted((desk.folder / "slips").iterdir()), ledger.history()
    card = desk.card()
    with pytest.raises(Misuse, match="not enough is free"):
        event = Agreed(at=now(), quote=record_of_file(desk, path, card.firm), sha256=keep_returned(desk, path))
        record_event(desk, ledger, event, owned(card))
    assert sorted((desk.folder / "slips").iterdir()) == before and ledger.history() == history


def test_a_workbook_whose_number_was_taken_meanwhile_is_removed(tmp_path):
    """Two desks share a ledger; the second writes its own Q0001 after the first has recorded one."""
    one, other = init(tmp_path / "one"), init(tmp_path / "other")
    ledger = ledger_of(one)
    issue_one(one, ledger, "Q0001")
    before = contents(ledger)
    card = other.card()
    request = Request(
        client="Another Client", event_date=date(2027, 6, 12), days=D(1), surface="grass",
        lines=(FloorLine(card.rates.kinds[0].panel, D(8), D(8)),),
    )  # fmt: skip
    path, _ = issue(other, card, request, "Q0001", TODAY)
    with pytest.raises(NumberTaken, match="Q0001 revision 1 is in the ledger with another workbook"):
        record_issued(other, Ledger(ledger_url(one.folder), desk_name(other)), path, card)
    assert not path.exists() and not slip_path(other, 1).exists()
    assert one.issued_path("Q0001", 1).exists() and contents(ledger) == before


def test_a_workbook_that_the_database_refuses_is_removed(tmp_path):
    """Or it would be taken for one that a crash left, and be recorded later though nobody was told of it."""
    desk = init(tmp_path / "desk")
    request = Request(
        event_date=date(2027, 6, 12), days=D(1), surface="grass",
        lines=(FloorLine(desk.card().rates.kinds[0].panel, D(8), D(8)),),
    )  # fmt: skip
    ledger = Ledger(ledger_url(desk.folder), desk_name(desk), patience=0.1)
    with closing(sqlite3.connect(ledger_path(desk.folder))) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(Misuse, match="in use by another program"):
            issue_and_record(desk, ledger, desk.card(), request, "Q0001", TODAY)
    assert not desk.issued_path("Q0001", 1).exists()
    issue_and_record(desk, ledger, desk.card(), request, "Q0001", TODAY)
    assert desk.issued_path("Q0001", 1).exists()


def test_a_workbook_that_is_recorded_stays(tmp_path):
    """Recorded once or twice, it is the same quote: its number is its own."""
    desk = init(tmp_path / "desk")
    ledger = ledger_of(desk)
    path = issue_one(desk, ledger, "Q0001")
    record_issued(desk, ledger, path, desk.card())
    assert path.exists() and len(ledger.history()) == 1


def test_a_file_is_kept_once_by_its_digest(kept):
    desk, _ = kept
    path = desk.folder / "Q0002 from the client.xlsx"
    count = len(list((desk.folder / "returned").iterdir()))
    digest = keep_returned(desk, path)
    assert (desk.folder / "returned" / f"{digest}.xlsx").read_bytes() == path.read_bytes()
    assert len(list((desk.folder / "returned").iterdir())) == count
