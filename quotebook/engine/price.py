"""From a request and the rates to every figure of a quote.

`price` runs the figures of `floor`, `work`, `suggestion` and this module in order, each by the names of its
parameters. Any figure can be held at a given value instead: that is how the check works out what
a cell that somebody overwrote did to the total.
"""

from collections.abc import Mapping
from dataclasses import fields
from decimal import Decimal
from functools import cache
from inspect import signature

from quotebook.engine import floor, suggestion, work
from quotebook.engine.model import FloorLine, PanelKind, Rates, Request, Subfloor
from quotebook.engine.money import ZERO, money


def days_counted(days, largest_entry) -> Decimal:
    """The days that are priced: as entered, if that is a whole number from 1 up."""
    return days if 1 <= days <= largest_entry and whole(days) else ZERO


def miles_counted(miles, largest_entry) -> Decimal:
    return miles if 0 < miles <= largest_entry else ZERO


def flights_counted(flights, largest_entry) -> Decimal:
    return flights if 0 < flights <= largest_entry and whole(flights) else ZERO


def guests_counted(guests, largest_entry) -> Decimal:
    return guests if 0 < guests <= largest_entry and whole(guests) else ZERO


def days_factor(days_counted, day_factors) -> Decimal:
    """From the row with the most days not above the hire's; 0 where no row serves."""
    serving = [row.hire_factor for row in day_factors if row.hire_days <= days_counted]
    return serving[-1] if serving else ZERO


def whole(entry: Decimal) -> bool:
    return entry == entry.to_integral_value()


OPENING_FIGURES = (
    days_counted, miles_counted, flights_counted, guests_counted, days_factor, floor.dancers, suggestion.area_needed,
)  # fmt: skip


def hire(panels, rate, days_factor, minor_units) -> Decimal:
    return money(panels * rate * days_factor, minor_units)


def edging(edging_pieces, piece_rate, corners, corner_rate, days_factor, minor_units) -> Decimal:
    return money((edging_pieces * piece_rate + corners * corner_rate) * days_factor, minor_units)


def subfloor(sheets, sheet_rate, days_factor, minor_units) -> Decimal:
    return money(sheets * sheet_rate * days_factor, minor_units)


LINE_FIGURES = floor.LINE_FIGURES + work.LINE_FIGURES + (hire, edging, subfloor) + suggestion.LINE_FIGURES

SUMMED = ("panels", "area", "weight", "carts")
"""Line figures whose sum over the lines is the quote's figure of the same name."""


def labour(setup_hours, strike_hours, crew, hourly_rate, minor_units) -> Decimal:
    return money((setup_hours + strike_hours) * crew * hourly_rate, minor_units)


def after_hours_charge(after_hours, strike_hours, crew, hourly_rate, after_hours_share, minor_units) -> Decimal:
    """A surcharge on the strike, where collection after hours is asked for."""
    return money(strike_hours * crew * hourly_rate * after_hours_share, minor_units) if after_hours else ZERO


def delivery(trips, base_charge, miles_counted, included_miles, rate_per_mile, minor_units) -> Decimal:
    charged_miles = max(ZERO, miles_counted - included_miles)
    return money(trips * (base_charge + charged_miles * rate_per_mile), minor_units)


def goods(hire_each, edging_each, subfloor_each) -> Decimal:
    return sum(hire_each + edging_each + subfloor_each, ZERO)


def discount(goods, discount_share, minor_units) -> Decimal:
    return money(goods * discount_share, minor_units)


def waiver(waiver_taken, goods, discount, waiver_share, minor_units) -> Decimal:
    return money((goods - discount) * waiver_share, minor_units) if waiver_taken else ZERO


def taxable(
    goods,
    discount,
    delivery,
    labour,
    after_hours_charge,
    waiver,
    tax_on_goods,
    tax_on_delivery,
    tax_on_labour,
    tax_on_waiver,
) -> Decimal:
    """What the card taxes. The rates and what they apply to are the owner's entry."""
    parts = (
        (tax_on_goods, goods - discount),
        (tax_on_delivery, delivery),
        (tax_on_labour, labour + after_hours_charge),
        (tax_on_waiver, waiver),
    )
    return sum((amount for taxed, amount in parts if taxed), ZERO)


def tax(taxable, tax_rate, minor_units) -> Decimal:
    """Rounded once, on the invoice (Streamlined Sales and Use Tax Agreement s. 324 allows either basis)."""
    return money(taxable * tax_rate, minor_units)


def total(goods, discount, waiver, delivery, labour, after_hours_charge, tax) -> Decimal:
    return goods - discount + waiver + delivery + labour + after_hours_charge + tax


def deposit(total, deposit_share, minor_units) -> Decimal:
    return money(total * deposit_share, minor_units)


def balance(total, deposit) -> Decimal:
    return total - deposit


CLOSING_FIGURES = floor.FIGURES + work.FIGURES + (
    labour, after_hours_charge, delivery, goods, discount, waiver, taxable, tax, total, deposit, balance,
)  # fmt: skip

LOOKED_UP = tuple(
    field.name for field in fields(PanelKind) + fields(Subfloor)
    if field.name not in ("panel", "panel_name", "layings", "subfloor_name", "subfloor_kind")
)  # fmt: skip
"""What a line takes from its panel kind and that kind's subfloor, by field name."""

LOOKED_UP_TEXT = ("laying", "subfloor_kind")


def price(rates: Rates, request: Request, fixed: Mapping[str, Decimal] | None = None) -> dict[str, Decimal | str]:
    """Every figure of the quote by its name; those of floor line 2 end in `_2`.

    A figure named in `fixed` is held at the value given there, and what rests on it follows.
    Entries that cannot be used (None, out of range) count as nothing: `entries.problems` tells
    which they are. Nothing is raised for any request.
    """
    fixed = fixed or {}
    scope = _scalars(rates) | _scalars(request) | {"day_factors": rates.day_factors}
    figures = _run(OPENING_FIGURES, scope, fixed)
    scope |= figures
    lines = request.every_line
    priced = [_price_line(rates, request.surface, line, scope, _fixed_on(fixed, i)) for i, line in enumerate(lines, 1)]
    for name in priced[0]:
        each = tuple(line[name] for line in priced)
        scope[f"{name}_each"] = each
        figures.update((f"{name}_{i}", value) for i, value in enumerate(each, 1))
        if name in SUMMED:
            scope[name] = figures[name] = fixed.get(name, sum(each, ZERO))
    return figures | _run(CLOSING_FIGURES, scope, fixed)


def _price_line(rates: Rates, surface: str, line: FloorLine, scope: dict, fixed: Mapping) -> dict:
    """The figures of one floor line, by their names without a line number."""
    if not line.panel and not fixed:
        return _NO_LINE
    kind = rates.kind(line.panel)
    subfloor_kind = fixed.get("subfloor_kind", kind.subfloor_kind if kind else "")
    sheet = rates.subfloor(subfloor_kind)
    looked_up = {name: getattr(kind, name, getattr(sheet, name, ZERO)) for name in LOOKED_UP}
    looked_up |= {"laying": kind.laying(surface) if kind else "", "subfloor_kind": subfloor_kind}
    looked_up |= {name: value for name, value in fixed.items() if name in looked_up}
    scope = scope | looked_up | _scalars(line)
    return looked_up | _run(LINE_FIGURES, scope, fixed)


def _run(functions, scope: dict, fixed: Mapping) -> dict:
    """Each function's figure by its name, the later ones resting on the earlier."""
    scope = dict(scope)
    figures = {}
    for function in functions:
        name = function.__name__
        value = fixed[name] if name in fixed else function(*[scope[p] for p in _parameters(function)])
        scope[name] = figures[name] = value
    return figures


@cache
def _parameters(function) -> tuple[str, ...]:
    return tuple(signature(function).parameters)


def _scalars(record) -> dict:
    """A record's fields by name, with None counted as 0."""
    return {name: ZERO if value is None else value for name, value in vars(record).items()}


def _fixed_on(fixed: Mapping, line: int) -> dict:
    """The figures held on one line, without its number."""
    ending = f"_{line}"
    return {name.removesuffix(ending): value for name, value in fixed.items() if name.endswith(ending)}


_NO_LINE = (
    dict.fromkeys(LOOKED_UP, ZERO)
    | dict.fromkeys(LOOKED_UP_TEXT, "")
    | {function.__name__: ZERO for function in LINE_FIGURES}
)
