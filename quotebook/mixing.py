"""Floors of several kinds of panel that lock together: asked for in a word, shown in characters and as JSON."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal

from .engine.laying import order
from .engine.mix import Block, Mix, blocks, mix
from .engine.model import PanelKind, RateCard
from .errors import Misuse
from .findings import plain
from .plan_text import draw
from .tables import table

_SIDE = r"\d{1,9}(?:\.\d{1,6})?"
MIX = re.compile(rf"(?P<codes>[^:+]+(?:\+[^:+]+)+):(?P<width>{_SIDE})[x×](?P<length>{_SIDE})", re.ASCII)


def parse_mix(text: str, card: RateCard) -> tuple[tuple[PanelKind, ...], Decimal, Decimal]:
    """The kinds, the width and the length that `CODE+CODE:WIDTHxLENGTH` asks for, in the card's unit.

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
    return tuple(dict.fromkeys(kinds.values())), *sides


def made(kinds: Sequence[PanelKind], width: Decimal, length: Decimal) -> Mix:
    """The fewest panels that make that floor exactly, in laying order. Raises Misuse for one too large to search."""
    try:
        found = mix(kinds, width, length)
    except ValueError as error:
        raise Misuse(
            f"{plain(width)} x {plain(length)}: {error}. Ask for a smaller floor, or for fewer kinds."
        ) from error
    return replace(found, placements=order(found.placements))


def say_mix(card: RateCard, kinds: Sequence[PanelKind], width: Decimal, length: Decimal) -> Iterator[str]:
    """The mix a line at a time: how many of each, the blocks that they lie in, the plan; or the nearest sizes."""
    found, unit = made(kinds, width, length), card.firm.length_unit
    if not found.placements:
        nearest = ", ".join(f"{plain(width)} x {plain(length)}" for width, length in found.nearest)
        yield f"No panels of {_codes(kinds)} make exactly {plain(width)} x {plain(length)} {unit}."
        yield f"Nearest: {nearest}."
        return
    yield f"{plain(width)} x {plain(length)} {unit} of {len(found.placements)} panels:"
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
        panel for panel in found.placements
        if block.x <= panel.x < block.x + block.width and block.y <= panel.y < block.y + block.length
    ]  # fmt: skip
    size = f"{plain(block.width)} x {plain(block.length)}"
    return block.panel, str(len(inside)), size, plain(block.x), plain(block.y), "turned" if block.turned else ""


def mix_as_json(kinds: Sequence[PanelKind], width: Decimal, length: Decimal) -> dict:
    """The mix with names as in `engine.mix`; lengths are texts, so that they stay exact."""
    found = made(kinds, width, length)
    return {
        "panels": [kind.panel for kind in kinds],
        "width": plain(width),
        "length": plain(length),
        "counts": found.counts,
        "placements": [
            {name: value if isinstance(value, (str, bool)) else plain(value) for name, value in vars(panel).items()}
            for panel in found.placements
        ],
        "nearest": [[plain(side) for side in size] for size in found.nearest],
    }


def _codes(kinds: Sequence[PanelKind]) -> str:
    return " and ".join(kind.panel for kind in kinds)
