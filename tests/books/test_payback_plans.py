"""Plans of payback: from a ledger by hand, and from what an owner has in mind."""

import json
from dataclasses import replace
from datetime import date
from decimal import Decimal as D

import pytest
from ledger_fixtures import CARD, WITH_TAX, floor, issue_and_agree, quote

from quotebook.books.payback_plans import Assumptions, plan_by_hand, plans_from_ledger, to_json
from quotebook.engine.payback import FIVE_YEARS, LONGEST_LIFE, payback
from quotebook.errors import Misuse
from quotebook.ledger import Ledger

YEAR = date(2026, 1, 1), date(2026, 12, 31)


@pytest.fixture
def ledger(tmp_path):
    return Ledger(f"sqlite:///{tmp_path / 'ledger.sqlite'}")


def test_from_the_ledger_by_hand(ledger):
    """The worked example once in a year, its first line: 30 panels for 1,560.37 net and 138 of 300 person-minutes.

    Labour of 188.40 by goods is 107.80 for it (by hand in test_revenue).
    """
    issue_and_agree(ledger, quote())
    plan = plans_from_ledger(ledger, CARD, *YEAR, Assumptions(crew_cost=D(22)))[0]
    assert (plan.kind, plan.panels, plan.purchase_price, plan.life_years) == ("4x4", 120, 190, 10)
    assert (plan.hires_a_month, plan.panels_a_hire) == (D("0.083333"), 30)
    assert (plan.rate, plan.labour_a_hire, plan.crew_hours_a_hire) == (D("52.012333"), D("107.80"), D("2.3"))


def test_a_year_of_it_earns_what_the_ledger_says(ledger):
    """Twelve alike, one a month: 12 x 25 x 36.50 of hire, to the cent."""
    for month in range(1, 13):
        event = {"event_date": date(2026, month, 10), "days": D(1), "discount_share": D(0), "lines": floor()}
        issue_and_agree(ledger, quote(f"Q{month:04}", **event), owned={})
    figures = payback(plans_from_ledger(ledger, CARD, *YEAR, Assumptions())[0], 2)
    assert 12 * figures["earned_a_hire"] == 12 * 25 * D("36.50")


def test_months_count_from_when_it_was_bought(ledger):
    issue_and_agree(ledger, quote())
    late = {code: replace(holding, bought_on=date(2026, 4, 15)) for code, holding in CARD.holdings.items()}
    plan = plans_from_ledger(ledger, replace(CARD, holdings=late), *YEAR, Assumptions())[0]
    assert plan.hires_a_month == D("0.111111")  # one in nine months


def test_a_kind_never_hired(ledger):
    plans = plans_from_ledger(ledger, CARD, *YEAR, Assumptions())
    assert [plan.kind for plan in plans] == ["4x4", "2x3", "3x4"]
    assert plans[0].hires_a_month == 0 and plans[0].rate == D("36.50")
    assert payback(plans[0], 2)["months_to_pay_back"] is None


def test_by_hand():
    """20 panels at a minute each and 0.7 as long to take up are 34 minutes; an hour is charged at 31.40."""
    plan = plan_by_hand(CARD, "4X4", D(3), D(20), None, Assumptions(resale_share=D("0.1")))
    assert (plan.kind, plan.rate, plan.crew_hours_a_hire) == ("4x4", D("36.50"), D("0.566667"))
    assert (plan.labour_a_hire, plan.crew_cost, plan.resale) == (D("17.79"), D("31.40"), D("2280.00"))
    assert plan_by_hand(CARD, "4x4", D(3), D(20), D(40), Assumptions()).rate == 40


def test_tax_in_the_prices_is_not_earned(ledger):
    """36.50 with 25 % in it are 29.20, of the ledger's hires, of a plan by hand, and of a kind never hired."""
    event = {"days": D(1), "discount_share": D(0), "lines": floor(), "after_hours": False}
    issue_and_agree(ledger, quote(rates=WITH_TAX.rates, **event))
    hired, never, _ = plans_from_ledger(ledger, WITH_TAX, *YEAR, Assumptions())
    assert (hired.rate, hired.crew_cost) == (D("29.20"), D("25.12"))  # 31.40 / 1.25
    assert hired.labour_a_hire == hired.crew_hours_a_hire * D("25.12")
    assert never.rate == round(CARD.rates.listed_kind("2x3").rate / D("1.25"), 6)
    plan = plan_by_hand(WITH_TAX, "4x4", D(3), D(20), None, Assumptions())
    assert (plan.rate, plan.labour_a_hire) == (D("29.20"), D("14.23"))  # 17.79 / 1.25
    assert plan_by_hand(WITH_TAX, "4x4", D(3), D(20), D(50), Assumptions()).rate == 40


def test_a_life_is_whole_years_and_not_too_long():
    for life, years in ((D("7.5"), 8), (D(100), LONGEST_LIFE)):
        card = replace(CARD, holdings={"4x4": replace(CARD.holdings["4x4"], life_years=life)})
        assert plan_by_hand(card, "4x4", D(1), D(1), None, Assumptions()).life_years == years


def test_a_panel_that_is_not_on_the_card():
    with pytest.raises(Misuse, match="9x9: is not on the rate card, which has 4x4, 2x3, 3x4"):
        plan_by_hand(CARD, "9x9", D(1), D(1), None, Assumptions())


def test_json_has_numbers_as_text():
    plan = plan_by_hand(CARD, "4x4", D(3), D(20), None, Assumptions(depreciation=FIVE_YEARS))
    written = json.loads(json.dumps(to_json(plan, 2)))
    assert (written["cost"], written["depreciation"], len(written["years"])) == ("22800.00", FIVE_YEARS, 10)
    assert written["years"][0]["written_off"] == "4560.00" and written["price_ladder"][2]["hires_to_lose"] == "0"
    never = to_json(replace(plan, hires_a_month=D(0)), 2)
    assert never["months_to_pay_back"] is None
