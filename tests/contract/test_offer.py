"""What stands at the head of a quote: what is bought, whether it can be had, what is due when."""

from dataclasses import replace
from datetime import date
from decimal import Decimal as D
from io import BytesIO

import pytest
from worked_example import FIRM, PAPERS, RATES, REQUEST

from quotebook.client.draft import Issue, QuoteDraft
from quotebook.client.workbook import write_quote
from quotebook.contract.values import serial_of_day
from quotebook.engine.due_dates import balance_due, deposit_due
from quotebook.engine.model import FloorLine

ISSUED, EVENT = date(2026, 11, 26), date(2027, 6, 12)


@pytest.mark.parametrize(
    ("days", "event", "due"),
    [
        (7, EVENT, date(2026, 12, 3)),  # 26 November and seven days
        (7, date(2026, 11, 30), date(2026, 11, 30)),  # never after the event
        (7, None, date(2026, 12, 3)),
        (0, EVENT, None),  # no day is said
    ],
)
def test_the_deposit_is_due_so_many_days_after_the_issue(days, event, due):
    assert deposit_due(ISSUED, D(days), event) == due


@pytest.mark.parametrize(
    ("days", "event", "deposit", "due"),
    [
        (14, EVENT, None, date(2027, 5, 29)),  # 12 June less fourteen days
        (0, EVENT, None, EVENT),
        (14, date(2026, 12, 8), date(2026, 12, 3), date(2026, 12, 3)),  # not before the deposit
        (14, date(2026, 12, 1), None, ISSUED),  # not before the issue
        (14, date(2026, 11, 1), None, date(2026, 11, 1)),  # an event that was before it
        (14, None, None, None),
    ],
)
def test_the_balance_is_due_so_many_days_before_the_event(days, event, deposit, due):
    assert balance_due(ISSUED, D(days), event, deposit) == due


def head(request=REQUEST, language="en", **firm):
    rates = replace(RATES, deposit_days=D(7), balance_days=D(14))
    return QuoteDraft(Issue(PAPERS, replace(FIRM, language=language, **firm), rates, request, ())).results


ONE = replace(REQUEST, surface="grass", lines=(FloorLine("4x4", D(15), D(19), True),))


def test_what_is_bought_is_one_sentence_with_what_the_floor_covers():
    """15 x 19 of panels 4 x 4 covers 16 x 20."""
    assert head(ONE)["bought"] == "Oak effect, 16 x 20 ft, edged, on grass, laid and taken up"
    assert (
        head(ONE, "es")["bought"]
        == "Oak effect, 16 x 20 pies, con perfil de borde, sobre césped, con montaje y desmontaje"
    )
    more = replace(ONE, lines=(*ONE.lines, FloorLine("3x4", D(3), D(4)), FloorLine("3x4", D(3), D(4))))
    assert head(more)["bought"] == "Oak effect, 16 x 20 ft, edged and 2 more, on grass, laid and taken up"
    assert head(replace(ONE, lines=()))["bought"] == "No floor is chosen yet"


@pytest.mark.parametrize(
    ("changed", "status"),
    [
        ({"days": None}, "Not an offer yet: enter the days"),
        ({"surface": ""}, "Not an offer yet: choose the ground"),
        ({"lines": ()}, "Not an offer yet: choose a floor"),
        ({"surface": "carpet indoors"}, "Cannot be laid like this. Floor 1: This panel cannot go on that ground. "),
        ({"lines": (FloorLine("none", D(4), D(4)),)}, "Cannot be laid like this. Floor 1: This panel is not on our "),
        ({"lines": (FloorLine("4x4", D(99), D(99)),)}, "Cannot be laid like this. Floor 1: More panels than are "),
        ({"lines": (*ONE.lines, FloorLine("4x4", None, D(4)))}, "Cannot be laid like this. Floor 2: Give a width"),
    ],
)  # fmt: skip
def test_what_cannot_be_had_is_no_offer_and_the_status_says_which_line_and_why(changed, status):
    found = head(replace(ONE, **changed))
    assert found["status"].startswith(status) and found["cannot"] == 1


def test_what_can_be_had_says_how_to_accept_it():
    found = head(ONE, contact_lines=("1 Road", "Mail: us@firm.example, any day"))
    assert found["cannot"] == 0
    assert found["status"].endswith("answer below, save this file, and send it to us@firm.example")
    assert head(ONE, contact_lines=("1 Road",))["status"].endswith("save this file, and send it back.")


def test_what_cannot_be_had_is_noted_alone():
    found = head(replace(ONE, surface="carpet indoors"))
    assert (found["notes_1"], found["cannot_1"]) == ("This panel cannot go on that ground. ", 1)
    assert (head(ONE)["notes_1"], head(ONE)["cannot_1"]) == ("Rounded up to whole panels. ", 0)


def test_the_days_are_those_of_the_engine():
    found = head(replace(ONE, event_date=EVENT))
    issued = serial_of_day(PAPERS.issued_on)
    assert (found["event_day"], found["deposit_due"]) == (serial_of_day(EVENT), issued + 7)
    assert found["balance_due"] == serial_of_day(EVENT) - 14


def test_a_size_is_suggested_only_where_the_floors_are_too_small_and_the_card_wants_it():
    guests = replace(ONE, guests=D(200))  # 80 dance, and need 360 sq ft; the floor has 320
    assert head(guests)["suggestion"].startswith("Suggested for 200 guests")
    assert head(replace(ONE, guests=D(120)))["suggestion"] == ""  # 48 dance, and need 216
    content = write_quote(BytesIO(), Issue(PAPERS, replace(FIRM, suggests_sizes=False), RATES, guests, ()), b"key")
    assert "suggestion" not in content.places
