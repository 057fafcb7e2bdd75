"""What is left to do about a fault of this program: a sentence, and a report that the owner can send.

The report names places in this program and in its packages, and versions. It has no text of the fault,
no argument, no path and no value, since those can be a client's.
"""

import platform
import sysconfig
import tempfile
import traceback
from datetime import datetime
from importlib.metadata import version
from pathlib import Path

import quotebook

PACKAGES = ("click", "lxml", "openpyxl", "sqlalchemy", "xlsxwriter")


def say_fault(error: Exception, command: str) -> str:
    """Write the report in the current folder, or in the system's for temporary files; returns the sentence to say."""
    name = f"quotebook-report-{datetime.now():%Y%m%d-%H%M%S}.txt"
    for folder in (Path(), Path(tempfile.gettempdir())):
        path = folder / name
        try:
            with path.open("x", encoding="utf-8") as file:
                file.write(report(error, command))
        except OSError:
            continue
        return (
            "quotebook: this is a fault of the program, not of yours. What was said to be done before is done. "
            f"{path} says where it happened, and nothing about your clients or prices: please send it in."
        )
    unwritten = "quotebook: this is a fault of the program, not of yours, and no report could be written:"
    return f"{unwritten}\n{report(error, command)}"


def report(error: Exception, command: str) -> str:
    """The report on a fault: versions, the command's name, the kind of fault, and the places that led to it."""
    lines = [
        f"quotebook {quotebook.__version__}, command {command}",
        f"Python {platform.python_version()}, {platform.system()}",
    ]
    lines += [f"{package} {version(package)}" for package in PACKAGES]
    each: BaseException | None = error
    while each is not None:
        lines.append(f"{type(each).__module__}.{type(each).__qualname__}")
        for frame in traceback.extract_tb(each.__traceback__):
            lines.append(f"  {_place(Path(frame.filename))}, line {frame.lineno}, in {frame.name}")
        each = each.__cause__ or each.__context__
    return "\n".join(lines) + "\n"


def _place(path: Path) -> str:
    """A module's file by its path inside this program or a package; another file's path may be private."""
    roots = [
        Path(quotebook.__file__).parents[1],
        *map(Path, (sysconfig.get_path("purelib"), sysconfig.get_path("stdlib"))),
    ]
    return next((path.relative_to(root).as_posix() for root in roots if path.is_relative_to(root)), "elsewhere")
