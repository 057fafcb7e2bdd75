"""The first sheet of a client's workbook: the letterhead, the entries, the price, the answer."""

from collections.abc import Mapping
from io import BytesIO

from quotebook.client.draft import Issue, QuoteDraft
from quotebook.client.entry_rules import entry_rule
from quotebook.client.page import set_up_page
from quotebook.contract.formulas import quoted
from quotebook.contract.values import CellValue, request_cells, to_cell
from quotebook.contract.vocabulary import on_line
from quotebook.contract.words import caution_source
from quotebook.drawing.sheet_writer import SheetWriter
from quotebook.drawing.styles import share_kind
from quotebook.engine.model import LINES

WIDTHS = (1.5, 4, 18, 10, 10, 9, 8, 12, 12, 14, 12, 13, 1.5)
FIRST, LAST = 1, 11
LEFT, MIDDLE, RIGHT, VALUE = 1, 3, 8, 10
"""The columns of the left labels, of their entries, of the right labels, and of the cells beside those."""
LOGO = (360, 80)
"""The width and height in pixels of the box that a logo is scaled to."""
LEFT_LAST = 6
"""The last column of the left entries."""

ENTRIES = (
    ("client", "event_date"), ("event", "days"), ("venue", "guests"), ("surface", "miles"), ("flights", "after_hours"),
    ("raised", "waiver_taken"),
)  # fmt: skip
"""The entries row by row, because that is the order in which Tab goes through a protected sheet."""
TEXTS = ("client", "event", "venue")
ANSWERS = ("accepted", "accepted_by", "accepted_on")
TOTALS = (
    "goods", "discount", "delivery", "labour", "after_hours_charge", "waiver", "taxable", "tax", "total", "deposit",
    "balance",
)  # fmt: skip
SHARES = {"discount": "discount_share", "waiver": "waiver_share", "tax": "tax_rate", "deposit": "deposit_share"}
"""The share that is shown beside an amount, by the name of the amount."""
LINE_FIGURES = (
    ("panels_#", "number_or_blank"), ("actual_width_#", "number_or_blank"), ("actual_length_#", "number_or_blank"),
    ("hire_#", "money_or_blank"), ("edging_#", "money_or_blank"), ("subfloor_#", "money_or_blank"),
)  # fmt: skip
NEEDED = ("days_needed", "surface_needed")
"""Cautions about entries without which nothing is priced, shown under the entries."""
SHOWN_CAUTIONS = ("crowding", "raised", "step", "step_no_edging", "slippery")
"""Cautions that are shown under the price too."""
_WITH_EITHER = ("not_enough_free", "rounded_up", "edging_cut")
MOST_NOTES = (("not_on_surface", *_WITH_EITHER), ("subfloor_added", *_WITH_EITHER))
"""Notes that can appear together. A line has room for them, and for one more where it is part of a larger floor."""


def write_quote_sheet(writer: SheetWriter, draft: QuoteDraft) -> None:
    """Writes the whole sheet from top to bottom; each part returns the row after its last one."""
    writer.columns(WIDTHS)
    row = _letterhead(writer, draft)
    row = _entries(writer, draft, row + 1)
    row = _floors(writer, draft, row + 1)
    _answer(writer, draft, row + 1)
    row = _totals(writer, draft, row + 1)
    row = _cautions(writer, draft, row + 1)
    set_up_page(writer, draft, row, LAST + 1)


def _letterhead(writer: SheetWriter, draft: QuoteDraft) -> int:
    """Writes the firm, its contact lines and the quote's papers; on a later revision, what changed."""
    firm = draft.issue.firm
    writer.sheet.set_row(0, 6)
    for column in range(FIRST, LAST + 1):
        writer.text(0, column, "", "band")
    row = _logo(writer, draft.issue, 1)
    writer.sheet.set_row(row, 30)
    style = "firm" if writer.fits(FIRST, firm.firm, "firm", to=VALUE - 1) else "firm_long"
    writer.text(row, FIRST, firm.firm, style, to=VALUE - 1)
    writer.text(row, VALUE, draft.text("quote"), "title", to=LAST)
    for offset, line in enumerate(firm.contact_lines, row + 1):
        writer.text(offset, FIRST, line, "quiet_shrunk", to=RIGHT - 1)
    row = max(_papers(writer, draft, row + 1), row + 1 + len(firm.contact_lines))
    for change in draft.issue.changes:
        row += 1
        writer.text(row, FIRST, change, "wrapped", to=LAST)
        writer.fit(row, FIRST, change, "wrapped", to=LAST)
    return row + 1 if draft.issue.changes else row


def _logo(writer: SheetWriter, issue: Issue, row: int) -> int:
    """Puts the firm's logo, if there is one, in a row of its own; it is scaled down to LOGO and never up."""
    logo = issue.logo
    if not logo:
        return row
    scale = min(1, LOGO[0] / logo.width, LOGO[1] / logo.height)
    writer.sheet.set_row_pixels(row, round(logo.height * scale) + 12)
    picture = {"image_data": BytesIO(logo.data), "description": issue.firm.firm, "object_position": 2}
    writer.sheet.insert_image(row, FIRST, "", picture | {"x_scale": scale, "y_scale": scale, "y_offset": 8})
    return row + 1


def _papers(writer: SheetWriter, draft: QuoteDraft, top: int) -> int:
    """Writes the number, revision and dates of the quote."""
    papers = vars(draft.issue.papers)
    kinds = {"quote_number": "", "revision": "whole", "issued_on": "date", "valid_until": "date"}
    for row, (name, kind) in enumerate(kinds.items(), top):
        writer.text(row, RIGHT, draft.label(name), "field", to=VALUE - 1)
        writer.owner(name, row, VALUE, to_cell(papers[name], draft.dictionary), "figure", kind, to=LAST)
    return top + len(kinds)


def _entries(writer: SheetWriter, draft: QuoteDraft, top: int) -> int:
    """Writes the entries about the event, the size suggested, and a sentence where an entry is needed."""
    writer.text(top, FIRST, draft.text("your_event"), "heading", to=LAST)
    writer.text(top + 1, FIRST, draft.text("hint"), "quiet", to=LAST)
    cells = request_cells(draft.issue.request, draft.dictionary)
    sides = ((LEFT, MIDDLE, LEFT_LAST), (RIGHT, VALUE, LAST))
    for row, names in enumerate(ENTRIES, top + 2):
        for name, (label, column, last) in zip(names, sides, strict=True):
            writer.text(row, label, draft.label(name), "field", to=column - 1)
            style, kind = "entry_wrapped" if name in TEXTS else "entry", "date" if name == "event_date" else ""
            writer.entry(name, row, column, cells[name], style, kind, to=last)
            writer.fit(row, column, getattr(draft.issue.request, name) if name in TEXTS else "", style, to=last)
            _validate(writer, draft, name, row, column)
    after = top + 3 + len(ENTRIES)
    suggestion = draft.formulas["suggestion"], draft.results["suggestion"]
    writer.figure("suggestion", after - 1, RIGHT, *suggestion, "suggestion", to=LAST)
    _sentences(writer, draft, after, NEEDED)
    return after


def _floors(writer: SheetWriter, draft: QuoteDraft, row: int) -> int:
    """Writes the floor lines under their headings, two rows each."""
    writer.text(row, FIRST, draft.text("your_floors"), "heading", to=LAST)
    headings = ("panel", "width", "length", "edging_wanted", *(name.removesuffix("_#") for name, _ in LINE_FIGURES))
    writer.text(row + 1, FIRST, "", "column")
    for column, name in enumerate(headings, FIRST + 1):
        style = {"panel": "column", "edging_wanted": "column_centred"}.get(name, "column_right")
        writer.text(row + 1, column, draft.label(name), style)
        writer.fit(row + 1, column, draft.label(name), style)
    cells = request_cells(draft.issue.request, draft.dictionary)
    for line in range(1, LINES + 1):
        _floor_line(writer, draft, cells, line, row + 2 * line)
    return row + 2 + 2 * LINES


def _floor_line(writer: SheetWriter, draft: QuoteDraft, cells: Mapping[str, CellValue], line: int, row: int) -> None:
    """Writes a floor line and, below it, its notes."""
    writer.text(row, FIRST, str(line), "label")
    styles = {"panel": "entry", "width": "entry_right", "length": "entry_right", "edging_wanted": "entry_centred"}
    for column, (stem, style) in enumerate(styles.items(), FIRST + 1):
        name = f"{stem}_{line}"
        writer.entry(name, row, column, cells[name], style)
        _validate(writer, draft, name, row, column)
    writer.fit(row, FIRST + 1, "", "entry")
    for column, (template, kind) in enumerate(LINE_FIGURES, FIRST + 5):
        name = on_line(template, line)
        writer.figure(name, row, column, draft.formulas[name], draft.results[name], kind=kind)
    name = f"notes_{line}"
    writer.figure(name, row + 1, FIRST + 1, draft.formulas[name], draft.results[name], "note", to=LAST)
    joined = any(draft.joined[f"joined_{side}_{line}"] for side in ("width", "length"))
    for together in MOST_NOTES:
        keys = (*together, "part_of_floor") if joined else together
        writer.fit(row + 1, FIRST + 1, " ".join(draft.words["notes"][key] for key in keys), "note", to=LAST)


def _totals(writer: SheetWriter, draft: QuoteDraft, top: int) -> int:
    """Writes the price line by line, with the shares that make some of its lines."""
    writer.text(top, RIGHT, draft.text("the_price"), "heading", to=LAST)
    writer.text(top + 1, RIGHT, draft.text("prices_in"), "quiet", to=LAST)
    for row, name in enumerate(TOTALS, top + 2):
        if name == "total":
            writer.sheet.set_row(row, 24)
            writer.text(row, RIGHT, draft.label(name), "total_label", to=VALUE - 1)
            writer.figure(name, row, VALUE, draft.formulas[name], draft.results[name], "total", "money", to=LAST)
            continue
        share = SHARES.get(name)
        writer.text(row, RIGHT, draft.label(name), "field", to=VALUE - 1 if share else VALUE)
        if share:
            value = getattr(draft.issue.rates, share, draft.issue.request.discount_share)
            writer.owner(share, row, VALUE, value, "quiet_right", share_kind(value))
        writer.figure(name, row, LAST, draft.formulas[name], draft.results[name], kind="money")
    return top + 2 + len(TOTALS)


def _answer(writer: SheetWriter, draft: QuoteDraft, top: int) -> None:
    """Writes the entries in which a client accepts the quote or asks something, to the left of the price."""
    writer.text(top, FIRST, draft.text("your_answer"), "heading", to=LEFT_LAST)
    writer.text(top + 1, FIRST, draft.text("answer_hint"), "quiet_shrunk", to=LEFT_LAST)
    for row, name in enumerate(ANSWERS, top + 2):
        writer.text(row, LEFT, draft.label(name), "field", to=MIDDLE - 1)
        writer.entry(name, row, MIDDLE, None, kind="date" if name == "accepted_on" else "", to=LEFT_LAST)
        _validate(writer, draft, name, row, MIDDLE)
    questions = top + 2 + len(ANSWERS)
    writer.text(questions, LEFT, draft.label("questions"), "field", to=MIDDLE - 1)
    writer.entry("questions", questions, MIDDLE, None, "entry_block", to=LEFT_LAST, down=7)


def _cautions(writer: SheetWriter, draft: QuoteDraft, row: int) -> int:
    """Writes the cautions that are shown on this sheet too."""
    writer.text(row, FIRST, draft.text("please_note"), "heading", to=LAST)
    elsewhere = f"{draft.text('see_terms')} {draft.text('defers')}"
    writer.text(row + 1, FIRST, elsewhere, "quiet_wrapped", to=LAST)
    writer.fit(row + 1, FIRST, elsewhere, "quiet_wrapped", to=LAST)
    _sentences(writer, draft, row + 2, SHOWN_CAUTIONS)
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
    writer.mirror(row, FIRST, "&".join(f'IF({name}="","",{name}&" ")' for name in names), text, "note", to=LAST)
    writer.fit(row, FIRST, " ".join(draft.words["cautions"][key] for key in keys), "note", to=LAST)


def _validate(writer: SheetWriter, draft: QuoteDraft, name: str, row: int, column: int) -> None:
    """Restricts what a spreadsheet program lets the client type into an entry."""
    rule = entry_rule(name, draft)
    if rule:
        writer.sheet.data_validation(row, column, row, column, rule)
