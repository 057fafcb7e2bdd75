"""Writes the crew's workbook for one day: the visits in order, a sheet for each job, and a plan for each floor.

The workbook has no formulas: a client's words are stored as text whatever they start with.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from itertools import zip_longest
from types import MappingProxyType
from typing import BinaryIO

from quotebook.contract.values import CellValue
from quotebook.crew.day_draft import DayDraft, visit_times
from quotebook.crew.day_plan import write_plan
from quotebook.crew.job_sheet import WIDTHS as JOB_WIDTHS
from quotebook.crew.job_sheet import write_job
from quotebook.drawing.owner_workbook import OwnerWorkbook
from quotebook.drawing.sheet_writer import SheetWriter
from quotebook.engine.crew import hours_away
from quotebook.engine.model import RateCard
from quotebook.engine.money import ZERO
from quotebook.engine.visits import Visit

VISIT_WIDTHS = {
    "job": 6, "what": 14, "quote_number": 13, "client": 24, "venue": 24, "surface": 16, "leave": 9, "arrive": 9,
    "done": 9, "back": 9, "flights": 10, "panels": 8, "carts": 8, "weight": 10, "trips": 8, "people": 10, "minutes": 11,
}  # fmt: skip
"""The columns of the table of visits, with their widths in digits."""
TEXT_COLUMNS = ("job", "what", "quote_number", "client", "venue", "surface")
TOOL_COLUMNS = (1, 7)


def write_day_sheet(
    file: BinaryIO,
    card: RateCard,
    day: date,
    visits: Sequence[Visit],
    speed: Decimal,
    asked: Mapping[str, Mapping[str, str]] = MappingProxyType({}),
) -> None:
    """Writes the workbook: a sheet for the day, then for each job a sheet for loading and one for laying each floor.

    `speed` is the average speed that the times of the visits assume, in miles or km per hour. `asked` has what the
    request for a quote said, by the quote's number and the name of each column.
    """
    draft = DayDraft(card, day, visits, speed, asked)
    book = OwnerWorkbook(file, card.firm, int(card.rates.minor_units), draft.text("day", day=draft.day_in_words(day)))
    footer = f"{book.title} · {draft.defers}"
    _write_day(_page(book, str(day), (*VISIT_WIDTHS.values(),), footer, landscape=True), draft)
    for job in draft.jobs:
        write_job(_page(book, job.quote_number, JOB_WIDTHS, footer), draft, job)
        for number, floor in enumerate(job.floors, 1):
            write_plan(_page(book, f"{job.quote_number} {number}", (), footer), draft, job, number, floor)
    book.close()


def _page(
    book: OwnerWorkbook, name: str, widths: tuple[float, ...], footer: str, landscape: bool = False
) -> SheetWriter:
    """A new sheet, set up for printing; its first column is a margin."""
    writer = SheetWriter(book.book, book.book.add_worksheet(name), book.styles, book.content)
    writer.columns((1.5, *widths))
    writer.sheet.hide_gridlines(2)
    book.page(writer, landscape=landscape, footer=footer)
    return writer


def _write_day(writer: SheetWriter, draft: DayDraft) -> None:
    """Writes the visits of the day in order, and the tools to bring in two columns with boxes to tick."""
    last = len(VISIT_WIDTHS)
    writer.sheet.set_row(0, 24)
    writer.text(0, 1, draft.text("day", day=draft.day_in_words(draft.day)), "page_title")
    writer.text(1, 1, draft.text("hint", speed=draft.speed), "quiet")
    for column, name in enumerate(VISIT_WIDTHS, 1):
        writer.text(3, column, draft.label(name), "column" if name in TEXT_COLUMNS else "column_number")
        writer.fit(3, column, draft.label(name), "column")
    for number, visit in enumerate(draft.visits, 1):
        _visit(writer, draft, 3 + number, number, visit)
    row = 4 + len(draft.visits)
    writer.text(row, 1, draft.text("hours", hours=hours_away(draft.visits)), "strong", to=last)
    for sentence, source in draft.day_caution():
        row += 1
        writer.text(row, 1, f"{sentence} {source}", "wrapped", to=last)
        writer.fit(row, 1, f"{sentence} {source}", "wrapped", to=last)
    row += 2
    writer.text(row, 1, draft.text("tools"), "heading", to=last)
    half = -(-len(draft.card.tools) // 2)
    for offset, tools in enumerate(zip_longest(draft.card.tools[:half], draft.card.tools[half:], fillvalue=""), 1):
        for column, tool in zip(TOOL_COLUMNS, tools, strict=True):
            if tool:
                writer.text(row + offset, column, "", "box")
                writer.text(row + offset, column + 1, tool, "fact")
    writer.text(row + half + 2, 1, draft.defer, "quiet", to=last)


def _visit(writer: SheetWriter, draft: DayDraft, row: int, number: int, visit: Visit) -> None:
    """Writes one visit as a row of the table."""
    texts, numbers = _texts(draft, number, visit), _numbers(visit)
    for column, name in enumerate(VISIT_WIDTHS, 1):
        if name in TEXT_COLUMNS:
            writer.text(row, column, texts[name], "row")
            writer.fit(row, column, texts[name], "row")
        else:
            writer.text(row, column, texts.get(name) or numbers[name], "row_number")


def _texts(draft: DayDraft, number: int, visit: Visit) -> dict[str, str]:
    """The columns of a visit that are texts; times by the clock are texts too."""
    job = visit.job
    return {
        "job": str(number),
        "what": draft.label(visit.what),
        "quote_number": job.quote_number,
        "client": job.request.client,
        "venue": job.request.venue,
        "surface": draft.surfaces.get(job.request.surface, ""),
        **visit_times(visit, draft.day),
    }


def _numbers(visit: Visit) -> Mapping[str, CellValue]:
    """The columns of a visit that are numbers."""
    job, figures = visit.job, visit.job.figures
    return {
        "flights": figures.flights_counted,
        "trips": Decimal(len(job.loads)),
        "people": job.rates.crew,
        "minutes": job.minutes(visit.what),
        "panels": figures.panels,
        "carts": figures.carts,
        "weight": sum((load.weight for load in job.loads), ZERO),
    }
