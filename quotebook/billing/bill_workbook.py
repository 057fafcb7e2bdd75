"""Writes a bill or a credit note as a workbook on the firm's letterhead, in its client's language, with live formulas.

The formulas are written from the rule and not from `engine.billing`; `quoting.proving` holds the file against the
engine before it has its name.
"""

from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import Decimal
from io import BytesIO
from typing import Any, BinaryIO

from quotebook.client.logo import Logo
from quotebook.contract.local import locale_of, say_day
from quotebook.contract.stamp import Content
from quotebook.contract.values import serial_of_day
from quotebook.contract.words import words_in
from quotebook.drawing.sheet_writer import SheetWriter
from quotebook.drawing.styles import Styles, new_workbook, set_page, share_kind
from quotebook.engine.billing import BillFigures, Item
from quotebook.engine.model import Firm

WIDTHS = (1.5, 46, 9, 12, 10, 9, 15)
TEXT, COUNT, PRICE, COVERED, RATE, AMOUNT = range(1, 7)
LOGO = (300, 70)
"""The width and height in pixels of the box that a logo is scaled to."""


@dataclass(frozen=True)
class BillPaper:
    """Everything that one bill or credit note shows."""

    bill_number: str
    billed_on: date
    due_on: date
    quote_number: str
    client: str
    event: str
    event_date: date
    venue: str
    items: tuple[Item, ...]
    payments: tuple[tuple[str, Decimal], ...]
    """Each with its text; less than 0 for what went back."""
    figures: BillFigures
    prices_with_tax: bool
    minor_units: int
    currency: str
    corrects: str = ""
    """On a credit note: the sentence about the bill that it takes back."""
    because: str = ""
    note: str = ""
    """At the foot."""


def write_bill(file: BinaryIO, paper: BillPaper, firm: Firm, logo: Logo | None, words: dict[str, Any]) -> Content:
    """Write the workbook in the firm's language, whose words of bills are `words`; returns its figures by name.

    The same paper gives the same bytes.
    """
    book = new_workbook(file)
    heading = words["credit_note" if paper.corrects else "bill"]
    content = Content()
    styles = Styles(book, firm.accent_colour, paper.minor_units)
    styles.number_formats |= words_in(firm.language)["formats"]
    writer = SheetWriter(book, book.add_worksheet(heading), styles, content)
    writer.columns(WIDTHS)
    writer.sheet.hide_gridlines(2)
    row = _letterhead(writer, firm, logo, heading)
    row = _papers(writer, paper, firm, words, row)
    row = _items(writer, paper, words, row + 1)
    row = _sums(writer, paper, words, firm, row)
    row = _payments(writer, paper, words, row)
    for text in (paper.note, words["prices_in"].format(currency=paper.currency)):
        if text:
            writer.text(row + 1, TEXT, text, "quiet_wrapped", to=AMOUNT)
            writer.fit(row + 1, TEXT, text, "quiet_wrapped", to=AMOUNT)
            row += 1
    set_page(writer.sheet, firm.paper, f"{heading} {paper.bill_number}", landscape=False, pages_tall=0)
    writer.sheet.print_area(0, 0, row + 1, AMOUNT)
    writer.sheet.protect("", {"format_columns": True, "format_rows": True})
    created = datetime.combine(paper.billed_on, time())
    book.set_properties({"title": f"{heading} {paper.bill_number}", "author": firm.firm, "created": created})
    book.close()
    return content


def _letterhead(writer: SheetWriter, firm: Firm, logo: Logo | None, heading: str) -> int:
    """Writes the firm's name and contact lines beside the heading; returns the next row."""
    for column in range(TEXT, AMOUNT + 1):
        writer.text(0, column, "", "band")
    row = 1
    if logo:
        scale = min(1, LOGO[0] / logo.width, LOGO[1] / logo.height)
        writer.sheet.set_row_pixels(row, round(logo.height * scale) + 12)
        picture = {"image_data": BytesIO(logo.data), "description": firm.firm, "object_position": 2}
        writer.sheet.insert_image(row, TEXT, "", picture | {"x_scale": scale, "y_scale": scale, "y_offset": 8})
        row += 1
    writer.sheet.set_row(row, 30)
    writer.text(row, TEXT, firm.firm, "firm", to=PRICE)
    writer.text(row, COVERED, heading, "title", to=AMOUNT)
    for offset, line in enumerate(firm.contact_lines, row + 1):
        writer.text(offset, TEXT, line, "quiet_shrunk", to=PRICE)
    return row + 1 + len(firm.contact_lines)


def _papers(writer: SheetWriter, paper: BillPaper, firm: Firm, words: dict[str, Any], top: int) -> int:
    """Writes whom it is for on the left, its number and days on the right; returns the next row."""
    left: list[tuple[str, str | date]] = [
        (words["to"], paper.client), (words["event"], paper.event), (words["event_date"], paper.event_date),
        (words["venue"], paper.venue),
    ]  # fmt: skip
    right: list[tuple[str, str | date]] = [
        *([(words["tax_number"], firm.tax_number)] if firm.tax_number else []),
        (words["number"], paper.bill_number), (words["date"], paper.billed_on), (words["quote"], paper.quote_number),
    ]  # fmt: skip
    if not paper.corrects:
        right.append((words["due_by"], paper.due_on))
    row, locale = top + 1, locale_of(firm.language, firm.region)
    for offset, (label, value) in enumerate(pair for pair in left if pair[1]):
        said = say_day(value, locale) if isinstance(value, date) else " ".join(value.split())
        shown = f"{label}: {said}"
        writer.text(row + offset, TEXT, shown, "plain", to=COUNT)
    for offset, (label, fact) in enumerate(right):
        writer.text(row + offset, PRICE, label, "field", to=COVERED)
        if isinstance(fact, date):
            writer.text(row + offset, RATE, Decimal(serial_of_day(fact)), "figure", to=AMOUNT, kind="date")
        else:
            writer.text(row + offset, RATE, fact, "figure", to=AMOUNT)
    row += max(len(left), len(right))
    for text in filter(None, (paper.corrects, paper.because)):
        writer.text(row, TEXT, text, "wrapped", to=AMOUNT)
        writer.fit(row, TEXT, text, "wrapped", to=AMOUNT)
        row += 1
    return row


def _items(writer: SheetWriter, paper: BillPaper, words: dict[str, Any], top: int) -> int:
    """Writes the items under their headings, each with its amount as a formula; returns the next row."""
    headings = ("item", "count", "price", "covered", "rate", "amount")
    any_covered = any(item.covered_share for item in paper.items)
    for column, name in enumerate(headings, TEXT):
        text = "" if name == "covered" and not any_covered else words[name]
        writer.text(top, column, text, "column" if column == TEXT else "column_right")
    for number, (item, amount) in enumerate(zip(paper.items, paper.figures.amounts, strict=True), 1):
        row = top + number
        writer.text(row, TEXT, item.text, "row")
        writer.fit(row, TEXT, item.text, "row")
        writer.owner(f"item_count_{number}", row, COUNT, item.count, "row_figure", "whole")
        writer.owner(f"item_price_{number}", row, PRICE, item.price, "row_figure", "money")
        covered = item.covered_share or None
        writer.owner(f"item_covered_{number}", row, COVERED, covered, "row_figure", share_kind(item.covered_share))
        writer.owner(f"item_rate_{number}", row, RATE, item.tax_rate, "row_figure", share_kind(item.tax_rate))
        formula = _amount_formula(number, bool(item.covered_share), paper.minor_units)
        writer.figure(f"item_amount_{number}", row, AMOUNT, formula, amount, "row_figure", "money")
    return top + 1 + len(paper.items)


def _rounded(expression: str, minor_units: int) -> str:
    return f"ROUND(ROUND({expression},6),{minor_units})"


def _amount_formula(number: int, covered: bool, minor_units: int) -> str:
    whole = _rounded(f"item_count_{number}*item_price_{number}", minor_units)
    return f"{whole}-{_rounded(f'{whole}*item_covered_{number}', minor_units)}" if covered else whole


def _sums(writer: SheetWriter, paper: BillPaper, words: dict[str, Any], firm: Firm, row: int) -> int:
    """Writes the sum of the items, the tax at each rate, and the total; returns the next row."""
    figures, count = paper.figures, len(paper.items)
    every = range(1, count + 1)
    amounts = ",".join(f"item_amount_{number}" for number in every)
    label = words["subtotal_with_tax" if paper.prices_with_tax else "subtotal"]
    _sum(writer, row, label, "subtotal", f"SUM({amounts})", figures.subtotal)
    taxed = [rate for rate in figures.rates if rate.tax_rate]
    for place, rate in enumerate(taxed, 1):
        row += 1
        bearing = "+".join(f"IF(item_rate_{number}=tax_rate_{place},item_amount_{number},0)" for number in every)
        divisor = f"/(1+tax_rate_{place})" if paper.prices_with_tax else ""
        text = words["tax_in" if paper.prices_with_tax else "tax_on"].format(tax=firm.tax_name or words["tax_name"])
        writer.text(row, TEXT, text, "label", to=COUNT)
        writer.owner(f"tax_rate_{place}", row, PRICE, rate.tax_rate, "figure", share_kind(rate.tax_rate))
        writer.figure(f"taxed_{place}", row, COVERED, bearing, rate.amount, "figure", "money", to=RATE)
        formula = _rounded(f"taxed_{place}*tax_rate_{place}{divisor}", paper.minor_units)
        writer.figure(f"tax_{place}", row, AMOUNT, formula, rate.tax, "figure", "money")
    taxes = "" if paper.prices_with_tax else "".join(f"+tax_{place}" for place in range(1, len(taxed) + 1))
    row += 1
    writer.sheet.set_row(row, 24)
    writer.text(row, TEXT, words["total"], "total_label", to=RATE)
    writer.figure("total", row, AMOUNT, f"subtotal{taxes}", figures.total, "total", "money")
    return row + 1


def _payments(writer: SheetWriter, paper: BillPaper, words: dict[str, Any], row: int) -> int:
    """Writes each payment, and what is due or goes back; returns the next row. A credit note has neither."""
    if paper.corrects:
        return row
    for number, (text, amount) in enumerate(paper.payments, 1):
        writer.text(row, TEXT, text, "label", to=RATE)
        writer.owner(f"payment_{number}", row, AMOUNT, amount, "figure", "money")
        row += 1
    paid = ",".join(f"payment_{number}" for number in range(1, len(paper.payments) + 1))
    _sum(writer, row, words["paid"], "paid", f"SUM({paid})" if paid else "0", paper.figures.paid)
    row += 1
    writer.sheet.set_row(row, 24)
    back = paper.figures.due < 0
    writer.text(row, TEXT, words["to_give_back" if back else "due"], "total_label", to=RATE)
    formula, due = ("paid-total", -paper.figures.due) if back else ("total-paid", paper.figures.due)
    writer.figure("due", row, AMOUNT, formula, due, "total", "money")
    return row + 1


def _sum(writer: SheetWriter, row: int, label: str, name: str, formula: str, amount: Decimal) -> None:
    writer.text(row, TEXT, label, "label", to=RATE)
    writer.figure(name, row, AMOUNT, formula, amount, "figure", "money")
