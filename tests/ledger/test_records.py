"""What the ledger keeps of a quote: whole minor units that sum to the quote's own figures."""

from dataclasses import replace
from datetime import date
from decimal import Decimal as D

import pytest
import random_quotes as any_
import worked_example
from hypothesis import given
from hypothesis import strategies as st
from ledger_fixtures import FIRM, quote

from quotebook.engine.model import LINES, FloorLine, Papers
from quotebook.engine.money import in_major_units, in_minor_units
from quotebook.engine.price import price
from quotebook.engine.stock import Item
from quotebook.errors import Misuse
from quotebook.ledger.records import CHARGES, GOODS, QUOTE_MONEY, record_of, taken_by

_COUNTED = ("panel", "panels", "slot_pieces", "tongue_pieces", "corners", "carts", "subfloor_kind", "sheets", *GOODS)
WORKED_LINES = {
    1: dict(zip(_COUNTED, ("4x4", 30, 11, 11, 4, 3, "", 0, 164250, 11985, 0), strict=True)),
    2: dict(zip(_COUNTED, ("2x3", 20, 0, 0, 0, 2, "ply", 6, 39750, 0, 17100), strict=True)),
    3: dict(zip(_COUNTED, ("3x4", 18, 0, 0, 0, 2, "", 0, 74925, 0, 0), strict=True)),
}  # fmt: skip


@pytest.mark.parametrize("line", WORKED_LINES)
def test_lines_of_the_worked_example(line):
    record = vars(quote().lines[line - 1])
    assert {name: record[name] for name in WORKED_LINES[line]} == WORKED_LINES[line]


@pytest.mark.parametrize("name", QUOTE_MONEY)
def test_money_of_the_worked_example(name):
    assert getattr(quote(), name) == getattr(worked_example.FIGURES, name) * 100


def test_net_of_the_worked_example():
    """2,926.09 by hand: 1,560.3723 377.6244 711.7863
    113.8573 162.4497; cut to cents, three are left for the last three."""
    lines = quote().lines
    assert [line.net_hire for line in lines] == [156037, 37762, 71179]
    assert [line.net_edging for line in lines] == [11386, 0, 0]
    assert [line.net_subfloor for line in lines] == [0, 16245, 0]


def test_crew_minutes_of_the_worked_example():
    """(1.5 + 1.0) h x 2 people = 300 minutes, by 43.0, 34.0 and 16.2 minutes to lay: 138.41, 109.44 and 52.15."""
    assert [line.crew_minutes for line in quote().lines] == [138, 110, 52]


def test_held_from_the_day_before_to_the_end_of_turnaround():
    """20 June for two days, a day of turnaround: 19 to 22 June."""
    assert (quote().held_from, quote().held_to) == (date(2026, 6, 19), date(2026, 6, 22))


@pytest.mark.parametrize(("turnaround", "held_to"), [(0, 21), (1, 22), (3, 24)])
def test_turnaround_is_counted_from_the_day_after_the_event(turnaround, held_to):
    """The event is on 20 and 21 June: without turnaround its panels are free again on the 22nd."""
    record = quote(firm=replace(FIRM, turnaround_days=D(turnaround)))
    assert (record.held_from, record.held_to) == (date(2026, 6, 19), date(2026, 6, held_to))


def test_taken_by_the_worked_example():
    assert taken_by(quote()) == {
        Item("panels", "4x4"): 30, Item("slot_pieces", "4x4"): 11, Item("tongue_pieces", "4x4"): 11,
        Item("corners", "4x4"): 4,
        Item("panels", "2x3"): 20, Item("sheets", "ply"): 6, Item("panels", "3x4"): 18,
        Item("carts", ""): 7,
    }  # fmt: skip


@pytest.mark.parametrize("missing", [{"event_date": None}, {"days": None}, {"days": D("1.5")}])
def test_no_record_without_days_to_hold(missing):
    with pytest.raises(Misuse, match="Q0001"):
        quote(**missing)


@pytest.mark.parametrize(("amount", "minor_units", "units"), [("12.34", 2, 1234), ("1234", 0, 1234), ("-0.005", 3, -5)])
def test_minor_units(amount, minor_units, units):
    assert in_minor_units(D(amount), minor_units) == units
    assert str(in_major_units(units, minor_units)) == amount


floors = st.builds(
    FloorLine, panel=st.sampled_from(any_.CODES), width=any_.decimals(1, 9), length=any_.decimals(1, 9),
    edging_wanted=st.booleans(),
)  # fmt: skip
requests = st.builds(
    replace, any_.requests, event_date=st.dates(date(2000, 1, 1), date(2100, 1, 1)), days=any_.wholes(1, 100),
    lines=st.lists(floors, max_size=LINES).map(tuple),
)  # fmt: skip


def test_the_lines_of_prices_with_tax_are_without_it():
    """A fifth of each price with 25 % in it: of 1,560.37 are 312.07 tax, and 1,248.30 are left."""
    rates = replace(
        worked_example.RATES, prices_with_tax=True, tax_rate=D("0.25"), tax_on_goods=True, tax_on_delivery=True,
        tax_on_labour=True, tax_on_waiver=True,
    )  # fmt: skip
    figures = price(rates, worked_example.REQUEST)
    record = record_of(worked_example.PAPERS, worked_example.REQUEST, figures, rates, FIRM)
    assert record.lines[0].net_hire == 124830
    assert record.tax == in_minor_units(figures.tax, 2) == sum(line.spread_tax for line in record.lines)
    assert sum(line.spread_labour for line in record.lines) == 15072  # 188.40 / 1.25


@given(any_.rates, requests)
def test_lines_sum_to_the_quote_exactly(rates, request):
    papers = Papers("Q0001", D(1), request.event_date, request.event_date)
    figures = price(rates, request)
    record = record_of(papers, request, figures, rates, FIRM)

    def summed(*names):
        return sum(getattr(line, name) for line in record.lines for name in names)

    net, spread = [f"net_{name}" for name in GOODS], [f"spread_{name}" for name in CHARGES]
    assert len(record.lines) == len(request.lines)
    lifted = in_minor_units(figures.minimum_order_charge, rates.minor_units)
    assert summed(*GOODS) == record.goods and summed("spread_tax") == record.tax
    assert summed(*net, *spread) == record.total
    charged = {
        "delivery": record.delivery,
        "waiver": record.waiver,
        "labour": record.labour + record.after_hours_charge,
    }
    in_prices = [amount - summed(f"spread_{name}") for name, amount in charged.items()]
    in_prices.append(record.goods - record.discount + lifted - summed(*net))
    assert min(in_prices) >= 0 and sum(in_prices) == (record.tax if rates.prices_with_tax else 0)
    parts = [(getattr(line, f"net_{name}"), getattr(line, name)) for line in record.lines for name in GOODS]
    assert all(0 <= net <= (whole + lifted) for net, whole in parts)
