"""How big a floor should be: the sizes that serve a number of guests, for each kind of panel.

A size serves when it has the area that its dancers need. Guests who dance at once and the area of
each are the owner's assumptions, never derived from egress factors.
"""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from quotebook.engine.floor import dancers
from quotebook.engine.model import NOT_HERE, FloorLine, PanelKind, Rates, Request
from quotebook.engine.money import ZERO
from quotebook.engine.price import price
from quotebook.engine.suggestion import LONGEST_RATIO, area_needed, fewest_along, within_ratio

SHAPES = {"square": Fraction(1), "4:5": Fraction(4, 5), "2:3": Fraction(2, 3)}
"""What customers ask for, as shorter side over longer side (common practice, no source)."""

SHAPE_TOLERANCE = Fraction(1, 10)
"""A floor has a shape when its sides are in that ratio to within a tenth of it."""

MOST_PEOPLE = 4
"""Set-up times are given for one person up to this many."""


@dataclass(frozen=True)
class Wish:
    """An event that needs a floor."""

    guests: Decimal
    surface: str
    dancers_share: Decimal
    area_per_dancer: Decimal
    crowding_area: Decimal
    """Standing space for one: less than this is suggested to nobody."""
    within: tuple[Decimal, Decimal] | None = None
    """Sides of the space for the floor, which may lie either way round in it."""
    longest_ratio: Decimal = LONGEST_RATIO
    edging_wanted: bool = True
    days: Decimal = Decimal(1)
    miles: Decimal = ZERO
    flights: Decimal = ZERO

    @property
    def dancers(self) -> Decimal:
        return dancers(self.guests, self.dancers_share)

    @property
    def area_needed(self) -> Decimal:
        return area_needed(self.dancers, self.area_per_dancer, self.crowding_area)


@dataclass(frozen=True)
class Size:
    """A floor that serves. Figures have the names and units that they have in a quote of this floor alone."""

    shape: str
    """One of SHAPES, or empty."""
    across: Decimal
    along: Decimal
    panels: Decimal
    actual_width: Decimal
    actual_length: Decimal
    area: Decimal
    area_a_dancer: Decimal
    sheets: Decimal
    hire: Decimal
    edging: Decimal
    subfloor: Decimal
    goods: Decimal
    total: Decimal
    setup_minutes: Decimal
    elapsed_minutes: tuple[Decimal, ...]
    """Set-up by the clock, in minutes: for a crew of one, of two and so on up to MOST_PEOPLE."""
    weight: Decimal
    carts: Decimal
    trips: Decimal
    enough_free: bool
    """Whether that many panels are free."""


@dataclass(frozen=True)
class Advice:
    """What one kind of panel can do for a wish: sizes, best first, or the key of why there is none."""

    kind: PanelKind
    laying: str
    why_not: str
    sizes: tuple[Size, ...]


def sizes(rates: Rates, wish: Wish) -> tuple[Advice, ...]:
    """For each kind on the card the floors that serve `wish`, best first: fewest panels, then nearest to square.

    Fewest panels of one kind is also least area, so nothing is left to tell two floors apart.
    Listed are the floors that no smaller one of the kind fits inside, and the best floor of each of
    SHAPES. `why_not` is `no_dancers`, `not_on_surface` or `no_room` (nothing that is large enough
    stays within the longest ratio, the longest side that is priced, and the space).
    """
    return tuple(_advice(rates, wish, kind) for kind in rates.kinds)


def _advice(rates: Rates, wish: Wish, kind: PanelKind) -> Advice:
    laying = kind.laying(wish.surface)
    if wish.area_needed <= 0:
        return Advice(kind, laying, "no_dancers", ())
    if laying == NOT_HERE:
        return Advice(kind, laying, "not_on_surface", ())
    floors = sorted(_floors(rates, wish, kind), key=lambda sides: (sides[0] * sides[1], sum(sides)))
    listed = tuple(_size(rates, wish, kind, *_way_round(sides, wish.within)) for sides in _worth_listing(floors))
    return Advice(kind, laying, "" if listed else "no_room", listed)


def _floors(rates: Rates, wish: Wish, kind: PanelKind) -> set[tuple[Decimal, Decimal]]:
    """Floors of whole panels that serve, as shorter and longer side: all that can be worth listing."""
    longest = min(rates.longest_side, max(wish.within)) if wish.within else rates.longest_side
    reach = 2 * wish.area_needed.sqrt() + 4 * max(kind.panel_width, kind.panel_length)
    floors = _floors_within(wish, kind, min(reach, longest))
    while reach < longest and not _settled(wish, floors, reach):
        reach *= 2
        floors = _floors_within(wish, kind, min(reach, longest))
    return floors


def _settled(wish: Wish, floors: set[tuple[Decimal, Decimal]], reach: Decimal) -> bool:
    """Whether no floor with a side beyond `reach` is worth listing.

    Such a floor is at least reach / ratio by reach. One of those within fits inside it, and every
    shape that the ratio allows has a floor of no more area.
    """
    shorter, area = reach / wish.longest_ratio, reach * reach / wish.longest_ratio
    allowed = {
        shape for shape, asked in SHAPES.items() if asked * (1 + SHAPE_TOLERANCE) * Fraction(wish.longest_ratio) >= 1
    }
    found = {_shape(*sides) for sides in floors if sides[0] * sides[1] <= area}
    return allowed <= found and any(longer <= shorter for _, longer in floors)


def _floors_within(wish: Wish, kind: PanelKind, longest: Decimal) -> set[tuple[Decimal, Decimal]]:
    """Every floor of whole panels that serves, with no side beyond `longest`."""
    panel = kind.panel_width, kind.panel_length
    grids = (
        (across, along)
        for across in range(1, int(longest / panel[0]) + 1)
        for along in range(
            int(fewest_along(Decimal(across), *panel, wish.area_needed, wish.longest_ratio)),
            int(longest / panel[1]) + 1,
        )
    )
    sides = ((across * panel[0], along * panel[1]) for across, along in grids)
    floors = ((min(width, length), max(width, length)) for width, length in sides)
    return {
        (shorter, longer)
        for shorter, longer in floors
        if within_ratio(shorter, longer, wish.longest_ratio) and _fits((shorter, longer), wish.within)
    }


def _fits(sides: tuple[Decimal, Decimal], within: tuple[Decimal, Decimal] | None) -> bool:
    return within is None or (sides[0] <= min(within) and sides[1] <= max(within))


def _worth_listing(floors: list[tuple[Decimal, Decimal]]) -> list[tuple[Decimal, Decimal]]:
    """The floors that no smaller one fits inside, and the first of each shape. `floors` come best first."""
    listed: list[tuple[Decimal, Decimal]] = []
    smallest: list[tuple[Decimal, Decimal]] = []
    shapes = set()
    for shorter, longer in floors:
        shape = _shape(shorter, longer)
        least = not any(other[0] <= shorter and other[1] <= longer for other in smallest)
        if least:
            smallest.append((shorter, longer))
        if least or (shape and shape not in shapes):
            listed.append((shorter, longer))
        shapes.add(shape)
    return listed


def _shape(shorter: Decimal, longer: Decimal) -> str:
    """The nearest of SHAPES, if it is near enough."""
    ratio = Fraction(shorter) / Fraction(longer)
    off = {shape: abs(ratio / asked - 1) for shape, asked in SHAPES.items()}
    nearest = min(off, key=off.__getitem__)
    return nearest if off[nearest] <= SHAPE_TOLERANCE else ""


def _way_round(sides: tuple[Decimal, Decimal], within: tuple[Decimal, Decimal] | None) -> tuple[Decimal, Decimal]:
    """Width and length: the longer side lies along the longer side of the space."""
    return sides[::-1] if within and within[0] > within[1] else sides


def _size(rates: Rates, wish: Wish, kind: PanelKind, width: Decimal, length: Decimal) -> Size:
    floor = FloorLine(kind.panel, width, length, wish.edging_wanted)
    request = Request(
        days=wish.days, surface=wish.surface, miles=wish.miles, flights=wish.flights, guests=wish.guests, lines=(floor,)
    )
    figures = price(rates, request)
    line = figures.line(1)
    return Size(
        shape=_shape(min(width, length), max(width, length)),
        across=line.across,
        along=line.along,
        panels=line.panels,
        actual_width=line.actual_width,
        actual_length=line.actual_length,
        area=line.area,
        area_a_dancer=line.area / wish.dancers,
        sheets=line.sheets,
        hire=line.hire,
        edging=line.edging,
        subfloor=line.subfloor,
        goods=figures.goods,
        total=figures.total,
        setup_minutes=figures.setup_minutes,
        elapsed_minutes=tuple(elapsed(figures.setup_minutes, people) for people in range(1, MOST_PEOPLE + 1)),
        weight=line.weight,
        carts=line.carts,
        trips=figures.trips,
        enough_free=line.panels <= kind.free,
    )


def elapsed(person_minutes: Decimal, people: int | Decimal) -> Decimal:
    """Minutes of the clock for `people` who share the work evenly (common practice, no source)."""
    return person_minutes / people
