"""Two kinds of panel for one floor on one ground: what each costs to own and to lay, and where they cost the same.

Money is in the card's currency and before tax, minutes are person-minutes of set-up and strike together. What is
bought for the floor is spread over the life of its panels as equal yearly amounts that earn the owner's rate
(an annuity), so that a floor that lasts twelve years can stand beside one that lasts eight.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple

from quotebook.engine.before_tax import delivery_before_tax, goods_before_tax, labour_before_tax
from quotebook.engine.figures import Figures, LineFigures
from quotebook.engine.model import NOT_HERE, FloorLine, Holding, PanelKind, RateCard, Request
from quotebook.engine.money import ONE, ZERO, money, round6, round_up
from quotebook.engine.payback import LONGEST_LIFE, net_present_value, payment
from quotebook.engine.price import price


@dataclass(frozen=True)
class Terms:
    """What the owner's work and money cost."""

    crew_cost: Decimal
    """One crew member, per hour."""
    trip_cost: Decimal
    """One trip with the vehicle, out and back and again for the strike."""
    discount_rate: Decimal
    """What the money could earn elsewhere, per year."""
    resale_share: Decimal = ZERO
    """Resale value at the end of the life, as a share of what was paid."""


@dataclass(frozen=True)
class FloorCosts:
    """One floor in one kind: what has to be bought for it, what a hire of a day costs, and what it brings in."""

    kind: PanelKind
    holding: Holding
    sheet_price: Decimal
    edging_wanted: bool
    figures: Figures
    """Of a hire of one day within the distance that the card includes; its first line is the floor."""
    cost: Decimal
    """To buy panels, edging and sheets."""
    resale: Decimal
    life_years: Decimal
    owning_a_year: Decimal
    """The equal yearly amounts that the purchase comes to over the life."""
    crew_a_hire: Decimal
    trips_a_hire: Decimal
    """What the trips cost."""
    charged_for_goods: Decimal
    """What a client pays for panels, edging and subfloor of one day, without tax; so are the next two."""
    charged_for_labour: Decimal
    charged_for_delivery: Decimal

    @property
    def line(self) -> LineFigures:
        return self.figures.line(1)

    @property
    def person_minutes(self) -> Decimal:
        return self.figures.setup_minutes + self.figures.strike_minutes

    @property
    def spent_a_hire(self) -> Decimal:
        return self.crew_a_hire + self.trips_a_hire

    @property
    def charged_a_hire(self) -> Decimal:
        return self.charged_for_goods + self.charged_for_labour + self.charged_for_delivery

    def cost_a_year(self, hires: Decimal) -> Decimal:
        """To own the floor and to lay it so many times a year."""
        return self.owning_a_year + hires * self.spent_a_hire

    def hours_a_year(self, hires: Decimal) -> Decimal:
        """Person-hours of so many hires."""
        return hires * self.person_minutes / 60


def figure(costs: FloorCosts, name: str) -> Decimal:
    """A figure of the floor by its name: of its costs, of its line or of the hire."""
    record = next(record for record in (costs, costs.line, costs.figures) if hasattr(record, name))
    found: Decimal = getattr(record, name)
    return found


class Crossing(NamedTuple):
    """Where two floors cost the same, or the one that costs less however often it goes out."""

    hires: Decimal | None
    """Hires a year at which they cost the same; None where one costs less at any number."""
    cheaper_below: FloorCosts
    cheaper_above: FloorCosts

    @property
    def hires_from(self) -> int | None:
        """The least whole number of hires a year at which `cheaper_above` costs no more."""
        return None if self.hires is None else int(round_up(self.hires))


def floor_costs(card: RateCard, code: str, surface: str, sides: tuple[Decimal, Decimal], terms: Terms) -> FloorCosts:
    """What a floor of these sides costs in a kind that may go on `surface`; edging as the card has it for that ground.

    Raises KeyError for a kind that is not on the card.
    """
    kind, minor_units = card.rates.listed_kind(code), int(card.rates.minor_units)
    edging_wanted = card.firm.edging_on(surface) and kind.piece > 0
    floor = FloorLine(kind.panel, *sides, edging_wanted)
    figures = price(card.rates, Request(days=ONE, surface=surface, lines=(floor,)))
    line, holding = figures.line(1), card.holdings[kind.panel]
    sheet_holding = card.sheet_holdings.get(kind.subfloor_kind)
    sheet_price = sheet_holding.purchase_price if sheet_holding else ZERO
    parts = (
        (line.panels, holding.purchase_price), (line.edging_pieces, holding.piece_price),
        (line.corners, holding.corner_price), (line.sheets, sheet_price),
    )  # fmt: skip
    cost = money(sum((count * each for count, each in parts), ZERO), minor_units)
    resale = money(cost * terms.resale_share, minor_units)
    life_years = min(round_up(holding.life_years), Decimal(LONGEST_LIFE))
    person_minutes = figures.setup_minutes + figures.strike_minutes
    return FloorCosts(
        kind=kind,
        holding=holding,
        sheet_price=sheet_price,
        edging_wanted=edging_wanted,
        figures=figures,
        cost=cost,
        resale=resale,
        life_years=life_years,
        owning_a_year=money(payment(terms.discount_rate, life_years, cost, resale), minor_units),
        crew_a_hire=money(person_minutes * terms.crew_cost / 60, minor_units),
        trips_a_hire=money(figures.trips * terms.trip_cost, minor_units),
        charged_for_goods=goods_before_tax(card.rates, figures),
        charged_for_labour=labour_before_tax(card.rates, figures),
        charged_for_delivery=delivery_before_tax(card.rates, figures),
    )


def crossing(one: FloorCosts, other: FloorCosts) -> Crossing:
    """Where two floors cost the same a year.

    Each costs so much a year to own and so much a hire, two straight lines: they meet at the difference of the
    first over the difference of the second. Of two that never meet above 0 hires one costs less throughout.
    """
    more_to_own = one.owning_a_year - other.owning_a_year
    saved_a_hire = other.spent_a_hire - one.spent_a_hire
    if more_to_own * saved_a_hire > 0:
        below, above = (other, one) if saved_a_hire > 0 else (one, other)
        return Crossing(round6(more_to_own / saved_a_hire), below, above)
    cheaper = one if more_to_own < 0 or (more_to_own == 0 and saved_a_hire >= 0) else other
    return Crossing(None, cheaper, cheaper)


class YearOfCosts(NamedTuple):
    """What one year takes."""

    spent: Decimal
    """For the purchase in year 0, then for the hires, less the resale in the last."""
    worth: Decimal
    """Of it today."""


def years_of_costs(costs: FloorCosts, hires: Decimal, terms: Terms, minor_units: int) -> list[YearOfCosts]:
    """Year by year from the purchase to LONGEST_LIFE; nothing after the life."""
    found = [YearOfCosts(costs.cost, costs.cost)]
    for year in range(1, LONGEST_LIFE + 1):
        spent = ZERO
        if year <= costs.life_years:
            spent = money(hires * costs.spent_a_hire, minor_units)
            spent -= costs.resale if year == costs.life_years else ZERO
        found.append(YearOfCosts(spent, spent / (1 + terms.discount_rate) ** year))
    return found


def level_cost(costs: FloorCosts, years: Sequence[YearOfCosts], terms: Terms, minor_units: int) -> Decimal:
    """The equal yearly amounts that a table of years comes to: its present value, spread over the life."""
    spent = [year.spent for year in years]
    present = spent[0] + net_present_value(terms.discount_rate, spent[1:])
    return money(payment(terms.discount_rate, costs.life_years, present, ZERO), minor_units)


def possible(card: RateCard, code: str, surface: str) -> bool:
    """Whether a kind may go on a ground."""
    return card.rates.listed_kind(code).laying(surface) != NOT_HERE


class Ground(NamedTuple):
    """Both kinds on one ground."""

    surface: str
    costs: tuple[FloorCosts, FloorCosts]


class Comparison(NamedTuple):
    """Two kinds for one floor, on each ground on which both may go."""

    card: RateCard
    sides: tuple[Decimal, Decimal]
    terms: Terms
    grounds: Sequence[Ground]
    hires_a_year: Decimal
    """Hires for which a year is shown."""
