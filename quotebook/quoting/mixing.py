"""Floors of several kinds of panel that lock together: asked for in a word, shown in characters and as JSON."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import NamedTuple

from quotebook.engine.laying import order
from quotebook.engine.mix import Block, Mix, blocks, mix
from quotebook.engine.model import OVER_SUBFLOOR, FloorLine, PanelKind, RateCard
from quotebook.engine.money import plain
from quotebook.errors import Misuse
from quotebook.quoting.plan_text import draw
from quotebook.quoting.requests import parse_floor
from quotebook.text_table import table

_SIDE = r"\d{1,9}(?:\.\d{1,6})?"
MIX = re.compile(
    rf"(?P<codes>[^:+]+(?:\+[^:+]+)+):(?P<width>{_SIDE})[x×](?P<length>{_SIDE})(?::(?P<edging>edging|bare))?", re.ASCII
)


class Asked(NamedTuple):
    """A floor of several kinds, as it was asked for."""

    kinds: tuple[PanelKind, ...]
    width: Decimal
    length: Decimal
    edging: str
    """`edging`, `bare`, or empty where nothing was said."""


def parse_mix(text: str, card: RateCard) -> Asked:
    """What `CODE+CODE:WIDTHxLENGTH[:edging|:bare]` asks for, in the card's unit of length.

    Raises Misuse for text of another form, sides that are not priced, codes that are not on the card,
    and kinds that are not of one system there.
    """
    match = MIX.fullmatch(text.strip())
    if not match:
        raise Misuse(
            f'"{text}" asks for no mix of panels; allowed: CODE+CODE:WIDTHxLENGTH, such as OAK-44+OAK-42:14x20'
        )
    kinds = {code: card.rates.kind(code) for code in map(str.strip, match["codes"].split("+"))}
    if unknown := [code for code, kind in kinds.items() if kind is None]:
        raise Misuse(f"{', '.join(unknown)}: not on the rate card; it has {', '.join(card.holdings)}")
    systems = {code: card.holdings[kind.panel].system for code, kind in kinds.items()}
    if len(set(systems.values())) > 1 or "" in systems.values():
        said = ", ".join(f"{code} is of {system or 'none'}" for code, system in systems.items())
        raise Misuse(f"These panels do not lock together: by the rate card's column system, {said}.")
    sides = Decimal(match["width"]), Decimal(match["length"])
    if not all(0 < side <= card.rates.longest_side for side in sides):
        raise Misuse(f"{text}: each side must be above 0 and at most {card.rates.longest_side}")
    return Asked(tuple(dict.fromkeys(kinds.values())), *sides, match["edging"] or "")


def floor_lines(text: str, card: RateCard, surface: str) -> tuple[FloorLine, ...]:
    """The lines of a quote for one floor: `CODE:WIDTHxLENGTH` is one, of a mix each block of one kind is one.

    Edging and subfloor of a mix are on its first line, for the whole floor, edging by whole sides: where
    turned panels end a side, which then shows slots and tongues, one piece more may be needed (24 of 1,120
    floors of the shipped card's oak, sides up to 30 ft). Raises Misuse for what
    `parse_floor` or `parse_mix` refuse, for a size that cannot be made, and for kinds that `surface`
    does not take alike.
    """
    if "+" not in text.partition(":")[0]:
        return (parse_floor(text, card, surface),)
    asked = parse_mix(text, card)
    layings = {
        (kind.laying(surface), kind.subfloor_kind * (kind.laying(surface) == OVER_SUBFLOOR)) for kind in asked.kinds
    }
    if len(layings) > 1:
        raise Misuse(f"{text}: these panels are not laid alike on {surface}: give each a floor of its own.")
    found = made(asked.kinds, asked.width, asked.length)
    if not found.placements:
        raise Misuse(" ".join(_cannot_be_made(card, asked, found)))
    return _lines(card, asked, blocks(found.placements), surface)


def _lines(card: RateCard, asked: Asked, found: Sequence[Block], surface: str) -> tuple[FloorLine, ...]:
    """A line for each block; the first is the largest whose kind has edging, since edging goes by its kind."""
    pieces = {kind.panel: kind.piece for kind in asked.kinds}
    first, *others = sorted(found, key=lambda block: not pieces[block.panel])
    edging = asked.edging == "edging" if asked.edging else card.firm.edging_on(surface) and pieces[first.panel] > 0
    further = [FloorLine(each.panel, each.width, each.length, edging, -each.width, -each.length) for each in others]
    whole = asked.width - first.width, asked.length - first.length
    return FloorLine(first.panel, first.width, first.length, edging, *whole), *further


def made(kinds: Sequence[PanelKind], width: Decimal, length: Decimal) -> Mix:
    """The fewest panels that make that floor exactly, in laying order. Raises Misuse for one too large to search."""
    try:
        found = mix(kinds, width, length)
    except ValueError as error:
        raise Misuse(
            f"{plain(width)} x {plain(length)}: {error}. Ask for a smaller floor, or for fewer kinds."
        ) from error
    return replace(found, placements=order(found.placements))


def say_mix(card: RateCard, asked: Asked) -> Iterator[str]:
    """The mix a line at a time: how many of each, the blocks that they lie in, the plan; or the nearest sizes."""
    found, unit = made(asked.kinds, asked.width, asked.length), card.firm.length_unit
    if not found.placements:
        yield from _cannot_be_made(card, asked, found)
        return
    yield f"{plain(asked.width)} x {plain(asked.length)} {unit} of {len(found.placements)} panels:"
    headings = ("panel", "panels", f"block, {unit}", "from the left", "from the near end", "")
    yield from table(headings, (_block_row(block, found) for block in blocks(found.placements)))
    plan = draw(found.placements)
    yield ""
    if plan:
        yield "The plan, near end below, numbered in the order of laying:"
        yield from plan
    else:
        yield "The plan is too wide to draw here; the day sheet draws it."


def _block_row(block: Block, found: Mix) -> tuple[str, ...]:
    inside = [
        panel
        for panel in found.placements
        if block.x <= panel.x < block.x + block.width and block.y <= panel.y < block.y + block.length
    ]
    size = f"{plain(block.width)} x {plain(block.length)}"
    return block.panel, str(len(inside)), size, plain(block.x), plain(block.y), "turned" if block.turned else ""


def mix_as_json(asked: Asked) -> dict:
    """The mix with names as in `engine.mix`; lengths are texts, so that they stay exact."""
    found = made(asked.kinds, asked.width, asked.length)
    return {
        "panels": [kind.panel for kind in asked.kinds],
        "width": plain(asked.width),
        "length": plain(asked.length),
        "counts": found.counts,
        "placements": [
            {name: value if isinstance(value, (str, bool)) else plain(value) for name, value in vars(panel).items()}
            for panel in found.placements
        ],
        "nearest": [[plain(side) for side in size] for size in found.nearest],
    }


def _cannot_be_made(card: RateCard, asked: Asked, found: Mix) -> Iterator[str]:
    kinds = " and ".join(kind.panel for kind in asked.kinds)
    size = f"{plain(asked.width)} x {plain(asked.length)} {card.firm.length_unit}"
    nearest = ", ".join(f"{plain(width)} x {plain(length)}" for width, length in found.nearest)
    yield f"No panels of {kinds} make exactly {size}."
    yield f"Nearest: {nearest}."
