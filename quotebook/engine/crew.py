"""The cautions that stand on a crew's sheet, for one job: which of `cautions.CREW_CAUTIONS` apply, and how often."""

from collections.abc import Iterator
from decimal import ROUND_DOWN, Decimal

from quotebook.engine import cautions
from quotebook.engine.cautions import CrewCaution
from quotebook.engine.lifting import recommended_weight
from quotebook.engine.model import RateCard
from quotebook.engine.money import ZERO
from quotebook.engine.visits import Job

OWNERS = ("overload", "commercial_vehicle", "lifting")
"""Keys of the cautions that concern the owner too, who plans people and trips."""


def crew_cautions(card: RateCard, job: Job) -> list[CrewCaution]:
    """What a crew should be told about a job: load, vehicle, straps, lifts, stairs, bare edges, wet."""
    figures, step_limit = job.figures, job.rates.step_limit
    heaviest = max((sum((cart.weight for cart in load), ZERO) for load in job.loads), default=ZERO)
    bare = {
        floor.thickness: cautions.bare_edge(floor.thickness, step_limit, Decimal(floor.slot_pieces))
        for floor in job.floors
    }
    found = (
        cautions.overload(figures.weight, job.rates.payload, Decimal(len(job.loads))),
        cautions.commercial_vehicle(card.gross_weight, card.firm.length_unit),
        cautions.tiedowns(heaviest),
        *_lifts(card, job),
        cautions.stairs(figures.flights_counted),
        *bare.values(),
        cautions.wet(figures.panels),
    )
    return [caution for caution in found if caution]


def _lifts(card: RateCard, job: Job) -> Iterator[CrewCaution | None]:
    """A caution for each kind of panel and of sheet that is too heavy for the lower limit of the lift's two ends."""
    recommended = min(recommended_weight(lift, card.firm.length_unit) for lift in card.lifts)
    recommended = recommended.quantize(Decimal("0.1"), ROUND_DOWN)
    for code in dict.fromkeys(code for floor in job.floors for code in floor.panels):
        yield cautions.lifting(code, job.rates.listed_kind(code).panel_weight, recommended)
    for code in dict.fromkeys(floor.sheets_of for floor in job.floors if floor.sheets):
        yield cautions.lifting(code, job.rates.listed_subfloor(code).sheet_weight, recommended)
