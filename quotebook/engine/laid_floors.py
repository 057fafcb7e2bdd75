"""The floors of a priced request as they lie on the ground, with every panel's place."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from quotebook.engine.figures import Figures
from quotebook.engine.laying import grid, order
from quotebook.engine.mix import Mix, Placement, mix
from quotebook.engine.model import FloorLine, PanelKind, Rates, Request
from quotebook.engine.money import ZERO


@dataclass(frozen=True)
class Floor:
    """One floor on the ground: a line of the quote, or several where it is laid of several kinds."""

    lines: tuple[int, ...]
    """Numbers of its lines, from 1."""
    width: Decimal
    length: Decimal
    panels: dict[str, int]
    """How many panels, by code, in the order of the lines."""
    placements: tuple[Placement, ...]
    """In the order of laying."""
    edging_of: str
    """Code of the panel whose edging is fitted; empty for none."""
    slot_pieces: int
    tongue_pieces: int
    corners: int
    sheets_of: str
    """Code of the subfloor; empty for none."""
    sheets: int
    minutes: Decimal
    """Person-minutes to lay it all."""
    edge_height: Decimal
    """How far its edge stands above the ground, the sheets under it included, in inches or millimetres."""
    cut_pieces: int
    """Edging pieces that are cut or stand over, since they do not divide their side."""


def floors(rates: Rates, request: Request, figures: Figures) -> tuple[Floor, ...]:
    """The floors of a priced request, in the order of its lines.

    Lines that make one floor are shown as one if its mix is still theirs; blocks that were changed
    since are floors of their own.
    """
    found: list[Floor] = []
    for lines in _groups(request, figures):
        mixed = _mixed_floor(rates, request, figures, lines) if len(lines) > 1 else None
        found += [mixed] if mixed else [_floor_of_line(rates, request, figures, line) for line in lines]
    return tuple(found)


def _groups(request: Request, figures: Figures) -> list[tuple[int, ...]]:
    """Numbers of the priced lines, those of one floor together."""
    priced = {number for number, line in enumerate(figures.lines, 1) if line.counted}
    whole = [lines for lines in joined_lines(request.lines) if priced.issuperset(lines)]
    return sorted([*whole, *((number,) for number in priced.difference(*whole))])


def joined_lines(lines: Sequence[FloorLine]) -> list[tuple[int, ...]]:
    """Numbers of the lines, from 1, that were issued as one floor between them, for each such floor."""
    groups: list[list[int]] = []
    for number, line in enumerate(lines, 1):
        if groups and groups[-1][-1] == number - 1 and _is_further(line):
            groups[-1].append(number)
        elif _adds(line):
            groups.append([number])
    return [tuple(group) for group in groups if len(group) > 1]


def _is_further(line: FloorLine) -> bool:
    return line.joined_width < 0 or line.joined_length < 0


def _adds(line: FloorLine) -> bool:
    return line.joined_width > 0 or line.joined_length > 0


def _mixed_floor(rates: Rates, request: Request, figures: Figures, lines: Sequence[int]) -> Floor | None:
    """The floor of several lines; None where they no longer make one."""
    first, kinds = figures.line(lines[0]), _kinds(rates, request, lines)
    found = _mixed(tuple(dict.fromkeys(kinds)), first.floor_width, first.floor_length)
    if found is None or found.counts != _panels(kinds, figures, lines):
        return None
    return _floor(rates, kinds, figures, lines, (first.floor_width, first.floor_length), order(found.placements))


def _floor_of_line(rates: Rates, request: Request, figures: Figures, line: int) -> Floor:
    own, kinds = figures.line(line), _kinds(rates, request, [line])
    placements = grid(kinds[0], own.across, own.along, own.turned)
    return _floor(rates, kinds, figures, [line], (own.actual_width, own.actual_length), placements)


def _floor(
    rates: Rates,
    kinds: Sequence[PanelKind],
    figures: Figures,
    lines: Sequence[int],
    size: tuple[Decimal, Decimal],
    placements: tuple[Placement, ...],
) -> Floor:
    own = [figures.line(line) for line in lines]
    sheet = rates.subfloor(own[0].subfloor_kind)
    slot_pieces, sheets = int(sum(line.slot_pieces for line in own)), int(sum(line.sheets for line in own))
    return Floor(
        lines=tuple(lines),
        width=size[0],
        length=size[1],
        panels=dict(_panels(kinds, figures, lines)),
        placements=placements,
        edging_of=kinds[0].panel if slot_pieces else "",
        slot_pieces=slot_pieces,
        tongue_pieces=int(sum(line.tongue_pieces for line in own)),
        corners=int(sum(line.corners for line in own)),
        sheets_of=own[0].subfloor_kind if sheets else "",
        sheets=sheets,
        minutes=sum((line.minutes for line in own), ZERO),
        edge_height=max(kind.thickness for kind in kinds) + (sheet.sheet_thickness if sheet and sheets else ZERO),
        cut_pieces=int(sum(line.cut_pieces for line in own)),
    )


def _kinds(rates: Rates, request: Request, lines: Sequence[int]) -> list[PanelKind]:
    """The panel kind of each line, all of which are priced."""
    return [rates.listed_kind(request.lines[line - 1].panel) for line in lines]


def _panels(kinds: Sequence[PanelKind], figures: Figures, lines: Sequence[int]) -> Counter[str]:
    """Panels by code on some lines, in their order."""
    panels: Counter[str] = Counter()
    for kind, line in zip(kinds, lines, strict=True):
        panels[kind.panel] += int(figures.line(line).panels)
    return panels


def _mixed(kinds: Sequence[PanelKind], width: Decimal, length: Decimal) -> Mix | None:
    """The mix for a floor; None where it is more than is searched, for then none was chosen when it was issued."""
    try:
        return mix(kinds, width, length)
    except ValueError:
        return None
