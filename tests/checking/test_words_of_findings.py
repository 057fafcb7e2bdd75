"""What a finding says: the labels and words of the quote's own language, units, and the value to type."""

from decimal import Decimal as D

import pytest

from quotebook.checking.findings import Finding
from quotebook.spreadsheets.cells import CellAddress


def test_a_figure_has_its_label_its_name_its_place_and_its_unit(english):
    place = english.place("hourly_rate").cell
    assert english.said(hourly_rate=D(12)) == [
        (
            f"Labour, per person and hour (hourly_rate), Rates {place}: 33.60 USD when issued, now 12.00 USD. "
            "Only you set it."
        )
    ]
    assert english.said(width_1=D(20)) == [
        f"Width, line 1 (width_1), Quote {english.place('width_1').cell}: 16 ft when issued, now 20 ft."
    ]


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("total", D("1061.9"), "1061.90 USD"), ("waiver_share", D("0.09"), "9 %"), ("tax_rate", D("0.0725"), "7.25 %"),
        ("area_1", D(320), "320 ft²"), ("weight", D(1040), "1040 lb"), ("miles", D("22.5"), "22.5 miles"),
        ("kinds_rate", D("36.5"), "36.50 USD"), ("panels_1", D(20), "20"), ("event_date", D(46550), "2027-06-12"),
        ("rate_per_mile", D("2.855"), "2.855 USD"), ("client", None, "blank"),
    ],
)  # fmt: skip
def test_values_are_said_with_their_units(english, name, value, said):
    assert english.labels.said(name, value) == said


def test_labels_are_those_of_the_quotes_language(french):
    labels = french.labels
    assert labels.label("width_2").startswith("Largeur") and labels.unit("width_2") == "m"
    assert labels.named("total").endswith(" (total)") and labels.unit("total") == "EUR"


@pytest.mark.parametrize(
    ("name", "text", "typed"),
    [
        ("width_1", "20", "20"), ("width_1", "20 ft", "20"), ("width_1", "12'", "12"), ("width_1", "16,5", "16.5"),
        ("guests", " 90 ", "90"), ("event_date", "2027-07-03", "2027-07-03"),
        ("event_date", "3 July 2027", "2027-07-03"),
        ("waiver_taken", "yes ", "yes"),
    ],
)  # fmt: skip
def test_a_text_that_looks_like_a_value_is_said_to_be_text(english, name, text, typed):
    [said] = english.said(**{name: text})
    assert f"Ask the client to type {typed};" in said and " is a text and not " in said


@pytest.mark.parametrize(
    ("name", "text"), [("width_1", "16 x 20"), ("guests", "1,200"), ("event_date", "3/7/2027"), ("days", "a few")]
)
def test_no_value_is_guessed_where_there_is_a_doubt(english, name, text):
    [said] = english.said(**{name: text})
    assert "cannot be used" in said and "type" not in said


@pytest.mark.parametrize(
    ("formula", "cached", "doubt"),
    [
        ("10+10", D(21), "which comes to 20 ft and not to what the file shows, 21 ft"),
        ("SHEETS()", D(20), "which rests on the function SHEETS and is not worked out here"),
    ],
)
def test_a_formula_in_an_entry_of_which_there_is_a_doubt(english, formula, cached, doubt):
    place = english.place("width_1")
    report = english.report(lambda hand: hand.put(place, cached).formula(place, formula))
    [said] = [finding.message for finding in report.findings if finding.kind == "input-invalid"]
    assert said.startswith(
        f"Width, line 1 (width_1), Quote {place.cell}: worked out by ={formula}, {doubt}. "
        "Ask the client to type the value."
    )


@pytest.mark.parametrize(("total", "worth"), [("1061.92", "0"), ("995.72", "-66.20")])
def test_a_wrong_figure_is_worth_what_the_total_shown_follows_it_by(english, total, worth):
    """Labour is 67.20 and shown as 1.00: beside the total that it comes to, and beside the one with 1.00 in it."""
    shown = {"labour": D(1), "total": D(total)}
    report = english.report(lambda hand: [hand.cache(english.place(name), value) for name, value in shown.items()])
    [labour] = report.findings
    assert (labour.name, labour.kind, labour.effect) == ("labour", "arithmetic-differs", D(worth))


def test_what_is_allowed_is_said_in_the_files_own_words(french):
    surfaces = french.content.tables["surfaces"][0]
    assert f"it must be one of {', '.join(surfaces)}." in french.said(surface="moon")[0]
    assert "it must be oui or non." in french.said(waiver_taken="perhaps")[0]


def test_a_deleted_row_says_what_was_on_it(english):
    findings = english.report(lambda hand: hand.remove("Rates", row=english.place("hourly_rate").row)).findings
    [said] = [finding.message for finding in findings if finding.kind != "not-recalculated"]
    assert said.startswith("Rates, row 6: deleted, with Labour, per person and hour (hourly_rate)")


def test_a_row_of_a_table_that_is_gone_is_worth_what_the_sheet_lacks_without_it(english):
    """The panel of the only floor, without which nothing is priced. The file still shows the total as issued."""
    kinds = english.place("kinds_panel")
    row = kinds.row + english.content.tables["kinds_panel"].index("OAK-44")
    report = english.report(lambda hand: hand.remove("Rates", row=row))
    worths = {finding.kind: finding.effect for finding in report.findings}
    assert worths == {"rate-changed": -report.issued, "not-recalculated": report.issued}
    assert report.issued == D("1061.92") and report.worked_out == 0


def test_a_text_that_was_added_is_told_with_itself(english):
    [added] = english.report(lambda hand: hand.put(CellAddress("Quote", 60, 16), "Free delivery")).findings
    said = "Quote P60: “Free delivery” was added outside the cells for changing."
    assert added == Finding("cell-added", said, "", "Quote", "P60", None, "Free delivery")


def test_a_floor_line_taken_out_is_one_finding(english):
    names = {"panel_1": None, "width_1": None, "length_1": None, "edging_wanted_1": None}
    [said] = english.said(**names)
    place = english.place("panel_1").cell
    assert said == (f"Floor line 1, Quote {place}: taken out: Panel OAK-44, Width 16 ft, Length 20 ft, Edging yes.")
