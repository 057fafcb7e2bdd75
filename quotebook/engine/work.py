"""Loads, crews and hours.

Figures as functions, as in `floor`. Minutes are person-minutes, hours are what the crew is paid
for. A parameter `x_each` is the tuple of the six lines' figure `x`.
"""

from decimal import Decimal

from quotebook.engine.money import ZERO, round_up


def minutes(
    panels: Decimal,
    panel_minutes: Decimal,
    sheets: Decimal,
    sheet_minutes: Decimal,
    edging_pieces: Decimal,
    corners: Decimal,
    piece_minutes: Decimal,
) -> Decimal:
    """To lay the line: person-minutes."""
    return panels * panel_minutes + sheets * sheet_minutes + (edging_pieces + corners) * piece_minutes


def carts(panels: Decimal, panels_per_cart: Decimal, sheets: Decimal, sheets_per_cart: Decimal) -> Decimal:
    """Carts for the line: panels and sheets never share one, nor do two lines."""
    panel_carts = round_up(panels / panels_per_cart) if panels else ZERO
    sheet_carts = round_up(sheets / sheets_per_cart) if sheets else ZERO
    return panel_carts + sheet_carts


def weight(
    panels: Decimal,
    panel_weight: Decimal,
    sheets: Decimal,
    sheet_weight: Decimal,
    edging_pieces: Decimal,
    piece_weight: Decimal,
    corners: Decimal,
    corner_weight: Decimal,
    carts: Decimal,
    cart_weight: Decimal,
) -> Decimal:
    """Weight of all that is loaded for the line: panels, sheets, edging, corners, and the carts themselves."""
    on_carts = panels * panel_weight + sheets * sheet_weight + carts * cart_weight
    return on_carts + edging_pieces * piece_weight + corners * corner_weight


LINE_FIGURES = (minutes, carts, weight)


def trips(weight: Decimal, tools_weight: Decimal, payload: Decimal, carts: Decimal, cart_places: Decimal) -> Decimal:
    """Ways out with the vehicle: it has room for so many carts, and a payload that is never exceeded, tools too."""
    return max(round_up((weight + tools_weight) / payload), round_up(carts / cart_places)) if carts else ZERO


def setup_minutes(
    minutes_each: tuple[Decimal, ...],
    carts: Decimal,
    unload_minutes: Decimal,
    flights_counted: Decimal,
    flight_minutes: Decimal,
) -> Decimal:
    """To unload the carts, take them up the stairs and lay all floors: person-minutes."""
    return sum(minutes_each, ZERO) + carts * (unload_minutes + flights_counted * flight_minutes)


def setup_hours(setup_minutes: Decimal, crew: Decimal, minimum_hours: Decimal) -> Decimal:
    """Each person's hours of the set-up, by the quarter hour; none where there is nothing to lay."""
    return max(minimum_hours, quarter_hours(setup_minutes, crew)) if setup_minutes else ZERO


def strike_minutes(setup_minutes: Decimal, strike_share: Decimal) -> Decimal:
    """To take up all floors and load: person-minutes."""
    return setup_minutes * strike_share


def strike_hours(setup_minutes: Decimal, strike_minutes: Decimal, crew: Decimal, minimum_hours: Decimal) -> Decimal:
    """Each person's hours of the strike, by the quarter hour; none where nothing was laid."""
    return max(minimum_hours, quarter_hours(strike_minutes, crew)) if setup_minutes else ZERO


def quarter_hours(person_minutes: Decimal, crew: Decimal) -> Decimal:
    """Hours for each of `crew` people, in whole quarters."""
    return round_up(person_minutes / crew / 15) / 4


FIGURES = (trips, setup_minutes, setup_hours, strike_minutes, strike_hours)
