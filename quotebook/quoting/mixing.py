"""Fills a floor with several kinds of panel that lock together: reads the request, shows the plan as text or JSON."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from textwrap import wrap
from typing import NamedTuple

from quotebook.engine.floor import dancers
from quotebook.engine.laying import order
from quotebook.engine.mix import Block, Mix, blocks, mix
from quotebook.engine.model import OVER_SUBFLOOR, FloorLine, PanelKind, RateCard
from quotebook.engine.money import ZERO, plain
from quotebook.errors import Misuse
from quotebook.quoting.advising import crowding_caution
from quotebook.quoting.plan_text import draw_plan
from quotebook.quoting.requests import SIDE, TIMES, parse_floor, split_option
from quotebook.text_table import WIDTH, table

MIX = re.compile(
    rf"(?P<codes>[^:+]+(?:\+[^:+]+)+):(?P<width>{SIDE}){TIMES}(?P<length>{SIDE})(?::(?P<edging>edging|bare))?",
    re.ASCII,
)


class MixRequest(NamedTuple):
    """A request for one floor of several kinds of panel."""

    kinds: tuple[PanelKind, ...]
    width: Decimal
    length: Decimal
    edging: str
    """`edging`, `bare`, or empty if the request has neither."""


def parse_mix(text: str, card: RateCard) -> MixRequest:
    """The floor that `CODE+CODE:WIDTHxLENGTH[:edging|:bare]` asks for, in the card's unit of length.

    Raises Misuse for a text of another form, a side that is too long, a code that is not on the
    card, and kinds that the card does not put in one system.
    """
    match = MIX.fullmatch(text.strip())
    if not match:
        example = "+".join(kind.panel for kind in card.rates.kinds[:2])
        raise Misuse(f'"{text}" is not a mix of panels; allowed: CODE+CODE:WIDTHxLENGTH, such as {example}:14x20')
    codes = [code.strip() for code in match["codes"].split("+")]
    kinds = {code: kind for code in codes if (kind := card.rates.kind(code))}
    if unknown := [code for code in codes if code not in kinds]:
        raise Misuse(f"{', '.join(unknown)}: not on the rate card; it has {', '.join(card.holdings)}")
    systems = {code: card.holdings[kind.panel].system for code, kind in kinds.items()}
    if len(set(systems.values())) > 1 or "" in systems.values():
        said = ", ".join(f"{code} has {system or 'none'}" for code, system in systems.items())
        raise Misuse(f"These panels do not lock together: in the rate card's column system, {said}.")
    sides = Decimal(match["width"]), Decimal(match["length"])
    if not all(0 < side <= card.rates.longest_side for side in sides):
        raise Misuse(f"{text}: each side must be above 0 and at most {card.rates.longest_side}")
    return MixRequest(tuple(dict.fromkeys(kinds.values())), *sides, match["edging"] or "")


def floor_lines(text: str, card: RateCard, surface: str) -> tuple[FloorLine, ...]:
    """The lines of a quote for one floor: one for `CODE:WIDTHxLENGTH`, one for each block of one kind in a mix.

    A letter and `=` in front of it is the option that the floor belongs to, with all of its lines.
    A mix has the edging and the subfloor of the whole floor on its first line. Edging is counted by
    whole sides: a side that ends with turned panels shows both slots and tongues, and may need one
    piece more (24 of 1,120 floors of the shipped card's oak, sides up to 30 ft). Raises Misuse if
    `parse_floor` or `parse_mix` does, if the size cannot be filled, and if `surface` needs the kinds
    to be laid differently.
    """
    option, floor = split_option(text)
    return tuple(replace(line, option=option) for line in _lines_of_floor(floor, card, surface))


def _lines_of_floor(text: str, card: RateCard, surface: str) -> tuple[FloorLine, ...]:
    if "+" not in text.partition(":")[0]:
        return (parse_floor(text, card, surface),)
    asked = parse_mix(text, card)
    layings = {
        (kind.laying(surface), kind.subfloor_kind * (kind.laying(surface) == OVER_SUBFLOOR)) for kind in asked.kinds
    }
    if len(layings) > 1:
        raise Misuse(f"{text}: these panels are not laid in one way on {surface}. Give each a floor of its own.")
    found = fill_floor(asked.kinds, asked.width, asked.length)
    if not found.placements:
        raise Misuse(" ".join(_cannot_be_made(card, asked, found)))
    return _lines(card, asked, blocks(found.placements), surface)


def _lines(card: RateCard, asked: MixRequest, found: Sequence[Block], surface: str) -> tuple[FloorLine, ...]:
    """A line for each block, from the near left corner on, where the plan has the first of them.

    The first line decides the edging, so a block whose kind has edging comes before any other.
    """
    pieces = {kind.panel: kind.piece for kind in asked.kinds}
    first, *others = sorted(found, key=lambda block: (not pieces[block.panel], block.y, block.x))
    edging = asked.edging == "edging" if asked.edging else card.firm.edging_on(surface) and pieces[first.panel] > 0
    further = [_line(asked, each, edging, (-each.width, -each.length)) for each in others]
    return _line(asked, first, edging, (asked.width - first.width, asked.length - first.length)), *further


def _line(asked: MixRequest, block: Block, edging: bool, joined: tuple[Decimal, Decimal]) -> FloorLine:
    """The line of a block that adds as much as `joined` to the floor's edges, with where it lies on the whole floor."""
    right, beyond = asked.width - block.x - block.width, asked.length - block.y - block.length
    return FloorLine(block.panel, block.width, block.length, edging, *joined, right, beyond)


def fill_floor(kinds: Sequence[PanelKind], width: Decimal, length: Decimal) -> Mix:
    """The fewest panels that fill that floor exactly, in laying order. Raises Misuse if it is too large to search."""
    try:
        found = mix(kinds, width, length)
    except ValueError as error:
        raise Misuse(
            f"{plain(width)} x {plain(length)}: {error}. Ask for a smaller floor, or for fewer kinds."
        ) from error
    return replace(found, placements=order(found.placements))


def say_mix(card: RateCard, asked: MixRequest, guests: Decimal = ZERO) -> Iterator[str]:
    """The mix as lines of text: how many of each kind, their blocks and the plan; or the nearest possible sizes.

    Sizes on which the guests who dance have standing space come first; where the size asked for is too small for them,
    the caution says so.
    """
    found, unit = fill_floor(asked.kinds, asked.width, asked.length), card.firm.length_unit
    yield from wrap(crowding_caution(card, guests, asked.width * asked.length), WIDTH)
    if not found.placements:
        yield from _cannot_be_made(card, asked, _with_room_first(card, guests, found))
        return
    yield f"{plain(asked.width)} x {plain(asked.length)} {unit} of {len(found.placements)} panels:"
    headings = ("panel", "panels", f"block, {unit}", "from the left", "from the near end", "")
    yield from table(headings, (_block_row(block, found) for block in blocks(found.placements)))
    plan = draw_plan(found.placements)
    yield ""
    if plan:
        yield "The plan, with the near end at the bottom and panels numbered in laying order:"
        yield from plan
    else:
        yield "The plan is too wide to draw here. The day sheet shows it."


def _with_room_first(card: RateCard, guests: Decimal, found: Mix) -> Mix:
    """The mix with those of its nearest sizes first that have standing space for the guests who dance."""
    needed = dancers(guests, card.rates.dancers_share) * card.rates.crowding_area
    return replace(found, nearest=tuple(sorted(found.nearest, key=lambda size: size[0] * size[1] < needed)))


def _block_row(block: Block, found: Mix) -> tuple[str, ...]:
    inside = [
        panel
        for panel in found.placements
        if block.x <= panel.x < block.x + block.width and block.y <= panel.y < block.y + block.length
    ]
    size = f"{plain(block.width)} x {plain(block.length)}"
    return block.panel, str(len(inside)), size, plain(block.x), plain(block.y), "turned" if block.turned else ""


def mix_as_json(card: RateCard, asked: MixRequest, guests: Decimal = ZERO) -> dict[str, object]:
    """The mix under the names of `engine.mix`; lengths are texts, so that they stay exact."""
    found = _with_room_first(card, guests, fill_floor(asked.kinds, asked.width, asked.length))
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
        "crowding": bool(crowding_caution(card, guests, asked.width * asked.length)),
    }


def _cannot_be_made(card: RateCard, asked: MixRequest, found: Mix) -> Iterator[str]:
    kinds = " and ".join(kind.panel for kind in asked.kinds)
    size = f"{plain(asked.width)} x {plain(asked.length)} {card.firm.length_unit}"
    nearest = ", ".join(f"{plain(width)} x {plain(length)}" for width, length in found.nearest)
    yield f"Panels of {kinds} cannot fill exactly {size}."
    yield f"Nearest sizes: {nearest}."
