"""One quote worked out by hand to the cent: three floors of three kinds, for two days, upstairs.

Rates, request and every figure of the engine, none of them taken from it. What no charge rests on (names,
thickness, panels free) is invented, and so are the firm and its papers.
"""

from datetime import date
from decimal import Decimal as D

from quotebook.engine.figures import Figures, LineFigures
from quotebook.engine.model import (  # fmt: skip
    DIRECT,
    NOT_HERE,
    OVER_SUBFLOOR,
    DayFactor,
    Firm,
    FloorLine,
    PanelKind,
    Papers,
    PaymentTerms,
    Rates,
    Request,
    Subfloor,
)
from quotebook.engine.price import NO_PANEL

LARGE = PanelKind(
    panel="4x4", panel_name="Oak effect", panel_width=D(4), panel_length=D(4), thickness=D("1.25"),
    panel_weight=D(52), rate=D("36.50"), panel_minutes=D("1.0"), panels_per_cart=D(12),
    piece=D(4), piece_rate=D("3.25"), corner_rate=D("2.10"), piece_minutes=D("0.5"),
    piece_weight=D(0), corner_weight=D(0),
    subfloor_kind="", layings=(DIRECT, DIRECT, DIRECT, NOT_HERE), free=D(60),
)  # fmt: skip

SNAP = PanelKind(
    panel="2x3", panel_name="Snap section", panel_width=D(2), panel_length=D(3), thickness=D("0.5"),
    panel_weight=D("8.4"), rate=D("13.25"), panel_minutes=D("0.5"), panels_per_cart=D(40),
    piece=D(0), piece_rate=D(0), corner_rate=D(0), piece_minutes=D(0), piece_weight=D(0),
    corner_weight=D(0),
    subfloor_kind="ply", layings=(OVER_SUBFLOOR, DIRECT, DIRECT, DIRECT), free=D(200),
)  # fmt: skip

OBLONG = PanelKind(
    panel="3x4", panel_name="White", panel_width=D(3), panel_length=D(4), thickness=D("1.0"),
    panel_weight=D(41), rate=D("27.75"), panel_minutes=D("0.9"), panels_per_cart=D(16),
    piece=D(0), piece_rate=D(0), corner_rate=D(0), piece_minutes=D(0), piece_weight=D(0),
    corner_weight=D(0),
    subfloor_kind="", layings=(DIRECT, DIRECT, DIRECT, DIRECT), free=D(80),
)  # fmt: skip

PLY = Subfloor(
    subfloor_kind="ply", subfloor_name="Plywood", sheet_width=D(4), sheet_length=D(8), sheet_thickness=D("0.75"),
    sheet_rate=D("19.00"),
    sheet_minutes=D(4), sheet_weight=D(69), sheets_per_cart=D(20),
)  # fmt: skip

RATES = Rates(
    minor_units=D(2), crew=D(2), hourly_rate=D("31.40"), minimum_hours=D(1), unload_minutes=D(6), flight_minutes=D(4),
    strike_share=D("0.7"), after_hours_share=D("0.5"), base_charge=D("85.00"), included_miles=D(15),
    rate_per_mile=D("3.15"), payload=D(3200), cart_places=D(8), cart_weight=D(0), tools_weight=D(0),
    waiver_share=D("0.08"), deposit_share=D("0.4"),
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
    tax_name="", tax_number="", edging_by_default=(False, False, True, True), country="USA",
)  # fmt: skip
PAYMENT_TERMS = PaymentTerms(
    deposit_days=D(7), balance_days=D(3), bill_days=D(14), deposit_kept_share=D("0.5"), free_cancellation_days=D(30),
    waiver_covers_damage=D(1), waiver_covers_loss=D(0), tax_on_losses=False, bill_note="",
)  # fmt: skip
PAPERS = Papers("Q0001", D(1), date(2027, 1, 4), date(2027, 2, 3))


def by_hand(**figures: str | float) -> dict[str, D | str]:
    """Figures as the engine has them: numbers as Decimals, but for two that are texts."""
    return {name: value if name in ("laying", "subfloor_kind") else D(value) for name, value in figures.items()}


NO_EDGING = by_hand(
    edging_fitted=0, slot_pieces=0, tongue_pieces=0, edging_pieces=0, cut_pieces=0, corners=0, edging=0, piece_weight=0,
    corner_weight=0,
)  # fmt: skip
NO_SHEETS = by_hand(
    subfloor_kind="", sheet_width=0, sheet_length=0, sheet_thickness=0, sheet_rate=0, sheet_minutes=0, sheet_weight=0,
    sheets_per_cart=0,
    sheets_as_given=0, sheets_turned=0, sheets=0, subfloor=0,
)  # fmt: skip

LINES = (
    # 18 x 22 ft of 4x4: 18/4 = 4.5 so 5 across, 22/4 = 5.5 so 6 along; square panels, so turning changes nothing.
    LineFigures(**NO_SHEETS, **by_hand(
        panel_width=4, panel_length=4, thickness="1.25", panel_weight=52, rate="36.50", panel_minutes="1.0",
        panels_per_cart=12, piece=4, piece_rate="3.25", corner_rate="2.10", piece_minutes="0.5", piece_weight=0,
        corner_weight=0, free=60, reduced_tax=0, laying=DIRECT,
        counted=1, across_as_given=5, along_as_given=6, across_turned=5, along_turned=6, turned=0, across=5, along=6,
        panels=30, actual_width=20, actual_length=24, area=480, floor_width=20, floor_length=24,
        edging_fitted=1, slot_pieces=11, tongue_pieces=11, edging_pieces=22, corners=4,  # 20/4 + 24/4 = 11, twice
        cut_pieces=0, edge_height="1.25",
        minutes="43.0",  # 30 x 1.0 + (22 + 4) x 0.5
        weight=1560, carts=3,  # 30 x 52; 30/12 = 2.5
        hire="1642.50",  # 30 x 36.50 x 1.5
        edging="119.85",  # (22 x 3.25 + 4 x 2.10) x 1.5
    )),
    # 10 x 10 ft of 2x3 over sheets: 5 across, 10/3 so 4 along; turned 4 and 5, as many, so not turned.
    LineFigures(**NO_EDGING, **by_hand(
        panel_width=2, panel_length=3, thickness="0.5", panel_weight="8.4", rate="13.25", panel_minutes="0.5",
        panels_per_cart=40, piece=0, piece_rate=0, corner_rate=0, piece_minutes=0, free=200, reduced_tax=0,
        laying=OVER_SUBFLOOR,
        subfloor_kind="ply", sheet_width=4, sheet_length=8, sheet_thickness="0.75", sheet_rate="19.00",
        sheet_minutes=4, sheet_weight=69,
        sheets_per_cart=20,
        counted=1, across_as_given=5, along_as_given=4, across_turned=4, along_turned=5, turned=0, across=5, along=4,
        panels=20, actual_width=10, actual_length=12, area=120, floor_width=10, floor_length=12,
        sheets_as_given=6, sheets_turned=6, sheets=6,  # 10/4 and 12/8: 3 x 2; 10/8 and 12/4: 2 x 3
        edge_height="1.25",  # half an inch on three quarters
        minutes="34.0",  # 20 x 0.5 + 6 x 4
        weight=582, carts=2,  # 20 x 8.4 + 6 x 69; a cart of panels and one of sheets
        hire="397.50", subfloor="171.00",  # 20 x 13.25 x 1.5; 6 x 19.00 x 1.5
    )),
    # 11 x 18 ft of 3x4: 4 across and 5 along are 20; turned, 11/4 and 18/3, 3 x 6 are 18.
    LineFigures(**NO_EDGING, **NO_SHEETS, **by_hand(
        panel_width=3, panel_length=4, thickness="1.0", panel_weight=41, rate="27.75", panel_minutes="0.9",
        panels_per_cart=16, piece=0, piece_rate=0, corner_rate=0, piece_minutes=0, free=80, reduced_tax=0,
        laying=DIRECT,
        counted=1, across_as_given=4, along_as_given=5, across_turned=3, along_turned=6, turned=1, across=3, along=6,
        panels=18, actual_width=12, actual_length=18, area=216, floor_width=12, floor_length=18,
        edge_height="1.0", minutes="16.2", weight=738, carts=2,  # 18 x 0.9; 18 x 41; 18/16
        hire="749.25",  # 18 x 27.75 x 1.5
    )),
)  # fmt: skip
"""Figures of the floor lines; lines 4 to 6 are blank."""

FIGURES = Figures(lines=LINES + (NO_PANEL,) * 3, **by_hand(
    days_counted=2, miles_counted="23.5", flights_counted=1, guests_counted=120, days_factor="1.5",
    dancers=48, area_needed=240,  # 120 x 0.4; 48 x 5, since 4.5 would be less than standing space
    panels=68, area=816, weight=2880, carts=7,
    standing_room=163, trips=1,  # 816/5 = 163.2; 2880/3200 and 7/8
    setup_minutes="163.2",  # 43.0 + 34.0 + 16.2 + 7 x (6 + 1 x 4)
    setup_hours="1.5", strike_minutes="114.24", strike_hours="1.0",  # by quarters: 163.2/2/15 = 5.44, 3.808
    labour="157.00",  # 2.5 x 2 x 31.40
    after_hours_charge="31.40",  # 1.0 x 2 x 31.40 x 0.5
    delivery="111.78",  # 85.00 + 8.5 x 3.15 = 111.775
    goods="3080.10", discount="154.01", waiver="234.09",  # 154.005; 2926.09 x 0.08 = 234.0872
    minimum_order_charge=0, goods_reduced=0, taxable_reduced=0, tax_reduced=0,
    taxable="3037.87", tax="208.85",  # 2926.09 + 111.78; 208.8535...
    total="3669.21", deposit="1467.68", balance="2201.53",  # 1467.684
    suggested_panel_width=4, suggested_panel_length=4,  # of the first line
    suggested_across=4, suggested_along=4,  # 240/16 = 15: 3 x 5 are too long, so 16 of them
    suggested_width=16, suggested_length=16,
))  # fmt: skip
"""Figures of the quote."""
