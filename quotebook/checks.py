"""The checks: plain functions from a comparison to findings. `CHECKS` is the table of contents."""

from collections.abc import Iterator
from dataclasses import fields
from decimal import Decimal
from itertools import chain

from .comparison import Comparison
from .engine.model import same_text
from .engine.money import six
from .findings import Finding, finding_at, quoted, shown
from .sheets.cells import Cell
from .sheets.returned import Found, Place
from .sheets.vocabulary import FIGURES, OWNER, TABLES


def names_present(comparison: Comparison) -> Iterator[Finding]:
    """Every name that formulas speak in still leads to a cell."""
    content, returned = comparison.content, comparison.returned
    gone = {sheet for sheet in content.fixed if returned.sheet_now(sheet) is None}
    for sheet in gone:
        yield Finding("sheet-missing", f"The sheet {sheet} has been deleted. Ask the client for the whole file.", sheet=sheet)
    for name in returned.missing:
        place = Place(*content.places[name])
        if place.sheet not in gone:
            message = f"{name} no longer leads to a cell: its name was deleted, or the row or column that held it."
            yield Finding("name-missing", message, name, place.sheet, place.cell)


def names_in_place(comparison: Comparison) -> Iterator[Finding]:
    """No name has been pointed at another cell, and none is overruled on one of our sheets."""
    returned, content = comparison.returned, comparison.content
    for name, expected in _displaced(comparison).items():
        place = returned.cells[name].place
        message = f"{name} has been pointed at {place.cell}; it belongs to {expected.cell}."
        yield Finding("name-redirected", message, name, place.sheet, place.cell, expected.cell, place.cell)
    ours = {returned.sheet_now(sheet) for sheet in content.fixed}
    for sheet, name in returned.workbook.local_names:
        if name in content.places and sheet in ours:
            message = f"{name} has a second meaning on this sheet alone, which its formulas would use. Remove it."
            yield Finding("name-doubled", message, name, sheet)


def _displaced(comparison: Comparison) -> dict[str, Place]:
    """Names that have left the row or column that the names issued beside them are in now."""
    places, cells = comparison.content.places, comparison.returned.cells
    rows, columns = {}, {}
    for name, found in cells.items():
        sheet, row, column = places[name]
        rows.setdefault((sheet, row), []).append(found.place.row)
        columns.setdefault((sheet, column), []).append(found.place.column)
    displaced = {}
    for name, found in cells.items():
        sheet, row, column = places[name]
        expected = Place(found.place.sheet, _most_common(rows[sheet, row]), _most_common(columns[sheet, column]))
        if found.place != expected:
            displaced[name] = expected
    return displaced


def _most_common(numbers: list[int]) -> int:
    return numbers[0] if len(set(numbers)) == 1 else max(set(numbers), key=numbers.count)


def entries_usable(comparison: Comparison) -> Iterator[Finding]:
    """Entries that the client may change: which did change, and which cannot be used."""
    unusable = {problem.name: problem for problem in comparison.problems}
    for name in comparison.entries:
        found = comparison.returned.cells.get(name)
        if found is None:
            continue
        issued = comparison.content.inputs[name]
        now = shown(name, found.value) or "blank"
        if name in unusable:
            message = f"{name} is {now}, which cannot be used: it must be {unusable[name].allowed}."
            yield finding_at(found, "input-invalid", message, name, issued, comparison.effect_of(name))
        elif not comparison.same_entry(name):
            message = f"{name} was {shown(name, issued) or 'blank'} and is now {now}."
            yield finding_at(found, "input-changed", message, name, issued, comparison.effect_of(name))


def rates_as_issued(comparison: Comparison) -> Iterator[Finding]:
    """The owner's own figures, single and in tables."""
    for name in OWNER:
        found = comparison.returned.cells.get(name)
        if found and not _same_value(comparison.content.owner[name], found.value):
            yield _rate_changed(comparison, name, found, comparison.content.owner[name])
    for table, record in TABLES.items():
        yield from _table_as_issued(comparison, [f"{table}_{field.name}" for field in fields(record)])
    for word, found in zip(comparison.content.tables["surfaces"][0], chain(*comparison.returned.column("surfaces"))):
        if not _same_value(word, found.value):
            yield _rate_changed(comparison, "surfaces", found, word)


def _table_as_issued(comparison: Comparison, names: list[str]) -> Iterator[Finding]:
    """Each row of a table, known by what is in its first column, wherever it stands now."""
    tables, key = comparison.content.tables, names[0]
    issued = [dict(zip(names, row)) for row in zip(*(tables[name] for name in names))]
    for row in comparison.returned.table(names):
        was = next((line for line in issued if _same_key(line[key], row[key].value)), None)
        if was is None:
            yield _rate_changed(comparison, key, row[key], None)
            continue
        issued.remove(was)
        for name in names:
            yield from _cells_as_issued(comparison, name, was[name], row[name])
    if key not in comparison.returned.missing:
        for line in issued:
            yield _rate_changed(comparison, key, Found(Place(*comparison.content.places[key]), None, None), line[key])


def _cells_as_issued(comparison: Comparison, name: str, was: object, found: object) -> Iterator[Finding]:
    for expected, cell in zip(was, found) if isinstance(was, list) and isinstance(found, list) else [(was, found)]:
        if isinstance(cell, Found) and not _same_value(expected, cell.value):
            yield _rate_changed(comparison, name, cell, expected)


def _rate_changed(comparison: Comparison, name: str, found: Found, issued: object) -> Finding:
    was, now = (shown(name, value) or "blank" for value in (issued, found.value))
    message = f"{name} is yours to set: it was issued as {was} and is now {now}."
    return finding_at(found, "rate-changed", message, name, issued, comparison.effect_of(name))


def formulas_as_issued(comparison: Comparison) -> Iterator[Finding]:
    """Every formula is there and says the same."""
    for name, kind in comparison.edited_formulas.items():
        found, formula = comparison.returned.cells[name], f"={comparison.content.formulas[name]}"
        if kind == "formula-replaced":
            now = shown(name, found.value)
            message = f"{name} is no longer worked out: its formula was replaced by {now or 'nothing'}."
        else:
            now = f"={found.formula}"
            message = f"The formula of {name} has been altered."
        place = found.place
        yield Finding(kind, message, name, place.sheet, place.cell, formula, now, comparison.effect_of(name))


def rest_as_issued(comparison: Comparison) -> Iterator[Finding]:
    """Labels, terms and headings: every cell without a name, wherever rows and columns have moved it."""
    named = _named_cells(comparison)
    for sheet, cells in comparison.content.fixed.items():
        now = comparison.returned.sheet_now(sheet)
        if now is None:
            continue
        there = {
            place: _content_of(cell) for place, cell in comparison.returned.sheets[now].cells.items()
            if (now, *place) not in named
        }  # fmt: skip
        yield from _fixed_cells(now, {(row, column): value for row, column, value in cells}, there)


def _named_cells(comparison: Comparison) -> set[tuple[str, int, int]]:
    """Positions that the names of entries, rates and formulas cover, or covered before they were lost."""
    content, returned = comparison.content, comparison.returned
    founds = [found for name, found in returned.cells.items() if name not in content.anchors]
    for name in content.tables:
        founds += chain.from_iterable(found if isinstance(found, list) else [found] for found in returned.column(name))
    named = {(found.place.sheet, found.place.row, found.place.column) for found in founds}
    lost = (content.places[name] for name in returned.missing)
    return named | {(returned.sheet_now(sheet), row, column) for sheet, row, column in lost}


def _fixed_cells(sheet: str, issued: dict, there: dict) -> Iterator[Finding]:
    """What is gone and what is new, after setting aside what has only moved."""
    gone = {place: value for place, value in issued.items() if there.get(place) != value}
    new = {place: value for place, value in there.items() if value is not None and issued.get(place) != value}
    for place, value in list(gone.items()):
        moved = next((other for other, now in new.items() if now == value), None)
        if moved:
            del gone[place], new[moved]
    for place, value in gone.items():
        now = new.pop(place, None)
        message = f"This cell is not for changing: it was {quoted(value)} and is now {quoted(now)}."
        yield Finding("text-changed", message, "", sheet, Place(sheet, *place).cell, shown("", value), shown("", now))
    for place, value in new.items():
        message = f"{quoted(value)} has been added outside the cells for changing."
        yield Finding("cell-added", message, "", sheet, Place(sheet, *place).cell, None, shown("", value))


def _content_of(cell: Cell) -> object:
    if cell.formula is not None:
        return f"={cell.formula}"
    return None if cell.value == "" else cell.value


def sheets_as_issued(comparison: Comparison) -> Iterator[Finding]:
    """Sheets keep their names and stay in view; what else was added is said."""
    ours = {"stamp"}
    for issued in comparison.content.fixed:
        now = comparison.returned.sheet_now(issued)
        ours.add(now)
        if now is None:
            continue
        if now != issued:
            yield Finding("sheet-renamed", f"The sheet {issued} is now called {now}.", "", now, "", issued, now)
        if comparison.returned.sheets[now].visibility != "visible":
            yield Finding("sheet-hidden", f"The sheet {now} has been hidden.", "", now)
    for sheet in comparison.returned.workbook.sheets:
        if sheet.name not in ours and sheet.cells:
            yield Finding("sheet-added", f"The sheet {sheet.name} has been added; nothing in the quote reads it.", "", sheet.name)


def arithmetic_holds(comparison: Comparison) -> Iterator[Finding]:
    """The figures that the file shows are those that its own entries, rates and formulas make."""
    figures = [name for name in FIGURES if name in comparison.returned.cells and name not in comparison.held]
    values = {name: comparison.returned.cells[name].value for name in figures}
    expected = comparison.as_returned
    state = _unworked(values, expected)
    if state:
        yield _not_recalculated(comparison, state)
    if state or expected is None:
        return
    beyond = comparison.resting_on(comparison.returned.missing) if comparison.returned.missing else ()
    wrong = [name for name in figures if name not in beyond and not _agrees(comparison, values[name], expected[name])]
    if wrong and all(_as_before(comparison, name, values[name]) for name in wrong):
        yield _not_recalculated(comparison, "The figures are still those of the quote as issued")
        return
    for name in wrong:
        found, right = comparison.returned.cells[name], expected[name]
        was = shown(name, found.value) or "nothing"
        message = f"{name} does not add up: the file shows {was}, its own entries make {shown(name, right) or 'nothing'}."
        yield finding_at(found, "arithmetic-differs", message, name, right, comparison.effect_of_showing(name))


def _unworked(values: dict, expected: dict | None) -> str:
    """Says so where no figure, or none but 0, is in the file."""
    numbers = [value for value in values.values() if isinstance(value, Decimal)]
    if not any(value is not None for value in values.values()):
        return "There are no figures in the file"
    if numbers and not any(numbers) and not (expected and expected["total"] == 0):
        return "Every figure in the file is 0"
    return ""


def _agrees(comparison: Comparison, value: object, expected: object) -> bool:
    """Whether a figure that the file shows is the engine's, at six places."""
    if isinstance(expected, Decimal):
        return isinstance(value, Decimal) and abs(value) < 10**15 and six(value) == six(expected)
    return (value or "") == comparison.dictionary.layings.get(expected, expected)


def _as_before(comparison: Comparison, name: str, value: object) -> bool:
    return _agrees(comparison, value, comparison.content.results[name])


def _not_recalculated(comparison: Comparison, state: str) -> Finding:
    found = comparison.returned.cells.get("total")
    message = (
        f"{state}: no program has worked them out since it was saved. "
        "Open it in a spreadsheet program, let it calculate and save it to see its own figures."
    )
    return Finding("not-recalculated", message, "total", found.place.sheet if found else "", found.place.cell if found else "")


def nothing_foreign(comparison: Comparison) -> Iterator[Finding]:
    """Macros, links to other files and embedded objects: said, never opened or run."""
    for kind, part in comparison.returned.workbook.observations:
        yield Finding("foreign-part", f"The file now carries a {kind} ({part}). It was not opened.", found=part)


CHECKS = (
    names_present,
    names_in_place,
    entries_usable,
    rates_as_issued,
    formulas_as_issued,
    rest_as_issued,
    sheets_as_issued,
    arithmetic_holds,
    nothing_foreign,
)


def _same_key(issued: object, found: object) -> bool:
    if isinstance(issued, str) and isinstance(found, str):
        return same_text(issued, found)
    return issued == found


def _same_value(issued: object, found: object) -> bool:
    """Whether an owner's cell is as issued; blank and 0 are the same to every formula."""
    return issued == found or (issued in (None, "", 0) and found in (None, "", 0))
