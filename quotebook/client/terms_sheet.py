"""The sheet of terms, and of the cautions that apply, live."""

from quotebook.client.quote_sheet import set_up_page
from quotebook.contract import formulas

NUMBER, TEXT = 1, 2
WIDTHS = (1.5, 4, 100, 1.5)

ALWAYS_FIRST = ("slippery", "tax", "bevel")
"""Cautions that most quotes have: the empty rows of the others stay below them."""
CAUTIONS = (*ALWAYS_FIRST, *(key for key in formulas.CAUTIONS if key not in ALWAYS_FIRST))


def write_terms(pen, draft) -> None:
    pen.columns(WIDTHS)
    pen.sheet.set_row(0, 24)
    pen.text(0, NUMBER, draft.text("terms_title"), "page_title")
    row = 2
    for number, term in enumerate(draft.issue.terms, 1):
        pen.text(row, NUMBER, f"{number}.", "number")
        pen.text(row, TEXT, term, "wrapped")
        pen.fit(row, TEXT, term, "wrapped")
        row += 1
    row = _cautions(pen, draft, row + 1)
    set_up_page(pen, draft, row, TEXT + 1)


def _cautions(pen, draft, row: int) -> int:
    words = draft.words["cautions"]
    pen.text(row, NUMBER, draft.text("cautions_title"), "heading", to=TEXT)
    pen.text(row + 1, NUMBER, words["defer"], "quiet_wrapped", to=TEXT)
    pen.fit(row + 1, NUMBER, words["defer"], "quiet_wrapped", to=TEXT)
    row += 2
    for key in CAUTIONS:
        name = f"caution_{key}"
        pen.figure(name, row, TEXT, draft.formulas[name], draft.results[name], "wrapped")
        pen.fit(row, TEXT, words[key], "wrapped")
        row += 1
    return row
