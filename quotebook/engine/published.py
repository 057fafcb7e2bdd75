"""Published figures that people read in a sentence, each once, with its source; and the clauses by country.

A sentence in `templates/words.*.toml` has a figure's name in braces, never the figure. What is quoted from memory,
because no copy of the text was at hand, says so.
"""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

USA, EU, UK, OTHER = COUNTRIES = ("USA", "EU", "UK", "other")
"""Whose clauses a firm's papers name. OTHER has none of its own: its papers say to ask, with a clause as an example."""


@dataclass(frozen=True)
class Measure:
    """A published measure in both systems of units; one of the two is the source's own, the other its conversion."""

    customary: Decimal
    customary_unit: str
    metric: Decimal
    metric_unit: str

    def __str__(self) -> str:
        return f"{self.customary} {self.customary_unit} ({self.metric} {self.metric_unit})"

    def in_units(self, length_unit: str) -> Decimal:
        """The number in the units of a card that counts in `ft` or in `m`."""
        return self.customary if length_unit == "ft" else self.metric


def _measure(customary: str, customary_unit: str, metric: str, metric_unit: str) -> Measure:
    return Measure(Decimal(customary), customary_unit, Decimal(metric), metric_unit)


# Floors and people

STANDING_SPACE = _measure("5", "sq ft", "0.46", "m²")
"""Net area for a person who stands (IBC Table 1004.5, standing space)."""

LEVEL_EDGE = _measure("0.25", "in", "6.4", "mm")
"""The highest edge that needs neither bevel nor ramp (ADA 2010 Standards 303.2)."""

BEVELLED_EDGE = _measure("0.5", "in", "13", "mm")
"""The highest edge that a bevel serves (ADA 2010 Standards 303.3); a higher one is a ramp (303.4)."""

CLEAR_WAY = _measure("3", "ft", "0.915", "m")
"""The narrowest way to walk and roll along: 36 in or 915 mm (ADA 2010 Standards 403.5.1)."""

BEVEL_SLOPE = Fraction(1, 2)
"""Rise over run of a bevel, at most (ADA 2010 Standards 303.3)."""

RAMP_SLOPE = Fraction(1, 12)
"""Rise over run of a ramp, at most (ADA 2010 Standards 405.2)."""

HALL_LOADS = {
    USA: _measure("100", "psf", "4.79", "kPa"),
    EU: _measure("104", "psf", "5", "kN/m²"),
    UK: _measure("104", "psf", "5", "kN/m²"),
}
"""Live load for which dance halls are designed: ASCE 7 Table 4.3-1 (clause from memory); EN 1991-1-1 Table 6.2,
category C4, recommended value from memory."""

THUNDER_MINUTES = Decimal(30)
"""Minutes to stay under a roof after the last thunder (US National Weather Service, from memory)."""

# Lifting and pushing

LIFTING_HOURS = Decimal(8)
"""The longest day of lifting that the equation covers (DHHS (NIOSH) 94-110, Table 5)."""

TEAM_SHARES = {2: Fraction(2, 3), 3: Fraction(1, 2)}
"""What a team may lift, as a share of the sum of what each may lift alone, by its people (HSE L23, guidance on the
Manual Handling Operations Regulations 1992, paragraph 120)."""

REFERENCE_MASS = _measure("55", "lb", "25", "kg")
"""What one person may lift at best (ISO 11228-1, from memory)."""

PUSH = _measure("33", "lb", "15", "kg")
"""Force to start or stop a load, at most, for one person: the lower of the two guideline figures (HSE L23)."""

PUSH_SHARES = {"even": Fraction(2, 100), "uneven": Fraction(10, 100)}
"""Force that it takes to start a wheeled load, as a share of its weight, at least (HSE L23 and INDG143)."""

# Vehicles

TIEDOWN_SHARE = Fraction(1, 2)
"""What the straps' working load limits must sum to, as a share of the cargo's weight (49 CFR 393.106(d))."""

DIRECT_TIEDOWN = Fraction(1, 2)
"""What a strap from the vehicle to the cargo counts, as a share of its limit (49 CFR 393.106(d)); one that goes over
the cargo and back to the vehicle counts whole."""

VEHICLE_LIMITS = {
    USA: _measure("10001", "lb", "4536", "kg"),
    EU: _measure("7716", "lb", "3500", "kg"),
    UK: _measure("7716", "lb", "3500", "kg"),
}
"""Gross weight of vehicle and trailer: from it on commercial (USA, 49 CFR 390.5); above it no longer of licence
category B alone (Directive 2006/126/EC, article 4; UK from memory)."""

# Sources

SOURCES: dict[str, dict[str, str]] = {
    "crowding": {USA: "IBC Table 1004.5"},
    "step": {USA: "ADA 2010 Standards 303"},
    "step_no_edging": {USA: "ADA 2010 Standards 303, 405.2"},
    "bevel": {USA: "ADA 2010 Standards 303.3, 303.4, 405.2"},
    "raised": {USA: "ASCE 7 Table 4.3-1", EU: "EN 1991-1-1 Table 6.2, C4", UK: "BS EN 1991-1-1 Table 6.2, C4"},
    "room": {USA: "ADA 2010 Standards 403.5.1"},
    "exits": {
        USA: "29 CFR 1910.37(a)(3)",
        EU: "89/654/EEC annex I, 4",
        UK: "Regulatory Reform (Fire Safety) Order 2005, art. 14",
    },
    "ground": {USA: "49 CFR 196.103 (call 811)", UK: "HSE HSG47"},
    "weather": {USA: "US National Weather Service"},
    "cables": {},
    "slippery": {},
    "cleaning": {},
    "sun": {},
    "tiedowns": {USA: "49 CFR 393.106(d)"},
    "commercial_vehicle": {USA: "49 CFR 390.5"},
    "heavy_vehicle": {EU: "2006/126/EC, art. 4", UK: "Motor Vehicles (Driving Licences) Regulations 1999"},
    "overload": {},
    "lifting": {USA: "DHHS (NIOSH) 94-110; HSE L23, 120; ISO 11228-1", UK: "HSE L23, 120; DHHS (NIOSH) 94-110"},
    "long_lifting": {USA: "DHHS (NIOSH) 94-110, Table 5"},
    "carts": {USA: "HSE L23", UK: "HSE L23"},
    "stairs": {},
    "bare_edge": {USA: "ADA 2010 Standards 303"},
    "way": {},
    "wet": {},
    "long_day": {
        USA: "49 CFR 395.3",
        EU: "Regulation (EC) 561/2006, arts. 6 to 8",
        UK: "Transport Act 1968, s. 96",
    },
}
"""For each caution the clause that is named, by the card's country; none where it is common practice, no source.

From memory are the clauses for exits, ground, weather and driving, and of the EU and the UK all but EN 1991-1-1, HSE
L23 and 2006/126/EC."""
