"""What the head of a quote should come to when it goes out: what is bought, whether it can be had, what is due when."""

from collections.abc import Mapping, Sequence

from quotebook.contract.offer_formulas import open_status
from quotebook.contract.option_formulas import pick_said
from quotebook.contract.plan_blocks import blocks_drawn
from quotebook.contract.values import CellValue, Words, joined, serial_of_day
from quotebook.engine.cautions import FORBIDDING, line_notes
from quotebook.engine.due_dates import balance_due, deposit_due
from quotebook.engine.entries import usable_day
from quotebook.engine.figures import Figures, LineFigures
from quotebook.engine.laid_floors import joined_lines
from quotebook.engine.model import LINES, SURFACES, Papers, Rates, Request
from quotebook.engine.money import ONE, ZERO


def offer_of(
    papers: Papers,
    rates: Rates,
    request: Request,
    figures: Figures,
    words: Words,
    ground: Sequence[str],
    unit: str,
    address: str,
) -> dict[str, CellValue]:
    """Every figure and sentence of the head by its defined name, before a client has answered.

    `figures` are the engine's, `words` is the whole of a words file, `ground` has a phrase for each of SURFACES,
    `unit` is the card's unit of length, `address` where answers go.
    """
    said, lines = {**words["offer"], "pick": pick_said(words, request.options)}, range(1, LINES + 1)
    notes = {line: line_notes(request, figures, line) for line in lines}
    forbidden = {line: [key for key in notes[line] if key in FORBIDDING] for line in lines}
    floors = {line: _floor(rates, request, figures.line(line), line, said, unit) for line in lines}
    missing = _missing(request, figures)
    status = said[missing] if missing else open_status(said, address)
    for line in reversed(lines if missing in ("", "no_floor") else ()):
        if forbidden[line]:
            reasons = "".join(f"{words['notes'][key]} " for key in forbidden[line])
            status = said["floor"].format(line=line) + reasons
    found: dict[str, CellValue] = {
        "cannot": ONE if missing or any(forbidden.values()) else ZERO,
        "status": status,
        "bought": _bought(rates, request, figures, floors, said | {"unit": unit}, ground),
    }
    for line in lines:
        found |= {f"cannot_{line}": ONE if forbidden[line] else ZERO, f"floor_said_{line}": floors[line]}
    return found | _days(papers, rates, request)


def _missing(request: Request, figures: Figures) -> str:
    """What a quote lacks altogether: the key of its sentence."""
    if not figures.days_counted:
        return "days"
    if request.surface not in SURFACES:
        return "surface"
    if request.needs_pick:
        return "pick"
    return "" if figures.panels else "no_floor"


def _floor(rates: Rates, request: Request, own: LineFigures, line: int, said: Mapping[str, str], unit: str) -> str:
    panel = request.as_picked().every_line[line - 1].panel
    kind = rates.kind(panel)
    if kind is None or not panel:
        return ""
    if not own.counted:
        return kind.panel_name
    sides = {"actual_width": joined(own.actual_width), "actual_length": joined(own.actual_length)}
    return kind.panel_name + said["size"].format(unit=unit, **sides)


def edged(own: LineFigures, said: Mapping[str, str]) -> str:
    """That a line's floor has edging, said once where it is of several lines."""
    return said["edged"] if own.corners else ""


def _bought(
    rates: Rates,
    request: Request,
    figures: Figures,
    floors: Mapping[int, str],
    said: Mapping[str, str],
    ground: Sequence[str],
) -> str:
    counted = [line for line, own in enumerate(figures.lines, 1) if own.counted]
    if not figures.panels:
        return said["nothing"]
    lines, first = request.every_line, counted[0]
    whole = [group for group in joined_lines(lines) if blocks_drawn(lines, figures, group[0])]
    floor, own = floors[first], figures.line(first)
    if any(first in group for group in whole):
        sides = {"actual_width": joined(own.floor_width), "actual_length": joined(own.floor_length)}
        kind = rates.listed_kind(request.as_picked().every_line[first - 1].panel)
        floor = kind.panel_name + said["several"] + said["size"].format(unit=said["unit"], **sides)
    count = len(counted) - sum(len(group) - 1 for group in whole)
    more = said["more"].format(more=count - 1) if count > 1 else ""
    where = ground[SURFACES.index(request.surface)] if request.surface in SURFACES else ""
    return f"{floor}{edged(own, said)}{more}{where}{said['laid']}"


def _days(papers: Papers, rates: Rates, request: Request) -> dict[str, CellValue]:
    event_day = usable_day(request.event_date)
    deposit = deposit_due(papers.issued_on, rates.deposit_days, event_day)
    balance = balance_due(papers.issued_on, rates.balance_days, event_day, deposit)
    days = {"event_day": event_day, "deposit_due": deposit, "balance_due": balance}
    return {name: ZERO + serial_of_day(day) if day else ZERO for name, day in days.items()}
