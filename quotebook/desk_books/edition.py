"""What an edition of the desk book held when it was written, signed, on a hidden sheet of the book itself.

By it everything that the owner wrote into the book is told from what stood there already, in whatever program it was
edited and however its rows were sorted: a value that the edition did not have on that sheet is the owner's.
"""

import base64
import hmac
import json
import re
import zlib
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from quotebook.drawing.owner_workbook import OwnerWorkbook
from quotebook.errors import Unreadable
from quotebook.spreadsheets.cells import Cell, Fault, Workbook

SHEET, MARKER = "edition", "quotebook desk book 1"
NUMBER_HEADING = "Quote"
"""The heading of the column that says which quote a row is about."""
PIECE = 30_000
"""Characters in one cell."""
LARGEST = 100_000_000
"""Bytes that an edition may unpack to."""

Shown = Mapping[str, Iterable[object]]
"""What is in the cells of each sheet, in any order."""


@dataclass(frozen=True)
class Edition:
    """One edition of the book."""

    written_at: str
    """The moment (ISO 8601, UTC)."""
    bases: Mapping[str, str]
    """For each quote what a decision in its row rests on: the revision and the answer that the row shows."""
    shown: Mapping[str, Counter[str]]
    """How often each value stood on each sheet."""


def write_edition(
    book: OwnerWorkbook, written_at: str, bases: Mapping[str, str], key: bytes
) -> dict[str, Counter[str]]:
    """Put the sheet of an edition into the book, after everything else is written; returns what it shows."""
    shown = {
        sheet: [*placed({(row, column): value_key(value) for row, column, value in cells}).values()]
        for sheet, cells in book.content.fixed.items()
    }
    text = json.dumps({"at": written_at, "bases": bases, "shown": shown}, default=float, ensure_ascii=False)
    packed = base64.b64encode(zlib.compress(text.encode(), 6)).decode()
    sheet = book.book.add_worksheet(SHEET)
    sheet.very_hidden()
    pieces = [packed[start : start + PIECE] for start in range(0, len(packed), PIECE)]
    for row, piece in enumerate((MARKER, _signature(packed, key), *pieces)):
        sheet.write_string(row, 0, piece)
    return {name: Counter(values) for name, values in shown.items()}


def read_edition(workbook: Workbook, key: bytes) -> Edition:
    """The edition that a book says it is. Raises Unreadable where it says none, or where that was altered."""
    for sheet in workbook.sheets:
        texts = [str(cell.value) for cell in sheet.cells.values()]
        if MARKER in texts:
            signature, *pieces = texts[texts.index(MARKER) + 1 :] or [""]
            packed = "".join(pieces)
            if not hmac.compare_digest(_signature(packed, key).encode(), signature.encode()):
                break
            return _unpacked(packed)
    raise Unreadable(
        f"{workbook.path.name}: its hidden sheet is missing or was altered, so nothing in it was taken. Move it away; "
        "the next run writes a new one."
    )


def _unpacked(packed: str) -> Edition:
    values = json.loads(zlib.decompressobj().decompress(base64.b64decode(packed), LARGEST))
    shown = {sheet: Counter(cells) for sheet, cells in values["shown"].items()}
    return Edition(values["at"], values["bases"], shown)


def _signature(packed: str, key: bytes) -> str:
    return hmac.new(key, b"desk book " + packed.encode(), "sha256").hexdigest()


def value_key(value: object) -> str:
    """A value in one form, whichever program stored it: blanks at its ends, noise of numbers, the look of a formula."""
    if isinstance(value, str):
        text = " ".join(value.split())
        return re.sub(r"[\s$]", "", text).upper() if text.startswith("=") else text
    if isinstance(value, bool):
        return str(value).upper()
    return f"{float(str(value)):.15g}" if value is not None else ""  # the digits that spreadsheets keep


def cell_key(cell: Cell) -> str:
    """What somebody entered into a cell, in the form of `value_key`."""
    content = cell.content
    return content.text if isinstance(content, Fault) else value_key(content)


def written_by_owner(
    sheet: str, cells: Mapping[tuple[int, int], Cell], edition: Edition
) -> Iterator[tuple[tuple[int, int], Cell]]:
    """The cells of a sheet that the edition did not have there, in their order."""
    left = Counter(edition.shown.get(sheet, {}))
    keys = {place: key for place, cell in cells.items() if (key := cell_key(cell))}
    for place, key in placed(keys).items():
        if left[key]:
            left[key] -= 1
        else:
            yield place, cells[place]


def placed(keys: Mapping[tuple[int, int], str]) -> dict[tuple[int, int], str]:
    """Values with the quote and the heading that they stand under, where a sheet has a row for each quote.

    So a value is known by what it is about, however rows are sorted and columns moved.
    """
    head = next((row for (row, _), key in keys.items() if key == NUMBER_HEADING), None)
    headings = {column: key for (row, column), key in keys.items() if row == head}
    if head is None or list(headings.values()).count(NUMBER_HEADING) > 1:
        return dict(keys)
    numbered = next(column for column, key in headings.items() if key == NUMBER_HEADING)
    numbers = {row: key for (row, column), key in keys.items() if column == numbered and row > head}
    return {
        (row, column): f"{numbers[row]} {headings[column]}: {key}" if row in numbers and column in headings else key
        for (row, column), key in keys.items()
    }
