"""What to charge: against a count day by day, a published formula, and prices tried out one by one."""

import json
from collections import Counter
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal as D

import pytest
from extent import extent
from hypothesis import given, settings
from hypothesis import strategies as st
from ledger_fixtures import CARD, floor
from worked_example import REQUEST

from quotebook.buying.charge import ChargeTerms, charges, codes_to_charge
from quotebook.buying.charge_report import say_charges, to_json
from quotebook.buying.demand import AGREED, LISTED, LOST, Asked
from quotebook.buying.price_ladder import RUNGS, Costs, Hires, hires_of_kind, price_ladder
from quotebook.buying.use import outcomes, use_of_kind
from quotebook.engine.model import FloorLine
from quotebook.engine.price import price
from quotebook.errors import Misuse

COSTS = Costs(D("31.40"), D(85))
MAY = date(2027, 5, 1)
FEW = replace(
    CARD, holdings={code: replace(holding, owned=D(owned)) for (code, holding), owned in
                    zip(CARD.holdings.items(), (60, 120, 40), strict=True)},
)  # fmt: skip


def asked(name, day, outcome, *floors, days=1, **entries):
    lines = tuple(FloorLine(code, D(width), D(length)) for code, width, length in floors)
    request = replace(REQUEST, event_date=day, days=D(days), surface="grass", lines=lines, **entries)
    return Asked(str(name), request, outcome)


KINDS = st.lists(
    st.tuples(st.sampled_from(["4x4", "2x3", "3x4"]), st.sampled_from([12, 16, 20]), st.sampled_from([12, 20, 24])),
    min_size=1, max_size=2, unique_by=lambda each: each[0],
)  # fmt: skip
SEASONS = st.lists(st.tuples(st.integers(0, 40), st.integers(1, 4), KINDS, st.booleans()), max_size=14)


def away(each):
    """Every day on which a request's panels are away: the day before, the event's, and the turnaround's."""
    turnaround = int(CARD.firm.turnaround_days)
    count = int(each.request.days) + 1 + turnaround
    return [each.request.event_date + timedelta(place - 1) for place in range(count)]


def wanted(each):
    counts = Counter()
    figures = price(CARD.rates, each.request)
    for line, floor_line in zip(figures.lines, each.request.lines, strict=False):
        counts[floor_line.panel] += int(line.panels)
    return counts


def counted_day_by_day(season, ledger):
    """Which requests were hires, and by how many panels each other one was short, in the plainest way."""
    out, served, short = Counter(), {}, {}
    for each in sorted(season, key=lambda each: each.outcome != AGREED) if ledger else season:
        lacks = {}
        for code, panels in wanted(each).items():
            worst = max(out[code, day] + panels - int(FEW.holdings[code].owned) for day in away(each))
            if worst > 0:
                lacks[code] = worst
        is_hire = each.outcome == AGREED or (each.outcome == LISTED and not lacks)
        served[each.name], short[each.name] = is_hire, {} if is_hire else lacks
        if is_hire:
            for code, panels in wanted(each).items():
                for day in away(each):
                    out[code, day] += panels
    return out, served, short


@settings(max_examples=extent(20, 60), deadline=None)
@given(SEASONS, st.booleans())
def test_as_counted_day_by_day(drawn, ledger):
    outcome_of = (lambda agreed: AGREED if agreed else LOST) if ledger else (lambda _: LISTED)
    season = [
        asked(number, MAY + timedelta(day), outcome_of(agreed), *floors, days=days)
        for number, (day, days, floors, agreed) in enumerate(drawn)
    ]
    out, served, short = counted_day_by_day(season, ledger)
    found = outcomes(FEW, season)
    assert [each.served for each in found] == [served[each.name] for each in season]
    assert [dict(each.beyond) for each in found] == [short[each.name] for each in season]
    for code, holding in FEW.holdings.items():
        use = use_of_kind(FEW, found, code, "2027", date(2027, 1, 1), date(2027, 12, 31))
        owned = int(holding.owned)
        for month in use.months:
            days = [day for day in every_day(2027) if f"{day:%Y-%m}" == month.name]
            mine = [each for each in season if wanted(each)[code] and each.day in days]
            assert month.panel_days == sum(out[code, day] for day in days)
            assert month.share == pytest.approx(D(month.panel_days) / (owned * len(days)), abs=D("0.000001"))
            assert month.sold_out == sum(owned - out[code, day] < use.usual for day in days)
            assert (month.requests, month.hires) == (len(mine), sum(served[each.name] for each in mine))
            lacking = [short[each.name].get(code, 0) for each in mine]
            assert (month.refused, month.beyond) == (sum(map(bool, lacking)), sum(lacking))
        for name in ("days", "panel_days", "sold_out", "requests", "hires", "refused", "beyond"):
            sums = {sum(getattr(row, name) for row in rows) for rows in (use.months, use.weekdays)}
            assert sums == {getattr(use.season, name)}


def every_day(year):
    return [date(year, 1, 1) + timedelta(place) for place in range(365)]


def test_the_break_even_sales_change_of_a_textbook():
    """A price of 10.00, costs of 5.50 that vary, 4,000 sold: 5 % off must sell 12.5 % more, which is 500.

    The formula -dP / (CM + dP), and this example, are in T. Nagle and R. Holden, The Strategy and Tactics of Pricing,
    chapter on financial analysis (from memory).
    """
    hires = Hires(4000, D(10), D(4000), D(0), D(4000), D(0))
    ladder = {rung.change: rung for rung in price_ladder(hires, D("0.05"), Costs(D("5.50"), D(0)), 2)}
    cut = ladder[D("-0.05")]
    assert (cut.price, cut.share_to_lose, cut.hires_to_lose) == (D("9.50"), D("-0.125"), -500)
    for change, rung in ladder.items():
        rise, margin = 10 * change, D("4.50")
        assert rung.share_to_lose == pytest.approx(rise / (margin + rise), abs=D("0.000001"))


@settings(max_examples=extent(50, 150), deadline=None)
@given(
    st.integers(1, 300), st.integers(1, 9_999), st.integers(0, 20_000), st.integers(0, 500_000), st.integers(0, 2_000),
    st.sampled_from(["0.01", "0.05", "0.125"]),
)  # fmt: skip
def test_one_hire_more_lost_and_it_is_worse(count, cents, units, other, hours, step):
    """Hires are taken to be alike: with as many lost as a rung says no less is left than today; with one more, less."""
    hires = Hires(count, D(cents).scaleb(-2), D(units), D(other).scaleb(-2), D(hours), D(count))
    costs = Costs(D(25), D(40))
    ladder = price_ladder(hires, D(step), costs, 2)
    today = ladder[len(RUNGS) // 2].left
    assert [rung.change for rung in ladder] == [number * D(step) for number in RUNGS]
    for rung in ladder:
        assert (rung.hires_to_lose is None) == (rung.left <= 0)
        if rung.hires_to_lose is None:
            continue
        kept = rung.left * (count - rung.hires_to_lose) / count
        assert kept >= today - abs(rung.left) * D("0.000001")
        if rung.hires_to_lose < count:
            assert rung.left * (count - rung.hires_to_lose - 1) / count < today + abs(rung.left) * D("0.000001")


def test_what_hires_bring_adds_up_to_their_quotes():
    """Price times units and the rest, plus waiver and minimum order: the quotes' totals before tax, line by line."""
    season = [
        asked(1, MAY, AGREED, ("4x4", 16, 20), days=2, discount_share=D("0.1"), waiver_taken=True),
        asked(2, MAY + timedelta(20), AGREED, ("4x4", 20, 20), ("2x3", 10, 10), discount_share=D(0)),
        asked(3, MAY + timedelta(30), AGREED, ("2x3", 12, 12)),
        asked(4, MAY + timedelta(40), LOST, ("4x4", 12, 12)),
    ]  # fmt: skip
    found = hires_of_kind(CARD, outcomes(CARD, season), "4x4")
    figures = [price(CARD.rates, each.request) for each in season[:2]]
    expected = sum(each.total - each.tax - each.waiver - each.minimum_order_charge for each in figures)
    assert found.count == 2
    assert found.price * found.units + found.other == pytest.approx(expected, abs=D("0.02"))
    assert found.crew_hours == sum((each.setup_hours + each.strike_hours) * CARD.rates.crew for each in figures)
    assert found.trips == sum(each.trips for each in figures)


def test_tax_in_the_prices_is_not_earned():
    """With 20 % in every price, what is left of one is a sixth less."""
    season = [asked(1, MAY, AGREED, ("4x4", 16, 20), ("2x3", 10, 10))]
    all_taxed = replace(CARD.rates, tax_rate=D("0.2"), tax_on_goods=True, tax_on_delivery=True, tax_on_labour=True)
    without, within = (replace(CARD, rates=replace(all_taxed, prices_with_tax=each)) for each in (False, True))
    net, gross = (hires_of_kind(card, outcomes(card, season), "4x4") for card in (without, within))
    assert gross.units == pytest.approx(net.units / D("1.2"), abs=D("0.000001"))
    assert gross.other == pytest.approx(net.other / D("1.2"), abs=D("0.01"))


def terms(**changes):
    return replace(ChargeTerms("2027", 2027, D("0.05"), D("0.1"), COSTS), **changes)


def test_sold_out_and_refused_by_hand():
    """60 of 4x4 owned, two floors of 25 on each Saturday of May: one leaves 35 for a usual floor of 25, both leave 10.

    Out from Friday on, so on most days of May. A third floor is lost, 15 panels short.
    """
    saturdays = [MAY + timedelta(7 * week) for week in range(5)]
    season = [asked(f"{day}{n}", day, AGREED, ("4x4", 20, 20)) for day in saturdays for n in range(2)]
    season.append(asked("third", saturdays[1], LOST, ("4x4", 20, 20)))
    season.append(asked("dear", date(2027, 9, 4), LOST, ("4x4", 20, 20)))
    found = charges(FEW, season, ["4x4"], terms())
    [each] = found.kinds
    use, days_out = each.use, 2 + int(CARD.firm.turnaround_days)
    assert (use.owned, use.usual) == (60, 25)
    assert use.season.panel_days == 5 * days_out * 50 and use.season.sold_out == 5 * days_out
    assert (use.season.requests, use.season.hires, use.season.refused, use.season.beyond) == (12, 10, 1, 15)
    words = " ".join("\n".join(say_charges(found)).split())
    assert "Requests for it: 12; lost for want of panels: 1 (15 panels more than were left)." in words
    assert "not more than 10 %; more than that: " in words and "2027-05" in words
    assert json.loads(json.dumps(to_json(found)))["kinds"][0]["sold_out_too_often"] is False
    assert to_json(charges(FEW, season, ["4x4"], terms(sold_out_share=D("0.02"))))["kinds"][0]["sold_out_too_often"]


def test_a_kind_that_nobody_asked_for_and_one_that_is_gone():
    season = [asked(1, MAY, AGREED, ("4x4", 16, 20)), replace(asked(2, MAY, LOST, ("4x4", 16, 20)), kinds_gone=True)]
    found = charges(CARD, season, ["4x4", "3x4"], terms())
    words = " ".join("\n".join(say_charges(found)).split())
    assert "3x4: nobody asked for it in 2027." in words and "1 of them for kinds that the card no longer has" in words
    assert found.kinds[0].use.season.requests == 1
    assert {rung.hires_to_lose for rung in found.kinds[1].ladder} == {None}


def test_whole_months_of_a_list():
    season = [asked(1, date(2027, 6, 12), LISTED, ("4x4", 16, 20)), asked(2, date(2027, 8, 2), LISTED, ("4x4", 16, 20))]
    [each] = charges(CARD, season, ["4x4"], terms(name="list.csv", year=None)).kinds
    assert [month.name for month in each.use.months] == ["2027-06", "2027-07", "2027-08"]
    assert each.use.season.days == 30 + 31 + 31


def test_which_kinds():
    none = replace(CARD, holdings=CARD.holdings | {"3x4": replace(CARD.holdings["3x4"], owned=D(0))})
    assert codes_to_charge(none, ()) == ("4x4", "2x3")
    assert codes_to_charge(none, ("2X3",)) == ("2x3",)
    with pytest.raises(Misuse, match="3x4: none is owned"):
        codes_to_charge(none, ("3x4",))
    with pytest.raises(Misuse, match="no panel that is owned"):
        codes_to_charge(replace(none, holdings={"3x4": none.holdings["3x4"]}), ())


def test_several_floors_of_one_kind_count_together():
    [each] = outcomes(CARD, [replace(asked(1, MAY, LISTED), request=replace(REQUEST, event_date=MAY, lines=floor()))])
    assert each.panels == {"4x4": 25}
