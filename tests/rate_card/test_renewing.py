"""A card brought up to date keeps every entry; a changed unit of length is asked about, and converts by definition."""

from decimal import Decimal as D
from importlib.resources import files

import openpyxl
import pytest
from click.testing import CliRunner

from quotebook.cli import main
from quotebook.desk import init
from quotebook.desk_books.setting_up import set_up
from quotebook.errors import Misuse
from quotebook.rate_card.reader import read_rate_card
from quotebook.rate_card.renewing import renew

SHIPPED = files("quotebook.templates")


def copy_of(name, path):
    path.write_bytes((SHIPPED / name).read_bytes())
    return path


def run(*arguments):
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


@pytest.mark.parametrize(("name", "unit"), [("rate_card.xlsx", "ft"), ("rate_card_metric.xlsx", "m")])
def test_a_card_of_today_stays_as_it_is(tmp_path, name, unit):
    path = copy_of(name, tmp_path / "card.xlsx")
    assert renew(path, tmp_path / "kept.xlsx", unit, unit) == []
    assert read_rate_card(path) == read_rate_card(SHIPPED / name)
    assert (tmp_path / "kept.xlsx").read_bytes() == (SHIPPED / name).read_bytes()


def test_an_entry_that_cannot_be_used_is_kept_too(tmp_path):
    path = copy_of("rate_card.xlsx", tmp_path / "card.xlsx")
    book = openpyxl.load_workbook(path)
    sheet, cell = book["Firm"], book.defined_names["hourly_rate"].attr_text.split("!")[1].replace("$", "")
    sheet[cell] = "ask Bram"
    book.save(path)
    renew(path, tmp_path / "kept.xlsx", "ft", "ft")
    assert openpyxl.load_workbook(path)["Firm"][cell].value == "ask Bram"


def test_a_figure_that_was_not_asked_for_then_gets_what_the_card_counted_as_saying(tmp_path):
    path = copy_of("rate_card.xlsx", tmp_path / "card.xlsx")
    book = openpyxl.load_workbook(path)
    del book.defined_names["deposit_days"]
    book.save(path)
    before = read_rate_card(path)
    assert renew(path, tmp_path / "kept.xlsx", "ft", "ft") == ["Deposit due"]
    assert read_rate_card(path) == before and "deposit_days" in openpyxl.load_workbook(path).defined_names


def test_units_convert_by_their_definitions(tmp_path):
    """4 ft = 1.2192 m, 50 lb = 22.679619 kg (0.45359237 each), a price per mile over 1.609344 per km."""
    path = copy_of("rate_card.xlsx", tmp_path / "card.xlsx")
    feet = read_rate_card(path)
    renew(path, tmp_path / "kept.xlsx", "ft", "m")
    metres = read_rate_card(path)
    assert metres.firm.length_unit == "m"
    one, other = feet.rates.kinds[0], metres.rates.kinds[0]
    assert (one.panel_width, other.panel_width) == (4, D("1.2192"))
    assert other.panel_weight == round(one.panel_weight * D("0.45359237"), 6)
    assert metres.rates.rate_per_mile == round(feet.rates.rate_per_mile / D("1.609344"), 6)
    assert other.rate == one.rate and metres.rates.hourly_rate == feet.rates.hourly_rate
    assert other.thickness == round(one.thickness * D("25.4"), 6)
    renew(path, tmp_path / "kept again.xlsx", "m", "ft")
    assert read_rate_card(path).rates.kinds[0].panel_width == 4


def test_a_card_whose_figures_changed_places_is_not_brought_up_to_date(tmp_path):
    path = copy_of("rate_card.xlsx", tmp_path / "card.xlsx")
    book = openpyxl.load_workbook(path)
    book["Delivery"]["B6"], book["Delivery"]["B7"] = book["Delivery"]["B7"].value, book["Delivery"]["B6"].value
    book.save(path)
    with pytest.raises(Misuse, match=r"card\.xlsx, sheet Delivery, cell C6: found the label"):
        renew(path, tmp_path / "kept.xlsx", "ft", "m")
    assert not (tmp_path / "kept.xlsx").exists()


@pytest.fixture
def desk(tmp_path):
    desk = init(tmp_path / "desk")
    set_up(desk)
    return desk


def change_unit(desk, unit):
    book = openpyxl.load_workbook(desk.rate_card_path)
    book["Firm"][book.defined_names["length_unit"].attr_text.split("!")[1].replace("$", "")] = unit
    book.save(desk.rate_card_path)


def test_a_changed_unit_is_never_reinterpreted_in_silence(desk):
    change_unit(desk, "m")
    with pytest.raises(Misuse, match="was ft and is now m, and its entries were not converted"):
        desk.card()
    assert run("size", "--desk", desk.folder, "--guests", 100, "--surface", "grass").exit_code == 2
    assert run("update-card", "--desk", desk.folder).exit_code == 2
    done = run("update-card", "--desk", desk.folder, "--unit", "m")
    assert done.exit_code == 0 and "converted from ft to m" in done.output
    assert "a heading that says ft is refused" in done.output
    assert desk.card().rates.kinds[0].panel_width == D("1.2192")


def test_a_unit_that_was_wrong_from_the_start_is_taken_as_entered(desk):
    change_unit(desk, "m")
    assert run("update-card", "--desk", desk.folder, "--as-entered").exit_code == 0
    assert desk.card().rates.kinds[0].panel_width == 4


def test_a_quote_in_another_unit_than_the_card_is_not_reissued(desk):
    asked = ("--date", "2099-06-12", "--surface", "grass", "--floor", "OAK-44:16x20")
    assert run("issue", "--desk", desk.folder, *asked).exit_code == 0
    assert run("update-card", "--desk", desk.folder, "--unit", "m").exit_code == 0
    for rates in ((), ("--new-rates",)):
        refused = run("reissue", "--desk", desk.folder, *rates, "Q0001")
        assert refused.exit_code == 2 and "Q0001 was issued in ft, and the rate card is in m" in refused.output
