"""Every formula of every workbook that is written here means the same in every spreadsheet program.

What programs differ in was measured: functions that some lack or read otherwise, and functions of an array inside
SUMPRODUCT, which one answers with an error. Formulas of cells, of conditional formats and of data validation count.
"""

import zipfile

import pytest
from click.testing import CliRunner
from lxml import etree

from quotebook.cli import main
from quotebook.evaluation.trees import Call, NotAFormula, Operation, tree_of

FUNCTIONS = {
    "SUM", "ROUND", "ROUNDUP", "IF", "AND", "OR", "NOT", "MIN", "MAX", "INDEX", "MATCH", "SUMPRODUCT", "LARGE", "SMALL",
    "IFERROR", "ABS", "INT", "MOD", "DATE", "YEAR", "MONTH", "ROW", "COLUMN", "FIXED",
}  # fmt: skip
OWNERS = FUNCTIONS | {"SUMIFS", "COUNTIFS", "NPV", "IRR", "PMT", "SLN"}
"""Those of the owner's own workbooks."""
OF_A_PLACE = {"ROW", "COLUMN"}
"""Functions that take no array, but a place."""
LONGEST = 8_192
"""Characters of a formula ("Excel specifications and limits")."""
FORMULAS = ("{*}f", "{*}formula", "{*}formula1", "{*}formula2")


def within(tree):
    """A tree's own parts."""
    return tree.arguments if isinstance(tree, Call) else (tree.left, tree.right) if isinstance(tree, Operation) else ()


def faults(tree, allowed, in_array=False):
    """What a formula has that not every program reads alike."""
    if isinstance(tree, Call):
        if tree.function not in allowed | {"-"}:
            yield f"{tree.function} is not listed"
        if in_array and tree.function not in OF_A_PLACE | {"-"}:
            yield f"{tree.function} inside SUMPRODUCT"
    for part in within(tree):
        yield from faults(part, allowed, in_array or (isinstance(tree, Call) and tree.function == "SUMPRODUCT"))


def formulas_in(path):
    """Each formula of a workbook, with the part that it stands in."""
    with zipfile.ZipFile(path) as package:
        for part in package.namelist():
            if part.startswith("xl/worksheets/") and part.endswith(".xml"):
                sheet = etree.fromstring(package.read(part))
                for tag in FORMULAS:
                    yield from ((part, element.text) for element in sheet.iter(tag) if element.text)


@pytest.fixture(scope="module")
def workbooks(tmp_path_factory):
    """Every kind of workbook, and which of them only the owner opens."""
    folder = tmp_path_factory.mktemp("all") / "demo"
    desk, owner = folder / "desk", folder / "owner"

    def run(*arguments):
        result = CliRunner().invoke(main, [str(argument) for argument in arguments])
        assert result.exit_code in (0, 1), result.output

    run("demo", folder)
    offered = ("--floor", "A=OAK-44:16x20", "--floor", "B=WHITE-23:16x21", "--floor", "C=OAK-34:9x8")
    run("issue", "--date", "2027-06-20", "--surface", "grass", *offered, "--desk", desk)
    owner.mkdir()
    run("revenue", "--from", "2026-12", "--to", "2027-11", "--desk", desk, "-o", owner / "revenue.xlsx")
    run("payback", "--desk", desk, "-o", owner / "payback.xlsx")
    run("stock", "--from", "2027-06-01", "--to", "2027-06-30", "--desk", desk, "-o", owner / "stock.xlsx")
    run("day", "2027-06-12", "--desk", desk, "-o", owner / "day.xlsx")
    run("break-even", "OAK-44", "WHITE-23", "--surface", "paving", "--desk", desk, "-o", owner / "break-even.xlsx")
    run("buy", "--season", "2027", "--redraws", "3", "--steps", "3", "--desk", desk, "-o", owner / "buy.xlsx")
    run("charge", "--season", "2027", "--desk", desk, "-o", owner / "charge.xlsx")
    return [path for path in folder.rglob("*.xlsx") if not path.name.startswith("~")]


def test_formulas_mean_the_same_in_every_program(workbooks):
    owners = {"revenue", "payback", "stock", "day", "break-even", "buy", "charge"}
    assert {"rate_card.xlsx", *(f"{name}.xlsx" for name in owners)} <= {path.name for path in workbooks}
    found, count = [], 0
    for path in workbooks:
        allowed = FUNCTIONS if path.name.startswith("Q") else OWNERS
        for part, formula in formulas_in(path):
            count += 1
            try:
                wrong = [*faults(tree_of(formula), allowed)]
            except NotAFormula as error:
                wrong = [str(error)]
            wrong += ["too long"] * (len(formula) > LONGEST)
            found += [f"{path.name} {part}: {formula}: {each}" for each in wrong]
    assert found == []
    assert any("picked" in formula for path in workbooks for _, formula in formulas_in(path))
    assert count > 2_000


@pytest.mark.parametrize(
    ("formula", "fault"),
    [
        ("SUMPRODUCT(MAX((a<=b)*a))", "MAX inside SUMPRODUCT"),
        ("1+SUMPRODUCT(a*ROUND(b,2))", "ROUND inside SUMPRODUCT"),
        ("IF(a,XLOOKUP(a,b,c),0)", "XLOOKUP is not listed"),
    ],
)
def test_a_formula_that_is_not_so_is_found(formula, fault):
    assert [*faults(tree_of(formula), FUNCTIONS)] == [fault]
