"""What a person should be told: notes on a floor line, cautions on the whole quote, cautions for the crew.

Every caution has its source beside it. They are reminders, never advice in place of a
professional; local codes and licensed practice decide. Each key has its sentence in
`templates/words.*.toml`.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from quotebook.engine.figures import Figures, LineFigures
from quotebook.engine.model import NOT_HERE, SURFACES, Rates, Request, same_text
from quotebook.engine.money import ZERO, round6


def line_notes(request: Request, figures: Figures, line: int) -> tuple[str, ...]:
    """Keys of the notes that stand beside floor line `line` (1 to 6), in the order of the sheet.

    Why a line cannot be had comes alone: nothing else is worth knowing of it until then.
    """
    asked, own = request.every_line[line - 1], figures.line(line)
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
    """More dancers than standing space: 5 sq ft a person net (IBC Table 1004.5). The fire official sets the limit."""
    return figures.panels > 0 and figures.dancers > figures.standing_room


def step(rates: Rates, request: Request, figures: Figures) -> bool:
    """An edge above 1/4 in left bare is a step, and no wheelchair crosses it (ADA 2010 Standards 303.2 to 303.4)."""
    return any(line.floor_width > 0 and line.edging_fitted == 0 for line in _thick_lines(rates, figures))


def bevel(rates: Rates, request: Request, figures: Figures) -> bool:
    """Bevelled 1:2 up to 1/2 in, a ramp above, 1:12 or flatter (ADA 2010 Standards 303.3, 303.4, 405.2)."""
    return any(line.edging_fitted == 1 for line in _thick_lines(rates, figures))


def upstairs(rates: Rates, request: Request, figures: Figures) -> bool:
    """Dance halls are designed for 100 psf, 4.79 kPa (ASCE 7 Table 4.3-1, clause from memory)."""
    return figures.flights_counted > 0


def slippery(rates: Rates, request: Request, figures: Figures) -> bool:
    """Rain, dew, a wet mop (common practice, no source)."""
    return figures.panels > 0


def tax(rates: Rates, request: Request, figures: Figures) -> bool:
    """Tax rates and what they apply to are the owner's entry."""
    return figures.tax != 0


def _thick_lines(rates: Rates, figures: Figures) -> list[LineFigures]:
    return [line for line in figures.lines if line.counted == 1 and line.thickness > rates.step_limit]


CAUTIONS: dict[str, Callable[[Rates, Request, Figures], bool]] = {
    function.__name__: function
    for function in (days_needed, surface_needed, crowding, step, bevel, upstairs, slippery, tax)
}


@dataclass(frozen=True)
class CrewCaution:
    """A caution for the crew's sheet: `numbers` go into its sentence. Weights are in the card's unit."""

    key: str
    numbers: Mapping[str, Decimal | str]


COMMERCIAL_VEHICLE = {"ft": Decimal(10001), "m": Decimal(4536)}
"""Gross weight from which a vehicle is a commercial one, lb or kg by the card's unit of length (49 CFR 390.5)."""


def lifting(what: str, weight: Decimal, recommended: Decimal) -> CrewCaution | None:
    """A panel or sheet heavier than is recommended for its lift (`lifting.recommended_weight`, NIOSH 94-110)."""
    numbers: dict[str, Decimal | str] = {"what": what, "weight": weight, "recommended": recommended}
    return CrewCaution("lifting", numbers) if weight > recommended else None


def overload(weight: Decimal, payload: Decimal, trips: Decimal) -> CrewCaution | None:
    """More than the vehicle may carry, so more trips; the payload is on the vehicle's papers."""
    numbers = {"weight": weight, "payload": payload, "trips": trips}
    return CrewCaution("overload", numbers) if weight > payload else None


def commercial_vehicle(gross_weight: Decimal, length_unit: str) -> CrewCaution | None:
    """From 10,001 lb (4,536 kg) gross, rules for commercial vehicles may apply (49 CFR 390.5)."""
    limit = COMMERCIAL_VEHICLE[length_unit]
    numbers = {"gross_weight": gross_weight, "limit": limit}
    return CrewCaution("commercial_vehicle", numbers) if gross_weight >= limit else None


def tiedowns(trip_weight: Decimal) -> CrewCaution | None:
    """Working load limits of the tiedowns sum to at least half the weight of the cargo (49 CFR 393.106(d))."""
    return CrewCaution("tiedowns", {"weight": trip_weight, "least": trip_weight / 2}) if trip_weight > 0 else None


def bare_edge(thickness: Decimal, step_limit: Decimal, edging_fitted: Decimal) -> CrewCaution | None:
    """An edge above 1/4 in without edging is a step (ADA 2010 Standards 303.2 to 303.4)."""
    numbers = {"thickness": thickness, "limit": step_limit}
    return CrewCaution("bare_edge", numbers) if thickness > step_limit and not edging_fitted else None


def stairs(flights: Decimal) -> CrewCaution | None:
    """Panels and sheets are carried up, not wheeled on a loaded cart (common practice, no source)."""
    return CrewCaution("stairs", {"flights": flights}) if flights > 0 else None


def wet(panels: Decimal) -> CrewCaution | None:
    """Rain, dew, a wet mop (common practice, no source)."""
    return CrewCaution("wet", {}) if panels > 0 else None


CREW_CAUTIONS = (lifting, overload, commercial_vehicle, tiedowns, bare_edge, stairs, wet)
"""Each is named by its key and gives its caution where it applies."""
