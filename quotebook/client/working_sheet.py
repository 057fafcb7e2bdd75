"""The sheet that works the price out: every figure in the order it is reached, by line, in words."""

from quotebook.client.quote_sheet import LINE_FIGURES, TOTALS, set_up_page
from quotebook.contract import formulas
from quotebook.contract.vocabulary import JOINED, OWNER, on_line
from quotebook.drawing import text_size as measure
from quotebook.engine.model import LINES

MONEY = {"rate", "piece_rate", "corner_rate", "sheet_rate", "hire", "edging", "subfloor", *TOTALS}
LABEL, NAME, FIRST_LINE, GAP, WORDS = 1, 2, 3, 3 + LINES, 4 + LINES
ON_FRONT = {name for name, _ in LINE_FIGURES} | set(TOTALS)
"""Figures whose home is the first sheet; here they are only shown."""
LABEL_WIDTH, LINE_WIDTH, WORDS_WIDTH = 28, 9.5, 70
PER_LINE = [*formulas.LINE]
_AT = PER_LINE.index("floor_width_#")
PER_LINE[_AT:_AT] = JOINED
"""What is shown of each line: its figures and, before the floor's own size, what the owner set of it."""
ON_CARD = ("laying", "subfloor_kind")
"""Figures that are words: they wrap where a number would shrink."""


def write_working(pen, draft) -> None:
    longest = max(measure.text_width(name, 8) for name in (*formulas.LINE, *formulas.QUOTE))
    pen.columns((1.5, LABEL_WIDTH, measure.digits(longest), *(LINE_WIDTH,) * LINES, 1.5, WORDS_WIDTH, 1.5))
    pen.sheet.set_row(0, 24)
    pen.text(0, LABEL, draft.text("working_title"), "page_title")
    pen.text(1, LABEL, draft.text("working_hint"), "quiet", to=WORDS)
    row = _heading(pen, draft, 3, "per_line", [f"{draft.text('line')} {line}" for line in range(1, LINES + 1)])
    for name in PER_LINE:
        stem = name.removesuffix("_#")
        _words(pen, draft, row, stem, name)
        for line in range(1, LINES + 1):
            _figure(pen, draft, row, FIRST_LINE + line - 1, on_line(name, line), stem, name in ON_FRONT)
        for text in _words_in(draft, stem):
            pen.fit(row, FIRST_LINE, text, "row_word")
        row += 1
    row = _heading(pen, draft, row + 1, "whole_quote", [""] * LINES)
    for name in formulas.QUOTE:
        _words(pen, draft, row, name, name)
        _figure(pen, draft, row, FIRST_LINE, name, name, name in ON_FRONT, to=FIRST_LINE + 1)
        for column in range(FIRST_LINE + 2, GAP):
            pen.text(row, column, "", "row")
        row += 1
    pen.sheet.freeze_panes(4, FIRST_LINE)
    pen.sheet.repeat_rows(0, 3)
    set_up_page(pen, draft, row, WORDS + 1)


def _heading(pen, draft, row: int, title: str, columns: list[str]) -> int:
    for column, text in ((LABEL, draft.text(title)), (NAME, draft.text("name")), (WORDS, draft.text("in_words"))):
        pen.text(row, column, text, "column")
        pen.fit(row, column, text, "column")
    for column, text in enumerate((*columns, ""), FIRST_LINE):
        pen.text(row, column, text, "column_right")
        pen.fit(row, column, text, "column_right")
    return row + 1


def _words(pen, draft, row: int, stem: str, name: str) -> None:
    words = draft.words["explained"][stem]
    pen.text(row, LABEL, draft.label(stem), "row")
    pen.fit(row, LABEL, draft.label(stem), "row")
    pen.text(row, NAME, name, "row_quiet")
    pen.text(row, GAP, "", "row")
    pen.text(row, WORDS, words, "row_text")
    pen.fit(row, WORDS, words, "row_text")


def _words_in(draft, stem: str) -> list[str]:
    """What a figure that is a word may come to."""
    if stem == "laying":
        return [*draft.dictionary.layings.values()]
    return [sheet.subfloor_kind for sheet in draft.issue.rates.subfloors] if stem == "subfloor_kind" else []


def _figure(pen, draft, row: int, column: int, name: str, stem: str, elsewhere: bool, to: int | None = None) -> None:
    style, kind = "row_word" if stem in ON_CARD else "row_figure", "money" if stem in MONEY else ""
    if name in OWNER:
        pen.owner(name, row, column, draft.joined[name], style)
    elif elsewhere:
        pen.mirror(row, column, name, draft.results[name], style, kind, to)
    else:
        pen.figure(name, row, column, draft.formulas[name], draft.results[name], style, kind, to)
