"""What the figures of a quote that offers options should come to, besides those of its price."""

from collections.abc import Mapping, Sequence
from decimal import Decimal

from quotebook.contract.offer import edged
from quotebook.contract.option_formulas import suffix
from quotebook.contract.values import CellValue, Words, joined
from quotebook.contract.vocabulary import on_line
from quotebook.engine.figures import Figures
from quotebook.engine.model import LINES, FloorLine, Request
from quotebook.engine.money import ONE, ZERO, round6

NO_HOURS = Decimal(1_000_000)
"""Stands for the hours of an option that nothing is laid for."""


def picked_figures(request: Request, figures: Figures, line_drawn: Decimal) -> dict[str, CellValue]:
    """The entries of the floor lines that count, whether an option has to be picked, and the line that is drawn."""
    found: dict[str, CellValue] = {"pick_needed": ONE if request.needs_pick else ZERO}
    found["plan_line_followed"] = line_followed(request, figures, line_drawn)
    for number, line in enumerate(request.as_picked().every_line, 1):
        found[f"panel_picked_{number}"] = line.panel
        found[f"width_picked_{number}"] = line.width or ZERO
        found[f"length_picked_{number}"] = line.length or ZERO
    return found


def line_followed(request: Request, figures: Figures, line_drawn: Decimal) -> Decimal:
    """The floor line that the plan draws: that one, or the first that is priced where its option is not picked."""
    if not request.leaves_out(request.every_line[int(line_drawn) - 1]):
        return line_drawn
    return next((Decimal(number) for number, line in enumerate(figures.lines, 1) if line.counted), line_drawn)


def options_said(
    request: Request, by_option: Mapping[str, tuple[Figures, Mapping[str, CellValue]]], words: Words
) -> dict[str, CellValue]:
    """What each option is and what to note of it, by defined name, and the hours of the quickest to lay.

    `by_option` has for each option its figures, and all results of the quote with it picked.
    """
    hours = [figures.setup_hours or NO_HOURS for figures, _ in by_option.values()]
    quickest = min(hours)
    found: dict[str, CellValue] = {"quickest_hours": quickest}
    for option, (figures, results) in by_option.items():
        found[f"option_said{suffix(option)}"] = _said(request.every_line, option, figures, results, words["offer"])
        found[f"option_note{suffix(option)}"] = _note(figures, results, quickest, words["option"])
    return found


def _said(
    lines: Sequence[FloorLine],
    option: str,
    figures: Figures,
    results: Mapping[str, CellValue],
    said: Mapping[str, str],
) -> str:
    numbers = (number for number, line in enumerate(lines, 1) if line.option == option)
    floors = {number: results[f"floor_said_{number}"] for number in numbers}
    return "".join(f"{floor}{edged(figures.line(number), said)}. " for number, floor in floors.items() if floor)


def _note(figures: Figures, results: Mapping[str, CellValue], quickest: Decimal, said: Mapping[str, str]) -> CellValue:
    for line in range(1, LINES + 1):
        if results[on_line("cannot_#", line)]:
            return results[on_line("notes_#", line)]
    if not figures.setup_hours:
        return ""
    longer = round6(figures.setup_hours - quickest)
    notes = (
        said["subfloor"] if any(line.sheets for line in figures.lines) else "",
        said["longer"].format(hours=joined(longer)) if longer > 0 else "",
        said["crowded"] if figures.panels and figures.dancers > figures.standing_room else "",
    )
    return "".join(notes)
