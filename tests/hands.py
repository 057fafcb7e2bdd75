"""People at their spreadsheet programs: workbooks opened, edited, worked out and saved.

Conditional formats are taken out before IronCalc loads a file: no value rests on them, and it takes
seconds to work them all out.
"""

import json
import os
import re
import shutil
import signal
import subprocess
import tempfile
from collections.abc import Callable, Sequence
from decimal import Decimal
from pathlib import Path
from typing import NamedTuple

import oracle
import soffice

COLOURS = re.compile(r"<conditionalFormatting.*</conditionalFormatting>", re.DOTALL)


class IronCalc:
    """One workbook open in IronCalc; cells are called by their defined names."""

    def __init__(self, path: Path, places: dict[str, list]):
        import ironcalc

        plain = path.with_name(f"{path.stem}.plain.xlsx")
        plain.write_bytes(path.read_bytes())
        oracle.rewrite(plain, lambda xml: COLOURS.sub("", xml))
        self.model, self.places = ironcalc.load_from_xlsx(str(plain), "en", "UTC", "en"), places
        plain.unlink()

    def sheet(self, title: str) -> int:
        return [sheet["name"] for sheet in self.model.get_worksheets_properties()].index(title)

    def type(self, name: str, value: Decimal | str | None, down: int = 0) -> None:
        """What somebody types into a cell, or into one below it."""
        sheet, row, column = self.places[name]
        text = "" if value is None else f"{value:f}" if isinstance(value, Decimal) else value
        self.model.set_user_input(self.sheet(sheet), row + down, column, text)

    def save(self, target: Path) -> Path:
        self.model.evaluate()
        target.unlink(missing_ok=True)
        self.model.save_to_xlsx(str(target))
        return target


def by_ironcalc(path: Path, target: Path, places: dict[str, list], edit: Callable[[IronCalc], object]) -> Path:
    """A copy of a workbook as IronCalc saves it after an edit."""
    hand = IronCalc(path, places)
    edit(hand)
    return hand.save(target)


def by_openpyxl(path: Path, target: Path, places: dict[str, list] | None = None, typed: dict | None = None) -> Path:
    """A copy of a workbook as openpyxl saves it, with some named cells typed over. It works nothing out."""
    import openpyxl

    book = openpyxl.load_workbook(path)
    for name, value in (typed or {}).items():
        sheet, row, column = places[name]
        book[sheet].cell(row, column).value = float(value) if isinstance(value, Decimal) else value
    book.save(target)
    return target


SPEAKS_UNO = shutil.which("python3", path="/usr/bin")
"""The Python that a system installs `uno` for, which LibreOffice is spoken to with."""


class Job(NamedTuple):
    """A workbook, where LibreOffice should save it (.xlsx or .ods), and the steps of `libreoffice_hand.py` before."""

    path: Path
    target: Path
    steps: Sequence[list] = ()


def can_edit_in_libreoffice() -> bool:
    asked = [SPEAKS_UNO, "-c", "import uno"] if soffice.PROGRAM and SPEAKS_UNO else ["false"]
    return subprocess.run(asked, capture_output=True, check=False).returncode == 0


def by_libreoffice(jobs: list[Job]) -> None:
    """Edits and saves workbooks in one process of LibreOffice. Raises RuntimeError where one is missing afterwards."""
    told = json.dumps([job._asdict() for job in jobs], default=str)
    with tempfile.TemporaryDirectory(prefix="soffice-") as profile:
        soffice._write_profile(Path(profile))
        command = [SPEAKS_UNO, str(Path(__file__).parent / "libreoffice_hand.py"), soffice.PROGRAM, profile]
        said = _told(command, told, 60 + 5 * len(jobs))
    missing = [job.target.name for job in jobs if not job.target.exists()]
    if missing:
        raise RuntimeError(f"LibreOffice did not write {', '.join(missing)}: {said}")


def _told(command: list[str], told: str, seconds: int) -> str:
    """What a command said to its input. It has children of its own, so all of them end together."""
    process = subprocess.Popen(
        command,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        start_new_session=True,
    )
    try:
        return process.communicate(told, timeout=seconds)[0]
    except subprocess.TimeoutExpired:
        os.killpg(process.pid, signal.SIGKILL)
        process.communicate()
        raise TimeoutError(f"LibreOffice took more than {seconds} s") from None


def steps(places: dict[str, list], typed: dict) -> list[list]:
    """What is typed over named cells, as steps."""
    return [["type_in", *places[name], float(v) if isinstance(v, Decimal) else v] for name, v in typed.items()]
