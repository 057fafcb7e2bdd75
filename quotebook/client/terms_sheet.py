"""The sheet of terms, and of the cautions that apply; the cautions follow the entries."""

import re

from quotebook.client.draft import QuoteDraft
from quotebook.client.page import set_up_page
from quotebook.contract import note_formulas
from quotebook.contract.formulas import quoted
from quotebook.contract.stamp import Content
from quotebook.contract.words import caution_source
from quotebook.drawing.sheet_writer import SheetWriter

NUMBER, TEXT, SOURCE = 1, 2, 3
WIDTHS = (1.5, 4, 72, 28, 1.5)

_TERM = re.compile(r"\d+\.")
"""The number in front of a term."""

ALWAYS_FIRST = ("exits", "cables", "slippery", "cleaning", "tax", "bevel")
"""Cautions that most quotes have, so that the empty rows of the others come below them."""
CAUTIONS = (*ALWAYS_FIRST, *(key for key in note_formulas.CAUTIONS if key not in ALWAYS_FIRST))


def write_terms(writer: SheetWriter, draft: QuoteDraft) -> None:
    """Writes the whole sheet: the numbered terms, then the cautions."""
    writer.columns(WIDTHS)
    writer.sheet.set_row(0, 24)
    writer.text(0, NUMBER, draft.text("terms_title"), "page_title")
    row = 2
    for number, term in enumerate(draft.issue.terms, 1):
        writer.text(row, NUMBER, f"{number}.", "number")
        writer.text(row, TEXT, term, "wrapped", to=SOURCE)
        writer.fit(row, TEXT, term, "wrapped", to=SOURCE)
        row += 1
    row = _cautions(writer, draft, row + 1)
    set_up_page(writer, draft, row, SOURCE + 1)


def terms_written(content: Content) -> tuple[str, ...]:
    """The terms that a quote was issued with, in their order; none if its sheet of terms is another version's."""
    for cells in content.fixed.values():
        texts = {(row, column): text for row, column, text in cells}
        numbered = [row for (row, column), text in texts.items() if column == NUMBER + 1 and _TERM.fullmatch(str(text))]
        if numbered:
            return tuple(str(texts[row, TEXT + 1]) for row in sorted(numbered) if (row, TEXT + 1) in texts)
    return ()


def _cautions(writer: SheetWriter, draft: QuoteDraft, row: int) -> int:
    """Writes a row for every caution with its source, blank where it does not apply; returns the row after the last."""
    words = draft.words["cautions"]
    writer.text(row, NUMBER, draft.text("cautions_title"), "heading", to=SOURCE)
    writer.text(row + 1, NUMBER, words["defer"], "quiet_wrapped", to=SOURCE)
    writer.fit(row + 1, NUMBER, words["defer"], "quiet_wrapped", to=SOURCE)
    row += 2
    for key in CAUTIONS:
        name = f"caution_{key}"
        writer.figure(name, row, TEXT, draft.formulas[name], draft.results[name], "wrapped")
        writer.fit(row, TEXT, words[key], "wrapped")
        source = caution_source(key, draft.issue.firm)
        if source:
            shown = source if draft.results[name] else ""
            writer.mirror(row, SOURCE, f'IF({name}="","",{quoted(source)})', shown, "small_wrapped")
            writer.fit(row, SOURCE, source, "small_wrapped")
        row += 1
    return row
