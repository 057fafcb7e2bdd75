"""A plan of payback worked by hand, and plans that nobody chose."""

from decimal import Decimal as D

from hypothesis import strategies as st

from quotebook.engine.payback import DEPRECIATIONS, LONGEST_LIFE, STRAIGHT_LINE, Plan

PLAN = Plan(
    kind="4x4", panels=D(60), purchase_price=D("190.00"), hires_a_month=D(2), panels_a_hire=D(20), rate=D("36.50"),
    labour_a_hire=D("157.00"), crew_hours_a_hire=D(5), crew_cost=D("22.00"), life_years=D(10), resale=D("1400.00"),
    discount_rate=D("0.08"), tax_share=D(0), depreciation=STRAIGHT_LINE,
)  # fmt: skip


amounts = st.decimals(1, 10**6, places=2)
earnings = st.lists(st.decimals(0, 10**5, places=2), min_size=1, max_size=20)
rates = st.decimals("0", "0.5", places=4)

plans = st.builds(
    Plan, kind=st.just("4x4"), panels=st.integers(1, 500).map(D), purchase_price=amounts,
    hires_a_month=st.decimals("0.01", 60, places=2), panels_a_hire=st.decimals(1, 200, places=2),
    rate=st.decimals(0, 500, places=2), labour_a_hire=st.decimals(0, 2000, places=2),
    crew_hours_a_hire=st.decimals(0, 100, places=2), crew_cost=st.decimals(0, 90, places=2),
    life_years=st.integers(1, LONGEST_LIFE).map(D), resale=st.decimals(0, 100, places=2), discount_rate=rates,
    tax_share=st.decimals(0, "0.6", places=4), depreciation=st.sampled_from(DEPRECIATIONS),
)  # fmt: skip
