"""Many processes on one ledger: the last panels held once, and nothing lost when one is killed."""

# ruff: noqa: F401, F811 (fixtures are imported by their names)

import multiprocessing
import os
import random
import time
from concurrent.futures import ThreadPoolExecutor

import pytest
from ledger_fixtures import EVENT_DATE, OWNED, agreed, floor, issue, issue_and_agree, ledger, quote, url
from sqlalchemy import select

from quotebook.engine.stock import Item, free
from quotebook.ledger import Ledger
from quotebook.ledger.events import Issued, now
from quotebook.ledger.recording import NotEnough, record
from quotebook.ledger.tables import agreements, history, lines, metadata, quotes

PANELS = Item("panels", "4x4")

processes = multiprocessing.get_context("forkserver")
processes.set_forkserver_preload(
    ["pytest", "quotebook.ledger", "quotebook.engine.price", "sqlalchemy.dialects.sqlite", "psycopg",
     "sqlalchemy.dialects.postgresql.psycopg"]
)  # fmt: skip
"""Each process is a fork of one that has imported these as far as they are there, so that it starts in milliseconds."""


def agree_at_once(url, number, ready, outcomes):
    ledger, event = Ledger(url), agreed(quote(number, lines=floor()))
    ready.wait()
    try:
        outcomes.put((number, ledger.agree(event, OWNED)))
    except NotEnough:
        outcomes.put((number, None))


def test_the_last_panels_are_held_once(url, ledger):
    """Eight processes want 25 panels each, of 60, at the same moment: two get them, whichever they are."""
    wanting = [issue(ledger, quote(f"Q000{number}", lines=floor())).quote_number for number in range(1, 9)]
    ready, outcomes = processes.Barrier(len(wanting)), processes.Queue()
    at_once = [processes.Process(target=agree_at_once, args=(url, number, ready, outcomes)) for number in wanting]
    for process in at_once:
        process.start()
    got = dict(outcomes.get(timeout=30) for _ in wanting)
    for process in at_once:
        process.join(timeout=30)
    assert set(got) == set(wanting)
    held = sorted(number for number, agreed in got.items() if agreed)
    assert len(held) == 2
    assert held == [standing.quote.quote_number for standing in ledger.agreed(EVENT_DATE, EVENT_DATE)]
    assert free(OWNED, ledger.holds(EVENT_DATE, EVENT_DATE), EVENT_DATE, EVENT_DATE)[PANELS] == [10]


def test_who_comes_second_waits_and_then_sees(ledger):
    """The first has agreed 40 of 60 panels but not committed; the second, who wants 40, is told of them."""
    first, second = (issue(ledger, quote(number, lines=floor(width=32))) for number in ("Q0001", "Q0002"))
    with ThreadPoolExecutor() as pool:
        with ledger.database.writing() as transaction:
            record(transaction, agreed(first), "", OWNED)
            later = pool.submit(ledger.agree, agreed(second), OWNED)
            with pytest.raises(TimeoutError):
                later.result(timeout=0.3)
        with pytest.raises(NotEnough):
            later.result(timeout=10)


def make_and_record(url, ready, first):
    ready.wait()
    ledger = Ledger(url)
    for number in range(first, first + 10):
        issue_and_agree(ledger, quote(f"Q{number:04}"), owned={})


def test_processes_that_make_the_ledger_at_once(url):
    ready = processes.Barrier(4)
    makers = [processes.Process(target=make_and_record, args=(url, ready, 1 + 10 * maker)) for maker in range(4)]
    for process in makers:
        process.start()
    for process in makers:
        process.join(timeout=60)
    assert [process.exitcode for process in makers] == [0] * 4
    assert {entry["quote_number"] for entry in Ledger(url).history()} == {f"Q{number:04}" for number in range(1, 41)}


def record_until_killed(url, first, acknowledged):
    ledger = Ledger(url)
    for number in range(first, first + 1000):
        figures = quote(f"Q{number:06}", lines=floor())
        ledger.record(Issued(at=now(), quote=figures))
        acknowledged.send((figures.quote_number, "issued"))
        ledger.record(agreed(figures))
        acknowledged.send((figures.quote_number, "agreed"))


def kill_while_recording(url, first, words, seconds):
    """What a process said it had recorded before it was killed, so many seconds after so many words."""
    heard, acknowledged = processes.Pipe(duplex=False)
    process = processes.Process(target=record_until_killed, args=(url, first, acknowledged))
    process.start()
    acknowledged.close()
    said = [heard.recv() for _ in range(words)]
    time.sleep(seconds)
    process.kill()
    process.join()
    try:
        while True:
            said.append(heard.recv())
    except (EOFError, OSError):  # all that was said has been heard; a last word may be cut short
        heard.close()
        return said


def make_until_killed(url, begun):
    begun.send("begun")
    Ledger(url)


@pytest.mark.parametrize("times", [10, pytest.param(200, marks=pytest.mark.slow)])
def test_killed_while_making_the_ledger(tmp_path, times):
    """It is there whole, or it is made by whoever comes next."""
    chance = random.Random(times)
    for attempt in range(times):
        address = f"sqlite:///{tmp_path / f'{attempt}.sqlite'}"
        begun, begin = processes.Pipe(duplex=False)
        process = processes.Process(target=make_until_killed, args=(address, begin))
        process.start()
        assert begun.recv() == "begun"
        time.sleep(chance.uniform(0, 0.15))
        process.kill()
        process.join()
        ledger = Ledger(address)
        issue_and_agree(ledger, quote(lines=floor()))
        assert must_be_whole(ledger) == {("Q0001", "issued"), ("Q0001", "agreed")}


def must_be_whole(ledger):
    """Every quote has its line, and as many sets of figures and agreements as its history says."""
    with ledger.database.querying() as connection:
        if ledger.database.dialect == "sqlite":
            assert connection.exec_driver_sql("PRAGMA integrity_check").scalar() == "ok"
            assert connection.exec_driver_sql("PRAGMA foreign_key_check").all() == []
        rows = {table: connection.execute(select(table)).all() for table in metadata.sorted_tables}
    told = [(entry.quote_number, entry.event) for entry in rows[history]]
    assert sorted((row.quote_number, "agreed" if row.sha256 else "issued") for row in rows[quotes]) == sorted(told)
    assert sorted(row.quote_id for row in rows[lines]) == sorted(row.quote_id for row in rows[quotes])
    assert {row.quote_number for row in rows[agreements]} == {number for number, event in told if event == "agreed"}
    return set(told)


@pytest.mark.parametrize("times", [20, pytest.param(200, marks=pytest.mark.slow)])
def test_killed_while_recording(url, ledger, times):
    """Killed (SIGKILL) at random moments: all that was acknowledged is there, nothing is there by half."""
    chance = random.Random(times)
    acknowledged = set()
    for attempt in range(times):
        acknowledged.update(kill_while_recording(url, 1 + 1000 * attempt, chance.randint(1, 3), chance.uniform(0, 0.1)))
        if attempt % 10 == 9:
            assert acknowledged <= must_be_whole(Ledger(url))
    assert acknowledged <= must_be_whole(Ledger(url)) and len(acknowledged) > times
