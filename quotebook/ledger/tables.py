"""The ledger's tables. Only rows of `agreements` ever change; all others stay as they were written.

Money is in whole minor units, dates are days, moments are texts in UTC (ISO 8601). Triggers refuse
to change or remove a row of the tables in KEPT, whoever asks.
"""

from typing import Any

from sqlalchemy import (
    BigInteger,
    Column,
    Connection,
    Date,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
    event,
)  # fmt: skip
from sqlalchemy.types import TypeEngine

from quotebook.engine.stock import STOCKED
from quotebook.ledger.records import CHARGES, GOODS, QUOTE_MONEY

VERSION = 1
"""Version of this layout. It goes up by one when a table changes."""

metadata = MetaData()


def _columns(kind: type[TypeEngine[Any]], *names: str) -> list[Column[Any]]:
    return [Column(name, kind, nullable=False) for name in names]


version = Table("ledger_version", metadata, *_columns(Integer, "version"))

quotes = Table(
    "quotes", metadata,
    Column("quote_id", Integer, primary_key=True),
    *_columns(String, "quote_number"), *_columns(Integer, "revision"),
    *_columns(String, "sha256"),  # of the file that was agreed; empty for a quote as issued
    *_columns(Date, "issued_on"), *_columns(Text, "client", "event", "venue"),
    *_columns(Date, "event_date"), *_columns(Integer, "days"), *_columns(Date, "held_from", "held_to"),
    *_columns(String, "currency"), *_columns(Integer, "minor_units"),
    *_columns(BigInteger, *QUOTE_MONEY),
    UniqueConstraint("quote_number", "revision", "sha256"),
    Index("quotes_by_date", "event_date"),
)  # fmt: skip

lines = Table(
    "lines", metadata,
    Column("quote_id", ForeignKey(quotes.c.quote_id), primary_key=True), Column("line", Integer, primary_key=True),
    *_columns(String, "panel"), *_columns(Integer, *STOCKED), *_columns(String, "subfloor_kind"),
    *_columns(BigInteger, "crew_minutes"),
    *_columns(BigInteger, *GOODS, *(f"net_{name}" for name in GOODS), *(f"spread_{name}" for name in CHARGES)),
)  # fmt: skip

returned = Table(
    "returned", metadata,
    Column("sha256", String, primary_key=True),
    *_columns(String, "at", "quote_number"), *_columns(Integer, "revision"),
    *_columns(String, "verdict"), *_columns(Integer, "findings"),
)  # fmt: skip

agreements = Table(
    "agreements", metadata,
    Column("quote_number", String, primary_key=True),
    Column("quote_id", ForeignKey(quotes.c.quote_id), nullable=False, unique=True),
    *_columns(String, "agreed_at"),
    *(Column(name, String) for name in ("delivered_at", "counted_back_at", "cancelled_at")),
)  # fmt: skip
"""The present state of each quote that was ever agreed, and the row of its figures."""

losses = Table(
    "losses", metadata,
    Column("quote_id", ForeignKey(quotes.c.quote_id), primary_key=True),
    Column("what", String, primary_key=True), Column("code", String, primary_key=True),
    *_columns(Integer, "damaged", "lost"),
)  # fmt: skip

payments = Table(
    "payments", metadata,
    Column("payment_id", Integer, primary_key=True),
    *_columns(String, "quote_number"), *_columns(Date, "paid_on"), *_columns(BigInteger, "amount"),
    *_columns(String, "currency", "towards"), *_columns(Integer, "repeat"),
    UniqueConstraint("quote_number", "paid_on", "amount", "towards", "repeat"),
)  # fmt: skip
"""Money that came in for quotes, and, less than 0, that went back."""

history = Table(
    "history", metadata,
    Column("entry_id", Integer, primary_key=True),
    *_columns(String, "at", "event", "quote_number"), *_columns(Integer, "revision"), *_columns(Text, "details"),
    Index("history_by_quote", "quote_number"),
)  # fmt: skip
"""Every event, in the order of recording."""

KEPT = (quotes, lines, returned, losses, payments, history)

_ON_SQLITE = """
CREATE TRIGGER {{table}}_kept_on_{word} BEFORE {word} ON {{table}} BEGIN SELECT RAISE(ABORT, '{{refusal}}'); END
"""
_TRIGGERS = {
    "sqlite": (_ON_SQLITE.format(word="UPDATE"), _ON_SQLITE.format(word="DELETE")),
    "postgresql": (
        """
        CREATE OR REPLACE FUNCTION quotebook_keep() RETURNS trigger LANGUAGE plpgsql AS
        $$ BEGIN RAISE EXCEPTION '{refusal}'; END $$""",
        """
        CREATE TRIGGER {table}_kept BEFORE UPDATE OR DELETE OR TRUNCATE ON {table}
        FOR EACH STATEMENT EXECUTE FUNCTION quotebook_keep()""",
    ),
}


def _create_triggers(table: Table, connection: Connection, **_: object) -> None:
    """Create the triggers that protect a table's rows, right after the table itself."""
    for statement in _TRIGGERS[connection.dialect.name]:
        text = statement.format(table=table.name, refusal="the ledger keeps what was recorded")
        connection.exec_driver_sql(text)


for _table in KEPT:
    event.listen(_table, "after_create", _create_triggers)
