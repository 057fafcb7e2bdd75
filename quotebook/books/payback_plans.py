"""Plans of payback: from the rate card's purchase figures and the ledger, or from what the owner has in mind."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from quotebook.books.revenue import months_between, revenue
from quotebook.engine.model import Holding, RateCard
from quotebook.engine.money import ZERO, money, round6, round_up
from quotebook.engine.payback import LONGEST_LIFE, STRAIGHT_LINE, Plan, payback, price_ladder, years
from quotebook.errors import Misuse
from quotebook.ledger import Ledger
from quotebook.ledger.records import in_major_units


@dataclass(frozen=True)
class Assumptions:
    """What neither the card nor the ledger knows: the owner's to say."""

    crew_cost: Decimal | None = None
    """Of one person for an hour; None for what a client pays for it."""
    discount_rate: Decimal = Decimal("0.08")
    tax_share: Decimal = ZERO
    depreciation: str = STRAIGHT_LINE
    resale_share: Decimal = ZERO
    """Of the purchase price, at the end of the panels' life."""


def plans_from_ledger(ledger: Ledger, card: RateCard, first: date, last: date, assumed: Assumptions) -> list[Plan]:
    """A plan for each kind on the card: to go on as from `first` to `last`, or since it was bought if that is later.

    Panels earn their hire net of discount; edging and subfloor, which the purchase price does not
    cover, are left out. The crew is paid by its share of the quotes' hours and earns its share of
    their labour.
    """
    by_kind = revenue(ledger, first, last, spread=True, currency=card.firm.currency).by_kind.groupby("panel").sum()
    plans = []
    for code, holding in card.holdings.items():
        months = len(months_between(max(first, holding.bought_on), last)) or 1
        if code in by_kind.index:
            average = _average(by_kind.loc[code].to_dict(), months, card.rates.minor_units)
        else:
            average = _NO_HIRES | {"rate": card.rates.kind(code).rate}
        plans.append(_plan(card, code, holding, assumed, **average))
    return plans


_NO_HIRES = dict.fromkeys(("hires_a_month", "panels_a_hire", "labour_a_hire", "crew_hours_a_hire"), ZERO)


def _average(found: dict[str, int], months: int, units: Decimal) -> dict[str, Decimal]:
    """What a month and a hire were like, from the sums of so many months."""
    hires = Decimal(found["hires"])
    return {
        "hires_a_month": round6(hires / months),
        "panels_a_hire": round6(found["panels"] / hires),
        "rate": round6(in_major_units(found["hire"], units) / found["panels"]),
        "labour_a_hire": money(in_major_units(found["labour"], units) / hires, units),
        "crew_hours_a_hire": round6(found["crew_minutes"] / hires / 60),
    }


def plan_by_hand(
    card: RateCard,
    code: str,
    hires_a_month: Decimal,
    panels_a_hire: Decimal,
    rate: Decimal | None,
    assumed: Assumptions,
) -> Plan:
    """A plan of so many hires a month, of so many panels each, at a rate or the card's own.

    The crew's time is that of laying and taking up the panels, and is charged at the card's rate.
    Raises Misuse for a panel that is not on the card.
    """
    kind = card.rates.kind(code)
    if kind is None:
        raise Misuse(f"{code}: not on the rate card, which has {', '.join(card.holdings)}.")
    hours = round6(panels_a_hire * kind.panel_minutes * (1 + card.rates.strike_share) / 60)
    return _plan(
        card,
        kind.panel,
        card.holdings[kind.panel],
        assumed,
        hires_a_month=hires_a_month,
        panels_a_hire=panels_a_hire,
        rate=kind.rate if rate is None else rate,
        crew_hours_a_hire=hours,
        labour_a_hire=money(hours * card.rates.hourly_rate, card.rates.minor_units),
    )


def _plan(card: RateCard, code: str, holding: Holding, assumed: Assumptions, **hires: Decimal) -> Plan:
    bought_for = money(holding.owned * holding.purchase_price, card.rates.minor_units)
    return Plan(
        kind=code,
        panels=holding.owned,
        purchase_price=holding.purchase_price,
        **hires,
        crew_cost=card.rates.hourly_rate if assumed.crew_cost is None else assumed.crew_cost,
        life_years=min(round_up(holding.life_years), Decimal(LONGEST_LIFE)),
        resale=money(bought_for * assumed.resale_share, card.rates.minor_units),
        discount_rate=assumed.discount_rate,
        tax_share=assumed.tax_share,
        depreciation=assumed.depreciation,
    )


def to_json(plan: Plan, minor_units: int) -> dict:
    """A plan with its figures, its years and its price ladder, as JSON: numbers as text, null for none."""
    in_life = years(plan, minor_units)[: int(plan.life_years)]
    return _texts(vars(plan) | payback(plan, minor_units)) | {
        "years": [_texts(year._asdict()) for year in in_life],
        "price_ladder": [_texts(rung._asdict()) for rung in price_ladder(plan, minor_units)],
    }


def _texts(figures: dict) -> dict:
    return {name: f"{value:f}" if isinstance(value, Decimal) else value for name, value in figures.items()}
