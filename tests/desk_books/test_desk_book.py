"""The desk book: whatever the owner wrote into it is in the next edition, and its figures are live and right."""

import shutil
from datetime import date
from decimal import Decimal as D

import openpyxl
import pytest
from extent import extent
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl.utils import get_column_letter
from oracle import values_in
from owner import TODAY, WEDDING, answer, decide, files_of, new_desk, quotes_sheet, run, shown, tasks, type_requests
from soffice import Job

from quotebook.desk_books.edition import read_edition
from quotebook.desk_books.places import desk_book, earlier_books
from quotebook.errors import Unreadable
from quotebook.spreadsheets.reading import read_workbook


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """Three quotes: one agreed and half paid, one answered with a dispute, one open."""
    desk = new_desk(tmp_path_factory.mktemp("desk") / "desk")
    type_requests(desk, WEDDING, WEDDING | {"Client": "Ines", "Date": date(2027, 3, 6)}, WEDDING | {"Client": "Bram"})
    run(desk)
    answer(desk, "Q0001", {"accepted": "yes"})
    answer(desk, "Q0002", {"hourly_rate": D(12)})
    run(desk)
    decide(desk, Q0001={"Decision": "agree", "Paid": 300, "Paid on": date(2027, 2, 27), "Paid for": "deposit"})
    run(desk)
    return desk


def everything(path) -> list[str]:
    """Every value of a book in its visible sheets, as text."""
    book = openpyxl.load_workbook(path)
    return [str(cell.value).strip() for sheet in book if sheet.sheet_state == "visible" for row in sheet
            for cell in row if cell.value is not None]  # fmt: skip


words = st.text(st.characters(categories=("L", "N")), min_size=3, max_size=12).map(lambda text: f"w{text}")
places = st.tuples(st.sampled_from(("Today", "Quotes", "Calendar", "Money", "Season", "Mine")), st.integers(1, 40),
                   st.integers(1, 40))  # fmt: skip


@settings(max_examples=extent(3, 30), deadline=None)
@given(st.dictionaries(places, words | st.integers(10**6, 10**7), min_size=1, max_size=12))
def test_nothing_that_the_owner_wrote_is_lost(made, tmp_path_factory, written):
    """Anywhere: over our cells and headings, beside them, in decisions, in columns and sheets of the owner's own."""
    folder = tmp_path_factory.mktemp("lost") / "desk"
    shutil.copytree(made.folder, folder)
    desk = type(made)(folder)
    book = openpyxl.load_workbook(desk_book(desk))
    if any(sheet == "Mine" for sheet, *_ in written):
        book.create_sheet("Mine")
    for (sheet, row, column), value in written.items():
        book[sheet].cell(row, column).value = value
    book.save(desk_book(desk))
    before = desk_book(desk).read_bytes()
    for _ in range(2):
        done = run(desk)
        if any(each.where == "Desk book" for each in done.book):  # its own headings were written over: left as it is
            assert desk_book(desk).read_bytes() == before
            return
        found = " ".join(everything(desk_book(desk)))
        assert all(str(value) in found for value in written.values())
    assert before in [path.read_bytes() for path in earlier_books(desk).glob("*.xlsx")]


def test_what_was_written_where_stays_where_it_was(desk):
    book = openpyxl.load_workbook(desk_book(desk))
    sheet, columns, rows = quotes_sheet(book)
    own = sheet.max_column + 1
    sheet.cell(5, own).value, sheet.cell(rows["Q0003"], own).value = "Rung", "twice"
    sheet.cell(rows["Q0001"], columns["Notes"]).value = "nice people"
    staff = book.create_sheet("Staff")
    staff["C4"], staff["C5"] = "Bram", date(2027, 5, 1)
    book["Today"]["B40"] = "order straps"
    sheet.cell(rows["Q0001"], columns["Total"]).value = 1
    book.save(desk_book(desk))
    run(desk)
    assert (shown(desk, "Q0003")["Rung"], shown(desk, "Q0001")["Notes"]) == ("twice", "nice people")
    assert shown(desk, "Q0001")["Total"] > 1
    book = openpyxl.load_workbook(desk_book(desk))
    assert book["Staff"]["C4"].value == "Bram" and book["Staff"]["C5"].value.date() == date(2027, 5, 1)
    assert [[cell.value for cell in row[1:]] for row in book["Kept"].iter_rows(min_row=5)] == [
        ["Today", "B40", "order straps"], ["Quotes", sheet.cell(rows["Q0001"], columns["Total"]).coordinate, "1"],
    ]  # fmt: skip


def test_a_closed_quote_stays_until_the_month_after_is_over_or_as_long_as_a_note_is_beside_it(desk):
    """Q0002, of March 6, and Q0003, of June 12, are declined; there is a note beside one of them, later taken away."""

    def rows():
        return set(quotes_sheet(openpyxl.load_workbook(desk_book(desk)))[2]) & {"Q0002", "Q0003"}

    decide(desk, Q0002={"Decision": "decline", "Notes": "next year?"}, Q0003={"Decision": "decline"})
    run(desk)
    assert rows() == {"Q0002", "Q0003"}
    run(desk, date(2027, 7, 31))
    assert rows() == {"Q0002", "Q0003"}
    run(desk, date(2027, 8, 1))
    assert rows() == {"Q0002"}
    decide(desk, Q0002={"Notes": None})
    run(desk, date(2027, 8, 1))
    assert rows() == set()


def test_a_quote_issued_after_its_event_stays_until_it_is_decided(desk):
    """It says that there is something to decide all the same; one that was never answered closes with its event."""
    late = WEDDING | {"Client": "Ona", "Date": date(2027, 1, 5), "If changed": "sure"}
    type_requests(desk, late, first=8)
    run(desk)
    run(desk, date(2027, 9, 1))
    assert shown(desk, "Q0004")["State"] == "issued"
    decide(desk, Q0004={"Decision": "decline"})
    assert str(run(desk, date(2027, 9, 1)).decided[0]) == "Q0004: declined"
    run(desk, date(2027, 9, 1))
    with pytest.raises(KeyError):
        shown(desk, "Q0004")


def test_rows_and_columns_may_be_moved(desk):
    """Sorted the other way round, and the column of decisions cut out and put at the end."""
    book = openpyxl.load_workbook(desk_book(desk))
    sheet, columns, rows = quotes_sheet(book)
    grid = [[cell.value for cell in row] for row in sheet.iter_rows(min_row=5, max_row=max(rows.values()))]
    grid = [grid[0], *reversed(grid[1:])]
    place = columns["Decision"] - 1
    for at, row in enumerate(grid, 5):
        for column, value in enumerate([*row[:place], *row[place + 1 :], row[place]], 1):
            sheet.cell(at, column).value = value
    sheet, columns, rows = quotes_sheet(book)
    sheet.cell(rows["Q0003"], columns["Decision"]).value = "decline"
    book.save(desk_book(desk))
    assert [str(each) for each in run(desk).decided] == ["Q0003: declined"]
    assert "Kept" not in openpyxl.load_workbook(desk_book(desk)).sheetnames


@pytest.mark.parametrize("lock", ["~$desk_book.xlsx", ".~lock.desk_book.xlsx#"])
def test_a_book_that_is_open_is_told_and_left_alone(desk, lock):
    decide(desk, Q0003={"Decision": "decline"})
    (desk.folder / lock).touch()
    before = desk_book(desk).read_bytes()
    done = run(desk)
    assert not done.decided and done.waiting and f"remove {lock}" in str(done.book[0])
    assert desk_book(desk).read_bytes() == before
    (desk.folder / lock).unlink()
    assert [str(each) for each in run(desk).decided] == ["Q0003: declined"]


def test_a_book_whose_hidden_sheet_was_altered_is_not_believed(desk):
    book = openpyxl.load_workbook(desk_book(desk))
    book["edition"]["A3"] = "A" + book["edition"]["A3"].value[1:]
    book.save(desk_book(desk))
    before = desk_book(desk).read_bytes()
    assert "was altered" in str(run(desk).book[0]) and desk_book(desk).read_bytes() == before


def test_another_desks_book_is_not_believed(desk, tmp_path):
    other = new_desk(tmp_path / "other")
    run(other)
    with pytest.raises(Unreadable, match="hidden sheet"):
        read_edition(read_workbook(desk_book(desk)), other.key())


def test_a_lost_book_is_written_again(desk):
    before = everything(desk_book(desk))
    desk_book(desk).unlink()
    run(desk)
    assert everything(desk_book(desk)) == before


def test_a_second_run_changes_nothing(desk):
    run(desk)
    before = files_of(desk)
    assert not run(desk).book and files_of(desk) == before


def test_the_money_of_the_day(desk):
    """Half of 1,061.92 was the deposit, 530.96: 230.96 of it is still due."""
    row = shown(desk, "Q0001")
    assert row["Paid so far"] == 300 and round(row["Still due"] + 300, 2) == row["Total"]
    assert ("Deliver", "Q0002") not in tasks(desk)


def figures(path):
    """Every formula of the book with its cached value, by sheet and cell."""
    formulas, cached = openpyxl.load_workbook(path), openpyxl.load_workbook(path, data_only=True)
    return {
        (sheet.title, cell.coordinate): cached[sheet.title][cell.coordinate].value
        for sheet in formulas for row in sheet for cell in row if cell.data_type == "f"
    }  # fmt: skip


def test_formulas_come_to_what_they_show(soffice, desk, tmp_path):
    """Recalculated by LibreOffice, which is forced to."""
    expected = figures(desk_book(desk))
    assert len(expected) > 20
    (tmp_path / "out").mkdir()
    (saved,) = soffice.convert([desk_book(desk)], tmp_path / "out")
    names = {f"{sheet}!{cell}": [sheet, *openpyxl.utils.cell.coordinate_to_tuple(cell)] for sheet, cell in expected}
    found = values_in(saved, names)
    for (sheet, cell), value in expected.items():
        assert round(D(str(found[f"{sheet}!{cell}"])) - D(str(value)), 6) == 0, (sheet, cell)


def test_decisions_made_in_libreoffice(by_libreoffice, desk, tmp_path):
    """Typed there and saved there: taken, and nothing else of the book is taken for the owner's."""
    _, columns, rows = quotes_sheet(openpyxl.load_workbook(desk_book(desk)))
    typed = {"Q0003": {"Decision": "decline", "Because": "too dear"}, "Q0001": {"Paid": 50, "Paid on": 46446}}
    steps = [
        ["type_in", "Quotes", rows[number], columns[heading], value]
        for number, entries in typed.items() for heading, value in entries.items()
    ]  # fmt: skip
    steps.append(["type_in", "Today", 30, 3, "ring the tent firm"])
    by_libreoffice([Job(desk_book(desk), tmp_path / "saved.xlsx", steps)])
    shutil.move(tmp_path / "saved.xlsx", desk_book(desk))
    assert [str(each) for each in run(desk).decided] == ["Q0001: paid 50.00 on February 28, 2027", "Q0003: declined"]
    kept = [
        [cell.value for cell in row[1:]] for row in openpyxl.load_workbook(desk_book(desk))["Kept"].iter_rows(min_row=5)
    ]
    assert kept == [["Today", "C30", "ring the tent firm"]]


def test_a_row_leads_to_its_workbook(desk):
    sheet, columns, rows = quotes_sheet(openpyxl.load_workbook(desk_book(desk)))
    assert sheet.cell(rows["Q0001"], columns["Quote"]).hyperlink.target == "issued/Q0001-r1.xlsx"
    target = sheet.cell(rows["Q0002"], columns["Answer"]).hyperlink.target
    assert (desk.folder / target).exists()
    assert sheet.freeze_panes and sheet.auto_filter.ref.endswith(f"{get_column_letter(max(columns.values()))}8")
    assert date(2027, 6, 12) > TODAY
