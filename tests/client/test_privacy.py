"""What a client's workbook never holds, in any part of it, its properties and its stamp."""

import getpass
import re
import struct
import zipfile
import zlib
from dataclasses import replace
from datetime import date
from decimal import Decimal as D

import pytest

from quotebook import desk as desks
from quotebook.contract.stamp import seal, stamp_texts, unseal
from quotebook.demonstration.demo import EVENTS
from quotebook.quoting.issuing import issue
from quotebook.spreadsheets.reading import read_workbook

TODAY = date(2027, 1, 4)
PRIVATE = {
    "purchase_price": D("98765.43"), "owned": D(4321098), "edging_owned_slot": D(5432109),
    "edging_owned_tongue": D(6543210), "corners_owned": D(7654321),
}  # fmt: skip
"""Long enough that the letters and digits of a packed stamp do not hold them by chance."""


def logo():
    """A picture that tells who made it and where, as a drawing program's does (PNG specification, 11.3)."""
    picture = zlib.compress(bytes(4) * 2)
    parts = (
        (b"IHDR", struct.pack(">IIBBBBB", 1, 2, 8, 2, 0, 0, 0)),
        (b"tEXt", b"Author\0the-artist"),
        (b"IDAT", picture),
        (b"IEND", b""),
    )
    chunks = (
        struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data)) for name, data in parts
    )
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunks)


@pytest.fixture(scope="module")
def everything(tmp_path_factory):
    """All that is in a workbook, as text, and the desk that issued it; another client was quoted before."""
    desk = desks.init(tmp_path_factory.mktemp("a-desk-of-its-own") / "desk")
    card = desk.card()
    (desk.folder / "a-logo-of-its-own.png").write_bytes(logo())
    holdings = {code: replace(holding, **PRIVATE) for code, holding in card.holdings.items()}
    firm = replace(card.firm, logo="a-logo-of-its-own.png")
    card = replace(card, firm=firm, holdings=holdings, carts_owned=D(8765432), gross_weight=D(9876543))
    issue(desk, card, EVENTS[1], next(desk.numbers()), TODAY)
    path, _ = issue(desk, card, EVENTS[0], next(desk.numbers()), TODAY)
    with zipfile.ZipFile(path) as package:
        parts = " ".join(package.read(name).decode("utf-8", "replace") for name in package.namelist())
        parts += " ".join(package.namelist())
    content = unseal(stamp_texts(read_workbook(path)), desk.key())
    assert "IHDR" in parts
    return parts + repr(vars(content)), desk


@pytest.mark.parametrize("figure", [*map(str, PRIVATE.values()), "8765432", "9876543"])
def test_no_purchase_price_and_nothing_else_that_is_private_on_the_card(everything, figure):
    assert figure not in everything[0]


def test_what_a_client_may_know_is_found_in_the_same_text(everything):
    """So that the other tests look where something is to be found."""
    held, desk = everything
    card = desk.card()
    assert all(
        text in held
        for text in (card.firm.firm, card.terms[0], f"{card.rates.kinds[0].rate}", card.rates.kinds[0].panel)
    )


def test_its_properties_name_the_quote_and_the_day_of_issue_alone(everything):
    """No author, no company, no time of day (ECMA-376 part 1, 22.2; part 2, annex C)."""
    desk = everything[1]
    with zipfile.ZipFile(desk.issued_path("Q0002", 1)) as package:
        core, app = (package.read(f"docProps/{name}.xml").decode() for name in ("core", "app"))
        assert len([part for part in package.namelist() if part.startswith("docProps/")]) == 2
    assert re.findall(r">([^<]+)</", core) == ["Quote Q0002", "2027-01-04T00:00:00Z", "2027-01-04T00:00:00Z"]
    assert re.findall(r"<(?:Company|Manager|HyperlinkBase)>[^<]+", app) == []


def test_no_other_client(everything):
    assert EVENTS[0].client in everything[0] and EVENTS[1].client not in everything[0]


def test_of_the_logo_its_picture_alone(everything):
    """Neither the name of its file nor what its file says besides."""
    assert "a-logo-of-its-own" not in everything[0] and "the-artist" not in everything[0]


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
