"""What a spreadsheet program lets a client type into a quote, as openpyxl reads it from the workbook."""

from dataclasses import replace
from decimal import Decimal as D

import openpyxl
import pytest
from worked_example import FIRM, PAPERS, RATES, REQUEST

from quotebook.client.draft import Issue
from quotebook.client.workbook import write_quote
from quotebook.contract.words import LANGUAGES, words_in
from quotebook.engine.model import LINES

ISSUED_ON = D(46391)  # 4 January 2027: 46193, which is 20 June 2026, and 198 days
RULES = {
    "event_date": ("date", "greaterThanOrEqual", ISSUED_ON, None),
    "days": ("whole", "between", D(1), D(100000)),
    "guests": ("whole", "between", D(0), D(100000)),
    "flights": ("whole", "between", D(0), D(100000)),
    "miles": ("decimal", "between", D(0), D(100000)),
    "room_width": ("decimal", "between", D(0), D(100000)),
    "room_length": ("decimal", "between", D(0), D(100000)),
    "surface": ("list", None, "surfaces", None),
    "after_hours": ("list", None, '"yes,no"', None),
    "waiver_taken": ("list", None, '"yes,no"', None),
    "raised": ("list", None, '"yes,no"', None),
    "accepted": ("list", None, '"yes,no"', None),
    "accepted_on": ("date", "greaterThanOrEqual", ISSUED_ON, None),
    "plan_line": ("list", None, '"1,2,3,4,5,6"', None),
}
LINE_RULES = {
    "panel": ("list", None, "kinds_panel", None),
    "width": ("decimal", "between", D(0), D(200)),
    "length": ("decimal", "between", D(0), D(200)),
    "edging_wanted": ("list", None, '"yes,no"', None),
}
TEXTS = {"client", "event", "venue", "accepted_by"}
"""Entries for a text of at most 200 characters."""


def rules_in(path, issue):
    """The data validation of every entry of a quote, by name; and how many there are in the workbook."""
    with path.open("wb") as file:
        content = write_quote(file, issue, b"key")
    names = {tuple(content.places[name]): name for name in content.inputs}
    found = {}
    for sheet in openpyxl.load_workbook(path):
        for rule in sheet.data_validations.dataValidation:
            for area in rule.sqref.ranges:
                found[names[sheet.title, area.min_row, area.min_col]] = rule_of(rule)
            assert rule.showErrorMessage and rule.errorStyle in (None, "stop") and rule.allow_blank, rule.sqref
    return found, content.inputs.keys()


def rule_of(rule):
    """Kind, operator and bounds; a rule without an operator means "between" (ECMA-376 part 1, 18.3.1.32)."""
    if rule.type == "list":
        return rule.type, None, rule.formula1, rule.formula2
    bounds = (bound and D(bound) for bound in (rule.formula1, rule.formula2))
    return rule.type, rule.operator or "between", *bounds


@pytest.fixture(scope="module")
def issue():
    return Issue(PAPERS, FIRM, RATES, REQUEST, terms=())


@pytest.fixture(scope="module")
def found(issue, tmp_path_factory):
    return rules_in(tmp_path_factory.mktemp("rules") / "quote.xlsx", issue)


@pytest.mark.parametrize(("name", "rule"), RULES.items())
def test_an_entry_about_the_event_or_the_answer(found, name, rule):
    assert found[0][name] == rule


@pytest.mark.parametrize("line", range(1, LINES + 1))
@pytest.mark.parametrize(("stem", "rule"), LINE_RULES.items())
def test_an_entry_of_a_floor_line(found, stem, rule, line):
    assert found[0][f"{stem}_{line}"] == rule


def test_every_other_entry_takes_a_text(found):
    rules, entries = found
    assert {name for name in entries if rules[name] == ("textLength", "lessThanOrEqual", D(200), None)} == TEXTS
    assert entries == rules.keys()
    assert rules["questions"] == (None, "between", None, None)


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_entry_says_what_goes_there_and_again_where_it_does_not(issue, tmp_path, language):
    path = tmp_path / "quote.xlsx"
    with path.open("wb") as file:
        content = write_quote(file, replace(issue, firm=replace(FIRM, language=language)), b"key")
    words, rules = words_in(language), {}
    for sheet in openpyxl.load_workbook(path):
        for rule in sheet.data_validations.dataValidation:
            rules |= {(sheet.title, area.min_row, area.min_col): rule for area in rule.sqref.ranges}
    for name in content.inputs:
        rule = rules[tuple(content.places[name])]
        assert rule.showInputMessage and rule.prompt and "{" not in rule.prompt, name
        assert len(rule.prompt) <= 255 and 0 < len(rule.promptTitle) <= 32
        if rule.type:
            assert (rule.error, rule.errorTitle) == (rule.prompt, words["help"]["wrong"])


def test_the_largest_numbers_are_those_of_the_rates(issue, tmp_path):
    rates = replace(RATES, largest_entry=D(365), longest_side=D("60.5"))
    rules, _ = rules_in(tmp_path / "quote.xlsx", replace(issue, rates=rates))
    assert rules["days"] == ("whole", "between", D(1), D(365))
    assert rules["width_6"] == rules["length_6"] == ("decimal", "between", D(0), D("60.5"))


def test_yes_and_no_are_the_workbooks_own_words(issue, tmp_path):
    rules, _ = rules_in(tmp_path / "quote.xlsx", replace(issue, firm=replace(FIRM, language="fr")))
    assert rules["accepted"] == ("list", None, '"oui,non"', None)
