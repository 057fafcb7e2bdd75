"""Proves a workbook before it leaves: its own formulas, worked out as its file has them, against the engine.

The two arithmetics are written apart, and no sheet of figures is sent before they have been held against each other.
"""

from collections.abc import Mapping

from quotebook.contract.stamp import Content
from quotebook.contract.wording import shown
from quotebook.errors import NotProved
from quotebook.evaluation.agreement import agrees
from quotebook.evaluation.evaluation import Evaluation
from quotebook.spreadsheets.cells import CellAddress, Workbook
from quotebook.spreadsheets.formula_text import names_in


def prove(workbook: Workbook, content: Content, quote: str) -> None:
    """Hold every figure that the workbook's formulas make against the engine's, which `content` has.

    `workbook` is the file as it was read back. Raises NotProved with a figure that differs.
    """
    evaluation = Evaluation(workbook)
    figures = (
        (name, evaluation.cell(CellAddress(*content.places[name])), due) for name, due in content.results.items()
    )
    wrong = {name: (found, due) for name, found, due in figures if not agrees(found, due)}
    if wrong:
        name = _where_it_begins(wrong, content.formulas)
        found, due = (shown(name, value) or "blank" for value in wrong[name])
        raise NotProved(
            f"{quote} was not issued, and nothing was recorded: for {name} its workbook comes to {found} and the "
            f"engine to {due}. This is a fault of quotebook: report it with the request and the rate card."
        )


def _where_it_begins(wrong: Mapping[str, object], formulas: Mapping[str, str]) -> str:
    """The first wrong figure that rests on no other."""
    reads_none = (name for name in wrong if not wrong.keys() & {*names_in(formulas[name])} - {name})
    return next(reads_none, next(iter(wrong)))
