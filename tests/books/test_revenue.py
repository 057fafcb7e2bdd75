"""Revenue by month and kind: by hand from the worked example, and to the cent whatever was agreed."""

import csv
import io
from dataclasses import replace
from datetime import date
from decimal import Decimal as D
from tempfile import TemporaryDirectory

import pytest
import random_quotes as any_
import worked_example
from hypothesis import given, settings
from hypothesis import strategies as st
from ledger_fixtures import FIRM, floor, issue_and_agree, ledger, quote, url

from quotebook.books import revenue as books
from quotebook.books.revenue import month_days, months_between, revenue, shown, statement, table, to_csv, to_json
from quotebook.errors import Misuse
from quotebook.ledger import Ledger
from quotebook.ledger.events import Cancelled, Issued, now

# ruff: noqa: F401, F811 (fixtures are imported by their names)

JUNE = date(2026, 6, 1), date(2026, 6, 30)
YEAR = date(2026, 1, 1), date(2026, 12, 31)


def test_worked_example_by_kind(ledger):
    """The lines of 2,926.09 net (by hand in test_records), with the counts of the worked example, for two days."""
    issue_and_agree(ledger, quote())
    assert to_json(revenue(ledger, *JUNE)) == {
        "currency": "USD",
        "rows": [
            {"month": "2026-06", "kind": "2x3", "hires": 1, "panels": 20, "panel_days": 40, "crew_minutes": 110,
             "hire": "377.62", "edging": "0.00", "subfloor": "162.45"},
            {"month": "2026-06", "kind": "3x4", "hires": 1, "panels": 18, "panel_days": 36, "crew_minutes": 52,
             "hire": "711.79", "edging": "0.00", "subfloor": "0.00"},
            {"month": "2026-06", "kind": "4x4", "hires": 1, "panels": 30, "panel_days": 60, "crew_minutes": 138,
             "hire": "1560.37", "edging": "113.86", "subfloor": "0.00"},
        ],
        "charges": [
            {"month": "2026-06", "delivery": "111.78", "labour": "188.40", "waiver": "234.09", "tax": "208.85"},
        ],
        "total": "3669.21", "agreed": "3669.21", "quotes": 1, "reconciled": True,
    }  # fmt: skip


def test_worked_example_spread(ledger):
    """111.78, 188.40, 234.09 and 208.85 over goods of 1,762.35, 568.50 and 749.25 (of 3,080.10), by hand.

    Exactly: delivery 63.9575 20.6315 27.1911; labour 107.7974 34.7734 45.8293; waiver 133.9400 43.2064
    56.9436; tax 119.4983 38.5478 50.8038.
    """
    issue_and_agree(ledger, quote())
    spread = revenue(ledger, *JUNE, spread=True)
    shares = {
        "4x4": ["63.96", "107.80", "133.94", "119.50"], "2x3": ["20.63", "34.77", "43.21", "38.55"],
        "3x4": ["27.19", "45.83", "56.94", "50.80"],
    }  # fmt: skip
    for row in to_json(spread)["rows"]:
        assert [row[name] for name in ("delivery", "labour", "waiver", "tax")] == shares[row["kind"]]
    assert to_json(spread)["charges"] == [] and shown(spread, spread.total) == "3669.21" and spread.reconciled


def test_table_has_every_month_and_kind(ledger):
    issue_and_agree(ledger, quote("Q0001"))
    issue_and_agree(ledger, quote("Q0002", lines=floor(), event_date=date(2026, 8, 1), discount_share=D(0), days=D(1)))
    frame = table(revenue(ledger, date(2026, 6, 1), date(2026, 9, 30)))
    assert list(frame.index) == ["2026-06", "2026-07", "2026-08", "2026-09"]
    assert list(frame.columns) == ["2x3", "3x4", "4x4", "delivery", "labour", "waiver", "tax", "total"]
    assert frame.loc["2026-06", ["2x3", "3x4", "4x4", "total"]].tolist() == [54007, 71179, 167423, 366921]
    assert frame.loc["2026-08", "4x4"] == 25 * 3650  # 25 panels at 36.50 for a day
    assert frame.loc["2026-07"].sum() == frame.loc["2026-09"].sum() == 0


@pytest.mark.parametrize(("first", "last", "found"), [("06-20", "06-20", 1), ("06-21", "12-31", 0)])
def test_an_event_counts_on_its_first_day(ledger, first, last, found):
    issue_and_agree(ledger, quote())
    assert revenue(ledger, *(date.fromisoformat(f"2026-{day}") for day in (first, last))).quotes == found


def test_only_what_is_agreed_and_not_cancelled_counts(ledger):
    """Issued only; cancelled; and a revision that a later one took the place of."""
    ledger.record(Issued(at=now(), quote=quote("Q0001")))
    issue_and_agree(ledger, quote("Q0002"))
    ledger.record(Cancelled(at=now(), quote_number="Q0002", revision=1))
    issue_and_agree(ledger, quote("Q0003", 1, lines=floor()))
    second = issue_and_agree(ledger, quote("Q0003", 2, lines=floor(width=24)))
    found = revenue(ledger, *YEAR)
    assert (found.quotes, found.total, found.reconciled) == (1, second.total, True)
    assert found.by_kind.loc[("2026-06", "4x4"), "panels"] == 30


def test_currencies_are_never_mixed(ledger):
    yen = quote("Q0002", firm=replace(FIRM, currency="JPY"), rates=replace(worked_example.RATES, minor_units=D(0)))
    issue_and_agree(ledger, quote("Q0001"))
    issue_and_agree(ledger, yen)
    with pytest.raises(Misuse, match="are in JPY and USD, which are never added up"):
        revenue(ledger, *YEAR)
    assert shown(revenue(ledger, *YEAR, currency="USD"), quote().total) == "3669.21"
    of_yen = revenue(ledger, *YEAR, currency="JPY")
    assert to_json(of_yen)["total"] == str(yen.total) and of_yen.reconciled


@pytest.mark.parametrize("currency", [None, "USD"])
@pytest.mark.parametrize("spread", [True, False])
def test_nothing_agreed(ledger, currency, spread):
    nothing = revenue(ledger, *JUNE, spread, currency)
    assert nothing.total == 0 and nothing.reconciled and to_json(nothing)["rows"] == []
    assert table(nothing).loc["2026-06", "total"] == 0


def test_statement(ledger):
    issue_and_agree(ledger, quote())
    found = revenue(ledger, *JUNE)
    assert statement(found, str) == "Reconciled: the table and the agreed quotes (1) both sum to USD 3669.21."
    assert statement(replace(found, agreed=366922), str) == (
        "NOT reconciled: the table sums to USD 3669.21, the agreed quotes to 3669.22."
    )


def test_csv_runs_nothing_and_sums(ledger):
    rates = worked_example.RATES
    odd = replace(rates, kinds=(replace(rates.kinds[0], panel="=1+1"), *rates.kinds[1:]))
    issue_and_agree(ledger, quote(rates=odd, lines=floor("=1+1")))
    heading, june, total = csv.reader(io.StringIO(to_csv(revenue(ledger, *JUNE))))
    assert heading == ["month", "'=1+1", "delivery", "labour", "waiver", "tax", "total"]
    assert june[0] == "2026-06" and total[1:] == june[1:] and sum(map(D, june[1:-1])) == D(june[-1])


@pytest.mark.parametrize(
    ("first", "last", "days"),
    [("2027-01", "2027-12", ("2027-01-01", "2027-12-31")), ("2028-02", "2028-02", ("2028-02-01", "2028-02-29"))],
)
def test_month_days(first, last, days):
    assert tuple(map(str, month_days(first, last))) == days


@pytest.mark.parametrize(
    ("first", "last"), [("2027-1", "2027-12"), ("2027-13", "2027-12"), ("2027-02", "2027-01"), ("", "")]
)
def test_month_days_refuses(first, last):
    with pytest.raises(Misuse):
        month_days(first, last)


def test_months_between_years():
    assert months_between(date(2026, 11, 5), date(2027, 2, 1)) == ("2026-11", "2026-12", "2027-01", "2027-02")


floors = [floor(panel, side, 7, edging_wanted=True)[0] for panel in any_.CODES for side in (3, 8)]
requests = st.builds(
    replace, any_.requests, event_date=st.dates(*YEAR), days=any_.wholes(1, 30),
    lines=st.lists(st.sampled_from(floors), max_size=6).map(tuple),
)  # fmt: skip


def agreed_revenue(url, rates, requests, spread):
    """The year's revenue when all of these are agreed, and their records."""
    ledger = Ledger(url)
    records = [quote(f"Q{number}", rates=rates, **vars(request)) for number, request in enumerate(requests)]
    for record in records:
        issue_and_agree(ledger, record, owned={})
    found = revenue(ledger, *YEAR, spread)
    with pytest.MonkeyPatch.context() as patch:
        for most in (0, 1_000):  # none are found by going through the tables, or all
            patch.setattr(books, "MOST", most)
            assert to_json(revenue(ledger, *YEAR, spread)) == to_json(found)
    return found, records


@settings(max_examples=20, deadline=None)
@given(any_.rates, st.lists(requests, min_size=1, max_size=5), st.booleans())
def test_every_table_sums_to_the_agreed_quotes(rates, requests, spread):
    with TemporaryDirectory() as folder:
        found, records = agreed_revenue(f"sqlite:///{folder}/ledger.sqlite", rates, requests, spread)
    assert found.total == sum(record.total for record in records) == found.agreed
    assert table(found)["total"].sum() == found.total
    written = list(csv.reader(io.StringIO(to_csv(found))))
    assert D(written[-1][-1]) == sum(D(row[-1]) for row in written[1:-1]) == D(shown(found, found.total))
