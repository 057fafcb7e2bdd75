"""Requests: a floor in one word, a list in a file, and every wrong entry told where it stands."""

import csv
import io
from datetime import date, datetime, time
from decimal import Decimal as D
from importlib.resources import files

import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from quotebook.engine.entries import FIRST_DAY, LAST_DAY
from quotebook.engine.model import SURFACES, FloorLine, Request
from quotebook.errors import InvalidInput, Misuse, Unreadable
from quotebook.quoting.request_headings import COLUMNS
from quotebook.quoting.request_rows import read_requests
from quotebook.quoting.requests import Enquiry, floor_entries, parse_floor, valid_request
from quotebook.rate_card.reader import read_rate_card

CARD = read_rate_card(files("quotebook.templates") / "rate_card.xlsx")
"""Edging is fitted by default on paving and indoors, and kept for OAK-44 but not for WHITE-23."""

ROW = {
    "client": "A. Client", "event": "Party", "event_date": "2027-06-19", "days": "2", "venue": "The long barn",
    "surface": "grass", "miles": "23.5", "flights": "1", "guests": "120", "after_hours": "yes", "waiver_taken": "no",
    "room_width": "40", "room_length": "60.5", "discount": "5%",
    "floor_1": "OAK-44:18x22:edging", "floor_3": "WHITE-23:10x10", "email": "a.client@client.example",
}  # fmt: skip

ENQUIRY = Enquiry(
    Request(
        client="A. Client", event="Party", event_date=date(2027, 6, 19), venue="The long barn", days=D(2),
        surface="grass", miles=D("23.5"), flights=D(1), guests=D(120), after_hours=True, waiver_taken=False,
        room_width=D(40), room_length=D("60.5"), discount_share=D("0.05"),
        lines=(FloorLine("OAK-44", D(18), D(22), True), FloorLine(), FloorLine("WHITE-23", D(10), D(10)),
               FloorLine(), FloorLine(), FloorLine()),
    ),
    "a.client@client.example",
)  # fmt: skip


def csv_file(path, *rows, delimiter=",", encoding="utf-8"):
    text = io.StringIO()
    writer = csv.DictWriter(text, list(dict.fromkeys(name for row in rows for name in row)), delimiter=delimiter)
    writer.writeheader()
    writer.writerows(rows)
    path.write_bytes(text.getvalue().encode(encoding))
    return path


def workbook(path, rows, formats=()):
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    for cell, number_format in formats:
        book.active[cell].number_format = number_format
    book.save(path)
    return path


def complaints_about(path):
    with pytest.raises(InvalidInput) as caught:
        read_requests(path, CARD)
    return caught.value.complaints


# A floor in one word

FLOORS = {
    "OAK-44:18x22": ("grass", FloorLine("OAK-44", D(18), D(22), False)),
    "OAK-44:18x22 ": ("paving", FloorLine("OAK-44", D(18), D(22), True)),
    "OAK-44:18x22:edging": ("grass", FloorLine("OAK-44", D(18), D(22), True)),
    "OAK-44:18x22:bare": ("paving", FloorLine("OAK-44", D(18), D(22), False)),
    "oak-44:16.5\N{MULTIPLICATION SIGN}20.25": ("hard indoors", FloorLine("OAK-44", D("16.5"), D("20.25"), True)),
    "WHITE-23:10x12": ("hard indoors", FloorLine("WHITE-23", D(10), D(12), False)),
    "UNKNOWN:10x12": ("hard indoors", FloorLine("UNKNOWN", D(10), D(12), False)),
    "OAK-34:10x12": ("nowhere", FloorLine("OAK-34", D(10), D(12), False)),
}
"""Edging unless told otherwise: where the card fits it by default, and only where some is kept."""


@pytest.mark.parametrize("text", FLOORS)
def test_a_floor_is_read(text):
    surface, line = FLOORS[text]
    assert parse_floor(text, CARD, surface) == line


@pytest.mark.parametrize(
    "text",
    ["", "OAK-44", "OAK-44:16", "OAK-44:16x", "OAK-44:16 x 20", "OAK-44:16,5x20", "OAK-44:-16x20", "OAK-44:16x20:both",
     "OAK-44:16x20:edging:bare", ":16x20", "OAK-44:16x20x2", "OAK-44:1e2x20", "OAK-44:٣x20", "OAK-44:16x20:",
     "OAK-44:.5x20"],
)  # fmt: skip
def test_what_is_no_floor_says_how_one_is_written(text):
    with pytest.raises(Misuse, match="is not a floor; allowed: CODE:WIDTHxLENGTH"):
        parse_floor(text, CARD, "grass")


@given(st.decimals(0, 999, places=2), st.decimals(0, 999, places=2), st.sampled_from(("", ":edging", ":bare")))
def test_any_size_is_read_exactly(width, length, word):
    line = parse_floor(f"OAK-44:{width}x{length}{word}", CARD, "paving")
    assert (line.width, line.length, line.edging_wanted) == (width, length, word != ":bare")


@given(st.text(max_size=30))
def test_any_text_is_a_floor_or_misuse(text):
    try:
        parse_floor(text, CARD, "grass")
    except Misuse as error:
        assert "\n" not in str(error) or "\n" in text


# Entries of one request


def entries(**others):
    line = floor_entries(1, FloorLine("OAK-44", D(18), D(22), True))
    return {"event_date": date(2027, 6, 19), "days": D(2), "surface": "grass"} | line | others


def test_the_least_that_can_be_priced():
    request = valid_request(CARD, entries())
    assert (request.days, request.surface, request.discount_share) == (2, "grass", 0)
    assert request.lines[0] == FloorLine("OAK-44", D(18), D(22), True)


def test_all_that_is_wrong_is_told_at_once():
    with pytest.raises(InvalidInput) as caught:
        valid_request(
            CARD,
            entries(
                days=D("1.5"), surface="sand", guests=D(-1), discount_share=D("1.01"), panel_1="NONE", width_1=None
            ),
        )
    assert caught.value.complaints == [
        "days: found 1.5; allowed: a whole number from 1 to 10000",
        'surface: found "sand"; allowed: one of grass, paving, hard indoors, carpet indoors',
        "guests: found -1; allowed: a whole number from 0 to 10000",
        'panel_1: found "NONE"; allowed: one of OAK-44, OAK-34, OAK-42, WHITE-23, MAPLE-33',
        "width_1: found nothing; allowed: a number above 0, at most 1000",
        "discount_share: found 101%; allowed: from 0% to 100%",
    ]


def test_a_request_without_a_floor_is_refused():
    with pytest.raises(InvalidInput, match="panel_1: found nothing; allowed: at least one floor"):
        valid_request(CARD, {"event_date": date(2027, 6, 19), "days": D(2), "surface": "grass"})


# Lists


@pytest.mark.parametrize("delimiter", [",", ";"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig"])
def test_a_list_is_read_from_csv(tmp_path, delimiter, encoding):
    path = csv_file(tmp_path / "list.csv", ROW, ROW | {"floor_3": ""}, delimiter=delimiter, encoding=encoding)
    one, other = read_requests(path, CARD)
    assert one == ENQUIRY
    assert other.request.lines[2] == FloorLine()


def test_a_list_is_read_from_a_workbook(tmp_path):
    typed = ROW | {
        "event_date": datetime(2027, 6, 19),
        "days": 2,
        "miles": 23.5,
        "flights": 1,
        "guests": 120,
        "discount": 0.05,
    }
    path = workbook(tmp_path / "list.xlsx", [list(typed), list(typed.values()), [], list(ROW.values())])
    assert read_requests(path, CARD) == [ENQUIRY, ENQUIRY]


@pytest.mark.parametrize(
    ("found", "number_format"), [(0.05, "0%"), (0.05, "0.0 %"), (0.05, "General"), ("5 %", "@"), ("0.05", "@")]
)
def test_a_discount_of_five_percent_however_it_is_written(tmp_path, found, number_format):
    path = workbook(
        tmp_path / "list.xlsx", [list(ROW), list((ROW | {"discount": found}).values())], [("L2", number_format)]
    )
    assert read_requests(path, CARD)[0].request.discount_share == D("0.05")


@pytest.mark.parametrize(
    "text",
    ["=1+1", "+555 0140", "-12", "@sum", '=HYPERLINK("http://x.example","y")', "\N{FULLWIDTH EQUALS SIGN}1", "\tx"],
)
def test_text_that_a_spreadsheet_would_run_stays_text(tmp_path, text):
    (enquiry,) = read_requests(csv_file(tmp_path / "list.csv", ROW | {"client": text}), CARD)
    assert enquiry.request.client == text.strip()


def test_columns_may_stand_in_any_order_and_empty_ones_be_missing(tmp_path):
    needed = ("floor_1", "surface", "days", "event_date")
    (enquiry,) = read_requests(csv_file(tmp_path / "list.csv", {name: ROW[name] for name in needed}), CARD)
    assert enquiry.request.miles is None and enquiry.email == ""
    assert enquiry.request.after_hours is False


def test_commas_quotes_and_line_breaks_inside_a_cell_are_kept(tmp_path):
    client = 'Quill, "Mere"\nand sons'
    (enquiry,) = read_requests(csv_file(tmp_path / "list.csv", ROW | {"client": client}), CARD)
    assert enquiry.request.client == client


def test_rows_and_columns_left_empty_do_not_count(tmp_path):
    path = tmp_path / "list.csv"
    path.write_text("days,event_date,,surface,floor_1,,\n,,,,,,\n2,2027-06-19,,grass,OAK-44:8x8,,\n\n")
    assert len(read_requests(path, CARD)) == 1


WRONG = {
    "days": ("1,5", 'found "1,5"; allowed: a whole number from 1 to 10000'),
    "event_date": (
        "19/06/2027", 'found "19/06/2027"; allowed: a date from 1900-03-01 to 2999-12-31, written 2027-06-19',
    ),
    "surface": ("sand", 'found "sand"; allowed: one of grass; paving; hard indoors; carpet indoors'),
    "miles": ("12 miles", 'found "12 miles"; allowed: a number from 0 to 10000, with a decimal point'),
    "flights": ("1.5", "found 1.5; allowed: a whole number from 0 to 10000"),
    "guests": ("-3", "found -3; allowed: a whole number from 0 to 10000"),
    "after_hours": ("maybe", 'found "maybe"; allowed: yes or no'),
    "waiver_taken": ("1", 'found "1"; allowed: yes or no'),
    "discount": ("101%", "found 101%; allowed: from 0% to 100%"),
    "room_width": ("7,5", 'found "7,5"; allowed: a number from 0 to 10000, with a decimal point'),
    "floor_1": ("MAPLE-33:9x9", 'found "MAPLE-33"; allowed: a panel that can go on grass: OAK-44, OAK-34'),
    "floor_2": ("16x20", '"16x20" is not a floor; allowed: CODE:WIDTHxLENGTH'),
    "floor_3": ("OAK-44:0x8", "found 0; allowed: a number above 0, at most 1000"),
    "client": ("x" * 201, "allowed: text of at most 200 characters"),
    "email": ("a@b.example, c@d.example", "allowed: one mail address"),
}  # fmt: skip


@pytest.mark.parametrize("column", ["client", "event", "venue"])
def test_a_text_of_exactly_the_longest_length_is_taken(tmp_path, column):
    """200 characters are allowed, so 200 are read in full; 201 are refused with the row and the column."""
    longest, longer = "x" * 200, "x" * 201
    (enquiry,) = read_requests(csv_file(tmp_path / "list.csv", ROW | {column: longest}), CARD)
    assert getattr(enquiry.request, column) == longest
    (complaint,) = complaints_about(csv_file(tmp_path / "list.csv", ROW | {column: longer}))
    assert complaint.startswith(f"list.csv, row 2, {column}: ") and "at most 200 characters" in complaint


@pytest.mark.parametrize("column", WRONG)
def test_a_wrong_entry_is_told_with_its_row_and_column(tmp_path, column):
    entry, words = WRONG[column]
    (complaint,) = complaints_about(csv_file(tmp_path / "list.csv", ROW, ROW | {column: entry}))
    assert complaint.startswith(f"list.csv, row 3, {column}: ") and words in complaint


def test_all_wrong_entries_of_all_rows_are_told_at_once(tmp_path):
    wrong = {column: entry for column, (entry, _) in WRONG.items() if column != "surface"}
    complaints = complaints_about(csv_file(tmp_path / "list.csv", ROW | wrong, ROW, ROW | wrong))
    assert [line.split(": ")[0] for line in complaints] == [
        f"list.csv, row {row}, {column}" for row in (2, 4) for column in COLUMNS if column in wrong
    ]


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(planted=st.lists(st.sets(st.sampled_from(sorted(set(WRONG) - {"surface"}))), min_size=1, max_size=5))
def test_wrong_entries_anywhere_are_each_told_once(tmp_path, planted):
    rows = [ROW | {column: WRONG[column][0] for column in columns} for columns in planted]
    path = csv_file(tmp_path / "list.csv", *[{name: row.get(name, "") for name in COLUMNS} for row in rows])
    if not any(planted):
        assert len(read_requests(path, CARD)) == len(rows)
        return
    told = {line.split(": ")[0] for line in complaints_about(path)}
    assert told == {f"list.csv, row {row}, {column}" for row, columns in enumerate(planted, 2) for column in columns}


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(
        st.fixed_dictionaries({
            "client": st.text(st.characters(categories=("L", "N", "P", "S")), max_size=30),
            "event_date": st.dates(FIRST_DAY, LAST_DAY), "days": st.integers(1, 10000),
            "surface": st.sampled_from(SURFACES), "miles": st.decimals(0, 10000, places=2),
            "discount": st.decimals(0, 100, places=2).map(lambda percent: f"{percent}%"),
            "after_hours": st.sampled_from(("yes", "no")), "floor_1": st.just("OAK-42:8x8:bare"),
        }).filter(lambda row: row["surface"] != "carpet indoors"),
        min_size=1, max_size=4,
    )
)  # fmt: skip
def test_any_list_is_read_as_it_was_written(tmp_path, rows):
    for row, enquiry in zip(rows, read_requests(csv_file(tmp_path / "list.csv", *rows), CARD), strict=True):
        request = enquiry.request
        for name in ("client", "event_date", "days", "surface", "miles"):
            assert getattr(request, name) == row[name]
        assert request.discount_share * 100 == D(row["discount"].rstrip("%"))
        assert request.after_hours is (row["after_hours"] == "yes")


def test_in_a_workbook_a_wrong_entry_is_told_at_its_cell(tmp_path):
    row = ROW | {"days": time(1, 30), "guests": "=100+20", "client": 7, "event_date": datetime(2027, 6, 19, 15)}
    path = workbook(tmp_path / "list.xlsx", [list(row), list(row.values())])
    told = dict(line.split(": ", 1) for line in complaints_about(path))
    assert told["list.xlsx, sheet Sheet, cell A2, client"].startswith("found 7; allowed: text")
    assert "with a time of day" in told["list.xlsx, sheet Sheet, cell C2, event_date"]
    assert "01:30" in told["list.xlsx, sheet Sheet, cell D2, days"]
    assert "a formula without a result" in told["list.xlsx, sheet Sheet, cell I2, guests"]
    assert len(told) == 4


@pytest.mark.parametrize(("headings", "words"), [
    ("days,surface,guest", 'found "guest"; allowed: the heading guests, or another word for your own'),
    ("days,days,surface", 'found "days"; allowed: each heading once'),
    ("days,Jours,surface", 'found "Jours"; allowed: each heading once'),
    ("one,two,three", "list.csv: found nothing; allowed: headings, such as client, event,"),
])  # fmt: skip
def test_headings_that_are_slips_of_the_pen_are_told(tmp_path, headings, words):
    (tmp_path / "list.csv").write_text(f"{headings}\n1,2,3\n")
    assert any(words in line for line in complaints_about(tmp_path / "list.csv"))


def test_an_entry_without_a_heading_is_not_passed_over(tmp_path):
    (tmp_path / "list.csv").write_text("days,event_date,surface,floor_1\n2,2027-06-19,grass,OAK-44:8x8,and more\n")
    (complaint,) = complaints_about(tmp_path / "list.csv")
    assert complaint == 'list.csv, row 2: found "and more"; allowed: no more entries than headings'


def test_what_a_missing_column_should_have_held_is_told(tmp_path):
    dateless = {name: value for name, value in ROW.items() if name != "event_date"}
    (complaint,) = complaints_about(csv_file(tmp_path / "list.csv", dateless))
    assert "row 2, Date: found nothing" in complaint


def test_a_request_without_days_is_for_one(tmp_path):
    dayless = {name: value for name, value in ROW.items() if name != "days"}
    (enquiry,) = read_requests(csv_file(tmp_path / "list.csv", dayless), CARD)
    assert enquiry.request.days == 1


def test_a_list_out_of_all_proportion_is_not_read(tmp_path, monkeypatch):
    path = csv_file(tmp_path / "list.csv", ROW)
    monkeypatch.setattr("quotebook.quoting.lists.MOST_BYTES", path.stat().st_size)
    assert read_requests(path, CARD)
    monkeypatch.setattr("quotebook.quoting.lists.MOST_BYTES", path.stat().st_size - 1)
    with pytest.raises(Unreadable, match=r"list\.csv: is larger than"):
        read_requests(path, CARD)


@pytest.mark.parametrize("text", ["", "\n\n", "days,surface\n"])
def test_a_list_without_requests_is_refused(tmp_path, text):
    (tmp_path / "list.csv").write_text(text)
    assert complaints_about(tmp_path / "list.csv") == [
        "list.csv: found no request; allowed: one in each row below the headings"
    ]


@pytest.mark.parametrize(("name", "content"), [
    ("list.csv", b"client,days\n\xe9t\xe9,2\n"), ("list.csv", b'client,days\n"open,2\n'), ("list.csv", None),
    ("list.xlsx", b"client,days\n"), ("list.xlsx", None), ("list.txt", b"client,days\n"),
])  # fmt: skip
def test_a_file_of_another_kind_is_one_sentence(tmp_path, name, content):
    if content is not None:
        (tmp_path / name).write_bytes(content)
    with pytest.raises(Unreadable, match=name) as caught:
        read_requests(tmp_path / name, CARD)
    assert "\n" not in str(caught.value)
