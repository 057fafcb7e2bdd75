"""Lets one process at a time catch up with a desk: somebody may double-click twice."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import IO

from quotebook.desk import Desk
from quotebook.errors import Misuse


@contextmanager
def one_at_a_time(desk: Desk) -> Iterator[None]:
    """Hold the desk for this process. Raises Misuse if another one has it. The system lets go of it after a crash."""
    with (desk.folder / ".catching_up").open("a") as file:
        try:
            _lock(file)
        except OSError:
            raise Misuse(f"{desk.folder}: is being caught up with already. Wait until that is done.") from None
        yield


def _lock(file: IO[str]) -> None:
    try:
        import fcntl
    except ImportError:  # Windows
        import msvcrt

        msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]
    else:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
