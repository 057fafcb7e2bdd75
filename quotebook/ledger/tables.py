"""The ledger's tables: `history` and the figures of quotes, which stay as written, and what follows from them.

Money is in whole minor units, dates are days, moments are texts in UTC (ISO 8601). Triggers refuse
to change or remove a row of the tables in `layout.KEPT`, whoever asks. The tables in `layout.DERIVED` can be made
again from those at any time.
"""

from typing import Any

from sqlalchemy import (
    BigInteger,
    Boolean,
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
from quotebook.ledger.layout import KEPT
from quotebook.ledger.records import CHARGES, GOODS, QUOTE_MONEY

metadata = MetaData()


def _columns(kind: type[TypeEngine[Any]], *names: str) -> list[Column[Any]]:
    return [Column(name, kind, nullable=False) for name in names]


version = Table("ledger_version", metadata, *_columns(Integer, "version"))

quotes = Table(
    "quotes", metadata,
    Column("quote_id", Integer, primary_key=True, autoincrement=False),
    *_columns(String, "quote_number"), *_columns(Integer, "revision"),
    *_columns(String, "sha256"),  # of the file that was agreed; empty for a quote as issued
    *_columns(Date, "issued_on"), *_columns(Text, "client", "event", "venue"),
    *_columns(Date, "event_date"), *_columns(Integer, "days"), *_columns(Date, "held_from", "held_to"),
    *_columns(String, "currency"), *_columns(Integer, "minor_units"),
    *_columns(BigInteger, *QUOTE_MONEY),
    UniqueConstraint("quote_number", "revision", "sha256"),
)  # fmt: skip

lines = Table(
    "lines", metadata,
    Column("quote_id", ForeignKey(quotes.c.quote_id), primary_key=True), Column("line", Integer, primary_key=True),
    *_columns(String, "panel"), *_columns(Integer, *STOCKED), *_columns(String, "subfloor_kind"),
    *_columns(BigInteger, "crew_minutes"),
    *_columns(BigInteger, *GOODS, *(f"net_{name}" for name in GOODS), *(f"spread_{name}" for name in CHARGES)),
    Index("lines_by_panel", "panel", "quote_id"), Index("lines_by_subfloor", "subfloor_kind"),
)  # fmt: skip

agreements = Table(
    "agreements", metadata,
    Column("quote_number", String, primary_key=True),
    Column("quote_id", ForeignKey(quotes.c.quote_id), nullable=False, unique=True),
    *_columns(String, "agreed_at"),
    *(Column(name, String) for name in ("delivered_at", "counted_back_at", "cancelled_at")),
    *_columns(Date, "first_day", "last_day"),
    Index("agreements_by_first_day", "first_day"), Index("agreements_by_last_day", "last_day"),
)  # fmt: skip
"""The present state of each quote that was ever agreed, the row of its figures, and the days of its event."""

holds = Table(
    "holds", metadata,
    *_columns(String, "quote_number", "what", "code"), *_columns(Integer, "pieces"),
    *_columns(Date, "held_from", "held_to"),
    Index("holds_by_quote", "quote_number"), Index("holds_by_day", "held_to", "held_from"),
)  # fmt: skip
"""What is away for each agreed quote, by the codes of now: a kind that was renamed has its new one."""

losses = Table(
    "losses", metadata,
    *_columns(String, "quote_number", "what", "code"), *_columns(Integer, "damaged", "lost"),
    *_columns(Date, "gone_from"),
    Index("losses_by_quote", "quote_number"),
)  # fmt: skip
"""What did not come back from each hire, and the first day on which it is missing: the day after the hold."""

listed = Table(
    "listed", metadata,
    Column("quote_id", ForeignKey(quotes.c.quote_id), primary_key=True, autoincrement=False),
    *_columns(String, "quote_number"), *_columns(Integer, "revision"), *_columns(String, "state"),
    *_columns(Date, "issued_on"), Column("valid_until", Date),
    *(Column(name, Integer) for name in ("deposit_days", "balance_days")),
    *_columns(Text, "client", "event"), *_columns(Date, "event_date"),
    *_columns(Text, "panels"),  # by their codes now, as JSON
    *_columns(BigInteger, "total", "deposit", "paid"), *_columns(Integer, "minor_units"), *_columns(String, "currency"),
    Column("cancelled_on", Date), *_columns(Text, "because"),
    *_columns(Text, "bill"),  # the one that stands, as JSON; empty for none
    *_columns(String, "options", "picked"),
    *_columns(Text, "client_folded"), Column("open_until", Date),
    Index("listed_by_number", "quote_number"), Index("listed_by_day", "event_date"),
    Index("listed_by_state", "state"), Index("listed_by_open", "open_until"),
)  # fmt: skip
"""The list of quotes: every field of a `listing.ListedQuote`, and two by which quotes are asked for.

`client_folded` is the client's name without a difference of capitals. `open_until` is the last day on which
something may have to be done about it: 9999-12-31 where only a further event ends that, none where all is done.
"""

payments = Table(
    "payments", metadata,
    Column("quote_number", String, primary_key=True),
    Column("place", Integer, primary_key=True, autoincrement=False),  # among those of the quote, as recorded
    *_columns(Date, "paid_on"), *_columns(BigInteger, "amount"), *_columns(String, "currency", "towards"),
    *_columns(Integer, "repeat"),
    Index("payments_by_day", "paid_on"),
)  # fmt: skip

bills = Table(
    "bills", metadata,
    *_columns(Integer, "count"),  # the number in `bill_number`
    *_columns(String, "bill_number", "quote_number"), *_columns(Date, "billed_on", "due_on"),
    *_columns(String, "currency"), *_columns(BigInteger, "total"), *_columns(Text, "taxes"),  # as JSON
    *_columns(Boolean, "prices_with_tax"), *_columns(String, "corrects"), *_columns(Text, "because"),
    *_columns(String, "sha256"),
    Index("bills_by_count", "count"), Index("bills_by_quote", "quote_number"), Index("bills_by_day", "billed_on"),
)  # fmt: skip

history = Table(
    "history", metadata,
    Column("desk", String, primary_key=True), Column("sequence", Integer, primary_key=True, autoincrement=False),
    *_columns(Integer, "clock"),
    *_columns(String, "at", "event", "quote_number"), *_columns(Integer, "revision"), *_columns(Text, "line"),
    Index("history_by_quote", "quote_number"), Index("history_by_clock", "clock"),
)  # fmt: skip
"""Every event of every desk, with the line of its slip. `clock`, then desk and sequence, order them."""

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


def create_triggers(table: str, connection: Connection) -> None:
    """Create the triggers that protect a table's rows."""
    for statement in _TRIGGERS[connection.dialect.name]:
        connection.exec_driver_sql(statement.format(table=table, refusal="the ledger keeps what was recorded"))


def _after_create(table: Table, connection: Connection, **_: object) -> None:
    create_triggers(table.name, connection)


for _name in KEPT:
    event.listen(metadata.tables[_name], "after_create", _after_create)
