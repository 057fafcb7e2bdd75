"""A sample of the edits of `test_every_edit.py`, made and worked out by real spreadsheet programs."""

from decimal import Decimal as D

import hands
import pytest
from hands import steps
from soffice import Job
from test_check import TOTAL, Quote


@pytest.fixture(scope="module")
def issued(tmp_path_factory):
    return Quote(tmp_path_factory.mktemp("programs"))


ENTRIES, FIGURES = (
    ("panel", "width", "length", "edging_wanted"),
    ("floor_said", "panels", "hire", "edging", "subfloor"),
)
LINE_2 = {f"{name}_2" for name in (*ENTRIES, *FIGURES)}


def typed(name, value):
    """What is typed over a named cell."""
    return lambda issued: steps(issued.content.places, {name: value})


def deleted(name, down=0):
    """The row of a named cell deleted, or one below it."""
    return lambda issued: [["delete_rows", issued.places[name].sheet, issued.places[name].row + down, 1]]


def meaning(step, name, other, *more):
    """A name given the meaning of another."""

    def told(issued):
        place = issued.places[other]
        return [[step, name, *more, f"$'{place.sheet}'.${place.cell.rstrip('0123456789')}${place.row}"]]

    return told


EDITS = {
    "a row inserted": ([["insert_rows", "Quote", 10, 3]], [], 0),
    "rows and columns inserted everywhere": (
        [
            ["insert_rows", "Quote", 2, 1],
            ["insert_columns", "Quote", 2, 2],
            ["insert_rows", "Terms and cautions", 4, 1],
            ["insert_rows", "How it is worked out", 9, 2],
            ["insert_columns", "Floor plan", 1, 1],
            ["insert_columns", "Rates", 2, 1],
            ["insert_rows", "Rates", 8, 1],
            ["insert_rows", "Rates", 21, 2],
        ],
        [],
        0,
    ),
    "a blank column deleted": ([["delete_columns", "Quote", 14, 1]], [], 0),
    "a floor line deleted": (deleted("width_2"), ["row-deleted"], None),
    "a panel kind deleted": (deleted("kinds_panel", 1), ["row-deleted"], ...),
    "a sheet renamed": ([["rename_sheet", "Rates", "Our rates"]], ["sheet-renamed"], 0),
    "a sheet copied": ([["copy_sheet", "Quote", "Quote 2"]], ["sheet-added"], 0),
    "a sheet deleted": ([["delete_sheet", "Terms and cautions"]], ["sheet-missing"], 0),
    "the rates deleted": ([["delete_sheet", "Rates"]], ["sheet-missing"], None),
    "a sheet hidden": ([["hide_sheet", "Rates"]], ["sheet-hidden"], 0),
    "a name deleted": ([["forget_name", "tax_rate"]], ["name-missing"], None),
    # Tax at the waiver's 8 %: 243.03, not 208.85.
    "a name pointed elsewhere": (meaning("point_name", "tax_rate", "waiver_share"), ["name-redirected"], "34.18"),
    "a name doubled": (meaning("double_name", "tax_rate", "waiver_share", "Quote"), ["name-doubled"], "34.18"),
    "a formula typed over": (typed("delivery", D(0)), ["formula-replaced"], "-119.46"),
    "a formula altered": (typed("total", "=goods"), ["formula-altered"], "-589.11"),
    "a rate changed": (typed("waiver_share", D("0.1")), ["rate-changed"], "58.52"),
    "a rate cleared": (typed("waiver_share", ""), ["rate-changed"], "-234.09"),
    "a rate as a text": (typed("crew", "two"), ["rate-changed"], None),
    "an entry as a text": (typed("days", "two"), ["input-invalid"], "-3361.35"),
    "a code changed": (typed("kinds_panel", "4x4 oak"), ["rate-changed"], ...),
    "a word changed": (typed("word_yes", "yes please"), ["rate-changed"], ...),
    "a term changed": ([["type_in", "Terms and cautions", 3, 3, "Pay whenever you like."]], ["text-changed"], 0),
    "a line added": (lambda i: [["type_in", "Quote", i.places["balance"].row + 2, 12, -200.0]], ["cell-added"], 0),
}
"""The steps, the kinds of finding, and what it does to the total: None for no total, ... where not worked by hand."""


AT_LENGTH = (
    "a row inserted", "a panel kind deleted", "a sheet copied", "the rates deleted", "a name doubled", "a rate cleared",
    "a rate as a text", "a code changed", "a word changed",
)  # fmt: skip
"""Edits of which the normal run has another of their kind, or of which `test_every_edit` has many: with --slow."""


@pytest.fixture(scope="module")
def edited(issued, by_libreoffice, tmp_path_factory, request):
    """What LibreOffice saves after each edit."""
    folder, at_length = tmp_path_factory.mktemp("edited"), request.config.getoption("--slow")
    jobs = {
        what: Job(
            issued.path,
            folder / f"{number}.{'ods' if number % 4 == 3 else 'xlsx'}",
            told(issued) if callable(told) else told,
        )
        for number, (what, (told, *_)) in enumerate(EDITS.items())
        if at_length or what not in AT_LENGTH
    }
    by_libreoffice([*jobs.values()])
    return {what: job.target for what, job in jobs.items()}


@pytest.mark.parametrize(
    "what", [pytest.param(what, marks=[pytest.mark.slow] if what in AT_LENGTH else []) for what in EDITS]
)
def test_edited_in_libreoffice(issued, edited, what):
    _, kinds, effect = EDITS[what]
    report = issued.check(edited[what])
    assert [finding.kind for finding in report.findings] == kinds
    assert report.state in ("consistent", None)
    if effect is None:
        assert report.sheet is None
    else:
        assert report.remainder == 0
        assert effect is ... or report.sheet - TOTAL == sum(f.effect or 0 for f in report.findings) == D(effect)


def test_where_a_deleted_line_was(issued, edited):
    [told] = issued.check(edited["a floor line deleted"]).findings
    row = issued.places["width_2"].row
    assert (told.name, told.sheet, told.cell) == ("panel_2", "Quote", f"A{row}")
    assert told.message.startswith(f"Quote, row {row}: deleted, with ")
    for name in ("panel_2", "width_2", "length_2", "edging_wanted_2"):
        assert f"({name})" in told.message
    gone = {name for name, place in issued.places.items() if (place.sheet, place.row) == ("Quote", row)}
    assert gone == LINE_2 and f" and {len(gone) - 3} more" in told.message  # and the line's number


def test_a_program_that_leaves_names_behind(issued, tmp_path):
    """IronCalc 0.9 moves cells and not names when rows are inserted: formulas then read other cells."""

    def insert(hand):
        hand.model.insert_rows(hand.sheet("Quote"), issued.places["days"].row, 1)

    report = issued.check(hands.by_ironcalc(issued.path, tmp_path / "back.xlsx", issued.content.places, insert))
    assert report.verdict == "disputed" and "name-redirected" in {finding.kind for finding in report.findings}


def test_sheets_in_ironcalc(issued, tmp_path):
    edits = {
        "sheet-renamed": lambda hand: hand.model.rename_sheet(hand.sheet("Rates"), "Our rates"),
        "sheet-hidden": lambda hand: hand.model.set_sheet_state(hand.sheet("Rates"), "hidden"),
    }
    for kind, edit in edits.items():
        report = issued.check(hands.by_ironcalc(issued.path, tmp_path / "back.xlsx", issued.content.places, edit))
        assert [finding.kind for finding in report.findings] == [kind] and report.state == "consistent"
