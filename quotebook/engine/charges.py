"""The charges of a quote: hire, edging and subfloor of each line, then labour, delivery, discount, tax and the total.

Each function is a figure, as in `floor`. Amounts are in the card's currency, rounded once each to its minor units.
A parameter `x_each` has the figure `x` of every line.
"""

from decimal import Decimal

from quotebook.engine.model import DayFactor
from quotebook.engine.money import ONE, ZERO, money


def days_factor(days_counted: Decimal, day_factors: tuple[DayFactor, ...]) -> Decimal:
    """How many times the one-day rate a hire costs: the factor of the last row not above its days; 0 without one."""
    serving = [row.hire_factor for row in day_factors if row.hire_days <= days_counted]
    return serving[-1] if serving else ZERO


def hire(panels: Decimal, rate: Decimal, days_factor: Decimal, minor_units: Decimal) -> Decimal:
    """Hire of the panels, for all days."""
    return money(panels * rate * days_factor, minor_units)


def edging(
    edging_pieces: Decimal,
    piece_rate: Decimal,
    corners: Decimal,
    corner_rate: Decimal,
    days_factor: Decimal,
    minor_units: Decimal,
) -> Decimal:
    """Hire of edging pieces and corners, for all days."""
    return money((edging_pieces * piece_rate + corners * corner_rate) * days_factor, minor_units)


def subfloor(sheets: Decimal, sheet_rate: Decimal, days_factor: Decimal, minor_units: Decimal) -> Decimal:
    """Hire of the subfloor sheets, for all days."""
    return money(sheets * sheet_rate * days_factor, minor_units)


LINE_FIGURES = (hire, edging, subfloor)


def labour(
    setup_hours: Decimal, strike_hours: Decimal, crew: Decimal, hourly_rate: Decimal, minor_units: Decimal
) -> Decimal:
    """Set-up and strike, for everybody in the crew."""
    return money((setup_hours + strike_hours) * crew * hourly_rate, minor_units)


def after_hours_charge(
    after_hours: bool,
    strike_hours: Decimal,
    crew: Decimal,
    hourly_rate: Decimal,
    after_hours_share: Decimal,
    minor_units: Decimal,
) -> Decimal:
    """A surcharge on the strike, where collection after hours is asked for."""
    return money(strike_hours * crew * hourly_rate * after_hours_share, minor_units) if after_hours else ZERO


def delivery(
    trips: Decimal,
    base_charge: Decimal,
    miles_counted: Decimal,
    included_miles: Decimal,
    rate_per_mile: Decimal,
    minor_units: Decimal,
) -> Decimal:
    """A base charge for each trip, and the miles beyond those that it includes."""
    charged_miles = max(ZERO, miles_counted - included_miles)
    return money(trips * (base_charge + charged_miles * rate_per_mile), minor_units)


def goods(
    hire_each: tuple[Decimal, ...], edging_each: tuple[Decimal, ...], subfloor_each: tuple[Decimal, ...]
) -> Decimal:
    """Hire, edging and subfloor of all lines."""
    return sum(hire_each + edging_each + subfloor_each, ZERO)


def discount(goods: Decimal, discount_share: Decimal, minor_units: Decimal) -> Decimal:
    """The share of the goods that the owner grants."""
    return money(goods * discount_share, minor_units)


def minimum_order_charge(
    panels: Decimal, goods: Decimal, discount: Decimal, minimum_order: Decimal, minor_units: Decimal
) -> Decimal:
    """What the goods, after discount, lack of the smallest order; nothing where no floor is priced."""
    return money(max(ZERO, minimum_order - (goods - discount)), minor_units) if panels else ZERO


def waiver(
    waiver_taken: bool, goods: Decimal, discount: Decimal, waiver_share: Decimal, minor_units: Decimal
) -> Decimal:
    """Damage waiver on the discounted goods, where it is taken."""
    return money((goods - discount) * waiver_share, minor_units) if waiver_taken else ZERO


def goods_reduced(
    hire_each: tuple[Decimal, ...],
    edging_each: tuple[Decimal, ...],
    subfloor_each: tuple[Decimal, ...],
    reduced_tax_each: tuple[Decimal, ...],
    discount_share: Decimal,
    minor_units: Decimal,
) -> Decimal:
    """The goods, after discount, of those kinds that bear the reduced rate of tax."""
    lines = zip(hire_each, edging_each, subfloor_each, reduced_tax_each, strict=True)
    before = sum((hire + edging + subfloor for hire, edging, subfloor, reduced in lines if reduced == 1), ZERO)
    return before - money(before * discount_share, minor_units)


def taxable_reduced(
    goods_reduced: Decimal,
    delivery: Decimal,
    labour: Decimal,
    after_hours_charge: Decimal,
    waiver: Decimal,
    tax_on_goods: bool,
    tax_on_delivery: bool,
    tax_on_labour: bool,
    tax_on_waiver: bool,
    reduced_on_delivery: bool,
    reduced_on_labour: bool,
    reduced_on_waiver: bool,
) -> Decimal:
    """What bears the reduced rate of tax. The rates and what they apply to are the owner's entry."""
    parts = (
        (tax_on_goods, goods_reduced),
        (tax_on_delivery and reduced_on_delivery, delivery),
        (tax_on_labour and reduced_on_labour, labour + after_hours_charge),
        (tax_on_waiver and reduced_on_waiver, waiver),
    )
    return sum((amount for taxed, amount in parts if taxed), ZERO)


def taxable(
    goods: Decimal,
    discount: Decimal,
    minimum_order_charge: Decimal,
    delivery: Decimal,
    labour: Decimal,
    after_hours_charge: Decimal,
    waiver: Decimal,
    tax_on_goods: bool,
    tax_on_delivery: bool,
    tax_on_labour: bool,
    tax_on_waiver: bool,
    taxable_reduced: Decimal,
) -> Decimal:
    """What bears the full rate of tax: all that is taxed, without what bears the reduced one."""
    parts = (
        (tax_on_goods, goods - discount + minimum_order_charge),
        (tax_on_delivery, delivery),
        (tax_on_labour, labour + after_hours_charge),
        (tax_on_waiver, waiver),
    )
    return sum((amount for taxed, amount in parts if taxed), ZERO) - taxable_reduced


def tax_in(amount: Decimal, tax_rate: Decimal, prices_with_tax: bool, minor_units: Decimal) -> Decimal:
    """The tax on an amount, or the tax that is in it where prices include tax; rounded once."""
    return money(amount * tax_rate / (ONE + tax_rate if prices_with_tax else ONE), minor_units)


def tax_reduced(
    taxable_reduced: Decimal, reduced_tax_rate: Decimal, prices_with_tax: bool, minor_units: Decimal
) -> Decimal:
    """The tax at the reduced rate; where prices have their tax in them, how much of them it is."""
    return tax_in(taxable_reduced, reduced_tax_rate, prices_with_tax, minor_units)


def tax(
    taxable: Decimal, tax_rate: Decimal, tax_reduced: Decimal, prices_with_tax: bool, minor_units: Decimal
) -> Decimal:
    """The tax at both rates, rounded once each (Streamlined Sales and Use Tax Agreement s. 324 allows either basis).

    Where prices have their tax in them, how much of them it is.
    """
    return tax_in(taxable, tax_rate, prices_with_tax, minor_units) + tax_reduced


def total(
    goods: Decimal,
    discount: Decimal,
    minimum_order_charge: Decimal,
    waiver: Decimal,
    delivery: Decimal,
    labour: Decimal,
    after_hours_charge: Decimal,
    tax: Decimal,
    prices_with_tax: bool,
) -> Decimal:
    """What the client pays: tax comes on top, unless prices have it in them."""
    prices = goods - discount + minimum_order_charge + waiver + delivery + labour + after_hours_charge
    return prices if prices_with_tax else prices + tax


def deposit(total: Decimal, deposit_share: Decimal, minor_units: Decimal) -> Decimal:
    """What the client pays at once."""
    return money(total * deposit_share, minor_units)


def balance(total: Decimal, deposit: Decimal) -> Decimal:
    """What the client pays later."""
    return total - deposit


FIGURES = (
    labour, after_hours_charge, delivery, goods, discount, minimum_order_charge, waiver, goods_reduced,
    taxable_reduced, taxable, tax_reduced, tax, total, deposit, balance,
)  # fmt: skip
