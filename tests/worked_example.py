"""One quote worked out by hand to the cent: three floors of three kinds, for two days, upstairs.

Rates, request and every figure that was worked out. What no figure rests on (names, thickness,
panels free) is invented, and so are the firm and its papers.
"""

from datetime import date
from decimal import Decimal as D

from quotebook.engine.model import (  # fmt: skip
    DIRECT,
    NOT_HERE,
    OVER_SUBFLOOR,
    DayFactor,
    Firm,
    FloorLine,
    PanelKind,
    Papers,
    Rates,
    Request,
    Subfloor,
)

LARGE = PanelKind(
    panel="4x4", panel_name="Oak effect", panel_width=D(4), panel_length=D(4), thickness=D("1.25"),
    panel_weight=D(52), rate=D("36.50"), panel_minutes=D("1.0"), panels_per_cart=D(12),
    piece=D(4), piece_rate=D("3.25"), corner_rate=D("2.10"), piece_minutes=D("0.5"),
    subfloor_kind="", layings=(DIRECT, DIRECT, DIRECT, NOT_HERE), free=D(60),
)  # fmt: skip

SNAP = PanelKind(
    panel="2x3", panel_name="Snap section", panel_width=D(2), panel_length=D(3), thickness=D("0.5"),
    panel_weight=D("8.4"), rate=D("13.25"), panel_minutes=D("0.5"), panels_per_cart=D(40),
    piece=D(0), piece_rate=D(0), corner_rate=D(0), piece_minutes=D(0),
    subfloor_kind="ply", layings=(OVER_SUBFLOOR, DIRECT, DIRECT, DIRECT), free=D(200),
)  # fmt: skip

OBLONG = PanelKind(
    panel="3x4", panel_name="White", panel_width=D(3), panel_length=D(4), thickness=D("1.0"),
    panel_weight=D(41), rate=D("27.75"), panel_minutes=D("0.9"), panels_per_cart=D(16),
    piece=D(0), piece_rate=D(0), corner_rate=D(0), piece_minutes=D(0),
    subfloor_kind="", layings=(DIRECT, DIRECT, DIRECT, DIRECT), free=D(80),
)  # fmt: skip

PLY = Subfloor(
    subfloor_kind="ply", subfloor_name="Plywood", sheet_width=D(4), sheet_length=D(8), sheet_rate=D("19.00"),
    sheet_minutes=D(4), sheet_weight=D(69), sheets_per_cart=D(20),
)  # fmt: skip

RATES = Rates(
    minor_units=D(2), crew=D(2), hourly_rate=D("31.40"), minimum_hours=D(1), unload_minutes=D(6), flight_minutes=D(4),
    strike_share=D("0.7"), after_hours_share=D("0.5"), base_charge=D("85.00"), included_miles=D(15),
    rate_per_mile=D("3.15"), payload=D(3200), cart_places=D(8), waiver_share=D("0.08"), deposit_share=D("0.4"),
    tax_rate=D("0.06875"), tax_on_goods=True, tax_on_delivery=True, tax_on_labour=False, tax_on_waiver=False,
    area_per_dancer=D("4.5"), dancers_share=D("0.4"), crowding_area=D(5), step_limit=D("0.25"),
    longest_side=D(200), largest_entry=D(100000), kinds=(LARGE, SNAP, OBLONG), subfloors=(PLY,),
    day_factors=(DayFactor(D(1), D(1)), DayFactor(D(2), D("1.5")), DayFactor(D(4), D("2.25"))),
)  # fmt: skip

REQUEST = Request(
    client="A. Client", event="Party", event_date=date(2026, 6, 20), venue="The long barn", days=D(2), surface="grass",
    miles=D("23.5"), flights=D(1), guests=D(120), after_hours=True, waiver_taken=True, discount_share=D("0.05"),
    lines=(
        FloorLine("4x4", D(18), D(22), edging_wanted=True),
        FloorLine("2x3", D(10), D(10)),
        FloorLine("3x4", D(11), D(18)),
    ),
)  # fmt: skip

FIRM = Firm(
    firm="Quillmere Floor Hire", contact_lines=("hello@quillmere.example",), currency="USD", length_unit="ft",
    paper="Letter", language="en", accent_colour="#2F5D50", logo="", valid_days=D(30), turnaround_days=D(1),
    edging_by_default=(False, False, True, True),
)  # fmt: skip
PAPERS = Papers("Q0001", D(1), date(2027, 1, 4), date(2027, 2, 3))

LINES = {
    1: dict(across=5, along=6, turned=0, panels=30, actual_width=20, actual_length=24, hire="1642.50", edging="119.85",
            edging_pieces=22, slot_pieces=11, tongue_pieces=11, corners=4, sheets=0, subfloor=0,
            minutes="43.0", weight=1560, carts=3),
    2: dict(across=5, along=4, turned=0, panels=20, actual_width=10, actual_length=12, hire="397.50", edging=0,
            edging_pieces=0, corners=0, sheets=6, subfloor="171.00", minutes="34.0", weight=582, carts=2),
    3: dict(across=3, along=6, turned=1, panels=18, actual_width=12, actual_length=18, hire="749.25", edging=0,
            edging_pieces=0, corners=0, sheets=0, subfloor=0, minutes="16.2", weight=738, carts=2),
}  # fmt: skip

QUOTE = dict(
    days_factor="1.5", goods="3080.10", discount="154.01", waiver="234.09", weight=2880, carts=7, trips=1,
    setup_minutes="163.2", setup_hours="1.5", strike_minutes="114.24", strike_hours="1.0", labour="157.00",
    after_hours_charge="31.40", delivery="111.78", taxable="3037.87", tax="208.85", total="3669.21",
    deposit="1467.68", balance="2201.53",
)  # fmt: skip

FIGURES = {name: D(value) for name, value in QUOTE.items()} | {
    f"{name}_{line}": D(value) for line, figures in LINES.items() for name, value in figures.items()
}
"""Every figure worked out by hand, by its name."""
