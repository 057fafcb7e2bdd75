"""Writes the client's workbook: everything about one quote in one file, live, with its stamp."""

from datetime import datetime, time
from typing import BinaryIO

from xlsxwriter import Workbook

from quotebook.client.draft import Issue, QuoteDraft
from quotebook.client.floor_plan_sheet import write_floor_plan
from quotebook.client.quote_sheet import write_quote_sheet
from quotebook.client.rates_sheet import write_rates
from quotebook.client.terms_sheet import write_terms
from quotebook.client.working_sheet import write_working, write_working_of_option
from quotebook.contract.stamp import Content, seal
from quotebook.contract.vocabulary import LEAST_ROWS
from quotebook.drawing.sheet_writer import SheetWriter
from quotebook.drawing.styles import Styles, new_workbook
from quotebook.engine.model import RULES

SHEETS = {
    "quote": write_quote_sheet, "plan": write_floor_plan, "working": write_working, "rates": write_rates,
    "terms": write_terms,
}  # fmt: skip
"""The sheets that a client sees, in their order, each by its key in the words file."""


def write_quote(file: BinaryIO, issue: Issue, key: bytes) -> Content:
    """Writes the client's workbook to `file`, stamped under `key`, and returns the content that the stamp signs.

    The same issue and key always give the same bytes.
    """
    draft = QuoteDraft(issue)
    content = Content(RULES, draft.units["length"], least_rows=LEAST_ROWS)
    book = new_workbook(file)
    styles = Styles(book, issue.firm.accent_colour, issue.rates.minor_units)
    styles.number_formats |= _number_formats(draft)
    for name, write_sheet in SHEETS.items():
        write_sheet(SheetWriter(book, book.add_worksheet(draft.words["sheets"][name]), styles, content), draft)
    for option in draft.options:
        title = draft.words["sheets"]["option"].format(option=option)
        write_working_of_option(SheetWriter(book, book.add_worksheet(title), styles, content), draft, option)
    content.ruled = _ruled(book)
    _write_stamp(book, content, key)
    created = datetime.combine(issue.papers.issued_on, time())
    book.set_properties({"title": f"{draft.text('quote')} {issue.papers.quote_number}", "created": created})
    book.close()
    return content


def _ruled(book: Workbook) -> dict[str, dict[str, int]]:
    """The cells with conditional formats of each sheet that has any, and whether one strikes out what is there."""
    striking = {each.dxf_index for each in book.formats if each.font_strikeout} - {None}
    return {
        sheet.name: {cells: int(any(rule["format"] in striking for rule in rules)) for cells, rules in found.items()}
        for sheet in book.worksheets()
        if (found := sheet.cond_formats)
    }


def _number_formats(draft: QuoteDraft) -> dict[str, str]:
    """How this workbook displays dates, lengths, distances and its currency, by kind."""
    units = {kind: f'General" {draft.units[kind]}"' for kind in ("length", "distance")}
    places = "." + "0" * int(draft.issue.rates.minor_units) if draft.issue.rates.minor_units else ""
    return draft.words["formats"] | units | {"currency": f'#,##0{places}" {draft.units["currency"]}"'}


def _write_stamp(book: Workbook, content: Content, key: bytes) -> None:
    """Writes the stamp on a sheet that spreadsheet programs do not list."""
    sheet = book.add_worksheet("stamp")
    for row, text in enumerate(seal(content, key)):
        sheet.write_string(row, 0, text)
    sheet.very_hidden()
