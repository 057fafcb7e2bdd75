"""Makes `sample_sheets/` anew: a desk, quotes for the demo's four events and one with options, and what came back.

Run `python tests/make_sample_sheets.py`; it takes LibreOffice, in which they were edited, and the system's
`python3-uno`. The test of the samples says what the check finds in each. Quotes here stand for a hundred years, so that
the samples do not run out.
"""

import shutil
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from decimal import Decimal as D
from pathlib import Path
from zipfile import ZIP_DEFLATED

import hands
import soffice
from edits import Book
from hands import steps
from soffice import Job

from quotebook import desk as desks
from quotebook.demonstration.demo import EVENTS
from quotebook.engine.model import FloorLine
from quotebook.quoting.issuing import issue
from quotebook.spreadsheets.cells import CellAddress

FOLDER = Path(__file__).parent.parent / "sample_sheets"
ISSUED_ON = date(2026, 11, 2)
KEY = b"A SAMPLE KEY: SIGNS NOTHING REAL"
"""As long as a real one (32 bytes), and no secret."""

TENT = EVENTS[0]
OFFERED = replace(
    TENT, lines=(replace(TENT.lines[0], option="A"), FloorLine("WHITE-23", D(16), D(21), option="B")), picked="A"
)
"""The demo's first event with a choice of two floors."""

Places = dict[str, list]


def typed(**values) -> Callable[[Places], list[list]]:
    return lambda places: steps(places, values)


def altered(name: str, formula: str) -> Callable[[Places], list[list]]:
    return lambda places: steps(places, {name: f"={formula}"})


def beside(name: str, down: int, text: str) -> Callable[[Places], list[list]]:
    """Something written under a named cell."""

    def told(places: Places) -> list[list]:
        sheet, row, column = places[name]
        return [["type_in", sheet, row + down, column, text]]

    return told


def inserted(places: Places) -> list[list]:
    quote, terms = places["total"][0], places["caution_step"][0]
    return [["insert_rows", quote, 8, 2], ["insert_columns", quote, 2, 1], ["insert_rows", terms, 4, 1]]


IN_LIBREOFFICE = {
    "Q0001-accepted.xlsx": typed(accepted="yes", accepted_by="Avelie Marsh", questions="Can you come before noon?"),
    "Q0001-saved-as.ods": typed(),
    "Q0001-row-inserted.xlsx": inserted,
    "Q0002-wider.xlsx": typed(width_1=D(20), guests=D(180)),
    "Q0002-on-grass.xlsx": typed(surface="grass"),
    "Q0003-rate-cut.xlsx": typed(hourly_rate=D(12)),
    "Q0003-line-added.xlsx": beside("balance", 2, "Less 150 as agreed by phone"),
    "Q0003-days-in-words.xlsx": typed(days="one"),
    "Q0005-option-b.xlsx": typed(picked="B", accepted="yes", accepted_by="Avelie Marsh"),
    "Q0004-total-typed-over.xlsx": typed(total=D(900)),
    "Q0004-formula-altered.xlsx": altered("delivery", "base_charge/2"),
}
"""What was done to each in LibreOffice, by the name of the file that came back."""


def main(folder: Path = FOLDER) -> None:
    shutil.rmtree(folder / "desk", ignore_errors=True)
    for old in folder.glob("Q*.*"):
        old.unlink()
    issued = dict(_issued(folder / "desk"))
    jobs = []
    for file, told in IN_LIBREOFFICE.items():
        path, places = issued[file[:5]]
        jobs.append(Job(path, folder / file, told(places)))
    soffice.work(jobs)
    hands.by_openpyxl(issued["Q0002"][0], folder / "Q0002-no-figures.xlsx")
    path, places = issued["Q0004"]
    Book(path).edit().put(CellAddress(*places["length_1"]), D(20)).save(folder / "Q0004-stale.xlsx", ZIP_DEFLATED)


def _issued(folder: Path) -> Iterator[tuple[str, tuple[Path, Places]]]:
    """Each quote's number, with where it is and where its names are."""
    desk = desks.init(folder)
    desk.key_path.write_text(f"{KEY.hex()}\n")
    card = desk.card()
    card = replace(card, firm=replace(card.firm, valid_days=D(36_525)))
    for request, number in zip((*EVENTS, OFFERED), desk.numbers(), strict=False):
        path, content = issue(desk, card, request, number, ISSUED_ON)
        yield number, (path, content.places)
    for taken in desk.issued.glob(".Q*"):
        taken.unlink()


if __name__ == "__main__":
    main()
