"""The ledger's database: SQLite in a file, or PostgreSQL at an address.

A transaction for reading sees the ledger at one moment. A transaction for writing holds the only
write lock from its start, so its reads see everything that was written before.
"""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from sqlalchemy import URL, Connection, Engine, create_engine, event, insert, inspect, make_url, select
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError
from sqlalchemy.pool import NullPool

from quotebook.errors import Misuse, QuotebookError, Unreadable
from quotebook.files import atomically
from quotebook.ledger.tables import VERSION, metadata, version

PATIENCE = 10
"""Seconds to wait while another process writes to an SQLite ledger."""

READING = {"sqlite": "BEGIN", "postgresql": "SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY"}
WRITING = {"sqlite": "BEGIN IMMEDIATE", "postgresql": "SELECT pg_advisory_xact_lock(7190220601)"}
"""The statement that starts each kind of transaction. The PostgreSQL lock's number stands for the ledger."""


def ledger_url(desk: str | os.PathLike[str]) -> str:
    """The address of a desk's ledger: QUOTEBOOK_LEDGER, or `ledger.sqlite` in the desk's folder."""
    return os.environ.get("QUOTEBOOK_LEDGER") or file_url(Path(desk) / "ledger.sqlite")


def file_url(path: str | os.PathLike[str]) -> str:
    """The address of an SQLite ledger in a file; any character in the path is allowed."""
    return URL.create("sqlite", database=str(Path(path).absolute())).render_as_string()


def has_ledger(desk: str | os.PathLike[str]) -> bool:
    """Whether a desk has a ledger file, or QUOTEBOOK_LEDGER names a ledger."""
    return bool(os.environ.get("QUOTEBOOK_LEDGER")) or (Path(desk) / "ledger.sqlite").exists()


class Database:
    """Transactions on the ledger at an address. No connection stays open between them.

    Every method raises Misuse or Unreadable if the database cannot do what is asked. A transaction
    that ends in an exception has changed nothing.
    """

    def __init__(self, url: str, patience: float = PATIENCE):
        self.dialect, self.name, self._engine = _engine(url, patience)
        with self.reading() as connection:
            present = _known_version(connection, self.name)
        if not present:
            self._create_tables()

    def _create_tables(self) -> None:
        with self.writing() as connection:
            if not _known_version(connection, self.name):  # no other process has created them meanwhile
                metadata.create_all(connection, checkfirst=False)
                connection.execute(insert(version).values(version=VERSION))

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A transaction that sees the ledger at one moment and changes nothing."""
        with self._transaction(READING[self.dialect]) as connection:
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A transaction during which no other process writes, from its first statement to its commit."""
        with self._transaction(WRITING[self.dialect]) as connection:
            yield connection

    @contextmanager
    def _transaction(self, start: str) -> Iterator[Connection]:
        try:
            with self._engine.connect() as connection, connection.begin():
                connection.exec_driver_sql(start)
                yield connection
        except DBAPIError as error:
            raise _in_words(error, self.name) from error

    def backup(self, path: str | os.PathLike[str]) -> None:
        """Copy the ledger as it is now to a new file by SQLite's online backup: other processes may go on writing."""
        if self.dialect != "sqlite":
            raise Misuse(f"{self.name}: is a PostgreSQL ledger. Back it up with pg_dump.")
        with atomically(path) as copy, self.reading() as connection, closing(sqlite3.connect(copy)) as target:
            source = connection.connection.driver_connection
            assert isinstance(source, sqlite3.Connection)
            source.backup(target)


def _engine(url: str, patience: float) -> tuple[str, str, Engine]:
    """The dialect of an address, its name in messages, and the engine for it."""
    options: dict[str, dict[str, float | None]] = {
        "sqlite": {"timeout": patience, "isolation_level": None},
        "postgresql": {},
    }
    try:
        address = make_url(url)
        dialect = address.get_backend_name()
        if address.drivername == "postgresql":
            address = address.set(drivername="postgresql+psycopg")
        engine = create_engine(address, poolclass=NullPool, connect_args=options[dialect])
    except ImportError as error:
        raise Misuse("a ledger on PostgreSQL needs one more package: pip install 'psycopg[binary]'.") from error
    except (ArgumentError, NoSuchModuleError, KeyError) as error:
        raise Misuse("QUOTEBOOK_LEDGER: a ledger's address starts with sqlite:/// or postgresql://.") from error
    if dialect == "sqlite":
        event.listen(engine, "connect", _enforce_references_and_triggers)
        return dialect, str(address.database), engine
    return dialect, address.render_as_string(hide_password=True), engine


def _enforce_references_and_triggers(connection: sqlite3.Connection, _: object) -> None:
    """SQLite checks references, and fires the triggers for rows that `INSERT OR REPLACE` removes, only on request."""
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA recursive_triggers = ON")


def _known_version(connection: Connection, name: str) -> int | None:
    """The version of the ledger's layout; None if there is no ledger yet. Raises Unreadable for a newer layout."""
    if not inspect(connection).has_table(version.name):
        return None
    found: int = connection.execute(select(version.c.version)).scalar_one()
    if found > VERSION:
        raise Unreadable(
            f"{name}: was written by a newer quotebook (its layout is {found}, this one knows up to {VERSION}) "
            "and was left as it is. Install the newer quotebook."
        )
    return found


_IN_USE = (Misuse, "is in use by another program. Nothing was recorded. Close that program, or wait, and try again.")
_SQLITE_ERRORS = {
    "SQLITE_FULL": (Misuse, "the disk is full. Nothing was recorded. Make room and try again."),
    "SQLITE_READONLY": (Misuse, "it or its folder is read-only. Nothing was recorded. Allow writing and try again."),
    "SQLITE_CANTOPEN": (Misuse, "cannot be opened or created. Check that its folder exists and allows writing."),
    "SQLITE_BUSY": _IN_USE,
    "SQLITE_LOCKED": _IN_USE,
    "SQLITE_IOERR": (Misuse, "the disk cannot read or write it. Nothing was recorded. Check that the disk has room."),
    "SQLITE_NOTADB": (Unreadable, "is not a ledger, and was left as it is. Move it away and run quotebook rebuild."),
    "SQLITE_CORRUPT": (Unreadable, "is damaged, and was left as it is. Put back a backup, or rebuild it."),
}
"""The exception, and what a user reads, by the start of SQLite's name for an error (sqlite.org/rescode.html)."""


def _in_words(error: DBAPIError, name: str) -> QuotebookError:
    """The exception with the sentence that a user reads for a database's error."""
    code = getattr(error.orig, "sqlite_errorname", "")
    for start, (kind, sentence) in _SQLITE_ERRORS.items():
        if code.startswith(start):
            return kind(f"{name}: {sentence}")
    said = str(error.orig).strip().splitlines() or [""]
    return Misuse(f"{name}: the ledger's database refused, and nothing was changed: {said[0]}")
