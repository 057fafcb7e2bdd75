"""Revenue by bill and by payment, worked out by hand, and lists for the bookkeeper."""

import csv
from datetime import date

import pytest
from ledger_fixtures import issue, quote

from quotebook.billing.registers import bills_register, payments_register
from quotebook.books.takings import billed, paid, rows_with_total, statement
from quotebook.errors import Misuse
from quotebook.ledger import Ledger
from quotebook.ledger.events import Billed, Paid, now
from quotebook.spreadsheets.csv_text import csv_of


@pytest.fixture
def ledger(tmp_path):
    """Two quotes: the first billed at two rates and taken back in part of June, both paid for."""
    made = Ledger(f"sqlite:///{tmp_path / 'ledger.sqlite'}")
    issue(made, quote())
    issue(made, quote("Q0002", client="=Firm"))
    of_first = {"at": now(), "quote_number": "Q0001", "revision": 1, "currency": "USD", "sha256": "ab" * 32}
    bill = {**of_first, "due_on": "2026-07-01", "prices_with_tax": False}
    taxes = (("0.2", 10000, 2000), ("0", 5000, 0))
    back = tuple((rate, -amount, -tax) for rate, amount, tax in taxes)
    made.record(Billed(**bill, bill_number="B0001", billed_on="2026-05-20", total=17000, taxes=taxes))
    made.record(Billed(**bill, bill_number="B0002", billed_on="2026-06-02", total=-17000, taxes=back, corrects="B0001"))
    made.record(Billed(
        **bill | {"quote_number": "Q0002", "prices_with_tax": True}, bill_number="B0003", billed_on="2026-06-03",
        total=12000, taxes=(("0.2", 12000, 2000),),
    ))  # fmt: skip
    for day, number, amount, towards in (
        ("2026-05-01", "Q0001", 4000, "deposit"), ("2026-06-05", "Q0001", 13000, "balance"),
        ("2026-06-06", "Q0001", -500, "balance"), ("2026-06-07", "Q0002", 12000, "balance"),
    ):  # fmt: skip
        made.record(Paid(
            at=now(), quote_number=number, revision=1, paid_on=day, amount=amount, currency="USD", towards=towards,
        ))  # fmt: skip
    return made


def texts(takings):
    return [[str(cell) for cell in row] for row in rows_with_total(takings)]


def test_by_bill_credit_notes_count_less_and_prices_without_their_tax(ledger):
    found = billed(ledger, date(2026, 5, 1), date(2026, 6, 30))
    assert texts(found) == [
        ["month", "at 20 %", "not taxed", "tax", "total"],
        ["2026-05", "100.00", "50.00", "20.00", "170.00"],
        ["2026-06", "0.00", "-50.00", "0.00", "-50.00"],
        ["total", "100.00", "0.00", "20.00", "120.00"],
    ]
    assert found.reconciled and statement(found, str).endswith("(3), both sum to USD 120.00.")


def test_by_payment_what_went_back_has_a_column(ledger):
    assert texts(paid(ledger, date(2026, 6, 1), date(2026, 6, 30))) == [
        ["month", "deposit", "balance", "given back", "total"],
        ["2026-06", "0.00", "250.00", "-5.00", "245.00"],
        ["total", "0.00", "250.00", "-5.00", "245.00"],
    ]


def test_currencies_are_never_added_up(ledger):
    from dataclasses import replace

    from ledger_fixtures import FIRM

    issue(ledger, quote("Q0003", firm=replace(FIRM, currency="EUR")))
    ledger.record(Paid(
        at=now(), quote_number="Q0003", revision=1, paid_on="2026-06-08", amount=100, currency="EUR", towards="deposit",
    ))  # fmt: skip
    with pytest.raises(Misuse, match="EUR and USD are never added up"):
        paid(ledger, date(2026, 6, 1), date(2026, 6, 30))
    assert paid(ledger, date(2026, 6, 1), date(2026, 6, 30), "EUR").total == 100


def test_the_bookkeepers_lists_have_a_row_for_each_rate_and_nothing_that_runs(ledger):
    rows = [*csv.reader(csv_of(bills_register(ledger, date.min, date.max)).splitlines())]
    assert [row[0] for row in rows[1:]] == ["B0001", "B0001", "B0002", "B0002", "B0003"]
    assert rows[-1][6] == "'=Firm" and rows[-1][8:] == ["0.2", "100.00", "20.00", "120.00", "USD"]
    assert rows[3][1:3] == ["credit note", "B0001"]
    payments = [*csv.reader(csv_of(payments_register(ledger, date(2026, 6, 6), date(2026, 6, 6))).splitlines())]
    assert [row[4:] for row in payments[1:]] == [["balance", "-5.00", "USD"]]
