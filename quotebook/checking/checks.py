"""The checks: plain functions from a returned sheet, compared and worked out, to findings.

`CHECKS` is the table of contents.
"""

from collections.abc import Iterator

from quotebook.checking.edits import NameEdit
from quotebook.checking.findings import Finding, finding_at
from quotebook.checking.kinds import Kind
from quotebook.checking.moved import NOT_MOVED
from quotebook.checking.returned import NOTHING, Returned, ReturnedCell, same_formula
from quotebook.checking.worked_out import MISSING, WorkedOut
from quotebook.contract.stamp import SHEET, before_the_stamp, beside_the_stamp, stamp_sheet
from quotebook.contract.wording import quoted, shown
from quotebook.spreadsheets.cells import Cell, CellAddress, CellRange, Fault

MOST_ADDED = 50
"""Cells added to one sheet that are named one by one."""


def names_present(sheet: WorkedOut) -> Iterator[Finding]:
    """Every name that formulas speak in still leads to a cell."""
    returned = sheet.returned
    for name in returned.missing:
        title, row, column = sheet.content.places[name]
        now = returned.sheet_now(title)
        if now is not None:
            message = f"{name} no longer leads to a cell: its name was deleted, or the row or column that held it."
            row, column = returned.moved[title].place(row, column) or (row, column)
            effect = sheet.effect_of(NameEdit(name))
            yield Finding(Kind.NAME_MISSING, message, name, now, CellAddress(now, row, column).cell, effect=effect)


def names_in_place(sheet: WorkedOut) -> Iterator[Finding]:
    """No name has been pointed at other cells."""
    for name, (now, due) in sheet.comparison.displaced.items():
        effect = sheet.effect_of(NameEdit(name))
        belongs, leads = _written(due, now.sheet), _written(now, due.sheet)
        message = f"{name} has been pointed at {leads}; it belongs to {belongs}."
        place = CellAddress(now.sheet, now.top, now.left)
        yield Finding(Kind.NAME_REDIRECTED, message, name, place.sheet, place.cell, belongs, leads, effect)


def _written(area: CellRange, here: str) -> str:
    """An area as people write it, with its sheet where that is another one."""
    first, last = (
        CellAddress(area.sheet, area.top, area.left).cell,
        CellAddress(area.sheet, area.bottom, area.right).cell,
    )
    cells = first if first == last else f"{first}:{last}"
    return cells if area.sheet == here else f"{area.sheet}!{cells}"


def find_doubled_names(sheet: WorkedOut) -> Iterator[Finding]:
    """No name means something else on one of the quote's own sheets."""
    for name, titles in sheet.comparison.doubled.items():
        for title in titles:
            where = " on this sheet alone" if title else ""
            message = f"{name} has a second meaning{where}, which formulas would use. Remove it."
            yield Finding(Kind.NAME_DOUBLED, message, name, title, effect=sheet.effect_of(NameEdit(name)))


def entries_usable(sheet: WorkedOut) -> Iterator[Finding]:
    """Entries that the client may change: which did change, and which cannot be used."""
    comparison = sheet.comparison
    changed = {change.name: change for change in comparison.changed_entries}
    unusable = {name for name in comparison.problems if name in changed or name not in comparison.issued_problems}
    for name, found in comparison.returned.cells.items():
        if name not in changed.keys() | unusable or name in comparison.displaced:
            continue
        issued = comparison.content.inputs[name]
        effect = sheet.effect_of(changed[name].edit) if name in changed else None
        was, now = _said(name, issued), _said(name, found.value)
        if name in unusable or isinstance(found.value, (Fault, bool)):
            problem = comparison.problems.get(name)
            allowed = problem.allowed if problem else "neither TRUE nor FALSE nor an error"
            message = f"{name} is {now}, which cannot be used: it must be {allowed}."
            yield finding_at(found, Kind.INPUT_INVALID, message, name, issued, effect)
        else:
            message = f"{name} was {was} and is now {now}{_worked_out(found)}."
            yield finding_at(found, Kind.INPUT_CHANGED, message, name, issued, effect)


def rates_as_issued(sheet: WorkedOut) -> Iterator[Finding]:
    """The owner's own figures, single and in tables."""
    for edit, name, found, issued in sheet.comparison.changed_rates:
        was, now = _said(name, issued), _said(name, found.value)
        message = f"{name} is yours to set: it was issued as {was} and is now {now}{_worked_out(found)}."
        yield finding_at(found, Kind.RATE_CHANGED, message, name, issued, sheet.effect_of(edit))


def formulas_as_issued(sheet: WorkedOut) -> Iterator[Finding]:
    """Every formula is there and says the same."""
    comparison = sheet.comparison
    for name, kind in comparison.edited_formulas.items():
        found, issued = comparison.returned.cells[name], f"={comparison.content.formulas[name]}"
        if kind == Kind.FORMULA_REPLACED:
            now = shown(name, found.value)
            message = f"{name} is no longer worked out: its formula was replaced by {now or 'nothing'}."
        else:
            now, message = f"={found.formula}", f"The formula of {name} has been altered."
        effect = sheet.effect_of(comparison.formula_edit(name))
        yield Finding(kind, message, name, found.place.sheet, found.place.cell, issued, now, effect)


def rest_as_issued(sheet: WorkedOut) -> Iterator[Finding]:
    """Labels, terms and headings: every cell without a name, wherever rows and columns have moved it."""
    returned = sheet.returned
    for issued, now in returned.sheets_now.items():
        if returned.moved[issued] is not NOT_MOVED:
            yield from _unnamed_cells(returned, issued, now)
        yield from _added_cells(now, list(_cells_added(returned, issued, now)))


def _unnamed_cells(returned: Returned, sheet: str, now: str) -> Iterator[Finding]:
    """Each cell without a name of an issued sheet, which is called `now`, that is not as issued."""
    moved = returned.moved[sheet]
    for place, said in returned.unnamed_cells[sheet].items():
        at = moved.place(*place)
        there = returned.sheets[now].cells.get(at, NOTHING) if at else NOTHING
        if not _says(there, said):
            text, cell = there.content, CellAddress(now, *(at or place)).cell
            message = f"This cell is not for changing: it was {quoted(said)} and is now {quoted(text)}."
            yield Finding(Kind.TEXT_CHANGED, message, "", now, cell, shown("", said), shown("", text))


def _added_cells(sheet: str, added: list[tuple[tuple[int, int], object]]) -> Iterator[Finding]:
    """Each cell that holds what no issued cell held, by its place; of very many, the first."""
    for count, (place, text) in enumerate(added[:MOST_ADDED], 1):
        more = f", and {len(added) - count} more below it" if count == MOST_ADDED < len(added) else ""
        message = f"{quoted(text)} has been added outside the cells for changing{more}."
        yield Finding(Kind.CELL_ADDED, message, "", sheet, CellAddress(sheet, *place).cell, None, shown("", text))


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
        if text not in (None, "") and not any(area.top <= row <= area.bottom for area in ranges.get(column, ())):
            yield (row, column), text


def _says(cell: Cell, said: object) -> bool:
    """Whether a cell still says what it did, spaces and the spelling of a formula aside."""
    now = cell.content
    if now == said:
        return True
    if not (isinstance(now, str) and isinstance(said, str)):
        return False
    return now.split() == said.split() or (cell.formula is not None and same_formula(now, said))


def sheets_as_issued(sheet: WorkedOut) -> Iterator[Finding]:
    """Sheets keep their names and stay in view; what else was added is said."""
    returned, stamp = sheet.returned, stamp_sheet(sheet.returned.workbook)
    ours = {stamp.name if stamp else SHEET}
    if stamp:
        yield from _added_cells(stamp.name, [(place, cell.content) for place, cell in before_the_stamp(stamp)])
    for issued in sheet.content.fixed:
        now = returned.sheet_now(issued)
        if now is None:
            message = f"The sheet {issued} has been deleted. Ask the client for the whole file."
            yield Finding(Kind.SHEET_MISSING, message, sheet=issued)
            continue
        ours.add(now)
        if now != issued:
            yield Finding(Kind.SHEET_RENAMED, f"The sheet {issued} is now called {now}.", "", now, "", issued, now)
        if returned.sheets[now].visibility != "visible":
            yield Finding(Kind.SHEET_HIDDEN, f"The sheet {now} has been hidden.", "", now)
    for other in returned.workbook.sheets:
        if other.name not in ours:
            message = f"The sheet {other.name} has been added; nothing in the quote reads it."
            yield Finding(Kind.SHEET_ADDED, message, "", other.name)


def figures_worked_out(sheet: WorkedOut) -> Iterator[Finding]:
    """Some program has worked the figures out since the last change."""
    total, why = sheet.returned.cells.get("total"), _why_not_worked_out(sheet)
    if why:
        message = (
            f"{why}: no program has worked them out since. "
            "Open the file in a spreadsheet program, let it calculate and save it to see its own figures."
        )
        title, cell = (total.place.sheet, total.place.cell) if total else ("", "")
        yield Finding(Kind.NOT_RECALCULATED, message, "total", title, cell, effect=sheet.lag)


def _why_not_worked_out(sheet: WorkedOut) -> str:
    if sheet.never_calculated == MISSING:
        return "There are no figures in the file"
    if sheet.never_calculated:
        return "The figures in the file are 0"
    if sheet.unfilled:
        return f"Figures are missing from the file: {_some(sheet.unfilled)}"
    edits = sheet.comparison.edited_names.items()
    names = [name for edit, name in edits if edit in sheet.stale_by and not isinstance(edit, NameEdit)]
    return f"The figures are those from before {_some(list(dict.fromkeys(names)))} changed" if names else ""


def arithmetic_holds(sheet: WorkedOut) -> Iterator[Finding]:
    """The figures that the file shows are those that its own entries, rates and formulas make."""
    for name, found, due, effect in sheet.wrong:
        own = sheet.returned.cells.get(name)
        what = f"{name} does not add up" if own and found.place == own.place else f"This cell does not show {name}"
        now, right = (quoted(value) if isinstance(value, str) else _said(name, value) for value in (found.value, due))
        message = f"{what}: the file has {now} there, its own entries make {right}."
        yield finding_at(found, Kind.ARITHMETIC_DIFFERS, message, name, due, effect)


def nothing_foreign(sheet: WorkedOut) -> Iterator[Finding]:
    """Macros, links to other files, embedded objects, a setting that makes formats count: said, never opened or run."""
    for kind, part in sheet.returned.workbook.observations:
        yield Finding(
            Kind.FOREIGN_PART, f"The file now carries a {kind} ({part}). Nothing in it was opened or run.", found=part
        )


def nothing_unknown(sheet: WorkedOut) -> Iterator[Finding]:
    """Nothing in the file that the reader steps over and a program may read."""
    for what, part, title, cell, times in sheet.returned.workbook.unknown:
        often = f", {times} times" if times > 1 else ""
        message = (
            f"The file holds something that no quote needs and that programs may read differently: {what} (in {part}"
            f"{often}). Open it in a spreadsheet program, save it as .xlsx under another name, and check that."
        )
        yield Finding(Kind.UNKNOWN_CONTENT, message, "", title, cell, None, what)


def stamp_in_its_place(sheet: WorkedOut) -> Iterator[Finding]:
    """The stamp's sheet holds the stamp alone, out of sight under its own name, as most programs leave it."""
    stamp = stamp_sheet(sheet.returned.workbook)
    if stamp is None:
        return
    for place in beside_the_stamp(stamp):
        message = "The sheet with the stamp holds something beside it. Ask the client for the file as they saved it."
        cell = CellAddress(stamp.name, *place).cell
        yield Finding(Kind.UNKNOWN_CONTENT, message, "", stamp.name, cell, None, shown("", stamp.cells[place].content))
    if stamp.visibility == "visible" or stamp.name.lower() != SHEET:
        message = "The sheet with the stamp was brought into view or renamed. The stamp itself holds."
        yield Finding(Kind.STAMP_SHOWN, message, "", stamp.name)


CHECKS = (
    names_present,
    names_in_place,
    find_doubled_names,
    entries_usable,
    rates_as_issued,
    formulas_as_issued,
    rest_as_issued,
    sheets_as_issued,
    figures_worked_out,
    arithmetic_holds,
    nothing_foreign,
    nothing_unknown,
    stamp_in_its_place,
)


def _some(names: list[str]) -> str:
    return ", ".join(names) if len(names) <= 3 else f"{', '.join(names[:3])} and {len(names) - 3} others"


def _said(name: str, value: object) -> str:
    return shown(name, value) or "blank"


def _worked_out(found: ReturnedCell) -> str:
    return f", worked out by ={found.formula}" if found.formula is not None else ""
