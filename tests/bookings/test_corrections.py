"""What was recorded wrongly is put right by another record, and every command says what it did."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal as D

import pytest
from ledger_fixtures import CARD, contents, floor, issue, quote

from quotebook.bookings import archive, corrections, decisions
from quotebook.bookings.availability import free_by_day, must_know_kinds
from quotebook.bookings.confirmations import say_agreed, say_cancelled, say_counted_back, say_delivered, say_taken_back
from quotebook.bookings.decisions import Agreement
from quotebook.contract.local import local_of
from quotebook.desk import Desk, init
from quotebook.engine.stock import Item, owned
from quotebook.errors import Doubtful, Misuse
from quotebook.ledger.events import Agreed, Loss, now
from quotebook.ledger.recording import NotEnough
from quotebook.ledger.stock_changes import missing_holds

PANELS = Item("panels", "4x4")
DAY, AFTER = date(2026, 6, 20), date(2026, 6, 24)
"""Of the worked example: 30 of 120 panels of 4x4 from 19 to 22 June; the second is when they are back."""


@pytest.fixture
def desk(tmp_path, monkeypatch):
    monkeypatch.delenv("QUOTEBOOK_LEDGER", raising=False)
    monkeypatch.setattr(Desk, "card", lambda desk: CARD)
    return init(tmp_path / "desk")


@pytest.fixture
def ledger(desk):
    return archive.open_ledger(desk)


LOCAL = local_of("en", "US")


def agree(desk, ledger, record, digest="ab" * 32):
    issue(ledger, record)
    archive.record_event(desk, ledger, Agreed(at=now(), quote=record, sha256=digest), owned(CARD))
    return record


def deliver(desk, ledger, number="Q0001"):
    return decisions.deliver(desk, ledger, number, today=DAY)


def count(desk, ledger, lost, number="Q0001"):
    losses = [Loss(PANELS, 0, lost)] if lost else []
    return decisions.count_back(desk, ledger, number, losses, today=AFTER), losses


def free(ledger, day=AFTER, card=CARD, item=PANELS):
    return free_by_day(ledger, card, day, day)[item][0]


def undo(desk, ledger, number="Q0001"):
    return corrections.undo(desk, ledger, CARD, number, "a slip of the pen")


def test_a_count_is_corrected_by_another_that_says_what_differs(desk, ledger):
    agree(desk, ledger, quote())
    deliver(desk, ledger)
    count(desk, ledger, 5)
    assert free(ledger) == 115
    counted, losses = count(desk, ledger, 2)
    assert free(ledger) == 118
    assert list(say_counted_back(counted, losses, LOCAL)) == [
        "Q0001 revision 1, A. Client, Party, June 20, 2026: is counted back.",
        "  panels of 4x4: 0 damaged, 2 lost; they have left the stock.",
        "  It takes the place of the earlier count: panels of 4x4: 0 damaged, 5 lost.",
    ]
    again, _ = count(desk, ledger, 2)
    assert not again.new and [event["event"] for event in ledger.history("Q0001")].count("counted back") == 2


def test_what_was_counted_back_is_not_cancelled(desk, ledger):
    agree(desk, ledger, quote())
    deliver(desk, ledger)
    with pytest.raises(Misuse, match="count it back instead of cancelling it"):
        decisions.cancel(desk, ledger, "Q0001")
    count(desk, ledger, 0)
    with pytest.raises(Misuse, match="Q0001 was counted back, and a hire that is over is not cancelled"):
        decisions.cancel(desk, ledger, "Q0001")


def test_everything_is_taken_back_step_by_step_and_stays_in_the_history(desk, ledger):
    agree(desk, ledger, quote())
    deliver(desk, ledger)
    count(desk, ledger, 5)
    said = [say_taken_back(undo(desk, ledger), LOCAL) for _ in range(3)]
    assert [line.split("'")[1::2] for line in said] == [
        ["counted back", "delivered"], ["delivered", "agreed"], ["agreed", "issued"],
    ]  # fmt: skip
    assert (free(ledger, DAY), free(ledger)) == (120, 120) and ledger.standing("Q0001") is None
    with pytest.raises(Misuse, match="nothing was recorded of it that can be taken back"):
        undo(desk, ledger)
    events = ledger.history("Q0001")
    assert [event["event"] for event in events[1:]] == ["agreed", "delivered", "counted back", *["undone"] * 3]
    assert events[-1]["reason"] == "a slip of the pen"


def test_a_cancellation_is_taken_back_only_where_it_still_fits(desk, ledger):
    """30 of 120 are freed by cancelling; 100 others are agreed meanwhile."""
    agree(desk, ledger, quote(lines=floor(width=24)))
    decisions.cancel(desk, ledger, "Q0001")
    agree(desk, ledger, quote("Q0002", lines=floor(width=80)))
    before = contents(ledger)
    with pytest.raises(NotEnough, match="10 panels of 4x4 from 19 June 2026 to 22 June 2026"):
        undo(desk, ledger)
    assert contents(ledger) == before
    decisions.cancel(desk, ledger, "Q0002")
    assert undo(desk, ledger).now.state == "agreed" and free(ledger, DAY) == 90


def test_an_agreement_that_took_the_place_of_another_gives_it_back(desk, ledger):
    agree(desk, ledger, quote(lines=floor()))
    agree(desk, ledger, quote(revision=2, lines=floor(width=40)))
    assert free(ledger, DAY) == 70
    undo(desk, ledger)
    assert free(ledger, DAY) == 95
    assert [(row.revision, row.state) for row in ledger.listed()] == [(1, "agreed"), (2, "issued")]


def test_a_revision_that_is_open_is_listed_beside_the_one_that_is_agreed(desk, ledger):
    agree(desk, ledger, quote())
    issue(ledger, quote(revision=2))
    assert [(row.revision, row.state) for row in ledger.listed()] == [(1, "agreed"), (2, "issued")]
    decisions.cancel(desk, ledger, "Q0001")
    assert [(row.revision, row.state) for row in ledger.listed()] == [(2, "issued")]


def test_what_was_recorded_is_said_with_client_event_date_and_what_is_held_or_free(desk, ledger):
    first = agree(desk, ledger, quote(lines=floor()))
    second = agree(desk, ledger, quote(revision=2, lines=floor(width=40)))
    who, held = "A. Client, Party, June 20, 2026", "50 panels of 4x4, 5 carts"
    said = list(say_agreed(Agreement(second, (), new=True, replaced=first), ledger, LOCAL))
    assert said[0].startswith(f"Q0001 revision 2, {who}: is agreed: ") and said[1].endswith(f"June 22, 2026: {held}.")
    assert said[2].startswith("  It takes the place of revision 1: ")
    assert list(say_delivered(deliver(desk, ledger), ledger, LOCAL)) == [
        f"Q0001 revision 2, {who}: is recorded as delivered.", f"  Out until June 22, 2026: {held}.",
    ]  # fmt: skip
    undo(desk, ledger)
    assert list(say_cancelled(decisions.cancel(desk, ledger, "Q0001"), ledger, LOCAL)) == [
        f"Q0001 revision 2, {who}: is cancelled, and holds nothing.",
        f"  Free again from June 19, 2026 to June 22, 2026: {held}.",
    ]  # fmt: skip


@pytest.mark.parametrize(("today", "asked"), [("2026-06-12", True), ("2026-06-13", False), ("2026-12-01", False)])
def test_a_delivery_long_before_the_event_is_asked_about(desk, ledger, today, asked):
    """The event is on 20 June; more than a week before it nobody delivers."""
    agree(desk, ledger, quote())
    today = date.fromisoformat(today)
    if asked:
        with pytest.raises(Doubtful, match="Q0001 is for 20 June 2026: today, 12 June 2026, is long before that"):
            decisions.deliver(desk, ledger, "Q0001", today=today)
        assert ledger.standing("Q0001").delivered_at is None
    assert decisions.deliver(desk, ledger, "Q0001", today=today, sure=asked).new


def test_a_count_before_the_event_is_asked_about(desk, ledger):
    agree(desk, ledger, quote())
    deliver(desk, ledger)
    with pytest.raises(Doubtful, match="is before that"):
        decisions.count_back(desk, ledger, "Q0001", [], today=date(2026, 6, 19))
    assert decisions.count_back(desk, ledger, "Q0001", [], today=date(2026, 6, 20)).new


def test_losses_are_taken_off_once_whatever_is_repaired_and_counted(desk, ledger):
    """Of 120 owned 5 are lost on 23 June; 2 are repaired by the 25th; on the 28th 116 are counted; 1 more is found."""
    agree(desk, ledger, quote())
    deliver(desk, ledger)
    count(desk, ledger, 5)
    corrections.repaired(desk, ledger, CARD, PANELS, 2, date(2026, 6, 25))
    there = corrections.recount(desk, ledger, CARD, PANELS, 116, date(2026, 6, 28))
    assert (there.there, there.missing, there.owned) == (116, 4, 120)
    corrections.repaired(desk, ledger, CARD, PANELS, 1, date(2026, 7, 1))
    days = [(6, 22), (6, 23), (6, 24), (6, 25), (6, 27), (6, 28), (6, 30), (7, 1)]
    found = [free(ledger, date(2026, *day)) for day in days]
    assert found == [90, 115, 115, 117, 117, 116, 116, 117]
    count(desk, ledger, 9)
    assert [free(ledger, date(2026, *day)) for day in days][1:] == [111, 111, 113, 113, 116, 116, 117]


def test_a_count_while_losses_are_still_held_takes_them_off_once(desk, ledger):
    """30 of 120 are held to the 22nd; 5 are counted back as lost on the 20th, and 115 are counted on the 21st.

    The 5 are away with the 30 until the 22nd, and from then on by the count: 115 and not 110.
    """
    agree(desk, ledger, quote())
    deliver(desk, ledger)
    count_at(desk, ledger, 5, "2026-06-20T23:10:00.000000+00:00")
    there = corrections.recount(desk, ledger, CARD, PANELS, 115, date(2026, 6, 21))
    assert (there.there, there.missing) == (115, 5)
    assert [free(ledger, date(2026, 6, day)) for day in (21, 22, 23)] == [90, 90, 115]
    assert corrections.repaired(desk, ledger, CARD, PANELS, 2, date(2026, 6, 21)).there == 117
    corrections.recount(desk, ledger, CARD, PANELS, 117, date(2026, 6, 21))
    assert free(ledger, date(2026, 6, 23)) == 117


def test_a_count_of_a_day_before_a_count_back_knows_nothing_of_it(desk, ledger):
    """The 5 were out on hire on the 19th, and are lost when they are counted back on the 20th: 113 of 118."""
    agree(desk, ledger, quote())
    deliver(desk, ledger)
    count_at(desk, ledger, 5, "2026-06-20T00:10:00.000000+00:00")
    corrections.recount(desk, ledger, CARD, PANELS, 118, date(2026, 6, 19))
    assert [free(ledger, date(2026, 6, day)) for day in (22, 23)] == [88, 113]


def test_a_count_of_today_knows_of_what_was_counted_back_today(desk, ledger):
    """Whatever day it is by UTC."""
    today = date.today()
    agree(desk, ledger, quote(event_date=today))
    decisions.deliver(desk, ledger, "Q0001")
    count_at(desk, ledger, 5, f"{today + timedelta(1)}T03:00:00.000000+00:00", today)
    corrections.recount(desk, ledger, CARD, PANELS, 115)
    assert [free(ledger, today + timedelta(days)) for days in (2, 3)] == [90, 115]


def count_at(desk, ledger, lost, moment, day=AFTER):
    """Count back with losses, at a moment in UTC."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(decisions, "now", lambda: moment)
        decisions.count_back(desk, ledger, "Q0001", [Loss(PANELS, 0, lost)], today=day)


def test_no_more_are_counted_than_are_owned(desk, ledger):
    with pytest.raises(Misuse, match="panels of 4x4: found 121; allowed: at most 120, as many as the rate card says"):
        corrections.recount(desk, ledger, CARD, PANELS, 121)
    assert corrections.recount(desk, ledger, CARD, PANELS, 120).missing == 0


def test_a_count_of_an_older_ledger_still_counts():
    """It knew nothing of what was still held, and took more than was owned."""
    assert [hold.pieces for hold in missing_holds([], [
        {"event": "recounted", "item": [*PANELS], "counted": 121, "owned": 120, "day": "2026-06-01"}
    ])] == [-1]  # fmt: skip


def test_panels_that_are_bought_are_entered_on_the_card_and_count_at_once(desk, ledger):
    """116 of 120 were counted; 20 more are bought, and the card says 140."""
    corrections.recount(desk, ledger, CARD, PANELS, 116, date(2026, 6, 1))
    holdings = {**CARD.holdings, "4x4": replace(CARD.holdings["4x4"], owned=D(140))}
    assert free(ledger, card=replace(CARD, holdings=holdings)) == 136


def test_no_more_comes_back_than_is_missing(desk, ledger):
    with pytest.raises(Misuse, match="panels of 4x4: 0 are missing on 1 June 2026, and 1 cannot come back"):
        corrections.repaired(desk, ledger, CARD, PANELS, 1, date(2026, 6, 1))


def test_what_is_repaired_at_once_is_there_when_the_hold_ends(desk, ledger):
    """2 are counted as damaged on the 21st, while the 30 are held to the 22nd, and are repaired the same day."""
    agree(desk, ledger, quote())
    deliver(desk, ledger)
    decisions.count_back(desk, ledger, "Q0001", [Loss(PANELS, 2, 0)], today=date(2026, 6, 21))
    there = corrections.repaired(desk, ledger, CARD, PANELS, 2, date(2026, 6, 21))
    assert (there.day, there.there) == (date(2026, 6, 23), 120)
    assert [free(ledger, date(2026, 6, day)) for day in (21, 22, 23)] == [90, 90, 120]


def called(old, new):
    """The card with another code for one kind."""
    return replace(CARD, holdings={(new if code == old else code): each for code, each in CARD.holdings.items()})


def test_capitals_make_no_other_kind(desk, ledger):
    agree(desk, ledger, quote(lines=floor()))
    card = called("4x4", "4X4")
    must_know_kinds(ledger, card, DAY)
    assert free(ledger, DAY, card, Item("panels", "4X4")) == 95


def test_a_code_that_is_gone_stops_every_promise_until_it_is_said_what_it_is_now(desk, ledger):
    agree(desk, ledger, quote(lines=floor()))
    card = called("4x4", "Oak")
    with pytest.raises(Misuse, match=r"panels of 4x4 are held .+ quotebook rename 4x4 NEW"):
        must_know_kinds(ledger, card, DAY)
    assert corrections.rename(desk, ledger, card, "4X4", "OAK") == "Oak"
    must_know_kinds(ledger, card, DAY)
    assert free(ledger, DAY, card, Item("panels", "Oak")) == 95
    assert corrections.undo(desk, ledger, card, "Q0001", "for a look").now.state == "issued"
    agree(desk, ledger, quote(lines=floor()), digest="cd" * 32)
    assert free(ledger, DAY, card, Item("panels", "Oak")) == 95


def test_a_kind_that_is_new_under_an_old_code_is_another(desk, ledger):
    """4x4 became Oak; later the firm buys other panels and calls those 4x4."""
    agree(desk, ledger, quote(lines=floor()))
    corrections.rename(desk, ledger, called("4x4", "Oak"), "4x4", "Oak")
    both = replace(CARD, holdings={**CARD.holdings, "Oak": CARD.holdings["4x4"]})
    agree(desk, ledger, quote("Q0002", lines=floor(width=40)), digest="cd" * 32)
    assert (free(ledger, DAY, both), free(ledger, DAY, both, Item("panels", "Oak"))) == (70, 95)
