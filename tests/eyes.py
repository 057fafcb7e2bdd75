"""What spreadsheet programs show of a file, cell by cell: as it was loaded, and after everything was worked out."""

import json
import os
import signal
import subprocess
import tempfile
from pathlib import Path

import gnumeric
import soffice

from quotebook.errors import Unreadable
from quotebook.spreadsheets.cells import CellAddress, Fault
from quotebook.spreadsheets.reading import read_workbook

BATCH, SECONDS = 400, 20
"""Files that one process of LibreOffice is shown, and seconds that it may take over one of them."""

TRUST_WHAT_IS_THERE = soffice.ALWAYS_RECALCULATE.format(
    items="\n".join(
        soffice.ITEM.format(mode=mode).replace("<value>0<", "<value>1<")
        for mode in ("OOXMLRecalcMode", "ODFRecalcMode")
    )
)
"""A profile under which LibreOffice shows the values that a file carries, until it is told to work them out."""


def by_libreoffice(paths) -> list:
    """For each file the cells that LibreOffice shows, before and after; None where it did not open the file."""
    shown, left = [], [str(path) for path in paths]
    while left:
        batch = left[:BATCH]
        answers = _answers(batch)
        shown += [answer and [_cells(sheets) for sheets in answer] for answer in answers]
        shown += [None] if len(answers) < len(batch) else []  # the file over which it fell
        left = left[min(len(answers) + 1, len(batch)) :]
    return shown


def _answers(paths: list[str]) -> list:
    """What one process of LibreOffice shows of files, as far as it comes."""
    with tempfile.TemporaryDirectory(prefix="soffice-") as profile, tempfile.TemporaryFile("w+") as said:
        (Path(profile) / "user").mkdir()
        (Path(profile) / "user" / "registrymodifications.xcu").write_text(TRUST_WHAT_IS_THERE)
        command = [soffice.SPEAKS_UNO, str(Path(__file__).parent / "libreoffice_eyes.py"), soffice.PROGRAM, profile]
        process = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=said, stderr=subprocess.DEVNULL, text=True, start_new_session=True
        )
        try:
            process.communicate(json.dumps(paths), timeout=60 + SECONDS * len(paths) / 10)
        except subprocess.TimeoutExpired:
            os.killpg(process.pid, signal.SIGKILL)
            process.communicate()
        said.seek(0)
        return [json.loads(line) for line in said if line.endswith("\n")]


def _cells(sheets: dict) -> dict:
    return {
        (sheet, row, column): _plain(value)
        for sheet, rows in sheets.items()
        for row, values in enumerate(rows, 1)
        for column, value in enumerate(values, 1)
        if value not in ("", None)
    }


def by_gnumeric(path: Path) -> list | None:
    """The cells that Gnumeric shows of a file, before and after; None where it does not open the file."""
    with tempfile.TemporaryDirectory(prefix="gnumeric-") as folder:
        outputs = [Path(folder) / f"{number}.xlsx" for number in (0, 1)]
        for output, how in zip(outputs, ([], ["--recalc"]), strict=True):
            command = [gnumeric.PROGRAM, *how, "--export-type=Gnumeric_Excel:xlsx2", str(path), str(output)]
            subprocess.run(
                command, check=False, capture_output=True, timeout=60,
                env={**os.environ, "HOME": folder, "LC_ALL": "C.UTF-8"},
            )  # fmt: skip
        try:
            return [_read(output) for output in outputs]
        except Unreadable:
            return None


def _read(path: Path) -> dict:
    """The cells of a file that an honest program has just written."""
    return {
        (sheet.name, *at): _plain(cell.value)
        for sheet in read_workbook(path).sheets
        for at, cell in sheet.cells.items()
        if not isinstance(cell.value, Fault) and cell.value not in ("", None)
    }


def _plain(value):
    """A value as a person would compare it: numbers to 12 digits, texts without what white space does to them."""
    if isinstance(value, str):
        return " ".join(value.split())
    return f"{float(value):.12g}"


def address(row: int, column: int) -> str:
    """A cell by its column's letters and its row."""
    return CellAddress("", row, column).cell
