"""Rows of a list as an owner types them: headings in any language, sizes in columns of their own, percent, times."""

from dataclasses import replace
from datetime import date, datetime, time
from decimal import Decimal as D

import openpyxl
import pytest
from test_requests import CARD

from quotebook.contract.words import LANGUAGES
from quotebook.engine.model import FloorLine
from quotebook.errors import InvalidInput, Misuse
from quotebook.quoting.mixing import parse_mix
from quotebook.quoting.percentages import share_in_option, share_in_sheet
from quotebook.quoting.request_headings import COLUMNS, IF_CHANGED, OURS, headings_in, meaning_of, unit_said
from quotebook.quoting.request_list import read_request_list
from quotebook.quoting.request_rows import read_requests
from quotebook.spreadsheets.filled_in import Percentage


def book(path, *rows):
    made = openpyxl.Workbook()
    for row in rows:
        made.active.append(row)
    made.save(path)
    return path


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_column_has_a_heading_of_its_own_in_every_language(language):
    headings = headings_in(language)
    assert set(headings) == {*COLUMNS, *OURS, IF_CHANGED}
    assert {meaning_of(text) for text in headings.values()} == set(headings)
    assert all(meaning_of(text) == name for name, text in headings.items())


@pytest.mark.parametrize(("heading", "meaning"), [
    ("event_date", "event_date"), ("--date", "event_date"), ("DATE", "event_date"), ("after-hours", "after_hours"),
    ("Distance (miles)", "miles"), ("  Width 2 (ft) ", "width_2"), ("waiver", "waiver_taken"), ("floor", "floor_1"),
    ("Fecha", "event_date"), ("our own notes", None), (None, None), (D(7), None),
])  # fmt: skip
def test_what_a_heading_means(heading, meaning):
    assert meaning_of(heading) == meaning


@pytest.mark.parametrize(("heading", "unit"), [
    ("Width 1 (ft)", "ft"), ("Largeur 1 (pi)", "ft"), ("Ancho 2 (PIES)", "ft"), ("Length 3 ( m )", "m"),
    ("Width 1", None), ("width_1", None), ("Width 1 (in)", None), ("Distance (miles)", "ft"), ("Distancia (km)", "m"),
    ("Largeur de la salle (m)", "m"), ("Guests (m)", None), ("Distance (m)", None),
])  # fmt: skip
def test_which_unit_a_heading_says(heading, unit):
    assert unit_said(meaning_of(heading), heading) == unit


@pytest.mark.parametrize(
    ("heading", "allowed"), [("Largeur 1 (m)", "Width 1 (ft)"), ("Distance (km)", "Distance (miles)")]
)
def test_a_list_in_another_unit_than_the_card_is_refused(tmp_path, heading, allowed):
    path = tmp_path / "list.csv"
    path.write_text(f"Date,Ground,Floor,{heading}\n2027-06-19,grass,OAK-44:16x20,\n", "utf-8")
    with pytest.raises(InvalidInput) as error:
        read_requests(path, CARD)
    (said,) = error.value.complaints
    assert said.startswith(f'list.csv, row 1: found "{heading}"; allowed: "{allowed}", since the rate card is in ft. ')
    assert said.endswith("Convert the sizes and distances below it, then correct the headings.")


def test_a_row_as_an_owner_types_it(tmp_path):
    """A title above, headings in French, an own column, the size in columns of its own, times as times."""
    path = book(
        tmp_path / "book.xlsx", ["Nos demandes"], [],
        ["Client", "Vu par", "Date", "Nature du sol", "Piste 1", "Largeur 1 (ft)", "Longueur 1 (ft)", "Bordure 1",
         "Remise", "Commence à", "Accès à partir de", "Langue", "Exonéré de taxe car", "Garantie dommages"],
        ["Ines", "J.", datetime(2027, 6, 19), "gazon", "OAK-44", 16, 20, "oui", 0.1, time(18, 30), "14:00", "fr", None,
         "non"],
    )  # fmt: skip
    (enquiry,) = read_requests(path, CARD)
    request = enquiry.request
    assert (request.client, request.event_date, request.surface, request.days) == (
        "Ines",
        date(2027, 6, 19),
        "grass",
        1,
    )
    assert request.lines[0] == FloorLine("OAK-44", D(16), D(20), True)
    assert (request.discount_share, request.waiver_taken) == (D("0.1"), False)
    assert (enquiry.event_start, enquiry.access_from, enquiry.language) == (time(18, 30), time(14), "fr")
    (row,) = read_request_list(path).rows
    assert row.row == 4 and "Vu par" not in row.texts().values()


def test_a_floor_of_several_kinds_takes_the_lines_that_it_needs(tmp_path):
    path = book(
        tmp_path / "book.xlsx", ["Date", "Ground", "Floor 1", "Width 1", "Length 1", "Floor 2"],
        [datetime(2027, 6, 19), "grass", "OAK-44+OAK-42", 14, 20, "OAK-34:6x8"],
    )  # fmt: skip
    (enquiry,) = read_requests(path, CARD)
    panels = [line.panel for line in enquiry.request.lines if line.panel]
    assert set(panels[:-1]) == {"OAK-44", "OAK-42"} and panels[-1] == "OAK-34"
    assert sum(line.width * line.length for line in enquiry.request.lines[: len(panels) - 1]) == 14 * 20


WRONG = {
    "Floor 1": ("MAPLE-33", "Floor 1", "a panel that can go on grass"),
    "Width 1": ("16,5", "Width 1", 'found "16,5"; allowed: a number above 0, at most 1000, with a decimal point'),
    "Length 1": (None, "Length 1", "found nothing; allowed: a number above 0, at most 1000"),
    "Edging 1": ("perhaps", "Edging 1", "allowed: yes or no"),
    "Starts at": ("at dusk", "Starts at", "a time of day, such as 16:30"),
    "Language": ("de", "Language", "one of en, es, fr"),
    "Tax exempt because": ("yes", "Tax exempt because", "the reason"),
    "Discount": (10, "Discount", "found 10; allowed: 10% or 0.1"),
}  # fmt: skip


@pytest.mark.parametrize("heading", WRONG)
def test_what_cannot_be_used_is_told_at_its_heading(tmp_path, heading):
    entry, where, words = WRONG[heading]
    row = {"Date": datetime(2027, 6, 19), "Ground": "grass", "Floor 1": "OAK-44", "Width 1": 16, "Length 1": 20}
    row[heading] = entry
    with pytest.raises(InvalidInput) as caught:
        read_requests(book(tmp_path / "book.xlsx", list(row), list(row.values())), CARD)
    (complaint,) = caught.value.complaints
    assert f", {where}: " in complaint and words in complaint


@pytest.mark.parametrize(("width", "said"), [
    (-16, "found -16; allowed: a number above 0"), ("16 ft", 'found "16 ft"; allowed: a number above 0'),
    (0, "found 0; allowed: a number above 0"), (None, "found nothing; allowed: a number above 0"),
    (1001, "found 1001; allowed: a number above 0, at most 1000"),
    ("16.1234567", "at most 1000, with a decimal point and at most 6 digits behind it"),
    ("=1+1", "found a formula without a result"),
])  # fmt: skip
@pytest.mark.parametrize("text", ["OAK-44", "A=OAK-44+OAK-42"])
def test_a_side_that_is_no_size_is_told_at_its_own_cell(tmp_path, width, said, text):
    """And nothing else is: not at the floor, and not that a floor is missing."""
    row = ["2027-06-19", "paving", text, width, 20, "B=WHITE-23:6x6" if text.startswith("A=") else None]
    path = book(tmp_path / "book.xlsx", ["Date", "Ground", "Floor 1", "Width 1", "Length 1", "Floor 2"], row)
    with pytest.raises(InvalidInput) as caught:
        read_requests(path, CARD)
    (told,) = (each for each in caught.value.complaints if "only option B" not in each)
    assert told.startswith("book.xlsx, sheet Sheet, cell D2, Width 1: ") and said in told


def test_a_floor_without_any_size_is_told_where_its_sides_go(tmp_path):
    path = book(tmp_path / "book.xlsx", ["Date", "Ground", "Floor 1", "Width 1", "Length 1"],
                ["2027-06-19", "paving", "oak-44", None, None])  # fmt: skip
    with pytest.raises(InvalidInput) as caught:
        read_requests(path, CARD)
    wide, long = caught.value.complaints
    assert "cell D2, Width 1: found nothing" in wide and "cell E2, Length 1: found nothing" in long


def test_a_floor_without_columns_for_its_size_says_how_one_is_written_with_a_code_of_the_card(tmp_path):
    kinds = tuple(kind for kind in CARD.rates.kinds if kind.panel == "WHITE-23")
    card = replace(CARD, rates=replace(CARD.rates, kinds=kinds))
    for head, row in (
        (["Date", "Ground", "Floor 1"], ["2027-06-19", "paving", "WHITE-23"]),
        (["Date", "Ground", "Floor 1", "Width 1", "Length 1"], ["2027-06-19", "paving", "WHITE-23,16x20", None, None]),
    ):
        with pytest.raises(InvalidInput) as caught:
            read_requests(book(tmp_path / "book.xlsx", head, row), card)
        (told,) = caught.value.complaints
        assert ", Floor 1: " in told and "CODE:WIDTHxLENGTH, such as WHITE-23:16x20 or WHITE-23:16.5x20" in told
    with pytest.raises(Misuse, match=r"such as OAK-44\+OAK-34:14x20"):
        parse_mix("OAK-44+OAK-42", CARD)


@pytest.mark.parametrize(("heading", "typed", "said"), [
    ("Nature du sol", "herbe", "one of gazon; extérieur, sol dur; intérieur, sol dur; intérieur, moquette"),
    ("Garantie dommages", "peut-être", "oui or non"), ("Bordure 1", "peut-être", "oui or non"),
    ("Remise", "7,5 %", "from 0% to 100%, with a decimal point"),
])  # fmt: skip
def test_what_is_allowed_is_said_in_the_words_that_the_book_offers(tmp_path, heading, typed, said):
    row = {"Date": "2027-06-19", "Nature du sol": "gazon", "Piste 1": "OAK-44:6x6"} | {heading: typed}
    path = book(tmp_path / "book.xlsx", list(row), list(row.values()))
    with pytest.raises(InvalidInput) as caught:
        read_requests(path, CARD.in_language("fr"))
    (told,) = caught.value.complaints
    assert told.endswith(f', {heading}: found "{typed}"; allowed: {said}')


@pytest.mark.parametrize(("value", "share"), [
    (Percentage("0.1"), "0.1"), (D("0.1"), "0.1"), ("10%", "0.1"), ("10 %", "0.1"), ("0.1", "0.1"), (D(0), "0"),
    (Percentage(1), "1"), ("100%", "1"), ("0.5%", "0.005"),
])  # fmt: skip
def test_percent_in_a_sheet(value, share):
    assert share_in_sheet(value) == D(share)


@pytest.mark.parametrize("value", [D(10), "10", D(1), "1"])
def test_a_number_that_may_be_a_percentage_or_a_share_is_asked_about(value):
    with pytest.raises(Misuse, match=r"allowed: 10?% or 0"):
        share_in_sheet(value)


@pytest.mark.parametrize(
    ("text", "share"), [("10", "0.1"), ("10%", "0.1"), ("0.5%", "0.005"), ("0", "0"), ("1", "0.01")]
)
def test_percent_as_an_option(text, share):
    assert share_in_option(text) == D(share)


@pytest.mark.parametrize(("text", "words"), [("0.1", "0.1 % or 10 %"), ("ten", "not a percentage"), ("1e1", "not a")])
def test_an_option_that_may_mean_two_things_is_asked_about(text, words):
    with pytest.raises(Misuse, match=words):
        share_in_option(text)


def test_floors_of_options_with_the_first_one_picked(tmp_path):
    """A letter in front of a floor, with the size behind it or in columns of its own; a mix has it on all its lines."""
    path = book(
        tmp_path / "book.xlsx",
        ["Date", "Ground", "Floor 1", "Width 1", "Length 1", "Floor 2", "Floor 3"],
        [datetime(2027, 6, 19), "paving", "B=OAK-44", 16, 20, "a = OAK-44+OAK-42:14x20:bare", "WHITE-23:6x6"],
        [datetime(2027, 6, 20), "paving", "WHITE-23", 6, 6, None, None],
    )
    offered, plain = (enquiry.request for enquiry in read_requests(path, CARD))
    assert [(line.panel, line.option) for line in offered.lines if line.panel] == [
        ("OAK-44", "B"), ("OAK-44", "A"), ("OAK-42", "A"), ("WHITE-23", ""),
    ]  # fmt: skip
    assert (offered.options, offered.picked, plain.options, plain.picked) == (("A", "B"), "A", (), "")


@pytest.mark.parametrize(
    ("floors", "said"),
    [
        (["A=OAK-44:16x20", "WHITE-23:6x6"], "Floor 1: only option A was given; allowed: at least two"),
        (["A=OAK-44:16x20", "B=OAK-44:0x20"], "Floor 2: found 0; allowed: a number above 0"),
    ],
)
def test_every_option_of_a_row_has_to_be_possible(tmp_path, floors, said):
    path = book(
        tmp_path / "book.xlsx", ["Date", "Ground", "Floor 1", "Floor 2"], [datetime(2027, 6, 19), "grass", *floors]
    )
    with pytest.raises(InvalidInput) as error:
        read_requests(path, CARD)
    assert said in error.value.complaints[0]
