"""The day sheet, as a second library reads it and as a page prints it; and the calendar file."""

import re
import shutil
import subprocess
from collections import Counter
from dataclasses import replace
from datetime import UTC, date, datetime, time
from decimal import Decimal as D
from importlib.resources import as_file, files
from math import ceil

import openpyxl
import pytest
from click.testing import CliRunner
from icalendar import Calendar

from quotebook import desk as desks
from quotebook.bookings.archive import keep_returned, record_event, record_of_file
from quotebook.bookings.jobs import job_of_file, jobs_on
from quotebook.cli import main
from quotebook.client.floor_plan_sheet import part_colours
from quotebook.contract.words import words_in
from quotebook.crew.calendar_file import calendar_of
from quotebook.crew.day_plan import LEFT, TOP
from quotebook.crew.day_sheet import write_day_sheet
from quotebook.demonstration.demo import retype
from quotebook.engine.crew import hours_away
from quotebook.engine.model import FloorLine, Request
from quotebook.engine.money import plain
from quotebook.engine.stock import owned
from quotebook.engine.visits import Job, visits
from quotebook.errors import Misuse
from quotebook.ledger import Ledger
from quotebook.ledger.events import Agreed, Cancelled, Issued, now
from quotebook.quoting.issuing import issue
from quotebook.quoting.mixing import floor_lines
from quotebook.rate_card.reader import read_rate_card

DAY = date(2027, 6, 12)
HOSTILE = '=HYPERLINK("http://a.example","click") & a very long name that no column of a crew sheet has room for, ever'
CARDS = {"letter": "rate_card.xlsx", "A4": "rate_card_metric.xlsx"}


def requests(card, scale):
    """One floor of two kinds; six floors over everything, up two flights; 3 days with only the set-up on the day."""
    kinds = [kind.panel for kind in card.rates.kinds]
    sections = next(kind.panel for kind in card.rates.kinds if kind.subfloor_kind)

    def line(code, width, length, edged=True):
        return FloorLine(code, D(width) * scale, D(length) * scale, edged)

    asked = Request(event_date=DAY, days=D(1), surface="grass", miles=D(15), flights=D(0))
    mixed = floor_lines("OAK-44+OAK-42:14x20", card, "paving") if scale == 1 else (line(kinds[0], 16, 20),)
    six = (
        line(kinds[0], 18, 22), line(kinds[1], 12, 18), line(sections, 10, 10, False), line(sections, 30, 30, False),
        line(kinds[1], 11, 18, False), line(kinds[0], 4, 4),
    )  # fmt: skip
    return [
        replace(asked, client="Avelie Marsh", venue="The Long Meadow", lines=mixed),
        replace(asked, client=HOSTILE, event=HOSTILE, venue=HOSTILE, flights=D(2), after_hours=True, lines=six),
        replace(asked, client="-Tamsin", days=D(3), lines=(line(kinds[1], 11, 18),)),
    ]  # fmt: skip


@pytest.fixture(scope="module", params=["letter", pytest.param("A4", marks=pytest.mark.slow)])
def desk(request, tmp_path_factory):
    desk = desks.init(tmp_path_factory.mktemp("day") / "desk", CARDS[request.param])
    card = desk.card()
    for asked, number in zip(
        requests(card, D(1) if card.firm.length_unit == "ft" else D("0.3")), desk.numbers(), strict=False
    ):
        issue(desk, card, asked, number, date(2027, 1, 4))
    return desk


@pytest.fixture(scope="module")
def jobs(desk):
    return [job_of_file(desk, path) for path in sorted(desk.issued.glob("*.xlsx"))]


@pytest.fixture(scope="module")
def path(desk, jobs, tmp_path_factory):
    path = tmp_path_factory.mktemp("sheet") / "day.xlsx"
    with path.open("wb") as file:
        write_day_sheet(file, desk.card(), DAY, visits(jobs, DAY, D(30)), D(30))
    return path


@pytest.fixture(scope="module")
def book(path):
    return openpyxl.load_workbook(path)


def texts(sheet):
    return [cell.value for row in sheet.iter_rows() for cell in row if cell.value is not None]


def test_a_page_for_the_day_for_each_job_and_each_floor(book):
    floors = [f"Q0002 {number}" for number in range(1, 7)]
    assert book.sheetnames == [str(DAY), "Q0001", "Q0001 1", "Q0002", *floors, "Q0003", "Q0003 1"]


def test_nothing_is_a_formula_whatever_a_client_wrote(book):
    cells = [cell for sheet in book for row in sheet.iter_rows() for cell in row]
    assert {cell.data_type for cell in cells} <= {"s", "n"}
    assert HOSTILE in texts(book[str(DAY)]) and "-Tamsin" in texts(book[str(DAY)])


def test_the_day_lists_its_visits_in_order(desk, book):
    """Set-ups as given; then strikes, the one after hours last. The three days' hire is not struck on the day."""
    rows = list(book[str(DAY)].iter_rows(min_row=5, max_row=9, min_col=2, max_col=4, values_only=True))
    assert [(row[0], row[2]) for row in rows] == [
        ("1", "Q0001"),
        ("2", "Q0002"),
        ("3", "Q0003"),
        ("4", "Q0001"),
        ("5", "Q0002"),
    ]
    assert rows[0][1] == rows[1][1] == rows[2][1] != rows[3][1] == rows[4][1]
    assert set(desk.card().tools) <= set(texts(book[str(DAY)]))


def test_each_floor_is_drawn_with_every_panel_once(book, jobs):
    for job in jobs:
        for number, floor in enumerate(job.floors, 1):
            sheet = book[f"{job.quote_number} {number}"]
            drawn = [value for value in texts(sheet) if isinstance(value, int)]
            assert sorted(drawn) == list(range(1, len(floor.placements) + 1))


def test_panels_lie_on_the_sheet_as_they_lie_on_the_ground(book, jobs):
    """Farther right is a later column; nearer is a later row, up to the panel's near edge."""
    for job in jobs:
        for number, floor in enumerate(job.floors, 1):
            cells = [cell for row in book[f"{job.quote_number} {number}"].iter_rows() for cell in row]
            at = {cell.value: cell for cell in cells if isinstance(cell.value, int)}
            places = [(panel, at[place]) for place, panel in enumerate(floor.placements, 1)]
            lefts = sorted({panel.x for panel in floor.placements})
            tops = sorted({panel.y + panel.length for panel in floor.placements})
            assert {(lefts.index(panel.x), cell.column) for panel, cell in places} == {
                *enumerate(sorted({cell.column for cell in at.values()}))
            }
            assert {(tops.index(panel.y + panel.length), -cell.row) for panel, cell in places} == {
                *enumerate(sorted({-cell.row for cell in at.values()}))
            }


def test_a_panel_beside_smaller_ones_takes_several_rows(tmp_path):
    """7 by 6 of 2x3 with 2x2: two strips of 2 x 3 and one of 3 x 2, so that seams are at 0, 2, 3, 4 and 6."""
    card = read_rate_card(files("quotebook.templates") / "rate_card.xlsx")
    sizes = {"OAK-44": (D(2), D(3)), "OAK-42": (D(2), D(2))}
    kinds = tuple(
        replace(card.rates.kind(code), panel_width=width, panel_length=length)
        for code, (width, length) in sizes.items()
    )
    card = replace(card, rates=replace(card.rates, kinds=kinds))
    lines = floor_lines("OAK-44+OAK-42:7x6:bare", card, "paving")
    request = Request(event_date=DAY, days=D(1), surface="paving", miles=D(15), lines=lines)
    job = Job("Q0001", 1, card.rates, request)
    with (tmp_path / "day.xlsx").open("wb") as file:
        write_day_sheet(file, card, DAY, visits([job], DAY, D(30)), D(30))
    sheet = openpyxl.load_workbook(tmp_path / "day.xlsx")["Q0001 1"]
    numbered = {cell.value: cell.coordinate for row in sheet.iter_rows() for cell in row if isinstance(cell.value, int)}
    rows = {area.coord.partition(":")[0]: area.size["rows"] for area in sheet.merged_cells.ranges}
    taken = [rows.get(numbered[place], 1) for place in range(1, len(job.floors[0].placements) + 1)]
    sides = [panel.length for panel in job.floors[0].placements]
    assert sides == [D(3)] * 4 + [D(2)] * 3 and taken == [2] * 4 + [1, 2, 1]


def test_a_floor_of_three_kinds_is_edged_round_the_whole_with_the_pieces_that_are_counted(tmp_path):
    """16 x 21 ft of 4x4 with a strip of 4x2 and a turned one of 3x4 beyond: 4 + 6 pieces of 4 ft, twice, 4 corners."""
    with as_file(files("quotebook.templates") / "rate_card.xlsx") as template:
        card = read_rate_card(template)
    lines = floor_lines("OAK-44+OAK-34+OAK-42:16x21:edging", card, "paving")
    job = Job("Q0001", 1, card.rates, Request(event_date=DAY, days=D(1), surface="paving", miles=D(15), lines=lines))
    [floor] = job.floors
    with (tmp_path / "day.xlsx").open("wb") as file:
        write_day_sheet(file, card, DAY, visits([job], DAY, D(30)), D(30))
    sheet = openpyxl.load_workbook(tmp_path / "day.xlsx")["Q0001 1"]
    colours = part_colours(card.firm.accent_colour)
    edging = {colours["slot"], colours["tongue"], colours["corner"]}
    wide, deep = (len({getattr(panel, at) for panel in floor.placements}) for at in ("x", "y"))
    area = [
        (row, column)
        for row in range(TOP + 1, TOP + deep + 3)
        for column in range(LEFT + 1, LEFT + wide + 3)
        if fill_of(sheet, row, column) in edging
    ]
    assert {*area} >= {
        (row, column) for row in (TOP + 1, TOP + deep + 2) for column in range(LEFT + 1, LEFT + wide + 3)
    }
    inside = [place for place in area if TOP + 1 < place[0] < TOP + deep + 2 and LEFT + 1 < place[1] < LEFT + wide + 2]
    first = [place for place in inside if sheet.cell(*place).value == 1]
    assert inside == first  # the panel that is laid first has the colour of slots
    pieces = 2 * (ceil(floor.width / 4) + ceil(floor.length / 4))
    assert (len(lines), floor.slot_pieces + floor.tongue_pieces, floor.corners) == (3, pieces, 4)


def fill_of(sheet, row, column):
    """The colour of a cell, or of the one that it is merged into."""
    for area in sheet.merged_cells.ranges:
        if area.min_row <= row <= area.max_row and area.min_col <= column <= area.max_col:
            row, column = area.min_row, area.min_col
    return f"#{sheet.cell(row, column).fill.fgColor.rgb[2:]}"


def test_a_side_with_both_kinds_of_edging_is_told(book, jobs):
    """14 x 20 ft of 4x4 with a turned strip of 4x2; in metres the first floor is of one kind."""
    mixed = len(jobs[0].floors[0].panels) > 1
    said = " ".join(text for text in texts(book["Q0001 1"]) if isinstance(text, str))
    assert ("a spare piece of each" in said) is mixed


def test_every_piece_is_loaded_once_and_counted_back(book, jobs):
    for job in jobs:
        rows = list(book[job.quote_number].iter_rows(min_col=2, max_col=8, values_only=True))
        counts = Counter()
        for floor in job.floors:
            counts += Counter(floor.panels) + Counter({floor.sheets_of: floor.sheets})
        for code, count in counts.items():
            ends = re.compile(rf" {code}$")
            packed = [row[5] for row in rows if isinstance(row[1], str) and re.search(rf": .* \d+ {code}$", row[1])]
            counted = [row[5] for row in rows if isinstance(row[0], str) and ends.search(row[0]) and "," not in row[0]]
            assert (sum(packed), counted) == (count, [count]), code


def test_last_off_is_first_on(book, jobs):
    """On every trip the cart that is needed first is loaded last."""
    for job in jobs:
        said = [text for text in texts(book[job.quote_number]) if isinstance(text, str)]
        packed = [match[1] for text in said if (match := re.search(r": .* (\d+ [A-Z]+-\d+)$", text))]
        assert packed == [f"{cart.count} {cart.code}" for load in job.loads for cart in reversed(load.carts)]


def test_cautions_defer_and_never_promise(desk, book, jobs):
    who_decides = day_words_of(desk)
    for job in jobs:
        said = " ".join(text for text in texts(book[job.quote_number]) if isinstance(text, str))
        assert "safe" not in said.lower()
        assert "49 CFR 393.106(d)" in said and "NIOSH" in said
        assert who_decides["crew_cautions"]["defer"] in said
    assert all(who_decides["text"]["defers"] in sheet.oddFooter.left.text for sheet in book)
    assert who_decides["crew_cautions"]["defer"] in texts(book[str(DAY)])


def day_words_of(desk):
    return words_in(desk.card().firm.language)


def test_every_trip_weighs_what_is_on_it(book, jobs):
    """Tools, carts and edging: the rows of all trips sum to what is loaded. The rows of floors have a size as well."""
    for job in jobs:
        rows = book[job.quote_number].iter_rows(min_col=2, max_col=8, values_only=True)
        weights = [row[6] for row in rows if isinstance(row[0], int) and isinstance(row[6], int | float) and not row[3]]
        assert round(sum(weights), 3) == float(sum(load.weight for load in job.loads))


def test_the_hours_of_the_day_are_told(desk, jobs, book, tmp_path):
    """From 08:00 until the late strike is back is more than twelve hours."""
    said = [text for text in texts(book[str(DAY)]) if isinstance(text, str)]
    hours = hours_away(visits(jobs, DAY, D(30)))
    assert hours > 12 and sum(f"{hours} h" in text for text in said) == 2
    short = visits(jobs[:1], DAY, D(30), {"set_up": time(8), "strike": time(9), "late": time(10)})
    with (tmp_path / "short.xlsx").open("wb") as file:
        write_day_sheet(file, desk.card(), DAY, short, D(30))
    said = [text for text in texts(openpyxl.load_workbook(tmp_path / "short.xlsx")[str(DAY)]) if isinstance(text, str)]
    assert sum(f"{plain(hours_away(short))} h" in text for text in said) == 1


def test_edging_that_is_cut_is_told(desk, book, jobs):
    cut = [(job, floor) for job in jobs for floor in job.floors if floor.cut_pieces]
    for job, floor in cut:
        said = " ".join(text for text in texts(book[job.quote_number]) if isinstance(text, str))
        assert f": {floor.cut_pieces} " in said
    assert cut


@pytest.mark.parametrize("desk", CARDS, indirect=True)
def test_every_sheet_prints_on_one_page(path, book, soffice, tmp_path):
    (pdf,) = soffice.convert([path], tmp_path, to="pdf")
    said = subprocess.run(["pdftotext", "-layout", pdf, "-"], capture_output=True, text=True, check=True).stdout
    assert len(said.split("\f")) - 1 == len(book.sheetnames)
    assert "###" not in said


# Where the jobs come from


@pytest.fixture
def ledger(desk, tmp_path):
    """A ledger of its own, in which the desk's first two quotes are agreed, the second with more panels than issued."""
    ledger, card = Ledger(f"sqlite:///{tmp_path / 'ledger.sqlite'}"), desk.card()
    for number, typed in (("Q0001", {"days": D(2)}), ("Q0002", {"guests": D(90)}), ("Q0003", {"days": D(2)})):
        path = desk.issued_path(number, 1)
        content = issue_again(desk, path)
        back = retype(path, tmp_path / f"{number}.xlsx", content, typed)
        record_event(desk, ledger, Issued(at=now(), quote=record_of_file(desk, path, card.firm)))
        agreed = Agreed(at=now(), quote=record_of_file(desk, back, card.firm), sha256=keep_returned(desk, back))
        record_event(desk, ledger, agreed, dict.fromkeys(owned(card), 10_000))
    record_event(desk, ledger, Cancelled(at=now(), quote_number="Q0003", revision=1))
    yield ledger
    shutil.rmtree(desk.folder / "slips")


def issue_again(desk, path):
    from quotebook.checking.issued import issued_content
    from quotebook.spreadsheets.reading import read_workbook

    return issued_content(read_workbook(path), desk)[0]


def test_jobs_are_what_was_agreed(desk, ledger):
    """Q0001 came back with two days: it is struck on the second. Q0003 was cancelled."""
    assert [job.quote_number for job in jobs_on(desk, ledger, DAY)] == ["Q0001", "Q0002"]
    second = date(2027, 6, 13)
    (job,) = jobs_on(desk, ledger, second)
    assert (job.quote_number, job.last_day) == ("Q0001", second)
    assert jobs_on(desk, ledger, date(2027, 6, 14)) == []


def test_only_the_workbooks_of_the_day_are_read(desk, ledger, monkeypatch):
    """On the 13th Q0001 alone is struck; on the 14th its panels are still held, and nobody works."""
    read = []
    monkeypatch.setattr("quotebook.bookings.jobs.job_of_file", lambda desk, path: read.append(path))
    for day, workbooks in ((date(2027, 6, 13), 1), (date(2027, 6, 14), 0), (date(2027, 7, 1), 0)):
        read.clear()
        jobs_on(desk, ledger, day)
        assert len(read) == workbooks


def test_quotes_named_are_taken_in_their_order_agreed_or_not(desk, ledger):
    jobs = jobs_on(desk, ledger, DAY, ["Q0003", "Q0001", "Q0003"])
    assert [(job.quote_number, job.figures.days_counted) for job in jobs] == [("Q0003", 3), ("Q0001", 2)]


# The calendar


def test_the_calendar_is_read_back(desk, jobs):
    planned = visits(jobs, DAY, D(30))
    calendar = Calendar.from_ical(calendar_of(desk.card().firm, planned, datetime(2027, 6, 1, tzinfo=UTC)))
    assert calendar["VERSION"] == "2.0" and calendar["PRODID"]
    events = calendar.walk("VEVENT")
    assert [(event.decoded("DTSTART"), event.decoded("DTEND")) for event in events] == [
        (v.arrive, v.done) for v in planned
    ]
    assert len({str(event["UID"]) for event in events}) == len(events) == 5
    assert str(events[1]["LOCATION"]) == HOSTILE and HOSTILE in str(events[1]["SUMMARY"])
    again = Calendar.from_ical(calendar_of(desk.card().firm, planned)).walk("VEVENT")
    assert [event["UID"] for event in again] == [event["UID"] for event in events]


def test_a_client_starts_no_event_of_their_own(desk, jobs):
    """RFC 5545, 3.3.11: a line feed in text is written as \\n."""
    request = replace(jobs[0].request, client="A\r\nEND:VEVENT\r\nBEGIN:VEVENT", venue="B\nX-OTHER:1")
    planned = visits([replace(jobs[0], request=request)], DAY, D(30))
    file = calendar_of(desk.card().firm, planned)
    assert len(Calendar.from_ical(file).walk("VEVENT")) == 2
    assert b"\r\nX-OTHER" not in file


# The command


def run(desk, *arguments):
    return CliRunner().invoke(main, ["day", "--desk", str(desk.folder), *arguments])


def test_the_command_writes_both_files_or_neither(desk, tmp_path):
    output, calendar = tmp_path / "day.xlsx", tmp_path / "day.ics"
    arguments = [str(DAY), "--quote", "Q0001", "-o", str(output), "--ics", str(calendar)]
    result = run(desk, *arguments)
    assert result.exit_code == 0, result.output
    assert output.exists() and calendar.exists()
    output.unlink()
    assert run(desk, *arguments).exit_code == 2 and not output.exists()
    assert run(desk, *arguments, "--overwrite").exit_code == 0 and output.exists()


def test_a_day_without_jobs_writes_nothing(desk, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    result = run(desk, "2027-07-01")
    assert result.exit_code == 0
    assert re.match(r"Nothing is agreed for (July 1,|1 July) 2027\. .* 2027-07-01 --quote", result.output)
    assert list(tmp_path.iterdir()) == []


REFUSED = {
    "a quote of another day": (
        ["2027-06-20", "--quote", "Q0001"],
        "Q0001 is set up on 12 June 2027 and struck on 12 June 2027",
    ),
    "no such quote": ([str(DAY), "--quote", "Q0099"], "no quote of that number was issued here"),
    "no time": ([str(DAY), "--set-up", "8 am"], "write it as 08:00"),
    "no speed": ([str(DAY), "--speed", "0"], "--speed is 0; allowed: a number from 1"),
}


@pytest.mark.parametrize(("arguments", "complaint"), REFUSED.values(), ids=REFUSED)
def test_what_cannot_be_done_is_refused(desk, arguments, complaint):
    result = run(desk, *arguments)
    assert result.exit_code == 2 and complaint in result.output


def test_a_job_that_lost_its_days_has_no_day_sheet(tmp_path):
    own = desks.init(tmp_path / "desk")
    card = own.card()
    issued, content = issue(own, card, requests(card, D(1))[0], next(own.numbers()), date(2027, 1, 4))
    back = retype(issued, tmp_path / "back.xlsx", content, {"days": D(0)})
    with pytest.raises(Misuse, match="has no date or no days of hire, and a day sheet needs both"):
        job_of_file(own, back)


def test_what_the_request_says_for_the_crew_is_on_the_job_s_sheet(tmp_path, monkeypatch):
    """The phone, when the event starts, and when the crew gets in, from the list; days have the month's name."""
    at = desks.init(tmp_path / "desk")
    monkeypatch.chdir(at.folder)
    (at.folder / "list.csv").write_text(
        "client,phone,event_date,surface,floor,starts at,access from,access until\n"
        "Avelie Marsh,+1 555 0100,2027-06-12,grass,OAK-44:16x20,18:30,13:00:00,16:00\n"
    )
    for command in (["issue", "--requests", "list.csv"], ["day", "2027-06-12", "--quote", "Q0001", "-o", "day.xlsx"]):
        done = CliRunner().invoke(main, command)
        assert done.exit_code == 0
    assert done.stdout.startswith("13:00 to ")  # the set-up is planned by it
    book = openpyxl.load_workbook("day.xlsx")
    said = [text for text in texts(book["Q0001"]) if isinstance(text, str)]
    for label, text in {
        "Phone": "+1 555 0100",
        "Starts at": "18:30",
        "Access from": "13:00",
        "Access until": "16:00",
    }.items():
        assert said[said.index(label) + 1] == text
    assert "Day sheet June 12, 2027" in texts(book["2027-06-12"])
    assert any("June 12, 2027" in text for text in said)
