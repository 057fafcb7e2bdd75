"""How a figure came about: the numbers that a person would write down, and where the file and the issue part.

The worked example by hand: labour is (1.5 h + 1.0 h) x 2 people x 31.40 = 157.00; at 12.00 an hour it is 60.00.
"""

import json
import re
from decimal import Decimal as D

import handmade
import pytest
import worked_example
from click.testing import CliRunner
from test_check import Quote

from quotebook.checking.check import returned_quote
from quotebook.checking.explanation import explain, in_words
from quotebook.checking.worked_out import WorkedOut
from quotebook.cli import main
from quotebook.errors import Misuse


@pytest.fixture(scope="module")
def issued(tmp_path_factory):
    return Quote(tmp_path_factory.mktemp("explained"))


def steps(quote, figure, path=None):
    return {step.name: step for step in explain(WorkedOut(returned_quote(path or quote.path, quote.desk)), figure)}


def edited(quote, edit):
    changed = quote.book.edit()
    edit(changed)
    return changed.save(quote.back)


BY_HAND = {
    "labour": ("157.00", "(1.5 + 1) x 2 x 31.40"),
    "total": ("3669.21", "3080.10 - 154.01 + 234.09 + 111.78 + 157.00 + 31.40 + 208.85"),
    "goods": ("3080.10", "1642.50 + 397.50 + 749.25 + 119.85 + 171.00"),
    "delivery": ("111.78", "1 x (85.00 + (the larger of 0 and 23.5 - 15) x 3.15)"),
    "hire_1": ("1642.50", "30 x 36.50 x 1.5"),
    "edging_1": ("119.85", "(22 x 3.25 + 4 x 2.10) x 1.5"),
    "setup_minutes": ("163.2", "43 + 34 + 16.2 + 7 x (6 + 1 x 4)"),
    "weight_2": ("582", "20 x 8.4 + 6 x 69"),
    "after_hours_charge": ("31.40", "1 x 2 x 31.40 x 0.5"),
    "balance": ("2201.53", "3669.21 - 1467.68"),
}


@pytest.mark.parametrize("figure", BY_HAND)
def test_a_figure_in_numbers(issued, figure):
    step = steps(issued, figure)[figure]
    assert (step.value, step.in_numbers) == BY_HAND[figure]
    assert step.issued == step.value and not step.parts_here


def test_it_goes_down_to_entries_and_rates(issued):
    found = steps(issued, "total")
    assert next(iter(found)) == "total"
    assert {"width_1", "days", "hourly_rate", "crew", "tax_rate", "surface", "panel_2"} <= found.keys()
    assert not any(step.parts_here for step in found.values())


def test_a_figure_that_is_another_one_is_not_said_to_equal_itself(issued):
    """A formula that is one figure in brackets has no working: `=` and the same number again would say nothing."""
    found = steps(issued, "total")
    path = edited(issued, lambda hand: hand.formula(issued.places["tax"], "(goods)"))
    [line] = [line for line in in_words(list(steps(issued, "tax", path).values())) if line.startswith("Sales tax")]
    assert line == "Sales tax (tax): 3080.10 [issued: 208.85]   <- changed here"
    assert all(step.in_numbers != step.value for step in found.values())


def test_a_file_of_no_desk_is_told_by_its_path(issued, tmp_path):
    """There is no telling what it was issued as, and which file that is comes first."""
    path = handmade.pack(tmp_path / "other.xlsx", handmade.parts('<row r="1"><c r="A1"><v>1</v></c></row>'))
    with pytest.raises(Misuse, match=f"^{re.escape(str(path))}: "):
        returned_quote(path, issued.desk)


def test_a_rate_that_was_changed_is_where_the_two_part(issued):
    path = edited(issued, lambda hand: hand.put(issued.places["hourly_rate"], D(12)))
    found = steps(issued, "labour", path)
    assert (found["labour"].value, found["labour"].issued) == ("60.00", "157.00")
    assert [name for name, step in found.items() if step.parts_here] == ["hourly_rate"]
    line = next(in_words(list(found.values())))
    assert line == "Labour (labour): 60.00 = (1.5 + 1) x 2 x 12.00 [issued: 157.00]"


def test_a_formula_that_was_altered_is_where_the_two_part(issued):
    path = edited(issued, lambda hand: hand.formula(issued.places["tax"], "taxable*tax_rate*0"))
    found = steps(issued, "total", path)
    assert [name for name, step in found.items() if step.parts_here] == ["tax"]
    assert found["tax"].in_numbers == "3037.87 x 0.06875 x 0"


def test_an_unlisted_function_says_which(issued):
    path = edited(issued, lambda hand: hand.formula(issued.places["tax"], "XIRR(taxable,tax_rate)"))
    assert "XIRR" in steps(issued, "total", path)["total"].value


def run(desk, *arguments):
    return CliRunner().invoke(main, ["explain", "--desk", str(desk.folder), *map(str, arguments)])


def test_by_number_and_as_json(issued):
    printed = json.loads(run(issued.desk, "--json", "Q0001", "deposit").stdout)
    first = printed["steps"][0]
    assert (first["name"], D(first["value"])) == ("deposit", worked_example.FIGURES.deposit)
    assert first["in_numbers"] == "3669.21 x 0.4"


@pytest.mark.parametrize(
    ("arguments", "status"),
    [
        (("Q0001", "profit"), 2), (("Q0001", "kinds_rate"), 2), (("Q0099",), 2),
        (("nothing.xlsx", "total"), 3),  # a file that cannot be read
    ],
)  # fmt: skip
def test_what_is_not_there_is_one_sentence(issued, arguments, status):
    told = run(issued.desk, *arguments)
    assert told.exit_code == status and told.stdout == "" and len(told.stderr.splitlines()) <= 2
