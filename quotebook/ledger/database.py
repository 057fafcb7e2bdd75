"""The ledger's database: SQLite in a file, or PostgreSQL by its address.

Transactions for reading see one moment of the ledger. Those for writing hold its only write lock
from the start, so whoever writes has seen everything that was written before.
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
"""Seconds to wait for somebody else who is writing to an SQLite ledger."""

READING = {"sqlite": "BEGIN", "postgresql": "SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY"}
WRITING = {"sqlite": "BEGIN IMMEDIATE", "postgresql": "SELECT pg_advisory_xact_lock(7190220601)"}
"""How each kind of transaction starts. The number of the PostgreSQL lock stands for the ledger."""


def ledger_url(desk: str | os.PathLike) -> str:
    """Where a desk's ledger is: QUOTEBOOK_LEDGER, or `ledger.sqlite` in its folder."""
    return os.environ.get("QUOTEBOOK_LEDGER") or file_url(Path(desk) / "ledger.sqlite")


def file_url(path: str | os.PathLike) -> str:
    """The address of an SQLite ledger in a file, whatever signs its path has."""
    return URL.create("sqlite", database=str(Path(path).absolute())).render_as_string()


def has_ledger(desk: str | os.PathLike) -> bool:
    """Whether a desk has a ledger by now, or shares one by QUOTEBOOK_LEDGER."""
    return bool(os.environ.get("QUOTEBOOK_LEDGER")) or (Path(desk) / "ledger.sqlite").exists()


class Database:
    """Transactions on the ledger at an address. No connection is kept between them.

    All of it raises Misuse or Unreadable where the database cannot do what is asked; a transaction
    that ends in any exception has changed nothing.
    """

    def __init__(self, url: str, patience: float = PATIENCE):
        self.dialect, self.name, self._engine = _engine(url, patience)
        with self.reading() as connection:
            made = _known_version(connection, self.name)
        if not made:
            self._make()

    def _make(self) -> None:
        with self.writing() as connection:
            if not _known_version(connection, self.name):  # nobody else made it meanwhile
                metadata.create_all(connection, checkfirst=False)
                connection.execute(insert(version).values(version=VERSION))

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A transaction that sees one moment of the ledger and changes nothing."""
        with self._transaction(READING[self.dialect]) as connection:
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A transaction that nobody else writes beside, from its first statement to its commit."""
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

    def backup(self, path: str | os.PathLike) -> None:
        """A copy of the ledger as it is now, by SQLite's online backup: others may go on writing."""
        if self.dialect != "sqlite":
            raise Misuse(f"{self.name}: back up a PostgreSQL ledger with pg_dump, which sees one moment of it.")
        with atomically(path) as copy, self.reading() as connection, closing(sqlite3.connect(copy)) as target:
            connection.connection.backup(target)


def _engine(url: str, patience: float) -> tuple[str, str, Engine]:
    """Its dialect, what to call it, and the engine for an address."""
    try:
        url = make_url(url)
        dialect = url.get_backend_name()
        if url.drivername == "postgresql":
            url = url.set(drivername="postgresql+psycopg")
        ours = {"sqlite": {"timeout": patience, "isolation_level": None}, "postgresql": {}}[dialect]
        engine = create_engine(url, poolclass=NullPool, connect_args=ours)
    except ImportError as error:
        raise Misuse("a ledger on PostgreSQL needs one more package: pip install 'psycopg[binary]'.") from error
    except (ArgumentError, NoSuchModuleError, KeyError) as error:
        raise Misuse("QUOTEBOOK_LEDGER: a ledger's address starts with sqlite:/// or postgresql://.") from error
    if dialect == "sqlite":
        event.listen(engine, "connect", _strictly)
        return dialect, str(url.database), engine
    return dialect, url.render_as_string(hide_password=True), engine


def _strictly(connection, record) -> None:
    """SQLite checks references, and fires the triggers of what `INSERT OR REPLACE` removes, only if told to."""
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA recursive_triggers = ON")


def _known_version(connection: Connection, name: str) -> int | None:
    """The version of the layout that is there; None where there is no ledger yet."""
    if not inspect(connection).has_table(version.name):
        return None
    there = connection.scalar(select(version.c.version))
    if there > VERSION:
        raise Unreadable(
            f"{name}: was written by a newer quotebook (its layout is {there}, this one knows up to {VERSION}) "
            "and was left as it is. Install the newer quotebook."
        )
    return there


_IN_USE = (Misuse, "is in use by another program. Nothing was recorded: close that, or wait, and do it again.")
_SQLITE_TROUBLE = {
    "SQLITE_FULL": (Misuse, "the disk is full. Nothing was recorded: make room and do it again."),
    "SQLITE_READONLY": (Misuse, "it or its folder is read-only. Nothing was recorded: allow writing and do it again."),
    "SQLITE_CANTOPEN": (Misuse, "cannot be opened or made: see that its folder is there and may be written to."),
    "SQLITE_BUSY": _IN_USE,
    "SQLITE_LOCKED": _IN_USE,
    "SQLITE_IOERR": (Misuse, "the disk does not read or write it. Nothing was recorded: is there room on it?"),
    "SQLITE_NOTADB": (Unreadable, "is no ledger, and was left as it is. Move it away and run quotebook rebuild."),
    "SQLITE_CORRUPT": (Unreadable, "is damaged, and was left as it is. Put back a backup, or rebuild it."),
}
"""The start of SQLite's name for an error (sqlite.org/rescode.html), and what a user reads."""


def _in_words(error: DBAPIError, name: str) -> QuotebookError:
    """What a user reads for what the database said."""
    code = getattr(error.orig, "sqlite_errorname", "")
    for trouble, (kind, sentence) in _SQLITE_TROUBLE.items():
        if code.startswith(trouble):
            return kind(f"{name}: {sentence}")
    said = str(error.orig).strip().splitlines() or [""]
    return Misuse(f"{name}: the ledger's database refused, and nothing was changed: {said[0]}")
