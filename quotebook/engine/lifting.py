"""How heavy a lift is recommended to be at most: the revised NIOSH lifting equation.

Applications Manual for the Revised NIOSH Lifting Equation, DHHS (NIOSH) Publication 94-110. It is
for one person lifting with both hands, and says nothing of carrying, of team lifts, of wet or
uneven ground, or of a day longer than eight hours (limits of the manual, quoted from memory); a
weight below the limit is no promise that nobody is hurt. What a team may lift is by HSE L23, guidance
on the Manual Handling Operations Regulations 1992. Lengths are in inches and weights in lb where the
card counts in ft, in cm and kg where it counts in m: the manual's two forms of the equation are no
exact conversions of each other.
"""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from quotebook.engine.money import ONE, ZERO
from quotebook.engine.published import TEAM_SHARES

GOOD, FAIR, POOR = COUPLINGS = ("good", "fair", "poor")
"""How well the hands hold the load: handles, a grip under a flat edge, neither."""


@dataclass(frozen=True)
class Lift:
    """One end of a lift (where the load is taken up, or where it is put down) and how often it is done."""

    reach: Decimal
    """H: from between the ankles to the hands, level."""
    hand_height: Decimal
    """V: of the hands above the ground."""
    travel: Decimal
    """D: how far the hands go up or down."""
    twist: Decimal
    """A: degrees that the body is turned from straight ahead."""
    lifts_a_minute: Decimal
    coupling: str
    """One of COUPLINGS."""
    hours: Decimal = ONE
    """For which such lifting goes on in a day: the job's own."""


@dataclass(frozen=True)
class Equation:
    """The constants of one form of the equation."""

    load_constant: Decimal
    least_reach: Decimal
    most_reach: Decimal
    best_height: Decimal
    height_slope: Decimal
    most_height: Decimal
    least_travel: Decimal
    most_travel: Decimal
    travel_share: Decimal


def _equation(*constants: str) -> Equation:
    return Equation(*map(Decimal, constants))


EQUATIONS = {
    "ft": _equation("51", "10", "25", "30", "0.0075", "70", "10", "70", "1.8"),
    "m": _equation("23", "25", "63", "75", "0.003", "175", "25", "175", "4.5"),
}
"""By the card's unit of length: inches and lb, or cm and kg."""

MOST_TWIST = 135

FREQUENCIES = tuple(map(Decimal, ("0.2", "0.5", *range(1, 16))))

FREQUENCY_MULTIPLIERS = {
    1: (100, 97, 94, 91, 88, 84, 80, 75, 70, 60, 52, 45, 41, 37, 34, 31, 28),
    2: (95, 92, 88, 84, 79, 72, 60, 50, 42, 35, 30, 26, 23, 21, 0, 0, 0),
    8: (85, 81, 75, 65, 55, 45, 35, 27, 22, 18, 15, 13, 0, 0, 0, 0, 0),
}
"""Table 5 in hundredths: by hours at most, for each of FREQUENCIES, hands at the best height or above."""

LOW_LIMITS = {1: 13, 2: 11, 8: 9}
"""Table 5: lifts a minute from which it is 0 with the hands below the best height, by hours at most."""

COUPLING_MULTIPLIERS = {GOOD: ("1.00", "1.00"), FAIR: ("0.95", "1.00"), POOR: ("0.90", "0.90")}
"""Table 7: with the hands below the best height, and at it or above."""


def horizontal_multiplier(lift: Lift, equation: Equation) -> Decimal:
    if lift.reach > equation.most_reach:
        return ZERO
    return equation.least_reach / max(lift.reach, equation.least_reach)


def vertical_multiplier(lift: Lift, equation: Equation) -> Decimal:
    if lift.hand_height > equation.most_height:
        return ZERO
    return ONE - equation.height_slope * abs(lift.hand_height - equation.best_height)


def distance_multiplier(lift: Lift, equation: Equation) -> Decimal:
    if lift.travel > equation.most_travel:
        return ZERO
    return Decimal("0.82") + equation.travel_share / max(lift.travel, equation.least_travel)


def asymmetric_multiplier(lift: Lift, equation: Equation) -> Decimal:
    return ONE - Decimal("0.0032") * lift.twist if lift.twist <= MOST_TWIST else ZERO


def frequency_multiplier(lift: Lift, equation: Equation) -> Decimal:
    """From Table 5. A rate between two rows takes the faster one's, so that it never comes out too high.

    Above 15 a minute, and for more than eight hours, it is 0: the table ends there.
    """
    hours = next((most for most in FREQUENCY_MULTIPLIERS if lift.hours <= most), None)
    row = next((row for row, most in enumerate(FREQUENCIES) if lift.lifts_a_minute <= most), None)
    if hours is None or row is None:
        return ZERO
    if _low(lift, equation) and FREQUENCIES[row] >= LOW_LIMITS[hours]:
        return ZERO
    return Decimal(FREQUENCY_MULTIPLIERS[hours][row]) / 100


def coupling_multiplier(lift: Lift, equation: Equation) -> Decimal:
    low, high = COUPLING_MULTIPLIERS[lift.coupling]
    return Decimal(low if _low(lift, equation) else high)


def _low(lift: Lift, equation: Equation) -> bool:
    return lift.hand_height < equation.best_height


MULTIPLIERS = (
    horizontal_multiplier, vertical_multiplier, distance_multiplier,
    asymmetric_multiplier, frequency_multiplier, coupling_multiplier,
)  # fmt: skip


def recommended_weight(lift: Lift, length_unit: str) -> Decimal:
    """The recommended weight limit at this end of the lift, unrounded: lb for `ft`, kg for `m`.

    Where the load must be put down with care the limit of the whole lift is the lower of both ends'.
    """
    weight = EQUATIONS[length_unit].load_constant
    for multiplier in MULTIPLIERS:
        weight *= multiplier(lift, EQUATIONS[length_unit])
    return weight


def people_needed(weight: Decimal, recommended: Decimal) -> Decimal:
    """How many people a load needs, each of whom may lift `recommended`; 0 where three do not do, but a lifting aid.

    Two people may lift two thirds of the sum of what each may, three people half of it (HSE L23, paragraph 120).
    """
    for people, share in {1: Fraction(1), **TEAM_SHARES}.items():
        if weight <= recommended * people * share.numerator / share.denominator:
            return Decimal(people)
    return ZERO
