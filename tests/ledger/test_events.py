"""Events on slips and back, and the ledger made again from workbooks and slips alone."""

import json
from dataclasses import replace
from datetime import date
from decimal import Decimal as D

import pytest
import worked_example
from hypothesis import given
from hypothesis import strategies as st
from ledger_fixtures import FIRM, quote

from quotebook.engine.model import Papers
from quotebook.engine.price import price
from quotebook.engine.stock import Item
from quotebook.errors import Unreadable
from quotebook.ledger.events import (  # fmt: skip
    Agreed,
    Billed,
    Cancelled,
    CountedBack,
    Declined,
    Delivered,
    Issued,
    Loss,
    Paid,
    Recounted,
    Renamed,
    Repaired,
    Returned,
    Undone,
    details_of,
    event_of,
    firm_at_event,
    now,
)
from quotebook.ledger.records import record_of
from quotebook.ledger.slips import Place, line_of, named_by_moment, numbered, place_of, read_slip, slip_name, write_slip

KEY = b"k" * 32
OF_QUOTE = {"at": "2026-05-04T10:00:00.000001+00:00", "quote_number": "Q0001", "revision": 2}
RECORD = quote(revision=2)
EVENTS = [
    Issued(at=OF_QUOTE["at"], quote=RECORD),
    Returned(**OF_QUOTE, sha256="ab" * 32, verdict="changed", findings=3),
    Agreed(at=OF_QUOTE["at"], quote=RECORD, sha256="ab" * 32, accepted=("rate-changed rate_1", "é")),
    Delivered(**OF_QUOTE),
    CountedBack(**OF_QUOTE, losses=(Loss(Item("panels", "4x4"), 2, 1), Loss(Item("carts", ""), 0, 1))),
    Cancelled(**OF_QUOTE),
    Declined(**OF_QUOTE, because="too dear"),
    Paid(**OF_QUOTE, paid_on="2026-05-04", amount=-12550, currency="USD", towards="balance", repeat=1),
    Billed(
        **OF_QUOTE,
        bill_number="B0001",
        billed_on="2026-06-25",
        due_on="2026-07-09",
        currency="USD",
        total=-1000,
        taxes=(("0.0725", -932, -68),),
        prices_with_tax=False,
        sha256="ab" * 32,
        corrects="B0001",
        because="é",
    ),
    Undone(**OF_QUOTE, undone_event="cancelled", undone_at=OF_QUOTE["at"], reason="The wrong one: é"),
    Repaired(at=OF_QUOTE["at"], item=Item("panels", "4x4"), pieces=2, day=date(2026, 7, 1)),
    Recounted(at=OF_QUOTE["at"], item=Item("corners", "4x4"), counted=20, owned=24, day=date(2026, 7, 1), still_held=2),
    Renamed(at=OF_QUOTE["at"], old="4x4", new="4X4-OAK"),
]
PLACE = Place("ab12", 7, 9, "cd" * 32)


@pytest.mark.parametrize("event", EVENTS, ids=lambda event: type(event).__name__)
def test_a_slip_and_back(event):
    line = read_slip(write_slip(line_of(PLACE, details_of(event)), KEY).encode(), KEY)
    details = json.loads(line)
    assert (place_of(details), event_of(details, RECORD)) == (PLACE, event)


def test_names_of_slips():
    assert slip_name(7) == "000007.json" and numbered("000007.json") == 7
    assert [numbered(name) for name in ("7.json", "000007 (1).json", "000007", "desk.txt", "00000\u0667.json")] == [
        None
    ] * 5
    assert named_by_moment("Q0001-r2.20260504T100000.000001Z.counted-back.json") and not named_by_moment("000007.json")


@given(st.integers(0, 200), st.characters(codec="ascii"))
def test_a_slip_that_was_altered_is_refused(place, character):
    text = write_slip(line_of(PLACE, details_of(EVENTS[1])), KEY)
    altered = text[:place] + character + text[place + 1 :]
    if altered.rstrip() != text.rstrip():
        with pytest.raises(Unreadable, match="was changed after this desk signed it"):
            read_slip(altered.encode(), KEY)


@pytest.mark.parametrize("content", [b"", b"\n", b"{}", b"\xff\xfe\n\xff", write_slip("{}", b"another key").encode()])
def test_what_is_no_slip_of_this_desk_is_refused(content):
    with pytest.raises(Unreadable):
        read_slip(content, KEY)


def test_now_sorts_as_text_and_is_in_utc():
    first, second = now(), now()
    assert first <= second and first.endswith("+00:00") and len(first) == len("2026-05-04T10:00:00.000001+00:00")


def test_a_record_made_again_when_the_card_has_changed():
    """Turnaround was one day and the currency USD when it was issued; the card says otherwise by now."""
    changed = replace(FIRM, turnaround_days=D(5), currency="EUR")
    firm = firm_at_event(details_of(EVENTS[0]), changed)
    request = worked_example.REQUEST
    papers = Papers("Q0001", D(2), date(2026, 5, 4), date(2026, 6, 3))
    assert record_of(papers, request, price(worked_example.RATES, request), worked_example.RATES, firm) == RECORD
