"""Prices without the tax that is in them, where a card's prices have their tax in them.

The firm hands the tax on, so what is earned, what to buy and what to charge are counted without it. A share is the
tax as a part of the price without it; it is 0 for what is not taxed, and wherever prices are without tax.
"""

from decimal import Decimal

from quotebook.engine.figures import Figures
from quotebook.engine.model import Rates
from quotebook.engine.money import ONE, ZERO, money


def tax_in_goods(rates: Rates, reduced: bool) -> Decimal:
    """The share of tax in hire, edging and subfloor of a kind that bears the full rate, or the reduced one."""
    return _share(rates, rates.tax_on_goods, reduced)


def tax_in_labour(rates: Rates) -> Decimal:
    """The share of tax in the crew's time, after hours too."""
    return _share(rates, rates.tax_on_labour, rates.reduced_on_labour)


def tax_in_delivery(rates: Rates) -> Decimal:
    """The share of tax in delivery and collection."""
    return _share(rates, rates.tax_on_delivery, rates.reduced_on_delivery)


def tax_in_waiver(rates: Rates) -> Decimal:
    """The share of tax in the damage waiver."""
    return _share(rates, rates.tax_on_waiver, rates.reduced_on_waiver)


def _share(rates: Rates, taxed: bool, reduced: bool) -> Decimal:
    if not (rates.prices_with_tax and taxed):
        return ZERO
    return rates.reduced_tax_rate if reduced else rates.tax_rate


def before_tax(amount: Decimal, share: Decimal, minor_units: Decimal) -> Decimal:
    """An amount without its tax, rounded to minor units."""
    return money(amount / (ONE + share), minor_units)


def goods_before_tax(rates: Rates, figures: Figures) -> Decimal:
    """The goods of a quote after discount, without the charge up to a minimum order."""
    reduced = figures.goods_reduced
    full = before_tax(figures.goods - figures.discount - reduced, tax_in_goods(rates, reduced=False), rates.minor_units)
    return full + before_tax(reduced, tax_in_goods(rates, reduced=True), rates.minor_units)


def labour_before_tax(rates: Rates, figures: Figures) -> Decimal:
    """What a quote charges for the crew, after hours too."""
    return before_tax(figures.labour + figures.after_hours_charge, tax_in_labour(rates), rates.minor_units)


def delivery_before_tax(rates: Rates, figures: Figures) -> Decimal:
    """What a quote charges for delivery and collection."""
    return before_tax(figures.delivery, tax_in_delivery(rates), rates.minor_units)


def hourly_rate_before_tax(rates: Rates) -> Decimal:
    """What a client pays for an hour of one person: what it costs the firm where the owner says nothing else."""
    return before_tax(rates.hourly_rate, tax_in_labour(rates), rates.minor_units)


def base_charge_before_tax(rates: Rates) -> Decimal:
    """What a client pays for a trip nearby: what it costs the firm where the owner says nothing else."""
    return before_tax(rates.base_charge, tax_in_delivery(rates), rates.minor_units)
