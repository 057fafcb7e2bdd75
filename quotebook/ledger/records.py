"""The figures of a quote as the ledger keeps them: plain values.

Money is in whole minor units of the quote's currency. A field has the name of the engine's figure
and of the ledger's column. Two prefixes mark a line's share of one of the quote's figures: `net_`
is an amount after discount, `spread_` is the line's share of a charge for the whole quote. Shares
are in proportion, by largest remainder, so that they sum to the figure exactly.
"""

from collections import Counter
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from quotebook.engine.before_tax import tax_in_delivery, tax_in_goods, tax_in_labour, tax_in_waiver
from quotebook.engine.figures import Figures, LineFigures
from quotebook.engine.model import Firm, Papers, Rates, Request
from quotebook.engine.money import in_minor_units, money, split
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
    """Where prices have their tax in them, how much of them it is; the charges above have it in them then."""
    total: int
    deposit: int
    balance: int
    lines: tuple[LineRecord, ...]


def record_of(papers: Papers, request: Request, figures: Figures, rates: Rates, firm: Firm) -> QuoteRecord:
    """The record of a priced request. Raises Misuse where it has no date or no days to hold anything for."""
    days = int(figures.days_counted)
    if request.event_date is None or not days:
        raise Misuse(f"{papers.quote_number}: a quote is recorded with its event's date and days. Enter both.")
    money_of_quote = {name: getattr(figures, name) for name in QUOTE_MONEY}
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
        **{name: in_minor_units(amount, rates.minor_units) for name, amount in money_of_quote.items()},
        lines=_lines(request, figures, rates),
    )


def _lines(request: Request, figures: Figures, rates: Rates) -> tuple[LineRecord, ...]:
    priced = [(number, line) for number, line in enumerate(figures.lines, 1) if line.counted]
    shares = _shares([line for _, line in priced], figures, rates) if priced else {}
    lines = []
    for place, (number, line) in enumerate(priced):
        kind = rates.kind(request.lines[number - 1].panel)
        if kind is None:
            raise LookupError(f"line {number} was priced without a kind of panel")
        sheet = rates.subfloor(kind.subfloor_kind) if line.sheets else None
        lines.append(
            LineRecord(
                line=number,
                panel=kind.panel,
                subfloor_kind=sheet.subfloor_kind if sheet else "",
                **{name: int(getattr(line, name)) for name in STOCKED},
                **{name: in_minor_units(getattr(line, name), rates.minor_units) for name in GOODS},
                **{name: share[place] for name, share in shares.items()},
            )
        )
    return tuple(lines)


def _shares(priced: list[LineFigures], figures: Figures, rates: Rates) -> dict[str, list[int]]:
    """Each line's share of what belongs to the quote as a whole, by column.

    The discount, and what is charged up to the minimum order, are spread over every part of the
    goods, other charges over the lines by their goods, and the crew's paid minutes over the lines by
    the minutes to lay them. All but the tax is without tax, even where prices have theirs in them, so
    that what a quote's lines have in all sums to its total.
    """
    minor_units = int(rates.minor_units)

    def in_units(amounts: list[Decimal]) -> list[int]:
        return [in_minor_units(amount, minor_units) for amount in amounts]

    parts = [getattr(line, name) for name in GOODS for line in priced]
    net = split(figures.goods - figures.discount + figures.minimum_order_charge, parts, minor_units)
    by_goods = [line.hire + line.edging + line.subfloor for line in priced]
    charges = {name: getattr(figures, name) for name in CHARGES}
    charges["labour"] += figures.after_hours_charge
    if rates.prices_with_tax:
        net, charges = _without_tax(priced, net, charges, rates)
    paid = money((figures.setup_hours + figures.strike_hours) * rates.crew * 60, 0)
    return {
        **{f"net_{name}": in_units(net[i * len(priced) : (i + 1) * len(priced)]) for i, name in enumerate(GOODS)},
        **{f"spread_{name}": in_units(split(charge, by_goods, minor_units)) for name, charge in charges.items()},
        "crew_minutes": [int(part) for part in split(paid, [line.minutes for line in priced], 0)],
    }


def _without_tax(
    priced: list[LineFigures], net: list[Decimal], charges: dict[str, Decimal], rates: Rates
) -> tuple[list[Decimal], dict[str, Decimal]]:
    """The parts of the goods and the charges without the tax that they have in them, of which the whole is `tax`."""
    of_goods = [tax_in_goods(rates, reduced=line.reduced_tax == 1) for _ in GOODS for line in priced]
    of_charges = {
        "delivery": tax_in_delivery(rates), "labour": tax_in_labour(rates), "waiver": tax_in_waiver(rates),
    }  # fmt: skip
    amounts = [*net, *(charges[name] for name in of_charges)]
    weights = [
        amount * share / (1 + share) for amount, share in zip(amounts, (*of_goods, *of_charges.values()), strict=True)
    ]
    taxes = split(charges["tax"], weights, rates.minor_units)
    without = [amount - tax for amount, tax in zip(amounts, taxes, strict=True)]
    return without[: len(net)], dict(zip(of_charges, without[len(net) :], strict=True)) | {"tax": charges["tax"]}


def taken_by(quote: QuoteRecord) -> Counter[Item]:
    """How many of each item all the lines of a quote take out of stock."""
    return sum((items_of_line(line.panel, line.subfloor_kind, vars(line)) for line in quote.lines), start=Counter())
