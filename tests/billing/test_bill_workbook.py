"""The formulas of a bill, worked out by spreadsheet engines with poisoned values, against the engine."""

from datetime import date
from decimal import Decimal as D
from io import BytesIO

import oracle
import pytest
import worked_example
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from quotebook.billing.bill_workbook import BillPaper, write_bill
from quotebook.billing.items import bill_words
from quotebook.engine.billing import Item, bill_figures
from quotebook.engine.money import number, round6

cents = st.integers(-500_000, 500_000).map(lambda each: D(each) / 100)
items = st.builds(
    Item, text=st.just("Something"), count=st.integers(1, 40).map(D), price=cents,
    tax_rate=st.sampled_from((D(0), D("0.055"), D("0.2"), D("0.06875"))),
    covered_share=st.sampled_from((D(0), D("0.5"), D("0.125"))),
)  # fmt: skip
papers = st.builds(
    lambda listed, paid, with_tax, credit: paper(tuple(listed), tuple(paid), with_tax, credit),
    st.lists(items, min_size=1, max_size=12), st.lists(cents, max_size=3), st.booleans(), st.booleans(),
)  # fmt: skip


def paper(listed, paid, with_tax=False, credit=False):
    paid = () if credit else paid
    return BillPaper(
        bill_number="B0001", billed_on=date(2027, 6, 14), due_on=date(2027, 6, 28), quote_number="Q0001",
        client="A. Client", event="Party", event_date=date(2027, 6, 12), venue="The long barn", items=listed,
        payments=tuple(("Paid", amount) for amount in paid), figures=bill_figures(listed, paid, with_tax, D(2)),
        prices_with_tax=with_tax, minor_units=2, currency="USD",
        corrects="Takes back bill B0000." if credit else "", note="Pay in time.",
    )  # fmt: skip


def write(path, bill, language="en"):
    file = BytesIO()
    content = write_bill(file, bill, worked_example.FIRM, None, bill_words(language))
    path.write_bytes(oracle.poisoned(file.getvalue()))
    return content


def differences(content, recalculated):
    return {
        name: (due, recalculated[name], content.formulas[name])
        for name, due in content.results.items()
        if not isinstance(recalculated[name], (int, float)) or round6(number(recalculated[name])) != round6(due)
    }


@given(papers)
@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
def test_ironcalc_agrees_on_every_figure_of_a_bill(tmp_path_factory, bill):
    path = tmp_path_factory.getbasetemp() / "bill.xlsx"
    content = write(path, bill)
    assert {"total", "subtotal"} <= {*content.results} and ("due" in content.results) != bool(bill.corrects)
    assert differences(content, oracle.recalculated_by_ironcalc(path, content.places)) == {}


def test_libreoffice_agrees_on_every_figure_of_a_bill(tmp_path, soffice):
    listed = (
        Item("Hire", D(1), D("696.00"), D("0.0725")), Item("Discount", D(1), D("-34.85"), D("0.0725")),
        Item("Labour", D(1), D("117.60"), D("0.055")), Item("Damaged", D(3), D("24.45"), D(0), D("0.75")),
    )  # fmt: skip
    bills = {
        "plain": paper(listed, (D("400.00"), D("-20.00"))),
        "with_tax": paper(listed, (D("2000.00"),), with_tax=True),
        "credit": paper(listed, (), credit=True),
    }
    contents = {name: write(tmp_path / f"{name}.xlsx", bill) for name, bill in bills.items()}
    (tmp_path / "out").mkdir()
    soffice.convert([tmp_path / f"{name}.xlsx" for name in bills], tmp_path / "out", to="xlsx")
    for name, content in contents.items():
        assert differences(content, oracle.values_in(tmp_path / "out" / f"{name}.xlsx", content.places)) == {}


@pytest.mark.parametrize("language", ["es", "fr"])
def test_the_words_of_a_bill_are_there_in_every_language(language):
    def keys(words):
        return {(name, *keys(value)) if isinstance(value, dict) else name for name, value in words.items()}

    assert keys(bill_words(language)) == keys(bill_words("en"))


def test_the_same_bill_has_the_same_bytes(tmp_path):
    bill = paper((Item("Hire", D(1), D(5), D(0)),), ())
    for name in ("one", "two"):
        write(tmp_path / name, bill)
    assert (tmp_path / "one").read_bytes() == (tmp_path / "two").read_bytes()
