"""A kind keeps what it earned when its code changes: after a rename in mid-season, and after a change of capitals."""

import re
from dataclasses import replace
from datetime import date
from decimal import Decimal as D
from io import BytesIO

import pytest
from ledger_fixtures import CARD, OWNED, agreed, floor, issue, issue_and_agree, ledger, quote, url

from quotebook.books.payback_plans import Assumptions, plans_from_ledger
from quotebook.books.revenue import revenue, table, to_csv, to_json
from quotebook.books.revenue_workbook import write_revenue
from quotebook.books.so_far import so_far
from quotebook.books.sources import books
from quotebook.desk_books.season_sheet import season
from quotebook.engine.stock import Item
from quotebook.ledger.events import CountedBack, Delivered, Loss, Renamed, Repaired, now

# ruff: noqa: F401, F811 (fixtures are imported by their names)

YEAR = date(2026, 1, 1), date(2026, 12, 31)


def card_with(codes):
    """The card with other codes, such as `{"4x4": "Oak"}`."""
    kinds = tuple(replace(kind, panel=codes.get(kind.panel, kind.panel)) for kind in CARD.rates.kinds)
    holdings = {codes.get(code, code): holding for code, holding in CARD.holdings.items()}
    return replace(CARD, rates=replace(CARD.rates, kinds=kinds), holdings=holdings)


def hire(ledger, number, code, day, card=CARD):
    """25 panels of a kind go out."""
    owned = OWNED | {Item("panels", code): 200}
    record = quote(number, rates=card.rates, lines=floor(code), event_date=day, days=D(1))
    return issue_and_agree(ledger, record, owned)


def rename(ledger, old, new):
    ledger.record(Renamed(at=now(), old=old, new=new))


@pytest.fixture
def renamed(ledger):
    """4x4 was hired once, became Oak, was hired once more, became Oak-4, and was hired with other capitals."""
    hire(ledger, "Q0001", "4x4", date(2026, 3, 7))
    rename(ledger, "4x4", "Oak")
    hire(ledger, "Q0002", "Oak", date(2026, 5, 9), card_with({"4x4": "Oak"}))
    hire(ledger, "Q0003", "2x3", date(2026, 5, 16))
    rename(ledger, "Oak", "Oak-4")
    hire(ledger, "Q0004", "OAK-4", date(2026, 8, 8), card_with({"4x4": "OAK-4"}))
    return ledger


CARD_NOW = card_with({"4x4": "Oak-4"})


@pytest.mark.parametrize("spread", [False, True])
def test_revenue_is_of_the_kind_and_not_of_its_code(renamed, spread):
    found = revenue(renamed, *YEAR, spread=spread, on_card=CARD_NOW.holdings)
    assert [*found.by_kind.index] == [
        ("2026-03", "Oak-4"), ("2026-05", "2x3"), ("2026-05", "Oak-4"), ("2026-08", "Oak-4"),
    ]  # fmt: skip
    assert found.by_kind.loc[("2026-03", "Oak-4"), "panels"] == 25
    assert found.reconciled
    kinds = [name for name in table(found).columns if name in CARD_NOW.holdings]
    assert kinds == ["2x3", "Oak-4"]
    assert {row["kind"] for row in to_json(found)["rows"]} == {"2x3", "Oak-4"}
    assert to_csv(found).splitlines()[0].startswith("month,2x3,Oak-4,")


def test_without_a_card_a_code_is_spelled_as_it_was_last(renamed):
    assert {kind for _, kind in revenue(renamed, *YEAR).by_kind.index} == {"2x3", "Oak-4"}


def test_a_code_that_was_given_up_can_be_another_kinds_later(ledger):
    """What was 4x4 is Oak, and what is quoted as 4x4 afterwards is another kind."""
    hire(ledger, "Q0001", "4x4", date(2026, 3, 7))
    rename(ledger, "4x4", "Oak")
    hire(ledger, "Q0002", "4x4", date(2026, 3, 7))
    found = revenue(ledger, *YEAR).by_kind
    assert {kind: int(panels) for (_, kind), panels in found["panels"].items()} == {"4x4": 25, "Oak": 25}


def test_a_quote_agreed_after_the_rename_counts_by_when_it_was_issued(ledger):
    record = issue(ledger, quote(lines=floor("4x4"), event_date=date(2026, 3, 7), days=D(1)))
    rename(ledger, "4x4", "Oak")
    ledger.agree(agreed(record), OWNED | {Item("panels", "Oak"): 60})
    assert [kind for _, kind in revenue(ledger, *YEAR).by_kind.index] == ["Oak"]


def test_the_workbook_and_the_season_have_one_column_for_a_kind(renamed):
    found = books(renamed, CARD_NOW, *YEAR)
    assert [line.panel for line in found.lines] == ["Oak-4", "Oak-4", "2x3", "Oak-4"]
    names = write_revenue(BytesIO(), found).results
    goods = {name for name in names if re.fullmatch(r"goods_\d+_month_3", name)}
    assert len(goods) == len(CARD_NOW.holdings)
    of_year = season(renamed, CARD_NOW, 2026)
    assert of_year.kinds == ["2x3", "Oak-4"]
    assert [bool(amount) for amount in of_year.amounts["Oak-4"]] == [month in (3, 5, 8) for month in range(1, 13)]


def test_payback_has_all_that_the_kind_earned(renamed):
    [plan] = [each for each in plans_from_ledger(renamed, CARD_NOW, *YEAR, Assumptions()) if each.kind == "Oak-4"]
    assert (plan.hires_a_month, plan.panels_a_hire) == (D("0.25"), 25)
    [oak] = [each for each in so_far(renamed, CARD_NOW, YEAR[1], Assumptions()) if each.kind == "Oak-4"]
    assert oak.total.hires == 3
    assert oak.total.hire == 3 * D("866.87")  # 25 panels at 36.50 for a day, less 5 %


def test_losses_and_repairs_stay_with_the_kind(ledger):
    """3 lost as 4x4; 1 and 1 repaired on one day, as 4x4 and as Oak: 1 is still lost."""
    record = hire(ledger, "Q0001", "4x4", date(2026, 3, 7))
    of_quote = {"at": now(), "quote_number": "Q0001", "revision": record.revision}
    ledger.record(Delivered(**of_quote))
    ledger.record(CountedBack(**of_quote, losses=(Loss(Item("panels", "4x4"), 0, 3),)))
    day = date(2026, 4, 1)
    ledger.record(Repaired(at=now(), item=Item("panels", "4x4"), pieces=1, day=day))
    rename(ledger, "4x4", "Oak")
    ledger.record(Repaired(at=now(), item=Item("panels", "Oak"), pieces=1, day=day))
    [oak] = [each for each in so_far(ledger, card_with({"4x4": "OAK"}), YEAR[1], Assumptions()) if each.kind == "OAK"]
    assert oak.total.lost == 1


def test_a_list_of_quotes_has_the_codes_of_now(renamed):
    assert [each.panels for each in renamed.listed()] == [{"Oak-4": 25}, {"Oak-4": 25}, {"2x3": 70}, {"Oak-4": 25}]
