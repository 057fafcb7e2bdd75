"""The ledger's database: SQLite in a file, or PostgreSQL at an address.

A transaction for reading sees the ledger at one moment. A transaction for writing holds the only
write lock from its start, so its reads see everything that was written before.
"""

import os
import re
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import AbstractContextManager, closing, contextmanager
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import quote, unquote

from quotebook.errors import Misuse, Unreadable
from quotebook.files import atomically
from quotebook.ledger.layout import VERSION
from quotebook.ledger.refusals import LOCK, in_words
from quotebook.ledger.transactions import Transaction, in_file

if TYPE_CHECKING:
    from sqlalchemy import Connection, Engine

PATIENCE = 30
"""Seconds to wait while another process writes to the ledger."""

Start = Mapping[str, tuple[str, ...]]
READING: Start = {
    "sqlite": ("BEGIN",),
    "postgresql": ("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY",),
}
WRITING: Start = {
    "sqlite": ("BEGIN IMMEDIATE",),
    "postgresql": (
        "SET TRANSACTION ISOLATION LEVEL READ COMMITTED READ WRITE",
        "SET LOCAL lock_timeout = '{patience}s'",
        f"SELECT pg_advisory_xact_lock({LOCK})",
    ),
}
"""The statements that start each kind of transaction.

At PostgreSQL's other levels of isolation, which a server may have as its default, a transaction would
see the ledger as it was before it waited for the lock.
"""


def ledger_url(desk: str | os.PathLike[str]) -> str:
    """The address of a desk's ledger: QUOTEBOOK_LEDGER, or `ledger.sqlite` in the desk's folder."""
    return os.environ.get("QUOTEBOOK_LEDGER") or file_url(Path(desk) / "ledger.sqlite")


def file_url(path: str | os.PathLike[str]) -> str:
    """The address of an SQLite ledger in a file; any character in the path is allowed."""
    return f"sqlite:///{quote(str(Path(path).absolute()), safe=' +/')}"


def ledger_path(desk: str | os.PathLike[str]) -> Path:
    """The file of the ledger in a desk's folder. Raises Misuse if QUOTEBOOK_LEDGER names another."""
    if os.environ.get("QUOTEBOOK_LEDGER"):
        raise Misuse("QUOTEBOOK_LEDGER names the ledger, which is not in this desk's folder: set it aside yourself.")
    return Path(desk) / "ledger.sqlite"


def is_shared() -> bool:
    """Whether QUOTEBOOK_LEDGER names the ledger, which several desks may share."""
    return bool(os.environ.get("QUOTEBOOK_LEDGER"))


def has_ledger(desk: str | os.PathLike[str]) -> bool:
    """Whether a desk's ledger is there, as far as can be told without opening it: on a server it counts as there."""
    return not is_missing_file(ledger_url(desk))


def is_missing_file(url: str) -> bool:
    """Whether an address is that of an SQLite file that does not exist."""
    if path := _file_at(url):
        return not Path(path).is_file()
    from sqlalchemy import make_url
    from sqlalchemy.exc import SQLAlchemyError

    try:
        address = make_url(url)
        is_file = address.get_backend_name() == "sqlite"
    except (SQLAlchemyError, ValueError):  # no address at all, which is said where it is opened
        return False
    return is_file and not Path(address.database or "").is_file()


_FILE_URL = re.compile(r"sqlite:///([^?]+)")


def _file_at(url: str) -> str:
    """The path in an address that names an SQLite file and nothing else; empty for any other address."""
    found = _FILE_URL.fullmatch(url)
    return unquote(found[1]) if found else ""


class Database:
    """Transactions on the ledger at an address. No connection stays open between them.

    Every method raises Misuse or Unreadable if the database cannot do what is asked. A transaction
    that ends in an exception has changed nothing. `querying` and `altering` load SQLAlchemy, and give a connection
    of it; so does PostgreSQL in any case.
    """

    def __init__(self, url: str, patience: float = PATIENCE):
        self._url, self._patience = url, patience
        self._file = _file_at(url)
        self.dialect, self.name = ("sqlite", self._file) if self._file else self._by_engine()
        if self.dialect == "sqlite" and self.name in ("", ":memory:"):
            raise Misuse("QUOTEBOOK_LEDGER: names no file, and the ledger would be lost. Write sqlite:///path/to/file.")
        with self.reading() as transaction:
            found = _known_version(transaction, self.name)
        if found != VERSION:
            self._create_or_bring_up_to_date()

    @cached_property
    def _engine(self) -> "Engine":
        from quotebook.ledger.through_sqlalchemy import engine_for

        return engine_for(self._url, self._patience)

    def _by_engine(self) -> tuple[str, str]:
        """The dialect, and the name in messages, of an address that is not plainly that of a file."""
        from quotebook.ledger.through_sqlalchemy import name_of

        return self._engine.dialect.name, name_of(self._engine.url)

    def _create_or_bring_up_to_date(self) -> None:
        from quotebook.ledger.migrations import bring_up_to_date
        from quotebook.ledger.tables import metadata, version
        from quotebook.ledger.through_sqlalchemy import SqlalchemyTransaction

        with self.altering() as connection:
            found = _known_version(SqlalchemyTransaction(connection), self.name)
            if found is None:
                metadata.create_all(connection, checkfirst=False)
                connection.execute(version.insert().values(version=VERSION))
            elif found < VERSION:  # no other process has done it meanwhile
                self._keep_copy(connection, found)
                bring_up_to_date(connection, found)

    def _keep_copy(self, connection: "Connection", layout: int) -> None:
        """Copy the ledger as it is: a file beside it, or on PostgreSQL tables of other names."""
        from sqlalchemy import inspect, text

        if self.dialect == "sqlite":
            path = Path(self.name)
            self._copy(path.with_name(f"{path.stem}.layout-{layout}{path.suffix}"), overwrite=True)
            return
        for table in inspect(connection).get_table_names():
            if not table.startswith("layout_"):
                connection.execute(text(f'CREATE TABLE "layout_{layout}_{table}" AS TABLE "{table}"'))

    def reading(self) -> AbstractContextManager[Transaction]:
        """A transaction that sees the ledger at one moment and changes nothing."""
        return self._transaction(READING)

    def writing(self) -> AbstractContextManager[Transaction]:
        """A transaction during which no other process writes, from its first statement to its commit."""
        return self._transaction(WRITING)

    def querying(self) -> AbstractContextManager["Connection"]:
        """As `reading`, for queries that are put together of conditions."""
        return self._connected(READING)

    def altering(self) -> AbstractContextManager["Connection"]:
        """As `writing`, for tables that are made."""
        return self._connected(WRITING)

    @contextmanager
    def _transaction(self, start: Start) -> Iterator[Transaction]:
        if not self._file:
            from quotebook.ledger.through_sqlalchemy import SqlalchemyTransaction

            with self._connected(start) as connection:
                yield SqlalchemyTransaction(connection)
            return
        try:
            with in_file(self._file, self._patience, *start["sqlite"]) as transaction:
                yield transaction
        except sqlite3.Error as error:
            raise in_words(error, self.name) from error

    @contextmanager
    def _connected(self, start: Start) -> Iterator["Connection"]:
        from quotebook.ledger.through_sqlalchemy import connected

        statements = [statement.format(patience=self._patience) for statement in start[self.dialect]]
        with connected(self._engine, self.name, statements) as connection:
            yield connection

    def backup(self, path: str | os.PathLike[str]) -> None:
        """Copy the ledger as it is now to a new file by SQLite's online backup: other processes may go on writing."""
        if self.dialect != "sqlite":
            raise Misuse(f"{self.name}: is a PostgreSQL ledger. Back it up with pg_dump.")
        self._copy(path)

    def _copy(self, path: str | os.PathLike[str], overwrite: bool = False) -> None:
        with (
            atomically(path, overwrite) as copy,
            self.querying() as connection,
            closing(sqlite3.connect(copy)) as target,
        ):
            source = connection.connection.driver_connection
            assert isinstance(source, sqlite3.Connection)
            source.backup(target)


def _known_version(transaction: Transaction, name: str) -> int | None:
    """The version of the ledger's layout; None if there is no ledger yet. Raises Unreadable for a newer layout."""
    says_version = transaction.has_table("ledger_version")
    if not says_version and not transaction.has_table("history"):
        return None
    versions = transaction.column("SELECT version FROM ledger_version") if says_version else ()
    found: int = versions[0] if len(versions) == 1 and isinstance(versions[0], int) else 0
    if found < 1:
        raise Unreadable(
            f"{name}: is damaged, since it does not say which layout it has, and was left as it is. "
            "Put back a backup, or move it away and run quotebook rebuild."
        )
    if found > VERSION:
        raise Unreadable(
            f"{name}: was written by a newer quotebook (its layout is {found}, this one knows up to {VERSION}) "
            "and was left as it is. Install the newer quotebook."
        )
    return found
