"""From a request and the rates to every figure of a quote.

Here is the order in which the figures of `entries`, `floor`, `work`, `charges` and `suggestion` are worked out.
That each rests only on what is known by then is checked once, when this module is loaded.
"""

from collections.abc import Iterable
from dataclasses import fields

from quotebook.engine import charges, entries, floor, suggestion, work
from quotebook.engine.figure_graph import Scope, figures_of, require_fields, steps, work_out
from quotebook.engine.figures import LINE_FIGURES, QUOTE_FIGURES, Figures, LineFigures
from quotebook.engine.model import FloorLine, PanelKind, Rates, Request, Subfloor
from quotebook.engine.money import ZERO

RATES = tuple(field.name for field in fields(Rates) if field.name not in ("kinds", "subfloors"))
ENTRIES = ("days", "miles", "flights", "guests", "after_hours", "waiver_taken", "discount_share")
"""Fields of a request that figures rest on."""

LINE_ENTRIES = ("width", "length", "edging_wanted", "joined_width", "joined_length")
"""Fields of a floor line that figures rest on."""

OF_KIND = tuple(
    field.name for field in fields(PanelKind) if field.name not in ("panel", "panel_name", "subfloor_kind", "layings")
)
"""What a line takes from its panel kind, by field name."""

OF_SUBFLOOR = tuple(field.name for field in fields(Subfloor) if field.name not in ("subfloor_kind", "subfloor_name"))
"""What a line takes from its panel kind's subfloor, by field name."""

LOOKED_UP = (*OF_KIND, *OF_SUBFLOOR, "laying", "subfloor_kind")

SUMMED = ("panels", "area", "weight", "carts")
"""Line figures whose sum over the lines is the quote's figure of the same name."""

OPENING = steps(
    (*entries.FIGURES, charges.days_factor, floor.dancers, suggestion.area_needed),
    (*RATES, *ENTRIES),
)
LINE = steps(
    (*floor.LINE_FIGURES, *work.LINE_FIGURES, *charges.LINE_FIGURES),
    (*RATES, *ENTRIES, *figures_of(OPENING), *LOOKED_UP, *LINE_ENTRIES),
)
EACH = {name: f"{name}_each" for name in (*OF_KIND, *figures_of(LINE))}
"""For each line figure the name of the parameter by which a quote's figure takes it from every line."""

CLOSING = steps(
    (*floor.FIGURES, *work.FIGURES, *charges.FIGURES, *suggestion.FIGURES),
    (*RATES, *ENTRIES, *figures_of(OPENING), *SUMMED, *EACH.values()),
)
require_fields(LineFigures, (*LOOKED_UP, *figures_of(LINE)), LINE_FIGURES)
require_fields(Figures, (*figures_of(OPENING), *SUMMED, *figures_of(CLOSING)), QUOTE_FIGURES)


def price(rates: Rates, request: Request) -> Figures:
    """Every figure of the quote; a line of an option that is not picked has those of a blank one.

    Entries that cannot be used (None, out of range) count as nothing: `entries.problems` tells
    which they are. Nothing is raised for any request.
    """
    scope = {name: getattr(rates, name) for name in RATES} | _entries(request, ENTRIES)
    opening = work_out(OPENING, scope)
    scope |= opening
    lines = tuple(_price_line(rates, request.surface, line, scope) for line in request.as_picked().every_line)
    each = {name: tuple(getattr(line, name) for line in lines) for name in EACH}
    summed: Scope = {name: sum(each[name], ZERO) for name in SUMMED}
    closing = work_out(CLOSING, scope | summed | {EACH[name]: values for name, values in each.items()})
    return Figures(lines=lines, **opening, **summed, **closing)


def _price_line(rates: Rates, surface: str, line: FloorLine, scope: Scope) -> LineFigures:
    if not line.panel:
        return NO_PANEL
    kind = rates.kind(line.panel)
    subfloor_kind = kind.subfloor_kind if kind else ""
    looked_up = _looked_up(kind, rates.subfloor(subfloor_kind)) | {
        "laying": kind.laying(surface) if kind else "",
        "subfloor_kind": subfloor_kind,
    }
    worked_out = work_out(LINE, scope | looked_up | _entries(line, LINE_ENTRIES))
    return LineFigures(**looked_up, **worked_out)


def _looked_up(kind: PanelKind | None, sheet: Subfloor | None) -> Scope:
    """What the card's tables say for a line; 0 where its panel, or the panel's subfloor, is not on the card."""
    of_kind = {name: getattr(kind, name) if kind else ZERO for name in OF_KIND}
    return of_kind | {name: getattr(sheet, name) if sheet else ZERO for name in OF_SUBFLOOR}


def _entries(record: Request | FloorLine, names: Iterable[str]) -> Scope:
    """Some fields of a record by name; a blank one counts as 0."""
    found = {name: getattr(record, name) for name in names}
    return {name: ZERO if value is None else value for name, value in found.items()}


_NOTHING: Scope = {field.name: "" if field.type is str else ZERO for field in fields(LineFigures)}
NO_PANEL = LineFigures(**_NOTHING)
"""The figures of a line without a panel."""
