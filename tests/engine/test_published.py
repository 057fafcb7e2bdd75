"""Every published figure against the value that its source prints, and each measure's two units against each other."""

from decimal import Decimal as D
from fractions import Fraction

import pytest

from quotebook.engine import lifting, published
from quotebook.engine.published import COUNTRIES, EU, OTHER, SOURCES, UK, USA, Measure

POUND, FOOT, INCH, GRAVITY = D("0.45359237"), D("0.3048"), D("25.4"), D("9.80665")
"""Exact: the international pound in kg, foot in m, inch in mm; standard gravity."""

PRINTED = [
    (published.STANDING_SPACE, "5 sq ft (0.46 m²)", "IBC Table 1004.5, standing space"),
    (published.LEVEL_EDGE, "0.25 in (6.4 mm)", "ADA 2010 Standards 303.2"),
    (published.BEVELLED_EDGE, "0.5 in (13 mm)", "ADA 2010 Standards 303.3"),
    (published.HALL_LOADS[USA], "100 psf (4.79 kPa)", "ASCE 7 Table 4.3-1, clause from memory"),
    (published.HALL_LOADS[EU], "104 psf (5 kN/m²)", "EN 1991-1-1 Table 6.2, category C4, value from memory"),
    (published.HALL_LOADS[UK], "104 psf (5 kN/m²)", "the same"),
    (published.CLEAR_WAY, "3 ft (0.915 m)", "ADA 2010 Standards 403.5.1: 36 in (915 mm)"),
    (published.REFERENCE_MASS, "55 lb (25 kg)", "ISO 11228-1, from memory"),
    (published.PUSH, "33 lb (15 kg)", "HSE L23, hse.gov.uk: stopping or starting a load, women"),
    (published.VEHICLE_LIMITS[USA], "10001 lb (4536 kg)", "49 CFR 390.5"),
    (published.VEHICLE_LIMITS[EU], "7716 lb (3500 kg)", "2006/126/EC, article 4, from memory"),
    (published.VEHICLE_LIMITS[UK], "7716 lb (3500 kg)", "category B, from memory"),
]


@pytest.mark.parametrize(("measure", "printed", "source"), PRINTED, ids=[source for *_, source in PRINTED])
def test_measures(measure, printed, source):
    assert str(measure) == printed, source
    assert (measure.in_units("ft"), measure.in_units("m")) == (measure.customary, measure.metric)


NUMBERS = [
    (published.BEVEL_SLOPE, Fraction(1, 2), "ADA 2010 Standards 303.3"),
    (published.RAMP_SLOPE, Fraction(1, 12), "ADA 2010 Standards 405.2"),
    (published.THUNDER_MINUTES, 30, "US National Weather Service, from memory"),
    (published.LIFTING_HOURS, 8, "DHHS (NIOSH) 94-110, Table 5"),
    (published.TEAM_SHARES, {2: Fraction(2, 3), 3: Fraction(1, 2)}, "HSE L23, paragraph 120"),
    (published.PUSH_SHARES, {"even": Fraction(1, 50), "uneven": Fraction(1, 10)}, "HSE, hse.gov.uk: push and pull"),
    (published.TIEDOWN_SHARE, Fraction(1, 2), "49 CFR 393.106(d)"),
    (published.DIRECT_TIEDOWN, Fraction(1, 2), "49 CFR 393.106(d)"),
]


@pytest.mark.parametrize(("constant", "printed", "source"), NUMBERS, ids=[source for *_, source in NUMBERS])
def test_numbers(constant, printed, source):
    assert constant == printed, source


PER_UNIT = {
    ("sq ft", "m²"): FOOT**2,
    ("in", "mm"): INCH,
    ("ft", "m"): FOOT,
    ("lb", "kg"): POUND,
    ("psf", "kPa"): POUND * GRAVITY / FOOT**2 / 1000,
    ("psf", "kN/m²"): POUND * GRAVITY / FOOT**2 / 1000,
}
"""Metric units in one customary unit."""


def _all_measures():
    for value in vars(published).values():
        yield from [value] if isinstance(value, Measure) else []
        yield from [each for each in value.values() if isinstance(each, Measure)] if isinstance(value, dict) else []


def test_the_units_of_a_measure_are_conversions_of_each_other():
    """To a fiftieth, as sources round: half an inch is printed as 13 mm, not 12.7."""
    measures = [*_all_measures()]
    assert len(measures) >= len(PRINTED)
    for measure in measures:
        factor = PER_UNIT[measure.customary_unit, measure.metric_unit]
        assert abs(measure.customary * factor / measure.metric - 1) < D("0.025"), str(measure)


def test_the_equation_ends_where_its_table_ends():
    assert max(lifting.FREQUENCY_MULTIPLIERS) == published.LIFTING_HOURS


def test_clauses_are_named_by_country():
    """A clause of one's own or, as an example, that of the USA."""
    assert all({*clauses} <= {*COUNTRIES} - {OTHER} for clauses in SOURCES.values())
    assert all(USA in clauses or key == "heavy_vehicle" for key, clauses in SOURCES.items() if clauses)


NAMED = {
    "crowding": "IBC Table 1004.5", "step": "ADA 2010 Standards 303", "raised": "ASCE 7 Table 4.3-1",
    "room": "ADA 2010 Standards 403.5.1",
    "bevel": "ADA 2010 Standards 303.3, 303.4, 405.2", "step_no_edging": "ADA 2010 Standards 303, 405.2",
    "bare_edge": "ADA 2010 Standards 303", "tiedowns": "49 CFR 393.106(d)", "commercial_vehicle": "49 CFR 390.5",
    "exits": "29 CFR 1910.37(a)(3)", "ground": "49 CFR 196.103 (call 811)", "long_day": "49 CFR 395.3",
    "weather": "US National Weather Service", "carts": "HSE L23", "long_lifting": "DHHS (NIOSH) 94-110, Table 5",
    "lifting": "DHHS (NIOSH) 94-110; HSE L23, 120; ISO 11228-1",
}  # fmt: skip
"""What the papers of a firm in the USA name."""


def test_the_clauses_of_the_usa():
    assert {key: clauses[USA] for key, clauses in SOURCES.items() if USA in clauses} == NAMED
    assert SOURCES["heavy_vehicle"][EU] == "2006/126/EC, art. 4"
    assert SOURCES["raised"][EU] == "EN 1991-1-1 Table 6.2, C4"
    assert SOURCES["lifting"][UK] == "HSE L23, 120; DHHS (NIOSH) 94-110"


PEOPLE = [("18.7", 1), ("18.8", 2), ("24.9", 2), ("25", 3), ("28.05", 3), ("28.1", 0), ("49", 0)]
"""Each of whom may lift 18.7 lb: two 24.93, three 28.05 (HSE L23, paragraph 120)."""


@pytest.mark.parametrize(("weight", "people"), PEOPLE)
def test_people_for_a_lift(weight, people):
    assert lifting.people_needed(D(weight), D("18.7")) == people
