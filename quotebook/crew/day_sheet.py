"""The crew's workbook for one day: the visits in order, then for each job what to load, to count back and to mind.

Everything in it is a value: what a client wrote is text whatever it starts with.
"""

import tomllib
from collections.abc import Iterator, Sequence
from datetime import date
from decimal import Decimal
from functools import cache
from importlib.resources import files
from itertools import zip_longest
from typing import BinaryIO

from quotebook.contract.values import joined
from quotebook.contract.words import crew_sentences, words_in
from quotebook.crew.day_plan import write_plan
from quotebook.drawing.owner_workbook import OwnerWorkbook
from quotebook.drawing.sheet_writer import SheetWriter
from quotebook.engine.crew import crew_cautions
from quotebook.engine.loading import Cart, Floor
from quotebook.engine.model import SURFACES, RateCard
from quotebook.engine.stock import needs
from quotebook.engine.visits import SET_UP, STRIKE, Job, Visit

DAY_COLUMNS = {
    "job": 6, "what": 14, "quote_number": 13, "client": 24, "venue": 24, "surface": 16, "leave": 9, "arrive": 9, "done": 9,
    "back": 9, "flights": 10, "panels": 8, "carts": 8, "weight": 10, "trips": 8, "people": 10, "minutes": 11,
}  # fmt: skip
"""Columns of the table of visits, and their widths in digits."""
DAY_WORDS = ("job", "what", "quote_number", "client", "venue", "surface")
TOOL_COLUMNS = (1, 7)
JOB_WIDTHS = (6, 17, 17, 11, 11, 11, 11, 11, 11)
FIRST, LAST = 1, len(JOB_WIDTHS)
MIDDLE = 4
"""First column of the right half."""
LONGEST_TITLE = 60
"""Characters of a client's name in a heading."""


@cache
def day_words(language: str) -> dict[str, dict[str, str]]:
    """The sections of `templates/day.LANGUAGE.toml`."""
    with (files("quotebook.templates") / f"day.{language}.toml").open("rb") as file:
        return tomllib.load(file)


class DaySheet:
    """The visits of a day with the card and the words for them, ready to be written sheet by sheet."""

    def __init__(self, card: RateCard, day: date, visits: Sequence[Visit], speed: Decimal):
        self.card, self.day, self.visits, self.speed = card, day, visits, speed
        words = words_in(card.firm.language)
        self.words, self.units = day_words(card.firm.language), words["units"][card.firm.length_unit]
        self.surfaces = dict(zip(SURFACES, words["words"]["surfaces"]))
        self.jobs = list({visit.job.quote_number: visit.job for visit in visits}.values())

    def label(self, name: str) -> str:
        return self.words["labels"][name].format(**self.units)

    def text(self, name: str, **said) -> str:
        """A sentence, with its numbers as people write them."""
        said = {key: joined(value) if isinstance(value, Decimal) else value for key, value in said.items()}
        return self.words["text"][name].format(**self.units | {"unit": self.units["length"]} | said)

    def item(self, what: str, code: str = "") -> str:
        return self.words["items"][what].format(code=code)

    def cautions(self, job: Job) -> Iterator[str]:
        firm = self.card.firm
        yield from crew_sentences(crew_cautions(self.card, job), firm.language, firm.length_unit)
        yield words_in(firm.language)["crew_cautions"]["defer"]


def write_day_sheet(file: BinaryIO, card: RateCard, day: date, visits: Sequence[Visit], speed: Decimal) -> None:
    """Writes the workbook: a page for the day, then for each job a page to load by and one for each floor to lay by.

    `speed` is what the visits' times rest on, in miles or km an hour.
    """
    draft = DaySheet(card, day, visits, speed)
    book = OwnerWorkbook(file, card.firm, int(card.rates.minor_units), draft.text("day", day=str(day)))
    _write_day(_page(book, str(day), (*DAY_COLUMNS.values(),), landscape=True), draft)
    for job in draft.jobs:
        _write_job(_page(book, job.quote_number, JOB_WIDTHS), draft, job)
        for number, floor in enumerate(job.floors, 1):
            pen = _page(book, f"{job.quote_number} {number}", ())
            write_plan(pen, draft, job, number, floor)
    book.close()


def _page(book: OwnerWorkbook, name: str, widths: tuple[float, ...], landscape: bool = False) -> SheetWriter:
    pen = SheetWriter(book.book, book.book.add_worksheet(name), book.styles, book.content)
    pen.columns((1.5, *widths))
    pen.sheet.hide_gridlines(2)
    book.page(pen, landscape=landscape)
    return pen


def _write_day(pen: SheetWriter, draft: DaySheet) -> None:
    last = len(DAY_COLUMNS)
    pen.sheet.set_row(0, 24)
    pen.text(0, 1, draft.text("day", day=str(draft.day)), "page_title")
    pen.text(1, 1, draft.text("hint", speed=draft.speed), "quiet")
    for column, name in enumerate(DAY_COLUMNS, 1):
        pen.text(3, column, draft.label(name), "column" if name in DAY_WORDS else "column_number")
        pen.fit(3, column, draft.label(name), "column")
    for number, visit in enumerate(draft.visits, 1):
        _visit(pen, draft, 3 + number, number, visit)
    row = 5 + len(draft.visits)
    pen.text(row, 1, draft.text("tools"), "heading", to=last)
    half = -(-len(draft.card.tools) // 2)
    for offset, tools in enumerate(zip_longest(draft.card.tools[:half], draft.card.tools[half:], fillvalue=""), 1):
        for column, tool in zip(TOOL_COLUMNS, tools):
            if tool:
                pen.text(row + offset, column, "", "box")
                pen.text(row + offset, column + 1, tool, "fact")


def _visit(pen: SheetWriter, draft: DaySheet, row: int, number: int, visit: Visit) -> None:
    job, figures = visit.job, visit.job.figures
    values = {
        "job": str(number),
        "what": draft.label(visit.what),
        "quote_number": job.quote_number,
        "client": job.request.client,
        "venue": job.request.venue,
        "surface": draft.surfaces.get(job.request.surface, ""),
        "flights": figures["flights_counted"],
        "trips": Decimal(len(job.loads)),
        "people": job.rates.crew,
        "minutes": job.minutes(visit.what),
        **_moments(visit, draft.day),
        **{name: figures[name] for name in ("panels", "carts", "weight")},
    }
    for column, name in enumerate(DAY_COLUMNS, 1):
        style = "row" if name in DAY_WORDS else "row_number"
        pen.text(row, column, values[name], style)
        if style == "row":
            pen.fit(row, column, values[name], style)


def _write_job(pen: SheetWriter, draft: DaySheet, job: Job) -> None:
    """Fills the page from top to bottom; each part returns the row after its last."""
    pen.sheet.set_row(0, 24)
    pen.text(0, FIRST, f"{job.quote_number}  {job.request.client[:LONGEST_TITLE]}", "page_title")
    row = _facts(pen, draft, job, 1)
    row = _floors(pen, draft, job, row + 1)
    row = _loads(pen, draft, job, row + 1)
    row = _count_back(pen, draft, job, row + 1)
    pen.text(row + 1, FIRST, draft.text("cautions"), "heading", to=LAST)
    for offset, sentence in enumerate(draft.cautions(job), 2):
        pen.text(row + offset, FIRST, sentence, "wrapped", to=LAST)
        pen.fit(row + offset, FIRST, sentence, "wrapped", to=LAST)


def _facts(pen: SheetWriter, draft: DaySheet, job: Job, row: int) -> int:
    request, figures = job.request, job.figures
    for what, day in ((SET_UP, job.first_day), (STRIKE, job.last_day)):
        pen.text(row, FIRST, f"{draft.label(what)}: {_window(draft, job, what, day)}", "fact", to=LAST)
        row += 1
    facts = {
        "surface": draft.surfaces.get(request.surface, ""),
        "flights": figures["flights_counted"],
        "miles": figures["miles_counted"],
        "days": figures["days_counted"],
        "people": job.rates.crew,
        "carts": figures["carts"],
        "weight": figures["weight"],
        "trips": Decimal(len(job.loads)),
    }
    for name in [name for name in ("event", "venue") if getattr(request, name)]:
        pen.text(row, FIRST, draft.label(name), "label", to=FIRST + 1)
        pen.text(row, FIRST + 2, getattr(request, name), "fact_wrapped", to=LAST)
        pen.fit(row, FIRST + 2, getattr(request, name), "fact_wrapped", to=LAST)
        row += 1
    half = len(facts) // 2
    for number, (name, value) in enumerate(facts.items()):
        at, column, to = row + number % half, *((FIRST, FIRST + 1) if number < half else (MIDDLE + 1, MIDDLE + 3))
        pen.text(at, column, draft.label(name), "label", to=to)
        pen.text(at, to + 1, value, "fact")
    return row + half


def _window(draft: DaySheet, job: Job, what: str, day: date) -> str:
    """When the crew goes there, as far as it is on this sheet."""
    for visit in draft.visits:
        if visit.what == what and visit.job.quote_number == job.quote_number:
            return draft.text("window", day=str(day), **_moments(visit, draft.day))
    return str(day)


def _moments(visit: Visit, day: date) -> dict[str, str]:
    """The times of a visit; one on a later day says by how many days."""
    moments = {name: getattr(visit, name) for name in ("leave", "arrive", "done", "back")}
    later = {name: (moment.date() - day).days for name, moment in moments.items()}
    return {name: f"{moment:%H:%M}" + (f" +{later[name]}" if later[name] else "") for name, moment in moments.items()}


def _floors(pen: SheetWriter, draft: DaySheet, job: Job, row: int) -> int:
    pen.text(row, FIRST, draft.text("floors"), "heading", to=LAST)
    names = ("floor", "panels", "size", "slot_pieces", "tongue_pieces", "corners", "sheets", "person_minutes")
    columns = (FIRST, FIRST + 1, *range(FIRST + 3, LAST + 1))
    for column, name in zip(columns, names):
        pen.text(row + 1, column, draft.label(name), "column" if name in ("floor", "panels") else "column_right")
        pen.fit(row + 1, column, draft.label(name), "column")
    pen.text(row + 1, FIRST + 2, "", "column")
    for number, floor in enumerate(job.floors, 1):
        at = row + 1 + number
        size = f"{joined(floor.width)} x {joined(floor.length)}"
        counts = (floor.slot_pieces, floor.tongue_pieces, floor.corners, floor.sheets)
        pen.text(at, FIRST, Decimal(number), "row_left")
        pen.text(at, FIRST + 1, panels_said(floor), "row", to=FIRST + 2)
        pen.fit(at, FIRST + 1, panels_said(floor), "row", to=FIRST + 2)
        for column, value in enumerate((size, *map(Decimal, counts), floor.minutes), FIRST + 3):
            pen.text(at, column, value, "row_figure")
    return row + 2 + len(job.floors)


def panels_said(floor: Floor) -> str:
    return ", ".join(f"{count} {code}" for code, count in floor.panels.items())


def _loads(pen: SheetWriter, draft: DaySheet, job: Job, row: int) -> int:
    """For each trip its carts in the order of loading; edging, which is needed last, goes on before them on the last trip."""
    pen.text(row, FIRST, draft.text("load"), "heading_wrapped", to=LAST)
    pen.fit(row, FIRST, draft.text("load"), "heading_wrapped", to=LAST)
    row += 1
    for number, load in enumerate(job.loads, 1):
        row = _load(pen, draft, job, row, number, load) + 1
    return row - 1


def _load(pen: SheetWriter, draft: DaySheet, job: Job, row: int, number: int, load: Sequence[Cart]) -> int:
    first, last = number == 1, number == len(job.loads)
    numbers = {"trip": number, "trips": len(job.loads), "carts": len(load), "payload": job.rates.payload}
    pen.text(row, FIRST, draft.text("trip", load=sum(cart.weight for cart in load), **numbers), "strong", to=LAST - 4)
    for column, name in enumerate(("pieces", "weight", "on", "off"), LAST - 3):
        pen.text(row, column, draft.label(name), "column_number" if name in ("pieces", "weight") else "column_centred")
    edging = [(what, Decimal(count), None) for what, count in _edging(draft, job)] if last else []
    packs = [(draft.text("pack", **vars(cart)), Decimal(cart.count), cart.weight) for cart in reversed(load)]
    tools = [(draft.item("tools"), None, None)] if first else []
    for place, (what, count, weight) in enumerate((*edging, *packs, *tools), 1):
        row += 1
        pen.text(row, FIRST, Decimal(place), "row_left")
        pen.text(row, FIRST + 1, what, "row", to=LAST - 4)
        pen.text(row, LAST - 3, count, "row_number")
        pen.text(row, LAST - 2, weight, "row_number")
        pen.text(row, LAST - 1, "", "box")
        pen.text(row, LAST, "", "box")
    return row + 1


def _edging(draft: DaySheet, job: Job) -> Iterator[tuple[str, int]]:
    """Edging and corners of the floors, those of the last floor first."""
    for number, floor in reversed([*enumerate(job.floors, 1)]):
        for what in ("corners", "tongue_pieces", "slot_pieces"):
            if getattr(floor, what):
                yield draft.text("edging", floor=number, item=draft.item(what, floor.edging_of)), getattr(floor, what)


def _count_back(pen: SheetWriter, draft: DaySheet, job: Job, row: int) -> int:
    """Everything that went out, with boxes for what came back."""
    pen.text(row, FIRST, draft.text("count_back"), "heading", to=LAST)
    pen.text(row + 1, FIRST, draft.label("item"), "column", to=LAST - 4)
    for column, name in enumerate(("out", "came_back", "damaged", "lost"), LAST - 3):
        pen.text(row + 1, column, draft.label(name), "column_number" if name == "out" else "column_centred")
    row += 2
    needed = needs(job.rates, job.request, job.figures)
    for item, count in sorted(needed.items(), key=lambda pair: pair[0].what == "carts"):
        pen.text(row, FIRST, draft.item(item.what, item.code), "row", to=LAST - 4)
        pen.text(row, LAST - 3, Decimal(count), "row_number")
        for column in range(LAST - 2, LAST + 1):
            pen.text(row, column, "", "box")
        row += 1
    return row
