"""The sheet Quotes of the desk book: a row for each quote, with the cells in which the owner decides."""

from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime, time
from decimal import Decimal
from typing import NamedTuple

from xlsxwriter.utility import xl_col_to_name

from quotebook.contract.values import CellValue, serial_of_day
from quotebook.desk_books.book_data import QuoteRow
from quotebook.drawing.owner_workbook import OwnerWorkbook
from quotebook.drawing.sheet_writer import SheetWriter
from quotebook.engine.dues import PURPOSES

SHEET = "Quotes"
HEAD, FIRST_ROW = 4, 5
"""The rows of the headings and of the first quote, counted from 0."""
SUMS = 3

AGREE, REISSUE, DECLINE, CANCEL, DELIVERED, COUNTED_BACK, BILL = DECISIONS = (
    "agree", "reissue", "decline", "cancel", "delivered", "counted back", "bill",
)  # fmt: skip
"""What an owner may decide about a quote."""
ALL = "all"
"""Accepts every finding that the row shows."""

DECISION_COLUMNS = {
    "decision": "Decision", "accept": "Accept findings", "because": "Because", "lost": "Lost", "damaged": "Damaged",
    "paid": "Paid", "paid_on": "Paid on", "towards": "Paid for", "notes": "Notes",
}  # fmt: skip
"""The tinted columns by name, with their headings."""
NUMBER, BECAME = "Quote", "What became of it"

HINT = (
    "Decide in the tinted cells, save, close, and catch up. What cannot be done is told beside the decision, which "
    "stays until you change it. Lost and damaged pieces are written OAK-44: 2, corners/OAK-44: 1."
)


OwnersValue = CellValue | date
"""What a cell of the owner's own holds; a date where the cell showed one."""


class Column(NamedTuple):
    """A column that the book fills in."""

    heading: str
    width: float
    value: Callable[[QuoteRow], CellValue]
    style: str = "row"
    kind: str = ""


def _serial(day: date) -> Decimal:
    return Decimal(serial_of_day(day))


def _answer(row: QuoteRow) -> str:
    if not row.latest:
        return ""
    words = {"yes": "accepted", "no": "not accepted"}
    accepted = row.latest.replies.get("accepted", "")
    said = words.get(accepted.casefold(), accepted)
    several = f"{len(row.answers)} answers, the latest: " if len(row.answers) > 1 else ""
    return several + ", ".join(part for part in (row.latest.verdict, said) if part)


def _what(row: QuoteRow) -> str:
    return ", ".join(f"{count} {code}" for code, count in row.quote.panels.items())


SUMMED: dict[str, Callable[[QuoteRow], Decimal]] = {
    "Total": lambda row: row.account.total,
    "Deposit": lambda row: row.account.deposit,
    "Paid so far": lambda row: row.account.paid,
    "Still due": lambda row: sum((due.amount for due in row.account.dues), Decimal(0)),
}
"""The amounts by their headings."""

LEFT = (
    Column(NUMBER, 9, lambda row: row.quote.quote_number),
    Column("Rev", 5, lambda row: Decimal(row.quote.revision), "row_left"),
    Column("Client", 22, lambda row: row.quote.client),
    Column("Event", 22, lambda row: row.quote.event),
    Column("Date", 11, lambda row: _serial(row.quote.event_date), "row_left", "date"),
    Column("State", 12, lambda row: row.quote.state),
)
RIGHT = (
    Column("What", 18, _what),
    Column("Total", 11, SUMMED["Total"], "row_figure", "money"),
    Column("Deposit", 11, SUMMED["Deposit"], "row_figure", "money"),
    Column("Paid so far", 11, SUMMED["Paid so far"], "row_figure", "money"),
    Column("Still due", 11, SUMMED["Still due"], "row_figure", "money"),
    Column("Currency", 9, lambda row: row.quote.currency),
    Column("Sent on", 11, lambda row: _serial(row.quote.issued_on), "row_left", "date"),
    Column("Stands until", 11, lambda row: _serial(row.valid_until), "row_left", "date"),
    Column("Answer", 18, _answer),
    Column("Questions", 26, lambda row: row.latest.replies.get("questions", "") if row.latest else ""),
    Column("Findings", 60, lambda row: " / ".join(row.latest.findings) if row.latest else ""),
)
DECISION_WIDTHS = {"because": 18, "notes": 24, "lost": 13, "damaged": 13, "paid_on": 11}
BECAME_WIDTH, OWN_WIDTH, USUAL_WIDTH = 30, 18, 10


class Entries(NamedTuple):
    """What the owner's cells hold, to be written again: by quote and name of the column, and own columns by heading."""

    decisions: Mapping[str, Mapping[str, CellValue]]
    told: Mapping[str, str]
    """What became of a decision that stays, by quote."""
    own: Mapping[str, Mapping[str, OwnersValue]]
    """Own columns: by heading, and in it by quote."""

    @property
    def quotes(self) -> set[str]:
        """The quotes beside which something is written, which stay in the book as long as it is."""
        own = (by_quote.items() for by_quote in self.own.values())
        return {*self.decisions, *(number for cells in own for number, value in cells if value not in (None, ""))}


def write_quotes(book: OwnerWorkbook, rows: Sequence[QuoteRow], entries: Entries) -> None:
    """Write the sheet: quotes that something is to be done about first, with the cells of the decisions."""
    headings = [column.heading for column in LEFT] + [*DECISION_COLUMNS.values(), BECAME]
    headings += [column.heading for column in RIGHT]
    widths = [column.width for column in LEFT]
    widths += [DECISION_WIDTHS.get(name, USUAL_WIDTH) for name in DECISION_COLUMNS] + [BECAME_WIDTH]
    widths += [column.width for column in RIGHT] + [OWN_WIDTH] * len(entries.own)
    pen = book.sheet(SHEET, "Quotes", HINT, tuple(widths))
    for column, heading in enumerate(headings, 1):
        pen.text(HEAD, column, heading, "column")
    for column, heading in enumerate(entries.own, len(headings) + 1):
        write_owners(pen, HEAD, column, heading, "column")
    for at, row in enumerate(rows, FIRST_ROW):
        _write_row(pen, at, row, entries)
    last = max(FIRST_ROW, FIRST_ROW + len(rows) - 1)
    _write_sums(pen, book, rows, headings, last)
    _validate(pen, len(LEFT) + 1, last)
    pen.sheet.set_row(HEAD, 27)
    pen.sheet.freeze_panes(FIRST_ROW, 4)
    pen.sheet.autofilter(HEAD, 1, last, len(headings) + len(entries.own))
    book.page(pen, pages_tall=0, repeat_row=HEAD)
    pen.sheet.fit_to_pages(2, 0)  # on one page it would be too small to read
    pen.sheet.repeat_columns(1, 3)


def _write_row(pen: SheetWriter, at: int, row: QuoteRow, entries: Entries) -> None:
    number = row.quote.quote_number
    for column, each in enumerate(LEFT, 1):
        if each.heading == NUMBER:
            pen.link(at, column, f"issued/{number}-r{row.quote.revision}.xlsx", number)
        else:
            pen.text(at, column, each.value(row), each.style, kind=each.kind)
            _fit(pen, at, column, each.value(row), each.style)
    column = len(LEFT) + 1
    decided = entries.decisions.get(number, {})
    for name in DECISION_COLUMNS:
        if name in decided or not row.closed:
            kind = {"paid": "money", "paid_on": "date"}.get(name, "")
            write_owners(pen, at, column, decided.get(name), "entry_wrapped", kind)
        column += 1
    told = entries.told.get(number, "")
    pen.text(at, column, told, "row_text")
    _fit(pen, at, column, told, "row_text")
    right = column + 1
    for column, each in enumerate(RIGHT, right):
        value = each.value(row)
        if each.heading == "Answer" and value and row.latest:
            pen.link(at, column, f"returned/{row.latest.sha256}.xlsx", value)
        else:
            pen.text(at, column, value, each.style, kind=each.kind)
        _fit(pen, at, column, value, each.style)
    for column, by_quote in enumerate(entries.own.values(), right + len(RIGHT)):
        write_owners(pen, at, column, by_quote.get(number), "row")


def _fit(pen: SheetWriter, row: int, column: int, value: CellValue, style: str) -> None:
    """Make a row tall enough for a text that does not fit on one line."""
    if isinstance(value, str) and not pen.fits(column, value, style):
        pen.fit(row, column, value, style)


def write_owners(pen: SheetWriter, row: int, column: int, value: OwnersValue, style: str, kind: str = "") -> None:
    """Write what the owner wrote: it is no part of the edition, and so it is found again as the owner's."""
    shape = pen.styles.format(style, "date" if isinstance(value, date) else kind)
    if isinstance(value, date):
        pen.sheet.write_datetime(row, column, datetime.combine(value, time()), shape)
    elif value is None or value == "":
        pen.sheet.write_blank(row, column, None, shape)
    elif isinstance(value, str):
        pen.sheet.write_string(row, column, value, shape)
    else:
        pen.sheet.write_number(row, column, float(value), shape)


def _write_sums(
    pen: SheetWriter, book: OwnerWorkbook, rows: Sequence[QuoteRow], headings: Sequence[str], last: int
) -> None:
    """Write live sums of the amounts in the card's currency above the headings."""
    currency = book.firm.currency
    of_currency = headings.index("Currency") + 1
    pen.text(SUMS, 1, f"All, {currency}", "quiet")
    for heading, amount in SUMMED.items():
        column = headings.index(heading) + 1
        total = sum((amount(row) for row in rows if row.quote.currency == currency), Decimal(0))
        ranges = [
            f"${xl_col_to_name(each)}${FIRST_ROW + 1}:${xl_col_to_name(each)}${last + 1}"
            for each in (column, of_currency)
        ]
        pen.mirror(SUMS, column, f'SUMIFS({ranges[0]},{ranges[1]},"{currency}")', total, "figure", "money")


def _validate(pen: SheetWriter, first_column: int, last: int) -> None:
    """What the tinted cells offer; each is checked again when it is read."""
    rules: dict[str, dict[str, object]] = {
        "decision": {"validate": "list", "source": list(DECISIONS), "error_type": "warning"},
        "accept": {"validate": "list", "source": [ALL], "show_error": False},
        "paid": {"validate": "decimal", "criteria": "!=", "value": 0},
        "paid_on": {"validate": "date", "criteria": ">", "value": "=DATE(2000,1,1)"},
        "towards": {"validate": "list", "source": list(PURPOSES)},
    }
    for column, name in enumerate(DECISION_COLUMNS, first_column):
        if name in rules:
            pen.sheet.data_validation(FIRST_ROW, column, last, column, rules[name])
