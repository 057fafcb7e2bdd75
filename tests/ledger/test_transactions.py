"""A ledger in a file is asked by Python's driver or through SQLAlchemy: both write and read the same values."""

from contextlib import contextmanager
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quotebook.ledger import Ledger
from quotebook.ledger.bills import Bill
from quotebook.ledger.through_sqlalchemy import SqlalchemyTransaction

TEXTS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"))
COLUMNS = {
    **dict.fromkeys(("bill_number", "quote_number", "currency", "taxes", "corrects", "because", "sha256"), TEXTS),
    "billed_on": st.dates(), "due_on": st.dates(), "prices_with_tax": st.booleans(),
    "total": st.integers(-(2**63), 2**63 - 1), "count": st.integers(-(2**31), 2**31 - 1),
}  # fmt: skip
BILLS = st.lists(st.fixed_dictionaries(COLUMNS), min_size=1, max_size=3)


@contextmanager
def through_sqlalchemy(connected):
    with connected as connection:
        yield SqlalchemyTransaction(connection)


@pytest.fixture(scope="module")
def database(tmp_path_factory):
    return Ledger(f"sqlite:///{tmp_path_factory.mktemp('both') / 'ledger.sqlite'}").database


@settings(max_examples=50)
@given(BILLS)
def test_what_one_writes_either_reads(database, bills):
    columns = ", ".join(COLUMNS)
    writers = database.writing, lambda: through_sqlalchemy(database.altering())
    readers = database.reading, lambda: through_sqlalchemy(database.querying())
    for write, read in product(writers, readers):
        with write() as transaction:
            transaction.run("DELETE FROM bills")
            transaction.insert("bills", bills)
        with read() as transaction:
            rows = transaction.rows(f"SELECT {columns} FROM bills ORDER BY rowid")
            days = transaction.column("SELECT billed_on FROM bills WHERE due_on = :day", day=bills[0]["due_on"])
            number = transaction.value("SELECT count(*) FROM bills")
            nothing = transaction.value("SELECT total FROM bills WHERE bill_number = :other", other="\n no \n")
        assert [dict(zip(COLUMNS, row, strict=True)) for row in rows] == bills
        assert {type(value) for value in rows[0]} == {type(value) for value in bills[0].values()}
        assert days == [bill["billed_on"] for bill in bills if bill["due_on"] == bills[0]["due_on"]]
        assert number == len(bills)
        assert nothing is None or "\n no \n" in [bill["bill_number"] for bill in bills]


def test_every_field_of_a_bill_is_tried():
    assert {*Bill._fields} <= {*COLUMNS}


@pytest.mark.parametrize("name", ["history", "ledger_version", "nothing"])
def test_both_know_which_tables_there_are(database, name):
    with database.reading() as by_driver, through_sqlalchemy(database.querying()) as by_sqlalchemy:
        assert by_driver.has_table(name) == by_sqlalchemy.has_table(name) == (name != "nothing")
