"""The geometry of one floor line: panels, edging, subfloor.

Each function is one figure. Its name is the figure's and its parameters are the figures and
entries it rests on; `price.price` calls them in the order of `FIGURES`. Sizes are in the card's
unit of length, yes-or-no figures are 1 or 0, everything else is a count.
"""

from decimal import Decimal

from quotebook.engine.model import OVER_SUBFLOOR
from quotebook.engine.money import ONE, ZERO, round6, round_up


def counted(panel_width, width, length, longest_side) -> Decimal:
    """1 where the line is priced: its panel is on the card and both sides can be used."""
    return ONE if panel_width and 0 < width <= longest_side and 0 < length <= longest_side else ZERO


def across_as_given(counted, width, panel_width) -> Decimal:
    return round_up(width / panel_width) if counted else ZERO


def along_as_given(counted, length, panel_length) -> Decimal:
    return round_up(length / panel_length) if counted else ZERO


def across_turned(counted, width, panel_length) -> Decimal:
    return round_up(width / panel_length) if counted else ZERO


def along_turned(counted, length, panel_width) -> Decimal:
    return round_up(length / panel_width) if counted else ZERO


def turned(across_as_given, along_as_given, across_turned, along_turned) -> Decimal:
    """1 where the panels are laid a quarter turn round, because that needs fewer of them."""
    return ONE if across_turned * along_turned < across_as_given * along_as_given else ZERO


def across(turned, across_as_given, across_turned) -> Decimal:
    return across_turned if turned else across_as_given


def along(turned, along_as_given, along_turned) -> Decimal:
    return along_turned if turned else along_as_given


def panels(across, along) -> Decimal:
    return across * along


def actual_width(turned, across, panel_width, panel_length) -> Decimal:
    """What whole panels cover, which may be more than was asked for."""
    return across * (panel_length if turned else panel_width)


def actual_length(turned, along, panel_width, panel_length) -> Decimal:
    return along * (panel_width if turned else panel_length)


def area(actual_width, actual_length) -> Decimal:
    return actual_width * actual_length


def floor_width(counted, actual_width, joined_width) -> Decimal:
    """Of the whole floor that begins on this line, which further lines may add to; 0 where it began on another."""
    return max(ZERO, round6(actual_width + joined_width)) if counted else ZERO


def floor_length(counted, actual_length, joined_length) -> Decimal:
    return max(ZERO, round6(actual_length + joined_length)) if counted else ZERO


def edging_fitted(counted, edging_wanted, piece) -> Decimal:
    """1 where edging is asked for and the firm keeps some for this kind of panel."""
    return ONE if counted and edging_wanted and piece else ZERO


def slot_pieces(edging_fitted, floor_width, floor_length, piece) -> Decimal:
    """Edging pieces that mate with slot edges, which a floor shows on two adjacent sides."""
    return round_up(floor_width / piece) + round_up(floor_length / piece) if edging_fitted else ZERO


def tongue_pieces(slot_pieces) -> Decimal:
    """Edging pieces that mate with tongue edges: the other two sides, so as many again."""
    return slot_pieces


def edging_pieces(slot_pieces, tongue_pieces) -> Decimal:
    return slot_pieces + tongue_pieces


def corners(edging_fitted, floor_width, floor_length) -> Decimal:
    return 4 * edging_fitted if floor_width and floor_length else ZERO


def sheets_as_given(counted, laying, sheet_width, sheet_length, floor_width, floor_length) -> Decimal:
    """Whole subfloor sheets under the floor, where the surface needs them."""
    if not (counted and laying == OVER_SUBFLOOR and sheet_width):
        return ZERO
    return round_up(floor_width / sheet_width) * round_up(floor_length / sheet_length)


def sheets_turned(counted, laying, sheet_width, sheet_length, floor_width, floor_length) -> Decimal:
    """The same with the sheets laid the other way."""
    return sheets_as_given(counted, laying, sheet_length, sheet_width, floor_width, floor_length)


def sheets(sheets_as_given, sheets_turned) -> Decimal:
    return min(sheets_as_given, sheets_turned)


LINE_FIGURES = (
    counted, across_as_given, along_as_given, across_turned, along_turned, turned, across, along, panels,
    actual_width, actual_length, area, floor_width, floor_length, edging_fitted, slot_pieces, tongue_pieces, edging_pieces, corners,
    sheets_as_given, sheets_turned, sheets,
)  # fmt: skip


def dancers(guests_counted, dancers_share) -> Decimal:
    """Guests expected to dance at once."""
    return round_up(guests_counted * dancers_share)


def standing_room(area, crowding_area) -> Decimal:
    """The people for whom there is standing space on all the floors together."""
    return round6(area / crowding_area) // 1


FIGURES = (standing_room,)
