"""The first sheet of a client's workbook: the letterhead, the entries, the price, the answer."""

from io import BytesIO

from quotebook.contract.values import request_cells, to_cell
from quotebook.contract.vocabulary import on_line
from quotebook.drawing.styles import set_page, share_kind
from quotebook.engine.model import LINES

WIDTHS = (1.5, 4, 18, 10, 10, 9, 8, 12, 12, 14, 12, 13, 1.5)
FIRST, LAST = 1, 11
LEFT, MIDDLE, RIGHT, VALUE = 1, 3, 8, 10
"""Columns of the left labels, their entries, the right labels, and what stands beside those."""
LOGO = (360, 80)
"""Width and height in pixels of the box that a logo is scaled to."""
LEFT_LAST = 6
"""The last column of the left entries."""

ENTRIES = (
    ("client", "event_date"), ("event", "days"), ("venue", "guests"), ("surface", "miles"), ("flights", "after_hours"),
    ("waiver_taken",),
)  # fmt: skip
"""Row by row, since that is the order in which Tab goes through a protected sheet."""
TEXTS = ("client", "event", "venue")
TOTALS = (
    "goods", "discount", "delivery", "labour", "after_hours_charge", "waiver", "taxable", "tax", "total", "deposit",
    "balance",
)  # fmt: skip
SHARES = {"discount": "discount_share", "waiver": "waiver_share", "tax": "tax_rate", "deposit": "deposit_share"}
"""Shares that stand beside the amount that they make."""
LINE_FIGURES = (
    ("panels_#", "number_or_blank"), ("actual_width_#", "number_or_blank"), ("actual_length_#", "number_or_blank"),
    ("hire_#", "money_or_blank"), ("edging_#", "money_or_blank"), ("subfloor_#", "money_or_blank"),
)  # fmt: skip
NEEDED = ("days_needed", "surface_needed")
SHOWN_CAUTIONS = ("step", "crowding", "upstairs", "slippery")
_WITH_EITHER = ("not_enough_free", "rounded_up", "no_edging_kept")
MOST_NOTES = (("not_on_surface", *_WITH_EITHER), ("subfloor_added", *_WITH_EITHER))
"""Notes that can stand together: a line has room for them, and for one more where it is part of a larger floor."""


def write_front(pen, draft) -> None:
    """Fills the sheet from top to bottom; each part returns the row after its last."""
    pen.columns(WIDTHS)
    row = _letterhead(pen, draft)
    row = _entries(pen, draft, row + 1)
    row = _floors(pen, draft, row + 1)
    _answer(pen, draft, row + 1)
    row = _totals(pen, draft, row + 1)
    row = _cautions(pen, draft, row + 1)
    set_up_page(pen, draft, row, LAST + 1)


def _letterhead(pen, draft) -> int:
    firm = draft.issue.firm
    pen.sheet.set_row(0, 6)
    for column in range(FIRST, LAST + 1):
        pen.text(0, column, "", "band")
    row = _logo(pen, draft.issue, 1)
    pen.sheet.set_row(row, 30)
    style = "firm" if pen.fits(FIRST, firm.firm, "firm", to=VALUE - 1) else "firm_long"
    pen.text(row, FIRST, firm.firm, style, to=VALUE - 1)
    pen.text(row, VALUE, draft.text("quote"), "title", to=LAST)
    for offset, line in enumerate(firm.contact_lines, row + 1):
        pen.text(offset, FIRST, line, "quiet_shrunk", to=RIGHT - 1)
    row = max(_papers(pen, draft, row + 1), row + 1 + len(firm.contact_lines))
    for row, change in enumerate(draft.issue.changes, row + 1):
        pen.text(row, FIRST, change, "wrapped", to=LAST)
        pen.fit(row, FIRST, change, "wrapped", to=LAST)
    return row + 1 if draft.issue.changes else row


def _logo(pen, issue, row: int) -> int:
    """The firm's logo, no larger than LOGO and than it is, on a row of its own if there is one."""
    logo = issue.logo
    if not logo:
        return row
    scale = min(1, LOGO[0] / logo.width, LOGO[1] / logo.height)
    pen.sheet.set_row_pixels(row, round(logo.height * scale) + 12)
    picture = {"image_data": BytesIO(logo.data), "description": issue.firm.firm, "object_position": 2}
    pen.sheet.insert_image(row, FIRST, "", picture | {"x_scale": scale, "y_scale": scale, "y_offset": 8})
    return row + 1


def _papers(pen, draft, row: int) -> int:
    papers = vars(draft.issue.papers)
    kinds = {"quote_number": "", "revision": "whole", "issued_on": "date", "valid_until": "date"}
    for row, (name, kind) in enumerate(kinds.items(), row):
        pen.text(row, RIGHT, draft.label(name), "field", to=VALUE - 1)
        pen.owner(name, row, VALUE, to_cell(papers[name], draft.dictionary), "figure", kind, to=LAST)
    return row + 1


def _entries(pen, draft, row: int) -> int:
    pen.text(row, FIRST, draft.text("your_event"), "heading", to=LAST)
    pen.text(row + 1, FIRST, draft.text("hint"), "quiet", to=LAST)
    cells = request_cells(draft.issue.request, draft.dictionary)
    row += 2
    for row, names in enumerate(ENTRIES, row):
        for name, label, column, last in zip(names, (LEFT, RIGHT), (MIDDLE, VALUE), (LEFT_LAST, LAST)):
            pen.text(row, label, draft.label(name), "field", to=column - 1)
            style, kind = "entry_wrapped" if name in TEXTS else "entry", "date" if name == "event_date" else ""
            pen.entry(name, row, column, cells[name], style, kind, to=last)
            pen.fit(row, column, cells[name] if name in TEXTS else "", style, to=last)
            _validate(pen, draft, name, row, column)
    _sentences(pen, draft, row + 1, NEEDED)
    return row + 1


def _floors(pen, draft, row: int) -> int:
    pen.text(row, FIRST, draft.text("your_floors"), "heading", to=LAST)
    headings = ("panel", "width", "length", "edging_wanted", *(name.removesuffix("_#") for name, _ in LINE_FIGURES))
    pen.text(row + 1, FIRST, "", "column")
    for column, name in enumerate(headings, FIRST + 1):
        style = {"panel": "column", "edging_wanted": "column_centred"}.get(name, "column_right")
        pen.text(row + 1, column, draft.label(name), style)
        pen.fit(row + 1, column, draft.label(name), style)
    cells = request_cells(draft.issue.request, draft.dictionary)
    for line in range(1, LINES + 1):
        _floor_line(pen, draft, cells, line, row + 2 * line)
    return row + 2 + 2 * LINES


def _floor_line(pen, draft, cells, line: int, row: int) -> None:
    """A floor line and, under it, its notes and the size suggested for the guests."""
    pen.text(row, FIRST, str(line), "label")
    styles = {"panel": "entry", "width": "entry_right", "length": "entry_right", "edging_wanted": "entry_centred"}
    for column, (stem, style) in enumerate(styles.items(), FIRST + 1):
        name = f"{stem}_{line}"
        pen.entry(name, row, column, cells[name], style)
        _validate(pen, draft, name, row, column)
    pen.fit(row, FIRST + 1, "", "entry")
    for column, (name, kind) in enumerate(LINE_FIGURES, FIRST + 5):
        name = on_line(name, line)
        pen.figure(name, row, column, draft.formulas[name], draft.results[name], kind=kind)
    name = f"notes_{line}"
    pen.figure(name, row + 1, FIRST + 1, draft.formulas[name], draft.results[name], "note", to=LAST - 3)
    joined = any(draft.joined[f"joined_{side}_{line}"] for side in ("width", "length"))
    for keys in MOST_NOTES:
        keys = (*keys, "part_of_floor") if joined else keys
        pen.fit(row + 1, FIRST + 1, " ".join(draft.words["notes"][key] for key in keys), "note", to=LAST - 3)
    name = f"suggestion_{line}"
    pen.figure(name, row + 1, LAST - 2, draft.formulas[name], draft.results[name], "suggestion", to=LAST)


def _totals(pen, draft, row: int) -> int:
    pen.text(row, RIGHT, draft.text("the_price"), "heading", to=LAST)
    pen.text(row + 1, RIGHT, draft.text("prices_in"), "quiet", to=LAST)
    for row, name in enumerate(TOTALS, row + 2):
        if name == "total":
            pen.sheet.set_row(row, 24)
            pen.text(row, RIGHT, draft.label(name), "total_label", to=VALUE - 1)
            pen.figure(name, row, VALUE, draft.formulas[name], draft.results[name], "total", "money", to=LAST)
            continue
        share = SHARES.get(name)
        pen.text(row, RIGHT, draft.label(name), "field", to=VALUE - 1 if share else VALUE)
        if share:
            value = getattr(draft.issue.rates, share, draft.issue.request.discount_share)
            pen.owner(share, row, VALUE, value, "quiet_right", share_kind(value))
        pen.figure(name, row, LAST, draft.formulas[name], draft.results[name], kind="money")
    return row + 1


def _answer(pen, draft, row: int) -> None:
    pen.text(row, FIRST, draft.text("your_answer"), "heading", to=LEFT_LAST)
    pen.text(row + 1, FIRST, draft.text("answer_hint"), "quiet_shrunk", to=LEFT_LAST)
    for row, name in enumerate(("accepted", "accepted_by", "accepted_on"), row + 2):
        pen.text(row, LEFT, draft.label(name), "field", to=MIDDLE - 1)
        pen.entry(name, row, MIDDLE, None, kind="date" if name == "accepted_on" else "", to=LEFT_LAST)
        _validate(pen, draft, name, row, MIDDLE)
    pen.text(row + 1, LEFT, draft.label("questions"), "field", to=MIDDLE - 1)
    pen.entry("questions", row + 1, MIDDLE, None, "entry_block", to=LEFT_LAST, down=7)


def _cautions(pen, draft, row: int) -> int:
    pen.text(row, FIRST, draft.text("please_note"), "heading", to=LAST)
    pen.text(row + 1, FIRST, draft.text("see_terms"), "quiet", to=LAST)
    _sentences(pen, draft, row + 2, SHOWN_CAUTIONS)
    return row + 3


def _sentences(pen, draft, row: int, keys: tuple[str, ...]) -> None:
    """Those of some cautions that apply, one after another."""
    names = [f"caution_{key}" for key in keys]
    text = "".join(f"{draft.results[name]} " for name in names if draft.results[name])
    pen.mirror(row, FIRST, "&".join(f'IF({name}="","",{name}&" ")' for name in names), text, "note", to=LAST)
    pen.fit(row, FIRST, " ".join(draft.words["cautions"][key] for key in keys), "note", to=LAST)


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
    set_page(sheet, draft.issue.firm.paper, f"{papers.quote_number} · {int(papers.revision)}", landscape)
    sheet.center_horizontally()
    sheet.print_area(0, 0, last_row, last_column)
    sheet.protect("", {"format_columns": True, "format_rows": True})
