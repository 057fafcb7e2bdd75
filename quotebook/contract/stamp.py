"""The stamp: what a quote said when it was issued, signed, on a very hidden sheet of its workbook.

A column of text cells: a marker, the signature, then the content in pieces. The content is JSON,
compressed (by lzma, a fifth smaller than zlib, since it is a third of the file) and in base64, so
that no program can change a character of it unnoticed (spaces at the ends of cells, line ends) and
it stays far below the 32,767 characters that a cell may hold. The signature is HMAC-SHA256 under
the desk's key and is verified before anything is unpacked.
"""

import base64
import hmac
import json
import lzma
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, fields
from functools import lru_cache
from itertools import accumulate, takewhile
from typing import Any

from quotebook.contract.formulas import LINE
from quotebook.contract.offer_formulas import LINE as OFFER_LINE
from quotebook.contract.option_formulas import LINE as OPTION_LINE
from quotebook.contract.option_formulas import SUFFIXED, suffix
from quotebook.contract.values import CellValue, ColumnValue
from quotebook.contract.vocabulary import on_line
from quotebook.engine.model import LINES, OPTIONS
from quotebook.engine.money import number
from quotebook.spreadsheets.cells import Cell, Sheet, Workbook

MARKER = "quotebook stamp 1"
SHEET = "stamp"
"""Name of its sheet as issued; afterwards it is found by its marker."""
PIECE = 30_000
"""Characters of content in one cell."""
FILTERS = [{"id": lzma.FILTER_LZMA2, "preset": 6, "pb": 0, "dict_size": 1 << 18}]
"""How lzma packs: a tenth smaller than level 4, which is 3 % of a workbook, for ten milliseconds; `pb` suits text."""
MOST_LINES = 100
"""Floor lines that a quote of any version may have had."""
IN_COLUMNS = "in_columns"
"""Has the sheets in order, where cells are written in columns: all rows, all columns, all texts; and results and places
of formulas without their names, in the order of the formulas. That packs 4 kB smaller."""
LARGEST_CONTENT = 4_000_000
"""Bytes that a stamp may unpack to."""


@dataclass
class Content:
    """Everything a workbook held when it was issued, by defined name."""

    rules: str = ""
    """Version of the arithmetic (`engine.model.RULES`)."""
    unit: str = ""
    """Unit of length: `ft` or `m`."""
    inputs: dict[str, CellValue] = field(default_factory=dict)
    owner: dict[str, CellValue] = field(default_factory=dict)
    tables: dict[str, list[ColumnValue]] = field(default_factory=dict)
    """Columns of the rates' tables; a block is a list of rows."""
    least_rows: int = 1
    """Rows that every table has, blank ones among them: programs differ in what they take a range of one cell for."""
    formulas: dict[str, str] = field(default_factory=dict)
    results: dict[str, CellValue] = field(default_factory=dict)
    """The engine's value of each formula."""
    anchors: list[str] = field(default_factory=list)
    """Names of headings that formulas count rows and columns from."""
    places: dict[str, list[Any]] = field(default_factory=dict)
    """Sheet, row and column (from 1) of each name; of a table's column, its first cell."""
    formats: dict[str, list[Any]] = field(default_factory=dict)
    """For each sheet its cells whose number format has words in it or leaves a number out, such as amounts with their
    currency: row, column, and the format."""
    ruled: dict[str, dict[str, int]] | None = None
    """For each sheet with conditional formats the cells that have any (`B11:M11 B13`), 1 where one of them strikes out
    what is there, else 0. None for a quote of a version that did not say so."""
    fixed: dict[str, list[Any]] = field(default_factory=dict)
    """For each sheet its cells without a name: row, column, and the text, number or `=formula`."""


def stamp_sheet(workbook: Workbook) -> Sheet | None:
    """The sheet that the stamp is on, whatever it is called; None where there is none."""
    for sheet in workbook.sheets:
        if any(isinstance(cell.value, str) and cell.value == MARKER for cell in sheet.cells.values()):
            return sheet
    return None


def before_the_stamp(sheet: Sheet) -> Iterator[tuple[tuple[int, int], Cell]]:
    """The cells of the stamp's sheet above its marker: what stands below is signed."""
    return takewhile(lambda item: item[1].value != MARKER, sheet.cells.items())


def beside_the_stamp(sheet: Sheet) -> Iterator[tuple[int, int]]:
    """The cells of the stamp's sheet, from its marker's row on, that are not its texts, or are formulas: a signature
    says nothing of either."""
    (top, _), *_ = texts = _cells_of_the_stamp(sheet)
    for place, cell in sorted(sheet.cells.items()):
        if place[0] >= top and (place not in texts or cell.formula is not None or not isinstance(cell.value, str)):
            yield place


def stamp_texts(workbook: Workbook) -> list[str] | None:
    """The texts below the stamp's marker; None where there is no stamp."""
    sheet = stamp_sheet(workbook)
    if sheet is None:
        return None
    return [str(sheet.cells[place].value) for place in _cells_of_the_stamp(sheet)[1:]]


def stamp_among(texts: Sequence[str]) -> list[str] | None:
    """The texts below the stamp's marker, among all that a workbook shares in the order of writing; None without one.

    As it was issued, they stand there one after another. Whether these are all of them, `unseal` tells.
    """
    if MARKER not in texts:
        return None
    signature, *pieces = texts[texts.index(MARKER) + 1 :] or [""]
    whole = sum(1 for _ in takewhile(lambda piece: len(piece) == PIECE, pieces))
    return [signature, *pieces[: whole + 1]]


def _cells_of_the_stamp(sheet: Sheet) -> list[tuple[int, int]]:
    """The cells of a stamp's sheet from the stamp's marker downwards."""
    top, left = next(place for place, cell in sheet.cells.items() if cell.value == MARKER)
    return sorted((row, column) for row, column in sheet.cells if column == left and row >= top)


class StampBroken(Exception):
    """The signature does not hold, or there is nothing that it could hold for."""


def seal(content: Content, key: bytes) -> list[str]:
    """The texts of the stamp's cells, top to bottom."""
    formulas = _folded(content.formulas)
    names = _unfolded(formulas, _LINES)
    sheets = [*dict.fromkeys(sheet for sheet, _, _ in content.places.values())]
    folded = vars(content) | {
        IN_COLUMNS: sheets,
        "formulas": formulas,
        "results": [content.results[name] for name in names],
        "formula_places": _in_columns([_on_sheet(content.places[name], sheets) for name in names]),
        "places": {
            name: _on_sheet(place, sheets) for name, place in content.places.items() if name not in content.formulas
        },
        "fixed": {sheet: _in_columns(cells) for sheet, cells in content.fixed.items()},
    }
    text = json.dumps(folded, separators=(",", ":"), ensure_ascii=False, default=float)
    packed = base64.b64encode(lzma.compress(text.encode(), filters=FILTERS)).decode()
    pieces = [packed[start : start + PIECE] for start in range(0, len(packed), PIECE)]
    return [MARKER, _signature(packed, key), *pieces]


def unseal(texts: Iterable[str], key: bytes) -> Content:
    """The content of a stamp, from the texts of its cells after the marker.

    Raises StampBroken where the signature under `key` does not hold.
    """
    signature, *pieces = [*texts] or [""]
    packed = "".join(pieces)
    if not hmac.compare_digest(_signature(packed, key).encode(), signature.encode()):
        raise StampBroken
    return _unpack(packed)


def _unpack(packed: str) -> Content:
    """Values of cells were written with a point (`18.0`) and become Decimals; rows and columns stay whole.

    Another version may have signed more than is known here, or other floor lines.
    """
    text = lzma.LZMADecompressor().decompress(base64.b64decode(packed), LARGEST_CONTENT)
    said = json.loads(text, parse_float=_number)
    lines = [line for line in range(1, MOST_LINES + 1) if on_line("width_#", line) in said["inputs"]]
    said["formulas"] = _unfolded(said["formulas"], lines)
    if sheets := said.get(IN_COLUMNS):
        said["results"] = dict(zip(said["formulas"], said["results"], strict=True))
        said["fixed"] = {sheet: _in_rows(columns) for sheet, columns in said["fixed"].items()}
        places = said["places"] | dict(zip(said["formulas"], _in_rows(said["formula_places"]), strict=True))
        said["places"] = {name: [sheets[sheet], row, column] for name, (row, column, sheet) in places.items()}
    return Content(**{each.name: said[each.name] for each in fields(Content) if each.name in said})


def _on_sheet(place: Sequence[Any], sheets: Sequence[str]) -> list[int]:
    """A place as its row, its column and the number of its sheet."""
    sheet, row, column = place
    return [row, column, sheets.index(sheet)]


def _in_columns(cells: Sequence[Sequence[Any]]) -> list[list[Any]]:
    """Cells, each a row, a column and what it holds, as three lists; a row as how far it is below the one before."""
    rows = [row for row, _, _ in cells]
    below = [row - before for before, row in zip([0, *rows], rows, strict=False)]
    return [below, [column for _, column, _ in cells], [held for _, _, held in cells]]


def _in_rows(columns: Sequence[Sequence[Any]]) -> list[list[Any]]:
    """The cells again that `_in_columns` made three lists of."""
    below, across, held = columns
    return [list(cell) for cell in zip(accumulate(below), across, held, strict=True)]


def _signature(packed: str, key: bytes) -> str:
    return hmac.new(key, packed.encode(), "sha256").hexdigest()


def _folded(formulas: dict[str, str]) -> dict[str, str]:
    """The formulas with those that are the same on every floor line written once, with `#` for its number."""
    shared = {}
    for stem in (_STEMS[name] for name in formulas if name in _STEMS):
        template = formulas[on_line(stem, 1)].replace("_1", "_#")
        if all(formulas.get(on_line(stem, line)) == on_line(template, line) for line in _LINES):
            shared[stem] = template
    covered = {on_line(stem, line) for stem in shared for line in _LINES}
    return shared | {name: formula for name, formula in formulas.items() if name not in covered}


def _unfolded(formulas: dict[str, str], lines: Iterable[int]) -> dict[str, str]:
    unfolded: dict[str, str] = {}
    for name, formula in formulas.items():
        if "#" in name:
            unfolded |= {on_line(name, line): on_line(formula, line) for line in lines}
        else:
            unfolded[name] = formula
    return unfolded


_LINES = range(1, LINES + 1)

_OF_OPTIONS = (f"{stem}{suffix(option)}" for option in OPTIONS for stem in SUFFIXED)
_ON_EVERY_LINE = (*LINE, *OFFER_LINE, "notes_#", "floor_said_#", *OPTION_LINE, *_OF_OPTIONS)
_STEMS = {on_line(stem, 1): stem for stem in _ON_EVERY_LINE}
"""By the name on line 1 the names of formulas that every floor line has."""

_number = lru_cache(maxsize=4_096)(number)
"""Most numbers of a quote are in every quote of its desk."""
