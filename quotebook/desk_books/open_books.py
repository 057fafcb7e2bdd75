"""Tells whether a workbook is open in a spreadsheet program, by the lock file that the program keeps beside it."""

from pathlib import Path

LOCKS = ("~${name}", ".~lock.{name}#")
"""How the lock file of `name` is called: by the programs of one family, and by those of another."""


def lock_of(path: Path) -> Path | None:
    """The lock file beside a workbook; None if no program says that it has the workbook open."""
    locks = (path.with_name(pattern.replace("{name}", path.name)) for pattern in LOCKS)
    return next((lock for lock in locks if lock.exists()), None)


def say_open(path: Path) -> str:
    """A sentence about a workbook that is open or cannot be written; empty if it can be used."""
    if lock := lock_of(path):
        return (
            f"{path.name} is open in a program: save it, close it and run this again. If no program has it open, "
            f"remove {lock.name}."
        )
    try:
        if path.exists():
            path.open("r+b").close()
    except OSError as error:
        return (
            f"{path.name} cannot be written ({error.strerror}): close the program that has it open, and run this again."
        )
    return ""
