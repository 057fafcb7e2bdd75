"""A ledger made again from the workbooks and slips of a desk is equal to the one that was lost."""

import shutil
from dataclasses import replace
from datetime import date
from decimal import Decimal as D

import openpyxl
import pytest
from ledger_fixtures import contents

from quotebook.bookings.archive import (
    keep_returned,
    keep_slips,
    kept_events,
    rebuild,
    record_event,
    record_issued,
    record_of_file,
)
from quotebook.checking.check import check_file
from quotebook.desk import init
from quotebook.engine.model import FloorLine, Request
from quotebook.engine.price import price
from quotebook.engine.stock import Item, owned
from quotebook.errors import Misuse, Unreadable
from quotebook.ledger import Ledger
from quotebook.ledger.database import ledger_url
from quotebook.ledger.events import Agreed, Cancelled, CountedBack, Delivered, Issued, Loss, Returned, now
from quotebook.ledger.recording import NumberTaken
from quotebook.quoting.issuing import issue

TODAY = date(2027, 5, 3)


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    """A desk with four quotes: one only issued, one delivered and counted back, one cancelled, one agreed anew."""
    desk = init(tmp_path_factory.mktemp("keeping") / "desk")
    ledger, card = Ledger(ledger_url(desk.folder)), desk.card()
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


def issue_one(desk, ledger, number):
    card = desk.card()
    request = Request(
        client="A. Client", event_date=date(2027, 6, 12), days=D(1), surface="grass", guests=D(80),
        lines=(FloorLine(card.rates.kinds[0].panel, D(12), D(12), edging_wanted=True),),
    )  # fmt: skip
    path, _ = issue(desk, card, request, number, TODAY)
    record_event(desk, ledger, Issued(at=now(), quote=record_of_file(desk, path, card.firm)))
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
    again = Ledger(ledger_url(copy.folder))
    assert rebuild(copy, again) == len(ledger.history())
    assert contents(again) == contents(ledger)


def test_rebuilt_though_the_card_has_changed(kept, tmp_path, monkeypatch):
    """What is held is held for the turnaround of then."""
    desk, ledger = kept
    copy = copy_of(desk, tmp_path / "desk")
    card = desk.card()
    firm = replace(card.firm, turnaround_days=card.firm.turnaround_days + 4, currency="EUR")
    again = Ledger(ledger_url(copy.folder))
    again.rebuild(sorted(kept_events(copy, firm), key=lambda event: event.at))
    assert contents(again) == contents(ledger)


def test_quotes_without_slips_count_as_issued(kept, tmp_path):
    desk, _ = kept
    copy = copy_of(desk, tmp_path / "desk")
    shutil.rmtree(copy.folder / "slips")
    again = Ledger(ledger_url(copy.folder))
    assert rebuild(copy, again) == 4
    assert again.issued("Q0003", 1).total == kept[1].issued("Q0003", 1).total and again.standing("Q0003") is None


def test_slips_that_a_crash_left_out_are_made_up_for(kept, tmp_path):
    desk, ledger = kept
    copy = copy_of(desk, tmp_path / "desk")
    there = sorted((copy.folder / "slips").iterdir())
    for path in there[::2]:
        path.unlink()
    keep_slips(copy, ledger)
    assert sorted((copy.folder / "slips").iterdir()) == there


def test_a_slip_of_another_hand_stops_it_and_nothing_is_rebuilt(kept, tmp_path):
    desk, _ = kept
    copy = copy_of(desk, tmp_path / "desk")
    slip = next((copy.folder / "slips").glob("*.delivered.json"))
    slip.write_text(slip.read_text().replace("Q0002", "Q0004"))
    again = Ledger(ledger_url(copy.folder))
    with pytest.raises(Unreadable, match=f"{slip.name}: the slip was changed"):
        rebuild(copy, again)
    assert again.history() == []


def test_a_workbook_that_is_missing_is_named(kept, tmp_path):
    desk, _ = kept
    copy = copy_of(desk, tmp_path / "desk")
    gone = next((copy.folder / "returned").iterdir())
    gone.unlink()
    with pytest.raises(Unreadable, match=rf"{gone.name} is missing\. Put back your copy of it\."):
        rebuild(copy, Ledger(ledger_url(copy.folder)))


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
    ledger = Ledger(ledger_url(one.folder))
    issue_one(one, ledger, "Q0001")
    before = contents(ledger)
    card = other.card()
    request = Request(
        client="Another Client", event_date=date(2027, 6, 12), days=D(1), surface="grass",
        lines=(FloorLine(card.rates.kinds[0].panel, D(8), D(8)),),
    )  # fmt: skip
    path, _ = issue(other, card, request, "Q0001", TODAY)
    with pytest.raises(NumberTaken, match="Q0001 revision 1 is in the ledger with other figures"):
        record_issued(other, ledger, path, card)
    assert not path.exists() and not (other.folder / "slips").exists()
    assert one.issued_path("Q0001", 1).exists() and contents(ledger) == before


def test_a_workbook_that_is_recorded_stays(tmp_path):
    """Recorded once or twice, it is the same quote: its number is its own."""
    desk = init(tmp_path / "desk")
    ledger = Ledger(ledger_url(desk.folder))
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
