"""The cautions on a crew's sheet, for one job and for the day: which apply, most dangerous first, and their numbers.

At most ten stand on a job's sheet. Every caution has its source beside it, and its clause by country in
`published.SOURCES`; local codes, the venue, the fire official and licensed trades decide. Each key has its sentence in
`templates/words.*.toml`. Weights are in the card's unit.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_DOWN, Decimal
from fractions import Fraction

from quotebook.engine.lifting import people_needed, recommended_weight
from quotebook.engine.loading import Load
from quotebook.engine.model import GRASS, HARD_INDOORS, PAVING, RateCard
from quotebook.engine.money import ZERO, round_up
from quotebook.engine.published import (
    DIRECT_TIEDOWN,
    LIFTING_HOURS,
    OTHER,
    PUSH,
    PUSH_SHARES,
    RAMP_SLOPE,
    TIEDOWN_SHARE,
    USA,
    VEHICLE_LIMITS,
)
from quotebook.engine.visits import Job, Visit


@dataclass(frozen=True)
class CrewCaution:
    """A caution for the crew's sheet: `numbers` go into its sentence, and the sentences of `parts` where it says so."""

    key: str
    numbers: Mapping[str, Decimal | str]
    parts: tuple["CrewCaution", ...] = ()


def crew_cautions(card: RateCard, job: Job) -> list[CrewCaution]:
    """What a crew should be told about a job. Raises loading.TooHeavy where its loads cannot be made up."""
    steps = [floor.edge_height for floor in job.floors if not floor.slot_pieces]
    found = (
        tiedowns(job.loads, card.strap_limit),
        commercial_vehicle(card.gross_weight + card.trailer_weight, card.firm.country, card.firm.length_unit),
        CrewCaution("raised", {}) if job.request.raised else None,
        lifting(card, job),
        carts(job.loads, job.request.surface, card.firm.length_unit),
        stairs(job.figures.flights_counted),
        CrewCaution("ground", {}) if job.request.surface in (GRASS, PAVING) else None,
        bare_edge(max(steps, default=ZERO), job.rates.step_limit),
        CrewCaution("way", {}),
        CrewCaution("wet", {}),
    )
    return [caution for caution in found if caution] if job.figures.panels else []


def owner_cautions(card: RateCard, job: Job) -> list[CrewCaution]:
    """What the owner should plan for before a quote is sent: trips, rules of the road, people for heavy lifts."""
    found = (
        overload(job),
        commercial_vehicle(card.gross_weight + card.trailer_weight, card.firm.country, card.firm.length_unit),
        lifting(card, job),
    )
    return [caution for caution in found if caution] if job.figures.panels else []


def overload(job: Job) -> CrewCaution | None:
    """More than the vehicle may carry, so more trips; the payload is on the vehicle's papers."""
    weight, payload = sum((load.weight for load in job.loads), ZERO), job.rates.payload
    numbers = {"weight": weight, "payload": payload, "trips": Decimal(len(job.loads))}
    return CrewCaution("overload", numbers) if weight > payload else None


def commercial_vehicle(gross_weight: Decimal, country: str, length_unit: str) -> CrewCaution | None:
    """The gross weight of vehicle and trailer at which the country's rules change; none for OTHER countries.

    From 10,001 lb on a vehicle is a commercial one in the USA (49 CFR 390.5); above 3,500 kg a licence of category B
    alone no longer does in the EU (2006/126/EC, article 4) and the UK.
    """
    if country == OTHER:
        return None
    limit = VEHICLE_LIMITS[country].in_units(length_unit)
    beyond = gross_weight >= limit if country == USA else gross_weight > limit
    key = "commercial_vehicle" if country == USA else "heavy_vehicle"
    return CrewCaution(key, {"gross_weight": gross_weight, "limit": limit}) if beyond else None


def tiedowns(loads: Sequence[Load], strap_limit: Decimal) -> CrewCaution | None:
    """How many straps the heaviest trip needs: their working load limits sum to half the cargo at least.

    A strap from the vehicle to the cargo counts half its limit, one that goes over the cargo and back to the vehicle
    the whole (49 CFR 393.106(d)).
    """
    if not loads:
        return None
    weight = max(load.weight for load in loads)
    least = _part(weight, TIEDOWN_SHARE)
    return CrewCaution("tiedowns", {
        "weight": weight, "least": least, "strap_limit": strap_limit,
        "over": round_up(least / strap_limit), "direct": round_up(least / _part(strap_limit, DIRECT_TIEDOWN)),
    })  # fmt: skip


def lifting(card: RateCard, job: Job) -> CrewCaution | None:
    """What is too heavy for one person over the job's hours, and how many people, or a lifting aid, each needs.

    For one person by NIOSH 94-110, for teams by HSE L23, paragraph 120.
    """
    hours = job.lifting_hours
    numbers: dict[str, Decimal | str] = {"hours": hours.quantize(Decimal("0.1")), "most_hours": LIFTING_HOURS}
    if hours > LIFTING_HOURS:
        return CrewCaution("long_lifting", numbers)
    lifts = [replace(lift, hours=hours) for lift in card.lifts]
    recommended = min(recommended_weight(lift, card.firm.length_unit) for lift in lifts)
    recommended = recommended.quantize(Decimal("0.1"), ROUND_DOWN)
    parts = tuple(_team(what, weight, recommended) for what, weight in _lifted(job) if weight > recommended)
    return CrewCaution("lifting", numbers | {"recommended": recommended}, parts) if parts else None


def _lifted(job: Job) -> Iterator[tuple[str, Decimal]]:
    """Each kind of panel and of sheet on the job, with the weight of one."""
    for code in dict.fromkeys(code for floor in job.floors for code in floor.panels):
        yield code, job.rates.listed_kind(code).panel_weight
    for code in dict.fromkeys(floor.sheets_of for floor in job.floors if floor.sheets):
        yield code, job.rates.listed_subfloor(code).sheet_weight


def _team(what: str, weight: Decimal, recommended: Decimal) -> CrewCaution:
    people = people_needed(weight, recommended)
    numbers: dict[str, Decimal | str] = {"what": what, "weight": weight}
    return CrewCaution("team", numbers | {"people": people}) if people else CrewCaution("lifting_aid", numbers)


def carts(loads: Sequence[Load], surface: str, length_unit: str) -> CrewCaution | None:
    """How many it takes to start the heaviest cart on that ground, and on a slope as steep as a ramp (HSE L23)."""
    weight = max((cart.weight for load in loads for cart in load.carts), default=ZERO)
    share = PUSH_SHARES["even" if surface in (PAVING, HARD_INDOORS) else "uneven"]
    one = PUSH.in_units(length_unit)
    numbers = {
        "weight": weight,
        "people": round_up(_part(weight, share) / one),
        "on_slope": round_up(_part(weight, share + RAMP_SLOPE) / one),
    }
    return CrewCaution("carts", numbers) if weight else None


def stairs(flights: Decimal) -> CrewCaution | None:
    """Panels and sheets are carried up, not wheeled on a loaded cart (common practice, no source)."""
    return CrewCaution("stairs", {"flights": flights}) if flights > 0 else None


def bare_edge(height: Decimal, step_limit: Decimal) -> CrewCaution | None:
    """An edge above 1/4 in without edging is a step (ADA 2010 Standards 303.2 to 303.4)."""
    return CrewCaution("bare_edge", {"height": height}) if height > step_limit else None


def long_day(visits: Sequence[Visit], day_hours: Decimal) -> CrewCaution | None:
    """A day, from leaving the yard to being back, longer than the owner's limit.

    Drivers' hours have a law of their own (49 CFR 395.3; Regulation (EC) 561/2006; Transport Act 1968).
    """
    hours = hours_away(visits)
    return CrewCaution("long_day", {"hours": hours, "day_hours": day_hours}) if hours > day_hours else None


def hours_away(visits: Sequence[Visit]) -> Decimal:
    """From the first leaving of the yard to the last being back, in hours to one decimal place."""
    if not visits:
        return ZERO
    seconds = (max(visit.back for visit in visits) - min(visit.leave for visit in visits)).total_seconds()
    return (Decimal(int(seconds)) / 3600).quantize(Decimal("0.1"))


def _part(amount: Decimal, share: Fraction) -> Decimal:
    return amount * share.numerator / share.denominator


CREW_CAUTIONS = (
    "tiedowns", "commercial_vehicle", "heavy_vehicle", "raised", "lifting", "long_lifting", "carts", "stairs", "ground",
    "bare_edge", "way", "wet", "overload", "long_day", "team", "lifting_aid",
)  # fmt: skip
"""The key of every caution, and of the parts of one."""
