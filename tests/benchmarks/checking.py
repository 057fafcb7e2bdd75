"""Checking what came back, beside the least that it could take and beside what a user would have instead."""

import tempfile
import zipfile
from collections.abc import Iterable, Iterator
from functools import partial
from pathlib import Path
from unittest.mock import patch

import openpyxl
import soffice
from lxml import etree

from quotebook.checking.batch import check_all
from quotebook.checking.incoming import Incoming
from quotebook.desk import Desk
from quotebook.spreadsheets.grammar import Grammar

from .made import TODAY, Returns
from .measuring import Row, at_most, faster, in_turn


def check(desk: Desk, files: Iterable[Path], jobs: int | None = 1) -> None:
    for _ in check_all([Incoming(path, str(path), path) for path in files], desk, TODAY, jobs):
        pass


def parse_all(files: Iterable[Path]) -> None:
    """The floor: every part of XML in every file, unpacked and parsed, and nothing looked at."""
    for path in files:
        with zipfile.ZipFile(path) as package:
            for name in package.namelist():
                if name.endswith((".xml", ".rels", ".vml")):
                    etree.fromstring(package.read(name))


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


def rows(returns: Returns, rounds: int) -> Iterator[Row]:
    desk, files = returns.desk, returns.files
    works = {
        "ours": partial(check, desk, files), "all cores": partial(check, desk, files, None),
        "floor": partial(parse_all, files), "openpyxl": partial(load_twice, files),
        "unheld": partial(check_unheld, desk, files),
    }  # fmt: skip
    if soffice.PROGRAM:
        works["LibreOffice"] = partial(recalculate, files)
    cost = in_turn(works, rounds)
    what = f"check {len(files)} returned workbooks, one process"
    yield at_most(what, "unzip and parse every XML part with lxml (the floor)", 3, cost["ours"], cost["floor"])
    yield at_most("the same", "it without holding parts against their tables", 1.1, cost["ours"], cost["unheld"])
    yield faster("the same", "openpyxl loading each twice", 8, cost["ours"], cost["openpyxl"])
    if soffice.PROGRAM:
        yield faster("the same", "LibreOffice headless recalculating the batch", 40, cost["ours"], cost["LibreOffice"])
    yield faster("the same, all cores", "one process", 1.7, cost["all cores"], cost["ours"])


def rows_of_saved(returns: Returns, rounds: int) -> Iterator[Row]:
    """The same with files that a spreadsheet program has saved: more XML, other formulas' spelling."""
    with tempfile.TemporaryDirectory() as folder:
        saved = soffice.convert(returns.files, folder)
        cost = in_turn({"ours": partial(check, returns.desk, saved), "floor": partial(parse_all, saved)}, rounds)
        what = f"check {len(saved)} of them as LibreOffice saves them"
        yield at_most(what, "unzip and parse every XML part with lxml (the floor)", 3, cost["ours"], cost["floor"])
