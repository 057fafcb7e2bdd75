"""The printed page and the protection that all sheets of a client's workbook share."""

from quotebook.client.draft import QuoteDraft
from quotebook.drawing.sheet_writer import SheetWriter
from quotebook.drawing.styles import set_page


def set_up_page(
    writer: SheetWriter, draft: QuoteDraft, last_row: int, last_column: int, landscape: bool = False
) -> None:
    """Prints a sheet on one numbered page in the firm's paper size, and allows changes to entries only.

    The footer says who decides where a caution is in doubt.
    """
    sheet, papers = writer.sheet, draft.issue.papers
    sheet.hide_gridlines(2)
    set_page(
        sheet,
        draft.issue.firm.paper,
        f"{papers.quote_number} · {int(papers.revision)} · {draft.text('defers')}",
        landscape,
    )
    sheet.center_horizontally()
    sheet.print_area(0, 0, last_row, last_column)
    sheet.protect("", {"format_columns": True, "format_rows": True})
