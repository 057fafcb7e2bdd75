"""Says the options of a quote side by side, as lines of text and as JSON."""

from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal
from textwrap import wrap
from typing import NamedTuple

from quotebook.checking.comparison import Comparison
from quotebook.contract.local import Local
from quotebook.engine.figures import Figures
from quotebook.engine.model import WEIGHT_UNITS, FloorLine, Rates, Request
from quotebook.engine.money import ZERO, plain
from quotebook.engine.price import price
from quotebook.text_table import WIDTH, table

MONEY = {
    "goods": "Goods", "labour": "Labour", "delivery": "Delivery", "waiver": "Damage waiver",
    "total": "Total, {currency}", "deposit": "Deposit",
}  # fmt: skip
"""The label of each amount of an option."""
WORK = {"setup_hours": "Set-up, hours", "carts": "Carts", "trips": "Trips", "weight": "Weight, {weight_unit}"}
"""The label of each figure of the work that an option makes."""


class OptionPriced(NamedTuple):
    """One option of a quote, and every figure of the quote with it picked."""

    option: str
    floors: tuple[FloorLine, ...]
    """Its own floors and those that belong to every option."""
    figures: Figures


def options_priced(comparison: Comparison) -> list[OptionPriced]:
    """Every option that a workbook offers, as its entries stand and at the rates with which it was issued."""
    request, rates = comparison.request, comparison.issued_rates
    return [_priced(request.with_pick(option), rates) for option in request.options]


def _priced(request: Request, rates: Rates) -> OptionPriced:
    floors = tuple(line for line in request.as_picked().every_line if line != FloorLine())
    return OptionPriced(request.picked, floors, price(rates, request))


def say_offered(
    found: Sequence[OptionPriced], picked: str, currency: str, length_unit: str, local: Local
) -> Iterator[str]:
    """The options side by side, then what each is; `picked` says of one of them that it counts."""
    said = {"currency": currency, "weight_unit": WEIGHT_UNITS[length_unit]}
    panels = [sum((line.panels for line in each.figures.lines), ZERO) for each in found]
    sheets = [sum((line.sheets for line in each.figures.lines), ZERO) for each in found]
    rows = [
        ("Panels", *map(local.number, panels)),
        ("Subfloor sheets", *map(local.number, sheets)),
        *_rows(found, MONEY, local.amount, said),
        *_rows(found, WORK, local.number, said),
    ]
    yield from table(("", *(f"Option {each.option}" for each in found)), rows)
    yield ""
    for each in found:
        floors = ", ".join(_floor(line, length_unit, local) for line in each.floors)
        yield from wrap(f"{each.option}: {floors}.", WIDTH, subsequent_indent="  ")
    yield from wrap(picked, WIDTH)


def _rows(
    found: Sequence[OptionPriced], labels: dict[str, str], say: Callable[[Decimal], str], said: dict[str, str]
) -> Iterator[tuple[str, ...]]:
    for name, label in labels.items():
        figures = [getattr(each.figures, name) for each in found]
        if any(figures) or name in ("goods", "total"):
            yield label.format(**said), *map(say, figures)


def _floor(line: FloorLine, length_unit: str, local: Local) -> str:
    edging = "edging" if line.edging_wanted else "bare"
    return (
        f"{line.panel} {local.number(line.width or ZERO)} x {local.number(line.length or ZERO)} {length_unit}, {edging}"
    )


def offered_as_json(found: Sequence[OptionPriced], picked: str) -> dict[str, object]:
    """The options as JSON: which is picked, and for each its floors and figures; money and measures are texts."""
    return {
        "picked": picked or None,
        "options": [
            {
                "option": each.option,
                "floors": [
                    {
                        "panel": line.panel,
                        "width": plain(line.width or ZERO),
                        "length": plain(line.length or ZERO),
                        "edging": line.edging_wanted,
                    }
                    for line in each.floors
                ],
                **{name: str(getattr(each.figures, name)) for name in MONEY},
                **{name: plain(Decimal(getattr(each.figures, name))) for name in WORK},
            }
            for each in found
        ],
    }
