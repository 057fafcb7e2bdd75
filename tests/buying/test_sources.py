"""Requests of a desk: read quickly where they are as they were issued, and the same as by reading each workbook."""

import shutil
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal as D

import openpyxl
import pytest

from quotebook import desk
from quotebook.bookings.archive import open_ledger
from quotebook.bookings.corrections import rename
from quotebook.bookings.decisions import agree, issue_and_record
from quotebook.bookings.jobs import job_of_file
from quotebook.buying import sources
from quotebook.engine.model import FloorLine, Request

LINES = (FloorLine("OAK-44", D(16), D(20), edging_wanted=True), FloorLine("WHITE-23", D("10.5"), D(12)))


@pytest.fixture(scope="module")
def asked_at_a_desk(tmp_path_factory):
    """A quote that is open, one agreed by telephone, and one agreed with a wider floor that its client entered."""
    at = desk.init(tmp_path_factory.mktemp("sources") / "desk")
    card, ledger, numbers = at.card(), open_ledger(at), at.numbers()
    for week in range(3):
        asked = Request(
            client="Avelie Marsh", event_date=date(2027, 6, 5) + timedelta(7 * week), days=D(1 + week), surface="grass",
            miles=D("22.5"), flights=D(week), discount_share=D("0.05"), lines=LINES,
        )  # fmt: skip
        path, _ = issue_and_record(at, ledger, card, asked, next(numbers), date(2027, 1, 4))
        if week == 1:
            agree(at, ledger, card, path, today=date(2027, 1, 5), said_yes="by telephone")
        if week == 2:
            agree(at, ledger, card, widened(path, at.folder / "post" / "wider.xlsx"), today=date(2027, 1, 5))
    return at


def widened(path, to):
    """A copy whose client entered 20 ft for the first floor's width and accepted, in a program that keeps all else."""
    to.parent.mkdir(exist_ok=True)
    book = openpyxl.load_workbook(path)
    for name, value in {"width_1": 20, "accepted": "yes"}.items():
        [(sheet, cell)] = book.defined_names[name].destinations
        book[sheet][cell].value = value
    book.save(to)
    return to


def read_in_full(at):
    ledger = open_ledger(at)
    for quote in ledger.listed():
        agreement = ledger.life(quote.quote_number).holding
        path = (
            sources.returned_path(at, agreement.sha256)
            if agreement
            else at.issued_path(quote.quote_number, quote.revision)
        )
        yield replace(job_of_file(at, path).request)


def test_as_each_workbook_says(asked_at_a_desk, monkeypatch):
    at, full = asked_at_a_desk, []
    monkeypatch.setattr(sources, "job_of_file", lambda desk, path: full.append(path) or job_of_file(desk, path))
    found = sources.requests_of_desk(at, open_ledger(at), at.card(), 2027)
    assert [asked.request for asked in found] == [
        replace(request, lines=tuple(line for line in request.lines if line.panel)) for request in read_in_full(at)
    ]
    assert [asked.outcome for asked in found] == ["lost", "agreed", "agreed"]
    assert found[2].request.lines[0].width == 20
    assert len(full) == 1  # only what a client changed is read in full


def test_a_copy_that_a_program_saved_anew_is_read_in_full(asked_at_a_desk, tmp_path, monkeypatch):
    """Its texts stand in another order, or it may not be signed by this desk: then the whole file is looked at."""
    at = desk.Desk(tmp_path / "desk")
    shutil.copytree(asked_at_a_desk.folder, at.folder)
    before = sources.requests_of_desk(at, open_ledger(at), at.card(), 2027)
    path = at.issued_path("Q0001", 1)
    book = openpyxl.load_workbook(path)
    book.move_sheet("stamp", -10)
    book["stamp"].insert_rows(1)
    book["stamp"]["A1"].value = "A note among the texts that are signed."
    book["stamp"]["B3"].value = "Another."
    book.save(path)
    assert sources.requests_of_desk(at, open_ledger(at), at.card(), 2027) == before
    full = []
    monkeypatch.setattr(sources, "job_of_file", lambda desk, path: full.append(path) or job_of_file(desk, path))
    sources.requests_of_desk(at, open_ledger(at), at.card(), 2027)
    assert path in full


def test_by_the_codes_of_now(asked_at_a_desk, tmp_path):
    """A kind that was renamed is asked for by its new code; one that is gone is marked, and any kind stands for it."""
    at = desk.Desk(tmp_path / "desk")
    shutil.copytree(asked_at_a_desk.folder, at.folder)
    card, ledger = at.card(), open_ledger(at)
    kinds = tuple(replace(each, panel="OAK-4") if each.panel == "OAK-44" else each for each in card.rates.kinds)
    kinds = tuple(each for each in kinds if each.panel != "WHITE-23")
    holdings = {code.replace("OAK-44", "OAK-4"): each for code, each in card.holdings.items() if code != "WHITE-23"}
    later = replace(card, rates=replace(card.rates, kinds=kinds), holdings=holdings)
    assert all(asked.kinds_gone for asked in sources.requests_of_desk(at, ledger, later, 2027))
    rename(at, ledger, later, "OAK-44", "OAK-4")
    found = sources.requests_of_desk(at, ledger, later, 2027)
    assert [[line.panel for line in asked.request.lines] for asked in found] == [["OAK-4", kinds[0].panel]] * 3
    assert all(asked.kinds_gone for asked in found)


@pytest.mark.parametrize(("picked", "panel"), [("", "OAK-44"), ("B", "WHITE-23")])
def test_of_options_the_one_that_is_picked_is_played_or_the_first(tmp_path, picked, panel):
    at = desk.init(tmp_path / "desk")
    lines = tuple(replace(line, option=option) for line, option in zip(LINES, "AB", strict=True))
    asked = Request(event_date=date(2029, 6, 2), days=D(1), surface="grass", lines=lines, picked=picked)
    issue_and_record(at, open_ledger(at), at.card(), asked, "Q0001", date(2027, 1, 4))
    [found] = sources.requests_of_desk(at, open_ledger(at), at.card(), 2029)
    assert [line.panel for line in found.request.lines] == [panel]
