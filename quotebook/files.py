"""Writes files so that a reader never sees half of one, and no existing file is lost."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from secrets import token_hex

from quotebook.errors import Misuse


@contextmanager
def atomically(path: str | os.PathLike[str], overwrite: bool = False) -> Iterator[Path]:
    """Give a temporary path in the same folder, and put that file in place of `path` once the block has written it.

    If the block fails or is interrupted, nothing is left behind and `path` is as it was. Raises
    Misuse if `path` exists and `overwrite` is not given (also if it was created meanwhile), or if
    the folder cannot be written to.
    """
    path = Path(path)
    if path.exists() and not overwrite:
        raise _exists(path)
    temporary = path.with_name(f".{path.stem}.{token_hex(4)}{path.suffix}")
    try:
        temporary.open("xb").close()
        yield temporary
        temporary.replace(path) if overwrite else _put_new(temporary, path)
    except OSError as error:
        raise Misuse(f"{path}: cannot be written: {error.strerror or error}. Choose another place.") from error
    finally:
        temporary.unlink(missing_ok=True)


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
