"""The options of a quote side by side, above its floors: the cell in which one is picked, and a live line for each."""

from quotebook.client.columns import AMOUNT, ENTRY, FIGURES, FIRST, LAST, PANEL, SAID_LAST, SHARE, SWATCH
from quotebook.client.draft import QuoteDraft
from quotebook.client.entry_rules import set_entry_rule
from quotebook.contract.option_formulas import suffix
from quotebook.contract.values import request_cells
from quotebook.drawing.sheet_writer import SheetWriter

WHAT_LAST, NOTE = SWATCH - 1, SWATCH
"""The last column of what an option is, and the first of what to note of it."""
ROW_PIXELS = 34
"""Two lines of text: what an option is changes with its floors."""
HEADINGS = (("setup_hours", FIGURES), ("total", SHARE), ("deposit", AMOUNT))


def write_options(writer: SheetWriter, draft: QuoteDraft, row: int) -> int:
    """Writes the pick and the table under a heading; returns the row below."""
    words = draft.words["option"]
    writer.text(row, FIRST, words["title"], "heading", to=LAST)
    writer.text(row + 1, FIRST, draft.label("picked"), "field", to=ENTRY - 1)
    picked = request_cells(draft.issue.request, draft.dictionary)["picked"]
    writer.entry("picked", row + 1, ENTRY, picked, "entry_centred")
    set_entry_rule(writer, draft, "picked", row + 1, ENTRY)
    writer.text(row + 1, ENTRY + 1, words["choose"], "fact_indented", to=LAST)
    _headings(writer, draft, row + 2)
    for at, option in enumerate(draft.options, row + 3):
        _option(writer, draft, at, option)
    end = row + 3 + len(draft.options)
    bold = writer.book.add_format({"bold": True, "font_color": writer.styles.accent})
    rule = {"type": "formula", "criteria": f"=$B{row + 4}=$D${row + 2}", "format": bold}
    writer.sheet.conditional_format(row + 3, FIRST, end - 1, LAST, rule)
    return end


def _headings(writer: SheetWriter, draft: QuoteDraft, row: int) -> None:
    words = draft.words["option"]
    writer.text(row, FIRST, "", "column")
    writer.text(row, PANEL, words["what"], "column", to=WHAT_LAST)
    writer.text(row, NOTE, words["note"], "column", to=SAID_LAST)
    for name, column in HEADINGS:
        to = LAST if column == AMOUNT else None
        writer.text(row, column, draft.label(name), "column_right", to=to)
        writer.fit(row, column, draft.label(name), "column_right", to=to)


def _option(writer: SheetWriter, draft: QuoteDraft, row: int, option: str) -> None:
    """Writes one option: its letter, what it is, what to note, the hours, and what it costs if it can be had."""
    end, results = suffix(option), draft.results
    writer.sheet.set_row_pixels(row, ROW_PIXELS)
    writer.text(row, FIRST, option, "fact")
    for name, column, to in (("option_said", PANEL, WHAT_LAST), ("option_note", NOTE, SAID_LAST)):
        writer.figure(
            f"{name}{end}", row, column, draft.formulas[f"{name}{end}"], results[f"{name}{end}"], "fact_wrapped", to=to
        )
    hours, total, deposit = (f"{name}{end}" for name, _ in HEADINGS)
    cannot, none = results[f"cannot{end}"], draft.text("not_an_offer")
    writer.mirror(row, FIGURES, hours, results[hours], "figure")
    shown = none if cannot else results[total]
    writer.mirror(row, SHARE, f'IF(cannot{end}=1,"{none}",{total})', shown, "figure", "money")
    due = "" if cannot else results[deposit]
    writer.mirror(row, AMOUNT, f'IF(cannot{end}=1,"",{deposit})', due, "figure", "money", to=LAST)
