"""Reads the sheets of an .xlsx: cells with their values and formulas (ECMA-376 part 1, 18.3.1)."""

import re
from collections.abc import Iterator
from decimal import Decimal
from typing import TYPE_CHECKING

from quotebook.spreadsheets.appearance import SheetAppearance
from quotebook.spreadsheets.cells import (
    AS_WRITTEN,
    Cell,
    CellAddress,
    Fault,
    StoredValue,
    area_of,
    existing_position,
    number_or_fault,
    parse_count,
    position_of,
    serial_of_iso_date,
)
from quotebook.spreadsheets.formula_text import is_oddly_spelled, moved_formula
from quotebook.spreadsheets.xlsx_appearance import hides_row, look_around, look_over
from quotebook.spreadsheets.xlsx_frame import frame_of
from quotebook.spreadsheets.xlsx_parts import TRUTHS, Parts, told_in
from quotebook.spreadsheets.xlsx_plain_cells import cells_in, split
from quotebook.spreadsheets.xlsx_shared_texts import SharedTexts
from quotebook.spreadsheets.xlsx_sheet_table import SHEET
from quotebook.spreadsheets.xlsx_styles import OddStyles

if TYPE_CHECKING:
    from collections.abc import Callable

    from lxml.etree import _Element

REFERENCE = re.compile(AS_WRITTEN)


class SheetReader:
    """Reads the sheets of one workbook; holds what they share, and counts cells over all of them."""

    def __init__(self, parts: Parts, texts: SharedTexts, styles: OddStyles, date_1904: bool):
        self.parts, self.package, self.styles, main = parts, parts.package, styles, parts.main
        self.v, self.f, self.inline = (main + tag for tag in ("v", "f", "is"))
        self.count = self.shared_text = 0
        self.sheet = self.member = ""
        self.at = (0, 0)
        self.look = SheetAppearance()
        self.runs = texts.runs
        self.masters: dict[str | None, tuple[str, tuple[int, int], tuple[int, int, int, int]]] = {}
        """Shared formulas of the sheet being read, by their index: text, position, and first and last row and column
        of the cells that share it."""
        self.date_1904 = date_1904
        self.value_of: dict[str | None, Callable[[str], StoredValue]] = {
            None: number_or_fault,
            "n": number_or_fault,
            "s": texts.texts.__getitem__,
            "str": parts.unescaped,
            "b": TRUTHS.__getitem__,
            "e": lambda text: Fault(parts.unescaped(text)),
        }
        """What turns the text of a cell into its value, by the kind that the cell gives (ST_CellType). Nothing in it
        leads back to this reader: an end of all its parts would have to wait for a search for garbage."""

    def read(self, sheet: str, member: str) -> tuple[dict[tuple[int, int], Cell], SheetAppearance]:
        """The cells of a sheet that hold a value or a formula, by (row, column), and what the sheet looks like."""
        self.sheet, self.member, self.at, self.look = sheet, member, (0, 0), SheetAppearance()
        self.masters.clear()
        data = self.package.utf8(member)
        cells = self._plain(data)
        try:
            cells = dict(self._carefully(data)) if cells is None else cells
        except (ValueError, LookupError) as error:
            where = f"sheet {sheet[:60]!r} at or after row {self.at[0]}, column {self.at[1]}"
            raise self.package.damaged(where, error) from None
        self.count += len(cells)
        self.package.bound("cells", self.count)
        return cells, self.look

    def _carefully(self, data: bytes) -> Iterator[tuple[tuple[int, int], Cell]]:
        """The cells of a part that hold something, each by its row and column, element by element."""
        root = self.parts.held(self.member, data, "worksheet", SHEET, sheet=self.sheet)
        self._tell(told_in(root, self.parts.main))
        look_around(root, self.member, self.parts.unknowns, self.styles, self.look)
        look_over(self.parts, self.member, self.look)
        for at, element in self._positions(root):
            self.at = at
            if cell := self._cell(element, at):
                self._note_style(element, at)
                yield at, cell

    def _note_style(self, element: "_Element", at: tuple[int, int]) -> None:
        """Notes how a cell looks, by its style and the runs of its text."""
        style = element.get("s", "0")
        self.styles.note(style, at, self.look)
        shared = self.runs.get(element.findtext(self.v) or "") if element.get("t") == "s" else None
        for text in (shared, element.find(self.inline)):
            if text is not None:
                self.styles.note_runs(text, style, at, self.look)

    def _plain(self, data: bytes) -> dict[tuple[int, int], Cell] | None:
        """The cells of a part that are all plain, with nothing to be noted around them: what `_carefully`
        gives, sooner; None for any other part."""
        halves = split(data)
        frame = halves and frame_of(self.parts, self.member, self.sheet, halves[0], self.styles)
        if not halves or not frame:
            return None
        plain = cells_in(halves[1], frame.steps, self.value_of, self.runs)
        if plain is None:
            return None
        self._tell(frame.told)
        self.look = look = frame.appearance()
        look_over(self.parts, self.member, look)
        look.hidden_rows |= plain.hidden
        self.styles.note_all(plain.styles, plain.cells, look)
        for text, style, at in plain.in_runs:
            self.styles.note_runs(self.runs[text], style, at, look)
        return plain.cells

    def _tell(self, told: tuple[str, ...]) -> None:
        self.parts.links.told |= dict.fromkeys((what, self.member) for what in told)

    def _where(self, at: tuple[int, int]) -> tuple[str, str, str]:
        """The part, the sheet and the cell at a row and column."""
        return self.member, self.sheet, CellAddress(self.sheet, *at).cell

    def _note(self, what: str, at: tuple[int, int]) -> None:
        self.parts.unknowns.note(what, *self._where(at))

    def _note_row(self, line: "_Element", row: int) -> None:
        """Notes a row that is hidden, and one whose number Gnumeric does not read."""
        if line.get("r", str(row)) != str(row):
            self._note("a row whose number has zeros before it", (row, 1))
        if hides_row(line.get("hidden"), line.get("ht")):
            self.look.hidden_rows.add(row)

    def _positions(self, root: "_Element") -> "Iterator[tuple[tuple[int, int], _Element]]":
        """The (row, column) and element of each cell that is not blank.

        Raises ValueError where no sheet has the cell, and where a row or a cell is there twice.
        """
        main, row = self.parts.main, 0
        rows: set[int] = set()
        places: set[tuple[int, int]] = set()
        for line in root.iterfind(f"{main}sheetData/{main}row"):
            row, column = parse_count(line.get("r") or str(row + 1)), 0
            if row in rows:
                raise ValueError(f"row {row} twice")
            rows.add(row)
            self._note_row(line, row)
            for element in line.iterchildren(f"{main}c"):
                reference = element.get("r")
                if reference is None:
                    at = existing_position(row, column + 1)
                elif REFERENCE.fullmatch(reference):
                    at = position_of(reference)
                else:
                    raise ValueError(f"no cell: {reference[:20]!r}")
                if at[0] != row and len(element):
                    self._note(f"a cell in row {row} that says it is in another", at)
                if at in places:
                    raise ValueError("two cells in one place")
                places.add(at)
                column = at[1]
                if len(element):
                    yield at, element

    def _cell(self, element: "_Element", at: tuple[int, int]) -> Cell | None:
        """The cell in an element; None where it holds nothing. Raises ValueError and LookupError for a damaged one."""
        value: StoredValue = None
        formula: str | None = None
        kind = element.get("t")
        if element.get("vm") is not None:
            self._note("a value that stands for something else (vm)", at)
        for child in element:
            if child.tag == self.f:
                formula = self._formula(child, at)
            elif (child.tag == self.inline) != (kind == "inlineStr"):
                self._note(f"{str(child.tag).rpartition('}')[2][:20]} in a cell of the type {kind or 'n'}", at)
            elif child.tag == self.v:
                text = child.text
                if kind == "str":
                    value = self.parts.held_text(text or "", *self._where(at))
                elif text:
                    value = self._serial(text) if kind == "d" else self.value_of[kind](text)
            elif child.tag == self.inline:
                value = self.parts.text(child, *self._where(at))
        return None if value is None and formula is None else Cell(value, formula)

    def _serial(self, text: str) -> Decimal:
        """The serial number of an ISO date. Programs count the days before March 1900 in two ways, with and without a
        29 February that never was (ECMA-376 part 1, 18.17.4.1)."""
        serial = serial_of_iso_date(text, self.date_1904)
        if serial < 61 and not self.date_1904:
            self._note("a day before March 1900", self.at)
            return serial - 1
        return serial

    def _formula(self, element: "_Element", at: tuple[int, int]) -> str | None:
        """The text of a formula; a shared formula is translated to its own cell."""
        written = self.parts.unescapable(element.text or "", *self._where(at))
        text = written.removeprefix("=")
        if is_oddly_spelled(written):
            self._note("a formula in a spelling that programs read differently", at)
        match element.get("t", "normal"):
            case "normal":
                if not text.strip():
                    self._note("an empty formula", at)
                return text or None
            case "array":
                if area_of(element.get("ref", "")) != (*at, *at):
                    self._note("a formula that fills other cells (array)", at)
                return text or None
            case "shared":
                return self._shared(element.get("si"), element, text, at)
            case "dataTable":  # the cell's value comes from the table, whatever text stands here
                self._note("a table of results (dataTable)", at)
                return f"TABLE({element.get('r1', '')},{element.get('r2', '')})"
            case other:
                raise ValueError(f"a formula of the type {other[:20]!r}")

    def _shared(self, index: str | None, element: "_Element", text: str, at: tuple[int, int]) -> str:
        """A shared formula where it stands: of its first cell as it is written, of the others moved."""
        area = area_of(element.get("ref", ""))
        if index not in self.masters:
            if not text:
                raise LookupError(repr(index))
            if area is None or area[:2] != at:
                self._note("a shared formula that does not begin where it says", at)
            self.masters[index] = text, at, area or (*at, *at)
            return text
        text_there, (row, column), (top, left, bottom, right) = self.masters[index]
        if text or area or not (top <= at[0] <= bottom and left <= at[1] <= right):
            self._note("a shared formula that is not where it says, or has a second one", at)
        moved = moved_formula(text_there, at[0] - row, at[1] - column)
        self.shared_text += len(moved)
        self.package.bound("characters of shared formulas", self.shared_text)
        return moved
