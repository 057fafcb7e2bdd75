"""The first sheet of a client's workbook: the answer at its head, the floors, the event and its price, the reply."""

from collections.abc import Sequence

from quotebook.client.columns import AMOUNT, ENTRY, ENTRY_LAST, FIRST, LAST, PANEL, RIGHT, SHARE, WIDTHS
from quotebook.client.draft import QuoteDraft
from quotebook.client.entry_rules import set_entry_rule
from quotebook.client.floor_lines import LINE_FIGURES, lines_in_use, write_floors
from quotebook.client.options_table import write_options
from quotebook.client.page import set_up_page
from quotebook.client.quote_head import write_head
from quotebook.client.small_plan import write_small_plan_figures
from quotebook.contract.formulas import quoted
from quotebook.contract.values import request_cells
from quotebook.contract.words import caution_source
from quotebook.drawing.sheet_writer import SheetWriter
from quotebook.drawing.styles import share_kind
from quotebook.engine.model import LINES

ENTRIES = (
    "event_date", "days", "surface", "guests", "miles", "flights", "raised", "room_width", "room_length", "after_hours",
    "waiver_taken", "client", "event", "venue",
)  # fmt: skip
"""The entries about the event, from top to bottom."""
TEXTS = ("client", "event", "venue")
KINDS = {"event_date": "day", "miles": "distance"}
"""How the entries are displayed that are no plain texts or numbers."""
ANSWERS = ("accepted", "accepted_by", "accepted_on")
TOTALS = (
    "goods",
    "discount",
    "delivery",
    "labour",
    "after_hours_charge",
    "waiver",
    "tax",
    "total",
    "deposit",
    "balance",
)
"""The price line by line: each amount is part of the total, up to that."""
SHARES = {"discount": "discount_share", "waiver": "waiver_share", "tax": "tax_rate", "deposit": "deposit_share"}
"""The share that is shown beside an amount, by the name of the amount."""
ON_QUOTE_SHEET = {name for name, _ in LINE_FIGURES} | {*TOTALS, "taxable", "deposit_due", "balance_due"}
"""Figures whose named cell is on this sheet; the sheet that explains them repeats them."""
NEEDED = ("days_needed", "surface_needed")
"""Cautions about entries without which nothing is priced."""
SHOWN_CAUTIONS = ("crowding", "raised", "room", "step", "step_no_edging", "slippery")
"""Cautions that are shown on this sheet too."""
QUESTION_ROWS = 5
GAP = 8
"""Pixels between the head and what follows."""


def write_quote_sheet(writer: SheetWriter, draft: QuoteDraft) -> None:
    """Writes the whole sheet from top to bottom; each part returns the row after its last one."""
    writer.columns(WIDTHS)
    row = write_head(writer, draft)
    writer.sheet.set_row_pixels(row, GAP)
    row = _changes(writer, draft, row + 1)
    if draft.options:
        row = write_options(writer, draft, row)
    used = lines_in_use(draft)
    row = write_floors(writer, draft, row, "your_floors", range(1, used + 1))
    row = _suggestion(writer, draft, row)
    row = max(_entries(writer, draft, row), _price(writer, draft, row))
    _reply(writer, draft, row + 1)
    row = _beside_the_reply(writer, draft, row + 1)
    if used < LINES:
        row = write_floors(writer, draft, row + 1, "more_floors", range(used + 1, LINES + 1))
    row = _cautions(writer, draft, row + 1)
    set_up_page(writer, draft, row, LAST + 1)
    write_small_plan_figures(writer, draft, row + 1)
    _, first_row, first_column = writer.content.places["picked" if draft.options else "panel_1"]
    writer.sheet.set_selection(first_row - 1, first_column - 1, first_row - 1, first_column - 1)


def _changes(writer: SheetWriter, draft: QuoteDraft, row: int) -> int:
    """Writes, on a later revision, what has changed since the last one."""
    for at, change in enumerate(draft.issue.changes, row):
        writer.text(at, FIRST, change, "wrapped", to=LAST)
        writer.fit(at, FIRST, change, "wrapped", to=LAST)
    return row + len(draft.issue.changes)


def _suggestion(writer: SheetWriter, draft: QuoteDraft, row: int) -> int:
    """Writes the one sentence on a size that would be enough for the guests, where the card wants it."""
    if "suggestion" not in draft.formulas:
        return row
    formula, result = draft.formulas["suggestion"], draft.results["suggestion"]
    writer.figure("suggestion", row, PANEL, formula, result, "suggestion", to=LAST)
    writer.fit(row, PANEL, draft.words["notes"]["suggestion"], "suggestion", to=LAST)
    return row + 1


def _entries(writer: SheetWriter, draft: QuoteDraft, top: int) -> int:
    """Writes the entries about the event, to the left of the price; returns the row of the last one."""
    writer.text(top, FIRST, draft.text("your_event"), "heading", to=ENTRY_LAST)
    writer.text(top + 1, FIRST, draft.text("hint"), "quiet", to=ENTRY_LAST)
    cells = request_cells(draft.issue.request, draft.dictionary)
    for row, name in enumerate(ENTRIES, top + 2):
        writer.text(row, FIRST, draft.label(name), "field", to=ENTRY - 1)
        style = "entry_wrapped" if name in TEXTS else "entry"
        writer.entry(name, row, ENTRY, cells[name], style, KINDS.get(name, ""), to=ENTRY_LAST)
        writer.fit(row, ENTRY, getattr(draft.issue.request, name) if name in TEXTS else "", style, to=ENTRY_LAST)
        set_entry_rule(writer, draft, name, row, ENTRY)
    return top + 1 + len(ENTRIES)


def _price(writer: SheetWriter, draft: QuoteDraft, top: int) -> int:
    """Writes the price line by line, to the right of the entries; what can come to nothing else is quiet."""
    writer.text(top, RIGHT, draft.text("the_price"), "heading", to=LAST)
    writer.text(top + 1, RIGHT, draft.text("prices_in"), "quiet", to=LAST)
    for row, name in enumerate(TOTALS, top + 2):
        if name == "total":
            writer.text(row, RIGHT, draft.label(name), "sum_label", to=SHARE)
            writer.mirror(row, AMOUNT, name, draft.results[name], "sum", "money", to=LAST)
            continue
        share, style = SHARES.get(name), "figure"
        writer.text(row, RIGHT, draft.label(name), "field", to=SHARE - 1 if share else SHARE)
        if share:
            value = getattr(draft.issue.rates, share, draft.issue.request.discount_share)
            writer.owner(share, row, SHARE, value, "quiet_right", share_kind(value))
            style = "figure" if value else "quiet_figure"
        writer.figure(name, row, AMOUNT, draft.formulas[name], draft.results[name], style, "money", to=LAST)
    row = top + 2 + len(TOTALS)
    writer.text(row, RIGHT, draft.label("taxable"), "quiet", to=SHARE - 1)
    writer.figure("taxable", row, SHARE, draft.formulas["taxable"], draft.results["taxable"], "quiet_right", "money")
    if number := draft.issue.firm.tax_number:
        row += 1
        writer.text(row, RIGHT, f"{draft.text('tax_number')} {number}", "quiet_shrunk", to=LAST)
    return row + 1


def _reply(writer: SheetWriter, draft: QuoteDraft, top: int) -> None:
    """Writes the entries in which a client accepts the quote or asks something, and a line to sign on paper."""
    writer.text(top, FIRST, draft.text("your_answer"), "heading", to=ENTRY_LAST)
    writer.text(top + 1, FIRST, draft.text("answer_hint"), "quiet", to=ENTRY_LAST)
    for row, name in enumerate(ANSWERS, top + 2):
        writer.text(row, FIRST, draft.label(name), "field", to=ENTRY - 1)
        writer.entry(name, row, ENTRY, None, kind="date" if name == "accepted_on" else "", to=ENTRY_LAST)
        set_entry_rule(writer, draft, name, row, ENTRY)
    questions = top + 2 + len(ANSWERS)
    writer.text(questions, FIRST, draft.label("questions"), "field", to=ENTRY - 1)
    writer.entry("questions", questions, ENTRY, None, "entry_block", to=ENTRY_LAST, down=QUESTION_ROWS - 1)
    set_entry_rule(writer, draft, "questions", questions, ENTRY)


def _beside_the_reply(writer: SheetWriter, draft: QuoteDraft, top: int) -> int:
    """Writes how to pay, what happens next and a line for a signature; returns the row below the whole reply."""
    row = top
    if draft.issue.firm.pay_lines:
        row = _paragraph(writer, draft, row, "pay", draft.issue.firm.pay_lines) + 1
    row = _paragraph(writer, draft, row, "next", [draft.text("next_said")])
    row = max(row, top + len(ANSWERS) + QUESTION_ROWS)
    writer.text(row + 1, RIGHT, draft.text("signature"), "signature", to=LAST)
    return row + 2


def _paragraph(writer: SheetWriter, draft: QuoteDraft, row: int, title: str, lines: Sequence[str]) -> int:
    """Writes lines of text under a heading, in the right half; returns the row below."""
    writer.text(row, RIGHT, draft.text(title), "heading", to=LAST)
    for at, line in enumerate(lines, row + 1):
        writer.text(at, RIGHT, line, "wrapped", to=LAST)
        writer.fit(at, RIGHT, line, "wrapped", to=LAST)
    return row + 1 + len(lines)


def _cautions(writer: SheetWriter, draft: QuoteDraft, row: int) -> int:
    """Writes the cautions that are shown on this sheet too."""
    writer.text(row, FIRST, draft.text("please_note"), "heading", to=LAST)
    elsewhere = f"{draft.text('see_terms')} {draft.text('defers')}"
    writer.text(row + 1, FIRST, elsewhere, "quiet_wrapped", to=LAST)
    writer.fit(row + 1, FIRST, elsewhere, "quiet_wrapped", to=LAST)
    _sentences(writer, draft, row + 2, (*NEEDED, *SHOWN_CAUTIONS))
    said = {key: f"{caution_source(key, draft.issue.firm)} " for key in SHOWN_CAUTIONS}
    applying = [key for key in SHOWN_CAUTIONS if draft.results[f"caution_{key}"]]
    formula = "&".join(f'IF(caution_{key}="","",{quoted(source)})' for key, source in said.items())
    writer.mirror(row + 3, FIRST, formula, "".join(said[key] for key in applying), "small_wrapped", to=LAST)
    writer.fit(row + 3, FIRST, " ".join(said.values()), "small_wrapped", to=LAST)
    return row + 4


def _sentences(writer: SheetWriter, draft: QuoteDraft, row: int, keys: tuple[str, ...]) -> None:
    """Writes a cell that shows those of some cautions that apply, one after another."""
    names = [f"caution_{key}" for key in keys]
    text = "".join(f"{draft.results[name]} " for name in names if draft.results[name])
    writer.mirror(row, FIRST, "&".join(f'IF({name}="","",{name}&" ")' for name in names), text, "caution", to=LAST)
    writer.fit(row, FIRST, " ".join(draft.words["cautions"][key] for key in keys), "caution", to=LAST)
