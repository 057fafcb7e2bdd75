"""The benchmark measures what it says: both sides of a row do the same work. Nothing here is timed."""

import zipfile
from functools import partial
from io import BytesIO
from xml.etree import ElementTree

import pytest
from benchmarks import books, size
from benchmarks.checking import parts_opened
from benchmarks.made import TODAY, asked
from benchmarks.measuring import Cost, Row, at_most, faster, in_turn
from benchmarks.plot import svg
from benchmarks.replay import record, replay

from quotebook import desk as desks
from quotebook.client.workbook import write_quote
from quotebook.quoting.issuing import issue_of


def test_xlsxwriter_alone_writes_the_very_cells_of_a_quote(tmp_path):
    """All parts but the properties, in which XlsxWriter lists the names once more."""
    desk = desks.init(tmp_path / "desk")
    issue, ours, again = issue_of(desk.card(), asked(desk.card(), 3)[2], "Q0001", TODAY), BytesIO(), BytesIO()
    replay(again, *record(partial(write_quote, ours, issue, desk.key())))
    theirs, own = (parts(file) for file in (again, ours))
    assert [name for name in own if theirs[name] != own[name]] == ["docProps/app.xml"]


def test_the_floor_of_a_check_parses_what_the_check_opens(tmp_path):
    desk = desks.init(tmp_path / "desk")
    path = tmp_path / "quote.xlsx"
    with path.open("wb") as file:
        write_quote(file, issue_of(desk.card(), asked(desk.card(), 1)[0], "Q0001", TODAY), desk.key())
    opened = parts_opened(path)
    assert {"xl/workbook.xml", "xl/sharedStrings.xml", "xl/worksheets/sheet1.xml"} < {*opened}
    assert len({*opened}) == len(opened) and "docProps/app.xml" not in opened


def parts(file):
    with zipfile.ZipFile(file) as package:
        return {name: package.read(name) for name in package.namelist()}


def test_pandas_comes_to_the_same_revenue(tmp_path):
    url = books.filled(tmp_path / "ledger.sqlite", 200)
    ours, theirs = books.ours(url), books.by_pandas(url)
    assert len(ours) == 36 and ours.sum().sum() > 0  # twelve months of three kinds
    assert ours.equals(theirs[ours.columns])


@pytest.mark.parametrize("template", ["rate_card.xlsx", "rate_card_metric.xlsx"])
def test_a_client_s_workbook_is_of_a_size_that_a_mail_takes(template, tmp_path):
    """Five kinds, twelve terms and six floors: what a mail server lets through and a telephone opens at once."""
    assert size.size(tmp_path, template) <= size.MOST


def test_works_are_taken_in_turn():
    done = []
    costs = in_turn({name: partial(done.append, name) for name in "AB"}, rounds=5)
    assert done == [*"ABABABABAB"] and costs.keys() == {*"AB"}


def test_a_reach_is_met_from_its_own_side():
    slow, quick = Cost(3, 3), Cost(1, 1)
    assert at_most("w", "b", 3, slow, quick, "in").reached and not at_most("w", "b", 2, slow, quick, "in").reached
    assert faster("w", "b", 3, quick, slow, "in").reached and not faster("w", "b", 4, quick, slow, "in").reached
    assert not Row("w", "b", 60_001, 60_000, unit="bytes").reached


def test_a_chart_has_every_point():
    chart = svg(
        "Cost", "files", "ms", {"<one>": {10: 2.0, 100: 3.0, 1000: 2.5}, "two": {10: 1.0, 1000: 1.0}}, by_tens=True
    )
    lines = [
        line.get("points").split()
        for line in ElementTree.fromstring(chart).iter("{http://www.w3.org/2000/svg}polyline")
    ]
    assert [len(points) for points in lines] == [3, 3, 2]  # the axes, then the series
    assert lines[1][1].startswith("320.0,")  # a hundred is half way from ten to a thousand
