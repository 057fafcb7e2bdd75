"""Rates and requests that nobody chose, for hypothesis: all a rate card may say, and more than a client should."""

from dataclasses import replace
from datetime import date
from decimal import Decimal as D

from hypothesis import strategies as st

from quotebook.engine.model import (
    LAYINGS,
    LINES,
    OPTIONS,
    SURFACES,
    DayFactor,
    FloorLine,
    PanelKind,
    Rates,
    Request,
    Subfloor,
)


def decimals(least, most, places=2):
    return st.decimals(D(least), D(most), places=places, allow_nan=False, allow_infinity=False)


def wholes(least, most):
    return st.integers(least, most).map(D)


shares = decimals(0, 1, places=4)
sides = decimals("0.25", 12)

CODES = ("4x4", "Snap", "3x4")

subfloors = st.builds(
    Subfloor, subfloor_kind=st.just("ply"), subfloor_name=st.just("Plywood"), sheet_width=sides, sheet_length=sides,
    sheet_thickness=decimals(0, 3),
    sheet_rate=decimals(0, 90), sheet_minutes=decimals(0, 20), sheet_weight=decimals(0, 200),
    sheets_per_cart=wholes(1, 60),
)  # fmt: skip


def kinds(code):
    return st.builds(
        PanelKind, panel=st.just(code), panel_name=st.just(code), panel_width=sides, panel_length=sides,
        thickness=decimals(0, 3), panel_weight=decimals(0, 150), rate=decimals(0, 400), panel_minutes=decimals(0, 20),
        panels_per_cart=wholes(1, 60), piece=st.one_of(st.just(D(0)), sides), piece_rate=decimals(0, 40),
        corner_rate=decimals(0, 40), piece_minutes=decimals(0, 5),
        piece_weight=decimals(0, 9), corner_weight=decimals(0, 5), subfloor_kind=st.sampled_from(("", "ply")),
        layings=st.tuples(*[st.sampled_from(LAYINGS)] * len(SURFACES)), free=wholes(0, 300), reduced_tax=wholes(0, 1),
    )  # fmt: skip


day_factors = st.lists(
    st.tuples(wholes(1, 30), decimals(0, 9)), min_size=1, max_size=4, unique_by=lambda row: row[0]
).map(lambda rows: tuple(DayFactor(*row) for row in sorted(rows)))

rates = st.builds(
    Rates, minor_units=st.sampled_from((D(0), D(2), D(3))), crew=wholes(1, 12), hourly_rate=decimals(0, 200),
    minimum_hours=decimals(0, 6), unload_minutes=decimals(0, 60), flight_minutes=decimals(0, 60), strike_share=shares,
    after_hours_share=shares, base_charge=decimals(0, 500), included_miles=decimals(0, 50),
    rate_per_mile=decimals(0, 20), payload=decimals(1, 20000), cart_places=wholes(1, 40),
    cart_weight=decimals(0, 300), tools_weight=decimals(0, 900),
    waiver_share=shares,
    deposit_share=shares, tax_rate=decimals(0, "0.5", places=5), tax_on_goods=st.booleans(),
    tax_on_delivery=st.booleans(), tax_on_labour=st.booleans(), tax_on_waiver=st.booleans(),
    minimum_order=st.one_of(st.just(D(0)), decimals(0, 20000, places=3)), prices_with_tax=st.booleans(),
    reduced_tax_rate=decimals(0, "0.5", places=5), reduced_on_delivery=st.booleans(),
    reduced_on_labour=st.booleans(), reduced_on_waiver=st.booleans(),
    area_per_dancer=decimals("0.1", 20), dancers_share=shares, crowding_area=decimals("0.1", 20),
    clear_way=decimals(0, 6), edging_breadth=decimals(0, 3), step_limit=decimals(0, 10),
    longest_side=decimals(10, 400), largest_entry=wholes(100, 100000),
    kinds=st.tuples(*map(kinds, CODES)), subfloors=st.tuples(subfloors), day_factors=day_factors,
)  # fmt: skip

entries = st.one_of(st.none(), wholes(-3, 200), decimals(-1000, 200000, places=6), st.just(D("1E+20")))
texts = st.text(max_size=20)

floor_lines = st.builds(
    FloorLine, panel=st.one_of(st.sampled_from((*CODES, "SNAP", "", "4x*")), texts),
    width=st.one_of(entries, decimals(1, 60)), length=st.one_of(entries, decimals(1, 60)), edging_wanted=st.booleans(),
    joined_width=st.one_of(st.just(D(0)), decimals(-60, 60)), joined_length=st.one_of(st.just(D(0)), decimals(-60, 60)),
)  # fmt: skip

requests = st.builds(
    Request, client=texts, event=texts, event_date=st.one_of(st.none(), st.dates(date(1900, 3, 1))), venue=texts,
    days=entries, surface=st.one_of(st.sampled_from((*SURFACES, "")), texts), miles=entries, flights=entries,
    guests=entries, after_hours=st.booleans(), waiver_taken=st.booleans(), raised=st.booleans(), discount_share=shares,
    room_width=st.one_of(entries, decimals(10, 80)), room_length=st.one_of(entries, decimals(10, 80)),
    lines=st.lists(floor_lines, max_size=LINES).map(tuple),
)  # fmt: skip
"""Anything a client may leave in the cells, blank and out of range included."""


@st.composite
def _with_options(draw):
    request = draw(requests)
    letters = draw(st.lists(st.sampled_from(("", *OPTIONS)), min_size=LINES, max_size=LINES))
    lines = tuple(replace(line, option=letter) for line, letter in zip(request.lines, letters, strict=False))
    return replace(request, lines=lines, picked=draw(st.sampled_from((*OPTIONS, *OPTIONS, "b", "", "Z"))))


requests_with_options = _with_options()
"""Requests whose floor lines belong to options, of which one is picked or none."""
