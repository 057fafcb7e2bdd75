"""The first sheet of a client's workbook: the letterhead, the entries, the price, the answer."""

from quotebook.engine.model import LINES

from .look import share_kind
from .values import request_cells, to_cell

WIDTHS = (1.5, 4, 17, 10, 10, 9, 8, 11, 11, 13, 12, 13, 1.5)
FIRST, LAST = 1, 11
LEFT, MIDDLE, RIGHT, VALUE = 1, 3, 8, 10
"""Columns of the left labels, their entries, the right labels, and what stands beside those."""

EVENT_ENTRIES = ("client", "event", "venue", "event_date", "days", "guests")
PLACE_ENTRIES = ("surface", "miles", "flights", "after_hours", "waiver_taken")
TOTALS = ("goods", "discount", "delivery", "labour", "after_hours_charge", "waiver", "taxable", "tax", "total", "deposit", "balance")
LINE_FIGURES = (
    ("panels_#", "number_or_blank"), ("actual_width_#", "number_or_blank"), ("actual_length_#", "number_or_blank"),
    ("hire_#", "money_or_blank"), ("edging_#", "money_or_blank"), ("subfloor_#", "money_or_blank"),
)  # fmt: skip
NEEDED = ("days_needed", "surface_needed")
SHOWN_CAUTIONS = ("step", "crowding", "upstairs")


def write_front(pen, draft) -> None:
    """Fills the sheet from top to bottom; each part returns the row after its last."""
    for column, width in enumerate(WIDTHS):
        pen.sheet.set_column(column, column, width, pen.look("plain"))
    row = _letterhead(pen, draft)
    row = _entries(pen, draft, row + 1)
    row = _floors(pen, draft, row + 1)
    _answer(pen, draft, row + 1)
    row = _totals(pen, draft, row + 1)
    row = _cautions(pen, draft, row + 1)
    set_up_page(pen, draft, row, LAST + 1)


def _letterhead(pen, draft) -> int:
    issue = draft.issue
    pen.sheet.set_row(0, 6)
    for column in range(FIRST, LAST + 1):
        pen.text(0, column, "", "band")
    pen.sheet.set_row(1, 28)
    pen.text(1, FIRST, issue.firm.firm, "firm", to=6)
    pen.text(1, RIGHT - 1, draft.text("quote"), "title", to=LAST)
    for offset, line in enumerate(issue.firm.contact_lines[:5]):
        pen.text(2 + offset, FIRST, line, "quiet", to=6)
    papers = vars(issue.papers)
    for offset, (name, kind) in enumerate(
        (("quote_number", ""), ("revision", "whole"), ("issued_on", "date"), ("valid_until", "date"))
    ):
        pen.text(2 + offset, RIGHT, draft.label(name), "label", to=VALUE - 1)
        pen.owner(name, 2 + offset, VALUE, to_cell(papers[name], draft.dictionary), "figure", kind, to=LAST)
    row = 7 if issue.changes else 6
    for change in issue.changes:
        pen.text(row, FIRST, change, "wrapped", to=LAST)
        row += 1
    return row


def _entries(pen, draft, row: int) -> int:
    pen.text(row, FIRST, draft.text("your_event"), "heading", to=LAST)
    pen.text(row + 1, FIRST, draft.text("hint"), "quiet", to=LAST)
    cells = request_cells(draft.issue.request, draft.dictionary)
    for offset, name in enumerate(EVENT_ENTRIES):
        pen.text(row + 2 + offset, LEFT, draft.label(name), "label", to=MIDDLE - 1)
        kind = "date" if name == "event_date" else ""
        pen.entry(name, row + 2 + offset, MIDDLE, cells[name], kind=kind, to=6)
        _validate(pen, draft, name, row + 2 + offset, MIDDLE)
    for offset, name in enumerate(PLACE_ENTRIES):
        pen.text(row + 2 + offset, RIGHT, draft.label(name), "label", to=VALUE - 1)
        pen.entry(name, row + 2 + offset, VALUE, cells[name], to=LAST)
        _validate(pen, draft, name, row + 2 + offset, VALUE)
    row += 2 + len(EVENT_ENTRIES)
    _sentences(pen, draft, row, NEEDED)
    return row


def _floors(pen, draft, row: int) -> int:
    pen.text(row, FIRST, draft.text("your_floors"), "heading", to=LAST)
    pen.sheet.set_row(row + 1, 27)
    headings = ("panel", "width", "length", "edging_wanted", *(name.removesuffix("_#") for name, _ in LINE_FIGURES))
    pen.text(row + 1, FIRST, "", "column")
    for column, name in enumerate(headings, FIRST + 1):
        pen.text(row + 1, column, draft.label(name), "column" if name in ("panel", "edging_wanted") else "column_right")
    cells = request_cells(draft.issue.request, draft.dictionary)
    for line in range(1, LINES + 1):
        _floor_line(pen, draft, cells, line, row + 2 * line)
    return row + 2 + 2 * LINES


def _floor_line(pen, draft, cells, line: int, row: int) -> None:
    """A floor line and, under it, its notes and the size suggested for the guests."""
    pen.text(row, FIRST, str(line), "label")
    for column, name in enumerate((f"panel_{line}", f"width_{line}", f"length_{line}", f"edging_wanted_{line}"), FIRST + 1):
        pen.entry(name, row, column, cells[name], "entry" if column in (FIRST + 1, FIRST + 4) else "entry_right")
        _validate(pen, draft, name, row, column)
    for column, (name, kind) in enumerate(LINE_FIGURES, FIRST + 5):
        name = name.replace("#", str(line))
        pen.figure(name, row, column, draft.formulas[name], draft.results[name], kind=kind)
    name = f"notes_{line}"
    pen.figure(name, row + 1, FIRST + 1, draft.formulas[name], draft.results[name], "note", to=LAST - 3)
    name = f"suggestion_{line}"
    pen.figure(name, row + 1, LAST - 2, draft.formulas[name], draft.results[name], "suggestion", to=LAST)


def _totals(pen, draft, row: int) -> int:
    pen.text(row, RIGHT, draft.text("the_price"), "heading", to=LAST)
    pen.text(row + 1, RIGHT, draft.text("prices_in"), "quiet", to=LAST)
    row += 2
    for name in TOTALS:
        big = "total" if name == "total" else "figure"
        if name == "total":
            pen.sheet.set_row(row, 22)
        pen.text(row, RIGHT, draft.label(name), "total_label" if name == "total" else "label", to=VALUE - 1)
        if name in ("discount", "waiver", "tax", "deposit"):
            share = {"tax": "tax_rate"}.get(name, f"{name}_share")
            value = getattr(draft.issue.rates, share, draft.issue.request.discount_share)
            pen.owner(share, row, VALUE, value, "quiet", share_kind(value))
        elif name == "total":
            pen.text(row, VALUE, "", "total")
        pen.figure(name, row, LAST, draft.formulas[name], draft.results[name], big, "money")
        row += 1
    return row


def _answer(pen, draft, row: int) -> None:
    pen.text(row, FIRST, draft.text("your_answer"), "heading", to=6)
    pen.text(row + 1, FIRST, draft.text("answer_hint"), "quiet", to=6)
    for offset, name in enumerate(("accepted", "accepted_by", "accepted_on"), 2):
        pen.text(row + offset, LEFT, draft.label(name), "label", to=MIDDLE - 1)
        pen.entry(name, row + offset, MIDDLE, None, kind="date" if name == "accepted_on" else "", to=6)
        _validate(pen, draft, name, row + offset, MIDDLE)
    pen.text(row + 5, LEFT, draft.label("questions"), "label", to=MIDDLE - 1)
    pen.entry("questions", row + 5, MIDDLE, None, "entry_block", to=6, down=7)


def _cautions(pen, draft, row: int) -> int:
    pen.text(row, FIRST, draft.text("please_note"), "heading", to=LAST)
    pen.sheet.set_row(row + 1, 40)
    _sentences(pen, draft, row + 1, SHOWN_CAUTIONS)
    pen.text(row + 2, FIRST, draft.text("see_terms"), "quiet", to=LAST)
    return row + 3


def _sentences(pen, draft, row: int, keys: tuple[str, ...]) -> None:
    """Those of some cautions that apply, one after another."""
    names = [f"caution_{key}" for key in keys]
    text = " ".join(draft.results[name] for name in names)
    pen.mirror(row, FIRST, '&" "&'.join(names), text, "note", to=LAST)


def _validate(pen, draft, name: str, row: int, column: int) -> None:
    """What a spreadsheet program lets the client type. A hint only: everything is checked again on return."""
    rates, yes_no = draft.issue.rates, list(draft.dictionary.yes_no.values())
    stem = name.rstrip("123456").rstrip("_") if name[-1].isdigit() else name
    number = {"criteria": "between", "minimum": 0, "maximum": float(rates.largest_entry)}
    rule = {
        "surface": {"validate": "list", "source": "=surfaces"},
        "panel": {"validate": "list", "source": "=kinds_panel"},
        "after_hours": {"validate": "list", "source": yes_no},
        "waiver_taken": {"validate": "list", "source": yes_no},
        "edging_wanted": {"validate": "list", "source": yes_no},
        "accepted": {"validate": "list", "source": yes_no},
        "days": {"validate": "integer"} | number | {"minimum": 1},
        "flights": {"validate": "integer"} | number,
        "guests": {"validate": "integer"} | number,
        "miles": {"validate": "decimal"} | number,
        "width": {"validate": "decimal"} | number | {"maximum": float(rates.longest_side)},
        "length": {"validate": "decimal"} | number | {"maximum": float(rates.longest_side)},
        "event_date": {"validate": "date", "criteria": ">=", "value": draft.issue.papers.issued_on},
        "accepted_on": {"validate": "date", "criteria": ">=", "value": draft.issue.papers.issued_on},
    }.get(stem)
    if rule:
        pen.sheet.data_validation(row, column, row, column, rule)


def set_up_page(pen, draft, last_row: int, last_column: int, landscape: bool = False) -> None:
    """One printed page in the firm's paper size, named and numbered; no changes except to entries."""
    sheet, papers = pen.sheet, draft.issue.papers
    sheet.hide_gridlines(2)
    sheet.set_paper({"A4": 9, "Letter": 1}[draft.issue.firm.paper])
    sheet.set_landscape() if landscape else sheet.set_portrait()
    sheet.set_margins(left=0.5, right=0.5, top=0.5, bottom=0.6)
    sheet.print_area(0, 0, last_row, last_column)
    sheet.fit_to_pages(1, 1)
    sheet.set_footer(f"&L&8{_footer_text(papers.quote_number)} · {int(papers.revision)}&R&8&P / &N")
    sheet.protect("", {"format_columns": True, "format_rows": True})


def _footer_text(text: str) -> str:
    return text.replace("&", "&&")
