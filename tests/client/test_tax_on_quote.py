"""The tax's own name and the firm's tax number, where the rate card has them."""

from dataclasses import replace
from datetime import date
from decimal import Decimal as D

import openpyxl
import pytest

from quotebook import desk as desks
from quotebook.contract.labels import Labels
from quotebook.engine.model import FloorLine, Request
from quotebook.quoting.issuing import issue

REQUEST = Request(event_date=date(2027, 6, 12), days=D(1), surface="grass", lines=(FloorLine("OAK-44", D(16), D(20)),))


def on_first_sheet(path):
    return {(cell.row, cell.column): cell.value for row in openpyxl.load_workbook(path).worksheets[0] for cell in row}


@pytest.mark.parametrize(("name", "number", "label"), [("VAT", "GB 123 4567 89", "VAT"), ("", "", "Tax")])
def test_on_the_first_sheet_and_in_what_a_check_says(tmp_path, name, number, label):
    desk = desks.init(tmp_path / "desk")
    card = desk.card()
    card = replace(card, firm=replace(card.firm, tax_name=name, tax_number=number))
    path, content = issue(desk, card, REQUEST, "Q0001", date(2027, 1, 4))
    cells = on_first_sheet(path)
    _, row, column = content.places["tax"]
    assert label in [value for (at, across), value in cells.items() if at == row and across < column]
    numbers = [value for value in cells.values() if str(value).startswith("Tax number")]
    assert numbers == ([f"Tax number {number}"] if number else [])
    assert Labels(content).named("tax") == f"{label} (tax)"
