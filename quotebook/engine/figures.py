"""The figures of a priced quote, as values: `figures.total`, `figures.line(2).panels`.

A field has the figure's one name. Lengths are in the card's unit (ft or m), weights in lb or kg, money in
the card's currency, minutes are person-minutes, hours those that each of the crew is paid for, yes-or-no
figures 1 or 0, everything else is a count. How each is worked out says the function of its name.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from decimal import Decimal
from typing import Any

from quotebook.engine.model import LINES
from quotebook.engine.money import ZERO


@dataclass(frozen=True)
class LineFigures:
    """Every figure of one floor line; all 0 and empty on a line without a panel."""

    # What its panel kind and that kind's subfloor say.
    panel_width: Decimal
    panel_length: Decimal
    thickness: Decimal
    panel_weight: Decimal
    rate: Decimal
    panel_minutes: Decimal
    panels_per_cart: Decimal
    piece: Decimal
    piece_rate: Decimal
    corner_rate: Decimal
    piece_minutes: Decimal
    piece_weight: Decimal
    corner_weight: Decimal
    free: Decimal
    reduced_tax: Decimal
    sheet_width: Decimal
    sheet_length: Decimal
    sheet_thickness: Decimal
    sheet_rate: Decimal
    sheet_minutes: Decimal
    sheet_weight: Decimal
    sheets_per_cart: Decimal
    laying: str
    """One of `model.LAYINGS`; empty where the panel is not on the card."""
    subfloor_kind: str
    # Worked out by `floor`.
    counted: Decimal
    across_as_given: Decimal
    along_as_given: Decimal
    across_turned: Decimal
    along_turned: Decimal
    turned: Decimal
    across: Decimal
    along: Decimal
    panels: Decimal
    actual_width: Decimal
    actual_length: Decimal
    area: Decimal
    floor_width: Decimal
    floor_length: Decimal
    edging_fitted: Decimal
    slot_pieces: Decimal
    tongue_pieces: Decimal
    edging_pieces: Decimal
    cut_pieces: Decimal
    corners: Decimal
    sheets_as_given: Decimal
    sheets_turned: Decimal
    sheets: Decimal
    edge_height: Decimal
    # By `work`.
    minutes: Decimal
    carts: Decimal
    weight: Decimal
    # By `charges`.
    hire: Decimal
    edging: Decimal
    subfloor: Decimal


@dataclass(frozen=True)
class Figures:
    """Every figure of a quote, in the order in which they are worked out."""

    # What counts of the entries, by `entries`, and what follows from them alone.
    days_counted: Decimal
    miles_counted: Decimal
    flights_counted: Decimal
    guests_counted: Decimal
    days_factor: Decimal
    dancers: Decimal
    area_needed: Decimal
    lines: tuple[LineFigures, ...]
    """All LINES of the sheet, blank ones included."""
    # Sums over the lines.
    panels: Decimal
    area: Decimal
    weight: Decimal
    carts: Decimal
    # By `floor` and `work`.
    standing_room: Decimal
    trips: Decimal
    setup_minutes: Decimal
    setup_hours: Decimal
    strike_minutes: Decimal
    strike_hours: Decimal
    # By `charges`.
    labour: Decimal
    after_hours_charge: Decimal
    delivery: Decimal
    goods: Decimal
    discount: Decimal
    minimum_order_charge: Decimal
    waiver: Decimal
    goods_reduced: Decimal
    taxable_reduced: Decimal
    taxable: Decimal
    tax_reduced: Decimal
    tax: Decimal
    total: Decimal
    deposit: Decimal
    balance: Decimal
    # By `suggestion`.
    suggested_panel_width: Decimal
    suggested_panel_length: Decimal
    suggested_across: Decimal
    suggested_along: Decimal
    suggested_width: Decimal
    suggested_length: Decimal

    def line(self, number: int) -> LineFigures:
        """The figures of a floor line, by its number from 1."""
        return self.lines[number - 1]

    def by_name(self) -> dict[str, Decimal | str]:
        """Every figure by its defined name in a workbook (`panels_2`, `total`), each after those that it rests on."""
        flat: dict[str, Decimal | str] = {}
        for name, value in vars(self).items():
            if name == "lines":
                for names, line in zip(_NAMES_ON_LINES, self.lines, strict=True):
                    flat.update(zip(names, vars(line).values(), strict=True))
            else:
                flat[name] = value
        return flat


LINE_FIGURES = tuple(field.name for field in fields(LineFigures))
"""Names of a floor line's figures, in the order in which they are worked out; so are the quote's."""

QUOTE_FIGURES = tuple(field.name for field in fields(Figures) if field.name != "lines")

_NAMES_ON_LINES = tuple(tuple(f"{name}_{number}" for name in LINE_FIGURES) for number in range(1, LINES + 1))


def figures_of_names(named: Mapping[str, Any]) -> Figures:
    """The figures that have these values by their defined names; one that is missing is 0, or empty for a word."""
    blank = {field.name: "" if field.type is str else ZERO for field in fields(LineFigures)}
    lines = tuple(
        LineFigures(**{stem: named.get(name, blank[stem]) for stem, name in zip(LINE_FIGURES, names, strict=True)})
        for names in _NAMES_ON_LINES
    )
    return Figures(lines=lines, **{name: named.get(name, ZERO) for name in QUOTE_FIGURES})
