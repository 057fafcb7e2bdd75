"""The sheet of terms, and of the cautions that apply, live."""

from . import formulas
from .front import set_up_page

NUMBER, TEXT = 1, 2


def write_terms(pen, draft) -> None:
    for column, width in enumerate((1.5, 4, 100)):
        pen.sheet.set_column(column, column, width, pen.look("plain"))
    pen.text(0, NUMBER, draft.text("terms_title"), "page_title")
    row = 2
    for number, term in enumerate(draft.issue.terms, 1):
        pen.text(row, NUMBER, f"{number}.", "label")
        _sized(pen, row, term)
        pen.text(row, TEXT, term, "wrapped")
        row += 1
    pen.text(row + 1, NUMBER, draft.text("cautions_title"), "heading", to=TEXT)
    row += 2
    for key in formulas.CAUTIONS:
        name, sentence = f"caution_{key}", draft.words["cautions"][key]
        _sized(pen, row, sentence)
        pen.figure(name, row, TEXT, draft.formulas[name], draft.results[name], "wrapped")
        row += 1
    _sized(pen, row, draft.words["cautions"]["defer"])
    pen.text(row, TEXT, draft.words["cautions"]["defer"], "wrapped")
    set_up_page(pen, draft, row + 1, TEXT)


def _sized(pen, row: int, text: str) -> None:
    """Room for a wrapped text: programs do not all fit a row's height to it."""
    pen.sheet.set_row(row, 14 * (1 + len(text) // 105))
