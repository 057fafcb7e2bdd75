"""What a kind has earned since it was bought: by hand, and its sheet recalculated."""

from dataclasses import replace
from datetime import date
from decimal import Decimal as D
from io import BytesIO

import pytest
from ledger_fixtures import CARD, WITH_TAX, floor, issue_and_agree, quote
from oracle import poisoned, recalculated_by_ironcalc

from quotebook.books.payback_plans import Assumptions, plans_from_ledger
from quotebook.books.payback_workbook import write_payback
from quotebook.books.so_far import say_so_far, so_far, to_json
from quotebook.contract.local import local_of
from quotebook.engine.stock import Item
from quotebook.ledger import Ledger
from quotebook.ledger.events import CountedBack, Delivered, Loss, now

ASSUMED = Assumptions(crew_cost=D(20))
HIRE = 25 * D("36.50")  # 20 x 20 ft in 4x4, for a day


def card(owned=30, bought_on=date(2026, 1, 1)):
    """The card with so many 4x4 at 190, bought on a day; of the other kinds none."""
    holdings = {code: replace(holding, owned=D(0)) for code, holding in CARD.holdings.items()}
    holdings["4x4"] = replace(CARD.holdings["4x4"], owned=D(owned), bought_on=bought_on)
    return replace(CARD, holdings=holdings)


@pytest.fixture
def ledger(tmp_path):
    return Ledger(f"sqlite:///{tmp_path / 'ledger.sqlite'}")


def hires(ledger, *days):
    for number, day in enumerate(days, 1):
        event = {"event_date": day, "days": D(1), "discount_share": D(0), "lines": floor(), "after_hours": False}
        issue_and_agree(ledger, quote(f"Q{number:04}", **event), owned={})


def test_a_month_by_hand(ledger):
    """Two people are charged 31.40 for two hours and more each; the firm pays 20: what is left is hire and the rest."""
    hires(ledger, date(2026, 3, 7), date(2026, 3, 14), date(2025, 12, 31))
    [found] = so_far(ledger, card(), date(2026, 4, 30), ASSUMED)
    assert (found.kind, found.cost, [entry.hires for entry in found.months]) == ("4x4", 5_700, [0, 0, 2, 0])
    march = found.months[2]
    assert march.hire == 2 * HIRE
    assert march.labour == march.crew_hours * D("31.40")
    assert found.left(march) == 2 * HIRE + march.crew_hours * D("11.40")
    assert found.to_earn == found.cost - found.left(march)


def test_tax_in_the_prices_is_not_earned(ledger):
    """Four fifths of a hire of 912.50 are 730.00, and of the labour as much."""
    event = {"days": D(1), "discount_share": D(0), "lines": floor(), "after_hours": False}
    issue_and_agree(ledger, quote(event_date=date(2026, 3, 7), rates=WITH_TAX.rates, **event), owned={})
    [found] = so_far(ledger, replace(card(), rates=WITH_TAX.rates), date(2026, 4, 30), Assumptions())
    [entry] = found.entries
    assert entry.hire == 730 and entry.labour == entry.crew_hours * D("25.12") == found.crew_paid(entry)
    assert found.left(entry) == 730


def test_the_day_of_the_hire_that_paid_it_off(ledger):
    """2 panels cost 380: paid off with the first hire."""
    hires(ledger, date(2026, 3, 7), date(2026, 3, 14))
    [found] = so_far(ledger, card(owned=2), date(2026, 4, 30), ASSUMED)
    assert (found.to_earn, found.paid_off_on) == (0, date(2026, 3, 7))


def test_a_day_to_come_at_the_pace_of_the_last_twelve_months(ledger):
    """A hire a month for a year leaves so much in 365 days; what is missing takes its share of as many."""
    hires(ledger, *(date(2026, month, 10) for month in range(1, 13)))
    [found] = so_far(ledger, card(owned=120), date(2026, 12, 31), ASSUMED)
    days = (found.to_earn * 365 / found.left_in_a_year).to_integral_value("ROUND_CEILING")
    assert (found.paid_off_on - date(2026, 12, 31)).days == days > 300


def test_what_was_lost_counts_against_it(ledger):
    hires(ledger, date(2026, 3, 7))
    ledger.record(Delivered(at=now(), quote_number="Q0001", revision=1))
    losses = (Loss(Item("panels", "4x4"), damaged=1, lost=2),)
    ledger.record(CountedBack(at=now(), quote_number="Q0001", revision=1, losses=losses))
    [found] = so_far(ledger, card(), date(2026, 4, 30), ASSUMED)
    assert found.over_months(found.losses) == 3 * 190


def test_a_kind_without_hires_says_so(ledger):
    found = so_far(ledger, card(), date(2026, 4, 30), ASSUMED)
    words = "\n".join(say_so_far(found, "USD", local_of("en", "US")))
    assert "no hires yet" in words and "before tax" in words and "Left is hire and labour" in words
    assert (found[0].paid_off_on, found[0].to_earn) == (None, 5_700)
    assert to_json(found[0])["paid_off_on"] is None
    assert so_far(ledger, card(bought_on=date(2027, 1, 1)), date(2026, 4, 30), ASSUMED) == []


def test_the_months_sum_to_what_the_ledger_says(ledger):
    """To the cent, with a crew paid at a rate that leaves fractions of one."""
    hires(ledger, *(date(2026, month, 1 + month) for month in range(1, 10)))
    [found] = so_far(ledger, card(), date(2026, 12, 31), Assumptions(crew_cost=D("17.77")))
    written = to_json(found)
    for name in ("hire", "labour", "crew_paid", "losses", "left"):
        assert D(written[name]) == sum(D(month[name]) for month in written["months"])
    assert D(written["still_to_earn"]) == max(0, found.cost - D(written["left"]))


def test_the_sheet_recalculated(ledger, tmp_path):
    hires(ledger, *(date(2026, month, 1 + month) for month in range(1, 10)))
    earned = so_far(ledger, card(), date(2026, 12, 31), Assumptions(crew_cost=D("17.77")))
    plans = plans_from_ledger(ledger, card(), date(2026, 1, 1), date(2026, 12, 31), ASSUMED)[:1]
    file = BytesIO()
    content = write_payback(file, CARD.firm, 2, plans, earned)
    (tmp_path / "payback.xlsx").write_bytes(poisoned(file.getvalue()))
    names = [name for name in content.results if name.startswith("so_far")]
    found = recalculated_by_ironcalc(tmp_path / "payback.xlsx", {name: content.places[name] for name in names})
    assert len(names) == 12 * 4
    for name in names:
        assert found[name] == pytest.approx(float(content.results[name]), abs=1e-6), name
