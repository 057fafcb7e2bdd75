"""Quotes that the tests of the check share."""

import pytest
from issued_quote import IssuedQuote


@pytest.fixture(scope="session")
def english(tmp_path_factory):
    return IssuedQuote(tmp_path_factory.mktemp("english"))


@pytest.fixture(scope="session")
def french(tmp_path_factory):
    return IssuedQuote(tmp_path_factory.mktemp("french"), "rate_card_metric.xlsx")
