"""Ledgers for tests, on SQLite and PostgreSQL, and quotes to put in them.

A test that takes `url` or `ledger` runs on both: on PostgreSQL where QUOTEBOOK_TEST_POSTGRESQL is
the address of a server, each time in a schema of its own.
"""

import hashlib
import os
import random
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal as D
from secrets import token_hex

import pytest
import worked_example
from sqlalchemy import create_engine, make_url, select, text
from sqlalchemy.pool import NullPool
from worked_example import FIRM

from quotebook.engine.model import FloorLine, Holding, Papers, RateCard, SheetHolding
from quotebook.engine.price import price
from quotebook.engine.stock import Item
from quotebook.ledger import Ledger, through_sqlalchemy
from quotebook.ledger.events import Agreed, Issued, now
from quotebook.ledger.records import record_of
from quotebook.ledger.tables import metadata

OWNED = {Item("panels", "4x4"): 60, Item("panels", "2x3"): 200, Item("panels", "3x4"): 80, Item("sheets", "ply"): 30}
CARD = RateCard(
    firm=FIRM, rates=worked_example.RATES,
    holdings={
        code: Holding(
            owned=D(owned), purchase_price=D(each), bought_on=date(2025, 3, 1), life_years=D(10),
            edging_owned_slot=D(80), edging_owned_tongue=D(80), corners_owned=D(24), system="",
            replacement_price=D(each) + 10, piece_replacement_price=D(20), corner_replacement_price=D("7.50"),
        )
        for code, owned, each in (("4x4", 120, 190), ("2x3", 300, 42), ("3x4", 90, 155))
    },
    sheet_holdings={"ply": SheetHolding(D(30), D(28), D(31))}, carts_owned=D(30), gross_weight=D(9000),
    trailer_weight=D(0), strap_limit=D(1000), day_hours=D(12), lifts=(), tools=(), terms=(),
    payment_terms=worked_example.PAYMENT_TERMS,
)  # fmt: skip
WITH_TAX = replace(
    CARD, rates=replace(
        CARD.rates, prices_with_tax=True, tax_rate=D("0.25"), tax_on_goods=True, tax_on_labour=True,
        tax_on_delivery=True, tax_on_waiver=True,
    ),
)  # fmt: skip
"""Every price has 25 % in it, so that a fifth of it is tax."""
EVENT_DATE = date(2026, 6, 20)
"""Of the worked example."""


@pytest.fixture
def quick_queries(monkeypatch):
    """Ledgers of one kind share what SQLAlchemy makes of each query, which costs more than to carry it out.

    It keeps that by dialect and engine, of which every ledger has its own. On a server they share connections too.
    """
    first, servers, whole = {}, {}, through_sqlalchemy.create_engine

    def create(address, **options):
        if address in servers:
            return servers[address]
        kind = address.get_backend_name()
        if kind == "postgresql":
            del options["poolclass"]
        engine = whole(address, **options)
        with engine.connect():  # a dialect is of use once it has seen its server
            dialect, queries = first.setdefault(kind, (engine.dialect, {}))
        engine.dialect = dialect
        engine.update_execution_options(compiled_cache=queries)
        if kind == "postgresql":
            servers[address] = engine
        return engine

    monkeypatch.setattr(through_sqlalchemy, "create_engine", create)
    yield
    for engine in servers.values():
        engine.dispose()


@pytest.fixture(params=["sqlite", "postgresql"])
def url(request, tmp_path):
    """The address of a ledger that is not there yet."""
    yield from address_of(request.param, tmp_path)


def address_of(kind, folder):
    """The address of a ledger that is not there yet: an SQLite file in a folder, or a schema on the server."""
    if kind == "sqlite":
        yield f"sqlite:///{folder / 'ledger.sqlite'}"
    else:
        yield from schema_of_its_own()


@pytest.fixture
def postgresql():
    """The address of a ledger on PostgreSQL that is not there yet."""
    yield from schema_of_its_own()


def schema_of_its_own():
    """The address of a new schema on the server, which is dropped afterwards."""
    server = os.environ.get("QUOTEBOOK_TEST_POSTGRESQL")
    if not server:
        missing = pytest.fail if os.environ.get("QUOTEBOOK_REQUIRE_ENGINES") else pytest.skip
        missing("no PostgreSQL: QUOTEBOOK_TEST_POSTGRESQL is not set")
    schema = f"test_{token_hex(6)}"
    engine = create_engine(make_url(server).set(drivername="postgresql+psycopg"), poolclass=NullPool)
    with engine.begin() as connection:
        connection.execute(text(f"CREATE SCHEMA {schema}"))
    address = make_url(server).update_query_dict({"options": f"-csearch_path={schema}"})
    yield address.render_as_string(hide_password=False)
    with engine.begin() as connection:
        connection.execute(text(f"DROP SCHEMA {schema} CASCADE"))


@pytest.fixture
def ledger(url):
    return Ledger(url)


def quote(number="Q0001", revision=1, rates=worked_example.RATES, firm=FIRM, **changes):
    """The record of the worked example's request, with changes to it."""
    request = replace(worked_example.REQUEST, **changes)
    issued_on = date(2026, 5, 4)
    papers = Papers(number, D(revision), issued_on, issued_on + timedelta(int(firm.valid_days)))
    return record_of(papers, request, price(rates, request), rates, firm)


def floor(panel="4x4", width=20, length=20, edging_wanted=False):
    """The lines of a request for one floor: 25 panels of 4x4, if nothing else is said."""
    return (FloorLine(panel, D(width), D(length), edging_wanted),)


def issue(ledger, record, at=None):
    ledger.record(Issued(at=at or now(), quote=record, sha256=hashlib.sha256(repr(record).encode()).hexdigest()))
    return record


def agreed(record, **changes):
    """The event that agrees a quote: of a file whose digest is made up from its number and revision."""
    digest = f"{record.quote_number}-{record.revision}".encode().hex().ljust(64, "0")
    return Agreed(**{"at": now(), "quote": record, "sha256": digest} | changes)


def issue_and_agree(ledger, record, owned=OWNED):
    issue(ledger, record)
    ledger.agree(agreed(record), owned)
    return record


def agree_a_season(ledger, count=60, first=date(2026, 1, 1), days=730, seed=5):
    """Agrees so many quotes of one to three floors, at random over so many days."""
    chance = random.Random(seed)
    for number in range(1, count + 1):
        sides = (chance.choice([12, 16, 20]), chance.choice([12, 16, 20, 24]), chance.random() < 0.5)
        panels = chance.choices(["4x4", "2x3", "3x4"], weights=[2, 1, 1], k=chance.choice([1, 1, 2, 3]))
        lines = tuple(floor(panel, *sides)[0] for panel in panels)
        issue_and_agree(ledger, quote(
            f"Q{number:04}", lines=lines, event_date=first + timedelta(chance.randrange(days)),
            days=D(chance.choice([1, 1, 2, 3])), miles=D(chance.randrange(60)),
            discount_share=D(chance.choice(["0", "0.05", "0.1"])),
            client=chance.choice(["A. Client", "=cmd|' /C calc'!A0", "Riverside Hall Committee"]),
        ), owned={})  # fmt: skip


def kind_of_transaction(ledger):
    """The class of the transactions on a ledger: of a file's, or of a server's."""
    with ledger.database.reading() as transaction:
        return type(transaction)


def contents(ledger):
    """Every row of every table."""
    with ledger.database.querying() as connection:
        rows = {table.name: connection.execute(select(table)).all() for table in metadata.sorted_tables}
    return {table: sorted(map(tuple, of_table), key=repr) for table, of_table in rows.items()}
