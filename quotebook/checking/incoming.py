"""What is named on the command line, as files to check: files, folders, patterns, messages with workbooks attached."""

import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from glob import glob, has_magic
from pathlib import Path
from typing import NamedTuple

from quotebook.checking.attachments import SUFFIXES, attached_workbooks
from quotebook.errors import Misuse, Unreadable

MESSAGE = ".eml"
LOOKED_FOR = SUFFIXES | {"", MESSAGE, ".csv", ".pdf", ".htm", ".html"}
"""What is taken from a folder: workbooks, messages, and what clients send in their place, which is then reported.
A file without a suffix may be any of them."""
MARKED = ".checked.xlsx"
"""How the name of a marked copy ends."""


class Attached(NamedTuple):
    """The paths of a workbook from a message, as those of an `Incoming`."""

    path: Path
    beside: Path


@dataclass(frozen=True, slots=True)
class Incoming:
    """One file to check. A text is kept of it, and not a path, which takes five times the memory."""

    shown: str
    """What a person calls it: its path, or `mail.eml: quote.xlsx`."""
    trouble: str = ""
    """Why there is nothing to read."""
    attached: Attached | None = None
    """Where it is, if it was attached to a message."""

    @property
    def path(self) -> Path:
        """Where its bytes are."""
        return self.attached.path if self.attached else Path(self.shown)

    @property
    def beside(self) -> Path:
        """A path in the folder where what is written about it belongs, with the name that it goes by."""
        return self.attached.beside if self.attached else Path(self.shown)


def incoming(names: Iterable[str | Path], scratch: Path) -> list[Incoming]:
    """Every file that `names` stand for, each once, in their order; those in a folder by name.

    A folder is searched with the folders in it. Lock files, and hidden files and marked copies in
    a folder, are left out (`marked_copies` names those). Workbooks in messages are written to the
    folder `scratch`. What cannot be read, and a marked copy that is named itself, comes back with
    its trouble, and stops nothing. Raises Misuse where nothing is left.
    """
    found: dict[Path, Incoming] = {}
    for name in names:
        for one in _named(Path(name)):
            found.setdefault(one.path, one)
    files = [each for one in found.values() for each in _opened(one, scratch)]
    if not files:
        raise Misuse("There is nothing to check: marked copies and lock files are left out.")
    return files


def marked_copies(names: Iterable[str | Path]) -> list[Path]:
    """The marked copies in the folders among `names`, which `incoming` leaves out."""
    folders = [Path(name) for name in names if Path(name).is_dir()]
    return sorted({path for folder in folders for path in folder.rglob("*") if _is_marked(path)})


def _is_marked(path: Path) -> bool:
    return path.name.lower().endswith(MARKED)


def one_workbook(name: Path, scratch: Path) -> Incoming:
    """The one workbook that a file is, or that is attached to a message, or that a check has named as attached to one.

    Raises Misuse where that is several, and Unreadable where there is nothing to read.
    """
    message, named, _ = str(name).rpartition(f"{MESSAGE}: ")
    inside = bool(named) and not name.exists()
    found = [*_opened(Incoming(f"{message}{MESSAGE}" if inside else str(name)), scratch)]
    if inside:
        found = [one for one in found if one.shown == str(name) or one.trouble]
    if not found:
        raise Misuse(f"{name}: no workbook of that name is attached to the message.")
    if len(found) > 1:
        listed = "; ".join(one.shown for one in found)
        raise Misuse(f"{name}: has several workbooks attached. Name one of them ({listed}), or save it and name that.")
    if found[0].trouble:
        raise Unreadable(found[0].trouble)
    return found[0]


def _named(path: Path) -> Iterator[Incoming]:
    if path.is_dir():
        yield from _in_folder(path)
    elif has_magic(str(path)) and not path.exists():
        matches = sorted(glob(str(path), recursive=True))  # noqa: PTH207  (Path.glob would match hidden files too)
        if not matches:
            yield Incoming(str(path), f"{path}: no file is called so.")
        for match in map(Path, matches):
            yield from _in_folder(match) if match.is_dir() else _file(match)
    else:
        yield from _file(path)


def _file(path: Path) -> Iterator[Incoming]:
    if not path.name.startswith("~$"):
        yield Incoming(str(path), _trouble_of_a_copy(str(path)))


def _trouble_of_a_copy(name: str) -> str:
    """Why a marked copy is not checked; "" for any other file."""
    if not name.lower().endswith(MARKED):
        return ""
    return f"{name}: is a marked copy that the check wrote; check the file that came back, and ask for it if need be."


def _in_folder(folder: Path) -> Iterator[Incoming]:
    barred: list[OSError] = []
    for place, folders, files in os.walk(folder, onerror=barred.append):
        folders[:] = sorted(name for name in folders if not name.startswith((".", "__MACOSX")))
        for name in sorted(files):
            if not name.startswith(".") and not _is_marked(Path(name)) and Path(name).suffix.lower() in LOOKED_FOR:
                yield from _file(Path(place, name))
    for error in barred:
        path = Path(error.filename)
        yield Incoming(str(path), f"{path}: could not be looked into ({error.strerror}).")


def _opened(one: Incoming, scratch: Path) -> Iterator[Incoming]:
    """The files that one file stands for: the workbooks attached to a message, any other file itself."""
    if one.trouble or one.path.suffix.lower() != MESSAGE:
        yield one
        return
    try:
        workbooks = attached_workbooks(one.path)
    except Unreadable as error:
        yield Incoming(one.shown, str(error))
        return
    for number, (name, data) in enumerate(workbooks, 1):
        path = scratch / f"{len([*scratch.iterdir()])}{Path(name).suffix}"
        path.write_bytes(data)
        again = f"-{number}" if name in [earlier for earlier, _ in workbooks[: number - 1]] else ""
        beside = one.path.with_name(f"{one.path.stem}-{Path(name).stem}{again}.xlsx")
        shown = f"{one.path}: {name}"
        yield Incoming(shown, _trouble_of_a_copy(shown), Attached(path, beside))
