"""Ledgers of every layout that was released, kept as they were made then, and brought up to date.

`layouts/` has one of each, on SQLite and on PostgreSQL, written by the program of that time: Q0001 counted
back with 1 damaged and 2 lost, Q0002 cancelled, Q0003 agreed as revision 2, Q0004 only issued.
"""

# ruff: noqa: F401, F811 (fixtures are imported by their names)

import sqlite3
from contextlib import closing
from datetime import date
from pathlib import Path

import pytest
from ledger_fixtures import contents, ledger, schema_of_its_own, url
from sqlalchemy import create_engine, inspect, make_url, text
from sqlalchemy.pool import NullPool

from quotebook.errors import Unreadable
from quotebook.ledger import Ledger
from quotebook.ledger.layout import VERSION

LAYOUTS = Path(__file__).parent / "layouts"


@pytest.fixture(params=range(1, VERSION))
def layout(request):
    """The number of an earlier layout."""
    return request.param


@pytest.fixture
def earlier(layout, url):
    """The address of a ledger of that layout."""
    address = make_url(url)
    dialect = address.get_backend_name()
    script = (LAYOUTS / f"{layout}.{dialect}.sql").read_text("utf-8")
    if dialect == "sqlite":
        with closing(sqlite3.connect(address.database)) as connection:
            connection.executescript(script)
    else:
        engine = create_engine(address.set(drivername="postgresql+psycopg"), poolclass=NullPool)
        with engine.begin() as connection:
            connection.exec_driver_sql(script)
    return url


def held(ledger, day):
    return sorted((hold.item.code, hold.pieces) for hold in ledger.holds(day, day) if hold.item.what == "panels")


def test_an_earlier_ledger_says_what_it_said(earlier):
    """As `quotes` listed it then, and what was held: 20 of Q0001 and 4 of Q0003 on the day; 3 lost from the 14th on."""
    ledger = Ledger(earlier)
    listed = [(quote.quote_number, quote.revision, quote.state, quote.total) for quote in ledger.listed()]
    assert listed == [
        ("Q0001", 1, "counted back", 96177), ("Q0002", 1, "cancelled", 37479), ("Q0003", 2, "agreed", 30015),
        ("Q0004", 1, "issued", 30015),
    ]  # fmt: skip
    assert held(ledger, date(2027, 6, 12)) == [("OAK-44", 24)]
    assert held(ledger, date(2027, 6, 14)) == [("OAK-44", 3)]
    assert len(ledger.history()) == 15
    assert ledger.standing("Q0001").counted_back_at == "2026-11-26T16:33:26.739293+00:00"


def test_it_goes_on_from_there(earlier):
    """A second time nothing changes, and what is derived is what a ledger put back from all events derives."""
    once = contents(Ledger(earlier))
    ledger = Ledger(earlier)
    assert contents(ledger) == once
    ledger.put_back([])
    assert contents(ledger) == once


def test_it_has_every_table_column_and_index_of_a_new_ledger(earlier, tmp_path):
    if make_url(earlier).get_backend_name() == "sqlite":
        new = f"sqlite:///{tmp_path / 'new.sqlite'}"
        assert layout_of(Ledger(earlier)) == layout_of(Ledger(new))
    else:
        for new in schema_of_its_own():
            assert layout_of(Ledger(earlier)) == layout_of(Ledger(new))


def layout_of(ledger):
    """The columns and the indexes of each table, but for the copies of earlier layouts."""
    with ledger.database.querying() as connection:
        found = inspect(connection)
        tables = [table for table in found.get_table_names() if not table.startswith("layout_")]
        return {
            table: (
                sorted((each["name"], str(each["type"]), each["nullable"]) for each in found.get_columns(table)),
                sorted((each["name"], each["column_names"]) for each in found.get_indexes(table)),
            )
            for table in tables
        }


def test_a_copy_was_made_first(earlier, layout):
    Ledger(earlier)
    address = make_url(earlier)
    if address.get_backend_name() == "sqlite":
        copy = Path(address.database).with_name(f"ledger.layout-{layout}.sqlite")
        with closing(sqlite3.connect(copy)) as connection:
            assert connection.execute("SELECT version FROM ledger_version").fetchone() == (layout,)
            assert connection.execute("SELECT count(*) FROM history").fetchone() == (15,)
    else:
        with Ledger(earlier).database.querying() as connection:
            assert connection.scalar(text(f"SELECT count(*) FROM layout_{layout}_history")) == 15


def test_all_of_it_or_nothing(earlier, monkeypatch):
    """It fails at the last statement: the earlier ledger is as it was, and the next program brings it up to date."""
    from quotebook.ledger import migrations

    def fail(connection):
        raise RuntimeError("stopped")

    with monkeypatch.context() as broken:
        broken.setattr(migrations, "derive_all", fail)
        with pytest.raises(RuntimeError, match="stopped"):
            Ledger(earlier)
    assert len(Ledger(earlier).history()) == 15 and held(Ledger(earlier), date(2027, 6, 12)) == [("OAK-44", 24)]


@pytest.mark.parametrize("found", [None, "abc", "", 0, -1])
def test_a_ledger_that_does_not_say_its_layout_is_left_as_it_is(tmp_path, found):
    path = tmp_path / "ledger.sqlite"
    Ledger(f"sqlite:///{path}")
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("DELETE FROM ledger_version")
        if found is not None:
            connection.execute("INSERT INTO ledger_version VALUES (?)", (found,))
        connection.commit()
    before = path.read_bytes()
    with pytest.raises(Unreadable, match="does not say which layout it has, and was left as it is"):
        Ledger(f"sqlite:///{path}")
    assert path.read_bytes() == before
