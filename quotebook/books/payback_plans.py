"""Makes payback plans: from the rate card's purchase figures and the ledger, or from hires that the owner plans."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from quotebook.books.revenue import months_between, revenue
from quotebook.engine.before_tax import before_tax, hourly_rate_before_tax, tax_in_goods, tax_in_labour
from quotebook.engine.model import Holding, PanelKind, RateCard
from quotebook.engine.money import ZERO, in_major_units, money, round6, round_up
from quotebook.engine.payback import LONGEST_LIFE, STRAIGHT_LINE, Plan, payback, price_ladder, years
from quotebook.errors import Misuse
from quotebook.ledger import Ledger


@dataclass(frozen=True)
class Assumptions:
    """What the owner assumes, since neither the card nor the ledger has it."""

    crew_cost: Decimal | None = None
    """What one crew member costs per hour; None for the hourly rate that a client pays, without tax."""
    discount_rate: Decimal = Decimal("0.08")
    """What the money could earn elsewhere, per year."""
    tax_share: Decimal = ZERO
    """Tax as a share of profit."""
    depreciation: str = STRAIGHT_LINE
    resale_share: Decimal = ZERO
    """Resale value at the end of the panels' life, as a share of the purchase price."""


def plans_from_ledger(ledger: Ledger, card: RateCard, first: date, last: date, assumed: Assumptions) -> list[Plan]:
    """A plan for each kind on the card, if hires go on as they were from `first` to `last`, or since the purchase.

    Panels earn their hire net of discount. Edging and subfloor are left out, since the purchase price
    does not cover them. The crew's cost is that of its share of the quotes' hours, and its earnings
    are its share of their labour.
    """
    earned = revenue(ledger, first, last, spread=True, currency=card.firm.currency, on_card=card.holdings)
    by_kind = earned.by_kind.groupby("kind").sum()
    plans = []
    for code, holding in card.holdings.items():
        months = len(months_between(max(first, holding.bought_on), last)) or 1
        if code in by_kind.index:
            sums = {str(name): int(value) for name, value in by_kind.loc[code].to_dict().items()}
            average = _average(sums, months, int(card.rates.minor_units))
        else:
            kind = card.rates.kind(code)
            average = _NO_HIRES | {"rate": _without_tax(card, kind, kind.rate) if kind else ZERO}
        plans.append(_plan(card, code, holding, assumed, **average))
    return plans


_NO_HIRES = dict.fromkeys(("hires_a_month", "panels_a_hire", "labour_a_hire", "crew_hours_a_hire"), ZERO)


def _average(sums: dict[str, int], months: int, minor_units: int) -> dict[str, Decimal]:
    """The average month and the average hire, from sums over so many months."""
    hires = Decimal(sums["hires"])
    return {
        "hires_a_month": round6(hires / months),
        "panels_a_hire": round6(sums["panels"] / hires),
        "rate": round6(in_major_units(sums["hire"], minor_units) / sums["panels"]),
        "labour_a_hire": money(in_major_units(sums["labour"], minor_units) / hires, minor_units),
        "crew_hours_a_hire": round6(sums["crew_minutes"] / hires / 60),
    }


def plan_by_hand(
    card: RateCard,
    code: str,
    hires_a_month: Decimal,
    panels_a_hire: Decimal,
    rate: Decimal | None,
    assumed: Assumptions,
) -> Plan:
    """A plan for a number of hires a month and of panels per hire, at `rate` or at the card's rate if that is None.

    Both are prices as on the card: where those have their tax in them, it is taken out, and out of the labour too.

    The crew's time is the time to lay the panels and take them up, charged at the card's hourly rate.
    Raises Misuse if the card has no such kind.
    """
    kind = card.rates.kind(code)
    if kind is None:
        raise Misuse(f"{code}: is not on the rate card, which has {', '.join(card.holdings)}.")
    hours = round6(panels_a_hire * kind.panel_minutes * (1 + card.rates.strike_share) / 60)
    return _plan(
        card,
        kind.panel,
        card.holdings[kind.panel],
        assumed,
        hires_a_month=hires_a_month,
        panels_a_hire=panels_a_hire,
        rate=_without_tax(card, kind, kind.rate if rate is None else rate),
        crew_hours_a_hire=hours,
        labour_a_hire=before_tax(hours * card.rates.hourly_rate, tax_in_labour(card.rates), card.rates.minor_units),
    )


def _without_tax(card: RateCard, kind: PanelKind, rate: Decimal) -> Decimal:
    """A price for the hire of a panel without the tax that it has in it."""
    share = tax_in_goods(card.rates, reduced=bool(kind.reduced_tax))
    return round6(rate / (1 + share))


def _plan(card: RateCard, code: str, holding: Holding, assumed: Assumptions, **hires: Decimal) -> Plan:
    minor_units = int(card.rates.minor_units)
    bought_for = money(holding.owned * holding.purchase_price, minor_units)
    return Plan(
        kind=code,
        panels=holding.owned,
        purchase_price=holding.purchase_price,
        **hires,
        crew_cost=hourly_rate_before_tax(card.rates) if assumed.crew_cost is None else assumed.crew_cost,
        life_years=min(round_up(holding.life_years), Decimal(LONGEST_LIFE)),
        resale=money(bought_for * assumed.resale_share, minor_units),
        discount_rate=assumed.discount_rate,
        tax_share=assumed.tax_share,
        depreciation=assumed.depreciation,
    )


def to_json(plan: Plan, minor_units: int) -> dict[str, object]:
    """A plan with its figures, years and price ladder as JSON: numbers as text, null for a figure it does not have."""
    in_life = years(plan, minor_units)[: int(plan.life_years)]
    return _texts(vars(plan) | payback(plan, minor_units)) | {
        "years": [_texts(year._asdict()) for year in in_life],
        "price_ladder": [_texts(rung._asdict()) for rung in price_ladder(plan, minor_units)],
    }


def _texts(figures: Mapping[str, object]) -> dict[str, object]:
    return {name: f"{value:f}" if isinstance(value, Decimal) else value for name, value in figures.items()}
