"""Choosing between kinds of panel: one floor at one event, laid in each, over what the ground then needs.

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
    """Of which for the subfloor."""
    setup_minutes: Decimal
    """Person-minutes with the unloading and the stairs."""
    elapsed_minutes: Decimal
    """The same by the clock, for the crew."""
    weight: Decimal
    carts: Decimal
    trips: Decimal


def choices(rates: Rates, request: Request) -> tuple[Choice, ...]:
    """The first floor line of `request` in every kind on the card, in the card's order, other lines left out."""
    return tuple(_choice(rates, request, kind) for kind in rates.kinds)


def _choice(rates: Rates, request: Request, kind: PanelKind) -> Choice:
    request = replace(request, lines=(replace(request.lines[0], panel=kind.panel),))
    figures = price(rates, request)
    without = price(rates, request, {"sheets_1": Decimal(0)})
    own = {name: figures.get(f"{name}_1", figures.get(name)) for name in Choice.__dataclass_fields__}
    own |= {
        "kind": kind,
        "notes": line_notes(rates, request, figures, 1),
        "subfloor_minutes": figures["minutes_1"] - without["minutes_1"],
        "elapsed_minutes": elapsed(figures["setup_minutes"], rates.crew),
    }
    return Choice(**own)
