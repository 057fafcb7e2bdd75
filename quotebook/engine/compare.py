"""One floor at one event laid in each kind of panel, over what the ground then needs, to choose between them.

It shows what a cheap floor costs in time: small panels that need a subfloor against large ones that
go straight on the grass.
"""

from dataclasses import dataclass, replace
from decimal import Decimal

from quotebook.engine.advice import elapsed
from quotebook.engine.cautions import line_notes
from quotebook.engine.model import PanelKind, Rates, Request
from quotebook.engine.price import price


@dataclass(frozen=True)
class Choice:
    """The floor in one kind. Figures have the names and units that they have in a quote of this floor alone."""

    kind: PanelKind
    laying: str
    notes: tuple[str, ...]
    """Keys of `cautions.line_notes`: where `not_on_surface` is among them the kind is no choice at all."""
    panels: Decimal
    actual_width: Decimal
    actual_length: Decimal
    sheets: Decimal
    hire: Decimal
    edging: Decimal
    subfloor: Decimal
    goods: Decimal
    labour: Decimal
    delivery: Decimal
    total: Decimal
    minutes: Decimal
    """Person-minutes to lay it all."""
    subfloor_minutes: Decimal
    """Person-minutes of these for laying the subfloor."""
    setup_minutes: Decimal
    """Person-minutes with the unloading and the stairs."""
    elapsed_minutes: Decimal
    """Minutes by the clock until the crew has set up."""
    weight: Decimal
    carts: Decimal
    trips: Decimal


def choices(rates: Rates, request: Request) -> tuple[Choice, ...]:
    """The first floor line of `request` in every kind on the card, in the card's order, other lines left out."""
    return tuple(_choice(rates, request, kind) for kind in rates.kinds)


def _choice(rates: Rates, request: Request, kind: PanelKind) -> Choice:
    request = replace(request, lines=(replace(request.lines[0], panel=kind.panel),))
    figures = price(rates, request)
    line = figures.line(1)
    return Choice(
        kind=kind,
        laying=line.laying,
        notes=line_notes(request, figures, 1),
        panels=line.panels,
        actual_width=line.actual_width,
        actual_length=line.actual_length,
        sheets=line.sheets,
        hire=line.hire,
        edging=line.edging,
        subfloor=line.subfloor,
        goods=figures.goods,
        labour=figures.labour,
        delivery=figures.delivery,
        total=figures.total,
        minutes=line.minutes,
        subfloor_minutes=line.sheets * line.sheet_minutes,
        setup_minutes=figures.setup_minutes,
        elapsed_minutes=elapsed(figures.setup_minutes, rates.crew),
        weight=line.weight,
        carts=line.carts,
        trips=figures.trips,
    )
