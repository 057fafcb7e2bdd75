"""What is loaded for a job, in the order in which it is needed, and what goes on each trip.

What is needed first comes off the vehicle first, so it goes on last: the tools, then for one floor after another its
sheets and its panels, each kind in the order of laying, and at the end the edging (common practice, no source).
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from quotebook.engine.figures import Figures
from quotebook.engine.laid_floors import floors
from quotebook.engine.model import Rates, Request
from quotebook.engine.money import ZERO, plain

SHEETS, PANELS = "sheets", "panels"


@dataclass(frozen=True)
class Cart:
    """One loaded cart."""

    what: str
    """PANELS or SHEETS."""
    code: str
    """The panel's or the subfloor's."""
    floor: int
    """Number of the floor that it is for, from 1."""
    count: int
    weight: Decimal
    """Weight of the cart with what is on it."""


@dataclass(frozen=True)
class EdgingPack:
    """The edging pieces or corners of one sort for one floor. They lie between the carts and take no place."""

    what: str
    """`slot_pieces`, `tongue_pieces` or `corners`."""
    code: str
    """Code of the panel whose edging it is."""
    floor: int
    """Number of the floor that it is for, from 1."""
    count: int
    weight: Decimal


@dataclass(frozen=True)
class Load:
    """What the vehicle carries on one trip."""

    carts: tuple[Cart, ...]
    """In the order in which they are needed."""
    edging: tuple[EdgingPack, ...]
    tools_weight: Decimal
    """Weight of the tools, which go on the first trip; 0 on any other."""

    @property
    def weight(self) -> Decimal:
        packs: tuple[Cart | EdgingPack, ...] = (*self.carts, *self.edging)
        return self.tools_weight + sum((pack.weight for pack in packs), ZERO)


class TooHeavy(ValueError):
    """A cart, or the edging of a floor, that is more than the vehicle may carry."""

    def __init__(self, pack: Cart | EdgingPack, most: Decimal) -> None:
        what = "on a cart" if isinstance(pack, Cart) else pack.what.replace("_", " ")
        super().__init__(
            f"{pack.count} {pack.code} {what} weigh {plain(pack.weight)}, and beside the tools the vehicle may carry "
            f"{plain(most)}: split them, with fewer for each cart on the rate card"
        )


def weighed(rates: Rates, today: Rates) -> Rates:
    """The rates of a quote with the weights and thicknesses that it was issued without, as the card has them today.

    What a quote of an earlier version does not say counts as 0 in it, and would be loaded as nothing.
    """
    return replace(
        rates,
        cart_weight=rates.cart_weight or today.cart_weight,
        tools_weight=rates.tools_weight or today.tools_weight,
        kinds=tuple(
            replace(
                kind,
                piece_weight=kind.piece_weight or known.piece_weight,
                corner_weight=kind.corner_weight or known.corner_weight,
            )
            for kind in rates.kinds
            for known in [today.kind(kind.panel) or kind]
        ),
        subfloors=tuple(
            replace(sheet, sheet_thickness=sheet.sheet_thickness or known.sheet_thickness)
            for sheet in rates.subfloors
            for known in [today.subfloor(sheet.subfloor_kind) or sheet]
        ),
    )


def carts(rates: Rates, request: Request, figures: Figures) -> tuple[Cart, ...]:
    """The carts of a priced request, in the order in which they are needed."""
    loaded: list[Cart] = []
    for number, floor in enumerate(floors(rates, request, figures), 1):
        for line in floor.lines:
            own = figures.line(line)
            sheet = own.subfloor_kind, own.sheets, own.sheets_per_cart, own.sheet_weight
            loaded += _of_line(number, SHEETS, *sheet, rates.cart_weight)
        for line in floor.lines:
            own, code = figures.line(line), rates.listed_kind(request.lines[line - 1].panel).panel
            panel = code, own.panels, own.panels_per_cart, own.panel_weight
            loaded += _of_line(number, PANELS, *panel, rates.cart_weight)
    return tuple(loaded)


def _of_line(
    floor: int, what: str, code: str, pieces: Decimal, per_cart: Decimal, weight: Decimal, cart_weight: Decimal
) -> Iterator[Cart]:
    for start in range(0, int(pieces), int(per_cart) or 1):
        count = min(int(per_cart), int(pieces) - start)
        yield Cart(what, code, floor, count, cart_weight + count * weight)


def edging(rates: Rates, request: Request, figures: Figures) -> tuple[EdgingPack, ...]:
    """The edging and corners of a priced request, in the order in which they are needed."""
    return tuple(
        EdgingPack(what, floor.edging_of, number, count, count * (corner if what == "corners" else piece))
        for number, floor in enumerate(floors(rates, request, figures), 1)
        for piece, corner in [_edging_weights(rates, floor.edging_of)]
        for what in ("slot_pieces", "tongue_pieces", "corners")
        if (count := getattr(floor, what))
    )


def _edging_weights(rates: Rates, code: str) -> tuple[Decimal, Decimal]:
    """Weights of an edging piece and of a corner for a kind of panel; 0 where no edging is fitted."""
    kind = rates.kind(code)
    return (kind.piece_weight, kind.corner_weight) if kind else (ZERO, ZERO)


def trips(
    loaded: Sequence[Cart],
    packs: Sequence[EdgingPack],
    tools_weight: Decimal,
    payload: Decimal,
    cart_places: Decimal,
) -> tuple[Load, ...]:
    """What goes on each trip: as much at a time as the vehicle has room and payload for, the tools on the first.

    Whole carts can take a trip more than their weight alone would. Raises TooHeavy for a cart, or a floor's edging,
    that is above what the tools leave of the payload: no trip takes it, so it has to be split.
    """
    needed: tuple[Cart | EdgingPack, ...] = (*loaded, *packs)
    if heavy := next((pack for pack in needed if pack.weight > payload - tools_weight), None):
        raise TooHeavy(heavy, payload - tools_weight)
    gone: list[Load] = []
    load = Load((), (), tools_weight)
    for pack in needed:
        room = not isinstance(pack, Cart) or len(load.carts) < cart_places
        if not room or load.weight + pack.weight > payload:
            gone.append(load)
            load = Load((), (), ZERO)
        if isinstance(pack, Cart):
            load = replace(load, carts=(*load.carts, pack))
        else:
            load = replace(load, edging=(*load.edging, pack))
    return (*gone, load) if load.carts or load.edging else ()
