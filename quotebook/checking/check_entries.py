"""Checks of what a client may change: the entries of the quote and the answers to it."""

import re
from collections.abc import Iterator
from datetime import date, datetime

from quotebook.checking.findings import Finding, finding_at
from quotebook.checking.kinds import Kind
from quotebook.checking.returned import ReturnedCell
from quotebook.checking.returned_rates import Change
from quotebook.checking.worked_out import WorkedOut
from quotebook.contract.values import Dictionary
from quotebook.contract.vocabulary import INPUTS, LINE_INPUTS, REPLIES, on_line
from quotebook.contract.wording import quoted
from quotebook.engine.entries import Problem
from quotebook.engine.model import LINES, NOT_HERE
from quotebook.engine.money import number, plain
from quotebook.evaluation.agreement import agrees
from quotebook.evaluation.values import NotWorkedOut
from quotebook.spreadsheets.cells import Fault

SIZES = ("panel_#", "width_#", "length_#")

WITH_A_UNIT = re.compile(r"([0-9]+(?:[.,][0-9]+)?)\s*(?:ft|feet|foot|'|m|metres?|meters?|miles?|km)?", re.IGNORECASE)
"""A number as people type it into a cell that then holds a text."""
DAYS = ("%Y-%m-%d", "%d.%m.%Y", "%d %B %Y", "%d %b %Y", "%B %d, %Y", "%b %d, %Y")
"""Days as people type them, of which there is no doubt which is the month."""

NOT_WHAT = {
    "number": "a text and not a number", "whole": "a text and not a number", "date": "a text and not a day",
}  # fmt: skip
"""What a text is in an entry of each kind."""


def entries_usable(sheet: WorkedOut) -> Iterator[Finding]:
    """Entries that the client may change: which did change, and which cannot be used.

    Where one floor is laid of several kinds of panel, a change of one part is a change of that floor; a floor
    line that was filled in or emptied is one change.
    """
    comparison = sheet.comparison
    changed = {change.name: change for change in comparison.changed_entries}
    unusable = {name for name in comparison.problems if name in changed or name not in comparison.issued_problems}
    mixed = [name for name in changed if name in comparison.mixed_sizes and name not in unusable]
    if mixed:
        yield _part_changed(sheet, [changed[name] for name in mixed])
    grouped = set(mixed)
    for line in range(1, LINES + 1):
        changes = [changed[name] for name in _on(line) if name in changed and name not in grouped]
        if _is_whole(sheet, line, changes) and not any(change.name in unusable for change in changes):
            yield _whole_line(sheet, line, changes)
            grouped |= {change.name for change in changes}
    for name, found in comparison.returned.cells.items():
        if name in changed.keys() | unusable and name not in comparison.displaced and name not in grouped:
            yield _entry(sheet, name, found, changed.get(name), name in unusable)


def _on(line: int) -> list[str]:
    return [on_line(name, line) for name in LINE_INPUTS]


def _part_changed(sheet: WorkedOut, changes: list[Change]) -> Finding:
    """One floor of several kinds of panel, of which a part has another size."""
    lines = sorted({name.rpartition("_")[2] for name in sheet.comparison.mixed_sizes})
    said = "; ".join(_was_and_is(sheet, change) for change in changes)
    message = (
        f"Floor lines {', '.join(lines)} are one floor laid of several kinds of panel, and a part of it was changed "
        f"by itself: {said}. Issue the whole floor anew (quotebook issue --floor CODE+CODE:WIDTHxLENGTH)."
    )
    effect = sheet.effect_of(*(change.edit for change in changes))
    return finding_at(changes[0].found, Kind.PART_CHANGED, message, changes[0].name, changes[0].issued, effect)


def _was_and_is(sheet: WorkedOut, change: Change) -> str:
    labels, name = sheet.labels, change.name
    return f"{labels.named(name)} {labels.said(name, change.issued)}, now {labels.said(name, change.found.value)}"


def _is_whole(sheet: WorkedOut, line: int, changes: list[Change]) -> bool:
    """Whether a floor line was filled in that was empty, or emptied."""
    sizes = [on_line(name, line) for name in SIZES]
    if not {change.name for change in changes}.issuperset(sizes) or any(each.found.formula for each in changes):
        return False
    blank_then = all(sheet.content.inputs[name] is None for name in sizes)
    blank_now = all(sheet.comparison.values.get(name) is None for name in sizes)
    return blank_then != blank_now


def _whole_line(sheet: WorkedOut, line: int, changes: list[Change]) -> Finding:
    issued = _floor(sheet, {change.name: change.issued for change in changes})
    found = _floor(sheet, {change.name: change.found.value for change in changes})
    added = all(change.issued is None for change in changes if change.name != f"edging_wanted_{line}")
    place = changes[0].found.place
    message = f"Floor line {line}, {place.sheet} {place.cell}: {'added' if added else 'taken out'}: {found or issued}."
    effect = sheet.effect_of(*(change.edit for change in changes))
    name = changes[0].name
    expected, now = (None, found) if added else (issued, None)
    return Finding(Kind.INPUT_CHANGED, message, name, place.sheet, place.cell, expected, now, effect)


def _floor(sheet: WorkedOut, values: dict[str, object]) -> str:
    """A floor line in words: `Panel OAK-44, Width 16 ft, Length 20 ft, Edging yes`."""
    labels = sheet.labels
    filled = {name: value for name, value in values.items() if value not in (None, "")}
    said = {labels.label(name).partition(",")[0]: labels.said(name, value) for name, value in filled.items()}
    return ", ".join(f"{label} {value}" for label, value in said.items())


def _entry(sheet: WorkedOut, name: str, found: ReturnedCell, change: Change | None, unusable: bool) -> Finding:
    """The finding about one entry that was changed or cannot be used."""
    labels, issued = sheet.labels, sheet.content.inputs[name]
    effect = sheet.effect_of(change.edit) if change else None
    subject, now = sheet.subject(name, found.place), labels.said(name, found.value)
    if found.formula is not None and (doubt := _doubt_about(sheet, name, found)):
        message = f"{subject}: worked out by ={found.formula}, {doubt}. Ask the client to type the value."
        return finding_at(found, Kind.INPUT_INVALID, message, name, issued, effect)
    if unusable or isinstance(found.value, (Fault, bool)):
        problem = sheet.comparison.problems.get(name)
        message = f"{subject}: {_not_usable(sheet, name, found, problem)}"
        return finding_at(found, Kind.INPUT_INVALID, message, name, issued, effect)
    kind, by = (Kind.INPUT_CHANGED, "") if found.formula is None else (Kind.INPUT_FORMULA, f", by ={found.formula}")
    message = f"{subject}: {labels.said(name, issued)} when issued, now {now}{by}."
    return finding_at(found, kind, message, name, issued, effect)


def _not_usable(sheet: WorkedOut, name: str, found: ReturnedCell, problem: Problem | None) -> str:
    """Why an entry cannot be used, and what can: with the value to type where a text looks like one."""
    allowed = _allowed(sheet, problem) if problem else "neither TRUE nor FALSE nor an error"
    if isinstance(found.value, str) and (
        meant := _meant(sheet.comparison.dictionary, INPUTS.get(name, ""), found.value)
    ):
        kind = NOT_WHAT.get(INPUTS.get(name, ""), "a text and not what the formulas compare")
        return f"{quoted(found.value)} is {kind}. Ask the client to type {meant}; it must be {allowed}."
    now = sheet.labels.said(name, found.value)
    return f"{now} cannot be used; it must be {allowed}."


def _meant(words: Dictionary, kind: str, text: str) -> str:
    """What a text in an entry of a kind was meant to be, as it should be typed; nothing where that is in doubt."""
    text = text.strip()
    if kind in ("number", "whole") and (match := WITH_A_UNIT.fullmatch(text)):
        digits = match[1]
        if re.fullmatch(r"[0-9]+,[0-9]{3}", digits):
            return ""  # a thousand in one country, one in another
        return plain(number(digits.replace(",", ".")))
    if kind == "date":
        found = [day for form in DAYS if (day := _day(text, form))]
        return str(found[0]) if found else ""
    if kind in ("yes_no", "surface"):
        meanings = words.yes_no if kind == "yes_no" else words.surfaces
        return next((str(word) for meaning, word in meanings.items() if words.meaning(text, meanings) == meaning), "")
    return ""


def _day(text: str, form: str) -> date | None:
    try:
        return datetime.strptime(text, form).date()
    except ValueError:
        return None


def _allowed(sheet: WorkedOut, problem: Problem) -> str:
    """What may be entered, in the words of the file's own language."""
    words, kind, rates = sheet.comparison.dictionary, INPUTS.get(problem.name, ""), sheet.comparison.issued_rates
    if kind == "yes_no":
        return f"{words.yes_no[True]} or {words.yes_no[False]}"
    if kind == "surface":
        return "one of " + ", ".join(map(str, words.surfaces.values()))
    surface = sheet.comparison.entries["surface"]
    if problem.name.startswith("panel_") and surface in words.surfaces and isinstance(surface, str):
        fit = [each.panel for each in rates.kinds if each.laying(surface) != NOT_HERE]
        return f"a panel that can go on {words.surfaces[surface]}: {', '.join(fit) or 'none'}"
    return problem.allowed


def _doubt_about(sheet: WorkedOut, name: str, found: ReturnedCell) -> str:
    """Why what the file shows for a formula in an entry cannot be taken for what the client means."""
    due = sheet.evaluation.cell(found.place)
    if isinstance(due, NotWorkedOut):
        return f"which rests on {due.text} and is not worked out here"
    if not agrees(found.value, due):
        here, there = sheet.labels.said(name, due), sheet.labels.said(name, found.value)
        return f"which comes to {here} and not to what the file shows, {there}"
    return ""


def replies_typed(sheet: WorkedOut) -> Iterator[Finding]:
    """The client's answers are typed, and not worked out by formulas."""
    for name in REPLIES:
        found = sheet.returned.cells.get(name)
        if found and found.formula is not None:
            subject = sheet.subject(name, found.place)
            message = f"{subject}: worked out by ={found.formula}, and so not counted as the client's answer."
            yield finding_at(found, Kind.INPUT_FORMULA, message, name, None, None)
