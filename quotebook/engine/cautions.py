"""What a client should be told: notes on a floor line, cautions on the whole quote.

Every caution has its source beside it, and its clause by country in `published.SOURCES`. They are
reminders, never advice in place of a professional; local codes and licensed practice decide. Each
key has its sentence in `templates/words.*.toml`.
"""

from collections.abc import Callable, Sequence
from decimal import Decimal

from quotebook.engine.figures import Figures, LineFigures
from quotebook.engine.model import GRASS, NOT_HERE, PAVING, SURFACES, Rates, Request, same_text
from quotebook.engine.money import ZERO, round6


def line_notes(request: Request, figures: Figures, line: int) -> tuple[str, ...]:
    """Keys of the notes that stand beside floor line `line` (1 to 6), in the order of the sheet.

    Why a line cannot be had comes alone: nothing else is worth knowing of it until then. So does that its option is
    not picked.
    """
    asked, own = request.every_line[line - 1], figures.line(line)
    if request.leaves_out(asked):
        return ("not_picked",)
    counted = own.counted == 1
    width, length = (ZERO if side is None else side for side in (asked.width, asked.length))
    of_kind = sum(
        other.panels
        for other, floor in zip(figures.lines, request.every_line, strict=True)
        if same_text(floor.panel, asked.panel)
    )
    applies = {
        "not_on_card": asked.panel != "" and own.panel_width == 0,
        "size_needed": own.panel_width > 0 and not counted,
        "panel_needed": asked.panel == "" and (width != 0 or length != 0),
        "not_on_surface": counted and own.laying == NOT_HERE,
        "subfloor_added": own.sheets > 0,
        "not_enough_free": counted and of_kind > own.free,
        "rounded_up": counted and (round6(own.actual_width - width) > 0 or round6(own.actual_length - length) > 0),
        "no_edging_kept": counted and asked.edging_wanted and own.piece == 0,
        "edging_cut": own.cut_pieces > 0,
        "part_of_floor": counted and (asked.joined_width != 0 or asked.joined_length != 0),
    }
    found = tuple(key for key, true in applies.items() if true)
    return tuple(key for key in found if key in FORBIDDING) or found


FORBIDDING = ("not_on_card", "size_needed", "panel_needed", "not_on_surface", "not_enough_free")
"""The notes on a floor line that cannot be had as it stands: a quote with one of them is no offer."""


def quote_cautions(rates: Rates, request: Request, figures: Figures) -> tuple[str, ...]:
    """Keys of the cautions that stand on the client's quote, in the order of the sheet."""
    return tuple(key for key, applies in CAUTIONS.items() if applies(rates, request, figures))


def days_needed(rates: Rates, request: Request, figures: Figures) -> bool:
    """Nothing is priced without a whole number of days."""
    return figures.days_counted == 0


def surface_needed(rates: Rates, request: Request, figures: Figures) -> bool:
    """Which panels can be laid depends on the ground."""
    return request.surface not in SURFACES


def crowding(rates: Rates, request: Request, figures: Figures) -> bool:
    """More dancers than standing space (IBC Table 1004.5: 5 sq ft each, net). The fire official sets the limit."""
    return figures.panels > 0 and figures.dancers > figures.standing_room


def step(rates: Rates, request: Request, figures: Figures) -> bool:
    """An edge above 1/4 in left bare is a step, and no wheelchair crosses it (ADA 2010 Standards 303.2 to 303.4)."""
    return any(line.piece > 0 for line in _bare_steps(rates, figures))


def step_no_edging(rates: Rates, request: Request, figures: Figures) -> bool:
    """The step of a floor for which the firm keeps no edging: what else can be done (common practice, no source)."""
    return any(line.piece == 0 for line in _bare_steps(rates, figures))


def bevel(rates: Rates, request: Request, figures: Figures) -> bool:
    """Bevelled 1:2 up to 1/2 in, a ramp above, 1:12 or flatter (ADA 2010 Standards 303.3, 303.4, 405.2)."""
    return any(line.edging_fitted == 1 and line.edge_height > rates.step_limit for line in figures.lines)


def raised(rates: Rates, request: Request, figures: Figures) -> bool:
    """A room below, a deck, a pool cover, a stage, a roof may not carry what dance halls are designed for.

    That is 100 psf, 4.79 kPa (ASCE 7 Table 4.3-1, clause from memory). It is an entry of its own, not guessed from
    stairs, since a lift goes upstairs as well.
    """
    return request.raised and figures.panels > 0


def ground(rates: Rates, request: Request, figures: Figures) -> bool:
    """Soft, sloping, full of holes, pipes and cables: looked at first, and lines marked before stakes are driven.

    The sources are 49 CFR 196.103 and HSE HSG47.
    """
    return _outdoors(request, figures)


def weather(rates: Rates, request: Request, figures: Figures) -> bool:
    """Wind and lightning: a tent is no shelter from either (US National Weather Service)."""
    return _outdoors(request, figures)


def sun(rates: Rates, request: Request, figures: Figures) -> bool:
    """Dark panels in the sun burn bare feet (common practice, no source)."""
    return _outdoors(request, figures)


def room(rates: Rates, request: Request, figures: Figures) -> bool:
    """A floor with its edging leaves no clear way all round it (ADA 2010 Standards 403.5.1), either way it is turned.

    The room's sides are the client's entries; where only one is given, the shorter side of a floor is held against it.
    """
    given = [side for side in (request.room_width, request.room_length) if side is not None and side > 0]
    return any(_leaves_no_way(rates, line, given) for line in figures.lines if _begins(line))


def exits(rates: Rates, request: Request, figures: Figures) -> bool:
    """Exits and the ways to them stay clear (29 CFR 1910.37(a)(3); 89/654/EEC annex I)."""
    return figures.panels > 0


def cables(rates: Rates, request: Request, figures: Figures) -> bool:
    """Cables trip, and do not go with water (common practice, no source)."""
    return figures.panels > 0


def slippery(rates: Rates, request: Request, figures: Figures) -> bool:
    """Rain, dew, a wet mop (common practice, no source)."""
    return figures.panels > 0


def cleaning(rates: Rates, request: Request, figures: Figures) -> bool:
    """Wax, polish, powder and strong cleaners make a floor slippery or spoil it (common practice, no source)."""
    return figures.panels > 0


def tax(rates: Rates, request: Request, figures: Figures) -> bool:
    """Tax rates and what they apply to are the owner's entry."""
    return figures.tax != 0


def _bare_steps(rates: Rates, figures: Figures) -> list[LineFigures]:
    """The lines on which a floor begins whose edge is a step without edging."""
    return [
        line
        for line in figures.lines
        if line.floor_width > 0 and line.edging_fitted == 0 and line.edge_height > rates.step_limit
    ]


def _begins(line: LineFigures) -> bool:
    return line.floor_width > 0 and line.floor_length > 0


def _leaves_no_way(rates: Rates, line: LineFigures, given: Sequence[Decimal]) -> bool:
    """Whether a floor with a clear way round it is larger than the sides of the room that are given, one or both."""
    beyond = 2 * (rates.clear_way + (rates.edging_breadth if line.edging_fitted == 1 else ZERO))
    shorter, longer = sorted((line.floor_width, line.floor_length))
    if any(round6(shorter + beyond - side) > 0 for side in given):
        return True
    return len(given) == 2 and round6(longer + beyond - max(given)) > 0


def _outdoors(request: Request, figures: Figures) -> bool:
    return figures.panels > 0 and request.surface in (GRASS, PAVING)


CAUTIONS: dict[str, Callable[[Rates, Request, Figures], bool]] = {
    function.__name__: function
    for function in (
        days_needed, surface_needed, crowding, step, step_no_edging, bevel, raised, room, ground, weather, sun, exits,
        cables, slippery, cleaning, tax,
    )
}  # fmt: skip

ON_EVERY_QUOTE = ("ground", "weather", "sun", "exits", "cables", "slippery", "cleaning", "tax")
"""Cautions that nothing about a floor changes: an owner knows them, and need not be told of each quote anew."""
