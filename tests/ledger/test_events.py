"""Events on slips and back, and the ledger made again from workbooks and slips alone."""

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
    Cancelled,
    CountedBack,
    Declined,
    Delivered,
    Issued,
    Loss,
    Paid,
    Returned,
    details_of,
    event_of,
    firm_at_event,
    name_slip,
    now,
    read_slip,
    sort_events,
    write_slip,
)
from quotebook.ledger.records import record_of

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
]


@pytest.mark.parametrize("event", EVENTS, ids=lambda event: type(event).__name__)
def test_a_slip_and_back(event):
    assert event_of(read_slip(write_slip(details_of(event), KEY), KEY), RECORD) == event


def test_slip_names_differ_and_are_file_names():
    names = [name_slip(details_of(event)) for event in EVENTS]
    assert names[4] == "Q0001-r2.20260504T100000.000001Z.counted-back.json"
    assert len(set(names)) == len(names)


@given(st.integers(0, 200), st.characters(codec="ascii"))
def test_a_slip_that_was_altered_is_refused(place, character):
    text = write_slip(details_of(EVENTS[1]), KEY)
    altered = text[:place] + character + text[place + 1 :]
    if altered.rstrip() != text.rstrip():
        with pytest.raises(Unreadable, match="was changed after this desk signed it"):
            read_slip(altered, KEY)


@pytest.mark.parametrize("text", ["", "\n", "{}", write_slip(details_of(EVENTS[0]), b"another key")])
def test_what_is_no_slip_of_this_desk_is_refused(text):
    with pytest.raises(Unreadable):
        read_slip(text, KEY)


def test_in_order_by_moment_and_then_as_they_can_happen():
    later = replace(EVENTS[0], at="2026-05-05T10:00:00.000000+00:00")
    shuffled = [later, EVENTS[3], EVENTS[1], EVENTS[2], EVENTS[0]]
    assert sort_events(shuffled) == [EVENTS[0], EVENTS[1], EVENTS[2], EVENTS[3], later]


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
