"""Transactions through SQLAlchemy: on PostgreSQL, and on either database for queries put together of conditions."""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from socket import gethostname
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event, inspect, make_url, text
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError
from sqlalchemy.pool import NullPool

from quotebook.errors import Misuse
from quotebook.ledger.refusals import holders_of_lock, in_words
from quotebook.ledger.transactions import DRIVER_OPTIONS, Transaction, hold_to_rules, insertion


class SqlalchemyTransaction(Transaction):
    """A transaction on a connection of SQLAlchemy's."""

    def __init__(self, connection: Connection):
        self._connection = connection

    def rows(self, statement: str, /, **values: object) -> Sequence[Sequence[Any]]:
        return self._connection.execute(text(statement), values).all()

    def run(self, statement: str, /, **values: object) -> None:
        self._connection.execute(text(statement), values)

    def insert(self, table: str, rows: Sequence[Mapping[str, object]]) -> None:
        self._connection.execute(text(insertion(table, rows[0])), list(rows))

    def has_table(self, name: str) -> bool:
        return inspect(self._connection).has_table(name)


def engine_for(url: str, patience: float) -> Engine:
    """The engine for an address. Raises Misuse."""
    options: dict[str, dict[str, Any]] = {
        "sqlite": {"connect_args": {"timeout": patience, **DRIVER_OPTIONS}, "native_datetime": True},
        "postgresql": {"connect_args": {"connect_timeout": 10, "application_name": f"quotebook on {gethostname()}"}},
    }
    try:
        address = make_url(url)
        dialect = address.get_backend_name()
        if address.drivername == "postgresql":
            address = address.set(drivername="postgresql+psycopg")
        engine = create_engine(address, poolclass=NullPool, **options[dialect])
    except ImportError as error:
        raise Misuse("a ledger on PostgreSQL needs one more package: pip install 'psycopg[binary]'.") from error
    except (ArgumentError, NoSuchModuleError, KeyError) as error:
        raise Misuse("QUOTEBOOK_LEDGER: a ledger's address starts with sqlite:/// or postgresql://.") from error
    except ValueError as error:
        raise Misuse("QUOTEBOOK_LEDGER: the port in the ledger's address is not a number.") from error
    if dialect == "sqlite":
        event.listen(engine, "connect", hold_to_rules)
    return engine


def name_of(address: URL) -> str:
    """How messages call the ledger at an address: its file, or the address without its password."""
    if address.get_backend_name() == "sqlite":
        return address.database or ""
    return address.render_as_string(hide_password=True)


@contextmanager
def connected(engine: Engine, name: str, start: Sequence[str]) -> Iterator[Connection]:
    """A transaction begun by the statements `start`. Raises Misuse or Unreadable, with the ledger's `name`."""
    try:
        with engine.connect() as connection, connection.begin():
            for statement in start:
                connection.exec_driver_sql(statement)
            yield connection
    except DBAPIError as error:
        lost = error.connection_invalidated
        raise in_words(error.orig or error, name, lambda: holders_of_lock(engine), lost=lost) from error
