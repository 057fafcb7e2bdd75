"""The money of a bill: its items, the tax at each rate, what was paid, and what is due.

Plain functions over Decimals. Amounts are in the bill's currency, rounded to its minor units by `engine.money`.
A bill's tax is rounded once for each rate, on the sum of what bears that rate.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from quotebook.engine.charges import tax_in
from quotebook.engine.money import ZERO, money


@dataclass(frozen=True)
class Item:
    """One line of a bill: so many of something at a price, less the part that a waiver covers."""

    text: str
    count: Decimal
    price: Decimal
    """For one; less than 0 for what is taken off. With its tax where prices include tax, else without."""
    tax_rate: Decimal
    """A share; 0 where it is not taxed."""
    covered_share: Decimal = ZERO
    """The part of it that the client's damage waiver covers."""


def item_amount(item: Item, minor_units: Decimal) -> Decimal:
    """What an item comes to: its price times its count, less what is covered, each rounded once."""
    whole = money(item.count * item.price, minor_units)
    return whole - money(whole * item.covered_share, minor_units)


@dataclass(frozen=True)
class RateOfTax:
    """What a bill's items at one rate of tax come to."""

    tax_rate: Decimal
    amount: Decimal
    """The sum of the items: with their tax where prices include tax, else without."""
    tax: Decimal


@dataclass(frozen=True)
class BillFigures:
    """Every figure of a bill."""

    amounts: tuple[Decimal, ...]
    """Of each item."""
    subtotal: Decimal
    rates: tuple[RateOfTax, ...]
    """From the highest rate to the lowest; 0 is among them where something is not taxed."""
    tax: Decimal
    total: Decimal
    paid: Decimal
    """What came in less what went back."""
    due: Decimal
    """Less than 0 where money is to go back."""


def bill_figures(
    items: Sequence[Item], payments: Iterable[Decimal], prices_with_tax: bool, minor_units: Decimal
) -> BillFigures:
    """The figures of a bill with these items and payments; a payment less than 0 is money that went back."""
    amounts = tuple(item_amount(item, minor_units) for item in items)
    rates = tuple(
        RateOfTax(rate, amount, tax_in(amount, rate, prices_with_tax, minor_units))
        for rate, amount in _by_rate(items, amounts).items()
    )
    subtotal, tax, paid = sum(amounts, ZERO), sum((rate.tax for rate in rates), ZERO), sum(payments, ZERO)
    total = subtotal if prices_with_tax else subtotal + tax
    return BillFigures(amounts, subtotal, rates, tax, total, paid, total - paid)


def _by_rate(items: Sequence[Item], amounts: Sequence[Decimal]) -> dict[Decimal, Decimal]:
    """The sum of the amounts at each rate, from the highest rate to the lowest."""
    sums: dict[Decimal, Decimal] = {}
    for item, amount in zip(items, amounts, strict=True):
        sums[item.tax_rate] = sums.get(item.tax_rate, ZERO) + amount
    return dict(sorted(sums.items(), reverse=True))
