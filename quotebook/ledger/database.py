"""The ledger's database: SQLite in a file, or PostgreSQL at an address.

A transaction for reading sees the ledger at one moment. A transaction for writing holds the only
write lock from its start, so its reads see everything that was written before.
"""

import os
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from pathlib import Path
from socket import gethostname

from sqlalchemy import URL, Connection, Engine, create_engine, event, insert, inspect, make_url, select, text
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError, SQLAlchemyError
from sqlalchemy.pool import NullPool

from quotebook.errors import Misuse, Unreadable
from quotebook.files import atomically
from quotebook.ledger.migrations import bring_up_to_date
from quotebook.ledger.refusals import LOCK, holders_of_lock, in_words
from quotebook.ledger.tables import VERSION, history, metadata, version

PATIENCE = 30
"""Seconds to wait while another process writes to the ledger."""

READING = {"sqlite": ("BEGIN",), "postgresql": ("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY",)}
WRITING = {
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
    return URL.create("sqlite", database=str(Path(path).absolute())).render_as_string()


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
    try:
        address = make_url(url)
        is_file = address.get_backend_name() == "sqlite"
    except (SQLAlchemyError, ValueError):  # no address at all, which is said where it is opened
        return False
    return is_file and not Path(address.database or "").is_file()


class Database:
    """Transactions on the ledger at an address. No connection stays open between them.

    Every method raises Misuse or Unreadable if the database cannot do what is asked. A transaction
    that ends in an exception has changed nothing.
    """

    def __init__(self, url: str, patience: float = PATIENCE):
        self.dialect, self.name, self._engine = _engine(url, patience)
        self._patience = patience
        with self.reading() as connection:
            found = _known_version(connection, self.name)
        if found != VERSION:
            self._create_or_bring_up_to_date()

    def _create_or_bring_up_to_date(self) -> None:
        with self.writing() as connection:
            found = _known_version(connection, self.name)
            if found is None:
                metadata.create_all(connection, checkfirst=False)
                connection.execute(insert(version).values(version=VERSION))
            elif found < VERSION:  # no other process has done it meanwhile
                self._keep_copy(connection, found)
                bring_up_to_date(connection, found)

    def _keep_copy(self, connection: Connection, layout: int) -> None:
        """Copy the ledger as it is: a file beside it, or on PostgreSQL tables of other names."""
        if self.dialect == "sqlite":
            path = Path(self.name)
            self._copy(path.with_name(f"{path.stem}.layout-{layout}{path.suffix}"), overwrite=True)
            return
        for table in inspect(connection).get_table_names():
            if not table.startswith("layout_"):
                connection.execute(text(f'CREATE TABLE "layout_{layout}_{table}" AS TABLE "{table}"'))

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
    def _transaction(self, start: Sequence[str]) -> Iterator[Connection]:
        try:
            with self._engine.connect() as connection, connection.begin():
                for statement in start:
                    connection.exec_driver_sql(statement.format(patience=self._patience))
                yield connection
        except DBAPIError as error:
            raise in_words(error, self.name, lambda: holders_of_lock(self._engine)) from error

    def backup(self, path: str | os.PathLike[str]) -> None:
        """Copy the ledger as it is now to a new file by SQLite's online backup: other processes may go on writing."""
        if self.dialect != "sqlite":
            raise Misuse(f"{self.name}: is a PostgreSQL ledger. Back it up with pg_dump.")
        self._copy(path)

    def _copy(self, path: str | os.PathLike[str], overwrite: bool = False) -> None:
        with (
            atomically(path, overwrite) as copy,
            self.reading() as connection,
            closing(sqlite3.connect(copy)) as target,
        ):
            source = connection.connection.driver_connection
            assert isinstance(source, sqlite3.Connection)
            source.backup(target)


def _engine(url: str, patience: float) -> tuple[str, str, Engine]:
    """The dialect of an address, its name in messages, and the engine for it."""
    options: dict[str, dict[str, object]] = {
        "sqlite": {"timeout": patience, "isolation_level": None},
        "postgresql": {"connect_timeout": 10, "application_name": f"quotebook on {gethostname()}"},
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
    except ValueError as error:
        raise Misuse("QUOTEBOOK_LEDGER: the port in the ledger's address is not a number.") from error
    if dialect == "sqlite":
        if address.database in (None, "", ":memory:"):
            raise Misuse("QUOTEBOOK_LEDGER: names no file, and the ledger would be lost. Write sqlite:///path/to/file.")
        event.listen(engine, "connect", _enforce_references_and_triggers)
        return dialect, str(address.database), engine
    return dialect, address.render_as_string(hide_password=True), engine


def _enforce_references_and_triggers(connection: sqlite3.Connection, _: object) -> None:
    """SQLite checks references, and fires the triggers for rows that `INSERT OR REPLACE` removes, only on request."""
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA recursive_triggers = ON")


def _known_version(connection: Connection, name: str) -> int | None:
    """The version of the ledger's layout; None if there is no ledger yet. Raises Unreadable for a newer layout."""
    tables = inspect(connection)
    if not tables.has_table(version.name) and not tables.has_table(history.name):
        return None
    versions = connection.scalars(select(version.c.version)).all() if tables.has_table(version.name) else ()
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
