"""Writes the workbook's lists: the busiest days, and every request with what became of it."""

from decimal import Decimal

from quotebook.buying.answer import Answer
from quotebook.contract.values import serial_of_day
from quotebook.drawing.owner_workbook import OwnerWorkbook
from quotebook.engine.money import ZERO, plain

HEAD = 3


def write_busiest(book: OwnerWorkbook, answer: Answer) -> None:
    """Write the busiest days of the season, as it is played with what is owned."""
    codes = answer.question.codes
    hint = "With what is owned. Needed: panels away if nothing had been refused, each in the first kind tried for it."
    pen = book.sheet("Busiest days", "Busiest days", hint, (14, 12, 12, *(13,) * (2 * len(codes))))
    headings = ["Day", "floors out", "refused"]
    headings += [f"{code} {what}" for code in codes for what in ("out", "needed")]
    for column, heading in enumerate(headings, 1):
        pen.text(HEAD, column, heading, "column" if column == 1 else "column_right")
    for row, day in enumerate(answer.busiest, HEAD + 1):
        counts = [day.floors, day.refused, *(each for code in codes for each in (day.out[code], day.needed[code]))]
        pen.owner(f"busy_day_{row - HEAD}", row, 1, Decimal(serial_of_day(day.day)), "row_left", "date")
        for column, count in enumerate(counts, 2):
            pen.text(row, column, Decimal(count), "row_figure")
    row = HEAD + 1 + len(answer.busiest)
    pen.text(row, 1, "Owned", "total_label", to=3)
    for place, code in enumerate(codes):
        pen.text(row, 4 + 2 * place, answer.card.holdings[code].owned, "total", to=5 + 2 * place)
    book.page(pen)


def write_requests(book: OwnerWorkbook, answer: Answer) -> None:
    """Write a row for each request: what was asked for, what became of it, and the kind that serves it when played."""
    hint = "In the order in which they came. Played: the kind that serves it with what is owned, or refused."
    pen = book.sheet("Requests", "Requests", hint, (14, 14, 16, 8, 26, 12, 24, 16))
    for column, heading in enumerate(("Request", "Day", "Ground", "Days", "Floors", "Outcome", "Why", "Played"), 1):
        pen.text(HEAD, column, heading, "column")
    text, day, count = (book.styles.format("fact", kind) for kind in ("", "date", "count"))
    for row, (asked, booking, choice) in enumerate(
        zip(answer.season, answer.booked, answer.choices, strict=True), HEAD + 1
    ):
        served = booking.services[choice].kind if choice >= 0 else "refused"
        floors = ", ".join(
            f"{plain(line.width or ZERO)} x {plain(line.length or ZERO)}" for line in asked.request.lines
        )
        pen.sheet.write_string(row, 1, asked.name, text)
        pen.sheet.write_number(row, 2, serial_of_day(asked.day), day)
        pen.sheet.write_string(row, 3, asked.request.surface, text)
        pen.sheet.write_number(row, 4, int(asked.request.days or 0), count)
        for column, words in enumerate((floors, asked.outcome, asked.why, served), 5):
            pen.sheet.write_string(row, column, words, text)
    pen.sheet.freeze_panes(HEAD + 1, 0)
    book.page(pen, pages_tall=0, repeat_row=HEAD)
