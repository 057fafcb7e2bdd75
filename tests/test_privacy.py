"""What a client's workbook never holds, in any part of it, its properties and its stamp."""

import getpass
import zipfile
from dataclasses import replace
from datetime import date
from decimal import Decimal as D

import pytest

from quotebook import desk as desks
from quotebook.demo import EVENTS
from quotebook.issuing import issue
from quotebook.sheets.cells import read_workbook
from quotebook.sheets.returned import stamp_texts
from quotebook.sheets.stamp import seal, unseal

TODAY = date(2027, 1, 4)


@pytest.fixture(scope="module")
def everything(tmp_path_factory):
    """All that is in a workbook, as text, and the desk that issued it; another client was quoted before."""
    desk = desks.init(tmp_path_factory.mktemp("a-desk-of-its-own") / "desk")
    card = desk.card()
    holdings = {code: replace(holding, purchase_price=D("98765.43")) for code, holding in card.holdings.items()}
    card = replace(card, holdings=holdings, carts_owned=D(87654), gross_weight=D(76543))
    issue(desk, card, EVENTS[1], desk.next_number(), TODAY)
    path, _ = issue(desk, card, EVENTS[0], desk.next_number(), TODAY)
    with zipfile.ZipFile(path) as package:
        parts = " ".join(package.read(name).decode("utf-8", "replace") for name in package.namelist())
        parts += " ".join(package.namelist())
    content = unseal(stamp_texts(read_workbook(path)), desk.key())
    return parts + repr(vars(content)), desk


@pytest.mark.parametrize("figure", ["98765.43", "87654", "76543"])
def test_no_purchase_price_and_nothing_else_that_is_private_on_the_card(everything, figure):
    assert figure not in everything[0]


def test_no_other_client(everything):
    assert EVENTS[0].client in everything[0] and EVENTS[1].client not in everything[0]


def test_no_key_no_path_no_user(everything):
    held, desk = everything
    assert desk.key().hex() not in held
    assert str(desk.folder) not in held and "a-desk-of-its-own" not in held
    user = getpass.getuser()
    assert f">{user}<" not in held and f"{user}@" not in held


def test_the_same_quote_is_the_same_file(everything, tmp_path):
    """Nothing of the moment or the machine is in it: two desks with one key write the same bytes."""
    desk = everything[1]
    again = desks.init(tmp_path / "desk")
    again.key_path.write_text(desk.key_path.read_text())
    first, _ = issue(desk, desk.card(), EVENTS[2], "Q0009", TODAY)
    second, content = issue(again, again.card(), EVENTS[2], "Q0009", TODAY)
    assert first.read_bytes() == second.read_bytes()
    assert unseal(seal(content, again.key())[1:], desk.key()).owner == content.owner
