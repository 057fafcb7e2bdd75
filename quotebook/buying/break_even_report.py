"""Says which of two floors costs less to own, in words and as JSON."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from textwrap import wrap

from quotebook.buying.break_even import (
    Comparison,
    Crossing,
    FloorCosts,
    Ground,
    Terms,
    crossing,
    figure,
    floor_costs,
    possible,
)
from quotebook.contract.local import Local, local_for
from quotebook.engine.model import CARPET_INDOORS, RateCard
from quotebook.engine.money import plain, round6
from quotebook.errors import Misuse
from quotebook.text_table import WIDTH, table

HIRES = tuple(map(Decimal, (5, 10, 20, 40, 80)))
"""Hires a year for which both floors are shown."""
USUAL_HIRES = Decimal(20)
"""Hires a year in the workbook where two floors never cost the same."""


def compare_on(
    card: RateCard, codes: tuple[str, str], surface: str, sides: tuple[Decimal, Decimal], terms: Terms
) -> Comparison:
    """Two kinds on `surface`, and on carpet if both may go there.

    Raises Misuse for one kind twice, and for a kind that is not on the card, has no price or cannot go on `surface`.
    """
    for code in codes:
        kind = card.rates.kind(code)
        if kind is None:
            raise Misuse(f"{code}: is not on the rate card, which has {', '.join(card.holdings)}.")
        if not card.holdings[kind.panel].purchase_price:
            raise Misuse(f"{kind.panel}: has no price on the rate card. Enter what a panel costs, on sheet Panels.")
        if not possible(card, code, surface):
            raise Misuse(f"{kind.panel}: cannot go on {surface}, by the rate card. Name two kinds that can.")
    if card.rates.kind(codes[0]) == card.rates.kind(codes[1]):
        raise Misuse(f"{codes[0]}: is named twice. Name two kinds to hold against each other.")
    surfaces = dict.fromkeys([surface, CARPET_INDOORS])
    grounds = [
        Ground(
            ground,
            (floor_costs(card, codes[0], ground, sides, terms), floor_costs(card, codes[1], ground, sides, terms)),
        )
        for ground in surfaces
        if all(possible(card, code, ground) for code in codes)
    ]
    hires = crossing(*grounds[0].costs).hires_from
    return Comparison(card, sides, terms, grounds, USUAL_HIRES if hires is None else Decimal(hires))


FIGURES = {
    "Panels": "panels", "Edging and corners": "edging", "Subfloor sheets": "sheets", "To buy": "cost",
    "Life, years": "life_years", "To own, a year": "owning_a_year", "Person-minutes": "person_minutes",
    "Trips": "trips", "Spent per hire": "spent_a_hire", "Charged per hire": "charged_a_hire",
}  # fmt: skip
"""The table's rows, and the figure in each."""


def say_break_even(comparison: Comparison) -> Iterator[str]:
    """The answer for each ground, and what it rests on."""
    card, terms, local = comparison.card, comparison.terms, local_for(comparison.card.firm)
    size = " x ".join(local.number(side) for side in comparison.sides)
    for ground in comparison.grounds:
        kinds = [costs.kind.panel for costs in ground.costs]
        yield f"{size} {card.firm.length_unit} on {ground.surface}, {card.firm.currency}, before tax:"
        rows = [[label, *(_shown(costs, name, local) for costs in ground.costs)] for label, name in FIGURES.items()]
        yield from table(("", *kinds), rows)
        yield ""
        headings = ("Hires a year", *(f"{kind} costs" for kind in kinds), *(f"{kind} hours" for kind in kinds))
        yield from table(headings, [_of_hires(ground, hires, local) for hires in HIRES])
        yield ""
        yield verdict(crossing(*ground.costs))
        yield ""
    codes = [costs.kind.panel for costs in comparison.grounds[0].costs]
    if not any(ground.surface == CARPET_INDOORS for ground in comparison.grounds):
        barred = [code for code in codes if not possible(card, code, CARPET_INDOORS)]
        yield f"On {CARPET_INDOORS} there is nothing to compare: {' and '.join(barred)} cannot go there."
    yield from wrap(
        f"Assumed: a crew member costs {local.amount(terms.crew_cost)} an hour, a trip "
        f"{local.amount(terms.trip_cost)}, money earns {local.number(terms.discount_rate * 100)} % a year.",
        WIDTH,
    )


def verdict(meeting: Crossing) -> str:
    """The answer in a sentence."""
    above, below = meeting.cheaper_above.kind.panel, meeting.cheaper_below.kind.panel
    if meeting.hires is None:
        return f"{above} is the cheaper to own at any number of hires."
    return f"From {meeting.hires_from} such hires a year on {above} is the cheaper to own; below that {below}."


def _shown(costs: FloorCosts, name: str, local: Local) -> str:
    if name == "edging":
        return local.number(costs.line.edging_pieces + costs.line.corners)
    if name == "person_minutes":
        return local.number(round6(costs.person_minutes))
    return local.amount(figure(costs, name))


def _of_hires(ground: Ground, hires: Decimal, local: Local) -> list[str]:
    costs = (local.amount(costs.cost_a_year(hires)) for costs in ground.costs)
    hours = (local.amount(round(costs.hours_a_year(hires), 1)) for costs in ground.costs)
    return [str(hires), *costs, *hours]


OF_KIND = (
    "panels", "edging_pieces", "corners", "sheets", "cost", "resale", "life_years", "owning_a_year",
    "person_minutes", "trips", "crew_a_hire", "trips_a_hire", "spent_a_hire", "charged_for_goods", "charged_for_labour",
    "charged_for_delivery",
)  # fmt: skip
COUNTS = ("panels", "edging_pieces", "corners", "sheets", "life_years", "trips")


def to_json(comparison: Comparison) -> dict[str, object]:
    """The comparison as JSON: counts as numbers, money and minutes as text, null for hires that there are none of."""
    return {
        "currency": comparison.card.firm.currency,
        "width": plain(comparison.sides[0]),
        "length": plain(comparison.sides[1]),
        **{name: plain(value) for name, value in vars(comparison.terms).items()},
        "grounds": [_ground_as_json(ground) for ground in comparison.grounds],
    }


def _ground_as_json(ground: Ground) -> dict[str, object]:
    meeting = crossing(*ground.costs)
    return {
        "surface": ground.surface,
        "kinds": [_kind_as_json(costs) for costs in ground.costs],
        "break_even_hires": None if meeting.hires is None else plain(meeting.hires),
        "hires_from": meeting.hires_from,
        "cheaper_below": meeting.cheaper_below.kind.panel,
        "cheaper_above": meeting.cheaper_above.kind.panel,
        "hires": [_hires_as_json(ground.costs, hires) for hires in HIRES],
    }


def _kind_as_json(costs: FloorCosts) -> dict[str, object]:
    figures = {name: figure(costs, name) for name in OF_KIND}
    return {"kind": costs.kind.panel, "laying": costs.line.laying} | {
        name: int(value) if name in COUNTS else f"{value:f}" for name, value in figures.items()
    }


def _hires_as_json(both: Sequence[FloorCosts], hires: Decimal) -> dict[str, object]:
    return {
        "hires_a_year": int(hires),
        "cost_a_year": {costs.kind.panel: f"{costs.cost_a_year(hires):f}" for costs in both},
        "hours_a_year": {costs.kind.panel: plain(round6(costs.hours_a_year(hires))) for costs in both},
    }
