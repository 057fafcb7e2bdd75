"""Checks of what is the owner's: names, rates and formulas."""

from collections.abc import Iterator

from quotebook.checking.edits import NameEdit, RowEdit
from quotebook.checking.findings import Finding, finding_at
from quotebook.checking.kinds import Kind
from quotebook.checking.worked_out import WorkedOut
from quotebook.contract.wording import quoted, shown
from quotebook.spreadsheets.cells import CellAddress, CellRange

MOST_NAMED = 4
"""Things on a deleted row or column that are named one by one."""


def lines_present(sheet: WorkedOut) -> Iterator[Finding]:
    """Every row and column is there that something stood on."""
    for line in sheet.comparison.deleted:
        title = sheet.returned.sheets_now[line.sheet]
        texts = [text for text in line.texts if not (isinstance(text, str) and text.startswith("="))]
        what = [*map(sheet.labels.named, line.names), *map(quoted, texts)]
        more = f" and {len(what) - MOST_NAMED} more" if len(what) > MOST_NAMED else ""
        held = f", with {', '.join(what[:MOST_NAMED])}{more}" if what else ""
        effect = sheet.effect_of(*line.edits) if line.edits else None
        message = f"{title}, {line.label}: deleted{held}."
        yield Finding(line.kind, message, line.names[0] if line.names else "", title, line.cell, effect=effect)


def names_present(sheet: WorkedOut) -> Iterator[Finding]:
    """Every name that formulas speak in still leads to a cell."""
    returned = sheet.returned
    for name in returned.missing:
        title, row, column = sheet.content.places[name]
        now = returned.sheet_now(title)
        if now is not None and not sheet.comparison.deleted.has(title, row, column):
            row, column = returned.moved[title].place(row, column) or (row, column)
            place = CellAddress(now, row, column)
            message = f"{sheet.subject(name, place)}: the name of this cell was deleted, so formulas do not find it."
            yield Finding(Kind.NAME_MISSING, message, name, now, place.cell, effect=sheet.effect_of(NameEdit(name)))


def names_in_place(sheet: WorkedOut) -> Iterator[Finding]:
    """No name has been pointed at other cells."""
    for name, (now, due) in sheet.comparison.displaced.items():
        effect = sheet.effect_of(NameEdit(name))
        belongs, leads = _written(due, now.sheet), _written(now, due.sheet)
        message = f"{sheet.labels.named(name)}: pointed at {leads}; it belongs to {belongs}."
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
            where = f" on the sheet {title} alone" if title else ""
            message = f"{sheet.labels.named(name)}: has a second meaning{where}, which formulas would use. Remove it."
            yield Finding(Kind.NAME_DOUBLED, message, name, title, effect=sheet.effect_of(NameEdit(name)))


def rates_as_issued(sheet: WorkedOut) -> Iterator[Finding]:
    """The owner's own figures, single and in tables."""
    for change in sheet.comparison.changed_rates:
        if change.lost and sheet.comparison.deleted.has(*change.lost):
            continue
        name, found, labels = change.name, change.found, sheet.labels
        by = f", worked out by ={found.formula}" if found.formula is not None else ""
        was, now = labels.said(name, change.issued), labels.said(name, found.value)
        what = f"{was} when issued, now {now}{by}"
        if isinstance(change.edit, RowEdit):
            what = f"the row of {was} was deleted" if change.lost else f"a row of {now} was added"
        message = f"{sheet.subject(name, found.place)}: {what}. Only you set it."
        yield finding_at(found, Kind.RATE_CHANGED, message, name, change.issued, sheet.effect_of(change.edit))


def formulas_as_issued(sheet: WorkedOut) -> Iterator[Finding]:
    """Every formula is there and says the same."""
    comparison = sheet.comparison
    for name, kind in comparison.edited_formulas.items():
        found, issued = comparison.returned.cells[name], f"={comparison.content.formulas[name]}"
        subject = sheet.subject(name, found.place)
        if kind == Kind.FORMULA_REPLACED:
            now = shown(name, found.value)
            typed = sheet.labels.said(name, found.value, "nothing")
            message = f"{subject}: no longer worked out, its formula was replaced by {typed}."
        else:
            now, message = f"={found.formula}", f"{subject}: the formula was altered."
        effect = sheet.effect_of(comparison.formula_edit(name))
        yield Finding(kind, message, name, found.place.sheet, found.place.cell, issued, now, effect)
