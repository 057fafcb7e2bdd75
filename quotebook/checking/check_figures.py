"""Checks of the figures in a file: whether some program has worked them out, and whether they add up."""

from collections.abc import Iterator

from quotebook.checking.edits import NameEdit
from quotebook.checking.findings import Finding, finding_at
from quotebook.checking.kinds import Kind
from quotebook.checking.shown_figures import MISSING, ShownFigures
from quotebook.contract.wording import quoted


def figures_worked_out(sheet: ShownFigures) -> Iterator[Finding]:
    """Some program has worked the figures out since the last change."""
    total, why = sheet.returned.cells.get("total"), _why_not_worked_out(sheet)
    if why:
        message = (
            f"{why}: no program has worked them out since. "
            "Open the file in a spreadsheet program, let it calculate and save it to see its own figures."
        )
        title, cell = (total.place.sheet, total.place.cell) if total else ("", "")
        yield Finding(Kind.NOT_RECALCULATED, message, "total", title, cell, effect=sheet.lag)


def _why_not_worked_out(sheet: ShownFigures) -> str:
    if sheet.never_calculated == MISSING:
        return "There are no figures in the file"
    if sheet.never_calculated:
        return "The figures in the file are 0"
    if sheet.unfilled:
        return f"Figures are missing from the file: {_some(sheet, sheet.unfilled)}"
    edits = sheet.comparison.edited_names.items()
    names = [name for edit, name in edits if edit in sheet.stale_by and not isinstance(edit, NameEdit)]
    return f"The figures are those from before a change of {_some(sheet, list(dict.fromkeys(names)))}" if names else ""


def _some(sheet: ShownFigures, names: list[str]) -> str:
    said = [sheet.labels.named(name) for name in names]
    return "; ".join(said) if len(said) <= 3 else f"{'; '.join(said[:3])} and {len(said) - 3} others"


def arithmetic_holds(sheet: ShownFigures) -> Iterator[Finding]:
    """The figures that the file shows are those that its own entries, rates and formulas make."""
    for name, found, due, effect in sheet.wrong:
        own = sheet.returned.cells.get(name)
        what = "does not add up" if own and found.place == own.place else "is not what this cell shows"
        now, right = (
            quoted(value) if isinstance(value, str) else sheet.labels.said(name, value) for value in (found.value, due)
        )
        subject = sheet.subject(name, found.place)
        message = f"{subject}: {what}. The file has {now} there, its own entries make {right}."
        yield finding_at(found, Kind.ARITHMETIC_DIFFERS, message, name, due, effect)
