"""The rate card: what is in it is what is read, and every mistake is told at its cell."""

import re
import tomllib
import zipfile
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal as D
from importlib.resources import files

import openpyxl
import pytest
from babel.numbers import get_currency_precision
from edits import Book
from extent import extent, some
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from openpyxl.utils.datetime import to_excel

from quotebook.engine.lifting import recommended_weight
from quotebook.engine.model import DIRECT, NOT_HERE, OVER_SUBFLOOR, SURFACES
from quotebook.errors import InvalidInput, Unreadable
from quotebook.rate_card import reader
from quotebook.rate_card.layout import EDGING, FORMS, SHEETS, TABLES
from quotebook.rate_card.reader import read_rate_card
from quotebook.rate_card.rules import CODE, COLOUR, REGION, CurrencyCode, Day, Number, Pattern, Words, minor_units
from quotebook.rate_card.writer import SHIPPED, write_rate_card
from quotebook.spreadsheets import filled_in
from quotebook.spreadsheets.cells import CellAddress, Fault

TEMPLATES = files("quotebook.templates")
CARD = TEMPLATES / "rate_card.xlsx"


def values_of(name):
    return tomllib.loads((TEMPLATES / f"{name}.toml").read_text("utf-8"), parse_float=D)


def locate(book, name):
    """Sheet, row and column of a defined name, as any other program would find it."""
    sheet, column, row = re.fullmatch(r"'?(.+?)'?!\$([A-Z]+)\$(\d+)", book.defined_names[name].attr_text).groups()
    return book[sheet], int(row), openpyxl.utils.column_index_from_string(column)


def place(book, target):
    """The cell of a figure's name, or of (column's name, row counted from 1)."""
    name, below = (target, 0) if isinstance(target, str) else target
    sheet, row, column = locate(book, name)
    return sheet.cell(row + below, column)


SHIPPED_BOOK, SHIPPED_XML = openpyxl.load_workbook(CARD), Book(CARD)
SHIPPED_DAY = str(place(SHIPPED_BOOK, ("kinds_bought_on", 1)).style_id)
"""The format of its cells that hold days."""


def edited(path, entries):
    """A copy of the shipped card with other entries; the edited cells' addresses."""
    edit, cells = SHIPPED_XML.edit(), []
    for target, value in entries.items():
        cell = place(SHIPPED_BOOK, target)
        cells.append(f"sheet {cell.parent.title}, cell {cell.coordinate} ")
        _type(edit, CellAddress(cell.parent.title, cell.row, cell.column), value)
    edit.save(path)
    return cells


def _type(edit, address, value):
    """As a program stores what somebody types: a formula without its value, an error, a day in a cell of days."""
    if isinstance(value, str) and value.startswith("="):
        edit.put(address, None).formula(address, value[1:])
    elif isinstance(value, str) and value.startswith("#") and value.endswith("!"):
        edit.put(address, Fault(value))
    elif isinstance(value, date):
        edit.put(address, D(str(to_excel(value)))).cell(address).set("s", SHIPPED_DAY)
    else:
        edit.put(address, value)


def complaints_about(path):
    with pytest.raises(InvalidInput) as caught:
        read_rate_card(path)
    return caught.value.complaints


# What ships


@pytest.mark.parametrize("name", SHIPPED)
def test_the_shipped_card_is_what_its_figures_make(name, tmp_path):
    write_rate_card(tmp_path / "card.xlsx", values_of(name))
    made, shipped = (openpyxl.load_workbook(path) for path in (tmp_path / "card.xlsx", TEMPLATES / f"{name}.xlsx"))
    assert made.sheetnames == shipped.sheetnames
    assert {n: d.attr_text for n, d in made.defined_names.items()} == {
        n: d.attr_text for n, d in shipped.defined_names.items()
    }
    for sheet in made.sheetnames:
        cells = [
            {c.coordinate: (c.value, c.number_format) for row in b[sheet].rows for c in row} for b in (made, shipped)
        ]
        assert cells[0] == cells[1]
        assert repr(made[sheet].data_validations) == repr(shipped[sheet].data_validations)


def test_a_card_is_written_the_same_to_the_byte_each_time(tmp_path):
    for name in ("one.xlsx", "two.xlsx"):
        write_rate_card(tmp_path / name, values_of("rate_card"))
    assert (tmp_path / "one.xlsx").read_bytes() == (tmp_path / "two.xlsx").read_bytes()


@pytest.mark.parametrize("name", SHIPPED)
def test_every_figure_is_read_as_it_was_written(name):
    assert_card_says(read_rate_card(TEMPLATES / f"{name}.xlsx"), values_of(name))


def assert_card_says(card, values):
    """The card read, against the figures it was written from."""
    yes = {"yes": True, "no": False}
    kinds = values["kinds"]
    for group in (values["firm"], values["delivery"]):
        for name, value in group.items():
            if not name.startswith(("contact", "lift", "pay_line")):
                parts = card.firm, card.rates, card.payment_terms, card
                record = next(part for part in parts if hasattr(part, name))
                assert getattr(record, name) == yes.get(value, value), name
    contact = (values["firm"].get(f"contact_line_{line}") for line in range(1, 5))
    assert card.firm.contact_lines == tuple(line for line in contact if line)
    paying = (values["firm"].get(f"pay_line_{line}") for line in range(1, 4))
    assert card.firm.pay_lines == tuple(line for line in paying if line)
    assert card.finishes == {row["panel"]: row.pop("finish") for row in kinds}
    assert [row["edging"] for row in sorted(values["surfaces"], key=lambda row: SURFACES.index(row["surface"]))] == [
        "yes" if fitted else "no" for fitted in card.firm.edging_by_default
    ]
    assert len(card.rates.kinds) == len(kinds)
    for kind, row in zip(card.rates.kinds, kinds, strict=True):
        for name, value in row.items():
            if name.startswith("on_"):
                assert kind.laying(name.removeprefix("on_").replace("_", " ")) == value
            else:
                said = yes[value] if name == "reduced_tax" else value
                assert getattr(kind, name, getattr(card.holdings[kind.panel], name, None)) == said, name
        assert kind.free == row["owned"]
    for sheet, row in zip(card.rates.subfloors, values["subfloors"], strict=True):
        for name, value in row.items():
            assert getattr(sheet, name, getattr(card.sheet_holdings[sheet.subfloor_kind], name, None)) == value, name
    assert [(row.hire_days, row.hire_factor) for row in card.rates.day_factors] == [
        (row["hire_days"], row["hire_factor"]) for row in values["day_factors"]
    ]
    assert card.tools == tuple(row["tool"] for row in values["tools"])
    assert card.terms == tuple(row["term"] for row in values["terms"])
    start, end = card.lifts
    assert (start.hand_height, end.hand_height) == (
        values["firm"]["lift_start_height"],
        values["firm"]["lift_end_height"],
    )
    assert start.travel == end.travel == abs(start.hand_height - end.hand_height)
    assert start.coupling == values["firm"]["lift_coupling"]


def test_figures_that_follow_from_the_unit_of_length():
    """IBC Table 1004.5: 5 sq ft (0.46 m2) standing.

    ADA 2010 Standards 303.2: 1/4 in (6.4 mm); 403.5.1: 36 in (915 mm)."""
    feet, metres = (read_rate_card(TEMPLATES / f"{name}.xlsx").rates for name in SHIPPED)
    assert (feet.crowding_area, feet.step_limit) == (D(5), D("0.25"))
    assert (metres.crowding_area, metres.step_limit) == (D("0.46"), D("6.4"))
    assert (feet.clear_way, metres.clear_way) == (D(3), D("0.915"))
    assert (feet.longest_side, feet.largest_entry) == (1000, 10000)


@pytest.mark.parametrize("name", SHIPPED)
def test_the_lift_of_the_card_gives_a_recommended_weight(name):
    card = read_rate_card(TEMPLATES / f"{name}.xlsx")
    assert all(recommended_weight(lift, card.firm.length_unit) > 0 for lift in card.lifts)


@pytest.mark.parametrize(("currency", "places"), [("USD", 2), ("EUR", 2), ("JPY", 0), ("BHD", 3), ("KWD", 3)])
def test_minor_units_are_those_of_iso_4217(currency, places, tmp_path):
    """ISO 4217, list one: USD 2, EUR 2, JPY 0, BHD 3, KWD 3; CLDR's list, which babel carries, has the same."""
    edited(tmp_path / "card.xlsx", {"currency": currency})
    assert read_rate_card(tmp_path / "card.xlsx").rates.minor_units == places == get_currency_precision(currency)


@pytest.mark.parametrize("currency", ["XAU", "CLF", "XYZ", "us dollars", "US"])
def test_currencies_that_cannot_be_rounded_to_are_refused(currency, tmp_path):
    """ISO 4217: gold has no minor unit, CLF has 4."""
    cells = edited(tmp_path / "card.xlsx", {"currency": currency})
    assert_each_told(complaints_about(tmp_path / "card.xlsx"), cells)


def test_a_newcomer_finds_every_figure_explained():
    book = openpyxl.load_workbook(CARD)
    assert book.sheetnames[0] == "Start here" and book.active.title == "Start here"
    for layout in SHEETS:
        sheet = book[layout.title]
        notes = {str(cell): v for v in sheet.data_validations.dataValidation for cell in str(v.sqref).split()}
        for field in layout.fields:
            assert field.label and field.meaning.endswith(".") and field.rule.allowed
            table = layout in TABLES
            cell = place(book, (layout.column_name(field), 1) if table else field.name)
            note = next(v for ref, v in notes.items() if cell.coordinate in ref.split(":"))
            assert note.prompt == field.meaning and note.error.startswith("Allowed: ")


def test_units_follow_the_unit_of_length_and_the_currency(tmp_path):
    """Recalculated by IronCalc after both were changed."""
    import ironcalc

    model = ironcalc.load_from_xlsx(str(CARD), "en", "UTC", "en")
    sheets = {sheet["name"]: number for number, sheet in enumerate(model.get_worksheets_properties())}
    book = openpyxl.load_workbook(CARD)
    for name, value in (("length_unit", "m"), ("currency", "JPY")):
        cell = place(book, name)
        model.set_user_input(sheets["Firm"], cell.row, cell.column, value)
    model.evaluate()
    metric = openpyxl.load_workbook(TEMPLATES / "rate_card_metric.xlsx", data_only=True)
    formulas = 0
    for sheet in book:
        for cell in (cell for row in sheet.rows for cell in row if cell.data_type == "f"):
            formulas += 1
            expected = metric[sheet.title][cell.coordinate].value.replace("EUR", "JPY")
            assert model.get_cell_value(sheets[sheet.title], cell.row, cell.column) == expected
    assert formulas > 20


# Mistakes


def assert_each_told(complaints, cells):
    """One line for each of the cells, and no other line."""
    assert len(complaints) == len(cells), complaints
    for cell in cells:
        assert sum(f"card.xlsx, {cell}" in line for line in complaints) == 1, (cell, complaints)
    assert all(re.search(r"found .+; allowed: .+", line) for line in complaints)


MISTAKES = {
    "a number left empty": ("crew", None, "found nothing; allowed: a whole number from 1 to 100"),
    "a text left empty": ("firm", "   ", "found nothing; allowed: text of at most 60 characters"),
    "text where a number goes": (("kinds_rate", 1), "36,50", 'found the text "36,50"; allowed: a number from 0'),
    "a number with its unit": (("kinds_panel_width", 1), "4 ft", 'found the text "4 ft"'),
    "a percentage that is a text": ("deposit_share", "20 %", 'found the text "20 %"; allowed: a percentage from 0'),
    "yes where a number goes": ("payload", True, "found TRUE"),
    "a date where a number goes": ("base_charge", datetime(2027, 1, 2), "found 2027-01-02"),
    "a number where text goes": ("firm", 12, "found 12; allowed: text"),
    "a negative rate": (("kinds_rate", 2), -1, "found -1; allowed: a number from 0 to 1,000,000"),
    "nobody in the crew": ("crew", 0, "found 0"),
    "half a person": ("crew", 1.5, "found 1.5; allowed: a whole number"),
    "a panel without width": (("kinds_panel_width", 1), 0, "found 0; allowed: a number above 0"),
    "a panel without length": (("kinds_panel_length", 3), 0, "found 0; allowed: a number above 0"),
    "no panel on a cart": (("kinds_panels_per_cart", 1), 0, "found 0; allowed: a whole number from 1"),
    "no sheet on a cart": (("subfloors_sheets_per_cart", 1), 0, "found 0; allowed: a whole number from 1"),
    "a sheet without width": (("subfloors_sheet_width", 2), 0, "found 0; allowed: a number above 0"),
    "a van that carries nothing": ("payload", 0, "found 0; allowed: a number above 0"),
    "a van without room": ("cart_places", 0, "found 0; allowed: a whole number from 1"),
    "dancers without room": ("area_per_dancer", 0, "found 0; allowed: a number above 0"),
    "dancers closer than people stand": ("area_per_dancer", 4.99, "found 4.99; allowed: at least the standing space"),
    "a cart that no trip takes": (("kinds_panels_per_cart", 1), 67, "found 67; allowed: at most 66, since a full cart"),
    "sheets that no trip takes": (("subfloors_sheets_per_cart", 1), 50, "found 50; allowed: at most 49, since a full"),
    "a country without rules here": ("country", "Peru", 'found "Peru"; allowed: USA, EU, UK or other'),
    "edging without its weight": (("kinds_piece_weight", 1), None, "since edging is kept for this panel"),
    "a share above one": ("deposit_share", 40, "found 40; allowed: a percentage from 0 % to 100 %"),
    "a share below nought": ("waiver_share", -0.08, "found -0.08"),
    "more than six decimals": ("rate_per_mile", 3.1500001, "of at most 6 decimal places"),
    "an unknown unit": ("length_unit", "yd", 'found "yd"; allowed: ft or m'),
    "an unknown paper": ("paper", "A5", 'found "A5"; allowed: A4 or Letter'),
    "an unknown language": ("language", "de", "allowed: en, es or fr"),
    "a colour by name": ("accent_colour", "green", "allowed: # and six digits"),
    "a logo that is not there": ("logo", "logo.png", "allowed: the name of a picture that lies in"),
    "a logo elsewhere": ("logo", "../logo.png", "beside this rate card"),
    "neither yes nor no": ("tax_on_goods", "maybe", 'found "maybe"; allowed: yes or no'),
    "an unknown word for a surface": (("kinds_on_grass", 1), "sometimes", "allowed: direct, over subfloor or no"),
    "no word for a surface": (("kinds_on_paving", 5), None, "found nothing; allowed: direct, over subfloor or no"),
    "a code twice": (("kinds_panel", 2), "oak-44", 'found "oak-44"; allowed: each one once'),
    "a wildcard for a code": (("kinds_panel", 1), "OAK*", 'found "OAK*"'),
    "a code with a space": (("kinds_panel", 1), "OAK 44", 'found "OAK 44"'),
    "a code with an accent": (("kinds_panel", 1), "CHÊNE", 'found "CHÊNE"'),
    "a code that a spreadsheet takes for a number": (("kinds_panel", 1), "1E5", 'found "1E5"'),
    "a code that a spreadsheet takes for a date": (("kinds_panel", 1), "MAR-4", 'found "MAR-4"'),
    "a code of digits": (("kinds_panel", 1), 44, "found 44"),
    "a code too long": (("kinds_panel", 1), "A" * 21, "at most 20 letters"),
    "a subfloor that is not on the card": (("kinds_subfloor_kind", 4), "PLY-49", "sheet Subfloors: PLY-48, GRID-24"),
    "over a subfloor without one": (("kinds_subfloor_kind", 4), None, 'since this panel goes "over subfloor"'),
    "edging without its rate": (("kinds_piece_rate", 1), None, "since edging is kept for this panel"),
    "edging without pieces owned": (("kinds_edging_owned_slot", 5), None, "since edging is kept for this panel"),
    "edging of no length": (("kinds_piece", 1), 0, "found 0; allowed: a number above 0"),
    "hire lengths that start later": (("day_factors_hire_days", 1), 0, "found 0; allowed: a whole number from 1"),
    "hire lengths out of order": (("day_factors_hire_days", 3), 2, "allowed: more days than in the row above (2)"),
    "a longer hire for less": (("day_factors_hire_factor", 4), 1.8, "than the factor of a shorter hire (2)"),
    "a first day that is not the first": (("day_factors_hire_factor", 1), 1.25, "allowed: 1 in the first row"),
    "a surface twice": (("surfaces_surface", 2), "Grass", 'found "Grass"; allowed: each one once'),
    "an unknown surface": (("surfaces_surface", 4), "sand", "allowed: grass, paving, hard indoors or carpet indoors"),
    "a vehicle lighter than its load": ("gross_weight", 3000, "found 3000; allowed: more than the payload (3450)"),
    "a date as text": (("kinds_bought_on", 1), "March 2025", 'found the text "March 2025"; allowed: a date'),
    "a date with a time": (("kinds_bought_on", 1), datetime(2025, 3, 10, 12), "with a time of day"),
    "an error": (("kinds_rate", 1), "#DIV/0!", "found the error #DIV/0!; allowed: a number from 0"),
    "a formula never worked out": (("kinds_rate", 1), "=30+6.5", "(open the file in a spreadsheet program and save"),
    "an unknown grip": ("lift_coupling", "firm", "allowed: good, fair or poor"),
}  # fmt: skip


AT_LENGTH = (
    "a number with its unit", "a panel without length", "a sheet without width", "no sheet on a cart",
    "a van that carries nothing", "a van without room", "dancers without room", "sheets that no trip takes",
    "a share below nought", "an unknown paper", "an unknown language", "an unknown word for a surface",
    "an unknown surface", "an unknown grip", "a code with a space", "a code with an accent", "a code of digits",
    "edging without pieces owned", "edging of no length", "no panel on a cart", "an unknown unit",
    "edging without its weight",
)  # fmt: skip
"""Mistakes against a rule that another mistake here is against, with --slow."""


@pytest.mark.parametrize("mistake", some(MISTAKES, MISTAKES.keys() - AT_LENGTH))
def test_a_mistake_is_told_at_its_cell_with_what_is_allowed(tmp_path, mistake):
    target, value, words = MISTAKES[mistake]
    cells = edited(tmp_path / "card.xlsx", {target: value})
    complaints = complaints_about(tmp_path / "card.xlsx")
    told = [line for line in complaints if cells[0] in line]
    assert len(told) == 1 and words in told[0], complaints
    others = [line for line in complaints if line not in told]
    assert all("found no row for" in line or "sheet Panels" in line for line in others), "one mistake, told once"


def test_hire_lengths_that_start_with_the_second_day_are_told(tmp_path):
    rows = values_of("rate_card")["day_factors"]
    later = {("day_factors_hire_days", below): row["hire_days"] + 1 for below, row in enumerate(rows, 1)}
    cells = edited(tmp_path / "card.xlsx", later)
    (complaint,) = complaints_about(tmp_path / "card.xlsx")
    assert cells[0] in complaint and complaint.endswith("found 2; allowed: 1 in the first row")


def test_a_surface_that_is_missing_is_told(tmp_path):
    edited(tmp_path / "card.xlsx", {("surfaces_surface", 1): None, ("surfaces_edging", 1): None})
    (complaint,) = complaints_about(tmp_path / "card.xlsx")
    assert 'sheet Surfaces: found no row for "grass"' in complaint


@pytest.mark.parametrize(("table", "title"), [("kinds", "Panels"), ("day_factors", "Hire lengths")])
def test_a_card_without_any_row_is_refused(tmp_path, table, title):
    values = values_of("rate_card") | {table: []}
    write_rate_card(tmp_path / "card.xlsx", values)
    complaints = complaints_about(tmp_path / "card.xlsx")
    assert any(f"sheet {title}: found no row; allowed: at least one" in line for line in complaints)


def test_a_card_without_subfloors_tools_and_terms_is_a_card(tmp_path):
    values = values_of("rate_card") | {"subfloors": [], "tools": [], "terms": []}
    values["kinds"] = [row for row in values["kinds"] if "subfloor_kind" not in row]
    write_rate_card(tmp_path / "card.xlsx", values)
    card = read_rate_card(tmp_path / "card.xlsx")
    assert (card.rates.subfloors, card.tools, card.terms) == ((), (), ())


def test_a_name_that_was_deleted_is_told(tmp_path):
    book = openpyxl.load_workbook(CARD)
    del book.defined_names["crew"]
    book.defined_names["kinds_rate"].attr_text = "Panels!#REF!"
    book.save(tmp_path / "card.xlsx")
    complaints = complaints_about(tmp_path / "card.xlsx")
    assert len(complaints) == 2
    assert "sheet Firm (People in the crew): found no cell named crew; allowed" in complaints[0]
    assert "sheet Panels (Hire): found no cell named kinds_rate; allowed" in complaints[1]


@pytest.mark.parametrize(("absent", "read"), [(D("1.5"), D("1.5")), ({"ft": D(3), "m": D(7)}, D(3))])
def test_a_card_made_before_a_figure_was_asked_for_counts_as_saying_the_usual(absent, read, tmp_path, monkeypatch):
    newer = {"minimum_hours": absent, "panel_weight": absent}

    def later(sheet):
        sections = tuple(
            replace(
                section,
                fields=tuple(replace(f, absent=newer[f.name]) if f.name in newer else f for f in section.fields),
            )
            for section in sheet.sections
        )
        return replace(sheet, sections=sections)

    sheets = {sheet.name: later(sheet) for sheet in SHEETS}
    for known, them in (("SHEETS", SHEETS), ("FORMS", FORMS), ("TABLES", TABLES)):
        monkeypatch.setattr(reader, known, tuple(sheets[sheet.name] for sheet in them))
    book = openpyxl.load_workbook(CARD)
    del book.defined_names["minimum_hours"], book.defined_names["kinds_panel_weight"]
    book.save(tmp_path / "card.xlsx")
    rates = read_rate_card(tmp_path / "card.xlsx").rates
    assert rates.minimum_hours == read
    assert {kind.panel_weight for kind in rates.kinds} == {read}


NEWER = {
    "country": "USA", "day_hours": 12, "crowding_area": 5, "trailer_weight": 0, "strap_limit": 1000, "cart_weight": 80,
    "tools_weight": 100, "edging_breadth": D("0.5"),
    "kinds_piece_weight": 3, "kinds_corner_weight": 1, "subfloors_sheet_thickness": D("0.75"),
}  # fmt: skip
"""What a card in feet counts as saying where it was made before these were asked for."""


def test_a_card_that_weighs_panels_only_stays_readable(tmp_path):
    """Its 4.5 sq ft for a dancer (common practice, no source) are less than standing space, which it does not state."""
    book = openpyxl.load_workbook(CARD)
    place(book, "area_per_dancer").value = 4.5
    for name in NEWER:
        del book.defined_names[name]
    book.save(tmp_path / "card.xlsx")
    card = read_rate_card(tmp_path / "card.xlsx")
    said = vars(card.firm) | vars(card.rates) | vars(card)
    said |= {"kinds_" + name: value for name, value in vars(card.rates.kinds[3]).items()}
    said |= {"subfloors_" + name: value for name, value in vars(card.rates.subfloors[0]).items()}
    assert {name: said[name] for name in NEWER} == NEWER
    assert card.rates.area_per_dancer == D("4.5")


def test_a_sheet_that_was_deleted_is_told(tmp_path):
    book = openpyxl.load_workbook(CARD)
    del book["Delivery"]
    book.save(tmp_path / "card.xlsx")
    (complaint,) = complaints_about(tmp_path / "card.xlsx")
    assert "sheet Delivery: found none of its cells; allowed: all of them. Copy your figures" in complaint


CHECKED_ALONE = [
    *((field, field.name) for form in FORMS for field in form.fields if field.name not in ("payload", "gross_weight")),
    *(
        (field, (table.column_name(field), 1))
        for table in TABLES if table.name in ("kinds", "subfloors")
        for field in table.fields if field.name not in (*EDGING, "panel", "subfloor_kind") and field.name[:3] != "on_"
    ),
]  # fmt: skip
"""Cells whose mistakes touch no other cell."""


def wrong_for(rule):
    """Entries that a rule must refuse."""
    anything = [st.just("=1+1"), st.just(datetime(2027, 5, 1, 9, 30)), st.just(True)]
    if isinstance(rule, Number):
        outside = st.sampled_from([-1, float(rule.most) * 1.5 + 1, 0.12345678, "12'", "1,5", "12 lb"])
        return st.one_of(outside, *anything)
    if isinstance(rule, Day):
        return st.one_of(st.sampled_from(["soon", 1.5, "2027-02-30"]), *anything)
    return st.one_of(st.just(7), st.just("x" * (getattr(rule, "longest", 20) + 1)), *anything)


mistakes = st.lists(
    st.sampled_from(CHECKED_ALONE), min_size=1, max_size=12, unique_by=lambda field: str(field[1])
).flatmap(lambda fields: st.fixed_dictionaries({target: wrong_for(field.rule) for field, target in fields}))


@settings(max_examples=extent(6, 60), deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(edits=mistakes)
def test_mistakes_anywhere_are_each_told_once(edits, tmp_path):
    path = tmp_path / "card.xlsx"
    cells = edited(path, edits)
    assert_each_told(complaints_about(path), cells)


# Any card that may be


def right_for(rule):
    """Entries that a rule must take."""
    if isinstance(rule, Words):
        return st.sampled_from(rule.words)
    if isinstance(rule, Number):
        places = 0 if rule.whole else 6
        least = rule.least + (D(1).scaleb(-places) if rule.above else 0)
        return st.decimals(least, min(rule.most, D(9000)), places=places)
    if isinstance(rule, Day):
        return st.dates(rule.first, rule.last)
    if isinstance(rule, CurrencyCode):
        return st.sampled_from(("USD", "EUR", "JPY", "BHD"))
    if isinstance(rule, Pattern):
        return {COLOUR: st.just("#1F5C4D"), REGION: st.sampled_from(("US", "FR"))}.get(rule, codes)
    return st.text(st.characters(categories=("L", "N", "P", "S")), min_size=1, max_size=rule.longest)


weights, counts = st.decimals(D("0.000001"), D(800), places=6), st.integers(1, 100).map(D)
"""Of what goes on a cart: at most 80,000 on one, beside which the vehicle carries tools and the cart itself."""

codes = st.from_regex(re.compile(r"[A-Z][0-9A-Z-]{0,8}Z"), fullmatch=True)


def rows(table, **others):
    columns = {field.name: right_for(field.rule) for field in table.fields} | others
    return st.fixed_dictionaries(columns)


@st.composite
def cards(draw):
    tables = {table.name: table for table in TABLES}
    values = {
        form.name: draw(st.fixed_dictionaries({f.name: right_for(f.rule) for f in form.fields if f.name != "logo"}))
        for form in FORMS
    }
    values["delivery"] |= {"payload": D(99_000), "gross_weight": D(99_001)}
    values["firm"]["area_per_dancer"] = max(values["firm"]["area_per_dancer"], values["firm"]["crowding_area"])
    sheets = rows(tables["subfloors"], sheet_weight=weights, sheets_per_cart=counts)
    subfloors = draw(st.lists(sheets, min_size=1, max_size=2, unique_by=lambda row: row["subfloor_kind"]))
    known = st.sampled_from([row["subfloor_kind"] for row in subfloors])
    panels = rows(tables["kinds"], subfloor_kind=known, panel_weight=weights, panels_per_cart=counts)
    kinds = draw(st.lists(panels, min_size=1, max_size=3, unique_by=lambda row: row["panel"]))
    if draw(st.booleans()):
        for name in EDGING:
            del kinds[0][name]
    days = sorted({D(1), *draw(st.lists(right_for(Number(D(3650), D(1), whole=True)), max_size=4))})
    steps = draw(st.lists(st.decimals(0, 2, places=6), min_size=len(days) - 1, max_size=len(days) - 1))
    factors = [D(1) + sum(steps[:count]) for count in range(len(days))]
    surfaces = [
        {"surface": surface, "edging": draw(st.sampled_from(("yes", "no")))}
        for surface in draw(st.permutations(SURFACES))
    ]
    return values | {
        "subfloors": subfloors, "kinds": kinds, "surfaces": surfaces,
        "day_factors": [{"hire_days": day, "hire_factor": factor} for day, factor in zip(days, factors, strict=True)],
        "tools": draw(st.lists(rows(tables["tools"]), max_size=2)),
        "terms": draw(st.lists(rows(tables["terms"]), max_size=2)),
    }  # fmt: skip


@settings(
    max_examples=extent(5, 50),
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(values=cards())
def test_any_card_is_read_as_it_was_written(values, tmp_path):
    path = tmp_path / "card.xlsx"
    write_rate_card(path, values)
    assert_card_says(read_rate_card(path), values)


@example("-INFINITY")  # a formula to a spreadsheet, a number to Python
@given(st.text(max_size=25))
def test_no_code_holds_what_a_spreadsheet_reads_otherwise(text):
    try:
        code = CODE.read(text)
    except ValueError:
        return
    assert code.isascii() and len(code) <= 20 and not set(code) & set("*?~ =+@'\"")
    if code.lower() not in ("nan", "inf", "infinity"):  # numbers to Python, text to a spreadsheet
        with pytest.raises(ValueError):
            float(code)


@pytest.mark.parametrize("code", ["4x4", "OAK-44", "A", "3-ply", "JANE-1", "DECK-12", "MAY-FLOOR"])
def test_ordinary_codes_are_taken(code):
    assert CODE.read(code) == code


@pytest.mark.parametrize(
    "code", ["4", "4-5", "1e5", "2E-3", "TRUE", "false", "Mar-4", "4-MAR", "JUNE12", "12sept", "Dec", "-", ""]
)
def test_codes_that_a_spreadsheet_would_change_are_refused(code):
    with pytest.raises(ValueError):
        CODE.read(code)


def test_minor_units_of_what_is_no_currency():
    assert minor_units("XAU") is None and minor_units("nonsense") is None and minor_units("usd") == 2


# Edited as owners edit


def test_columns_may_change_places(tmp_path):
    """As cutting and inserting does it: headings and entries move, and their names with them."""
    book = openpyxl.load_workbook(CARD)
    (sheet, row, one), (_, _, other) = locate(book, "kinds_rate"), locate(book, "kinds_owned")
    for number in range(row, row + 21):
        cells = sheet.cell(number, one), sheet.cell(number, other)
        cells[0].value, cells[1].value = cells[1].value, cells[0].value
    names = book.defined_names
    one, other = names["kinds_rate"], names["kinds_owned"]
    one.attr_text, other.attr_text = other.attr_text, one.attr_text
    book.save(tmp_path / "card.xlsx")
    assert read_rate_card(tmp_path / "card.xlsx") == read_rate_card(CARD)


def test_rows_may_be_inserted_and_sheets_renamed(tmp_path):
    book = openpyxl.load_workbook(CARD)
    for title, above in (("Firm", 5), ("Panels", 1)):
        book[title].insert_rows(above, 2)
        book[title].title = f"Our {title.lower()}"
        for name in book.defined_names.values():
            if name.attr_text.startswith(f"'{title}'!"):
                column, row = re.search(r"\$([A-Z]+)\$(\d+)", name.attr_text).groups()
                name.attr_text = f"'Our {title.lower()}'!${column}${int(row) + 2}"
    book.save(tmp_path / "card.xlsx")
    assert read_rate_card(tmp_path / "card.xlsx") == read_rate_card(CARD)


def relabelled(path, labels):
    """A copy of the shipped card with other labels beside the cells of figures."""
    book = openpyxl.load_workbook(CARD)
    for name, label in labels.items():
        sheet, row, column = locate(book, name)
        sheet.cell(row, column - 1).value = label
    book.save(path)
    return path


def test_figures_that_were_sorted_are_told_once_a_sheet_and_nothing_else_is(tmp_path):
    """From A to Z, "Charge beyond that" would come before "Charge per trip"."""
    book = openpyxl.load_workbook(CARD)
    for sheet, cells, backwards in (("Delivery", "B6:E8", False), ("Firm", "B18:E19", True)):
        rows = [[cell.value for cell in row] for row in book[sheet][cells]]
        for row, values in zip(book[sheet][cells], sorted(rows, reverse=backwards), strict=True):
            for cell, value in zip(row, values, strict=True):
                cell.value = value
    book.save(tmp_path / "card.xlsx")
    firm, delivery = complaints_about(tmp_path / "card.xlsx")
    assert delivery == (
        'card.xlsx, sheet Delivery, cell C6: found the label "Charge beyond that" beside it; allowed: "Charge per trip"'
        ". Put the rows of this sheet back in their order: undo the sorting, or take your copy."
    )
    assert 'sheet Firm, cell C18: found the label "Unit of length" beside it; allowed: "Currency"' in firm


@pytest.mark.parametrize("label", ["Fee for each trip", "  charge PER trip :", "Hire", None, 7])
def test_a_label_in_the_owners_own_words_is_let_be(tmp_path, label):
    assert read_rate_card(relabelled(tmp_path / "card.xlsx", {"base_charge": label})) == read_rate_card(CARD)


def test_a_label_of_another_figure_is_known_in_other_capitals_and_from_the_other_sheet(tmp_path):
    card = relabelled(tmp_path / "card.xlsx", {"base_charge": "rate  of LABOUR:", "payload": "Strap"})
    (told,) = complaints_about(card)
    assert 'found the label "rate  of LABOUR:" beside it; allowed: "Charge per trip"' in told


def test_rows_left_empty_between_others_do_not_count(tmp_path):
    values = values_of("rate_card")
    values["kinds"].insert(2, {})
    values["terms"] += [{}] * 40 + [{"term": "Below all that was made ready."}]
    write_rate_card(tmp_path / "card.xlsx", values)
    card = read_rate_card(tmp_path / "card.xlsx")
    assert len(card.rates.kinds) == 5
    assert card.terms[-1] == "Below all that was made ready."


def test_words_are_taken_in_capitals_too_and_surrounding_spaces_dropped(tmp_path):
    words = {("kinds_on_grass", 1): " Over Subfloor ", ("kinds_subfloor_kind", 1): "ply-48", "tax_on_goods": "NO"}
    edited(tmp_path / "card.xlsx", words | {"currency": "usd"})
    card = read_rate_card(tmp_path / "card.xlsx")
    assert card.rates.kinds[0].layings == (OVER_SUBFLOOR, DIRECT, DIRECT, NOT_HERE)
    assert card.rates.tax_on_goods is False
    assert card.firm.currency == "USD"


def test_a_logo_beside_the_card_is_taken(tmp_path):
    edited(tmp_path / "card.xlsx", {"logo": "logo.png"})
    (tmp_path / "logo.png").write_bytes(b"")
    assert read_rate_card(tmp_path / "card.xlsx").firm.logo == "logo.png"


def test_a_card_saved_by_libreoffice_is_the_same_card_and_its_formulas_count(tmp_path, soffice):
    edited(tmp_path / "card.xlsx", {("kinds_rate", 1): "=ROUND(174/5,2)", "base_charge": "=hourly_rate*2.5"})
    (tmp_path / "saved").mkdir()
    (saved,) = soffice.convert([tmp_path / "card.xlsx"], tmp_path / "saved")
    shipped, card = read_rate_card(CARD), read_rate_card(saved)
    assert card.rates.base_charge == D(84)
    assert card.rates.kinds == shipped.rates.kinds
    assert (card.firm, card.holdings, card.lifts) == (shipped.firm, shipped.holdings, shipped.lifts)


# What is no card

NOT_CARDS = {
    "missing": None,
    "empty": b"",
    "text": b"panel,rate\n",
    "an old .xls or one with a password": bytes.fromhex("D0CF11E0A1B11AE1") + b"\0" * 600,
    "cut short": CARD.read_bytes()[:9000],
}


@pytest.mark.parametrize("content", NOT_CARDS.values(), ids=NOT_CARDS)
def test_what_is_no_workbook_is_one_sentence(tmp_path, content):
    if content is not None:
        (tmp_path / "card.xlsx").write_bytes(content)
    with pytest.raises(Unreadable, match=r"card\.xlsx: ") as caught:
        read_rate_card(tmp_path / "card.xlsx")
    assert "\n" not in str(caught.value)


def test_a_folder_is_no_workbook(tmp_path):
    with pytest.raises(Unreadable):
        read_rate_card(tmp_path)


@pytest.mark.parametrize(
    "part", ["xl/workbook.xml", "xl/worksheets/sheet3.xml", "xl/styles.xml", "[Content_Types].xml"]
)
def test_a_workbook_with_a_damaged_part_is_one_sentence(tmp_path, part):
    with zipfile.ZipFile(CARD) as source, zipfile.ZipFile(tmp_path / "card.xlsx", "w") as target:
        for name in source.namelist():
            target.writestr(name, source.read(name)[:100] if name == part else source.read(name))
    with pytest.raises(Unreadable, match="is damaged"):
        read_rate_card(tmp_path / "card.xlsx")


def test_another_workbook_is_told_what_it_lacks(tmp_path):
    openpyxl.Workbook().save(tmp_path / "card.xlsx")
    complaints = complaints_about(tmp_path / "card.xlsx")
    every_card_has = [sheet for sheet in SHEETS if any(field.absent is None for field in sheet.fields)]
    assert len(every_card_has) == 8
    for sheet in every_card_has:
        assert any(f"sheet {sheet.title}: found none of its cells" in line for line in complaints)


def test_a_card_made_before_the_typical_year_has_none(tmp_path):
    """The sheet and the prices of edging came later: a card without their names is read as one without entries."""
    book = openpyxl.load_workbook(CARD)
    for name in [*book.defined_names]:
        if name.startswith("typical_floors_") or name in ("kinds_piece_price", "kinds_corner_price"):
            del book.defined_names[name]
    del book["Typical year"]
    book.save(tmp_path / "card.xlsx")
    card = read_rate_card(tmp_path / "card.xlsx")
    assert card.typical_floors == () and card.holdings["OAK-44"].piece_price == 0
    now = read_rate_card(CARD)
    assert now.typical_floors[0].requests == (0, 0, 0, 1, 3, 6, 6, 5, 3, 0, 0, 0)
    assert now.holdings["OAK-44"].piece_price == 21 and now.rates == card.rates


@pytest.mark.parametrize("limit", ["MOST_BYTES", "MOST_EXPANDED", "MOST_PARTS", "MOST_CELLS"])
def test_a_file_out_of_all_proportion_is_not_read(monkeypatch, limit):
    monkeypatch.setattr(filled_in, limit, 10)
    filled_in._contents.cache_clear()
    with pytest.raises(Unreadable, match="than such a workbook needs"):
        read_rate_card(CARD)


def test_a_stray_cell_at_the_far_end_of_a_sheet_costs_nothing(tmp_path):
    book = openpyxl.load_workbook(CARD)
    book["Panels"]["XFD1048576"] = "stray"
    book.save(tmp_path / "card.xlsx")
    assert read_rate_card(tmp_path / "card.xlsx") == read_rate_card(CARD)
