"""How often a request is priced on its way out: for its workbook, the record read back, and the remarks on it."""

import sys
from datetime import date

import pytest
from click.testing import CliRunner

from quotebook import desk as desks
from quotebook.bookings import decisions
from quotebook.bookings.archive import open_ledger
from quotebook.cli import main
from quotebook.engine import price as pricing
from quotebook.engine.model import FloorLine, Request
from quotebook.engine.money import ONE, ZERO
from quotebook.quoting import issuing

FLOORS = ["OAK-44:16x20", "OAK-44:8x8:bare", "OAK-42:8x10", "OAK-44:4x8", "OAK-42:4x4", "OAK-44:12x12"]
ASKED = ["--date", "2027-06-12", "--surface", "grass", *(word for floor in FLOORS for word in ("--floor", floor))]


@pytest.fixture
def desk(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("QUOTEBOOK_LEDGER", raising=False)
    return desks.init(tmp_path / "desk")


@pytest.fixture
def priced(monkeypatch):
    """The sizes of every request that was priced since, whichever module asked."""
    sizes, price = [], pricing.price

    def counting(rates, request, *how):
        sizes.append([(line.panel, line.width, line.length) for line in request.lines if line.panel])
        return price(rates, request, *how)

    for module in [module for name, module in sys.modules.items() if name.startswith("quotebook.")]:
        if getattr(module, "price", None) is price:
            monkeypatch.setattr(module, "price", counting)
    return sizes


def six_floors(card):
    lines = tuple(FloorLine(kind.panel, 4 * kind.panel_width, 4 * kind.panel_length) for kind in card.rates.kinds[:2])
    return Request(event_date=date(2027, 6, 12), days=ONE, surface="grass", miles=ZERO, lines=lines * 3)


def test_a_workbook_takes_one_price(desk, priced):
    issuing.issue(desk, desk.card(), six_floors(desk.card()), "Q0001", date(2027, 1, 4))
    assert len(priced) == 1


def test_a_recorded_quote_takes_two(desk, priced):
    """The second is of the file read back, which is what a ledger made again would hold."""
    card = desk.card()
    decisions.issue_and_record(desk, open_ledger(desk), card, six_floors(card), "Q0001", date(2027, 1, 4))
    assert len(priced) == 2


def test_the_command_takes_three_for_six_floors(desk, priced):
    done = CliRunner().invoke(main, ["issue", "--desk", str(desk.folder), *ASKED])
    assert done.exit_code == 0, done.output
    assert len(priced) == 3


def test_the_command_takes_three_and_one_for_each_floor_tried_instead(desk, priced):
    """200 panels are more than the card owns: other floors are priced to say what would do, the request no more."""
    done = CliRunner().invoke(main, ["issue", "--desk", str(desk.folder), *ASKED[:4], "--floor", "OAK-44:80x40"])
    assert done.exit_code == 0 and "Short: " in done.output, done.output
    assert priced.count(priced[0]) == 3 < len(priced)
