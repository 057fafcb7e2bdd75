"""Checks of sheets as wholes: their labels and terms, what was added, their names, and what else a file carries."""

from collections.abc import Iterator

from quotebook.checking.findings import Finding
from quotebook.checking.kinds import Kind
from quotebook.checking.moved import NOT_MOVED
from quotebook.checking.returned import NOTHING, Returned, as_text
from quotebook.checking.worked_out import WorkedOut
from quotebook.contract.stamp import SHEET, before_the_stamp, stamp_sheet
from quotebook.contract.wording import quoted, shown
from quotebook.evaluation.agreement import same_lines
from quotebook.spreadsheets.cells import Cell, CellAddress, CellRange, Fault, Sheet
from quotebook.spreadsheets.formula_text import names_in

MOST_ADDED = 50
"""Cells added to one sheet that are named one by one."""


def rest_as_issued(sheet: WorkedOut) -> Iterator[Finding]:
    """Labels, terms and headings: every cell without a name, wherever rows and columns have moved it."""
    returned = sheet.returned
    for issued, now in returned.sheets_now.items():
        if returned.moved[issued] is not NOT_MOVED:
            yield from _unnamed_cells(sheet, issued, now)
        yield from _added_cells(now, list(_cells_added(returned, issued, now)))


def _unnamed_cells(sheet: WorkedOut, issued: str, now: str) -> Iterator[Finding]:
    """Each cell without a name of an issued sheet, which is called `now`, that is not as issued."""
    returned, moved = sheet.returned, sheet.returned.moved[issued]
    for place, said in returned.unnamed_cells[issued].items():
        at = moved.place(*place)
        there = returned.sheets[now].cells.get(at, NOTHING) if at else NOTHING
        if not _says(returned, now, there, said) and not sheet.comparison.deleted.has(issued, *place):
            text, cell = there.content, CellAddress(now, *(at or place)).cell
            message = f"{now} {cell}: {quoted(said)} when issued, now {quoted(text)}. It is not for changing."
            yield Finding(Kind.TEXT_CHANGED, message, "", now, cell, shown("", said), shown("", text))


def _added_cells(sheet: str, added: list[tuple[tuple[int, int], object]]) -> Iterator[Finding]:
    """Each cell that holds what no issued cell held, by its place; of very many, the first."""
    for count, (place, text) in enumerate(added[:MOST_ADDED], 1):
        more = f", and {len(added) - count} more below it" if count == MOST_ADDED < len(added) else ""
        cell = CellAddress(sheet, *place).cell
        message = f"{sheet} {cell}: {quoted(text)} was added outside the cells for changing{more}."
        yield Finding(Kind.CELL_ADDED, message, "", sheet, cell, None, shown("", text))


def _cells_added(returned: Returned, sheet: str, now: str) -> Iterator[tuple[tuple[int, int], object]]:
    """The cells added to an issued sheet, which is called `now`: row and column, and what is there."""
    moved = returned.moved[sheet]
    ranges: dict[int, list[CellRange]] = {}
    known = {moved.place(*place) for place in returned.unnamed_cells[sheet]}
    for area in returned.areas_of_names(sheet):
        known.add((area.top, area.left))
        if area[1:3] != area[3:]:
            for column in range(area.left, area.right + 1):
                ranges.setdefault(column, []).append(area)
    cells = returned.sheets[now].cells
    for row, column in sorted(cells.keys() - known):
        text = cells[row, column].content
        if not _is_blank(text) and not any(area.top <= row <= area.bottom for area in ranges.get(column, ())):
            yield (row, column), text


def _is_blank(content: object) -> bool:
    return content is None or (isinstance(content, str) and not content.strip())


def _says(returned: Returned, sheet: str, cell: Cell, said: object) -> bool:
    """Whether a cell without a name still says what it did. No formula reads it: digits may be a text or a number."""
    formula = said[1:] if isinstance(said, str) and said.startswith("=") and names_in(said) else None
    if formula is not None and cell.formula is not None:
        return returned.same_formula(cell.formula, formula, sheet)
    if formula is not None or cell.formula is not None:
        return False
    return not isinstance(cell.value, (bool, Fault)) and same_lines(as_text(said), as_text(cell.value))


def sheets_as_issued(sheet: WorkedOut) -> Iterator[Finding]:
    """Sheets keep their names and stay in view; what else was added is said."""
    returned, stamp = sheet.returned, stamp_sheet(sheet.returned.workbook)
    ours = {stamp.name if stamp else SHEET}
    if stamp:
        yield from _added_cells(stamp.name, [(place, cell.content) for place, cell in before_the_stamp(stamp)])
    doubles = _doubles(returned)
    for issued in sheet.content.fixed:
        now = returned.sheet_now(issued)
        if now is None:
            message = f"The sheet {issued} was deleted. Ask the client for the whole file."
            yield Finding(Kind.SHEET_MISSING, message, sheet=issued)
            continue
        ours.add(now)
        if now != issued:
            yield Finding(Kind.SHEET_RENAMED, f"The sheet {issued} is now called {now}.", "", now, "", issued, now)
        if double := doubles.get(now):
            message = f"{now} was hidden, and the sheet {double} bears its words: that is what people read."
            yield Finding(Kind.SHEET_DOUBLED, message, "", double)
        elif returned.sheets[now].visibility != "visible":
            yield Finding(Kind.SHEET_HIDDEN, f"The sheet {now} was hidden.", "", now)
    for other in returned.workbook.sheets:
        if other.name not in ours and other.name not in doubles.values():
            message = f"The sheet {other.name} was added; nothing in the quote reads it."
            yield Finding(Kind.SHEET_ADDED, message, "", other.name)


def _doubles(returned: Returned) -> dict[str, str]:
    """The sheets of ours that were hidden, each with one in view that bears half of its texts."""
    ours = {*returned.sheets_now.values()}
    others = [other for other in returned.workbook.sheets if other.name not in ours and other.visibility == "visible"]
    hidden = [returned.sheets[now] for now in ours if returned.sheets[now].visibility != "visible"]
    return {one.name: other.name for one in hidden for other in others if _bears_words_of(other, one)}


def _bears_words_of(one: Sheet, other: Sheet) -> bool:
    """Whether half of the texts of another sheet are on this one too."""
    texts = {cell.value for cell in other.cells.values() if isinstance(cell.value, str)} - {""}
    return bool(texts) and 2 * len(texts & {cell.value for cell in one.cells.values()}) >= len(texts)


def nothing_foreign(sheet: WorkedOut) -> Iterator[Finding]:
    """Macros, links to other files, embedded objects, a setting that makes formats count: said, never opened or run."""
    for kind, part in sheet.returned.workbook.observations:
        yield Finding(
            Kind.FOREIGN_PART, f"The file now carries a {kind} ({part}). Nothing in it was opened or run.", found=part
        )
