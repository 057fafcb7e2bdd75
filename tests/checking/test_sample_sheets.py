"""What the check finds in each of the sample sheets, as it is printed for them."""

from datetime import date
from decimal import Decimal as D
from pathlib import Path

import pytest
from make_sample_sheets import FOLDER, KEY

from quotebook.checking.check import check_file
from quotebook.desk import Desk

TODAY = date(2026, 12, 1)
DESK = Desk(FOLDER / "desk")

SAMPLES = {
    "Q0001-accepted.xlsx": ("agrees", "consistent", []),
    "Q0001-saved-as.ods": ("agrees", "consistent", []),
    "Q0001-row-inserted.xlsx": ("agrees", "consistent", []),
    "Q0002-wider.xlsx": ("changed", "consistent", ["input-changed width_1", "input-changed guests"]),
    "Q0002-on-grass.xlsx": ("disputed", "consistent", ["input-changed surface", "input-invalid panel_2"]),
    "Q0002-no-figures.xlsx": ("agrees", "missing", ["not-recalculated total"]),
    "Q0003-rate-cut.xlsx": ("disputed", "consistent", ["rate-changed hourly_rate"]),
    "Q0003-line-added.xlsx": ("disputed", "consistent", ["cell-added "]),
    "Q0003-days-in-words.xlsx": ("disputed", "consistent", ["input-invalid days"]),
    "Q0004-total-typed-over.xlsx": ("disputed", "consistent", ["formula-replaced total"]),
    "Q0004-formula-altered.xlsx": ("disputed", "consistent", ["formula-altered delivery"]),
    "Q0005-option-b.xlsx": ("changed", "consistent", ["input-changed picked"]),
    "Q0004-stale.xlsx": ("changed", "stale", ["input-changed length_1", "not-recalculated total"]),
}
"""The verdict, the state of the figures, and the findings by kind and name."""


@pytest.fixture(scope="module")
def reports():
    return {name: check_file(FOLDER / name, DESK, TODAY) for name in SAMPLES}


@pytest.mark.parametrize("name", SAMPLES)
def test_findings(reports, name):
    report = reports[name]
    found = [f"{finding.kind} {finding.name}" for finding in report.findings]
    assert (report.verdict, report.state, sorted(found)) == (*SAMPLES[name][:2], sorted(SAMPLES[name][2]))
    assert name.startswith(report.quote)


def test_nothing_is_left_unexplained(reports):
    for report in reports.values():
        effects = sum(finding.effect or 0 for finding in report.findings)
        assert report.sheet is None or effects == report.sheet - report.issued


def test_what_was_typed_is_what_it_is_worth(reports):
    """A total typed over is worth the difference; 7.5 h x 2 people x (33.60 - 12) less for the labour."""
    [total] = reports["Q0004-total-typed-over.xlsx"].findings
    assert (
        reports["Q0004-total-typed-over.xlsx"].sheet
        == 900
        == reports["Q0004-total-typed-over.xlsx"].issued + total.effect
    )
    [rate] = reports["Q0003-rate-cut.xlsx"].findings
    assert rate.effect % (2 * (D("33.60") - 12)) == 0 and rate.effect < 0


def test_the_clients_answer_is_handed_on(reports):
    assert dict(reports["Q0001-accepted.xlsx"].replies) == {
        "accepted": "yes", "accepted_by": "Avelie Marsh", "questions": "Can you come before noon?",
    }  # fmt: skip


def test_samples_do_not_run_out():
    in_fifty_years = date(2076, 1, 1)
    assert check_file(FOLDER / "Q0001-accepted.xlsx", DESK, in_fifty_years).verdict == "agrees"


def test_each_sample_is_here_and_described():
    described = (FOLDER / "README.md").read_text()
    files = {path.name for path in FOLDER.glob("Q*.*")}
    assert files == SAMPLES.keys() and all(f"`{name}`" in described for name in files)
    assert DESK.key() == KEY and not list(Path(DESK.folder).rglob(".Q*"))
