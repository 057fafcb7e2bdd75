"""The sheet that explains the price: every figure in the order of calculation, for each line, and in words."""

from collections.abc import Sequence

from quotebook.client.draft import QuoteDraft
from quotebook.client.page import set_up_page
from quotebook.client.quote_sheet import ON_QUOTE_SHEET, TOTALS
from quotebook.contract import formulas, offer_formulas, option_formulas
from quotebook.contract.option_formulas import own_figures, suffix
from quotebook.contract.vocabulary import DUE_DAYS, JOINED, JOINED_AT, OWNER, on_every_line, on_line, stem_of
from quotebook.drawing import text_size
from quotebook.drawing.sheet_writer import SheetWriter
from quotebook.engine.model import LINES
from quotebook.engine.price import SUMMED

LINES_IN_ORDER = range(1, LINES + 1)
AMOUNTS = {"taxable", "rate", "piece_rate", "corner_rate", "sheet_rate", "hire", "edging", "subfloor", *TOTALS}
LABEL, NAME, FIGURES, GAP, EXPLANATION = 1, 2, 3, 3 + LINES, 4 + LINES
LABEL_WIDTH, LINE_WIDTH, EXPLANATION_WIDTH = 28, 9.5, 70
PER_LINE = (*formulas.LINE,)
"""The figures of each line."""
_FLOOR_SIZE = PER_LINE.index("floor_width_#")
"""The place of the size of the whole floor, before which are the owner's own figures for it."""
WORD_FIGURES = ("laying", "subfloor_kind", "panel_picked")
"""Figures that are words: they wrap where a number would shrink."""


def write_working(writer: SheetWriter, draft: QuoteDraft) -> None:
    """Writes the whole sheet: the figures of the floor lines side by side, then those of the whole quote."""
    row = _titles(writer, draft, draft.text("working_title"), draft.text("working_hint"))
    picked = (*option_formulas.LINE,) if draft.options else ()
    joined_at = JOINED_AT if draft.groups else ()
    row = _lines(writer, draft, row, [*picked, *PER_LINE[:_FLOOR_SIZE], *JOINED, *joined_at, *PER_LINE[_FLOOR_SIZE:]])
    of_options = (*option_formulas.QUOTE, "quickest_hours") if draft.options else ()
    row = _whole_quote(writer, draft, row + 1, [*formulas.QUOTE, *offer_formulas.QUOTE, *of_options])
    row = _candidates(writer, draft, row + 1)
    set_up_page(writer, draft, row, EXPLANATION + 1)


def write_working_of_option(writer: SheetWriter, draft: QuoteDraft, option: str) -> None:
    """Writes the figures of one option, whichever is picked: all that rest on the pick, and its floors in words."""
    hint = draft.words["option"]["working"].format(option=option)
    row = _titles(writer, draft, draft.words["sheets"]["option"].format(option=option), hint)
    end = suffix(option)
    row = _lines(writer, draft, row, [*option_formulas.LINE, *formulas.LINE, *offer_formulas.LINE], end)
    whole = [name for name in own_figures(draft.formulas) if stem_of(name) == name]
    row = _whole_quote(writer, draft, row + 1, whole, end)
    for name in on_every_line("floor_said_#", "notes_#"):
        _in_words(writer, draft, row, name, end)
        row += 1
    set_up_page(writer, draft, row, EXPLANATION + 1)


def _titles(writer: SheetWriter, draft: QuoteDraft, title: str, hint: str) -> int:
    """Sets up the columns, and writes the title and what the sheet is for; returns the row below."""
    longest = max(text_size.text_width(name, 8) for name in (*formulas.LINE, *formulas.QUOTE))
    writer.columns(
        (1.5, LABEL_WIDTH, text_size.column_width(longest), *(LINE_WIDTH,) * LINES, 1.5, EXPLANATION_WIDTH, 1.5)
    )
    writer.sheet.set_row(0, 24)
    writer.text(0, LABEL, title, "page_title")
    writer.text(1, LABEL, hint, "quiet", to=EXPLANATION)
    writer.sheet.freeze_panes(4, FIGURES)
    writer.sheet.repeat_rows(0, 3)
    return 3


def _lines(writer: SheetWriter, draft: QuoteDraft, row: int, names: Sequence[str], end: str = "") -> int:
    """Writes the figures of the floor lines side by side; `end` stands behind the names of those of an option."""
    row = _heading(writer, draft, row, "per_line", [f"{draft.text('line')} {line}" for line in LINES_IN_ORDER])
    for name in names:
        stem, elsewhere = name.removesuffix("_#"), not end and name in ON_QUOTE_SHEET
        _explanation(writer, draft, row, stem, name, end)
        for line in LINES_IN_ORDER:
            _figure(writer, draft, row, FIGURES + line - 1, on_line(name, line) + end, stem, elsewhere)
        for text in _possible_words(draft, stem):
            writer.fit(row, FIGURES, text, "row_word")
        row += 1
    return row


def _whole_quote(writer: SheetWriter, draft: QuoteDraft, row: int, names: Sequence[str], end: str = "") -> int:
    """Writes the figures of the whole quote, or of an option, one below the other."""
    row = _heading(writer, draft, row, "whole_quote", [""] * LINES)
    for name in names:
        _explanation(writer, draft, row, name, name, end)
        elsewhere = not end and name in ON_QUOTE_SHEET
        _figure(writer, draft, row, FIGURES, name + end, name, elsewhere, to=FIGURES + 1)
        for column in range(FIGURES + 2, GAP):
            writer.text(row, column, "", "row")
        row += 1
    return row


def _in_words(writer: SheetWriter, draft: QuoteDraft, row: int, name: str, end: str) -> None:
    """Writes what a floor line of an option is, or its notes."""
    stem, _, line = name.rpartition("_")
    writer.text(row, LABEL, f"{draft.label(stem)}, {line}", "row")
    writer.text(row, NAME, name + end, "row_quiet")
    writer.figure(
        name + end, row, FIGURES, draft.formulas[name + end], draft.results[name + end], "row_left", to=EXPLANATION
    )


def _candidates(writer: SheetWriter, draft: QuoteDraft, row: int) -> int:
    """Writes the floors that the suggested size is chosen from, one for each number of panels across."""
    columns = [draft.label("along_for"), draft.label("score_for")]
    row = _heading(writer, draft, row, "sizes_considered", [*columns, *[""] * (LINES - len(columns))])
    writer.text(row, EXPLANATION, draft.words["explained"]["sizes_considered"], "row_text")
    writer.fit(row, EXPLANATION, draft.words["explained"]["sizes_considered"], "row_text")
    for across in formulas.ACROSS:
        names = [f"along_for_{across}", f"score_for_{across}"]
        label = f"{across} {draft.text('panels_across')}"
        writer.text(row, LABEL, label, "row")
        writer.fit(row, LABEL, label, "row")
        writer.text(row, NAME, ", ".join(names), "row_quiet")
        for column, name in enumerate(names, FIGURES):
            writer.figure(name, row, column, draft.formulas[name], draft.results[name], "row_figure")
        row += 1
    return row


def _heading(writer: SheetWriter, draft: QuoteDraft, row: int, title: str, columns: list[str]) -> int:
    """Writes the headings of a part, `columns` above its figures; returns the row below."""
    for column, text in ((LABEL, draft.text(title)), (NAME, draft.text("name")), (EXPLANATION, draft.text("in_words"))):
        writer.text(row, column, text, "column")
        writer.fit(row, column, text, "column")
    for column, text in enumerate((*columns, ""), FIGURES):
        writer.text(row, column, text, "column_right")
        writer.fit(row, column, text, "column_right")
    return row + 1


def _explanation(writer: SheetWriter, draft: QuoteDraft, row: int, stem: str, name: str, end: str = "") -> None:
    """Writes the label, the name and the explanation of a figure, on both sides of the figure itself."""
    explanation = draft.text("sum_of_lines") if name in SUMMED else draft.words["explained"][stem]
    writer.text(row, LABEL, draft.label(stem), "row")
    writer.fit(row, LABEL, draft.label(stem), "row")
    writer.text(row, NAME, name + end, "row_quiet")
    writer.text(row, GAP, "", "row")
    writer.text(row, EXPLANATION, explanation, "row_text")
    writer.fit(row, EXPLANATION, explanation, "row_text")


def _kind(stem: str) -> str:
    """How a figure is displayed."""
    return "money" if stem in AMOUNTS else "short_date" if stem in DUE_DAYS else ""


def _possible_words(draft: QuoteDraft, stem: str) -> list[str]:
    """The words that a figure can come to; none for a number."""
    if stem == "laying":
        return [str(word) for word in draft.dictionary.layings.values()]
    if stem == "panel_picked":
        return [kind.panel for kind in draft.issue.rates.kinds]
    return [sheet.subfloor_kind for sheet in draft.issue.rates.subfloors] if stem == "subfloor_kind" else []


def _figure(
    writer: SheetWriter,
    draft: QuoteDraft,
    row: int,
    column: int,
    name: str,
    stem: str,
    elsewhere: bool,
    to: int | None = None,
) -> None:
    """Writes a figure, or repeats it where its named cell is `elsewhere`; `stem` is its name without a line number."""
    style, kind = (
        "row_word" if stem in WORD_FIGURES else "row_figure",
        "money" if stem in AMOUNTS else "short_date" if stem in DUE_DAYS else "",
    )
    if name in OWNER:
        writer.owner(name, row, column, draft.joined[name], style)
    elif elsewhere:
        writer.mirror(row, column, name, draft.results[name], style, kind, to)
    else:
        writer.figure(name, row, column, draft.formulas[name], draft.results[name], style, kind, to)
