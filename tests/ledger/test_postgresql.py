"""What only a real server does: its own defaults of isolation, its locks, and going away in the middle."""

# ruff: noqa: F401, F811 (fixtures are imported by their names)

import pytest
from ledger_fixtures import OWNED, agreed, contents, floor, issue, issue_and_agree, ledger, postgresql, quote
from sqlalchemy import create_engine, event, make_url, text
from sqlalchemy.pool import NullPool
from test_ledger_processes import agree_at_once, processes

from quotebook.errors import Misuse
from quotebook.ledger import Ledger
from quotebook.ledger.events import Issued, now
from quotebook.ledger.life import NumberTaken
from quotebook.ledger.refusals import LOCK


def connected(url, **more):
    return create_engine(make_url(url).set(drivername="postgresql+psycopg"), poolclass=NullPool, connect_args=more)


@pytest.mark.parametrize("isolation", ["read committed", "repeatable read", "serializable"])
def test_the_last_panels_are_held_once_whatever_the_server_isolates(postgresql, isolation):
    """Eight processes want 25 panels each, of 60, at the same moment, with the server's default as said."""
    options = make_url(postgresql).query["options"]
    default = f"-c default_transaction_isolation={isolation.replace(' ', chr(92) + ' ')}"
    url = make_url(postgresql).update_query_dict({"options": f"{options} {default}"})
    url = url.render_as_string(hide_password=False)
    with connected(url).connect() as connection:
        assert connection.scalar(text("SHOW default_transaction_isolation")) == isolation
    ledger = Ledger(url)
    wanting = [issue(ledger, quote(f"Q000{number}", lines=floor())).quote_number for number in range(1, 9)]
    ready, outcomes = processes.Barrier(len(wanting)), processes.Queue()
    at_once = [processes.Process(target=agree_at_once, args=(url, number, ready, outcomes)) for number in wanting]
    for process in at_once:
        process.start()
    got = dict(outcomes.get(timeout=120) for _ in wanting)
    for process in at_once:
        process.join(timeout=30)
    assert sorted(filter(None, got.values())) == [True, True] and set(got) == set(wanting)


def test_who_holds_the_lock_is_named_when_it_was_waited_for(postgresql):
    ledger = Ledger(postgresql, patience=0.2)
    with connected(postgresql, application_name="the other desk").begin() as somebody:
        somebody.execute(text(f"SELECT pg_advisory_xact_lock({LOCK})"))
        with pytest.raises(Misuse, match=r"is in use by the other desk \(\w+, .+, since 20..-..-.. .+\)\. Nothing was"):
            issue(ledger, quote())
    assert issue(ledger, quote()) and len(ledger.history()) == 1


def test_two_desks_may_ask_for_the_same_to_the_letter(postgresql):
    """Equal figures, an equal workbook, an equal number: still two requests, of which one keeps the number."""
    one, other = Ledger(postgresql, "one"), Ledger(postgresql, "other")
    alike = Issued(at=now(), quote=quote(), sha256="ab" * 32)
    assert one.record(alike) and not one.record(alike)
    with pytest.raises(NumberTaken, match="a number is used once"):
        other.record(alike)


def test_a_server_that_goes_away_in_the_middle_has_recorded_nothing(postgresql):
    """The connection is ended from outside between two statements of one agreement."""
    ledger = Ledger(postgresql)
    issue(ledger, quote())
    before = contents(ledger)

    @event.listens_for(ledger.database._engine, "before_cursor_execute")
    def end(connection, cursor, statement, *rest):
        if "INTO holds" in statement:
            with connected(postgresql).begin() as other:
                pid = connection.connection.driver_connection.info.backend_pid
                other.execute(text(f"SELECT pg_terminate_backend({pid})"))

    with pytest.raises(Misuse, match=r"the connection to the ledger was lost: .+ look at quotebook quotes before you"):
        ledger.agree(agreed(quote()), OWNED)
    event.remove(ledger.database._engine, "before_cursor_execute", end)
    assert contents(ledger) == before
    assert ledger.agree(agreed(quote()), OWNED)


def without_ids(ledger):
    """What a ledger holds, but for the numbers that rows of figures have in it."""
    found = contents(ledger)
    ids = {row[0]: row[1:4] for row in found["quotes"]}
    return {
        table: sorted(
            ((tuple(ids[row[0]] if table in ("quotes", "lines", "listed") and n == 0 else value
                    for n, value in enumerate(row))
              if table != "agreements" else (row[0], ids[row[1]], *row[2:]))
             for row in rows), key=repr,
        )
        for table, rows in found.items()
    }  # fmt: skip


@pytest.mark.parametrize("order", [("one", "other"), ("other", "one")])
def test_desks_put_a_lost_ledger_back_in_any_order(postgresql, tmp_path, order):
    """One desk issues, the other agrees what the first issued, the first cancels and the other issues its own."""
    from test_ledger import kept_of

    one, other = (Ledger(postgresql, name) for name in ("one", "other"))
    issue(one, quote("Q0001", lines=floor()))
    other.agree(agreed(quote("Q0001", lines=floor())), OWNED)
    issue_and_agree(other, quote("Q0002", lines=floor()))
    issue_and_agree(one, quote("Q0003", lines=floor(panel="3x4")))
    figures = {number: one.issued(number, 1) for number in ("Q0001", "Q0002", "Q0003")}
    kept = kept_of(one, figures)
    again = Ledger(f"sqlite:///{tmp_path / 'again.sqlite'}")
    for name in order:
        again.put_back([event for event in kept if f'"desk": "{name}"' in event.line])
    assert without_ids(again) == without_ids(one)
