"""What a database refuses, in the words that a user reads."""

from collections.abc import Callable
from typing import TYPE_CHECKING

from quotebook.errors import Misuse, QuotebookError, Unreadable

if TYPE_CHECKING:
    from sqlalchemy import Engine

LOCK = 7190220601
"""The number of PostgreSQL's lock that stands for the right to write to the ledger."""


class NotRecorded(Misuse):
    """The database refused, and what was to be recorded was not, beyond doubt."""


_IN_USE = (
    NotRecorded, "is in use by another program. Nothing was recorded. Close that program, or wait, and try again.",
)  # fmt: skip
_SQLITE_ERRORS = {
    "SQLITE_FULL": (NotRecorded, "the disk is full. Nothing was recorded. Make room and try again."),
    "SQLITE_READONLY": (
        NotRecorded, "it or its folder is read-only. Nothing was recorded. Allow writing and try again.",
    ),
    "SQLITE_CANTOPEN": (NotRecorded, "cannot be opened or created. Check that its folder exists and allows writing."),
    "SQLITE_BUSY": _IN_USE,
    "SQLITE_LOCKED": _IN_USE,
    "SQLITE_IOERR": (
        NotRecorded, "the disk cannot read or write it. Nothing was recorded. Check that the disk has room.",
    ),
    "SQLITE_NOTADB": (Unreadable, "is not a ledger, and was left as it is. Move it away and run quotebook rebuild."),
    "SQLITE_CORRUPT": (Unreadable, "is damaged, and was left as it is. Put back a backup, or rebuild it."),
}  # fmt: skip
"""The exception, and what a user reads, by the start of SQLite's name for an error (sqlite.org/rescode.html)."""

_LOCK_NOT_AVAILABLE = "55P03"
"""PostgreSQL's code for a lock that was waited for too long (its documentation, appendix A)."""

_HOLDERS = f"""
    SELECT activity.application_name, activity.usename, activity.client_addr::text, activity.xact_start
    FROM pg_locks AS held JOIN pg_stat_activity AS activity ON activity.pid = held.pid
    WHERE held.locktype = 'advisory' AND held.granted
    AND ((held.classid::bigint << 32) | held.objid::bigint) = {LOCK}
"""


def in_words(
    error: BaseException, name: str, holders: Callable[[], str] = str, *, lost: bool = False
) -> QuotebookError:
    """The exception with the sentence that a user reads for an error of a database's driver.

    `holders` names who has the lock; `lost` is whether the connection was.
    """
    code = getattr(error, "sqlite_errorname", "")
    for start, (kind, sentence) in _SQLITE_ERRORS.items():
        if code.startswith(start):
            return kind(f"{name}: {sentence}")
    if getattr(error, "sqlstate", "") == _LOCK_NOT_AVAILABLE:
        return NotRecorded(
            f"{name}: is in use by {holders()}. Nothing was recorded. Wait until that is done, or stop it."
        )
    said = (str(error).strip().splitlines() or [""])[0]
    if lost:
        return Misuse(
            f"{name}: the connection to the ledger was lost: {said}. Whether the last step was recorded is not known: "
            "look at quotebook quotes before you repeat it."
        )
    return NotRecorded(f"{name}: the ledger's database refused, and nothing was changed: {said}")


def holders_of_lock(engine: "Engine") -> str:
    """Who may hold the right to write to a PostgreSQL ledger, in words."""
    from sqlalchemy.exc import SQLAlchemyError

    try:
        with engine.connect() as connection:
            holders = connection.exec_driver_sql(_HOLDERS).all()
    except SQLAlchemyError:
        holders = []
    named = [f"{program or 'a program'} ({user}, {place or 'this computer'}, since {since:%Y-%m-%d %H:%M:%S})"
             for program, user, place, since in holders]  # fmt: skip
    return " and ".join(named) or "another program"
