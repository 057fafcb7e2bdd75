"""One floor of several panel sizes that lock together: the fewest panels that make exactly the size asked.

Which layouts are searched. A panel has its two slot edges on adjacent sides, so one that is turned a
quarter round meets the others slot to tongue along the width or along the length, never both. A floor
of some turned and some not therefore locks everywhere only where straight seams from edge to edge, all
one way, divide it into strips in each of which no panel is turned or all are. All such strips are
tried, across and along. Within a strip every layout is tried that seams from edge to edge of what is
left divide again and again (guillotine layouts); one whose panels lie round one another like the
sails of a mill is not found.

What that loses, against every layout there is (integer programming in the tests, sides up to 14 of
the panels' common measure): nothing for 4x4 with 4x2, 3x3 with 3x4, and 2x3 with 3x3. For 2x3 with 2x2
a floor of 10 by 10 takes 18 panels here, where 17 would cover it without locking.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import NamedTuple

from quotebook.engine.model import PanelKind

MOST_NEAREST = 4
"""How many other sizes are offered where one cannot be made."""

MOST_LENGTHS = 160
"""Lengths that the search looks at, so that it ends within a second or two."""

IMPOSSIBLE = 10**9
"""Panels of what cannot be laid."""


Size = tuple[Decimal, Decimal]
"""Width and length."""

Panels = dict[Size, str]
"""Codes of panels by their size."""

Fewest = dict[Size, tuple[int, str, Decimal]]
"""For a size the least number of panels, and the seam that divides it first."""


@dataclass(frozen=True)
class Placement:
    """One panel on the plan: its near left corner, from the floor's, and its sides as it lies."""

    panel: str
    x: Decimal
    y: Decimal
    width: Decimal
    length: Decimal
    turned: bool


@dataclass(frozen=True)
class Mix:
    """A floor laid out, or the sizes nearest to it that can be laid."""

    placements: tuple[Placement, ...]
    """Empty where the size cannot be made exactly."""
    counts: dict[str, int]
    """Panels by code."""
    nearest: tuple[Size, ...]
    """Widths and lengths that can be made: those that change the sides least first, then the larger."""


def mix(kinds: Sequence[PanelKind], width: Decimal, length: Decimal) -> Mix:
    """The fewest panels of `kinds`, all of one system, that make a floor of exactly `width` by `length`.

    Among layouts of equally many panels, the one with the fewest turned. Sides are above 0, in the card's unit of
    length. A floor of 40 by 40 of the panels' common measure takes a tenth of a second. Raises
    ValueError for one whose panels' sides add up to more than MOST_LENGTHS lengths.
    """
    panels = {(kind.panel_width, kind.panel_length): kind.panel for kind in reversed(kinds)}
    fewest = _fewest(panels, max(width, length))
    strips = _strips(fewest, width, length)
    if strips:
        placements = tuple(_lay(panels, fewest, strips, width, length))
        return Mix(placements, dict(Counter(placement.panel for placement in placements)), ())
    return Mix((), {}, _nearest(panels, width, length))


def _fewest(panels: Panels, longest: Decimal) -> Fewest:
    """For every size up to `longest` a side, without turning: panels, and the seam that divides it first.

    A seam is (`x` or `y`, width or length of the part beyond it); a single panel has (``, 0).
    """
    sides = _sums({side for sizes in panels for side in sizes}, longest)
    parts = {
        side: [(part, side - part) for part in sides if 2 * part <= side and side - part in sides] for side in sides
    }
    fewest: Fewest = {}
    for width in sorted(sides):
        for length in sorted(sides):
            whole = [(1 if (width, length) in panels else IMPOSSIBLE, "", Decimal(0))]
            across = [(fewest[rest, length][0] + fewest[part, length][0], "x", part) for part, rest in parts[width]]
            along = [(fewest[width, rest][0] + fewest[width, part][0], "y", part) for part, rest in parts[length]]
            fewest[width, length] = min(whole + across + along)
    return fewest


def _sums(sides: set[Decimal], most: Decimal) -> set[Decimal]:
    """Every sum of `sides` up to `most`, each as often as wanted."""
    sums: set[Decimal] = set()
    new = {Decimal(0)}
    while new:
        new = {total + side for total in new for side in sides if total + side <= most} - sums
        sums |= new
        if len(sums) > MOST_LENGTHS:
            raise ValueError(
                "a floor as large as this, of panels whose sides have so little in common, is too much to search"
            )
    return sums


class _Strips(NamedTuple):
    panels: int
    turned: int
    way: str
    """`x` where they lie side by side, `y` where one lies beyond the other."""
    parts: tuple[tuple[Decimal, int], ...]
    """The side that each takes up, and 1 where its panels are turned."""


def _strips(fewest: Fewest, width: Decimal, length: Decimal) -> _Strips | None:
    """The strips of fewest panels, and of those the ones with fewest turned."""
    across = {side: (fewest[side, length][0], fewest[length, side][0]) for side, other in fewest if other == length}
    along = {side: (fewest[width, side][0], fewest[side, width][0]) for side, other in fewest if other == width}
    found = [_divide(width, across, "x"), _divide(length, along, "y")]
    return min((strips for strips in found if strips), default=None)


def _divide(side: Decimal, costs: dict[Decimal, tuple[int, int]], way: str) -> _Strips | None:
    """`side` divided into strips at the least cost; `costs` gives a strip's panels, not turned and all turned."""
    best = {Decimal(0): _Strips(0, 0, way, ())}
    for end in sorted(part for part in costs if part <= side):
        reached = [
            _Strips(before.panels + count, before.turned + turned * count, way, (*before.parts, (part, turned)))
            for part, counts in costs.items()
            if (before := best.get(end - part))
            for turned, count in enumerate(counts)
            if count < IMPOSSIBLE
        ]
        if reached:
            best[end] = min(reached, key=lambda strips: (strips.panels, strips.turned, len(strips.parts)))
    return best.get(side)


def _lay(panels: Panels, fewest: Fewest, strips: _Strips, width: Decimal, length: Decimal) -> Iterator[Placement]:
    """The panels of the strips, those with turned ones last."""
    start = Decimal(0)
    for side, turned in sorted(strips.parts, key=lambda part: (part[1], -part[0])):
        block = (side, length) if strips.way == "x" else (width, side)
        corner = (start, Decimal(0)) if strips.way == "x" else (Decimal(0), start)
        yield from _turn(panels, fewest, block, corner) if turned else _divided(panels, fewest, block, corner)
        start += side


def _divided(panels: Panels, fewest: Fewest, block: Size, corner: Size) -> Iterator[Placement]:
    """A block of panels that are not turned, by the seams that divide it."""
    (width, length), (x, y) = block, corner
    _, way, part = fewest[block]
    if not way:
        yield Placement(panels[block], x, y, width, length, False)
    elif way == "x":
        yield from _divided(panels, fewest, (width - part, length), corner)
        yield from _divided(panels, fewest, (part, length), (x + width - part, y))
    else:
        yield from _divided(panels, fewest, (width, length - part), corner)
        yield from _divided(panels, fewest, (width, part), (x, y + length - part))


def _turn(panels: Panels, fewest: Fewest, block: Size, corner: Size) -> Iterator[Placement]:
    """A block of turned panels: laid unturned in the block's mirror image, and mirrored back."""
    for panel in _divided(panels, fewest, block[::-1], corner[::-1]):
        yield Placement(panel.panel, panel.y, panel.x, panel.length, panel.width, True)


def _nearest(panels: Panels, width: Decimal, length: Decimal) -> tuple[Size, ...]:
    """The sizes nearest to one that cannot be made, up to a panel's longest side larger."""
    fewest = _fewest(panels, max(width, length) + max(map(max, panels)))

    def change(size: Size) -> tuple[Decimal, Decimal, Size]:
        return abs(size[0] - width) + abs(size[1] - length), -size[0] * size[1], size

    found = []
    for size in sorted(fewest, key=change):
        if _strips(fewest, *size):
            found.append(size)
        if len(found) == MOST_NEAREST:
            break
    return tuple(found)


class Block(Placement):
    """Panels of one kind, all turned or none, that make a rectangle: placed as one panel of that size would be."""


def blocks(placements: Sequence[Placement]) -> tuple[Block, ...]:
    """The floor as rectangles of one kind each, the largest first: panels are joined along one way, then the other."""
    single = [Block(**vars(panel)) for panel in placements]
    ways = (("x", "width", "y", "length"), ("y", "length", "x", "width"))
    found = min((_joined(_joined(single, *one), *other) for one, other in (ways, ways[::-1])), key=len)
    return tuple(sorted(found, key=lambda block: -block.width * block.length))


def _joined(rectangles: Sequence[Block], at: str, side: str, across: str, other_side: str) -> list[Block]:
    """Each next to the one before it made one with it, along `at`, where their ends are alike."""

    def ends(block: Block) -> tuple[str, bool, Decimal, Decimal]:
        return block.panel, block.turned, getattr(block, across), getattr(block, other_side)

    joined: list[Block] = []
    for block in sorted(rectangles, key=lambda block: (ends(block), getattr(block, at))):
        last = joined[-1] if joined else None
        if last and ends(last) == ends(block) and getattr(last, at) + getattr(last, side) == getattr(block, at):
            joined[-1] = replace(last, **{side: getattr(last, side) + getattr(block, side)})
        else:
            joined.append(block)
    return joined
