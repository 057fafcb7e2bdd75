"""The geometry of one floor line: panels, edging, subfloor.

Each function is one figure. Its name is the figure's and its parameters are the figures, entries and
rates it rests on; `price.price` runs those of `LINE_FIGURES` for each line, in that order. Sizes are in the
card's unit of length, yes-or-no figures are 1 or 0, everything else is a count.
"""

from decimal import Decimal

from quotebook.engine.model import OVER_SUBFLOOR
from quotebook.engine.money import ONE, ZERO, round6, round_up


def counted(panel_width: Decimal, width: Decimal, length: Decimal, longest_side: Decimal) -> Decimal:
    """1 where the line is priced: its panel is on the card and both sides can be used."""
    return ONE if panel_width and 0 < width <= longest_side and 0 < length <= longest_side else ZERO


def across_as_given(counted: Decimal, width: Decimal, panel_width: Decimal) -> Decimal:
    """Panels across the width, laid as the card gives them."""
    return round_up(width / panel_width) if counted else ZERO


def along_as_given(counted: Decimal, length: Decimal, panel_length: Decimal) -> Decimal:
    """Panels along the length, laid as the card gives them."""
    return round_up(length / panel_length) if counted else ZERO


def across_turned(counted: Decimal, width: Decimal, panel_length: Decimal) -> Decimal:
    """Panels across the width, laid a quarter turn round."""
    return round_up(width / panel_length) if counted else ZERO


def along_turned(counted: Decimal, length: Decimal, panel_width: Decimal) -> Decimal:
    """Panels along the length, laid a quarter turn round."""
    return round_up(length / panel_width) if counted else ZERO


def turned(across_as_given: Decimal, along_as_given: Decimal, across_turned: Decimal, along_turned: Decimal) -> Decimal:
    """1 where the panels are laid a quarter turn round, because that needs fewer of them."""
    return ONE if across_turned * along_turned < across_as_given * along_as_given else ZERO


def across(turned: Decimal, across_as_given: Decimal, across_turned: Decimal) -> Decimal:
    """Panels across the width, as they are laid."""
    return across_turned if turned else across_as_given


def along(turned: Decimal, along_as_given: Decimal, along_turned: Decimal) -> Decimal:
    """Panels along the length, as they are laid."""
    return along_turned if turned else along_as_given


def panels(across: Decimal, along: Decimal) -> Decimal:
    """Panels of the line."""
    return across * along


def actual_width(turned: Decimal, across: Decimal, panel_width: Decimal, panel_length: Decimal) -> Decimal:
    """Width that whole panels cover, which may be more than was asked for."""
    return across * (panel_length if turned else panel_width)


def actual_length(turned: Decimal, along: Decimal, panel_width: Decimal, panel_length: Decimal) -> Decimal:
    """Length that whole panels cover."""
    return along * (panel_width if turned else panel_length)


def area(actual_width: Decimal, actual_length: Decimal) -> Decimal:
    """What the panels cover, in square units of length."""
    return actual_width * actual_length


def floor_width(counted: Decimal, actual_width: Decimal, joined_width: Decimal) -> Decimal:
    """Width of the whole floor that begins on this line, further lines included; 0 where it began on another."""
    return max(ZERO, round6(actual_width + joined_width)) if counted else ZERO


def floor_length(counted: Decimal, actual_length: Decimal, joined_length: Decimal) -> Decimal:
    """Length of the whole floor that begins on this line, further lines included; 0 where it began on another."""
    return max(ZERO, round6(actual_length + joined_length)) if counted else ZERO


def edging_fitted(counted: Decimal, edging_wanted: bool, piece: Decimal) -> Decimal:
    """1 where edging is asked for and the firm keeps some for this kind of panel."""
    return ONE if counted and edging_wanted and piece else ZERO


def slot_pieces(edging_fitted: Decimal, floor_width: Decimal, floor_length: Decimal, piece: Decimal) -> Decimal:
    """Edging pieces that mate with slot edges, which a floor shows on two adjacent sides."""
    return round_up(floor_width / piece) + round_up(floor_length / piece) if edging_fitted else ZERO


def tongue_pieces(slot_pieces: Decimal) -> Decimal:
    """Edging pieces that mate with tongue edges: the other two sides, so as many again."""
    return slot_pieces


def edging_pieces(slot_pieces: Decimal, tongue_pieces: Decimal) -> Decimal:
    """Edging pieces for all four sides."""
    return slot_pieces + tongue_pieces


def cut_pieces(edging_fitted: Decimal, floor_width: Decimal, floor_length: Decimal, piece: Decimal) -> Decimal:
    """Edging pieces that have to be cut, or stand over: one on each of the two sides of a length they do not divide."""
    sides = (side for side in (floor_width, floor_length) if edging_fitted)
    return sum((Decimal(2) for side in sides if round6(round_up(side / piece) * piece - side)), ZERO)


def corners(edging_fitted: Decimal, floor_width: Decimal, floor_length: Decimal) -> Decimal:
    """One corner piece for each corner of an edged floor."""
    return 4 * edging_fitted if floor_width and floor_length else ZERO


def sheets_as_given(
    counted: Decimal,
    laying: str,
    sheet_width: Decimal,
    sheet_length: Decimal,
    floor_width: Decimal,
    floor_length: Decimal,
) -> Decimal:
    """Whole subfloor sheets under the floor, where the surface needs them."""
    if not (counted and laying == OVER_SUBFLOOR and sheet_width):
        return ZERO
    return round_up(floor_width / sheet_width) * round_up(floor_length / sheet_length)


def sheets_turned(
    counted: Decimal,
    laying: str,
    sheet_width: Decimal,
    sheet_length: Decimal,
    floor_width: Decimal,
    floor_length: Decimal,
) -> Decimal:
    """Whole subfloor sheets under the floor with each sheet laid a quarter turn round."""
    return sheets_as_given(counted, laying, sheet_length, sheet_width, floor_width, floor_length)


def sheets(sheets_as_given: Decimal, sheets_turned: Decimal) -> Decimal:
    """Whole subfloor sheets, laid whichever way takes fewer."""
    return min(sheets_as_given, sheets_turned)


def edge_height(thickness: Decimal, sheets: Decimal, sheet_thickness: Decimal) -> Decimal:
    """How far the floor stands above the ground: the panel, and the sheet under it where there is one."""
    return thickness + (sheet_thickness if sheets else ZERO)


LINE_FIGURES = (
    counted, across_as_given, along_as_given, across_turned, along_turned, turned, across, along, panels,
    actual_width, actual_length, area, floor_width, floor_length, edging_fitted, slot_pieces, tongue_pieces,
    edging_pieces, cut_pieces, corners, sheets_as_given, sheets_turned, sheets, edge_height,
)  # fmt: skip


def dancers(guests_counted: Decimal, dancers_share: Decimal) -> Decimal:
    """Guests expected to dance at once."""
    return round_up(guests_counted * dancers_share)


def standing_room(area: Decimal, crowding_area: Decimal) -> Decimal:
    """The people for whom there is standing space on all the floors together."""
    return round6(area / crowding_area) // 1


FIGURES = (standing_room,)
