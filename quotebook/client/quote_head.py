"""The head of the first sheet, which stays in view: who offers what to whom, the total, the days, the status."""

from io import BytesIO

from quotebook.client.columns import AMOUNT, ENTRY, ENTRY_LAST, FIRST, LAST, RIGHT, SHARE
from quotebook.client.draft import Issue, QuoteDraft
from quotebook.client.small_plan import write_small_plan
from quotebook.contract.formulas import quoted
from quotebook.contract.small_plan_figures import ROW_PIXELS
from quotebook.contract.values import to_cell
from quotebook.drawing.sheet_writer import SheetWriter
from quotebook.drawing.styles import WARNING

LOGO = (360, 48)
"""The width and height in pixels of the box that a logo is scaled to."""
MOST_ROWS = 12
"""Rows of the head: more would leave no room for the entries on a small screen."""


def write_head(writer: SheetWriter, draft: QuoteDraft) -> int:
    """Writes the head, and freezes it; returns the row below."""
    row = _letterhead(writer, draft)
    _who_and_what(writer, draft, row)
    _answer_first(writer, draft, row + 2)
    _status(writer, draft, row + 4)
    writer.sheet.freeze_panes(row + 5, 0)
    return row + 5


def _letterhead(writer: SheetWriter, draft: QuoteDraft) -> int:
    """Writes the firm, its contact lines and the quote's papers."""
    firm, papers = draft.issue.firm, vars(draft.issue.papers)
    writer.sheet.set_row_pixels(0, 5)
    for column in range(FIRST, LAST + 1):
        writer.text(0, column, "", "band")
    row = _logo(writer, draft.issue, 1)
    writer.sheet.set_row_pixels(row, 32)
    style = "firm" if writer.fits(FIRST, firm.firm, "firm", to=RIGHT) else "firm_long"
    writer.text(row, FIRST, firm.firm, style, to=RIGHT)
    writer.text(row, SHARE - 1, draft.text("quote"), "title", to=LAST)
    kinds = {"quote_number": "", "revision": "whole", "issued_on": "date", "valid_until": "date"}
    for offset, pixels in enumerate(ROW_PIXELS, row + 1):
        writer.sheet.set_row_pixels(offset, pixels)
    write_small_plan(writer, draft, row)
    for offset, (name, kind) in enumerate(kinds.items(), row + 1):
        writer.text(offset, SHARE - 1, draft.label(name), "quiet", to=SHARE)
        writer.owner(name, offset, AMOUNT, to_cell(papers[name], draft.dictionary), "small_figure", kind, to=LAST)
    for offset, line in enumerate(firm.contact_lines, row + 1):
        writer.text(offset, FIRST, line, "quiet_shrunk", to=RIGHT)
    return row + 1 + len(kinds)


def _logo(writer: SheetWriter, issue: Issue, row: int) -> int:
    """Puts the firm's logo, if there is one, in a row of its own; it is scaled down to LOGO and never up."""
    logo = issue.logo
    if not logo:
        return row
    scale = min(1, LOGO[0] / logo.width, LOGO[1] / logo.height)
    writer.sheet.set_row_pixels(row, round(logo.height * scale) + 8)
    picture = {"image_data": BytesIO(logo.data), "description": issue.firm.firm, "object_position": 2}
    writer.sheet.insert_image(row, FIRST, "", picture | {"x_scale": scale, "y_scale": scale, "y_offset": 4})
    return row + 1


def _who_and_what(writer: SheetWriter, draft: QuoteDraft, row: int) -> None:
    """Writes for whom the quote is and for which day, and one sentence of what is bought."""
    request, results = draft.issue.request, draft.results
    writer.text(row, FIRST, draft.text("for_whom"), "field", to=ENTRY - 1)
    whom = 'client&IF(AND(client<>"",event<>""),", ","")&event&IF(venue="","",", "&venue)'
    both = ", " if request.client and request.event else ""
    said = f"{request.client}{both}{request.event}" + (f", {request.venue}" if request.venue else "")
    writer.mirror(row, ENTRY, whom, said, "strong_shrunk", to=RIGHT)
    day = results["event_day"] or ""
    writer.mirror(row, SHARE - 1, 'IF(event_day=0,"",event_day)', day, "strong_right", "day", to=LAST)
    writer.figure("bought", row + 1, FIRST, draft.formulas["bought"], results["bought"], "strong_shrunk", to=LAST)


def _answer_first(writer: SheetWriter, draft: QuoteDraft, row: int) -> None:
    """Writes the total, and beside it the days on which deposit and balance are due, each with its amount."""
    total, none = draft.label("total"), draft.text("not_an_offer")
    label = none if draft.results["cannot"] else total
    writer.mirror(row, FIRST, f'IF(cannot=1,"{none}","{total}")', label, "total_label", to=ENTRY - 1, down=1)
    writer.figure(
        "total", row, ENTRY, draft.formulas["total"], draft.results["total"], "total", "currency", ENTRY_LAST, 1
    )
    for at, name in enumerate(("deposit", "balance"), row):
        due = f"{name}_due"
        alone, dated = draft.label(name), draft.label(due)
        label = dated if draft.results[due] else alone
        writer.mirror(at, RIGHT, f"IF({due}=0,{quoted(alone)},{quoted(dated)})", label, "field_right")
        writer.figure(due, at, SHARE - 1, draft.formulas[due], draft.results[due], "figure", "short_date", to=SHARE)
        writer.mirror(at, AMOUNT, name, draft.results[name], "figure", "currency", to=LAST)


def _status(writer: SheetWriter, draft: QuoteDraft, row: int) -> None:
    """Writes the status, a band that is red where the quote is no offer, and the day on which it was accepted."""
    writer.figure("status", row, FIRST, draft.formulas["status"], draft.results["status"], "status", to=SHARE - 1)
    accepted = "AND(cannot=0,accepted=word_yes)"
    writer.mirror(
        row, SHARE, f'IF({accepted},IF(SUM(accepted_on)>0,accepted_on,""),"")', "", "status_right", "date", to=LAST
    )
    total = draft.text("not_an_offer")
    colours: dict[str, dict[str, object]] = {
        f'$B${row - 1}="{total}"': {"bg_color": WARNING, "font_color": "#FFFFFF", "bold": True},
        f'accepted="{draft.word_cells["word_yes"]}"': {"bg_color": writer.styles.accent, "font_color": "#FFFFFF"},
    }
    for condition, properties in colours.items():
        rule = {"type": "formula", "criteria": f"={condition}", "format": writer.book.add_format(properties)}
        writer.sheet.conditional_format(row, FIRST, row, LAST, rule | {"stop_if_true": True})
    crossed = writer.book.add_format({"font_strikeout": True, "font_color": WARNING})
    no_offer = {"type": "formula", "criteria": f'=$B${row - 1}="{total}"', "format": crossed}
    for first, last in ((ENTRY, ENTRY_LAST), (SHARE - 1, LAST)):
        writer.sheet.conditional_format(row - 2, first, row - 1, last, no_offer)
