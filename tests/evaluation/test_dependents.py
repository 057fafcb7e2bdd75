"""What rests on a change, of formulas that are written out by what they read."""

import pytest
from by_hand import workbook

from quotebook.evaluation.dependents import MOST_RANGES, Dependents
from quotebook.evaluation.evaluation import Changes, Evaluation
from quotebook.spreadsheets.cells import CellAddress, CellRange, position_of


def at(place):
    return CellAddress("Sheet", *position_of(place))


def area(first, last):
    return CellRange("Sheet", *position_of(first), *position_of(last))


READS = {
    at("B1"): [at("A1"), at("A1")],
    at("B2"): [area("A1", "A9")],
    at("B3"): ["rate", at("A3")],
    at("C1"): [at("B1")],
    at("C2"): [area("B2", "B3")],
    at("D1"): [at("C1"), at("D2")],
    at("D2"): [at("D1")],
}
"""D1 and D2 read each other."""
NAMED = {"rate": at("F1"), "elsewhere": None}


@pytest.mark.parametrize(
    ("cells", "names", "direct", "through_others"),
    [
        (["A1"], [], ["B1", "B2"], ["C1", "C2", "D1", "D2"]),
        (["A3"], [], ["B2", "B3"], ["C2"]),
        (["A5"], [], ["B2"], ["C2"]),
        ([], ["rate"], ["B3"], ["C2"]),
        (["B1"], ["rate"], ["B3", "C1"], ["C2", "D1", "D2"]),
        (["D1"], [], ["D2"], []),
        (["E1"], ["other"], [], []),
        (["F1"], [], ["B3"], ["C2"]),
    ],
)
def test_dependents(cells, names, direct, through_others):
    changed, dependents = [at(place) for place in cells], Dependents(READS, NAMED)
    assert dependents.direct(changed, names) == {at(place) for place in direct}
    assert dependents.all(changed, names) == {at(place) for place in [*cells, *direct, *through_others]}


def test_formulas_that_are_new_are_known():
    reads = dict(READS)
    dependents = Dependents(reads, NAMED)
    assert dependents.direct([at("E1")], []) == set()
    reads[at("E2")] = [at("E1")]
    assert dependents.direct([at("E1")], []) == {at("E2")}


def test_of_very_many_ranges_everything_rests_on_a_change():
    reads = {at(f"B{row}"): [area(f"A{row}", f"A{row + 1}")] for row in range(1, MOST_RANGES + 2)}
    assert Dependents(reads, NAMED).direct([at("A1")], []) == {at("B1")}
    assert Dependents(reads, NAMED).all([at("A1")], []) == {at("A1"), *reads}


def test_a_changed_name_leads_elsewhere_on_every_sheet():
    names = {"miles": "Sheet!$A$1", "rate": "Sheet!$A$1", "both": "Sheet!$A$1:$A$2"}
    cells = {"A1": 1, "A2": 2, "A3": 30, "B1": "=miles*2", "B2": "=rate*2", "B3": "=SUM(both)", "B4": "=A1+1"}
    before = Evaluation(workbook(cells, names, local=[("Sheet", "rate", "Sheet!$A$2")]))
    places = [at(place) for place in ("B1", "B2", "B3", "B4")]
    assert [before.cell(place) for place in places] == [2, 4, 3, 2]
    elsewhere = {"miles": area("A3", "A3"), "rate": area("A3", "A3"), "both": area("A2", "A3")}
    after = before.with_changes(Changes(names=elsewhere))
    assert [after.cell(place) for place in places] == [60, 60, 32, 2]
