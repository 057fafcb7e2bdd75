"""The order in which one person can lay a floor: from a corner, each new panel's tongues into slots already laid.

A panel that is not turned has its slot edges to the right and at the far end, its tongue edges to the
left and at the near end, so that the laying starts in the near left corner. A turned one lies a quarter
round to one hand or the other: on a floor of turned panels anticlockwise, which starts it in the near
right corner, on a mixed floor (`mix`) whichever way locks. A new panel meets what is laid on its tongue
sides only, which are two adjacent ones, so it never has to be pushed in between two panels (common
practice, no source).
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from heapq import heapify, heappop, heappush

from quotebook.engine.mix import Placement
from quotebook.engine.model import PanelKind


@dataclass(frozen=True)
class Slots:
    """Where a panel's slot edges lie; its tongue edges lie opposite."""

    right: bool
    far: bool

    def at(self, side: str) -> bool:
        """Whether they lie towards that side: `right` or `far`."""
        return self.right if side == "right" else self.far


NOT_TURNED = Slots(right=True, far=True)
TURNED = (Slots(right=False, far=True), Slots(right=True, far=False))
"""Anticlockwise, which locks to panels that are not turned at their near and far ends; clockwise, at their sides."""


def grid(kind: PanelKind, across: Decimal, along: Decimal, turned: Decimal) -> tuple[Placement, ...]:
    """The panels of a floor of one kind, in laying order: `across`, `along` and `turned` as priced."""
    width, length = (kind.panel_length, kind.panel_width) if turned else (kind.panel_width, kind.panel_length)
    panels = {
        number(column, row, int(across), bool(turned)): Placement(
            kind.panel, (column - 1) * width, (row - 1) * length, width, length, bool(turned)
        )
        for row in range(1, int(along) + 1)
        for column in range(1, int(across) + 1)
    }
    return tuple(panels[place] for place in sorted(panels))


def number(column: int, row: int, across: int, turned: bool) -> int:
    """The place in the laying order of the panel at `column` and `row`, all counted from 1: row by row."""
    return (row - 1) * across + (across + 1 - column if turned else column)


def order(placements: Sequence[Placement]) -> tuple[Placement, ...]:
    """`placements` in an order in which each new panel's tongues meet slots already laid.

    They go row by row from the near left corner as far as that allows. Raises ValueError for panels
    that do not lock everywhere.
    """
    before = slots_first(placements)
    waiting = dict.fromkeys(placements, 0)
    for _, later in before:
        waiting[later] += 1
    ready = [(panel.y, panel.x, panel) for panel, count in waiting.items() if not count]
    heapify(ready)
    laid = []
    while ready:
        laid.append(heappop(ready)[-1])
        for later in (later for earlier, later in before if earlier == laid[-1]):
            waiting[later] -= 1
            if not waiting[later]:
                heappush(ready, (later.y, later.x, later))
    return tuple(laid)


def slots_first(placements: Sequence[Placement]) -> list[tuple[Placement, Placement]]:
    """For each seam the panel whose slot it is, then the one whose tongue. Raises ValueError where none lock."""
    has_slots = dict(zip(placements, slot_sides(placements), strict=True))
    return [(one, other) if has_slots[one].at(side) else (other, one) for one, other, side in seams(placements)]


def slot_sides(placements: Sequence[Placement]) -> list[Slots]:
    """Where each panel's slot edges lie on a floor that locks everywhere; raises ValueError for one that does not."""
    ways: Sequence[Slots] = TURNED
    if len({panel.turned for panel in placements}) > 1:
        found = list(seams(placements))
        ways = [way for way in TURNED if all(_locks(one, other, side, way) for one, other, side in found)]
    if not ways:
        raise ValueError(
            "these panels do not lock: turned and unturned ones meet both along the width and along the length"
        )
    return [slots(panel, ways[0]) for panel in placements]


def slots(panel: Placement, way: Slots) -> Slots:
    return way if panel.turned else NOT_TURNED


def _locks(one: Placement, other: Placement, side: str, way: Slots) -> bool:
    """A slot meets a tongue where the slots of both lie towards the same end."""
    return slots(one, way).at(side) == slots(other, way).at(side)


def seams(placements: Sequence[Placement]) -> Iterator[tuple[Placement, Placement, str]]:
    """Each two panels that share part of an edge, and on which side of the first the second lies: `right` or `far`."""
    for one in placements:
        for other in placements:
            if one.x + one.width == other.x and one.y < other.y + other.length and other.y < one.y + one.length:
                yield one, other, "right"
            if one.y + one.length == other.y and one.x < other.x + other.width and other.x < one.x + one.width:
                yield one, other, "far"
