"""Transactions on the ledger, and those on an SQLite file: statements as text, with nothing loaded but Python's driver.

A command that asks a few things, as the check of one file does, would take twice as long with SQLAlchemy, which is
loaded where tables are made, where a query is put together of conditions, and for PostgreSQL (`through_sqlalchemy`).
"""

import sqlite3
from abc import ABC, abstractmethod
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import closing, contextmanager
from datetime import date
from typing import Any

sqlite3.register_adapter(date, date.isoformat)
sqlite3.register_converter("DATE", lambda text: date.fromisoformat(text.decode()))
sqlite3.register_converter("BOOLEAN", lambda text: text == b"1")
DRIVER_OPTIONS: dict[str, Any] = {"isolation_level": None, "detect_types": sqlite3.PARSE_DECLTYPES}
"""Of Python's driver: transactions begin where this program says, and days come back as days."""


class Transaction(ABC):
    """Statements of one transaction, in words that both databases understand, with `:name` where a value goes.

    Days are dates, both ways; the values of a row come in the order of its columns.
    """

    @abstractmethod
    def rows(self, statement: str, /, **values: object) -> Sequence[Sequence[Any]]:
        """The rows that a query finds."""

    @abstractmethod
    def run(self, statement: str, /, **values: object) -> None:
        """Carry out a statement that finds nothing."""

    @abstractmethod
    def insert(self, table: str, rows: Sequence[Mapping[str, object]]) -> None:
        """Insert rows, at least one, that all have the columns of the first."""

    @abstractmethod
    def has_table(self, name: str) -> bool:
        """Whether there is a table of this name."""

    def column(self, statement: str, /, **values: object) -> list[Any]:
        """The first value of each row."""
        return [row[0] for row in self.rows(statement, **values)]

    def value(self, statement: str, /, **values: object) -> Any:
        """The first value of the first row; None if there is none."""
        return next(iter(self.column(statement, **values)), None)


def insertion(table: str, columns: Iterable[str]) -> str:
    """The statement that inserts a row with values for these columns."""
    columns = list(columns)
    return f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({', '.join(f':{name}' for name in columns)})"


def in_list(values: Iterable[object]) -> tuple[str, dict[str, object]]:
    """What stands behind IN for these values, at least one, and the values by the names that they have there."""
    named = {f"value_{place}": value for place, value in enumerate(values)}
    return f"({', '.join(f':{name}' for name in named)})", named


class FileTransaction(Transaction):
    """A transaction on an SQLite file."""

    def __init__(self, connection: sqlite3.Connection):
        self._connection = connection

    def rows(self, statement: str, /, **values: object) -> Sequence[Sequence[Any]]:
        return self._connection.execute(statement, values).fetchall()

    def run(self, statement: str, /, **values: object) -> None:
        self._connection.execute(statement, values)

    def insert(self, table: str, rows: Sequence[Mapping[str, object]]) -> None:
        self._connection.executemany(insertion(table, rows[0]), rows)

    def has_table(self, name: str) -> bool:
        return bool(self.value("SELECT 1 FROM sqlite_master WHERE type = 'table' AND name = :name", name=name))


@contextmanager
def in_file(path: str, patience: float, start: str) -> Iterator[FileTransaction]:
    """A transaction on the SQLite file at `path`, begun by the statement `start`. Raises sqlite3.Error."""
    with closing(sqlite3.connect(path, timeout=patience, **DRIVER_OPTIONS)) as connection:
        hold_to_rules(connection)
        connection.execute(start)
        yield FileTransaction(connection)
        connection.execute("COMMIT")


def hold_to_rules(connection: sqlite3.Connection, *_: object) -> None:
    """SQLite checks references, and fires the triggers for rows that `INSERT OR REPLACE` removes, only on request."""
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA recursive_triggers = ON")
