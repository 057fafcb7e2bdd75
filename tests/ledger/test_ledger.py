"""The ledger on SQLite and PostgreSQL: what it keeps, what it holds, what it refuses."""

# ruff: noqa: F401, F811 (fixtures are imported by their names)

import json
from dataclasses import replace
from datetime import date
from decimal import Decimal as D

import pytest
from ledger_fixtures import (
    EVENT_DATE,
    FIRM,
    OWNED,
    agreed,
    contents,
    floor,
    issue,
    issue_and_agree,
    kind_of_transaction,
    ledger,
    quote,
    url,
)

from quotebook.engine.stock import Item, Shortage, free
from quotebook.errors import Misuse
from quotebook.ledger import Ledger
from quotebook.ledger.events import (
    Agreed,
    Cancelled,
    CountedBack,
    Declined,
    Delivered,
    Issued,
    Loss,
    Paid,
    Returned,
)
from quotebook.ledger.layout import IN_ORDER, KEPT
from quotebook.ledger.life import NumberTaken
from quotebook.ledger.recording import KeptEvent, NotEnough
from quotebook.ledger.tables import metadata

PANELS = Item("panels", "4x4")
AT = "2026-05-{:02}T10:00:00.000000+00:00"
DIGEST = "ab" * 32


def of_quote(kind, day=9, number="Q0001", revision=1, **more):
    return kind(at=AT.format(day), quote_number=number, revision=revision, **more)


def paid(amount, day=9, towards="deposit", currency="USD", **more):
    return of_quote(Paid, day, paid_on="2026-05-09", amount=amount, towards=towards, currency=currency, **more)


def life():
    """Everything that can happen to a quote, in order."""
    record = quote()
    lost = (Loss(PANELS, damaged=2, lost=1), Loss(Item("sheets", "ply"), lost=1))
    return [
        Issued(at=AT.format(1), quote=record),
        of_quote(Returned, 2, sha256=DIGEST, verdict="changed", findings=3),
        Agreed(at=AT.format(3), quote=record, sha256=DIGEST, accepted=("rate-changed rate_1",)),
        of_quote(Cancelled, 4),
        Agreed(at=AT.format(5), quote=record, sha256=DIGEST),
        of_quote(Delivered, 6),
        of_quote(CountedBack, 7, losses=lost),
        paid(40000, 8),
    ]


def test_what_is_issued_can_be_read_again(ledger):
    record = issue(ledger, quote())
    assert ledger.issued("Q0001", 1) == record
    assert ledger.issued("Q0001", 2) is None and ledger.issued("Q0002", 1) is None


def test_a_quote_without_floors_and_with_any_text(ledger):
    record = issue(ledger, quote(lines=(), client="=1+1", event="Fête 'n' \"ball\"; DROP TABLE", venue="\u202e🎪"))
    assert ledger.issued("Q0001", 1) == record


def test_a_whole_life(ledger):
    for happened in life():
        assert ledger.record(happened)
    standing = ledger.standing("Q0001")
    assert standing.quote == quote()
    moments = standing.agreed_at, standing.delivered_at, standing.counted_back_at
    assert moments == tuple(AT.format(day) for day in (5, 6, 7))
    assert standing.cancelled_at is None


def test_history_tells_it_in_order(ledger):
    for happened in life():
        ledger.record(happened)
    entries = ledger.history("Q0001")
    assert [entry["event"] for entry in entries] == [
        "issued", "returned", "agreed", "cancelled", "agreed", "delivered", "counted back", "paid",
    ]  # fmt: skip
    assert entries[2]["accepted"] == ["rate-changed rate_1"] and entries[1]["sha256"] == DIGEST
    assert ledger.history() == entries and ledger.history("Q0002") == []


@pytest.mark.parametrize("place", [0, 1, 4, 5, 6, 7])
def test_recording_again_changes_nothing(ledger, place):
    for happened in life():
        ledger.record(happened)
        if happened == life()[place]:
            before = contents(ledger)
            assert not ledger.record(happened)
            assert contents(ledger) == before


def test_cancelling_again_changes_nothing(ledger):
    for happened in life()[:4]:
        ledger.record(happened)
    before = contents(ledger)
    assert not ledger.record(of_quote(Cancelled, 8))
    assert contents(ledger) == before


def test_a_number_is_used_once(ledger):
    issue(ledger, quote())
    before = contents(ledger)
    with pytest.raises(NumberTaken, match="Q0001 revision 1 is in the ledger with another workbook"):
        issue(ledger, quote(client="Somebody else"))
    assert contents(ledger) == before


def lost(item, damaged, lost):
    return of_quote(CountedBack, losses=(Loss(item, damaged, lost),))


SEQUENCES = {
    "returned, never issued": (
        [], of_quote(Returned, sha256=DIGEST, verdict="agrees", findings=0), "not in the ledger as issued",
    ),
    "agreed, never issued": ([], agreed(quote()), "not in the ledger as issued"),
    "delivered, not agreed": (life()[:2], of_quote(Delivered), "is not agreed"),
    "cancelled, not agreed": (life()[:1], of_quote(Cancelled), "is not agreed"),
    "delivered, cancelled": (life()[:4], of_quote(Delivered), "was cancelled on 2026-05-04"),
    "delivered, another revision": (life()[:3], of_quote(Delivered, revision=2), "is agreed as revision 1, not 2"),
    "counted back, not delivered": (life()[:3], of_quote(CountedBack), "not recorded as delivered"),
    "cancelled, delivered": (life()[:6], of_quote(Cancelled), "was delivered on 2026-05-06"),
    "agreed otherwise, delivered": (life()[:6], agreed(quote()), "another hire needs a new quote"),
    "more lost than went out": (life()[:6], lost(PANELS, 20, 11), "30 panels of 4x4 went out"),
    "less than none lost": (life()[:6], lost(PANELS, -1, 0), "Count again"),
    "declined, agreed": (life()[:3], of_quote(Declined), "is agreed: cancel it instead"),
    "declined, cancelled": (life()[:4], of_quote(Declined), "is cancelled already"),
    "declined, not issued": ([], of_quote(Declined), "is not in the ledger as issued"),
    "paid, not issued": ([], paid(1), "is not in the ledger as issued"),
    "paid in another currency": (life()[:1], paid(1, currency="EUR"), "is in USD, and takes no payment in EUR"),
    "more back than came in": (life(), paid(-40001), "more would go back than came in"),
    "lost what never went out": (life()[:6], lost(Item("panels", "9x9"), 1, 0), "0 panels of 9x9 went out"),
}  # fmt: skip


@pytest.mark.parametrize("case", SEQUENCES)
def test_what_cannot_follow(ledger, case):
    before, refused, sentence = SEQUENCES[case]
    for happened in before:
        ledger.record(happened)
    there = contents(ledger)
    with pytest.raises(Misuse, match=sentence):
        ledger.record(refused)
    assert contents(ledger) == there


def test_a_revision_whose_agreement_gave_way_to_another(ledger):
    """The second is agreed, and then the first instead: the second waits for nobody, whatever comes of the first."""
    first, second = (issue(ledger, quote(revision=revision)) for revision in (1, 2))
    ledger.agree(agreed(second), OWNED)
    ledger.agree(agreed(first), OWNED)
    decline = of_quote(Declined, revision=2)

    def listed():
        return [(each.revision, each.state) for each in ledger.listed()]

    assert listed() == [(1, "agreed")]
    with pytest.raises(Misuse, match="is agreed: cancel it instead"):
        ledger.record(decline)
    ledger.record(of_quote(Cancelled))
    assert listed() == [(1, "cancelled")]
    with pytest.raises(Misuse, match="is cancelled already"):
        ledger.record(decline)


@pytest.mark.parametrize("table", KEPT)
@pytest.mark.parametrize("statement", ["UPDATE {table} SET {column} = {column}", "DELETE FROM {table}"])
def test_what_was_recorded_stays(ledger, table, statement):
    for happened in life():
        ledger.record(happened)
    before = contents(ledger)
    column = metadata.tables[table].columns.keys()[0]
    with pytest.raises(Misuse, match="the ledger keeps what was recorded"), ledger.database.writing() as transaction:
        transaction.run(statement.format(table=table, column=column))
    assert contents(ledger) == before


def test_nor_can_history_be_replaced_or_emptied(ledger):
    issue(ledger, quote())
    statement = {
        "sqlite": "INSERT OR REPLACE INTO history SELECT desk, sequence, clock, '', '', '', 0, '' FROM history",
        "postgresql": "TRUNCATE history",
    }[ledger.database.dialect]
    with pytest.raises(Misuse, match="the ledger keeps what was recorded"), ledger.database.writing() as transaction:
        transaction.run(statement)
    assert len(ledger.history()) == 1


def free_panels(ledger, day, owned=OWNED):
    return free(owned, ledger.holds(day, day), day, day)[PANELS][0]


@pytest.mark.parametrize(("day", "left"), [(18, 60), (19, 30), (20, 30), (21, 30), (22, 30), (23, 60)])
def test_agreeing_holds_from_the_day_before_to_the_end_of_turnaround(ledger, day, left):
    """30 of 60, for 20 and 21 June, with a day of turnaround."""
    issue_and_agree(ledger, quote())
    assert free_panels(ledger, date(2026, 6, day)) == left


def test_what_is_only_issued_holds_nothing(ledger):
    issue(ledger, quote())
    assert ledger.holds(EVENT_DATE, EVENT_DATE) == []


def test_holds_are_summed_over_quotes(ledger):
    """25 of 4x4 and 3 carts each, and edging for one of them: 5 + 5 pieces an edge and 4 corners."""
    issue_and_agree(ledger, quote("Q0001", lines=floor()))
    issue_and_agree(ledger, quote("Q0002", lines=floor(edging_wanted=True)))
    held = {hold.item: hold.pieces for hold in ledger.holds(EVENT_DATE, EVENT_DATE)}
    assert held == {
        PANELS: 50, Item("slot_pieces", "4x4"): 10, Item("tongue_pieces", "4x4"): 10, Item("corners", "4x4"): 4,
        Item("carts", ""): 6,
    }  # fmt: skip


def test_not_enough_is_never_agreed(ledger):
    """25 + 25 + 25 of 60: 15 short on each of the four days held."""
    issue_and_agree(ledger, quote("Q0001", lines=floor()))
    issue_and_agree(ledger, quote("Q0002", lines=floor()))
    third = issue(ledger, quote("Q0003", lines=floor()))
    before = contents(ledger)
    with pytest.raises(NotEnough, match="15 panels of 4x4 from 19 June 2026 to 22 June 2026") as refused:
        ledger.agree(agreed(third), OWNED)
    assert refused.value.shortages == [Shortage(PANELS, date(2026, 6, day), 15) for day in (19, 20, 21, 22)]
    assert contents(ledger) == before


@pytest.mark.parametrize(
    ("what", "code", "needed"),
    [
        ("sheets", "ply", 6),
        ("corners", "4x4", 4),
        ("slot_pieces", "4x4", 11),
        ("tongue_pieces", "4x4", 11),
        ("carts", "", 7),
    ],
)
def test_whatever_goes_out_may_run_out(ledger, what, code, needed):
    item = Item(what, code)
    record = issue(ledger, quote())
    with pytest.raises(NotEnough, match=f"1 {item} from"):
        ledger.agree(agreed(record), OWNED | {item: needed - 1})
    assert ledger.agree(agreed(record), OWNED | {item: needed})


def test_the_last_panels_may_go_out_again_when_turnaround_ends(ledger):
    """Held to 22 June; the next event is held from its eve, so it may start on the 24th and not on the 23rd."""
    issue_and_agree(ledger, quote("Q0001", lines=floor(width=40, length=24)))
    early = issue(ledger, quote("Q0002", lines=floor(), event_date=date(2026, 6, 23)))
    with pytest.raises(NotEnough):
        ledger.agree(agreed(early), OWNED)
    issue_and_agree(ledger, quote("Q0003", lines=floor(), event_date=date(2026, 6, 24)))


def test_cancelling_frees(ledger):
    issue_and_agree(ledger, quote("Q0001", lines=floor(width=40, length=24)))
    ledger.record(of_quote(Cancelled))
    assert ledger.holds(EVENT_DATE, EVENT_DATE) == []
    issue_and_agree(ledger, quote("Q0002", lines=floor(width=40, length=24)))
    with pytest.raises(NotEnough):
        ledger.agree(agreed(quote(lines=floor(width=40, length=24))), OWNED)


def test_a_later_revision_takes_the_place_of_the_first(ledger):
    """Of 60 panels 40 are held, then 50: the first 40 are not counted against the 50."""
    issue_and_agree(ledger, quote(revision=1, lines=floor(width=32)))
    second = issue_and_agree(ledger, quote(revision=2, lines=floor(width=40)))
    assert free_panels(ledger, EVENT_DATE) == 10
    assert ledger.standing("Q0001").quote == second


def test_what_is_agreed_is_what_the_returned_file_says(ledger):
    """Issued for 25 panels; the client made it 30 and sent it back."""
    issue(ledger, quote(lines=floor()))
    ledger.agree(agreed(quote(lines=floor(width=24))), OWNED)
    assert free_panels(ledger, EVENT_DATE) == 30
    assert ledger.issued("Q0001", 1).lines[0].panels == 25


def test_what_is_lost_is_gone_from_the_day_after_its_hold(ledger):
    """30 held to 22 June, of which 3 never come back."""
    issue_and_agree(ledger, quote())
    ledger.record(of_quote(Delivered))
    ledger.record(of_quote(CountedBack, losses=(Loss(PANELS, damaged=2, lost=1),)))
    days = date(2026, 6, 22), date(2026, 6, 23), date(2027, 6, 23)
    assert [free_panels(ledger, day) for day in days] == [30, 57, 57]


def test_what_is_lost_is_counted_once_on_every_day(ledger):
    """30 of 60 are held from 19 to 22 June, of which 3 are lost: on the 22nd they are among the 30, and no 3 more."""
    issue_and_agree(ledger, quote())
    ledger.record(of_quote(Delivered))
    ledger.record(of_quote(CountedBack, losses=(Loss(PANELS, damaged=2, lost=1),)))
    days = date(2026, 6, 18), date(2026, 6, 24)
    assert free(OWNED, ledger.holds(*days), *days)[PANELS] == [60, 30, 30, 30, 30, 57, 57]
    last_day = date(2026, 6, 22)
    assert {hold.held_to for hold in ledger.holds(last_day, last_day)} == {last_day}


@pytest.mark.parametrize(("first", "last", "held"), [
    (18, 18, False), (18, 19, True), (19, 19, True), (22, 22, True), (22, 23, True), (23, 23, False), (18, 23, True),
])  # fmt: skip
def test_a_hold_is_found_from_its_first_day_to_its_last(ledger, first, last, held):
    """Held from 19 to 22 June: the days asked about meet it on the 19th and the 22nd, not a day before or after."""
    issue_and_agree(ledger, quote(lines=floor()))
    holds = ledger.holds(date(2026, 6, first), date(2026, 6, last))
    days = (date(2026, 6, 19), date(2026, 6, 22))
    assert {(hold.held_from, hold.held_to) for hold in holds} == ({days} if held else set())


def test_without_turnaround_panels_may_go_out_two_days_after_the_event(ledger):
    """All 60 panels are held to the event's last day, 21 June; the next event is held from its eve, 22 June."""
    firm, lines = replace(FIRM, turnaround_days=D(0)), floor(width=40, length=24)
    first = issue_and_agree(ledger, quote("Q0001", lines=lines, firm=firm))
    assert Issued(at=AT.format(1), quote=first).turnaround_days == 0
    early = issue(ledger, quote("Q0002", lines=lines, firm=firm, event_date=date(2026, 6, 22)))
    with pytest.raises(NotEnough):
        ledger.agree(agreed(early), OWNED)
    issue_and_agree(ledger, quote("Q0003", lines=lines, firm=firm, event_date=date(2026, 6, 23)))


def test_agreed_quotes_by_date(ledger):
    for number, day in (("Q0001", 20), ("Q0002", 1), ("Q0003", 10)):
        issue_and_agree(ledger, quote(number, event_date=date(2026, 6, day)))
    ledger.record(of_quote(Cancelled, number="Q0003"))
    found = ledger.agreed(date(2026, 6, 1), date(2026, 6, 20))
    assert [standing.quote.quote_number for standing in found] == ["Q0002", "Q0001"]


def kept_of(ledger, figures):
    """What desks keep: each event's line and, for one with figures, those of its workbook."""
    with ledger.database.reading() as transaction:
        lines = transaction.column(f"SELECT line FROM history ORDER BY {IN_ORDER}")
    numbers = [json.loads(line)["quote_number"] for line in lines]
    return [KeptEvent(line, figures.get(number)) for line, number in zip(lines, numbers, strict=True)]


def test_putting_back_makes_an_equal_ledger(ledger, tmp_path):
    """From the lines that slips keep, and the figures that workbooks keep."""
    for happened in life():
        ledger.record(happened)
    issue_and_agree(ledger, quote("Q0002", lines=floor()))
    kept = kept_of(ledger, {"Q0001": quote(), "Q0002": quote("Q0002", lines=floor())})
    again = Ledger(f"sqlite:///{tmp_path / 'again.sqlite'}")
    assert again.put_back(kept) == len(kept) == 10
    assert contents(again) == contents(ledger)
    assert again.put_back(kept) == 0
    assert contents(again) == contents(ledger)


def test_putting_back_all_or_nothing(ledger, tmp_path):
    for happened in life():
        ledger.record(happened)
    kept = kept_of(ledger, {"Q0001": quote()})
    other = Ledger(f"sqlite:///{tmp_path / 'other.sqlite'}")
    issue(other, quote("Q0007"))
    before = contents(other)
    with pytest.raises(Misuse, match="slip 1 is not what the ledger has there"):
        other.put_back([*kept[1:], kept[0]])
    assert contents(other) == before


def test_one_transaction_an_event(ledger, monkeypatch):
    """The statement that fails is the last of several: none of them stays."""
    issue(ledger, quote())
    before = contents(ledger)

    kind = kind_of_transaction(ledger)
    whole = kind.insert

    def fail(transaction, table, rows):
        if table == "holds":
            raise RuntimeError("stopped")
        whole(transaction, table, rows)

    monkeypatch.setattr(kind, "insert", fail)
    with pytest.raises(RuntimeError, match="stopped"):
        ledger.agree(agreed(quote()), OWNED)
    assert contents(ledger) == before
