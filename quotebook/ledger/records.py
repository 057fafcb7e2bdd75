"""The figures of a quote as the ledger keeps them: plain values.

Money is in whole minor units of the quote's currency. A field has the name of the engine's figure
and of the ledger's column. Two prefixes mark a line's share of one of the quote's figures: `net_`
is an amount after discount, `spread_` is the line's share of a charge for the whole quote. Shares
are in proportion, by largest remainder, so that they sum to the figure exactly.
"""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from quotebook.engine.model import Firm, Papers, Rates, Request
from quotebook.engine.money import ZERO, money, split
from quotebook.engine.stock import STOCKED, Item, held_days, items_of_line
from quotebook.errors import Misuse

QUOTE_MONEY = (
    "goods", "discount", "waiver", "delivery", "labour", "after_hours_charge", "taxable", "tax", "total", "deposit",
    "balance",
)  # fmt: skip
GOODS = ("hire", "edging", "subfloor")
CHARGES = ("delivery", "labour", "waiver", "tax")
"""Charges for the whole quote. Labour includes its surcharge after hours."""


@dataclass(frozen=True)
class LineRecord:
    """One priced floor line."""

    line: int
    panel: str
    """The code as the rate card spells it; `subfloor_kind` too."""
    panels: int
    slot_pieces: int
    tongue_pieces: int
    corners: int
    subfloor_kind: str
    """Empty if no sheets are laid."""
    sheets: int
    carts: int
    crew_minutes: int
    """Person-minutes of set-up and strike that the firm pays for, shared out by each line's minutes to lay."""
    hire: int
    edging: int
    subfloor: int
    net_hire: int
    net_edging: int
    net_subfloor: int
    spread_delivery: int
    spread_labour: int
    spread_waiver: int
    spread_tax: int


@dataclass(frozen=True)
class QuoteRecord:
    """The figures of one quote: as issued, or as they follow from a returned file."""

    quote_number: str
    revision: int
    issued_on: date
    client: str
    event: str
    venue: str
    event_date: date
    days: int
    held_from: date
    held_to: date
    currency: str
    minor_units: int
    goods: int
    discount: int
    waiver: int
    delivery: int
    labour: int
    after_hours_charge: int
    taxable: int
    tax: int
    total: int
    deposit: int
    balance: int
    lines: tuple[LineRecord, ...]


def record_of(
    papers: Papers, request: Request, figures: Mapping[str, Decimal | str], rates: Rates, firm: Firm
) -> QuoteRecord:
    """The record of a request that `engine.price` has priced: `figures` are its figures by name.

    Raises Misuse if the request has no date or no days, since nothing could be held for it.
    """
    amounts = {name: figure for name, figure in figures.items() if isinstance(figure, Decimal)}
    days = int(amounts["days_counted"])
    if request.event_date is None or not days:
        raise Misuse(f"{papers.quote_number}: a quote is recorded with its event's date and days. Enter both.")
    held_from, held_to = held_days(request.event_date, days, int(firm.turnaround_days))
    return QuoteRecord(
        quote_number=papers.quote_number,
        revision=int(papers.revision),
        issued_on=papers.issued_on,
        client=request.client,
        event=request.event,
        venue=request.venue,
        event_date=request.event_date,
        days=days,
        held_from=held_from,
        held_to=held_to,
        currency=firm.currency,
        minor_units=int(rates.minor_units),
        **{name: in_minor_units(amounts[name], rates.minor_units) for name in QUOTE_MONEY},
        lines=_lines(request, amounts, rates),
    )


def _lines(request: Request, amounts: Mapping[str, Decimal], rates: Rates) -> tuple[LineRecord, ...]:
    priced = [
        (line, kind)
        for line, floor in enumerate(request.lines, 1)
        if amounts[f"counted_{line}"] and (kind := rates.kind(floor.panel))
    ]
    shares = _shares([line for line, _ in priced], amounts, rates) if priced else {}
    lines = []
    for place, (line, kind) in enumerate(priced):
        sheet = rates.subfloor(kind.subfloor_kind) if amounts[f"sheets_{line}"] else None
        lines.append(
            LineRecord(
                line=line,
                panel=kind.panel,
                subfloor_kind=sheet.subfloor_kind if sheet else "",
                **{name: int(amounts[f"{name}_{line}"]) for name in STOCKED},
                **{name: in_minor_units(amounts[f"{name}_{line}"], rates.minor_units) for name in GOODS},
                **{name: share[place] for name, share in shares.items()},
            )
        )
    return tuple(lines)


def _shares(numbers: list[int], amounts: Mapping[str, Decimal], rates: Rates) -> dict[str, list[int]]:
    """The shares of the lines with these numbers in the figures of the whole quote, by column.

    The discount is spread over every part of the goods, other charges over the lines by their
    goods, and the crew's paid minutes over the lines by the minutes to lay them.
    """
    minor_units = int(rates.minor_units)

    def shared(amount: Decimal, weights: list[Decimal]) -> list[int]:
        return [in_minor_units(part, minor_units) for part in split(amount, weights, minor_units)]

    parts = [amounts[f"{name}_{line}"] for name in GOODS for line in numbers]
    net = shared(amounts["goods"] - amounts["discount"], parts)
    by_goods = [sum((amounts[f"{name}_{line}"] for name in GOODS), ZERO) for line in numbers]
    charges = {name: amounts[name] for name in CHARGES}
    charges["labour"] += amounts["after_hours_charge"]
    paid = money((amounts["setup_hours"] + amounts["strike_hours"]) * rates.crew * 60, 0)
    return {
        **{f"net_{name}": net[i * len(numbers) : (i + 1) * len(numbers)] for i, name in enumerate(GOODS)},
        **{f"spread_{name}": shared(charge, by_goods) for name, charge in charges.items()},
        "crew_minutes": [int(part) for part in split(paid, [amounts[f"minutes_{line}"] for line in numbers], 0)],
    }


def in_minor_units(amount: Decimal, minor_units: int | Decimal) -> int:
    """An amount of money that is already rounded, as a whole number of minor units."""
    return int(amount.scaleb(int(minor_units)))


def in_major_units(amount: int, minor_units: int | Decimal) -> Decimal:
    """An amount of minor units as money in the currency's own unit, with all its decimal places."""
    return Decimal(amount).scaleb(-int(minor_units))


def taken_by(quote: QuoteRecord) -> Counter[Item]:
    """How many of each item all the lines of a quote take out of stock."""
    return sum((items_of_line(line.panel, line.subfloor_kind, vars(line)) for line in quote.lines), start=Counter())
