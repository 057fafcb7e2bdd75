"""Checking what came back, beside the least that it could take and beside what a user would have instead."""

import shutil
import tempfile
import zipfile
from collections.abc import Iterable, Iterator
from functools import cache, partial
from pathlib import Path
from unittest.mock import patch

import openpyxl
import soffice
from click.testing import CliRunner
from lxml import etree

from quotebook.checking.batch import check_all
from quotebook.checking.incoming import Incoming
from quotebook.cli import main
from quotebook.desk import Desk
from quotebook.spreadsheets.grammar import Grammar
from quotebook.spreadsheets.package import Package
from quotebook.spreadsheets.reading import read_workbook

from .made import TODAY, Returns
from .measuring import Row, at_most, faster, in_turn


def check(desk: Desk, files: Iterable[Path], jobs: int | None = 1) -> None:
    for _ in check_all([Incoming(str(path)) for path in files], desk, TODAY, jobs):
        pass


def parse_all(files: Iterable[Path]) -> None:
    """The floor: every part of XML that the check opens, in every file, unpacked and parsed, and nothing looked at."""
    for path in files:
        with zipfile.ZipFile(path) as package:
            for name in parts_opened(path):
                etree.fromstring(package.read(name))


@cache
def parts_opened(path: Path) -> tuple[str, ...]:
    """The parts of XML in a file that are opened to check it."""
    opened: list[str] = []
    read = Package.read

    def noted(package: Package, member: str) -> bytes:
        opened.append(member)
        return read(package, member)

    with patch.object(Package, "read", noted):
        read_workbook(path)
    return tuple(dict.fromkeys(name for name in opened if name.endswith((".xml", ".rels", ".vml"))))


def as_command(desk: Path, files: Iterable[Path]) -> None:
    """All that the command does, at a desk in which no verdict is recorded yet."""
    arguments = ["check", "--desk", str(desk), "--jobs", "1", *map(str, files)]
    result = CliRunner().invoke(main, arguments)
    if result.exit_code not in (0, 1):
        raise RuntimeError(result.output)


def check_unheld(desk: Desk, files: Iterable[Path]) -> None:
    """A check that holds no part against the table of what may stand in it."""
    with patch.object(Grammar, "unknown_in", return_value=[]):
        check(desk, files)


def load_twice(files: Iterable[Path]) -> None:
    """As openpyxl must be asked for formulas and for values."""
    for path in files:
        openpyxl.load_workbook(path)
        openpyxl.load_workbook(path, data_only=True)


def recalculate(files: Iterable[Path]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        soffice.convert(files, folder)


CHECK_ALONE = "in: reading, comparing, working out, findings; out: recording, printing, the start of Python"


def rows(returns: Returns, rounds: int) -> Iterator[Row]:
    desk, files = returns.desk, returns.files
    works = {
        "ours": partial(check, desk, files), "all cores": partial(check, desk, files, None),
        "floor": partial(parse_all, files), "openpyxl": partial(load_twice, files),
        "unheld": partial(check_unheld, desk, files),
    }  # fmt: skip
    if soffice.PROGRAM:
        works["LibreOffice"] = partial(recalculate, files)
    with tempfile.TemporaryDirectory() as folder:
        copies = iter([shutil.copytree(desk.folder, Path(folder, f"{each}")) for each in range(rounds)])
        works["command"] = lambda: as_command(next(copies), files)
        cost = in_turn(works, rounds)
    what, floor = (
        f"check {len(files)} returned workbooks, one process",
        "unzip and lxml of every part it opens (the floor)",
    )
    yield at_most(what, floor, 3, cost["ours"], cost["floor"], CHECK_ALONE)
    yield at_most(
        "the same as a command, verdicts recorded", floor, 4, cost["command"], cost["floor"],
        "in: finding the files, the check, recording verdicts and files, printing; "
        "out: the start of Python",
    )  # fmt: skip
    beside = "it without holding parts against their tables"
    yield at_most("the check alone", beside, 1.1, cost["ours"], cost["unheld"], CHECK_ALONE)
    yield faster("the check alone", "openpyxl loading each twice", 8, cost["ours"], cost["openpyxl"], CHECK_ALONE)
    if soffice.PROGRAM:
        beside = "LibreOffice headless recalculating the batch"
        yield faster("the check alone", beside, 40, cost["ours"], cost["LibreOffice"], f"{CHECK_ALONE}; in: its start")
    yield faster("the check alone, all cores", "one process", 1.7, cost["all cores"], cost["ours"], "in: the processes")


def rows_of_saved(returns: Returns, rounds: int) -> Iterator[Row]:
    """The same with files that a spreadsheet program has saved: more XML, other formulas' spelling."""
    with tempfile.TemporaryDirectory() as folder:
        saved = soffice.convert(returns.files, folder)
        cost = in_turn({"ours": partial(check, returns.desk, saved), "floor": partial(parse_all, saved)}, rounds)
        what = f"check {len(saved)} of them as LibreOffice saves them"
        floor = "unzip and lxml of every part it opens (the floor)"
        yield at_most(what, floor, 3, cost["ours"], cost["floor"], CHECK_ALONE)
