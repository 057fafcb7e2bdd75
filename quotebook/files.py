"""Writes files so that a reader never sees half of one, and no existing file is lost."""

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from secrets import token_hex

from quotebook.errors import Misuse


@contextmanager
def atomically(path: str | os.PathLike[str], overwrite: bool = False) -> Iterator[Path]:
    """Give a temporary path in the same folder, and put that file in place of `path` once the block has written it.

    When it returns, the file and its name are on the disk, whatever happens to the machine. If the
    block fails or is interrupted, nothing is left behind and `path` is as it was. Raises Misuse if
    `path` exists and `overwrite` is not given (also if it was created meanwhile), or if the folder
    cannot be written to.
    """
    path = Path(path)
    if path.exists() and not overwrite:
        raise _exists(path)
    temporary = path.with_name(f".{path.stem}.{token_hex(4)}{path.suffix}")
    try:
        temporary.open("xb").close()
        yield temporary
        _put_on_disk(temporary)
        temporary.replace(path) if overwrite else _put_new(temporary, path)
        _put_on_disk(path.parent)
    except OSError as error:
        raise Misuse(f"{path}: cannot be written: {error.strerror or error}. Choose another place.") from error
    finally:
        with suppress(OSError):  # what stays is hidden, and in nobody's way
            temporary.unlink(missing_ok=True)


def must_be_writable(path: Path) -> None:
    """Raises Misuse if a new file could not be written at `path`. Nothing is left there."""
    with suppress(_Tried), atomically(path):
        raise _Tried


class _Tried(Exception):
    """A file could be written."""


def _put_on_disk(path: Path) -> None:
    """Have the disk keep a file's content, or a folder's names, before anything else is done."""
    if path.is_dir() and os.name != "posix":
        return  # elsewhere a folder cannot be opened, and its names are kept with the file
    descriptor = os.open(path, os.O_RDONLY if path.is_dir() else os.O_RDWR)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def _put_new(temporary: Path, path: Path) -> None:
    """Give a file its name unless that name is taken, in one step where the file system has links."""
    try:
        os.link(temporary, path)
    except FileExistsError:
        raise _exists(path) from None
    except OSError:
        if path.exists():
            raise _exists(path) from None
        temporary.replace(path)


def _exists(path: Path) -> Misuse:
    return Misuse(f"{path}: exists already and was left as it is. Name another file, or remove this one.")
