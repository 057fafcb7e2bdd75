"""Whether a kind of panel pays for itself: what it costs, what it earns, when, and at which price.

Money is in the card's currency, times are in months or years, shares and rates are fractions of
one. The hires of a kind are taken to be alike, and each year like the one before.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_FLOOR, Decimal
from itertools import accumulate
from typing import NamedTuple

from quotebook.engine.money import ONE, ZERO, money, round6, round_up

STRAIGHT_LINE, FIVE_YEARS, SEVEN_YEARS = DEPRECIATIONS = ("straight line", "5-year table", "7-year table")

TAX_TABLES = {
    FIVE_YEARS: tuple(map(Decimal, ("0.20", "0.32", "0.192", "0.1152", "0.1152", "0.0576"))),
    SEVEN_YEARS: tuple(map(Decimal, ("0.1429", "0.2449", "0.1749", "0.1249", "0.0893", "0.0892", "0.0893", "0.0446"))),
}
"""Share of the cost written off each year, half-year convention (IRS Pub. 946, Table A-1).

Which class a hire panel is in, the owner's accountant decides.
"""

LONGEST_LIFE = 20
"""Years that are worked out."""

STEPS = tuple(map(Decimal, ("-0.2", "-0.1", "0", "0.1", "0.2")))
"""Rungs of the price ladder: the share by which the rate is raised."""


@dataclass(frozen=True)
class Plan:
    """What one kind of panel costs and earns."""

    kind: str
    panels: Decimal
    purchase_price: Decimal
    """For one panel."""
    hires_a_month: Decimal
    panels_a_hire: Decimal
    rate: Decimal
    """Earned by one panel in one hire, net of discount."""
    labour_a_hire: Decimal
    """What the client pays for the crew."""
    crew_hours_a_hire: Decimal
    """Person-hours of set-up and strike."""
    crew_cost: Decimal
    """What one crew member costs the firm per hour."""
    life_years: Decimal
    """A whole number up to LONGEST_LIFE."""
    resale: Decimal
    """For all the panels at the end of their life."""
    discount_rate: Decimal
    """What the money could earn elsewhere, per year."""
    tax_share: Decimal
    """Tax as a share of each year's profit."""
    depreciation: str
    """One of DEPRECIATIONS."""


class Year(NamedTuple):
    """One year of a plan."""

    written_off: Decimal
    tax: Decimal
    """Negative where a loss saves tax on other profit."""
    flow: Decimal
    """Earned after tax."""
    balance: Decimal
    """Earned so far, less the cost."""


class Rung(NamedTuple):
    """The plan at another rate."""

    rate: Decimal
    net_a_hire: Decimal
    net_a_year: Decimal
    """With as many hires as planned."""
    hires_to_lose: Decimal | None
    """Hires a year that may be lost before it is worse than the plan; negative, those that must be won.

    None where a hire earns nothing at this rate."""


def payback(plan: Plan, minor_units: int) -> dict[str, Decimal | None]:
    """The figures of a plan by name. None where a plan never pays back, or a hire earns nothing."""
    figures = _of_hires(plan, minor_units)
    cost, net_a_hire = figures["cost"], figures["net_a_hire"]
    flows = [year.flow for year in years(plan, minor_units)]
    pays_back = years_to_pay_back(cost, flows)
    internal_rate = internal_rate_of_return([-cost, *flows]) if pays_back is not None else None
    needed_a_year = money(payment(plan.discount_rate, plan.life_years, cost, plan.resale), minor_units)
    return figures | {
        "months_to_pay_back": None if pays_back is None else round6(12 * pays_back),
        "net_present_value": money(net_present_value(plan.discount_rate, flows) - cost, minor_units),
        "internal_rate_of_return": None if internal_rate is None else round6(internal_rate),
        "break_even_hires": round_up(cost / net_a_hire) if net_a_hire > 0 else None,
        "needed_a_year": needed_a_year,
        "hires_needed_a_year": round_up(needed_a_year / net_a_hire) if net_a_hire > 0 else None,
    }


def _of_hires(plan: Plan, minor_units: int) -> dict[str, Decimal]:
    """What a hire, a month and a year leave when the crew is paid."""
    cost = money(plan.panels * plan.purchase_price, minor_units)
    earned_a_hire = money(plan.panels_a_hire * plan.rate, minor_units)
    crew_a_hire = money(plan.crew_hours_a_hire * plan.crew_cost, minor_units)
    net_a_hire = earned_a_hire + plan.labour_a_hire - crew_a_hire
    net_a_month = money(plan.hires_a_month * net_a_hire, minor_units)
    return {
        "cost": cost,
        "earned_a_hire": earned_a_hire,
        "crew_a_hire": crew_a_hire,
        "net_a_hire": net_a_hire,
        "net_a_month": net_a_month,
        "net_a_year": 12 * net_a_month,
    }


def years(plan: Plan, minor_units: int) -> list[Year]:
    """LONGEST_LIFE years; those after the panels' life are empty."""
    hires = _of_hires(plan, minor_units)
    cost, net = hires["cost"], hires["net_a_year"]
    written_off = [_written_off(plan, cost, year, minor_units) for year in range(1, LONGEST_LIFE + 1)]
    left = cost - sum(written_off)
    flows, taxes = [], []
    for year, off in enumerate(written_off, 1):
        resale = plan.resale if year == plan.life_years else ZERO
        profit = net - off + (resale - left if year == plan.life_years else ZERO)
        taxes.append(money(profit * plan.tax_share, minor_units) if year <= plan.life_years else ZERO)
        flows.append(net - taxes[-1] + resale if year <= plan.life_years else ZERO)
    balances = list(accumulate(flows, initial=-cost))[1:]
    return [Year(*row) for row in zip(written_off, taxes, flows, balances, strict=True)]


def _written_off(plan: Plan, cost: Decimal, year: int, minor_units: int) -> Decimal:
    """Depreciation of one year. What a table leaves at the end of a shorter life is a loss of its last year."""
    if year > plan.life_years:
        return ZERO
    if plan.depreciation == STRAIGHT_LINE:
        return money((cost - plan.resale) / plan.life_years, minor_units)
    table = TAX_TABLES[plan.depreciation]
    return money(cost * table[year - 1], minor_units) if year <= len(table) else ZERO


def price_ladder(plan: Plan, minor_units: int) -> list[Rung]:
    """What the plan would be at rates around its own, one for each of STEPS."""
    planned = _of_hires(plan, minor_units)["net_a_hire"]
    rungs = []
    for step in STEPS:
        rate = plan.rate * (1 + step)
        hires = _of_hires(replace(plan, rate=rate), minor_units)
        net = hires["net_a_hire"]
        to_lose = (
            round6(12 * plan.hires_a_month * (1 - planned / net)).to_integral_value(ROUND_FLOOR) if net > 0 else None
        )
        rungs.append(Rung(rate, net, hires["net_a_year"], to_lose))
    return rungs


def net_present_value(rate: Decimal, flows: Sequence[Decimal]) -> Decimal:
    """What yearly flows are worth today, the first discounted by a year (ECMA-376 NPV)."""
    value = ZERO
    for flow in reversed(flows):
        value = (value + flow) / (1 + rate)
    return value


def payment(rate: Decimal, periods: Decimal, cost: Decimal, resale: Decimal) -> Decimal:
    """What must come in each period to earn `rate` on a cost of which `resale` comes back (ECMA-376 PMT)."""
    if not rate:
        return (cost - resale) / periods
    growth = (1 + rate) ** periods
    return (cost * growth - resale) * rate / (growth - 1)


def internal_rate_of_return(flows: Sequence[Decimal]) -> Decimal | None:
    """The rate at which flows that start with a cost are worth nothing (ECMA-376 IRR), to twelve places.

    By bisection, which finds the one rate of a cost followed by earnings. None where there is none:
    nothing spent, or never more than nothing earned.
    """

    def worth(rate: Decimal) -> Decimal:
        return net_present_value(rate, flows)

    low, high = Decimal("-0.99"), ONE
    while worth(high) > 0 and high < 10**9:
        high *= 2
    if not worth(low) > 0 > worth(high):
        return None
    while high - low > Decimal("1e-12"):
        middle = (low + high) / 2
        low, high = (middle, high) if worth(middle) > 0 else (low, middle)
    return (low + high) / 2


def years_to_pay_back(cost: Decimal, flows: Sequence[Decimal]) -> Decimal | None:
    """Years until the flows have made good the cost, evenly within a year. None where they never do."""
    owing = cost
    for year, flow in enumerate(flows):
        if owing <= flow:
            return year + owing / flow if owing > 0 else Decimal(year)
        owing -= flow
    return None
